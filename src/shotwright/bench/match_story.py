"""One simulated match told event by event."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.bench.match_filling import filled, read_match, wanted_plans
from shotwright.bench.match_plans import MATCHES, SEED
from shotwright.match.case import Chances
from shotwright.match.sweep import CHUNK
from shotwright.match.worth import case_of

_MOST_BLOCKS = 512


@dataclass(frozen=True, slots=True)
class MatchEvent(Result):
    """What happened when.

    Parameters
    ----------
    time_s : float
        From the start of the match.
    what, where : str
        ``"hit"``, ``"rail"``.
    """

    time_s: float
    what: str
    where: str


@dataclass(frozen=True, slots=True)
class MatchStory(Result):
    """One simulated match.

    Parameters
    ----------
    plan : str
        Which.
    number, seed : int
        Of the match among those that `match` simulates with this seed.
    points : float
        Scored.
    events : tuple of MatchEvent
        In their order.
    words : tuple of str
        In plain sentences.
    origin : str
        Always ``"predicted"``.
    """

    plan: str
    number: int
    seed: int
    points: float
    events: tuple[MatchEvent, ...]
    words: tuple[str, ...]
    origin: str = "predicted"


def match_story(
    project: Path | None = None,
    *,
    file: Path | None = None,
    plan: str | None = None,
    number: int = 1,
    matches: int = MATCHES,
    seed: int = SEED,
    progress: Progress = silent,
) -> MatchStory:
    """Tell one of the matches that `match` simulates, with processes instead of the kernel.

    Parameters
    ----------
    project, file : Path, optional
        As for :func:`shotwright.bench.match_plans.match_plans`.
    plan : str, optional
        The first when left out.
    number : int
        Of the match, from 1.
    matches : int
        How many are simulated.
    seed : int
        Of all chances.
    progress : Progress
        Told how far it is.

    Returns
    -------
    MatchStory
        Its events; the points are those that this match has among the others.

    Raises
    ------
    BadInput
        No such match, plan or file.
    """
    if not 1 <= number <= matches:
        raise BadInput(f"there is no match {number}; 1 to {matches}", field="tell")
    found = read_match(project, file)
    chosen = wanted_plans(found.read, () if plan is None else (plan,))[0]
    try:
        full, _, hit = filled(found.read, found.book, seed, None, progress)
    except BadInput as bad:
        raise bad.at(file=found.name) from None
    chunk, row = divmod(number - 1, CHUNK)
    case = case_of(full, chosen, hit)
    case = dataclasses.replace(case, hit=hit[(number - 1) % len(hit)])
    source = np.random.SeedSequence(seed, spawn_key=(chunk,))
    count = min(CHUNK, matches - chunk * CHUNK)
    chances = Chances(source, count, len(case.stay), len(case.depots))
    from shotwright.match.processes import tell_match  # the library behind it is loaded only to tell a match

    blocks = 1
    while True:
        try:
            events, points = tell_match(case, chances.drawn(blocks)[row])
            break
        except RuntimeError:
            # the match used up its numbers; more of them begin with the same ones
            blocks *= 2
            if blocks > _MOST_BLOCKS:
                raise
    told = tuple(MatchEvent(float(time), what, where) for time, what, where in events)
    hits = sum(one.what == "hit" for one in told)
    fired = hits + sum(one.what == "miss" for one in told)
    words = f"PREDICTED: match {number} of {matches} of {chosen.name}: {points:g} points"
    words += f", {hits} of {fired} balls scored."
    return MatchStory(chosen.name, number, seed, float(points), told, (words,))
