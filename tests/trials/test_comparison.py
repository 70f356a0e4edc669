"""Prototypes set against each other: figures, words, pooling, planning, what can't be compared."""

from __future__ import annotations

import json

import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.base.estimate import NotEstimated
from shotwright.trials.comparison import compare_trials, plan_shots
from shotwright.trials.dispersion import trial_dispersion
from shotwright.trials.records import Shot, Trial

# Three invented samples of 7 shots, cm.
A = np.array([(12.1, -3.4), (5.6, 8.9), (-7.2, 1.5), (3.3, -10.8), (9.4, 4.2), (-1.9, 6.1), (2.7, -5.5)])
B = np.array(
    [(21.4, -11.2), (-14.6, 9.9), (8.2, 23.5), (-19.3, -12.8), (15.4, 4.6), (-3.9, -24.1), (2.7, 16.5)]
)
C = np.array([(9.8, -6.1), (-11.4, 3.2), (4.4, 12.9), (-2.1, -14.2), (13.0, 6.6), (-8.7, -1.9), (1.1, 8.0)])


def fired(prototype, marks, at=3.0, name=None, **more):
    trial = Trial(name or f"trial of {prototype}", prototype, **more)
    first = "height" if trial.surface == "plane" else "along"
    shots = [
        Shot(f"{trial.name}-{i}", trial.name, i + 1, cross=y / 100, **{first: at + x / 100})
        for i, (x, y) in enumerate(np.asarray(marks).tolist())
    ]
    return trial, shots


def compared(*trials, **more):
    return compare_trials(trials, rng=np.random.default_rng(5), **more)


@pytest.mark.authority
def test_two_prototypes_that_differ():
    # Enumeration: 2 of 3 432 splits; ratio 2.394095, F 5.731690 (scipy); Hotelling p .943233.
    pair = compared(fired("A", A), fired("B", B)).pairs[0]
    assert pair.spread.ratio.value == pytest.approx(2.394095, abs=1e-6)
    assert pair.spread.f == pytest.approx(5.731690, abs=1e-6)
    assert (pair.spread_test.extreme, pair.spread_test.tried) == (2, 3432)
    assert pair.spread_p_adjusted == pytest.approx(2 / 3432)
    assert pair.centre_hotelling_p == pytest.approx(0.943233, abs=1e-6)
    assert "B scatters 2.4 times as wide as A" in pair.words
    assert "mean points can't be told apart" in pair.words


@pytest.mark.authority
def test_two_prototypes_that_cannot_be_told_apart():
    # Enumeration: 194 of 3 432; ratio 1.350346; P(A tighter) .844; 26 shots each for 1.5 and 45 for 1.350.
    result = compared(fired("A", A), fired("C", C))
    pair = result.pairs[0]
    assert pair.spread.ratio.value == pytest.approx(1.350346, abs=1e-6)
    assert pair.spread_p_adjusted == pytest.approx(194 / 3432)
    assert (pair.more_shots, pair.more_shots_for_ratio_seen) == (19, 38)
    assert pair.words.startswith(
        "7 shots each of A and C cannot tell their spreads apart (C looks 1.35 times as wide"
    )
    assert "19 more each would, if the ratio is really 1.5." in pair.words
    assert "If the ratio seen, 1.35, is the true one: 38 more each." in pair.words
    assert "The chance that A is the tighter is 84 %" in pair.words
    assert result.words[-1] == pair.words


@pytest.mark.authority
def test_three_prototypes():
    # Tightest by simulation elsewhere: .8439, .0004, .1558 for round scatter.
    result = compared(fired("A", A), fired("B", B), fired("C", C))
    assert [side.label for side in result.sides] == ["A", "B", "C"]
    assert [s.tightest for s in result.sides] == pytest.approx([0.8439, 0.0004, 0.1558], abs=0.05)
    assert sum(s.tightest for s in result.sides) == pytest.approx(1.0)
    by_pair = {(p.first, p.second): p for p in result.pairs}
    assert by_pair["A", "B"].spread_p_adjusted == pytest.approx(3 * 2 / 3432)
    assert by_pair["A", "C"].spread_p_adjusted == pytest.approx(194 / 3432)
    assert result.spread_omnibus.p < 0.02
    assert result.centre_omnibus.p > 0.5
    assert "adjusted for 3 pairs" in by_pair["A", "B"].words
    json.dumps(result.to_dict(), allow_nan=False)


def test_side_agrees_with_the_trial_itself():
    trial, shots = fired("A", A)
    side = compared((trial, shots), fired("B", B)).sides[0]
    alone = trial_dispersion(trial, shots, rng=np.random.default_rng(1))
    assert side.sigma_m.value == pytest.approx(alone.sigma_m.value)
    assert side.sigma_m.high == pytest.approx(alone.sigma_m.high, rel=0.1)
    assert side.reach_m == alone.mean_first_m


def test_order_does_not_matter():
    one = compared(fired("A", A), fired("C", C)).pairs[0]
    other = compared(fired("C", C), fired("A", A)).pairs[0]
    assert other.spread.ratio.value == pytest.approx(1 / one.spread.ratio.value)
    assert other.spread_p_adjusted == one.spread_p_adjusted
    assert other.centre_p_adjusted == one.centre_p_adjusted
    assert "C looks 1.35 times as wide" in other.words


