"""The heat of a match: what a drive does, what cuts, what each way to stop costs."""

from __future__ import annotations

import dataclasses

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.progress import Progress, silent
from shotwright.bench.drive_results import MatchHeat, StopRow
from shotwright.bench.drives import BATTERY_CAUTION, HEAT_CAUTION, RPM, SIDE, WHEEL_CAUTION
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.match_trace import TraceCurve, TracePanel, match_trace
from shotwright.powertrain.drive_file import DriveFile
from shotwright.powertrain.wheel_duty import STOPS, Drive, Duty, recovery_time, spin_up
from shotwright.powertrain.wheel_match import MatchRun, Trace, trace_match


def match_heat(
    file: DriveFile, *, stop: str | None = None, width: float = SIDE, progress: Progress = silent
) -> MatchHeat:
    """Follow the match of a drive file: shots, currents, energy, temperatures, and each way to stop.

    Parameters
    ----------
    file : DriveFile
        With its wheel and duty.
    stop : str, optional
        Instead of the file's.
    width : float
        Of the picture. [px]
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
        svg=match_drawing(file.name, drive, duty, trace, "match", width).svg(),
        words=(*_heat_words(file.name, drive, duty, run, file.limits.lowest_voltage), *file.notes),
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


def _heat_words(name: str, drive: Drive, duty: Duty, run: MatchRun, lowest: float) -> list[str]:
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
    if run.lowest_v < lowest:
        words.append(
            f"{run.lowest_v:.1f} V is below the {lowest:g} V that this drive's file allows its battery: "
            "controllers and radio may drop out."
        )
    if fired < wanted:
        top = spin_up(drive, 1e-9).final_speed_rad_s
        why = "without current the wheel is not ready" if run.open_s else "the wheel is not ready in time"
        if top < duty.ready * duty.speed:
            why = (
                f"at full battery the motors turn the wheel at {max(top, 0.0) / RPM:.0f} rpm at most, and "
                f"{duty.ready * duty.speed / RPM:.0f} rpm are needed: use a smaller ratio"
            )
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


def match_drawing(name: str, drive: Drive, duty: Duty, trace: Trace, key: str, width: float) -> Drawing:
    """Draw a match against time.

    Parameters
    ----------
    name : str
        Of the drive.
    drive, duty, trace
        What was followed, and its record.
    key : str
        Unique on the page.
    width : float
        Of the picture. [px]

    Returns
    -------
    Drawing
        Speed, currents, temperatures.
    """
    breaker = drive.supply.main_breaker
    panels = (
        TracePanel(
            "speed [rpm]",
            (TraceCurve("wheel", trace.speed_rad_s / RPM),),
            (("ready", duty.ready * duty.speed / RPM),),
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
    return match_trace(trace.time_s, panels, key=key, width=width, title=title)
