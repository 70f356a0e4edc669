"""What matches of a plan are handed on as."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.estimate import Estimate
from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class PlanPosition(Result):
    """A firing position as the matches used it.

    Parameters
    ----------
    position, target : str
        Which.
    points : float
        What a score is worth.
    hit : Estimate
        Hit probability, with what is not known of it; the ends coincide where it was typed. [-]
    source : str
        Where it comes from.
    """

    position: str
    target: str
    points: float
    hit: Estimate
    source: str


@dataclass(frozen=True, slots=True)
class PlanPoints(Result):
    """Points of one plan over many matches.

    Parameters
    ----------
    plan : str
        Which.
    mean : Estimate
        Mean points of a match; the interval is the error of the number of matches.
    least_known, most_known : float
        Mean points with every hit probability at the low and at the high end of its interval.
    sd : float
        Standard deviation from match to match.
    quantiles : tuple of float
        Points that 5, 25, 50, 75, 95 % of the matches stay below or at.
    histogram : tuple of (float, int)
        Points and number of matches, rising.
    autonomous, shots, hits, jams, trips, moved_on : float
        Means for a match: points of the autonomous period, balls fired, scored, jams, trips to collect,
        times a defender drove it to another position.
    time_s : dict
        Mean time spent driving, aiming, waiting for the launcher, for a defender, collecting, clearing jams,
        and idle; they add up to the match.
    """

    plan: str
    mean: Estimate
    least_known: float
    most_known: float
    sd: float
    quantiles: tuple[float, ...]
    histogram: tuple[tuple[float, int], ...]
    autonomous: float
    shots: float
    hits: float
    jams: float
    trips: float
    moved_on: float
    time_s: dict[str, float]


@dataclass(frozen=True, slots=True)
class Improvement(Result):
    """One entry of the crew's to-do list.

    Parameters
    ----------
    what : str
        What is improved, and by how much.
    gain : Estimate
        Mean points more in a match, from the same matches with and without it.
    """

    what: str
    gain: Estimate


@dataclass(frozen=True, slots=True)
class SecondChoice(Result):
    """What to do when the first position is blocked.

    Parameters
    ----------
    what : str
        ``"open yard"``, ``"wait"`` or ``"fire all the same"``.
    mean : Estimate
        Mean points of a match.
    behind : Estimate
        Points fewer than with the best, in the same matches.
    """

    what: str
    mean: Estimate
    behind: Estimate


@dataclass(frozen=True, slots=True)
class MatchPlans(Result):
    """Plans side by side.

    Parameters
    ----------
    name : str
        Project or file.
    matches, seed : int
        Simulated matches of each plan; seed of all chances.
    positions : tuple of PlanPosition
        What the hit probabilities rest on.
    plans : tuple of PlanPoints
        Most points first.
    lead : Estimate, optional
        Points by which the first plan leads the second, in the same matches.
    second_choices : tuple of SecondChoice
        For the first plan, when its first position is blocked; the best first.
    to_do : tuple of Improvement
        For the first plan; worth most first.
    words : tuple of str
        In plain sentences.
    origin : str
        Always ``"predicted"``.
    """

    name: str
    matches: int
    seed: int
    positions: tuple[PlanPosition, ...]
    plans: tuple[PlanPoints, ...]
    lead: Estimate | None
    second_choices: tuple[SecondChoice, ...]
    to_do: tuple[Improvement, ...]
    words: tuple[str, ...]
    origin: str = "predicted"
