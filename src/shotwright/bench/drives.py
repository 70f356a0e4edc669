"""What drives a launcher: motors on paper, the search for motor and ratio, and the heat of a match."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, in_words
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.drive_results import (
    MatchHeat,
    MotorRow,
    MotorTable,
    NearestTrains,
    RatioSearch,
    StopRow,
)
from shotwright.bench.workbook import read_workbook
from shotwright.notebook.figures.match_trace import TraceCurve, TracePanel, match_trace
from shotwright.notebook.figures.sweep_map import MapPanel, even_edges, sweep_map
from shotwright.powertrain.drive_file import DriveFile, read_drive_file
from shotwright.powertrain.drive_loads import Load
from shotwright.powertrain.drive_search import DriveSearch, search_drives
from shotwright.powertrain.drive_sweep import Choices
from shotwright.powertrain.motor import Motor, MotorCurve, generic_motors, motor_curve
from shotwright.powertrain.recovery_map import recovery_map
from shotwright.powertrain.train import Train, all_trains, nearest_trains, stage
from shotwright.powertrain.wheel_duty import STOPS, Drive, Duty, recovery_time, spin_up
from shotwright.powertrain.wheel_match import MatchRun, Trace, trace_match

__all__ = ["DriveFile"]  # the shells name it through this door

_RPM = 2 * math.pi / 60
_SIDE = 720.0  # px
_MOST_RATIOS = 400  # of a search; more owned gears are thinned evenly
_CELLS = 40  # of the map, each way

BATTERY_CAUTION = (
    "Batteries: use the charger made for them, fuse close to the battery, never short the terminals, stop "
    "using a swollen, hot or damaged one; your event's rules and the maker's sheet stand above this."
)
WHEEL_CAUTION = (
    "A wheel keeps turning after the power is cut: guard it, stay out of its plane, wear eye protection, and "
    "wait until it stands before reaching in."
)
HEAT_CAUTION = "Motors that were worked hard burn fingers: let them cool, and stop at smell or smoke."


def find_drive(path: Path | None, project: Path | None, name: str = "") -> DriveFile:
    """Return the drive of a file, or of a project.

    Parameters
    ----------
    path : Path, optional
        Drive file; then the project is not looked at.
    project : Path, optional
        Project file that keeps drives.
    name : str
        Which of them; the only one when left out.

    Returns
    -------
    DriveFile
        In SI.

    Raises
    ------
    BadInput
        Neither is named, or there is no such drive.
    """
    if path is not None:
        return read_drive_file(path)
    if project is None:
        raise BadInput("name a drive file, or a project that keeps one", field="drive")
    return read_workbook(project).drive(name)


def motors(
    drive: DriveFile | None = None, *, voltage: str | None = None, warm: str = "80 degC"
) -> MotorTable:
    """Show what motors do, cold and warm; the generic classes when no file is named.

    Parameters
    ----------
    drive : DriveFile, optional
        Whose motors.
    voltage : str, optional
        As typed; the battery's open-circuit voltage, or 12 V.
    warm : str
        Temperature to compare with, as typed.

    Returns
    -------
    MotorTable
        Two rows for each motor.
    """
    file = drive
    kinds = generic_motors() if file is None else file.motors
    if voltage is not None:
        volts = parse_quantity(voltage, "voltage", "voltage")
    elif file is not None:
        volts = file.supply.battery.voltage_at(file.supply.level)
    else:
        volts = 12.0
    kelvin = parse_quantity(warm, "temperature", "warm")
    rows = [
        _motor_row(one, t, motor_curve(one.at(t), volts))
        for one in kinds
        for t in (CELSIUS_ZERO + 20, kelvin)
    ]
    words = [] if file is None else [*_fit_words(file), *file.notes]
    if any("no source" in one.source for one in kinds):
        words.append(
            "Generic classes are typical values without a source: measure two readings of your own motor."
        )
    return MotorTable(tuple(rows), tuple(words), (HEAT_CAUTION, BATTERY_CAUTION))


def _motor_row(one: Motor, kelvin: float, curve: MotorCurve) -> MotorRow:
    return MotorRow(
        one.name,
        kelvin - CELSIUS_ZERO,
        curve.voltage,
        curve.free_speed_rad_s / _RPM,
        curve.stall_current_a,
        curve.stall_torque_n_m,
        curve.peak_power_w,
        curve.best_efficiency,
        curve.best_current_a,
        one.source,
    )


def _fit_words(file: DriveFile) -> list[str]:
    words = []
    for name, fit in file.fits.items():
        parts: list[tuple[str, Estimate, str, float]] = [
            ("resistance", fit.resistance_ohm, "mohm", 1e3),
            ("constant", fit.constant_v_s, "mV s/rad", 1e3),
            ("free current", fit.free_current_a, "A", 1.0),
        ]
        told = ", ".join(f"{word} {in_words(value, unit, scale)}" for word, value, unit, scale in parts)
        words.append(f"{name}, from {fit.readings} readings, 95 %: {told}.")
    return words


def nearest(wanted: float, teeth: tuple[int, ...], *, stages: int = 2, show: int = 8) -> NearestTrains:
    """Find the trains that owned gears make nearest to a ratio.

    Parameters
    ----------
    wanted : float
        Turns of the motor for one of the wheel.
    teeth : tuple of int
        Owned tooth counts.
    stages : int
        Most.
    show : int
        How many.

    Returns
    -------
    NearestTrains
        Ranked by error, stages, size.
    """
    found = nearest_trains(wanted, teeth, stages, show)
    best = found[0]
    pairs = ", then ".join(f"{a} drives {b}" for a, b in best.pairs)
    words = (f"Nearest to {wanted:g}: {pairs}, ratio {best.ratio:.5g} ({100 * best.error:+.2g} %).",)
    return NearestTrains(wanted, found, words)


def ratio_search(file: DriveFile, *, workers: int | None = None, progress: Progress = silent) -> RatioSearch:
    """Search motor, number, buildable ratio and wheel of a drive file, the whole match of each.

    Parameters
    ----------
    file : DriveFile
        With a [search].
    workers : int, optional
        Threads.
    progress : Progress
        Told how far it is.

    Returns
    -------
    RatioSearch
        The pick and what stands behind it.

    Raises
    ------
    BadInput
        No gears to choose from.
    NoAnswer
        Nothing keeps the limits.
    """
    drive, duty = file.needed_wheel()
    low, high = file.ratios
    if not file.teeth:
        raise BadInput(
            "no tooth counts to build from; e.g. teeth = [12, 18, 24, 36]",
            field="[search], teeth",
            file=file.name,
        )
    owned = [one for one in all_trains(file.teeth, file.stages) if low <= one[0] <= high]
    if not owned:
        raise BadInput(
            f"the gears make no ratio from {low:g} to {high:g}", field="[search], teeth", file=file.name
        )
    if len(owned) > _MOST_RATIOS:
        owned = [
            owned[i] for i in np.unique(np.linspace(0, len(owned) - 1, _MOST_RATIOS).round().astype(int))
        ]
    trains = tuple(
        Train(tuple(stage("spur", b / a, teeth=(a, b)) for a, b in pairs)) for _, _, pairs in owned
    )
    choices = Choices(file.motors, file.counts, trains, file.inertias, drive.wheel.friction)
    found = search_drives(choices, file.supply, duty, file.limits, workers, progress)
    ratios = np.linspace(
        max(low, min(one[0] for one in owned)), min(high, max(one[0] for one in owned)), _CELLS
    )
    wheels = np.linspace(0.5 * min(file.inertias), 1.5 * max(file.inertias), _CELLS)
    cells = recovery_map(found.drive, duty, ratios.tolist(), wheels.tolist()).T
    panel = MapPanel(
        title=f"Predicted recovery of {found.pick.motors} x {found.pick.motor}",
        x_label="ratio",
        y_label="inertia of the wheel [kg cm²]",
        x=ratios,
        y=1e4 * wheels,
        values=np.where(np.isfinite(cells), 1e3 * cells, math.nan),
        edges=even_edges(1e3 * cells[np.isfinite(cells)], 12),
        unit=" ms",
        best=(found.pick.ratio, 1e4 * found.pick.wheel_inertia_kg_m2),
        best_name="the pick",
    )
    return RatioSearch(
        name=file.name,
        search=found,
        pairs=tuple(one.teeth for one in found.drive.train.stages),
        map_ratios=tuple(ratios.tolist()),
        map_inertias_kg_m2=tuple(wheels.tolist()),
        map_recovery_s=tuple(tuple(row) for row in cells.tolist()),
        svg=sweep_map(panel, key="recovery", width=_SIDE).svg(),
        words=(*_search_words(found), *file.notes),
        cautions=(WHEEL_CAUTION, BATTERY_CAUTION),
    )


def _search_words(found: DriveSearch) -> list[str]:
    pick = found.pick
    gears = ", then ".join(f"{a} drives {b}" for a, b in (one.teeth for one in found.drive.train.stages))
    tried = (
        f"Followed the whole match of {found.simulated} of {found.tried} drives; "
        f"{found.within_limits} keep all limits."
    )
    built = (
        f"The pick: {pick.motors} x {pick.motor}, ratio {pick.ratio:.4g} ({gears}), wheel of "
        f"{1e4 * pick.wheel_inertia_kg_m2:.3g} kg cm²: {pick.shot_rate_s:.2f} shots a second in a burst, "
        f"ready again after {1e3 * pick.recovery_s:.0f} ms, windings at most "
        f"{pick.winding_k - CELSIUS_ZERO:.0f} °C. It "
        "has the fewest motors, then the coolest, of those within 2 % of the best shot rate."
    )
    low = (
        f"With the battery as the match leaves it ({100 * found.low_level:.0f} % charge), first to give "
        f"way: {_load_words(found.low_battery[0])}."
    )
    words = [tried, built, f"Closest to its limit: {_load_words(found.loads[0])}.", low]
    if found.refused:
        told = ", ".join(f"{what} {n}" for what, n in sorted(found.refused.items(), key=lambda x: -x[1]))
        words.append(f"Drives that break a limit (some break several): {told}.")
    return words


def _load_words(one: Load) -> str:
    when = "" if one.at_s is None else f", after {one.at_s:.1f} s"
    return f"{one.what}, {100 * one.used:.0f} % used{when}"


def match_heat(file: DriveFile, *, stop: str | None = None, progress: Progress = silent) -> MatchHeat:
    """Follow the match of a drive file: shots, currents, energy, temperatures, and each way to stop.

    Parameters
    ----------
    file : DriveFile
        With its wheel and duty.
    stop : str, optional
        Instead of the file's.
    progress : Progress
        Told how far it is.

    Returns
    -------
    MatchHeat
        The match, with its picture.
    """
    drive, duty = file.needed_wheel()
    if stop is not None:
        duty = dataclasses.replace(duty, stop=stop)  # type: ignore[arg-type]  # the record checks it
    run, trace = trace_match(drive, duty)
    locked = drive.train.back_efficiency <= 0
    rows = []
    for i, way in enumerate(STOPS):
        progress(i / len(STOPS), way)
        if locked and way in ("brake", "coast"):
            continue
        other = dataclasses.replace(duty, stop=way)
        rows.append(_stop_row(way, run if way == duty.stop else trace_match(drive, other)[0]))
    up = spin_up(drive, duty.ready * duty.speed)
    return MatchHeat(
        name=file.name,
        stop=duty.stop,
        run=run,
        stops=tuple(rows),
        spin_up_s=up.time_s,
        recovery_s=recovery_time(drive, duty),
        svg=_picture(file.name, drive, duty, trace),
        words=(*_heat_words(file.name, drive, duty, run), *file.notes),
        cautions=(WHEEL_CAUTION, HEAT_CAUTION, BATTERY_CAUTION),
    )


def _stop_row(stop: str, run: MatchRun) -> StopRow:
    rests = [one.at_rest_after_s for one in run.bursts if one.at_rest_after_s is not None]
    ready = [one.ready_after_s for one in run.bursts if one.ready_after_s is not None]
    first = min(run.breaks.items(), key=lambda one: one[1], default=None)
    return StopRow(
        stop=stop,
        winding_c=run.peak_winding_k - CELSIUS_ZERO,
        case_c=run.case_k - CELSIUS_ZERO,
        from_battery_j=run.from_battery_j,
        at_rest_after_s=max(rests, default=None),
        ready_after_s=max(ready, default=None),
        breaks="nothing" if first is None else f"{first[0]} at {first[1]:.1f} s",
    )


def _heat_words(name: str, drive: Drive, duty: Duty, run: MatchRun) -> list[str]:
    fired = sum(one.fired for one in run.bursts)
    wanted = sum(one.shots for one in duty.bursts)
    ways = {
        "keep running": "kept at speed",
        "brake": "braked through the motors",
        "coast": "left to coast with the motors",
        "clutch": "left to coast on a one-way clutch",
    }
    way = ways[duty.stop]
    parts = sorted(((v, k) for k, v in run.energy_j.items() if v > 0.005 * run.from_battery_j), reverse=True)
    where = ", ".join(f"{100 * v / run.from_battery_j:.0f} % {k}" for v, k in parts)
    shots = f"{name}: {fired} of {wanted} shots fired in {duty.match:g} s, the wheel {way} after each burst."
    warm = (
        f"Windings reach {run.peak_winding_k - CELSIUS_ZERO:.0f} °C (limit "
        f"{drive.motor.limit - CELSIUS_ZERO:.0f} °C), the case {run.case_k - CELSIUS_ZERO:.0f} °C at "
        f"the end. The battery falls to {100 * run.level:.0f} % and, at the worst moment, to "
        f"{run.lowest_v:.1f} V."
    )
    words = [shots, warm, f"{run.from_battery_j / 3600:.2f} Wh from the battery: {where}."]
    words += [break_words(what, when, run) for what, when in run.breaks.items()]
    if fired < wanted:
        why = "without current the wheel is not ready" if run.open_s else "the wheel is not ready in time"
        words.append(f"{wanted - fired} shots stay unfired: {why}.")
    return words


def break_words(what: str, when: float, run: MatchRun) -> str:
    """Say when something gave way, and for how long it stayed open.

    Parameters
    ----------
    what : str
        Breaker, protection or winding limit.
    when : float
        [s]
    run : MatchRun
        Of the match.

    Returns
    -------
    str
        One sentence.
    """
    if what not in run.open_s:
        return f"The {what} is passed after {when:.1f} s; the match goes on, the motor may not."
    cut = "everything" if what == "main breaker" else "the motors"
    return f"The {what} trips after {when:.1f} s and cuts {cut}, for {run.open_s[what]:.1f} s in all."


def _picture(name: str, drive: Drive, duty: Duty, trace: Trace) -> str:
    breaker = drive.supply.main_breaker
    panels = (
        TracePanel(
            "speed [rpm]",
            (TraceCurve("wheel", trace.speed_rad_s / _RPM),),
            (("ready", duty.ready * duty.speed / _RPM),),
        ),
        TracePanel(
            "current [A]",
            (TraceCurve("battery", trace.battery_a), TraceCurve("each motor", trace.motor_a)),
            () if breaker is None else (("main breaker", breaker.rating),),
        ),
        TracePanel(
            "temperature [°C]",
            (
                TraceCurve("winding", trace.winding_k - CELSIUS_ZERO),
                TraceCurve("case", trace.case_k - CELSIUS_ZERO),
            ),
            (("winding limit", drive.motor.limit - CELSIUS_ZERO),),
        ),
    )
    title = f"{name} over a match, predicted"
    return match_trace(trace.time_s, panels, key="match", width=_SIDE, title=title).svg()


def write_picture(svg: str, path: Path) -> None:
    """Write a picture; replaces the file when it is there.

    Raises
    ------
    BadInput
        The file can't be written.
    """
    try:
        path.write_text(svg, encoding="utf-8")
    except OSError as reason:
        raise BadInput(f"can't be written ({reason.strerror})", file=str(path)) from None
