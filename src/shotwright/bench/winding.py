"""Winding a piston: torque over a turn, current, shots a minute, and the heat of a match."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.plain import Result
from shotwright.bench.drives import BATTERY_CAUTION, HEAT_CAUTION
from shotwright.bench.match_heat import break_words
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.match_trace import TraceCurve, TracePanel, match_trace
from shotwright.powertrain.drive_file import DriveFile
from shotwright.powertrain.winding_duty import WindingRun, run_winding
from shotwright.powertrain.winding_file import Winding

_RPM = 2 * math.pi / 60
_ROWS = 12  # of the table over a turn
SPRING_CAUTION = (
    "A wound spring keeps its energy without power: let it down before you reach in, never walk in front of "
    "the barrel, wear eye protection; your event's rules stand above this."
)


@dataclass(frozen=True, slots=True)
class TurnRow(Result):
    """One place of the last turn.

    Parameters
    ----------
    angle_deg : float
        From the start of the turn.
    torque_n_m : float
        That winding takes from there on; 0 at the end.
    speed_rpm : float
        Of the shaft.
    motor_a : float
        Of each motor.
    """

    angle_deg: float
    torque_n_m: float
    speed_rpm: float
    motor_a: float


@dataclass(frozen=True, slots=True)
class WindingTable(Result):
    """What winding does over a match.

    Parameters
    ----------
    name : str
        Of the drive.
    rows : tuple of TurnRow
        The last turn.
    run : WindingRun
        Times, heat, margin, bursts, energy books.
    work_j, stored_j : float
        Of one turn at the shaft, and in the spring at its end; 0 when no spring was described.
    turn_svg, match_svg : str
        Torque, current and speed over the turn; temperatures over the match.
    words : tuple of str
        In plain sentences.
    cautions : tuple of str
        What to beware of.
    origin : {"predicted"}
        Always.
    """

    name: str
    rows: tuple[TurnRow, ...]
    run: WindingRun
    work_j: float
    stored_j: float
    turn_svg: str
    match_svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


def winding(file: DriveFile, *, width: float = 720.0) -> WindingTable:
    """Follow a piston that is wound, turn by turn, over the match of a drive file.

    Parameters
    ----------
    file : DriveFile
        With a [winding].
    width : float
        Of the pictures. [px]

    Returns
    -------
    WindingTable
        The last turn, the match, and both as pictures.

    Raises
    ------
    BadInput
        The file winds no piston.
    NoAnswer
        The motors stall.
    """
    wound = file.needed_winding()
    run = run_winding(wound.drive, wound.turn, wound.bursts, wound.match, wound.air)
    return WindingTable(
        name=file.name,
        rows=tuple(_rows(run)),
        run=run,
        work_j=wound.turn.work,
        stored_j=wound.stored,
        turn_svg=turn_drawing(file.name, wound, run, "turn", width).svg(),
        match_svg=wound_drawing(file.name, wound, run, "winding", width).svg(),
        words=(*_words(file.name, wound, run), *file.notes),
        cautions=(SPRING_CAUTION, HEAT_CAUTION, BATTERY_CAUTION),
    )


def _rows(run: WindingRun) -> list[TurnRow]:
    """Thin the last turn out, by even steps, to what a table can hold."""
    record = run.record
    ahead = (*record.torque_n_m[1:], 0.0)
    last = len(record.angle_rad) - 1
    places = sorted({round(i * last / min(_ROWS, last)) for i in range(min(_ROWS, last) + 1)})
    return [
        TurnRow(
            math.degrees(record.angle_rad[i]),
            ahead[i],
            record.speed_rad_s[i] / _RPM,
            record.motor_a[i],
        )
        for i in places
    ]


def _words(name: str, wound: Winding, run: WindingRun) -> list[str]:
    fired = sum(one.fired for one in run.run.bursts)
    wanted = sum(one.shots for one in wound.bursts)
    largest = max(wound.turn.torques)
    at = wound.turn.angles[wound.turn.torques.index(largest)]
    turns = (
        f"{name}: {fired} of {wanted} shots in {wound.match:g} s; a turn takes {run.last_turn_s:.2f} s at "
        f"the end, {run.shots_per_minute:.0f} shots a minute without a pause."
    )
    spring = f", of which the spring stores {wound.stored:.3g} J" if wound.stored > 0 else ""
    torque = (
        f"Winding takes {wound.turn.work:.3g} J a shot at the shaft{spring}. The largest torque is "
        f"{largest:.3g} N m, {math.degrees(at):.0f} degrees into the turn; warm, and with the battery as the "
        f"match leaves it, the motors stall at {run.torque_margin:.2f} times that."
    )
    heat = (
        f"Each motor carries at most {run.run.peak_motor_a:.1f} A, braking counted; its winding gets "
        f"{run.heat_per_turn_j:.2g} J a shot and reaches {run.run.peak_winding_k - CELSIUS_ZERO:.0f} °C "
        f"(limit {wound.drive.motor.limit - CELSIUS_ZERO:.0f} °C). The battery falls to "
        f"{100 * run.run.level:.0f} % and, at the worst moment, to {run.run.lowest_v:.1f} V."
    )
    parts = [turns, torque, heat]
    parts += [break_words(what, when, run.run) for what, when in run.run.breaks.items()]
    if run.torque_margin < 1.5:
        parts.append(
            "Less than 1.5 times the largest torque is little: friction grows with dirt and wear (common "
            "practice, no source)."
        )
    if fired < wanted:
        why = "the motors have no current" if run.run.open_s else "there is no time for their turns"
        parts.append(f"{wanted - fired} shots stay unfired: {why}.")
    return parts


def turn_drawing(name: str, wound: Winding, run: WindingRun, key: str, width: float) -> Drawing:
    """Draw torque, current and speed over the last turn.

    Parameters
    ----------
    name : str
        Of the drive.
    wound, run
        What was wound, and what it did.
    key : str
        Unique on the page.
    width : float
        Of the picture. [px]

    Returns
    -------
    Drawing
        Three panels.
    """
    record = run.record
    angle = np.degrees(np.array(record.angle_rad))
    # the torque of a step is the same from its start to its end
    stairs = np.array([v for a, b in pairwise(angle) for v in (a, b)])
    torque = np.array([v for t in record.torque_n_m[1:] for v in (t, t)])
    rows = np.repeat(np.arange(len(angle)), 2)[1:-1]
    limit = wound.drive.supply.current_limit
    panels = (
        TracePanel("torque [N m]", (TraceCurve("winding takes", torque),)),
        TracePanel(
            "current [A]",
            (TraceCurve("each motor", np.array(record.motor_a)[rows]),),
            () if math.isinf(limit) else (("controller's limit", limit),),
        ),
        TracePanel("speed [rpm]", (TraceCurve("shaft", np.array(record.speed_rad_s)[rows] / _RPM),)),
    )
    title = f"{name}, the last turn of a match, predicted"
    return match_trace(stairs, panels, key=key, width=width, title=title, along="angle [degrees]")


def wound_drawing(name: str, wound: Winding, run: WindingRun, key: str, width: float) -> Drawing:
    """Draw the temperatures over the match.

    Parameters
    ----------
    name : str
        Of the drive.
    wound, run
        What was wound, and what it did.
    key : str
        Unique on the page.
    width : float
        Of the picture. [px]

    Returns
    -------
    Drawing
        One panel.
    """
    trace = run.trace
    panel = TracePanel(
        "temperature [°C]",
        (
            TraceCurve("winding", np.array(trace.winding_k) - CELSIUS_ZERO),
            TraceCurve("case", np.array(trace.case_k) - CELSIUS_ZERO),
        ),
        (("winding limit", wound.drive.motor.limit - CELSIUS_ZERO),),
    )
    title = f"{name} over a match, predicted"
    return match_trace(np.array(trace.time_s), (panel,), key=key, width=width, title=title)
