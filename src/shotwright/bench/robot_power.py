"""The power budget of a robot over a match."""

from __future__ import annotations

import math

from shotwright.base.progress import Progress, silent
from shotwright.bench.drives import BATTERY_CAUTION, HEAT_CAUTION
from shotwright.bench.robot_results import PowerResult
from shotwright.bench.robots import SIDE, FoundRobot
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.curve_panels import (
    CurvePanel,
    PanelCurve,
    SpanPanel,
    curve_panels,
)
from shotwright.robot.filled import Taken, filled_budget, motors_of
from shotwright.robot.power import MotorCount, PowerRun
from shotwright.robot.power_run import follow


def power(found: FoundRobot, *, width: float = SIDE, progress: Progress = silent) -> PowerResult:
    """Follow the power budget over a match, at once and with waiting.

    Parameters
    ----------
    found : FoundRobot
        The robot.
    width : float
        Of the picture. [px]
    progress : Progress
        Told how far it is.

    Returns
    -------
    PowerResult
        Currents, sag, breaker, energy, who waits, motors.
    """
    robot = found.robot
    rider = None
    if found.launcher is not None and found.book is not None:
        rider = next((p for p in found.book.prototypes if p.name == found.launcher), None)
    elevations = None
    if rider is not None and rider.elevation_high > rider.elevation_low:
        elevations = (rider.elevation_low, rider.elevation_high)
    budget, taken = filled_budget(robot, elevations)
    progress(0.2, "everything at once")
    at_once = follow(budget, waiting=False)
    progress(0.6, "with waiting")
    waiting = follow(budget)
    motors = motors_of(robot, rider.motors if rider is not None else None)
    return PowerResult(
        name=robot.name,
        at_once=at_once,
        waiting=waiting,
        taken=taken,
        motors=motors,
        svg=power_drawing(at_once, waiting, budget.lowest_voltage, key="power", width=width).svg(),
        words=(*_power_words(at_once, waiting, taken, budget.lowest_voltage), *_motor_words(motors)),
        cautions=(BATTERY_CAUTION, HEAT_CAUTION),
    )


def _power_words(at_once: PowerRun, waiting: PowerRun, taken: tuple[Taken, ...], lowest: float) -> list[str]:
    words = [
        (
            f"Everything at once: {at_once.peak_a:.0f} A at most, after {at_once.peak_at_s:.1f} s "
            f"({', '.join(at_once.peak_of) or 'nothing'}), and {at_once.lowest_v:.1f} V at the least."
        ),
        *_trouble(at_once, lowest),
    ]
    late = [row for row in waiting.rows if row.waited]
    for row in late:
        words.append(
            f"{row.name} has to wait {row.waited} of {row.times} times, {row.longest_wait_s:.2f} s at most."
        )
    forced = [row for row in waiting.rows if row.forced]
    if late:
        words.append(f"With waiting: {waiting.peak_a:.0f} A at most, {waiting.lowest_v:.1f} V at the least.")
        words += _trouble(waiting, lowest)
    elif not forced:
        words.append("Nobody has to wait.")
    if forced:
        names = ", ".join(f"{row.name} ({row.forced} times)" for row in forced)
        words.append(f"Without room, since it may not wait (longer): {names}. Take less, or let it wait.")
    words += [
        f"{one.name} follows from the {one.origin}: {one.current_a:.0f} A (root mean square) for "
        f"{one.duration_s:.2f} s, {one.peak_a:.0f} A at its peak."
        for one in taken
    ]
    words.append(
        f"The match takes {waiting.from_battery_j / 3600:.1f} Wh, {100 * waiting.capacity_used:.0f} % of the "
        f"battery's capacity; {100 * waiting.level:.0f} % charge is left."
    )
    return words


def _trouble(run: PowerRun, lowest: float) -> list[str]:
    words = []
    if run.collapses_s is not None:
        words.append(f"The battery can't deliver that: it collapses after {run.collapses_s:.1f} s.")
    if run.first_too_low_s is not None:
        words.append(
            f"It is below {lowest:g} V for {run.too_low_s:.1f} s, first after {run.first_too_low_s:.1f} s."
        )
    if run.breaker_trips_s is not None:
        words.append(f"The main breaker would trip after {run.breaker_trips_s:.1f} s.")
    elif run.breaker_used is not None:
        words.append(f"The main breaker warms to {100 * run.breaker_used:.0f} % of what trips it.")
    return words


def _motor_words(motors: MotorCount) -> list[str]:
    told = ", ".join(f"{name} {count}" for name, count in motors.by_part.items())
    if motors.allowed is None or motors.left is None:
        return [f"Motors: {motors.motors} ({told}); no limit is stated."]
    if motors.left < 0:
        return [f"Motors: {motors.motors} ({told}), {-motors.left} more than the {motors.allowed} allowed."]
    return [f"Motors: {motors.motors} of {motors.allowed} allowed ({told})."]


def power_drawing(at_once: PowerRun, waiting: PowerRun, lowest: float, *, key: str, width: float) -> Drawing:
    """Draw who runs when, with waiting, and current and voltage of the battery.

    Parameters
    ----------
    at_once, waiting : PowerRun
        Both matches.
    lowest : float
        Voltage allowed. [V]
    key : str
        Unique on the page.
    width : float
        [px]

    Returns
    -------
    Drawing
        Three panels over one time.
    """
    ends = (0.0, waiting.times_s[-1])
    rows = tuple((name, spans) for name, spans in waiting.spans_s.items())

    def both(which: str) -> tuple[PanelCurve, ...]:
        return tuple(
            PanelCurve(name, list(zip(run.times_s, getattr(run, which), strict=True)))
            for name, run in (("at once", at_once), ("with waiting", waiting))
        )

    level = (("lowest voltage allowed", lowest),) if lowest > 0 and math.isfinite(lowest) else ()
    return curve_panels(
        (
            SpanPanel("time [s], with waiting", rows, ends),
            CurvePanel("time [s]", "current [A]", both("currents_a")),
            CurvePanel("time [s]", "voltage [V]", both("voltages_v"), levels=level, from_zero=False),
        ),
        key=key,
        width=width,
        title="Power budget, predicted",
    )
