"""What the notebook prints for match day: the shot table with its card, and the match plans."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.match.results import MatchPlans
from shotwright.tuning.records import ShotTable


@dataclass(frozen=True, slots=True)
class MatchDay:
    """Shot table and match plans of a project; each is there, or says why not, or was never asked for.

    Parameters
    ----------
    table : ShotTable, optional
        Of the chosen prototype.
    table_problem : str
        Why there is none; empty where nobody asked.
    plans : MatchPlans, optional
        Side by side.
    plans_problem : str
        Likewise.
    """

    table: ShotTable | None = None
    table_problem: str = ""
    plans: MatchPlans | None = None
    plans_problem: str = ""
