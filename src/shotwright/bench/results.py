"""What the bench hands to the shells: frozen results, each a plain dictionary on demand."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.plain import Result
from shotwright.bench.flight_result import BounceRow, FlightResult
from shotwright.choice.decision import Decision
from shotwright.choice.predicted_records import PredictedHit
from shotwright.choice.records import HitProbability, SpreadSummary
from shotwright.choice.worth_of_testing import SampleGain
from shotwright.flight.needed_shots import NeededShot
from shotwright.flight.shared_settings import CommonSettings
from shotwright.flight.windows import ShotWindow
from shotwright.match.results import MatchPlans
from shotwright.published.table import CheckOutcome
from shotwright.trials.comparison_records import Comparison, PairComparison
from shotwright.trials.drop_test import DropTest
from shotwright.trials.findings import TrialDispersion
from shotwright.trials.planning import ShotPlan
from shotwright.trials.records import Prototype, Shot, Trial
from shotwright.tuning.records import ShotTable

# The shells name results of other rooms through this door.
__all__ = [
    "BounceRow",
    "CheckOutcome",
    "CommonSettings",
    "Comparison",
    "Decision",
    "SampleGain",
    "DispersionResult",
    "DropTest",
    "FlightResult",
    "HitProbability",
    "HitTable",
    "MatchPlans",
    "ImportReport",
    "NeededShot",
    "PairComparison",
    "PredictedHit",
    "ProjectSummary",
    "Prototype",
    "RowTrouble",
    "Shot",
    "ShotList",
    "ShotPlan",
    "ShotTable",
    "ShotWindow",
    "SpreadSummary",
    "Trial",
    "TrialDispersion",
    "Verification",
    "WindowsResult",
    "WrittenFiles",
]


@dataclass(frozen=True, slots=True)
class ProjectSummary(Result):
    """What a project holds.

    Parameters
    ----------
    file : str
        Path of the project file.
    name : str
        Project's name.
    game : str, optional
        Game's name; None when there is none yet.
    positions, targets : tuple of str
        Of the game.
    prototypes : tuple of str
        Their names.
    trials : tuple of str
        Their names.
    drives : tuple of str
        Their names.
    shots, set_aside : int
        Shots in all, and those of them that are set aside.
    words : tuple of str
        What to do next.
    """

    file: str
    name: str
    game: str | None
    positions: tuple[str, ...]
    targets: tuple[str, ...]
    prototypes: tuple[str, ...]
    trials: tuple[str, ...]
    shots: int
    set_aside: int
    words: tuple[str, ...]
    drives: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RowTrouble(Result):
    """A row that could not be read."""

    row: int
    field: str
    reason: str


@dataclass(frozen=True, slots=True)
class ImportReport(Result):
    """What an import brought in, or would bring in.

    Parameters
    ----------
    source : str
        Where it came from.
    kind : str
        ``"game"``, ``"prototypes"``, ``"trials"``, ``"shots"`` or ``"folder"``.
    imported : bool
        False when nothing was written: a dry run, or rows that can't be read.
    new_shots, known_shots : int
        Shots that are new, and shots that the project had already.
    new_prototypes, new_trials : tuple of str
        Names that are new.
    problems : tuple of RowTrouble
        Rows that can't be read.
    notes : tuple of str
        How each column was understood.
    words : tuple of str
        The same in plain sentences.
    """

    source: str
    kind: str
    imported: bool
    new_shots: int
    known_shots: int
    new_prototypes: tuple[str, ...]
    new_trials: tuple[str, ...]
    problems: tuple[RowTrouble, ...]
    notes: tuple[str, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WrittenFiles(Result):
    """Files that a function wrote."""

    files: tuple[str, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShotList(Result):
    """Shots of a project, as they were logged. Lengths in metres, angles in radians, as in the file."""

    trials: tuple[Trial, ...]
    prototypes: tuple[Prototype, ...]
    shots: tuple[Shot, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WindowsResult(Result):
    """Shot windows of several positions, and the settings they share (None for a single window)."""

    windows: tuple[ShotWindow, ...]
    common: CommonSettings | None
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DispersionResult(Result):
    """Dispersion of several trials."""

    trials: tuple[TrialDispersion, ...]


@dataclass(frozen=True, slots=True)
class HitTable(Result):
    """Hit probabilities of all prototypes at all positions asked for, best first in each position.

    Parameters
    ----------
    spreads : tuple of SpreadSummary
        Launch spread of each prototype that has trials.
    rows : tuple of HitProbability
        One for each prototype, position and target.
    words : tuple of str
        What to know before reading them.
    """

    spreads: tuple[SpreadSummary, ...]
    rows: tuple[HitProbability, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Verification(Result):
    """Published checks, run."""

    passed: int
    failed: int
    outcomes: tuple[CheckOutcome, ...]
    words: tuple[str, ...]
