"""The compiled edge integral against the plain one, against its own text uncompiled, and against scipy."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from shotwright.base.errors import BadInput
from shotwright.statistics import polygon, polygon_kernel
from shotwright.statistics.polygon import normal_in_polygon, student_t_in_polygon

FREEDOMS = (None, 1.0, 2.5, 5.0, 40.0, 1e3, 1e7)


def positions(n: int, seed: int, sd: tuple[float, float], corners: int = 6):
    """Means, spreads and polygons, each position its own; the polygons are seen from the side."""
    rng = np.random.default_rng(seed)
    sds = np.exp(rng.uniform(*np.log(sd), (n, 2)))
    covariance = np.zeros((n, 2, 2))
    covariance[:, 0, 0], covariance[:, 1, 1] = sds.T**2
    covariance[:, 0, 1] = covariance[:, 1, 0] = rng.uniform(-0.95, 0.95, n) * sds.prod(axis=1)
    angle = np.arange(corners) * 2 * np.pi / corners
    shape = 0.3 * np.column_stack([np.cos(angle), np.sin(angle)])
    squeezed = np.column_stack([rng.uniform(0.3, 1.0, n), np.ones(n)])
    return rng.normal(0, 0.25, (n, 2)), covariance, shape * squeezed[:, None, :]


def both(monkeypatch, nu, mean, covariance, corners):
    """Probabilities by the compiled text and by the plain one."""
    found = []
    for many in (1, 10**9):
        monkeypatch.setattr(polygon, "_MANY", many)
        if nu is None:
            found.append(normal_in_polygon(mean, covariance, corners))
        else:
            found.append(student_t_in_polygon(mean, covariance, corners, nu))
    return found


# the plain text takes thousands of panels for a large nu far out, so 1e7 is compared near the middle only
@pytest.mark.parametrize("nu", FREEDOMS)
@pytest.mark.parametrize(
    ("sd", "corners"),
    [((0.05, 0.5), 6), ((1e-3, 10.0), 5), ((1e-9, 1e-3), 4), ((0.1, 1e6), 3), ((0.02, 0.4), 90)],
    ids=["usual", "wide", "thin", "vast", "ninety corners"],
)
def test_compiled_and_plain_agree(nu, sd, corners, monkeypatch):
    nu = 40.0 if nu == 1e7 and sd[0] < 0.02 else nu
    compiled, plain = both(monkeypatch, nu, *positions(300, 7, sd, corners))
    # the plain text's own error reaches 1e-8 far out for a Student t
    np.testing.assert_allclose(compiled, plain, rtol=0, atol=1e-8 if nu and sd[0] < 0.02 else 2e-10)


def cauchy_in_polygon(mean, factors, corners):
    """Closed form for nu = 1: along an edge, the integral of h (1 - (1 + r^2)^(-1/2)) / r^2 is
    atan(s/h) - atan(s / (h w)), w = sqrt(1 + h^2 + s^2); both are joined so that nothing cancels."""
    corners, mean = corners.astype(np.longdouble), mean.astype(np.longdouble)
    l11, l21, l22 = factors.astype(np.longdouble).T[..., None]
    side = np.roll(corners, -1, axis=1) - corners
    dx, dy = corners[..., 0] - mean[:, :1], corners[..., 1] - mean[:, 1:]
    ex, ax = side[..., 0] / l11, dx / l11
    ey, ay = (side[..., 1] - l21 * ex) / l22, (dy - l21 * ax) / l22
    length = np.hypot(ex, ey)
    signed = (dx * side[..., 1] - dy * side[..., 0]) / (l11 * l22 * length)
    h, start = np.abs(signed), (ax * ex + ay * ey) / length

    def up_to(s):
        w = np.sqrt(1 + h * h + s * s)
        return np.arctan2(s * h * (w - 1), h * h * w + s * s)

    return (np.sign(signed) * (up_to(start + length) - up_to(start))).sum(axis=1) / (2 * np.pi)


@pytest.mark.parametrize("sd", [(0.05, 0.5), (1e-3, 10.0), (1e-8, 1e-4), (0.1, 1e6)])
def test_cauchy_in_closed_form(sd):
    mean, covariance, corners = positions(4000, 8, sd)
    area, size = polygon._area_and_size(corners)
    assert (area > 0).all()
    want = cauchy_in_polygon(mean, polygon._cholesky(covariance, size), corners)
    found = student_t_in_polygon(mean, covariance, corners, 1.0)
    np.testing.assert_allclose(found, want.astype(float), rtol=0, atol=1e-9)


@settings(deadline=None, max_examples=50)
@given(seed=st.integers(0, 10**6), log_sd=st.floats(-8, 6), nu=st.sampled_from(FREEDOMS[:-2]))
def test_compiled_and_plain_agree_for_any_shape(seed, log_sd, nu):
    rng = np.random.default_rng(seed)
    n, k = 20, int(rng.integers(3, 12))
    draws = rng.normal(size=(n, 3, 2)) * 10.0 ** rng.normal(log_sd, 0.5, (n, 1, 1))
    angles = np.sort(rng.uniform(0, 2 * np.pi, k))
    radii = rng.uniform(
        0.1, 1.0, (n, k, 1)
    )  # seen from the origin no corner hides another: may be non-convex
    corners = radii * np.column_stack([np.cos(angles), np.sin(angles)])
    arguments = rng.normal(size=(n, 2)), np.einsum("nij,nik->njk", draws, draws), corners
    with pytest.MonkeyPatch.context() as patch:
        compiled, plain = both(patch, nu, *arguments)
    np.testing.assert_allclose(compiled, plain, rtol=0, atol=1e-8)


def test_ten_thousand_rectangles_against_scipy():
    # scipy integrates a rectangle by another method (Genz 2004); a sample of it bounds the time
    mean, covariance, _ = positions(10_000, 3, (0.05, 0.5))
    box = [(-0.3, -0.2), (0.25, -0.2), (0.25, 0.3), (-0.3, 0.3)]
    found = normal_in_polygon(mean, covariance, box)
    for i in range(0, 10_000, 50):
        rectangle = stats.multivariate_normal(mean[i], covariance[i])
        want = rectangle.cdf((0.25, 0.3), lower_limit=(-0.3, -0.2))
        assert found[i] == pytest.approx(want, abs=1e-9)


@pytest.mark.parametrize("nu", [math.inf, 1.0, 5.0, 40.0])
def test_every_compiled_function_is_its_plain_text(nu):
    mean, covariance, corners = positions(150, 5, (0.01, 2.0))
    factors = polygon._cholesky(covariance, np.full(150, 0.6))
    by_corner = np.ascontiguousarray(corners.transpose(1, 2, 0))
    compiled = polygon_kernel.sum_over_edges(mean, factors, by_corner, nu)
    plain = np.zeros(150)
    freedom = 0.0 if math.isinf(nu) else nu
    reach = polygon_kernel.reach_of(nu)
    polygon_kernel._positions(mean, factors, by_corner, freedom, reach, polygon_kernel.room(), plain)
    np.testing.assert_allclose(compiled, plain / (8 * np.pi), rtol=0, atol=1e-14)


@pytest.mark.parametrize("q", [0.0, 1e-30, 1e-9, 0.1, 0.34657, 0.34658, 1.0, 7.3, 36.0, 699.0, 1e9])
def test_exponential_and_logarithm_of_the_kernel(q):
    assert polygon_kernel._exp_minus(q) == pytest.approx(math.exp(-min(q, 700.0)), rel=1e-14)
    assert polygon_kernel._log1p(q) == pytest.approx(math.log1p(q), rel=1e-15, abs=1e-300)


def test_one_spread_and_one_polygon_serve_all(monkeypatch):
    mean, covariance, corners = positions(300, 9, (0.1, 0.4))
    repeated = np.broadcast_to(covariance[0], (300, 2, 2)), np.broadcast_to(corners[0], (300, 6, 2))
    for nu in (None, 4.0):
        one = both(monkeypatch, nu, mean, covariance[0], corners[0])
        each = both(monkeypatch, nu, mean, *repeated)
        np.testing.assert_array_equal(one[0], each[0])
        np.testing.assert_allclose(one[1], each[1], rtol=0, atol=1e-15)


def test_a_polygon_of_its_own_may_run_either_way_round(monkeypatch):
    mean, covariance, corners = positions(100, 2, (0.1, 0.4))
    turned = corners.copy()
    turned[::2] = turned[::2, ::-1]
    for right, back in zip(
        both(monkeypatch, None, mean, covariance, corners),
        both(monkeypatch, None, mean, covariance, turned),
        strict=True,
    ):
        np.testing.assert_allclose(right, back, rtol=0, atol=1e-12)


def test_numbers_that_do_not_fit_are_refused():
    mean, covariance, corners = positions(5, 2, (0.1, 0.4))
    with pytest.raises(BadInput, match="4 covariances and 1 polygons do not fit 5 means"):
        normal_in_polygon(mean, covariance[:4], corners[0])
    with pytest.raises(BadInput, match="1 covariances and 3 polygons do not fit 5 means"):
        normal_in_polygon(mean, covariance[0], corners[:3])


def test_few_positions_load_no_compiler():
    program = (
        "import sys\n"
        "import numpy as np\n"
        "from shotwright.statistics.polygon import normal_in_polygon\n"
        "square = [(-1, -1), (1, -1), (1, 1), (-1, 1)]\n"
        "found = normal_in_polygon(np.zeros((1000, 2)), np.eye(2), square)\n"
        "print(found[0].round(6), 'numba' in sys.modules)\n"
    )
    out = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert out.split() == ["0.466065", "False"]