def test_pooling_adds_degrees_of_freedom():
    # Two settings, reaches 3 m and 5 m: pooled spread must not see the step between them.
    result = compared(
        fired("A", A, name="near"), fired("A", C, at=5.0, name="far"), fired("B", B), pooled=True
    )
    a = result.sides[0]
    assert (a.trials, a.shots, a.freedom) == (("near", "far"), 14, 12)
    want = (6 * np.cov(A.T) + 6 * np.cov(C.T)) / 12
    assert a.sigma_m.value == pytest.approx(np.sqrt(np.trace(want) / 2) / 100, rel=0.02)
    assert isinstance(a.reach_m, NotEstimated)
    assert isinstance(result.pairs[0].centre_test, NotEstimated)
    assert result.pairs[0].spread_test.p < 0.01
    apart = compared(fired("A", A, name="near"), fired("A", C, at=5.0, name="far"), fired("B", B))
    assert [s.label for s in apart.sides] == ["A (near)", "A (far)", "B"]


def test_centres_that_differ_and_longer_flights():
    result = compared(fired("A", A), fired("C", C, at=4.5))
    text = result.pairs[0].words
    assert result.pairs[0].centre_p_adjusted == pytest.approx(2 / 3432)
    assert "C lands" in text
    assert "farther than A" in text
    assert "scatter grows with distance" in text
    low = compared(fired("A", A, surface="plane", at=1.5), fired("C", C, surface="plane", at=1.0))
    assert "lower than A" in low.pairs[0].words


def test_flyers_are_warned_of():
    marks = A.copy()
    marks[6] = (62.7, -45.5)
    result = compared(fired("A", marks), fired("C", C))
    assert result.sides[0].flagged == 1
    assert "Flagged shots of A are counted" in result.pairs[0].words


def test_what_cannot_be_compared_says_why():
    result = compared(
        fired("A", A),
        fired("wall", C, surface="plane"),
        fired("few", B[:2]),
        fired("one mark", np.ones((5, 2))),
    )
    by_pair = {(p.first, p.second): p for p in result.pairs}
    assert "upright plane" in by_pair["A", "wall"].spread.reason
    assert "at least 3 needed" in by_pair["A", "few"].spread.reason
    assert "one mark" in by_pair["A", "one mark"].spread.reason
    assert by_pair["A", "few"].spread_p_adjusted is None
    assert isinstance(result.spread_omnibus, NotEstimated)
    json.dumps(result.to_dict(), allow_nan=False)


def test_three_against_three_can_show_nothing():
    pair = compared(fired("A", A[:3]), fired("B", 50 * B[:3])).pairs[0]
    assert pair.spread_p_adjusted >= 0.1
    assert "With so few shots no outcome could have shown a difference." in pair.words


def test_set_aside_shots_are_left_out():
    trial, shots = fired("A", A)
    shots.append(Shot("x", trial.name, 8, along=99.0, cross=9.0, set_aside="jammed"))
    assert compared((trial, shots), fired("C", C)).sides[0].shots == 7


def test_simulated_sides_are_named():
    result = compared(fired("A", A, origin="simulated"), fired("C", C))
    assert result.words[0] == "Simulated shots, not measured ones: A."


def test_too_little_to_compare():
    with pytest.raises(BadInput, match="at least 2 needed"):
        compared(fired("A", A))
    with pytest.raises(BadInput, match="different prototypes"):
        compared(fired("A", A, name="one"), fired("A", C, name="two"), pooled=True)
    with pytest.raises(BadInput, match="named twice"):
        compared(fired("A", A), fired("A", A))


def test_thousands_of_shots():
    marks = 10 * np.random.default_rng(2).standard_normal((6000, 2))
    pair = compared(fired("A", marks[:3000]), fired("B", 1.2 * marks[3000:])).pairs[0]
    assert pair.spread_p_adjusted == pytest.approx(1 / (pair.spread_test.tried))
    assert pair.spread.ratio.low < 1.2 < pair.spread.ratio.high


@pytest.mark.authority
def test_plan():
    # Exact F: 26 for a ratio of 1.5, 34 for three pairs; ratio 2.323 at 7; 60 for 80 % to within 10 points;
    # 29 hits in a row for 90 %. Permutation: 30 for 1.5, 12 to 13 for 2, 8 for 2.5 by simulation.
    plan = plan_shots(ratio=1.5, current=7, hit_rate=0.8, demonstrate=0.9)
    assert (plan.shots_for_ratio, plan.more_for_ratio, plan.shots_for_ratio_permutation) == (26, 19, 30)
    assert plan.ratio_shown_now == pytest.approx(2.323, abs=5e-4)
    assert plan.power_now == pytest.approx(0.263, abs=5e-4)
    assert plan.pick_now == pytest.approx(0.9127, abs=5e-5)
    assert (plan.shots_for_width, plan.shots_without_a_miss) == (60, 29)
    assert plan_shots(ratio=1.5, comparisons=3).shots_for_ratio == 34
    assert plan_shots(ratio=2.0).shots_for_ratio_permutation in (12, 13)
    assert plan_shots(ratio=2.5).shots_for_ratio_permutation == 8
    assert "19 more of each" in " ".join(plan.words)
    assert plan_shots(ratio=3.0, current=40).more_for_ratio == 0
    json.dumps(plan.to_dict())


@pytest.mark.parametrize(
    "asked",
    [{}, {"ratio": 1.0}, {"ratio": 1.5, "power": 1.2}, {"hit_rate": 1.5}, {"ratio": 1.5, "current": -1}],
)
def test_plan_without_sense(asked):
    with pytest.raises(BadInput):
        plan_shots(**asked)
