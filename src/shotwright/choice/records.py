"""What hit probabilities and a choice are handed on as."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimate, Estimated
from shotwright.base.plain import Result
from shotwright.trials.spread import LaunchSpread, TrialEvidence

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ChosenSetting(Result):
    """The setting with the largest mean hit probability from one position.

    Parameters
    ----------
    speed_m_s, elevation_deg, azimuth_deg, spin_rev_s
        Launch values.
    entry_angle_deg : float
        Angle of the path below the horizontal where it crosses the opening's plane.
    apex_m, flight_time_s
        Greatest height of the ball's centre over the floor; time to the crossing.
    aimed_beyond_m : float
        How far beyond the opening's centre the mean crossing lies (above it for an upright opening).
    """

    speed_m_s: float
    elevation_deg: float
    azimuth_deg: float
    spin_rev_s: float
    entry_angle_deg: float
    apex_m: float
    flight_time_s: float
    aimed_beyond_m: float


@dataclass(frozen=True, slots=True)
class CountedMarks(Result):
    """Hits judged from the marks themselves, without assuming a shape of the scatter.

    Parameters
    ----------
    hits : float
        Shots that would score, each mark carried over to this opening; a fraction where the position's own
        placement spread leaves it open.
    shots : int
        Shots judged.
    interval : Estimate
        Jeffreys interval of the hit probability.
    fired_here : bool
        Hits and misses seen at the real target instead of marks carried over.
    """

    hits: float
    shots: int
    interval: Estimate
    fired_here: bool = False


@dataclass(frozen=True, slots=True)
class DoubtShares(Result):
    """Where the variance of a hit probability's posterior comes from; the parts add to one.

    Parameters
    ----------
    few_shots : float
        The small number of shots; more shots of the same kind remove it.
    speed_or_elevation : float
        Not knowing speed spread from elevation spread; more shots of the same kind do not remove it.
    """

    few_shots: float
    speed_or_elevation: float


@dataclass(frozen=True, slots=True)
class HitProbability(Result):
    """The chance that a ball of one prototype, fired from one position, scores.

    Parameters
    ----------
    prototype, position, target : str
        Which.
    defended : bool
        With the defenders in the way.
    points : float
        What a score is worth.
    origin : str
        ``"measured"`` or ``"simulated"`` trials.
    probability : Estimate or NotEstimated
        The answer that leads: posterior mean and 95 % interval, or the counted one.
    leads : {"model", "count"}
        Which of the two that is.
    model : Estimate or NotEstimated
        From the launch spread through the flight.
    counted : CountedMarks, optional
        From the marks as they fell.
    setting : ChosenSetting, optional
        The setting it holds for.
    all_speed, all_elevation : Estimate, optional
        What the answer would be if the along spread came from speed alone, from elevation alone.
    doubt : DoubtShares, optional
        Where the interval's width comes from.
    method : str
        ``"integrated"`` over the launches that score, ``"linearised"`` (a bent opening without obstacles), or
        ``"flown"`` where those are off by more than 0.002.
    shortcut_error : float
        By how much flown balls say that the way without flying is off. [-]
    shots : int
        Shots behind it.
    trials : tuple of str
        Their trials.
    seed : int
        Seed of the draws.
    words : tuple of str
        The same in plain sentences.
    bounces : int
        Bounces that the game allows on the way in; the answer counts them.
    direct : Estimate or NotEstimated, optional
        The part of `model` that goes in without touching anything; None where no bounce is allowed.
    """

    prototype: str
    position: str
    target: str
    defended: bool
    points: float
    origin: str
    probability: Estimated
    leads: str
    model: Estimated
    counted: CountedMarks | None
    setting: ChosenSetting | None
    all_speed: Estimate | None
    all_elevation: Estimate | None
    doubt: DoubtShares | None
    method: str
    shortcut_error: float
    shots: int
    trials: tuple[str, ...]
    seed: int
    words: tuple[str, ...]
    bounces: int = 0
    direct: Estimated | None = None


@dataclass(frozen=True, slots=True)
class SpreadSummary(Result):
    """The launch spread of one prototype.

    Parameters
    ----------
    prototype : str
        Which.
    speed_percent, elevation_deg, azimuth_deg : Estimate or NotEstimated
        Standard deviations from shot to shot.
    speed_share : Estimate or NotEstimated
        Share of the along variance that comes from speed. [-]
    shots : int
        Shots behind it.
    trials : tuple of str
        Their trials.
    """

    prototype: str
    speed_percent: Estimated
    elevation_deg: Estimated
    azimuth_deg: Estimated
    speed_share: Estimated
    shots: int
    trials: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HitDraws:
    """Posterior draws of one hit probability, for ranking. Not part of what is printed.

    Parameters
    ----------
    prototype, position, target : str
        Which.
    points : float
        What a score is worth.
    chance : ndarray, shape (m,)
        Draws, in the same order as the launch spread's unless hits were counted here. [-]
    by_marks : ndarray, shape (m,)
        Draws before hits that were counted here weigh them, always in the launch spread's order. [-]
    spread : LaunchSpread, optional
        The draws of the launcher.
    evidence : tuple of TrialEvidence
        The trials behind them.
    """

    prototype: str
    position: str
    target: str
    points: float
    chance: FloatArray
    by_marks: FloatArray
    spread: LaunchSpread | None = None
    evidence: tuple[TrialEvidence, ...] = ()
