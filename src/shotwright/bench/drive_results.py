"""What is told of drives: motors, trains, the search, the heat of a match, as frozen results."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotwright.base.plain import Result
from shotwright.powertrain.drive_search import DriveSearch
from shotwright.powertrain.train import BuildableTrain
from shotwright.powertrain.wheel_match import MatchRun


@dataclass(frozen=True, slots=True)
class MotorRow(Result):
    """One motor at one temperature.

    Parameters
    ----------
    motor : str
        Name.
    temperature_c : float
        Of winding and magnets.
    voltage_v : float
        At its terminals.
    free_speed_rpm, stall_current_a, stall_torque_n_m, peak_power_w, best_efficiency, best_current_a : float
        See `MotorCurve`.
    source : str
        Where its numbers come from.
    """

    motor: str
    temperature_c: float
    voltage_v: float
    free_speed_rpm: float
    stall_current_a: float
    stall_torque_n_m: float
    peak_power_w: float
    best_efficiency: float
    best_current_a: float
    source: str


@dataclass(frozen=True, slots=True)
class MotorTable(Result):
    """Motors on paper.

    Parameters
    ----------
    rows : tuple of MotorRow
        Each cold and warm.
    words : tuple of str
        Fits with intervals, and what does not agree.
    cautions : tuple of str
        What to beware of.
    """

    rows: tuple[MotorRow, ...]
    words: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NearestTrains(Result):
    """Trains from owned gears near a wanted ratio.

    Parameters
    ----------
    wanted : float
        [-]
    trains : tuple of BuildableTrain
        Nearest first.
    words : tuple of str
        In plain sentences.
    """

    wanted: float
    trains: tuple[BuildableTrain, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RatioSearch(Result):
    """The search of a drive file.

    Parameters
    ----------
    name : str
        Of the drive.
    search : DriveSearch
        Front, pick, loads.
    pairs : tuple of tuple of int
        Gears of the pick, driving and driven.
    map_ratios, map_inertias_kg_m2 : tuple of float
        Axes of the map.
    map_recovery_s : tuple of tuple of float
        Rows by inertia; None where the speed is not reached.
    svg : str
        The map.
    words : tuple of str
        The pick, its margins, what breaks first.
    cautions : tuple of str
        What to beware of.
    origin : {"predicted"}
        Always.
    """

    name: str
    search: DriveSearch
    pairs: tuple[tuple[int, ...], ...]
    map_ratios: tuple[float, ...]
    map_inertias_kg_m2: tuple[float, ...]
    map_recovery_s: tuple[tuple[float, ...], ...]
    svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class StopRow(Result):
    """One way to stop, and what the match then does.

    Parameters
    ----------
    stop : str
        The way.
    winding_c, case_c : float
        Highest of the winding; the case at the end.
    from_battery_j : float
        Energy of the match.
    at_rest_after_s : float, optional
        Longest, from a command until the wheel stands.
    ready_after_s : float, optional
        Longest, from a command to the first shot.
    breaks : str
        What gives way first, if anything.
    """

    stop: str
    winding_c: float
    case_c: float
    from_battery_j: float
    at_rest_after_s: float | None
    ready_after_s: float | None
    breaks: str


@dataclass(frozen=True, slots=True)
class MatchHeat(Result):
    """What a match does to the drive of a file.

    Parameters
    ----------
    name : str
        Of the drive.
    stop : str
        As the file says.
    run : MatchRun
        Bursts, temperatures, energy books.
    stops : tuple of StopRow
        The same match with each way to stop.
    spin_up_s, recovery_s : float
        Closed form, cold.
    svg : str
        Speed, currents and temperatures against time.
    words : tuple of str
        In plain sentences.
    cautions : tuple of str
        What to beware of.
    origin : {"predicted"}
        Always.
    """

    name: str
    stop: str
    run: MatchRun
    stops: tuple[StopRow, ...]
    spin_up_s: float
    recovery_s: float
    svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"
