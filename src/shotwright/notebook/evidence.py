"""Windows and trials as the notebook prints them: shots needed, shots fired, what they show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimated
from shotwright.trials.records import Shot, Trial

FloatArray = NDArray[np.float64]
ShotKind = Literal["minimum speed", "most forgiving", "chosen", "other"]


@dataclass(frozen=True, slots=True)
class WindowSlice:
    """The speeds that score at one elevation.

    Parameters
    ----------
    elevation_deg : float
        Elevation of launch. [deg]
    speeds_m_s : tuple of (float, float)
        Intervals of speed that score, rising; empty when none does. [m/s]
    """

    elevation_deg: float
    speeds_m_s: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class WindowShot:
    """One shot worth marking in a window: the one of least speed, the most forgiving one, the chosen one.

    Parameters
    ----------
    kind : {"minimum speed", "most forgiving", "chosen", "other"}
        Why it is marked.
    speed_m_s, elevation_deg : float
        Launch values. [m/s], [deg]
    entry_angle_deg : float, optional
        Angle below the horizontal at the opening. [deg]
    apex_height_m, flight_time_s : float, optional
        Highest point of the ball's centre over the floor, and time to the opening. [m], [s]
    clearance_m : float, optional
        Least distance of the ball's surface to any obstacle or defender; None without any. [m]
    hit_probability : float, optional
        For the launch spread that `WindowPanel.spread_words` states.
    path_m : ndarray, shape (k, 3), optional
        Path of the ball's centre in the field frame, for the side view. [m]
    """

    kind: ShotKind
    speed_m_s: float
    elevation_deg: float
    entry_angle_deg: float | None = None
    apex_height_m: float | None = None
    flight_time_s: float | None = None
    clearance_m: float | None = None
    hit_probability: float | None = None
    path_m: FloatArray | None = None


@dataclass(frozen=True, slots=True, eq=False)
class WindowPanel:
    """What one firing position needs from the launcher for one target.

    Parameters
    ----------
    position, target : str
        Names in the game.
    release_height_m : float
        Height of the ball's centre at release. [m]
    backspin_words : str
        The backspin that the window holds for: ``"spin parameter S = 0.15"``.
    slices : tuple of WindowSlice
        The scoring set, elevations rising at an even step; empty when blocked.
    shots : tuple of WindowShot
        Marked shots.
    blocked : str, optional
        Reason why no shot scores: ``"every path meets the wall"``. None when some shot does.
    spread_words : str
        Launch spread behind the most forgiving shot: ``"1.5 % in speed, 0.8° in elevation"``.
    prototype : str
        Prototype whose spread and release height were used; empty for none.
    """

    position: str
    target: str
    release_height_m: float
    backspin_words: str
    slices: tuple[WindowSlice, ...]
    shots: tuple[WindowShot, ...] = ()
    blocked: str | None = None
    spread_words: str = ""
    prototype: str = ""


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One quantity that a trial shows, with its interval.

    Parameters
    ----------
    name : str
        ``"along spread (standard deviation)"``.
    estimate : Estimate or NotEstimated
        In the unit that `unit` names after multiplying by `scale`.
    unit : str
        Unit as printed: ``"m"``, ``"mm"``, ``"%"``.
    scale : float
        Multiplies the estimate before printing: 1000 prints metres as ``"mm"``.
    meaning : str
        What it says, in plain words.
    """

    name: str
    estimate: Estimated
    unit: str = "m"
    scale: float = 1.0
    meaning: str = ""


@dataclass(frozen=True, slots=True)
class FlaggedShot:
    """A shot that stands apart; it still counts until a person sets it aside.

    Parameters
    ----------
    order : int
        Its place in the trial.
    reason : str
        ``"4.1 spreads from the middle of the others; a fair trial of 7 shows this once in 90"``.
    """

    order: int
    reason: str


@dataclass(frozen=True, slots=True)
class ScatterEllipse:
    """An ellipse {d : d' C^-1 d <= factor^2} round a centre, and what it holds.

    Parameters
    ----------
    covariance_m2 : tuple of 2 tuples of 2 floats
        C, in the axes of the marks: (along, cross) or (height, cross). [m^2]
    factor : float
        1 for the standard ellipse; the square root of a chi-squared or Hotelling quantile for a share.
    words : str
        ``"half of the next shots are expected inside"``.
    """

    covariance_m2: tuple[tuple[float, float], tuple[float, float]]
    factor: float
    words: str


@dataclass(frozen=True, slots=True)
class TrialPage:
    """One trial with its shots and what they show.

    Parameters
    ----------
    trial : Trial
        The record.
    shots : tuple of Shot
        All of them, those set aside too.
    mean_m : tuple of float, optional
        Mean point of impact, (along, cross) or (height, cross). [m]
    ellipses : tuple of ScatterEllipse
        Drawn round the mean point, the smallest first; at most two.
    aim_m : tuple of float, optional
        Point that was aimed at, same axes. [m]
    findings : tuple of FindingRow
        The dispersion table.
    flagged : tuple of FlaggedShot
        Outliers.
    remarks : tuple of str
        Drift, balls, normality: one sentence each.
    """

    trial: Trial
    shots: tuple[Shot, ...]
    mean_m: tuple[float, float] | None = None
    ellipses: tuple[ScatterEllipse, ...] = ()
    aim_m: tuple[float, float] | None = None
    findings: tuple[FindingRow, ...] = ()
    flagged: tuple[FlaggedShot, ...] = ()
    remarks: tuple[str, ...] = ()
