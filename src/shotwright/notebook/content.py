"""What the notebook prints, as records that the caller fills with results of other rooms.

The notebook computes nothing. Every number here was found elsewhere; every row names the trials and shots
behind it. Names carry their unit wherever a bare number stands. Probabilities run from 0 to 1.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from shotwright.base.estimate import Estimated
from shotwright.game.records import Game
from shotwright.notebook.drives import DrivePage
from shotwright.notebook.evidence import (
    FindingRow,
    FlaggedShot,
    FloatArray,
    ScatterEllipse,
    ShotKind,
    TrialPage,
    WindowPanel,
    WindowShot,
    WindowSlice,
)
from shotwright.notebook.match_day import MatchDay
from shotwright.notebook.on_paper import PaperPage
from shotwright.notebook.parts import PartPage
from shotwright.notebook.robot import RobotPage
from shotwright.trials.records import Origin, Prototype

__all__ = [
    "ChoiceEntry",
    "ComparisonRow",
    "Criterion",
    "FindingRow",
    "FlaggedShot",
    "FloatArray",
    "GateRow",
    "HitRow",
    "NotebookContent",
    "RankRow",
    "ScatterEllipse",
    "SharePart",
    "ShotKind",
    "TrialPage",
    "TruthRow",
    "WindowPanel",
    "WindowShot",
    "WindowSlice",
]


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
        Where the doubt comes from.
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
    on_paper : tuple of PaperPage
        Prototypes that a launcher file describes.
    parts : tuple of PartPage
        Parts that the crew cuts or prints.
    robot : tuple of RobotPage
        Parts of the robot around the launcher.
    drives : tuple of DrivePage
        What drives the launchers.
    match_day : MatchDay
        Shot table and match plans.
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
    on_paper: tuple[PaperPage, ...] = ()
    parts: tuple[PartPage, ...] = ()
    robot: tuple[RobotPage, ...] = ()
    drives: tuple[DrivePage, ...] = ()
    match_day: MatchDay = field(default_factory=MatchDay)

    @property
    def simulated(self) -> bool:
        """Whether any trial in it is simulated."""
        return any(page.trial.origin == "simulated" for page in self.trials)
