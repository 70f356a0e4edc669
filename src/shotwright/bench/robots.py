"""The robot around the launcher, and its drive base."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import NotEstimated
from shotwright.base.progress import Progress, silent
from shotwright.base.toml_tables import read_text
from shotwright.bench.drives import BATTERY_CAUTION, HEAT_CAUTION
from shotwright.bench.robot_results import DriveBaseResult, SprintRow
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.curve_panels import (
    CurvePanel,
    PanelCurve,
    PanelMark,
    curve_panels,
)
from shotwright.powertrain.train import all_trains, nearest_trains
from shotwright.robot.description import DrivePart, Robot
from shotwright.robot.drive_base import Push, push
from shotwright.robot.pushing import HeldPush, force_held_for, held_push
from shotwright.robot.ratio_map import RatioMap, even_ratios, ratio_map
from shotwright.robot.reading import robot_from_text
from shotwright.robot.sprint import sprint
from shotwright.robot.sprint_run import SprintRun, run_sprint
from shotwright.robot.turning import Turning, turning

SIDE = 720.0  # px
_RATIOS = 48  # of the map
ROBOT_CAUTION = (
    "A robot that drives hurts feet and fingers: set it on blocks to test its wheels, keep hands out of "
    "belts, gears and worms, and have a switch within reach that cuts the power."
)


@dataclass(frozen=True, slots=True)
class FoundRobot:
    """A robot with the project it belongs to.

    Parameters
    ----------
    robot : Robot
        As its file describes it.
    book : Workbook, optional
        The project; None where a file stands alone.
    """

    robot: Robot
    book: Workbook | None

    @property
    def launcher(self) -> str | None:
        """Prototype that rides on it: as its file says, or the project's choice."""
        return self.robot.launcher or (None if self.book is None else self.book.chosen)


def find_robot(path: Path | None, project: Path | None) -> FoundRobot:
    """Return the robot of a file, or of a project.

    Parameters
    ----------
    path : Path, optional
        Robot file; the project then gives ball, positions and trials only.
    project : Path, optional
        Project file that keeps a robot.

    Returns
    -------
    FoundRobot
        The robot, and the project loaded.

    Raises
    ------
    BadInput
        Neither is named, or the project keeps no robot.
    """
    book = None if project is None else read_workbook(project)
    if path is not None:
        return FoundRobot(robot_from_text(read_text(path), path.name), book)
    text = None if book is None else book.crew_files.get("robot")
    if text is None:
        raise BadInput(
            "this project keeps no robot yet; write one and bring it in: shotwright import robot.toml",
            field="robot",
        )
    return FoundRobot(robot_from_text(text), book)


def drive_base(found: FoundRobot, *, width: float = SIDE, progress: Progress = silent) -> DriveBaseResult:
    """Work out a drive base: sprints, push, turn, and the ratio for the crew's mix.

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
    DriveBaseResult
        With its picture.
    """
    part = found.robot.part("drive-base")
    assert isinstance(part, DrivePart)
    base, mix = part.base, part.mix
    rows, runs = [], []
    for far, times in mix.sprints:
        row, run = _sprint_row(part, far, times)
        rows.append(row)
        runs.append(run)
    pushed = push(base)
    held = held_push(base, mix.push_force, yields=True)
    most = force_held_for(base, mix.push_time) if mix.push_time > 0 else pushed.force_n
    try:
        turn: Turning | NotEstimated = turning(base)
    except NoAnswer as reason:
        turn = NotEstimated(str(reason))
    over = ratio_map(base, mix, _ratios(part), progress=progress)
    trains = nearest_trains(over.pick.ratio, part.teeth, part.stages, 3) if len(part.teeth) > 1 else ()
    top = sprint(base, mix.sprints[0][0]).top_speed_m_s
    words = [
        f"Ratio {base.train.ratio:.4g}: {top:.2f} m/s at most.",
        *_sprint_words(part, rows),
        *_push_words(pushed, held, most, mix.push_time),
        _turn_words(turn),
        *_map_words(over, base.train.ratio, mix.pushes),
    ]
    if trains:
        best = trains[0]
        pairs = ", then ".join(f"{a} drives {b}" for a, b in best.pairs)
        words.append(f"From your gears: {pairs}, ratio {best.ratio:.4g} ({100 * best.error:+.2g} %).")
    return DriveBaseResult(
        name=found.robot.name,
        ratio=base.train.ratio,
        top_speed_m_s=top,
        sprints=tuple(rows),
        push=pushed,
        held=held,
        heat_limit_n=most,
        turning=turn,
        map=over,
        trains=trains,
        svg=drive_drawing(over, base.train.ratio, runs[0], key="drive-base", width=width).svg(),
        words=(*words, *found.robot.notes),
        cautions=(ROBOT_CAUTION, HEAT_CAUTION, BATTERY_CAUTION),
    )


