"""What a shot table is handed on as."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.estimate import Estimate
from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class TableRow(Result):
    """What to set at one distance.

    Parameters
    ----------
    distance_m : float
        Over the floor, from the release point to the middle of the opening.
    speed_m_s, elevation_deg : float
        Launch values.
    setting : Estimate
        What to set for that speed, in the table's unit; its interval is what the trials leave open.
    hit : Estimate
        Predicted hit probability there. [-]
    """

    distance_m: float
    speed_m_s: float
    elevation_deg: float
    setting: Estimate
    hit: Estimate


@dataclass(frozen=True, slots=True)
class Notch(Result):
    """One of the fewest fixed settings.

    Parameters
    ----------
    speed_m_s, elevation_deg : float
        Launch values.
    setting : float
        In the table's unit.
    from_m, to_m : float
        Distances over which it is used.
    least_hit : float
        Least predicted hit probability there. [-]
    """

    speed_m_s: float
    elevation_deg: float
    setting: float
    from_m: float
    to_m: float
    least_hit: float


@dataclass(frozen=True, slots=True)
class Between(Result):
    """What straight lines between the rows of a table cost, at worst.

    Parameters
    ----------
    speed_m_s, elevation_deg : float
        Largest difference from the curve.
    hit : float
        Largest loss of hit probability, in the middle between two rows. [-]
    """

    speed_m_s: float
    elevation_deg: float
    hit: float


@dataclass(frozen=True, slots=True)
class MeasuredSetting(Result):
    """A trial as a point of speed against setting.

    Parameters
    ----------
    trial : str
        Name.
    origin : str
        ``"measured"`` or ``"simulated"``.
    setting : float, optional
        In the table's unit; None when the trial does not say.
    speed_m_s : Estimate
        Mean launch speed, from its marks.
    """

    trial: str
    origin: str
    setting: float | None
    speed_m_s: Estimate


@dataclass(frozen=True, slots=True)
class RowChange(Result):
    """What new shots changed in a row.

    Parameters
    ----------
    distance_m : float
        Of the row.
    setting, speed_m_s, elevation_deg, hit : float
        Now less before; the setting in the table's unit.
    """

    distance_m: float
    setting: float
    speed_m_s: float
    elevation_deg: float
    hit: float


@dataclass(frozen=True, slots=True)
class ShotTable(Result):
    """A shot table.

    Parameters
    ----------
    prototype, target, position : str
        Which; the line runs from the opening through the position, with its spread of place and heading.
    origin : str
        ``"measured"`` or ``"simulated"`` shots behind it; the table itself is predicted.
    shots : int
        Behind it.
    trials : tuple of str
        Their trials.
    setting_name, setting_unit : str
        What is set for the speed.
    setting_source : str
        How a speed is turned into it.
    fixed_elevation : bool
        One elevation serves all rows.
    step_m : float
        Between rows.
    rows : tuple of TableRow
        By rising distance.
    between : Between
        Error of interpolation.
    smoothing_loss : float
        Largest loss of hit probability by taking the smooth curve instead of each distance's own best. [-]
    flown_gap : float
        Largest correction of the integrated hit probabilities by flown balls. [-]
    level : float
        Hit probability that the notches keep. [-]
    notches : tuple of Notch
        The fewest that keep it.
    gaps_m : tuple of (float, float)
        Stretches where no setting keeps it.
    measured : tuple of MeasuredSetting
        The trials.
    changes : tuple of RowChange
        Against the table that was kept last; empty when there is none.
    compared_with : str
        Shots behind that table, in words; empty when there is none.
    seed : int
        Of the draws.
    words : tuple of str
        In plain sentences.
    """

    prototype: str
    target: str
    position: str
    origin: str
    shots: int
    trials: tuple[str, ...]
    setting_name: str
    setting_unit: str
    setting_source: str
    fixed_elevation: bool
    step_m: float
    rows: tuple[TableRow, ...]
    between: Between
    smoothing_loss: float
    flown_gap: float
    level: float
    notches: tuple[Notch, ...]
    gaps_m: tuple[tuple[float, float], ...]
    measured: tuple[MeasuredSetting, ...]
    changes: tuple[RowChange, ...]
    compared_with: str
    seed: int
    words: tuple[str, ...]
