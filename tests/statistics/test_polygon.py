"""Polygon probability against closed forms, values computed by other methods, and scipy."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from shotwright.base.errors import BadInput
from shotwright.statistics import polygon
from shotwright.statistics.polygon import normal_in_polygon, student_t_in_polygon

AUTHORITIES = Path(__file__).parents[1] / "authorities"
SQUARE = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
ELL = np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0)])


@pytest.fixture(params=["plain", "compiled"], scope="module", autouse=True)
def engine(request: pytest.FixtureRequest) -> Iterator[None]:
    """Every test of this file is passed by both texts of the edge integral."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(polygon, "_MANY", 1 if request.param == "compiled" else 10**9)
        yield


def regular(corners: int, radius: float) -> np.ndarray:
    angle = np.arange(corners) * 2 * np.pi / corners
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def covariances(rng: np.random.Generator, n: int, sd: float) -> np.ndarray:
    draws = rng.normal(size=(n, 5, 2)) * sd
    return np.einsum("nij,nik->njk", draws, draws) / 4


def read_table() -> list[list[str]]:
    with (AUTHORITIES / "polygon_probability.csv").open() as lines:
        return list(csv.reader(line for line in lines if not line.startswith("#")))


@pytest.mark.authority
@pytest.mark.parametrize("row", read_table(), ids=lambda row: row[0])
def test_values_computed_by_other_methods(row: list[str]) -> None:
    mx, my, sxx, sxy, syy = map(float, row[1:6])
    corners = [tuple(map(float, pair.split())) for pair in row[6].split(";")]
    found = normal_in_polygon([(mx, my)], [[sxx, sxy], [sxy, syy]], corners)[0]
    assert found == pytest.approx(float(row[7]), abs=1e-9)


@pytest.mark.authority
def test_hexagons() -> None:
    # Computed twice: Owen's T wedges and vertical slicing, 10 digits.
    assert normal_in_polygon([(0, 0)], np.eye(2), regular(6, 1))[0] == pytest.approx(0.3382367389, abs=2e-10)
    found = normal_in_polygon([(0.3, -0.2)], [[0.36, 0.1], [0.1, 0.25]], regular(6, 1))[0]
    assert found == pytest.approx(0.6718070709, abs=2e-10)
    found = normal_in_polygon([(6, -4)], [[144, 30], [30, 225]], regular(6, 25))[0]
    assert found == pytest.approx(0.7050357870, abs=2e-10)


def test_wedge_at_the_mean_is_its_share_of_the_circle() -> None:
    # Closed form: a circular normal puts angle/(2 pi) into a wedge with its apex at the mean.
    far = 60.0
    wedge = [(0.0, 0.0), (far, 0.0), (far * np.cos(0.7), far * np.sin(0.7))]
    assert normal_in_polygon([(0, 0)], np.eye(2), wedge)[0] == pytest.approx(0.7 / (2 * np.pi), abs=1e-10)


def test_quadrant_with_correlation() -> None:
    # Closed form (Sheppard): 1/4 + asin(rho)/(2 pi) = 1/3 at rho = 0.5.
    quadrant = [(0, 0), (-50, 0), (-50, -50), (0, -50)]
    found = normal_in_polygon([(0, 0)], [[1, 0.5], [0.5, 1]], quadrant)[0]
    assert found == pytest.approx(1 / 3, abs=1e-10)


def test_rectangles_against_scipy() -> None:
    rng = np.random.default_rng(11)
    box = np.array([(-0.4, -0.3), (0.5, -0.3), (0.5, 0.6), (-0.4, 0.6)])
    mean, covariance = rng.normal(size=(60, 2)) * 0.4, covariances(rng, 60, 0.4)
    found = normal_in_polygon(mean, covariance, box)
    want = [
        stats.multivariate_normal(m, c).cdf((0.5, 0.6), lower_limit=(-0.4, -0.3))
        for m, c in zip(mean, covariance, strict=True)
    ]
    np.testing.assert_allclose(found, want, atol=1e-9)


@pytest.mark.parametrize("spread", [3.0, 0.3, 0.05])
def test_circle_as_fine_polygon_against_noncentral_chi_square(spread: float) -> None:
    # Offset circle, circular normal: P = F(R^2; 2, r^2), noncentral chi-square (Rice 1945).
    corners = regular(4000, np.sqrt(np.pi / (2000 * np.sin(np.pi / 2000))))  # same area as the unit circle
    offset = np.array([0.0, 0.3, 0.95, 1.4])
    mean = np.column_stack([offset, 0 * offset])
    found = normal_in_polygon(mean, spread**2 * np.eye(2), corners)
    want = stats.ncx2.cdf(spread**-2, 2, np.maximum((offset / spread) ** 2, 1e-12))
    np.testing.assert_allclose(found, want, atol=2e-6)  # what is left of the polygon's corners


@pytest.mark.parametrize("angle", [0.0, 0.3, np.pi / 2])
def test_spread_along_a_line_only(angle: float) -> None:
    # Closed form: the line through the square's middle leaves it at 1/max(|cos|, |sin|).
    u = np.array([np.cos(angle), np.sin(angle)])
    want = 2 * stats.norm.cdf(1 / np.abs(u).max()) - 1
    assert normal_in_polygon([(0, 0)], np.outer(u, u), SQUARE)[0] == pytest.approx(want, abs=1e-11)


