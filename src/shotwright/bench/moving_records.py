"""What a shot on the move is handed on as."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.estimate import Estimated
from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class MovingSetting(Result):
    """One setting of the launcher, and what comes of it.

    Parameters
    ----------
    kind : str
        ``"standing"``, ``"least change"``, ``"same elevation"``, ``"same speed"``, or ``"as asked"``.
    speed_m_s, elevation_deg, azimuth_deg, spin_rev_s : float
        Relative to the robot, azimuth in the field frame.
    lead_deg : float
        How far to point the launcher from where it points when standing; to the left is positive.
    speed_change_m_s, elevation_change_deg : float
        Against the standing setting.
    flight_time_s, ball_speed_m_s, ball_elevation_deg, entry_angle_deg : float
        Of the ball over the floor.
    usable : bool
        Within the prototype's limits, and nothing is in the way.
    why_not : str
        Reason when it isn't.
    hit_probability : Estimate or NotEstimated
        With the errors of the motion that were asked for.
    """

    kind: str
    speed_m_s: float
    elevation_deg: float
    azimuth_deg: float
    spin_rev_s: float
    lead_deg: float
    speed_change_m_s: float
    elevation_change_deg: float
    flight_time_s: float
    ball_speed_m_s: float
    ball_elevation_deg: float
    entry_angle_deg: float
    usable: bool
    why_not: str
    hit_probability: Estimated


@dataclass(frozen=True, slots=True)
class MovingFall(Result):
    """Hit probability for one error of the robot's speed; the other errors as asked."""

    velocity_error_m_s: float
    hit_probability: Estimated


@dataclass(frozen=True, slots=True)
class MovingSource(Result):
    """Share of the crossing point's variance that comes from one source."""

    source: str
    share: float


@dataclass(frozen=True, slots=True)
class MovingCurve(Result):
    """The aim at the chosen elevation against the robot's speed in one direction; None where nothing hits."""

    direction: str
    robot_m_s: tuple[float, ...]
    lead_deg: tuple[float | None, ...]
    speed_m_s: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class MovingShotResult(Result):
    """A shot from a robot that drives and turns.

    Parameters
    ----------
    prototype, position, target : str
        Which.
    origin : str
        ``"measured"``, ``"simulated"``, or ``"no trials"``.
    toward_m_s, left_m_s, turn_rate_deg_s : float
        Motion of the turning centre: towards the target, to the left of that, turning to the left.
    release_speed_m_s : float
        Of the release point over the floor.
    delay_s, command_early_m : float
        From command to release, and how far the robot goes meanwhile.
    standing : MovingSetting
        The setting without motion.
    settings : tuple of MovingSetting
        Those that hit out of this motion; the usable ones first. Empty when none reaches.
    uncorrected_beyond_m, uncorrected_left_m : float, optional
        Where the ball of the standing setting would cross, from the point aimed at; None when it does not.
    falls : tuple of MovingFall
        Hit probability of the first usable setting against the error of the robot's speed.
    sources : tuple of MovingSource
        What its scatter is made of, largest first.
    curves : tuple of MovingCurve
        Aim against the robot's speed, for the picture; empty unless asked for.
    seed : int
        Seed of the draws.
    words : tuple of str
        The same in plain sentences.
    """

    prototype: str
    position: str
    target: str
    origin: str
    toward_m_s: float
    left_m_s: float
    turn_rate_deg_s: float
    release_speed_m_s: float
    delay_s: float
    command_early_m: float
    standing: MovingSetting
    settings: tuple[MovingSetting, ...]
    uncorrected_beyond_m: float | None
    uncorrected_left_m: float | None
    falls: tuple[MovingFall, ...]
    sources: tuple[MovingSource, ...]
    curves: tuple[MovingCurve, ...]
    seed: int
    words: tuple[str, ...]
