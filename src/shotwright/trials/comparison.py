"""Prototypes set against each other: reach, spread, and whether the shots can tell them apart."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import Estimated, NotEstimated
from shotwright.statistics.dispersion import sigma_estimate
from shotwright.statistics.ellipse import covariance, effective_freedom, two_centre_test
from shotwright.statistics.intervals import mean_difference, mean_interval, no_spread, too_few
from shotwright.statistics.multiple import holm
from shotwright.statistics.outliers import stand_offs
from shotwright.statistics.permutation import PermutationTest, centre_permutation_test, spread_test
from shotwright.statistics.sample_size import shots_for_spread_ratio
from shotwright.statistics.spread_ratio import SpreadRatio, spread_ratio
from shotwright.trials.comparison_records import Comparison, PairComparison, Side
from shotwright.trials.comparison_words import comparison_words, pair_words
from shotwright.trials.dispersion import FLAG_BELOW, marks_of
from shotwright.trials.planning import ShotPlan, plan_shots
from shotwright.trials.records import Shot, Trial

__all__ = ["Comparison", "PairComparison", "ShotPlan", "Side", "compare_trials", "plan_shots"]

FloatArray = NDArray[np.float64]
TrialShots = tuple[Trial, Sequence[Shot]]


@dataclass(frozen=True, slots=True, eq=False)
class _Marks:
    """A side's marks: of one trial as they are, of several as residuals about each trial's mean point."""

    side: Side
    points: FloatArray
    residuals: FloatArray
    covariance: FloatArray | None
    draws: FloatArray | None
    missing: NotEstimated | None


def compare_trials(
    trials: Sequence[TrialShots],
    *,
    rng: np.random.Generator,
    pooled: bool = False,
    power: float = 0.8,
    ratio_of_interest: float = 1.5,
) -> Comparison:
    """Compare reach and spread of prototypes, trial by trial or pooled within each prototype.

    Parameters
    ----------
    trials : sequence of (Trial, sequence of Shot)
        Two or more. Shots set aside are left out.
    rng : numpy.random.Generator
        Source of randomness of permutations and posterior draws.
    pooled : bool
        Pool the trials of one prototype: residuals about each trial's own mean point, their degrees of
        freedom added.
    power : float
        Chance to show a true difference that the planner aims at. [-]
    ratio_of_interest : float
        Spread ratio that the crew thinks possible, for the planner. [-]

    Returns
    -------
    Comparison
        Sides, pairs, words.

    Raises
    ------
    BadInput
        Fewer than two sides.

    Notes
    -----
    The permutation p decides; the spread ratio's interval is F with Satterthwaite's degrees of freedom.
    docs/statistics.md tables size and power of both.
    """
    groups = _grouped(trials, pooled)
    if len(groups) < 2:
        raise BadInput(
            f"{len(groups)} to compare, at least 2 needed; name two trials"
            + (" of different prototypes" if pooled else ""),
            field="trials",
        )
    marks = _with_chance_of_tightest([_marks(label, members, rng) for label, members in groups])
    planned = shots_for_spread_ratio(ratio_of_interest, power=power)
    pairs = [
        _compare(a, b, rng, planned, ratio_of_interest, power) for a, b in itertools.combinations(marks, 2)
    ]
    sides = {m.side.label: m.side for m in marks}
    spread_p = holm([_p(pair.spread_test) for pair in pairs])
    centre_p = holm([_p(pair.centre_test) for pair in pairs])
    finished = []
    for pair, for_spread, for_centre in zip(pairs, spread_p, centre_p, strict=True):
        adjusted = dataclasses.replace(
            pair, spread_p_adjusted=_known(for_spread), centre_p_adjusted=_known(for_centre)
        )
        words = pair_words(adjusted, sides[pair.first], sides[pair.second], len(pairs))
        finished.append(dataclasses.replace(adjusted, words=words))
    found = Comparison(
        sides=tuple(sides.values()),
        pairs=tuple(finished),
        spread_omnibus=_omnibus(marks, rng, spreads=True),
        centre_omnibus=_omnibus(marks, rng, spreads=False),
        pooled=pooled,
        power=power,
    )
    return dataclasses.replace(found, words=comparison_words(found))


def _p(test: PermutationTest | NotEstimated) -> float:
    return test.p if isinstance(test, PermutationTest) else float("nan")


def _known(p: float) -> float | None:
    return None if np.isnan(p) else float(p)


def _grouped(trials: Sequence[TrialShots], pooled: bool) -> list[tuple[str, list[TrialShots]]]:
    names = [trial.name for trial, _ in trials]
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        raise BadInput(f"trial {min(twice)!r} is named twice; name each once", field="trials")
    by_prototype: dict[str, list[TrialShots]] = {}
    for trial, shots in trials:
        by_prototype.setdefault(trial.prototype, []).append((trial, shots))
    if pooled:
        return list(by_prototype.items())
    return [
        (
            trial.prototype
            if len(by_prototype[trial.prototype]) == 1
            else f"{trial.prototype} ({trial.name})",
            [(trial, shots)],
        )
        for trial, shots in trials
    ]


def _marks(label: str, members: list[TrialShots], rng: np.random.Generator) -> _Marks:
    trial = members[0][0]
    each = [points for points in (marks_of(t, shots) for t, shots in members) if len(points)]
    # Stretched so that every residual has the full variance, whatever the size of its trial.
    residuals = [(p - p.mean(axis=0)) * np.sqrt(len(p) / (len(p) - 1)) for p in each if len(p) > 1]
    freedom = sum(len(p) - 1 for p in each)
    points = each[0] if len(each) == 1 else np.empty((0, 2))
    missing = _missing(len({t.surface for t, _ in members}) > 1, each, freedom)
    sigma: Estimated
    matrix, draws = None, None
    if missing is None:
        squares = [(len(p) - 1) * covariance(p) for p in each if len(p) > 1]
        matrix = np.sum(squares, axis=0) / freedom
        sigma, draws = sigma_estimate(matrix, freedom, rng)
    else:
        sigma = missing
    several = NotEstimated(f"{len(each)} trials pooled, each with its own mean point")
    alone = len(each) < 2
    side = Side(
        label=label,
        prototype=trial.prototype,
        trials=tuple(t.name for t, _ in members),
        origin="simulated" if any(t.origin == "simulated" for t, _ in members) else "measured",
        surface=trial.surface,
        first_axis="height" if trial.surface == "plane" else "along",
        shots=sum(len(p) for p in each),
        freedom=freedom,
        reach_m=mean_interval(points[:, 0]) if alone else several,
        mean_cross_m=mean_interval(points[:, 1]) if alone else several,
        sigma_m=sigma,
        tightest=None,
        flagged=sum(_flagged(p) for p in each),
    )
    stacked = np.concatenate(residuals) if residuals else np.empty((0, 2))
    return _Marks(side, points, stacked, matrix, draws, missing)


def _flagged(points: FloatArray) -> int:
    found = stand_offs(points)
    return 0 if isinstance(found, NotEstimated) else sum(far.p < FLAG_BELOW for far in found)


def _missing(mixed: bool, each: list[FloatArray], freedom: int) -> NotEstimated | None:
    if mixed:
        return NotEstimated("trials on a floor and on an upright plane can't be pooled")
    if freedom < 2:
        return too_few(sum(len(p) for p in each), 3)
    if all(no_spread(p) for p in each):
        return NotEstimated("all shots on one mark: nothing to estimate a spread from")
    return None


def _with_chance_of_tightest(marks: list[_Marks]) -> list[_Marks]:
    known = [i for i, m in enumerate(marks) if m.draws is not None]
    if len(known) < 2:
        return marks
    drawn = np.stack([marks[i].draws for i in known])  # type: ignore[misc]  # None was sorted out above
    first = drawn.argmin(axis=0)
    for place, i in enumerate(known):
        side = dataclasses.replace(marks[i].side, tightest=float(np.mean(first == place)))
        marks[i] = dataclasses.replace(marks[i], side=side)
    return marks


def _compare(
    a: _Marks, b: _Marks, rng: np.random.Generator, planned: int, ratio: float, power: float
) -> PairComparison:
    blocked = a.missing or b.missing
    if a.side.surface != b.side.surface:
        blocked = NotEstimated("one was marked on a floor, the other on an upright plane")
    spread: SpreadRatio | NotEstimated
    test: PermutationTest | NotEstimated
    spread = test = blocked or NotEstimated("no spread on one side")
    seen: int | None = None
    shots = min(a.side.shots, b.side.shots)
    if blocked is None and a.covariance is not None and b.covariance is not None:
        spread = spread_ratio(
            float(np.trace(a.covariance)) / 2,
            float(np.trace(b.covariance)) / 2,
            effective_freedom(a.covariance, a.side.freedom),
            effective_freedom(b.covariance, b.side.freedom),
        )
        test = spread_test([a.residuals, b.residuals], rng)
        seen = _more_for(spread.ratio.value, shots, power)
    centre, hotelling = _centres(a, b, blocked, rng)
    alone = len(a.points) > 0 and len(b.points) > 0 and a.side.surface == b.side.surface
    return PairComparison(
        first=a.side.label,
        second=b.side.label,
        spread=spread,
        spread_test=test,
        spread_p_adjusted=None,
        reach_difference_m=(
            mean_difference(a.points[:, 0], b.points[:, 0])
            if alone
            else NotEstimated("mean points of pooled trials, or of different surfaces, are not compared")
        ),
        centre_test=centre,
        centre_p_adjusted=None,
        centre_hotelling_p=hotelling,
        more_shots=None if blocked else max(planned - shots, 0),
        more_shots_if_ratio=ratio,
        more_shots_for_ratio_seen=seen,
    )


def _more_for(ratio: float, shots: int, power: float) -> int | None:
    try:
        return max(shots_for_spread_ratio(ratio, power=power) - shots, 0)
    except (NoAnswer, BadInput):  # a ratio of 1 is never shown
        return None


def _centres(
    a: _Marks, b: _Marks, blocked: NotEstimated | None, rng: np.random.Generator
) -> tuple[PermutationTest | NotEstimated, float | None]:
    if blocked is not None:
        return blocked, None
    if not (len(a.points) and len(b.points)):
        return NotEstimated("trials pooled, each with its own mean point"), None
    exact = two_centre_test(a.points, b.points)
    p = None if isinstance(exact, NotEstimated) else exact.p
    return centre_permutation_test([a.points, b.points], rng), p


def _omnibus(
    marks: list[_Marks], rng: np.random.Generator, *, spreads: bool
) -> PermutationTest | NotEstimated:
    if len(marks) < 3:
        return NotEstimated(f"{len(marks)} compared, their pair says it all")
    for m in marks:
        if m.missing is not None:
            return NotEstimated(f"{m.side.label}: {m.missing.reason}")
    if len({m.side.surface for m in marks}) > 1:
        return NotEstimated("some were marked on a floor, others on an upright plane")
    if spreads:
        return spread_test([m.residuals for m in marks], rng)
    if any(len(m.points) == 0 for m in marks):
        return NotEstimated("trials pooled, each with its own mean point")
    return centre_permutation_test([m.points for m in marks], rng)
