"""Plans of a match side by side: points, what to do when a position is blocked, what to work on."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.bench.match_filling import filled, part_of, read_match, wanted_plans
from shotwright.bench.match_words import plan_words
from shotwright.bench.sweeps.run import run_chunks
from shotwright.bench.workbook import Workbook
from shotwright.choice.records import HitDraws, HitProbability
from shotwright.match.case import MatchCase
from shotwright.match.match_kernel import (
    AIMING,
    AUTO_SCORE,
    BLOCKED,
    CLEARING,
    COLLECTING,
    DRIVING,
    FIRING,
    HITS,
    IDLE,
    JAMS,
    MOVED_ON,
    SCORE,
    SHOTS,
    TRIPS,
)
from shotwright.match.records import MatchFile, Plan
from shotwright.match.results import Improvement, MatchPlans, PlanPoints, SecondChoice
from shotwright.match.sweep import MatchSweep
from shotwright.match.worth import PAIRED, Variant, case_of, improvements, mean_of, second_choices

FloatArray = NDArray[np.float64]

SEED = 1
MATCHES = 10_000
_MOST_MATCHES = 1_000_000
_POOL_FROM = 400_000  # matches; a pool of processes takes seconds to start
_TIMES = {
    "driving": DRIVING,
    "aiming": AIMING,
    "waiting for the launcher": FIRING,
    "waiting for a defender": BLOCKED,
    "collecting": COLLECTING,
    "clearing jams": CLEARING,
    "idle": IDLE,
}


def match_plans(
    project: Path | None = None,
    *,
    file: Path | None = None,
    plans: tuple[str, ...] = (),
    matches: int = MATCHES,
    seed: int = SEED,
    workers: int | None = None,
    progress: Progress = silent,
) -> MatchPlans:
    """Simulate many matches of each plan, with the same chances for all.

    Parameters
    ----------
    project : Path, optional
        The project file; gives places, points and hit probabilities that the match file leaves out.
    file : Path, optional
        Match file; that of the project when left out.
    plans : tuple of str
        Only these; all when empty.
    matches : int
        Of each plan and variant.
    seed : int
        The same seed gives the same numbers, on any number of processes.
    workers : int, optional
        Processes; as many as the work is worth when left out.
    progress : Progress
        Told how far it is.

    Returns
    -------
    MatchPlans
        Points of each plan, second choices, and the to-do list.

    Raises
    ------
    BadInput
        No match file, an unknown plan, a position without place, points or hit probability.
    """
    found = read_match(project, file)
    return plans_of(
        found.read,
        found.book,
        found.name,
        plans=plans,
        matches=matches,
        seed=seed,
        workers=workers,
        progress=progress,
    )


def plans_of(
    read: MatchFile,
    book: Workbook | None,
    name: str,
    *,
    plans: tuple[str, ...] = (),
    matches: int = MATCHES,
    seed: int = SEED,
    workers: int | None = None,
    hits: tuple[tuple[HitProbability, ...], tuple[HitDraws, ...]] | None = None,
    progress: Progress = silent,
) -> MatchPlans:
    """Do the work of :func:`match_plans` on a match file that is read.

    Parameters
    ----------
    read : MatchFile
        The match file.
    book : Workbook, optional
        The project.
    name : str
        How messages name the match file.
    plans, matches, seed, workers, progress
        As for :func:`match_plans`.
    hits : tuple, optional
        Rows and draws of the hit probabilities, when they are there already.

    Returns
    -------
    MatchPlans
        As :func:`match_plans`.
    """
    if not 10 <= matches <= _MOST_MATCHES:
        raise BadInput(f"{matches} matches can't be run; 10 to {_MOST_MATCHES}, e.g. 10000", field="matches")
    wanted = wanted_plans(read, plans)
    try:
        file, shown, hit = filled(read, book, seed, hits, progress)
    except BadInput as bad:
        raise bad.at(file=name) from None
    ends = [np.array([[getattr(one.hit, end) for one in shown]]) for end in ("low", "high")]
    cases = [case_of(file, plan, chance) for plan in wanted for chance in (hit, *ends)]
    told = _run(cases, matches, seed, workers, part_of(progress, 0.4, 0.3))
    points = [_points(plan, *told[3 * k : 3 * k + 3]) for k, plan in enumerate(wanted)]
    order = sorted(range(len(wanted)), key=lambda k: -points[k].mean.value)
    first = wanted[order[0]]
    base = told[3 * order[0]][:, SCORE]
    lead = mean_of(base - told[3 * order[1]][:, SCORE], PAIRED) if len(order) > 1 else None
    variants, seconds = improvements(file, first, hit), second_choices(file, first, hit)
    other = _run([v.case for v in (*variants, *seconds)], matches, seed, workers, part_of(progress, 0.7, 0.3))
    to_do = _to_do(variants, other[: len(variants)], base)
    found = MatchPlans(
        name=book.name if book is not None else name,
        matches=matches,
        seed=seed,
        positions=shown,
        plans=tuple(points[k] for k in order),
        lead=lead,
        second_choices=_seconds(seconds, other[len(variants) :]),
        to_do=to_do,
        words=(),
    )
    progress(1.0, "done")
    return dataclasses.replace(found, words=plan_words(found, first))


def _run(
    cases: list[MatchCase], matches: int, seed: int, workers: int | None, progress: Progress
) -> list[FloatArray]:
    """Totals of every match of each case, shape (matches, 14)."""
    if not cases:
        return []
    count = workers if workers is not None else (None if matches * len(cases) >= _POOL_FROM else 1)
    parts = run_chunks(
        MatchSweep.chunks(matches), MatchSweep(tuple(cases), seed), workers=count, progress=progress
    )
    return list(np.concatenate(parts, axis=1))


def _points(plan: Plan, told: FloatArray, low: FloatArray, high: FloatArray) -> PlanPoints:
    score = told[:, SCORE]
    values, counts = np.unique(score, return_counts=True)
    means = told.mean(axis=0)
    return PlanPoints(
        plan=plan.name,
        mean=mean_of(score, "mean of the simulated matches; the interval is the error of their number"),
        least_known=float(low[:, SCORE].mean()),
        most_known=float(high[:, SCORE].mean()),
        sd=float(score.std(ddof=1)),
        quantiles=tuple(float(q) for q in np.quantile(score, [0.05, 0.25, 0.5, 0.75, 0.95])),
        histogram=tuple((float(v), int(n)) for v, n in zip(values, counts, strict=True)),
        autonomous=float(means[AUTO_SCORE]),
        shots=float(means[SHOTS]),
        hits=float(means[HITS]),
        jams=float(means[JAMS]),
        trips=float(means[TRIPS]),
        moved_on=float(means[MOVED_ON]),
        time_s={what: float(means[column]) for what, column in _TIMES.items()},
    )


def _to_do(
    variants: tuple[Variant, ...], told: list[FloatArray], base: FloatArray
) -> tuple[Improvement, ...]:
    rows = [
        Improvement(variant.what, mean_of(one[:, SCORE] - base, PAIRED))
        for variant, one in zip(variants, told, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: -row.gain.value))


def _seconds(variants: tuple[Variant, ...], told: list[FloatArray]) -> tuple[SecondChoice, ...]:
    if not variants:
        return ()
    scores = [one[:, SCORE] for one in told]
    order = sorted(range(len(scores)), key=lambda k: -float(scores[k].mean()))
    best = scores[order[0]]
    return tuple(
        SecondChoice(
            variants[k].what,
            mean_of(scores[k], "mean of the simulated matches; the interval is the error of their number"),
            mean_of(best - scores[k], PAIRED),
        )
        for k in order
    )