def _ratios(part: DrivePart) -> tuple[float, ...]:
    """Ratios that owned gears make, thinned evenly where there are many; evenly spaced ones without gears."""
    low, high = part.ratios
    owned: list[float] = []
    if len(part.teeth) > 1:
        owned = [one[0] for one in all_trains(part.teeth, part.stages) if low <= one[0] <= high]
    if not owned:
        owned = list(even_ratios(low, high, _RATIOS))
    kept = {owned[round(i * (len(owned) - 1) / (_RATIOS - 1))] for i in range(_RATIOS)}
    return tuple(sorted({*kept, part.base.train.ratio}))


def _sprint_row(part: DrivePart, far: float, times: int) -> tuple[SprintRow, SprintRun]:
    closed = sprint(part.base, far)
    eased, spun = (run_sprint(part.base, far, start=way) for way in ("eased", "full voltage"))
    run = eased if part.start == "eased" else spun
    row = SprintRow(
        far, times, closed.time_s, closed.end_speed_m_s, closed.limited_by, eased.time_s, spun.time_s,
        spun.spun_s, run.peak_battery_a, run.lowest_v, run.from_battery_j,
    )  # fmt: skip
    return row, run


def _sprint_words(part: DrivePart, rows: list[SprintRow]) -> list[str]:
    first = rows[0]
    limits = {
        "grip": "at first the floor limits it",
        "current limit": "at first the controllers' current limit does",
        "nothing": "the motors alone limit it",
    }
    words = [
        f"{row.distance_m:g} m from rest take {row.time_s:.2f} s, ending at {row.end_speed_m_s:.2f} m/s; "
        f"{limits[row.limited_by]}."
        for row in rows
    ]
    words.append(
        f"Followed with sag and heat, {first.distance_m:g} m take {first.followed_s:.2f} s; at full voltage "
        f"without easing off {first.full_voltage_s:.2f} s"
        + (f", with wheels that spin for {first.spun_s:.2f} s." if first.spun_s > 0 else ".")
    )
    words.append(
        f"The battery gives {first.peak_a:.0f} A at most and falls to {first.lowest_v:.1f} V "
        f"({'eased off' if part.start == 'eased' else 'at full voltage'})."
    )
    return words


def _push_words(pushed: Push, held: HeldPush, most: float, wanted: float) -> list[str]:
    names = {"grip": "the grip of the wheels", "current limit": "the controllers", "motors": "the motors"}
    first = (
        f"It pushes with {pushed.force_n:.0f} N at most, limited by {names[pushed.limited_by]}; wheels "
        f"slip at {pushed.slip_a:.1f} A a motor."
    )
    fallen = ""
    if held.last_force_n < 0.99 * held.force_n:
        fallen = f", and warm motors give {held.last_force_n:.0f} N"
    ended = "the winding reaches its limit"
    if held.ended_by != "winding":
        ended = f"the {held.ended_by} gives way"
    if held.ended_by == "nothing":
        second = (
            f"A push of {held.force_n:.0f} N ({held.motor_a:.1f} A a motor) can be held for the whole match."
        )
    else:
        second = (
            f"A push of {held.force_n:.0f} N ({held.motor_a:.1f} A a motor, {held.battery_a:.0f} A from the "
            f"battery) can be held for {held.held_s:.1f} s, until {ended}; the windings are then at "
            f"{held.winding_k - CELSIUS_ZERO:.0f} °C{fallen}."
        )
    words = [first, second]
    if wanted > 0:
        enough = "enough" if held.held_s >= wanted else f"{wanted - held.held_s:.1f} s too short"
        words.append(f"The mix wants {wanted:g} s: {enough}. For that long it can hold {most:.0f} N.")
    return words


