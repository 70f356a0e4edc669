"""A match file filled up from the project: places, points, hit probabilities."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate
from shotwright.base.progress import Progress
from shotwright.base.toml_tables import read_text
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.choice.records import HitDraws, HitProbability
from shotwright.match.reading import match_from_text
from shotwright.match.records import MatchFile, MatchPosition, Plan
from shotwright.match.results import PlanPosition

FloatArray = NDArray[np.float64]

_DRAWS = 2000  # of what is known of the hit probabilities


@dataclass(frozen=True, slots=True)
class ReadMatch:
    """A match file with its name, and the project that fills it up.

    Parameters
    ----------
    read : MatchFile
        The file.
    name : str
        How messages name it.
    book : Workbook, optional
        The project.
    """

    read: MatchFile
    name: str
    book: Workbook | None


def read_match(project: Path | None, file: Path | None) -> ReadMatch:
    """Read a match file: the one named, or that of a project.

    Parameters
    ----------
    project, file : Path, optional
        At least one.

    Returns
    -------
    ReadMatch
        The file and the project.

    Raises
    ------
    BadInput
        There is none, or it can't be read.
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
    return ReadMatch(match_from_text(text, name), name, book)


def wanted_plans(read: MatchFile, names: tuple[str, ...]) -> list[Plan]:
    """Return the plans named, or all; an unknown name is a BadInput that lists what there is."""
    known = {plan.name.casefold(): plan for plan in read.plans}
    strange = [name for name in names if name.casefold() not in known]
    if strange:
        there = ", ".join(plan.name for plan in read.plans)
        raise BadInput(f"there is no plan {strange[0]!r}; there is: {there}", field="plan")
    return [known[name.casefold()] for name in names] or list(read.plans)


def part_of(progress: Progress, start: float, share: float) -> Progress:
    """Return progress within a share of the whole work.

    Parameters
    ----------
    progress : Progress
        Of the whole.
    start, share : float
        Where the share begins, and how much it is, 0 to 1.

    Returns
    -------
    Progress
        Told 0 to 1.
    """
    return lambda fraction, what="": progress(start + share * fraction, what or "simulating matches")


def filled(
    read: MatchFile,
    book: Workbook | None,
    seed: int,
    hits: tuple[tuple[HitProbability, ...], tuple[HitDraws, ...]] | None,
    progress: Progress,
) -> tuple[MatchFile, tuple[PlanPosition, ...], FloatArray]:
    """Fill in places, points and hit probabilities.

    Parameters
    ----------
    read : MatchFile
        The match file.
    book : Workbook, optional
        The project.
    seed : int
        Of the draws.
    hits : tuple, optional
        Rows and draws of the hit probabilities, when they are there already.
    progress : Progress
        Told how far it is.

    Returns
    -------
    tuple
        The file without gaps, its positions for people, and draws of the hit probabilities, one column a
        position.

    Raises
    ------
    BadInput
        Something is missing that neither game nor trials give.
    """
    open_ones = [one for one in read.positions if one.hit is None and one.scored is None]
    rows: tuple[HitProbability, ...] = ()
    draws: tuple[HitDraws, ...] = ()
    if open_ones and book is not None and book.game is not None and book.prototypes:
        rows, draws = hits or _hits(book, read.prototype, seed, part_of(progress, 0.0, 0.4))
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
