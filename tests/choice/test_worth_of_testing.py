"""The worth of more shots before choosing: closed forms, an independent simulation, and laws."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import norm

from shotwright.choice.worth_of_testing import (
    Contender,
    expected_gain,
    gain_lines,
    marks_to_come,
    worth_of_testing,
)
from shotwright.trials.spread import TrialEvidence, draw_launch_spread

FloatArray = NDArray[np.float64]
DRAWS = 6000


def normal_loss(lead: float, sd: float) -> float:
    """Expected gain of a look at N(-lead, sd) beside a sure 0: sd phi(lead/sd) - lead Phi(-lead/sd)."""
    return float(sd * norm.pdf(lead / sd) - lead * norm.cdf(-lead / sd))


def trial(name: str, along_sd: float, cross_sd: float, shots: int = 7) -> TrialEvidence:
    """A trial at 7 m/s and 55 degrees with 1 m of range for each m/s, read to 10 mm."""
    return TrialEvidence(
        name,
        shots,
        7.0,
        math.radians(55),
        np.array([[1.0, -1.5]]),
        np.array([[along_sd**2]]),
        np.array([[1e-4]]),
        5.0,
        cross_sd**2,
        1e-4,
    )


def contender(name: str, along_sd: float, cross_sd: float, seed: int, shots: int = 7) -> Contender:
    """A launcher that scores when it lands within 0.25 m along and across."""
    evidence = (trial(name, along_sd, cross_sd, shots),)
    spread = draw_launch_spread(evidence, np.random.default_rng(seed), draws=DRAWS)
    return Contender(name, hits_of(spread.speed, spread.elevation, spread.azimuth), spread, evidence)


def hits_of(speed: FloatArray, elevation: FloatArray, azimuth: FloatArray) -> FloatArray:
    along = np.hypot(np.hypot(7.0 * speed, 1.5 * elevation), 0.01)
    across = np.hypot(5.0 * azimuth, 0.01)
    return np.asarray((2 * norm.cdf(0.25 / along) - 1) * (2 * norm.cdf(0.25 / across) - 1))


@pytest.fixture(scope="module")
def pair() -> list[Contender]:
    return [contender("A", 0.24, 0.2, 1), contender("B", 0.26, 0.22, 2)]


# ---- closed forms: normal worth, normal samples (Raiffa and Schlaifer 1961, unit normal loss, from memory)


@pytest.mark.parametrize(("lead", "noise", "n"), [(0.0, 0.3, 4), (0.05, 0.3, 10), (0.1, 0.2, 5)])
def test_one_unknown_arm_against_a_sure_one(lead: float, noise: float, n: int) -> None:
    rng = np.random.default_rng(5)
    sd, m = 0.1, 40_000
    unknown = rng.normal(-lead, sd, m)
    seen = unknown + rng.normal(0.0, noise / math.sqrt(n), m)
    gain, error = expected_gain([unknown, np.zeros(m)], [seen[:, None], None], rng)
    preposterior = sd**2 / math.sqrt(sd**2 + noise**2 / n)
    assert gain == pytest.approx(normal_loss(lead, preposterior), abs=4 * error + 1e-4)
    assert error < 0.003


def test_two_unknown_arms() -> None:
    rng = np.random.default_rng(6)
    m, lead, sds, noises = 40_000, 0.04, (0.1, 0.07), (0.08, 0.05)
    arms = [rng.normal(mean, sd, m) for mean, sd in zip((0.0, -lead), sds, strict=True)]
    seen = [a + rng.normal(0.0, s, m) for a, s in zip(arms, noises, strict=True)]
    gain, error = expected_gain(arms, [s[:, None] for s in seen], rng)
    # the difference of two independent posterior means is normal again
    spread = math.hypot(*(sd**2 / math.hypot(sd, s) for sd, s in zip(sds, noises, strict=True)))
    assert gain == pytest.approx(normal_loss(lead, spread), abs=4 * error + 1e-4)


def test_exact_data_gain_what_perfect_information_gains() -> None:
    rng = np.random.default_rng(7)
    arms = [rng.normal(0.5, 0.1, 20_000), rng.normal(0.45, 0.2, 20_000)]
    gain, error = expected_gain(arms, [a[:, None] for a in arms], rng)
    assert gain == pytest.approx(normal_loss(0.05, math.hypot(0.1, 0.2)), abs=4 * error + 1e-3)


# ---- laws


@settings(max_examples=20, deadline=None)
@given(
    lead=st.floats(-0.2, 0.2),
    sd=st.floats(0.01, 0.2),
    noise=st.floats(0.01, 1.0),
    seed=st.integers(0, 1000),
)
def test_it_is_never_negative_and_never_more_than_perfect(
    lead: float, sd: float, noise: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    arms = [rng.normal(lead, sd, 2000), rng.normal(0.0, 0.05, 2000)]
    seen: list[FloatArray | None] = [(a + rng.normal(0.0, noise, 2000))[:, None] for a in arms]
    gain, error = expected_gain(arms, seen, rng)
    perfect, its_error = expected_gain(arms, [a[:, None] for a in arms], rng)
    assert gain >= -3 * error - 1e-9
    assert gain <= perfect + 3 * (error + its_error) + 1e-9


def test_more_shots_gain_more_and_end_at_knowing_the_spread(pair: list[Contender]) -> None:
    found = worth_of_testing(pair, np.random.default_rng(3), shots=(3, 10, 30, 1000))
    assert found is not None
    each = [g for g in found.gains if g.of == "each"]
    for fewer, more in itertools.pairwise(each):
        slack = 3 * (fewer.standard_error_percent + more.standard_error_percent)
        assert more.gain_percent >= fewer.gain_percent - slack
    assert each[-1].gain_percent > each[0].gain_percent
    # hits depend on the spreads through what a trial sees, so 1000 shots tell nearly all
    slack = 3 * (each[-1].standard_error_percent + found.perfect.standard_error_percent)
    assert each[-1].gain_percent == pytest.approx(found.perfect.gain_percent, abs=slack + 0.1)
    for g in found.gains:
        assert g.gain_percent >= -3 * g.standard_error_percent - 1e-9
        if g.of != "each":
            both = next(e for e in each if e.shots == g.shots)
            assert g.gain_percent <= both.gain_percent + 3 * (
                g.standard_error_percent + both.standard_error_percent
            )


def test_a_clear_winner_is_worth_no_more_shots() -> None:
    found = worth_of_testing(
        [contender("good", 0.05, 0.05, 1, shots=15), contender("poor", 0.8, 0.8, 2, shots=15)],
        np.random.default_rng(3),
    )
    assert found is not None
    assert found.best == "good"
    assert found.perfect.gain_percent < 0.5
    assert any("hardly change the choice" in w for w in found.words)


def test_one_prototype_leaves_nothing_to_choose(pair: list[Contender]) -> None:
    assert worth_of_testing(pair[:1], np.random.default_rng(1)) is None


def test_the_lines_tell_every_number(pair: list[Contender]) -> None:
    found = worth_of_testing(pair, np.random.default_rng(3))
    assert found is not None
    lines = gain_lines(found)
    assert [line.split()[0] for line in lines] == ["5", "10", "20", "Every"]
    assert all("of each" in line and "of A alone" in line for line in lines[:3])
    assert found.to_dict()["gains"][0].keys() == {"shots", "of", "gain_percent", "standard_error_percent"}


# ---- an independent way: nested simulation with importance weights


def test_nested_simulation_with_weights_agrees(pair: list[Contender]) -> None:
    n, futures = 10, 400
    rng = np.random.default_rng(8)
    means = []
    for one in pair:
        e = one.evidence[0]
        along = (7.0 * one.spread.speed) ** 2 + (1.5 * one.spread.elevation) ** 2 + 1e-4
        across = (e.cross * one.spread.azimuth) ** 2 + 1e-4
        picked = rng.integers(DRAWS, size=futures)
        mine = np.empty(futures)
        for k, j in enumerate(picked):
            weight = np.zeros(DRAWS)
            for variance in (along, across):
                seen = variance[j] * rng.chisquare(n - 1) / (n - 1)
                weight -= 0.5 * (n - 1) * (np.log(variance) + seen / variance)
            weight = np.exp(weight - weight.max())
            mine[k] = np.sum(weight * one.hits) / np.sum(weight)
        means.append(mine)
    most = np.maximum.outer(means[0], means[1])
    nested = 100 * float(most.mean() - max(m.mean() for m in means))
    # each row and column mean varies from future to future; two independent sets of 400
    doubt = 100 * math.hypot(*(most.mean(axis=k).std() / math.sqrt(futures) for k in (0, 1)))
    found = worth_of_testing(pair, rng, shots=(n,))
    assert found is not None
    gain = found.gains[0]
    assert nested > 0.3
    assert gain.gain_percent == pytest.approx(nested, abs=3 * (gain.standard_error_percent + doubt))


def test_marks_to_come_scatter_as_the_chi_square_says() -> None:
    one = contender("A", 0.24, 0.2, 1)
    e = trial("A", 0.24, 0.2)
    seen = np.exp(marks_to_come((e,), one.spread, 9, np.random.default_rng(2)))
    true = (7.0 * one.spread.speed) ** 2 + (1.5 * one.spread.elevation) ** 2 + 1e-4
    share = seen[:, 0] / true * 8
    # chi-square with 8 degrees of freedom: mean 8, variance 16
    assert share.mean() == pytest.approx(8.0, abs=4 * math.sqrt(16 / DRAWS))
    assert share.var() == pytest.approx(16.0, rel=0.1)
    assert seen.shape == (DRAWS, 2)