def _turn_words(turn: Turning | NotEstimated) -> str:
    if isinstance(turn, NotEstimated):
        return f"Turning on the spot: not worked out, {turn.reason}."
    if not turn.can_turn:
        return (
            f"It can't turn on the spot: scrub takes {turn.force_n:.0f} N along the wheels, more than the "
            "motors give. Shorten the wheelbase, or use omnidirectional wheels at one end."
        )
    return (
        f"Turning on the spot takes {turn.force_n:.0f} N of scrub, {turn.motor_a:.1f} A a motor: "
        f"{turn.rate_deg_s:.0f}°/s once it turns."
    )


def _map_words(over: RatioMap, now: float, pushes: int) -> list[str]:
    pick = over.pick
    built = min(over.rows, key=lambda row: abs(row.ratio - now))
    words = [
        (
            f"For the crew's mix a ratio of {pick.ratio:.3g} is best: all sprints together "
            f"{pick.sprint_s:.1f} s, {pick.push_force_n:.0f} N, {pick.lost_s:.1f} s of pushing lost. "
            f"As built, {now:.3g}: {built.sprint_s:.1f} s, {built.push_force_n:.0f} N, "
            f"{built.lost_s:.1f} s lost."
        )
    ]
    if over.fastest.ratio != pick.ratio:
        words.append(
            f"Sprints alone would take {over.fastest.ratio:.3g} ({over.fastest.sprint_s:.1f} s); pushing "
            f"makes it slower."
        )
    elif pushes:
        words.append("Sprints alone would take the same ratio: pushing costs nothing here.")
    return words


def drive_drawing(over: RatioMap, now: float, run: SprintRun, *, key: str, width: float) -> Drawing:
    """Draw the ratio map and one sprint.

    Parameters
    ----------
    over : RatioMap
        Over ratios.
    now : float
        Ratio as built. [-]
    run : SprintRun
        The sprint.
    key : str
        Unique on the page.
    width : float
        [px]

    Returns
    -------
    Drawing
        Sprint time against pushing force, both against the ratio, and speed over time.
    """
    built = min(over.rows, key=lambda row: abs(row.ratio - now))
    by_force = CurvePanel(
        "pushing force [N]",
        "all sprints [s]",
        (PanelCurve("sprints by ratio", [(row.push_force_n, row.sprint_s) for row in over.rows]),),
        (
            PanelMark("as built", built.push_force_n, built.sprint_s, "square"),
            PanelMark("the pick", over.pick.push_force_n, over.pick.sprint_s, "plus"),
        ),
        from_zero=False,
    )
    by_ratio = CurvePanel(
        "ratio",
        "seconds of the match",
        (
            PanelCurve("sprints by ratio", [(row.ratio, row.sprint_s) for row in over.rows]),
            PanelCurve("with pushing that is lost", [(row.ratio, row.cost_s) for row in over.rows]),
        ),
        (
            PanelMark("as built", now, built.cost_s, "square"),
            PanelMark("the pick", over.pick.ratio, over.pick.cost_s, "plus"),
        ),
    )
    rim = list(zip(run.times_s, run.wheels_m_s, strict=True))
    speeds = CurvePanel(
        "time [s]",
        "speed [m/s]",
        (
            PanelCurve("robot", list(zip(run.times_s, run.speeds_m_s, strict=True))),
            *([PanelCurve("rim of the wheels", rim)] if run.spun_s > 0 else []),
        ),
    )
    return curve_panels((by_force, by_ratio, speeds), key=key, width=width, title="Drive base, predicted")
