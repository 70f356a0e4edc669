"""What a trial shows: figures, flagged shots, drift, balls, words, degenerate trials."""

from __future__ import annotations

import json
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.statistics.variance_components import VarianceComponents
from shotwright.trials.dispersion import marked_shots, trial_dispersion
from shotwright.trials.records import Shot, Trial

# An invented sample of 7 shots, metres about (3, 0).
MARKS = (
    np.array([(12.1, -3.4), (5.6, 8.9), (-7.2, 1.5), (3.3, -10.8), (9.4, 4.2), (-1.9, 6.1), (2.7, -5.5)])
    / 100
)
FLOOR = Trial("first", "hood")
PLANE = Trial("wall", "hood", surface="plane", surface_at=4.0)


def shots_at(marks, trial=FLOOR, balls=None, **more):
    first = "height" if trial.surface == "plane" else "along"
    return [
        Shot(
            f"{trial.name}-{i}",
            trial.name,
            i + 1,
            ball=None if balls is None else balls[i],
            cross=float(mark[1]),
            **{first: float(mark[0])},
            **more,
        )
        for i, mark in enumerate(marks)
    ]


def found(marks, trial=FLOOR, **more):
    return trial_dispersion(trial, shots_at(marks, trial, **more), rng=np.random.default_rng(3))


def words(result):
    return " ".join(result.words)


@pytest.mark.authority
def test_figures_of_a_trial():
    # numpy and scipy, in cm: 3.428571, 0.142857; variances 42.912381, 49.102857, covariance -4.688095;
    # sigma 6.925519, CEP 8.154175, R95 16.951916, extreme spread 19.912308.
    result = found(MARKS + np.array([3.0, 0.0]))
    assert result.mean_point_m == pytest.approx((3.03428571, 0.00142857), abs=5e-9)
    assert result.covariance_m2 == (
        pytest.approx((42.912381e-4, -4.688095e-4)),
        pytest.approx((-4.688095e-4, 49.102857e-4)),
    )
    assert result.sigma_m.value == pytest.approx(0.06925519)
    assert result.cep_m.value == pytest.approx(0.08154175)
    assert result.r95_m.value == pytest.approx(0.16951916)
    assert result.extreme_spread_m.value == pytest.approx(0.19912308)
    assert result.ellipse.semi_long_m == pytest.approx(0.07185077)
    assert result.next_shot_ellipse.semi_long_m == pytest.approx(0.07185077 * 3.983785, rel=1e-6)
    assert (result.first_axis, result.shots_used, result.outliers) == ("along", 7, ())
    assert result.mark_share == pytest.approx(1.0 / 46.007619, rel=1e-6)
    assert "No drift found; 7 shots would have shown one of about 4 standard deviations" in words(result)


def test_a_plane_has_heights():
    result = found(MARKS + np.array([1.2, 0.0]), PLANE)
    assert result.first_axis == "height"
    assert result.mean_first_m.value == pytest.approx(1.23428571)
    assert "height" in words(result)


def test_flagged_shots_count_and_are_shown_without():
    # The shot that Wilks' test flags at p = .0220: (62.7, -45.5) in place of the last.
    marks = MARKS.copy()
    marks[6] = (0.627, -0.455)
    result = found(marks + np.array([3.0, 0.0]))
    assert [o.order for o in result.outliers] == [7]
    assert result.outliers[0].uid == "first-6"
    assert result.outliers[0].p_adjusted == pytest.approx(0.0220, abs=5e-5)
    assert result.shots_used == 7
    assert result.without_outliers.sigma_m.value < result.sigma_m.value / 2
    assert "Shot 7 stands off" in words(result)
    assert "still count" in words(result)


def test_set_aside_shots_are_left_out_and_counted():
    shots = shots_at(MARKS + np.array([3.0, 0.0]))
    shots[2] = Shot("x", "first", 3, along=99.0, cross=99.0, set_aside="jammed")
    shots.append(Shot("y", "first", 8, along=3.0))
    shots.append(Shot("z", "another", 1, along=50.0, cross=50.0))
    result = trial_dispersion(FLOOR, shots, rng=np.random.default_rng(3))
    assert (result.shots_used, result.shots_set_aside, result.shots_without_mark) == (6, 1, 1)
    assert result.mean_first_m.value < 4
    assert "6 shots used, 1 set aside, 1 without a mark" in words(result)
    assert [s.order for s in marked_shots(FLOOR, shots[::-1])] == [1, 2, 4, 5, 6, 7]