def test_point_mass_inside_outside_on_an_edge() -> None:
    found = normal_in_polygon([(0.2, 0.3), (2, 0), (1, 0)], np.zeros((2, 2)), SQUARE)
    np.testing.assert_allclose(found, [1.0, 0.0, 0.5], atol=1e-12)


def test_non_convex_is_square_less_the_missing_corner() -> None:
    # Closed form: the missing quarter square has one corner at the mean.
    whole = normal_in_polygon([(1, 1)], np.eye(2), [(0, 0), (2, 0), (2, 2), (0, 2)])[0]
    quarter = (stats.norm.cdf(1) - 0.5) ** 2
    assert normal_in_polygon([(1, 1)], np.eye(2), ELL)[0] == pytest.approx(whole - quarter, abs=1e-10)


def test_nothing_fits() -> None:
    assert normal_in_polygon(np.zeros((3, 2)), np.eye(2), np.empty((0, 2))).tolist() == [0, 0, 0]


def test_refuses_what_is_no_covariance() -> None:
    with pytest.raises(BadInput, match="negative variance"):
        normal_in_polygon([(0, 0)], [[1, 2], [2, 1]], SQUARE)
    with pytest.raises(BadInput, match="symmetric"):
        normal_in_polygon([(0, 0)], [[1, 0.5], [0.2, 1]], SQUARE)
    with pytest.raises(BadInput, match="finite"):
        normal_in_polygon([(np.nan, 0)], np.eye(2), SQUARE)
    with pytest.raises(BadInput, match="1 or more"):
        student_t_in_polygon([(0, 0)], np.eye(2), SQUARE, 0.5)


@settings(deadline=None, max_examples=60)
@given(
    seed=st.integers(0, 10**6),
    angle=st.floats(0, 6.3),
    scale=st.floats(1e-3, 1e3),
    shift=st.tuples(st.floats(-50, 50), st.floats(-50, 50)),
)
def test_turning_scaling_and_shifting_everything_changes_nothing(
    seed: int, angle: float, scale: float, shift: tuple[float, float]
) -> None:
    rng = np.random.default_rng(seed)
    mean, covariance = rng.normal(size=(4, 2)), covariances(rng, 4, 1.0)
    turn = scale * np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    before = normal_in_polygon(mean, covariance, ELL)
    after = normal_in_polygon(
        scale * np.array(shift) + mean @ turn.T,
        turn @ covariance @ turn.T,
        (scale * np.array(shift) + ELL @ turn.T)[::-1],
    )
    np.testing.assert_allclose(after, before, atol=1e-9)


@settings(deadline=None, max_examples=40)
@given(seed=st.integers(0, 10**6), cut=st.floats(0.05, 0.95), nu=st.sampled_from([None, 1.0, 2.5, 6.0, 40.0]))
def test_parts_add_up_to_the_whole(seed: int, cut: float, nu: float | None) -> None:
    rng = np.random.default_rng(seed)
    mean, covariance = rng.normal(size=(4, 2)), covariances(rng, 4, 10.0 ** rng.uniform(-2, 1))
    x = 2 * cut - 1
    left = [(-1, -1), (x, -1), (x, 1), (-1, 1)]
    right = [(x, -1), (1, -1), (1, 1), (x, 1)]

    def chance(corners: object) -> np.ndarray:
        if nu is None:
            return normal_in_polygon(mean, covariance, corners)
        return student_t_in_polygon(mean, covariance, corners, nu)

    np.testing.assert_allclose(chance(left) + chance(right), chance(SQUARE), atol=1e-9)


@pytest.mark.parametrize("nu", [1.0, 2.5, 5.0, 7.0, 30.0, 500.0])
def test_student_t_in_a_circle(nu: float) -> None:
    # Closed form: P = 1 - (1 + R^2/nu)^(-nu/2), R = 2; the polygon misses 1e-8 of the circle.
    corners = regular(20_000, 2.0)
    found = student_t_in_polygon([(0, 0)], np.eye(2), corners, nu)[0]
    assert found == pytest.approx(1 - (1 + 4 / nu) ** (-nu / 2), abs=1e-8)


@pytest.mark.parametrize("nu", [1.0, 2.5, 6.0])
@pytest.mark.parametrize("thin", [1.0, 1e-4])
def test_student_t_is_a_mixture_of_normals(nu: float, thin: float) -> None:
    scale = np.array([[thin, 0.1 * thin], [0.1 * thin, 2.0]])

    def part(log_w: float) -> float:
        w = float(np.exp(log_w))
        normal = normal_in_polygon([(0.9, 0.2)], scale / w, SQUARE)[0]
        return float(normal * stats.chi2.pdf(w * nu, nu) * nu * w)

    want = integrate.quad(part, -40, 5, epsabs=1e-11, limit=500, points=[-5, 0, 2])[0]
    found = student_t_in_polygon([(0.9, 0.2)], scale, SQUARE, nu)[0]
    assert found == pytest.approx(want, abs=1e-9)
