"""What drives a launcher: motors on paper, the search for motor and ratio, and the heat of a match."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, in_words
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.drive_results import (
    MotorRow,
    MotorTable,
    NearestTrains,
    RatioSearch,
)
from shotwright.bench.pictures import write_picture as write_picture  # named here by shells, too
from shotwright.bench.recovery import CELLS, FloatArray, recovery_panel
from shotwright.bench.workbook import read_workbook
from shotwright.notebook.figures.sweep_map import MapPanel, sweep_map
from shotwright.powertrain.drive_file import DriveFile, read_drive_file
from shotwright.powertrain.drive_loads import Load
from shotwright.powertrain.drive_search import DriveSearch, search_drives
from shotwright.powertrain.drive_sweep import Choices
from shotwright.powertrain.motor import Motor, MotorCurve, generic_motors, motor_curve
from shotwright.powertrain.motor_fit import MotorFit, Reading, fit_motor
from shotwright.powertrain.train import Train, all_trains, nearest_trains, stage

__all__ = ["DriveFile"]  # the shells name it through this door

RPM = 2 * math.pi / 60
_READ = ("voltage", "current", "spin", "torque")  # of a reading, as it is typed
SIDE = 720.0  # px
_MOST_RATIOS = 400  # of a search; more owned gears are thinned evenly

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


def measured_motor(readings: Sequence[str], name: str = "my motor") -> tuple[Motor, MotorFit]:
    """Fit a motor to readings as typed: voltage, current, speed, torque, between commas.

    Parameters
    ----------
    readings : sequence of str
        ``"12 V, 25 A, 14300 rpm, 0.138 N m"``, two or more at different loads.
    name : str
        What it is called.

    Returns
    -------
    Motor
        With the heat of a generic class of its size.
    MotorFit
        With intervals.

    Raises
    ------
    BadInput
        A reading is not four quantities, or no motor fits.
    """
    rows = []
    for number, text in enumerate(readings, 1):
        parts = [part.strip() for part in text.split(",")]
        if len(parts) != len(_READ):
            raise BadInput(
                f"{text!r} is not voltage, current, speed, torque; e.g. 12 V, 25 A, 14300 rpm, 0.138 N m",
                field=f"reading {number}",
            )
        kinds = zip(parts, _READ, strict=True)
        rows.append(Reading(*(parse_quantity(part, kind, f"reading {number}") for part, kind in kinds)))
    fit = fit_motor(rows)
    found = dataclasses.replace(
        generic_motors()[1],
        name=name,
        resistance=fit.resistance_ohm.value,
        constant=fit.constant_v_s.value,
        free_current=max(fit.free_current_a.value, 0.0),
        source=f"{len(rows)} readings",
    )
    return found, fit


def motors(
    drive: DriveFile | None = None,
    *,
    voltage: str | None = None,
    warm: str = "80 degC",
    readings: Sequence[str] = (),
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
    readings : sequence of str
        Of a motor of the crew's own, as :func:`measured_motor` takes them; then only that motor is shown.

    Returns
    -------
    MotorTable
        Two rows for each motor.
    """
    file, fits = drive, {} if drive is None else drive.fits
    kinds = generic_motors() if file is None else file.motors
    if readings:
        own, fit = measured_motor(readings)
        kinds, fits, file = (own,), {own.name: fit}, None
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
    words = [*_fit_words(fits), *(() if file is None else file.notes)]
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
        curve.free_speed_rad_s / RPM,
        curve.stall_current_a,
        curve.stall_torque_n_m,
        curve.peak_power_w,
        curve.best_efficiency,
        curve.best_current_a,
        one.source,
    )


def _fit_words(fits: Mapping[str, MotorFit]) -> list[str]:
    words = []
    for name, fit in fits.items():
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
    panel, cells = pick_panel(file, found)
    return RatioSearch(
        name=file.name,
        search=found,
        pairs=tuple(one.teeth for one in found.drive.train.stages),
        map_ratios=tuple(panel.x.tolist()),
        map_inertias_kg_m2=tuple((1e-4 * panel.y).tolist()),
        map_recovery_s=tuple(tuple(row) for row in cells.tolist()),
        svg=sweep_map(panel, key="recovery", width=SIDE).svg(),
        words=(*_search_words(found), *file.notes),
        cautions=(WHEEL_CAUTION, BATTERY_CAUTION),
    )


def pick_panel(file: DriveFile, found: DriveSearch) -> tuple[MapPanel, FloatArray]:
    """Compute the map of recovery times for the motors of the pick.

    Parameters
    ----------
    file : DriveFile
        That was searched.
    found : DriveSearch
        What was found.

    Returns
    -------
    MapPanel, ndarray
        As of :func:`recovery_panel`. [s]
    """
    _, duty = file.needed_wheel()
    owned = [ratio for ratio, _, _ in all_trains(file.teeth, file.stages)]
    ratios = np.linspace(max(file.ratios[0], min(owned)), min(file.ratios[1], max(owned)), CELLS)
    wheels = np.linspace(0.5 * min(file.inertias), 1.5 * max(file.inertias), CELLS)
    title = f"Predicted recovery of {found.pick.motors} x {found.pick.motor}"
    pick = (found.pick.ratio, found.pick.wheel_inertia_kg_m2)
    return recovery_panel(found.drive, duty, ratios.tolist(), wheels.tolist(), pick, "the pick", title)


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
