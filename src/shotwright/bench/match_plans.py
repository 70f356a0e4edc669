"""Plans of a match side by side: points, what to do when a position is blocked, what to work on."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate
from shotwright.base.progress import Progress, silent
from shotwright.base.toml_tables import read_text
from shotwright.bench.match_words import plan_words
from shotwright.bench.sweeps.run import run_chunks
from shotwright.bench.workbook import Workbook, read_workbook
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
from shotwright.match.reading import match_from_text
from shotwright.match.records import MatchFile, MatchPosition, Plan
from shotwright.match.results import Improvement, MatchPlans, PlanPoints, PlanPosition, SecondChoice
from shotwright.match.sweep import MatchSweep
from shotwright.match.worth import PAIRED, Variant, case_of, improvements, mean_of, second_choices

FloatArray = NDArray[np.float64]

SEED = 1
MATCHES = 10_000
_DRAWS = 2000  # of what is known of the hit probabilities
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
    book = None if project is None else read_workbook(project)
    if file is not None:
        text, name = read_text(file), file.name
    elif book is not None and "match" in book.crew_files:
        text, name = book.crew_files["match"], "match.toml"
    else:
        raise BadInput(
            "there is no match file; write one (docs/match.md) and bring it in: shotwright import match.toml"
        )
    read = match_from_text(text, name)
    return plans_of(
        read, book, name, plans=plans, matches=matches, seed=seed, workers=workers, progress=progress
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
    wanted = _wanted(read, plans)
    try:
        file, shown, hit = _filled(read, book, seed, hits, progress)
    except BadInput as bad:
        raise bad.at(file=name) from None
    ends = [np.array([[getattr(one.hit, end) for one in shown]]) for end in ("low", "high")]
    cases = [case_of(file, plan, chance) for plan in wanted for chance in (hit, *ends)]
    told = _run(cases, matches, seed, workers, _part(progress, 0.4, 0.3))
    points = [_points(plan, *told[3 * k : 3 * k + 3]) for k, plan in enumerate(wanted)]
    order = sorted(range(len(wanted)), key=lambda k: -points[k].mean.value)
    first = wanted[order[0]]
    base = told[3 * order[0]][:, SCORE]
    lead = mean_of(base - told[3 * order[1]][:, SCORE], PAIRED) if len(order) > 1 else None
    variants, seconds = improvements(file, first, hit), second_choices(file, first, hit)
    other = _run([v.case for v in (*variants, *seconds)], matches, seed, workers, _part(progress, 0.7, 0.3))
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


def _part(progress: Progress, start: float, share: float) -> Progress:
    return lambda fraction, what="": progress(start + share * fraction, what or "simulating matches")


def _wanted(read: MatchFile, names: tuple[str, ...]) -> list[Plan]:
    known = {plan.name.casefold(): plan for plan in read.plans}
    strange = [name for name in names if name.casefold() not in known]
    if strange:
        there = ", ".join(plan.name for plan in read.plans)
        raise BadInput(f"there is no plan {strange[0]!r}; there is: {there}", field="plan")
    return [known[name.casefold()] for name in names] or list(read.plans)


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


# ------------------------------------------------------------------ what the match file leaves to the project


def _filled(
    read: MatchFile,
    book: Workbook | None,
    seed: int,
    hits: tuple[tuple[HitProbability, ...], tuple[HitDraws, ...]] | None,
    progress: Progress,
) -> tuple[MatchFile, tuple[PlanPosition, ...], FloatArray]:
    """Fill in places, points and hit probabilities; return draws of the latter, one column a position."""
    open_ones = [one for one in read.positions if one.hit is None and one.scored is None]
    rows: tuple[HitProbability, ...] = ()
    draws: tuple[HitDraws, ...] = ()
    if open_ones and book is not None and book.game is not None and book.prototypes:
        rows, draws = hits or _hits(book, read.prototype, seed, _part(progress, 0.0, 0.4))
    filled, shown, columns = [], [], []
    for one in read.positions:
        placed = _placed(one, book)
        column, row, source = _chance(placed, rows, draws, seed)
        target = row.target if row is not None else (one.target or "")
        points = one.points if one.points is not None else _points_of(book, target, one)
        mean = float(column.mean())
        filled.append(dataclasses.replace(placed, hit=mean, points=points, target=target or None))
        low, high = (float(q) for q in np.quantile(column, [0.025, 0.975]))
        shown.append(PlanPosition(one.name, target, points, Estimate(mean, low, high), source))
        columns.append(np.resize(column, _DRAWS))
    return dataclasses.replace(read, positions=tuple(filled)), tuple(shown), np.column_stack(columns)


def _hits(
    book: Workbook, prototype: str | None, seed: int, progress: Progress
) -> tuple[tuple[HitProbability, ...], tuple[HitDraws, ...]]:
    from shotwright.bench.evidence import hits_of

    name = prototype or _chosen(book)
    table, draws = hits_of(book, prototypes=(name,), seed=seed, progress=progress)
    return table.rows, draws


def _chosen(book: Workbook) -> str:
    if book.chosen is not None:
        return book.chosen
    if len(book.prototypes) == 1:
        return book.prototypes[0].name
    names = ", ".join(p.name for p in book.prototypes)
    raise BadInput(
        f"several prototypes and none is chosen; name one: prototype = one of {names}",
        field="[launcher], prototype",
    )


def _placed(one: MatchPosition, book: Workbook | None) -> MatchPosition:
    if one.x is not None:
        return one
    game = None if book is None else book.game
    known = {p.name: p for p in game.positions} if game is not None else {}
    if one.name not in known:
        raise BadInput(
            "has no x and y, and the game has no position of that name; it has: "
            f"{', '.join(known) or 'none'}",
            field=f'[[position]] "{one.name}"',
        )
    return dataclasses.replace(one, x=known[one.name].x, y=known[one.name].y)


def _chance(
    one: MatchPosition, rows: tuple[HitProbability, ...], draws: tuple[HitDraws, ...], seed: int
) -> tuple[FloatArray, HitProbability | None, str]:
    """Draws of a position's hit probability, the row that it rests on, and its source in words."""
    if one.hit is not None:
        return np.full(1, one.hit), None, "as typed"
    if one.scored is not None:
        hits, shots = one.scored
        # Jeffreys' prior for a proportion; evenly spaced quantiles in place of draws
        from scipy.special import betaincinv

        levels = (np.random.default_rng([seed, 7]).permutation(_DRAWS) + 0.5) / _DRAWS
        return betaincinv(hits + 0.5, shots - hits + 0.5, levels), None, f"{hits} of {shots} shots"
    mine = [
        (row, drawn)
        for row in rows
        for drawn in draws
        if (row.position, row.target)
        == (drawn.position, drawn.target)
        == (one.name, one.target or row.target)
        and row.prototype == drawn.prototype
    ]
    if not mine:
        raise BadInput(
            'has no hit probability: type hit = "65 %" or scored = "13 of 20", or fire trials in a project',
            field=f'[[position]] "{one.name}"',
        )
    row, drawn = max(mine, key=lambda pair: pair[0].points * float(pair[1].chance.mean()))
    return drawn.chance, row, f"trials of {row.prototype} ({row.origin}, {row.shots} shots)"


def _points_of(book: Workbook | None, target: str, one: MatchPosition) -> float:
    game = None if book is None else book.game
    targets = game.targets if game is not None else ()
    for known in targets:
        if known.name == target or (not target and len(targets) == 1):
            return known.points
    raise BadInput(
        "does not say what a score is worth: points = 3, or the target of the game",
        field=f'[[position]] "{one.name}"',
    )
