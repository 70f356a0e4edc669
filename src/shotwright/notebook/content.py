"""What the notebook prints, as records that the caller fills: results of other rooms, ready to draw and phrase.

The notebook computes nothing. Every number here was found elsewhere; every row names the trials and shots
behind it. Names carry their unit wherever a bare number stands. Probabilities run from 0 to 1.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimated
from shotwright.game.records import Game
from shotwright.trials.records import Origin, Prototype, Shot, Trial

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


@dataclass(frozen=True, slots=True)
class ComparisonRow:
    """Two prototypes set against each other in one respect.

    Parameters
    ----------
    first, second : str
        Prototypes.
    what : str
        ``"spread"``, ``"mean point of impact"``, ``"reach"``.
    estimate : Estimate or NotEstimated
        Ratio or difference, second over (or minus) first; printed with `unit` after `scale`.
    p_value : float, optional
        Of the permutation test, adjusted for several comparisons.
    words : str
        The finding in one or two plain sentences.
    trials : tuple of str
        Trials behind it.
    unit, scale
        As in `FindingRow`; a ratio has unit ``""``.
    """

    first: str
    second: str
    what: str
    estimate: Estimated
    p_value: float | None
    words: str
    trials: tuple[str, ...] = ()
    unit: str = ""
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class SharePart:
    """One part of a whole.

    Parameters
    ----------
    name : str
        ``"few shots"``.
    share : float
        0 to 1; the parts of one whole add up to 1.
    """

    name: str
    share: float


@dataclass(frozen=True, slots=True)
class HitRow:
    """Hit probability of one prototype at one firing position.

    Parameters
    ----------
    prototype, position, target : str
        Names.
    estimate : Estimate or NotEstimated
        Chance that the next ball scores, 0 to 1, with its 95 % interval. Reason when it can't be had.
    setting_words : str
        The setting that it holds for: ``"8.1 m/s at 58°"``.
    trials : tuple of str
        Trials behind it.
    shots : int
        Shots that counted.
    origin : {"measured", "simulated"}
        Origin of the shots; simulated as soon as one trial is.
    count : Estimate or NotEstimated, optional
        The interval from hits and misses alone, when marks can be judged.
    count_leads : bool
        True when a flyer or a disagreement makes the count the one to trust.
    extremes : tuple of float, optional
        Probability when all along spread is speed, and when all is elevation.
    parts : tuple of SharePart
        Where the width of the interval comes from.
    narrows : str
        What would narrow it, one sentence.
    """

    prototype: str
    position: str
    target: str
    estimate: Estimated
    setting_words: str = ""
    trials: tuple[str, ...] = ()
    shots: int = 0
    origin: Origin = "measured"
    count: Estimated | None = None
    count_leads: bool = False
    extremes: tuple[float, float] | None = None
    parts: tuple[SharePart, ...] = ()
    narrows: str = ""


@dataclass(frozen=True, slots=True)
class GateRow:
    """A hard condition and whether a prototype meets it.

    Parameters
    ----------
    prototype, gate : str
        Names: ``"reaches every needed position"``.
    passed : bool, optional
        None when it can't be told yet.
    words : str
        The figures behind it.
    """

    prototype: str
    gate: str
    passed: bool | None
    words: str


@dataclass(frozen=True, slots=True)
class RankRow:
    """Rank acceptability of one prototype.

    Parameters
    ----------
    prototype : str
        Name.
    shares : tuple of float
        Share of the draws that gives it rank 1, 2, ...; adds up to 1.
    weights_words : str
        ``"the crew's own weights"`` or ``"all weights"``.
    dominated_by : str, optional
        A prototype that is at least as good in every criterion.
    """

    prototype: str
    shares: tuple[float, ...]
    weights_words: str
    dominated_by: str | None = None


@dataclass(frozen=True, slots=True)
class ChoiceEntry:
    """A recorded choice.

    Parameters
    ----------
    date : datetime.date
        Day of the choice.
    prototype : str
        What was chosen.
    reason : str
        In the crew's words.
    evidence : tuple of str
        What it rested on, with trials and shots.
    would_change : tuple of str
        What later data would turn it.
    now_words : str
        What data since then says: empty when it still stands.
    """

    date: datetime.date
    prototype: str
    reason: str
    evidence: tuple[str, ...] = ()
    would_change: tuple[str, ...] = ()
    now_words: str = ""


@dataclass(frozen=True, slots=True)
class TruthRow:
    """A hidden truth of simulated data beside what was estimated from the shots.

    Parameters
    ----------
    what : str
        The quantity with prototype and position.
    truth : float
        The hidden value, same unit as the estimate.
    estimate : Estimate or NotEstimated
        What the chain found.
    unit, scale
        As in `FindingRow`.
    """

    what: str
    truth: float
    estimate: Estimated
    unit: str = ""
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class Criterion:
    """What a choice is judged by.

    Parameters
    ----------
    name : str
        ``"points per shot"``.
    weight : float, optional
        The crew's weight, 0 to 1.
    values : tuple of (str, str)
        Prototype and its value in words.
    """

    name: str
    weight: float | None = None
    values: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class NotebookContent:
    """Everything that one notebook prints. Parts that don't exist yet stay empty and are said to be missing.

    Parameters
    ----------
    project_name : str
        Title.
    made_on : datetime.date
        Day printed as the date of the notebook; passed in, so that the same content gives the same bytes.
    version : str
        Version of the tool.
    game : Game
        The game.
    prototypes : tuple of Prototype
        All of them.
    summary : tuple of str
        The findings in a few plain sentences, the choice first.
    seed : int, optional
        Seed behind the random draws.
    origin_notes : tuple of str
        Where data came from: ``"shots.csv, 21 rows, read on 2026-02-03"``.
    windows : tuple of WindowPanel
        Shots needed.
    service_words : tuple of str
        Which positions one fixed elevation, one fixed speed or two settings can serve.
    trials : tuple of TrialPage
        Trials.
    comparison : tuple of ComparisonRow
        Prototypes two by two.
    comparison_words : tuple of str
        Plain sentences over the table.
    hits : tuple of HitRow
        Hit probabilities.
    gates, criteria, ranks : tuples
        What the choice was judged by.
    choices : tuple of ChoiceEntry
        Recorded choices, newest first.
    testing_words : tuple of str
        What more testing would be worth.
    truth : tuple of TruthRow
        Only for simulated data.
    """

    project_name: str
    made_on: datetime.date
    version: str
    game: Game
    prototypes: tuple[Prototype, ...] = ()
    summary: tuple[str, ...] = ()
    seed: int | None = None
    origin_notes: tuple[str, ...] = ()
    windows: tuple[WindowPanel, ...] = ()
    service_words: tuple[str, ...] = ()
    trials: tuple[TrialPage, ...] = ()
    comparison: tuple[ComparisonRow, ...] = ()
    comparison_words: tuple[str, ...] = ()
    hits: tuple[HitRow, ...] = ()
    gates: tuple[GateRow, ...] = ()
    criteria: tuple[Criterion, ...] = ()
    ranks: tuple[RankRow, ...] = ()
    choices: tuple[ChoiceEntry, ...] = ()
    testing_words: tuple[str, ...] = ()
    truth: tuple[TruthRow, ...] = ()

    @property
    def simulated(self) -> bool:
        """Whether any trial in it is simulated."""
        return any(page.trial.origin == "simulated" for page in self.trials)