def test_drift_is_found_in_the_order_of_firing():
    ramp = np.column_stack([np.linspace(3.0, 3.6, 10), np.tile([0.02, -0.02], 5)])
    result = found(ramp)
    assert result.drift_first.p < 1e-5
    assert result.drift_first.slope_per_shot == pytest.approx(0.6 / 9)
    assert "drift with shot order, along" in words(result)
    shuffled = trial_dispersion(FLOOR, shots_at(ramp)[::-1], rng=np.random.default_rng(3))
    assert shuffled.drift_first == result.drift_first


def test_balls_are_told_from_repeat():
    rng = np.random.default_rng(8)
    ball = np.repeat(np.arange(5), 3)
    offset = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])[ball]
    marks = np.column_stack([3 + offset + 0.02 * rng.standard_normal(15), 0.02 * rng.standard_normal(15)])
    result = found(marks, balls=[f"no {b}" for b in ball])
    assert isinstance(result.balls_first, VarianceComponents)
    assert result.balls_first.p < 1e-6
    assert result.balls_first.between_sd.value == pytest.approx(
        np.std([-0.4, -0.2, 0, 0.2, 0.4], ddof=1), rel=0.1
    )
    assert result.balls_cross.p > 0.01
    assert "Between balls" in words(result)


@pytest.mark.parametrize(
    ("trial", "balls"), [(Trial("first", "hood", same_ball=True), None), (FLOOR, ["a"] * 7)]
)
def test_one_ball_is_warned_of(trial, balls):
    result = found(MARKS, trial, balls=balls)
    assert result.same_ball
    assert "one ball" in words(result)
    assert not found(MARKS, balls=list("abcabca")).same_ball


def test_simulated_shots_say_so():
    result = found(MARKS, Trial("first", "hood", origin="simulated"))
    assert result.words[0] == "Simulated shots, not measured ones."


@pytest.mark.parametrize("n", [0, 1, 2, 3, 4])
def test_few_shots(n):
    result = found(MARKS[:n])
    assert result.shots_used == n
    json.dumps(result.to_dict())
    assert isinstance(result.sigma_m, NotEstimated if n < 3 else Estimate)
    assert isinstance(result.mean_first_m, NotEstimated if n < 2 else Estimate)
    assert (result.mean_point_m is None) == (n == 0)
    if n < 3:
        assert f"{n} shot{'' if n == 1 else 's'}, at least 3 needed" in words(result)


def test_all_on_one_mark_is_no_spread_of_zero():
    result = found(np.ones((6, 2)))
    for name in ("sigma_m", "cep_m", "extreme_spread_m", "sd_first_m", "mean_first_m", "drift_first"):
        assert isinstance(getattr(result, name), NotEstimated)
    assert "one mark" in words(result)


def test_marks_coarser_than_the_spread():
    result = found(MARKS / 100, Trial("first", "hood", mark_sd=0.01))
    assert result.mark_share > 1
    assert "measure more finely" in words(result)


def test_ten_thousand_shots():
    marks = np.random.default_rng(2).standard_normal((10_000, 2))
    start = time.perf_counter()
    result = found(marks, balls=[str(i % 20) for i in range(10_000)])
    assert time.perf_counter() - start < 20
    assert result.sigma_m.low < 1 < result.sigma_m.high
    json.dumps(result.to_dict())


@settings(deadline=None, max_examples=25)
@given(marks=st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=0, max_size=12))
def test_any_marks_give_figures_or_reasons(marks):
    result = found(np.array(marks, float).reshape(-1, 2))
    json.dumps(result.to_dict(), allow_nan=False)
    assert result.words
    for name in (
        "sigma_m",
        "cep_m",
        "r95_m",
        "mean_radius_m",
        "extreme_spread_m",
        "sd_first_m",
        "sd_cross_m",
    ):
        value = getattr(result, name)
        if isinstance(value, Estimate):
            assert value.value > 0
            assert value.low <= value.high
        else:
            assert value.reason


def test_one_seed_one_answer():
    assert found(MARKS) == found(MARKS)
