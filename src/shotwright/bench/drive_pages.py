"""Drives as pages of the notebook."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.progress import Progress, silent
from shotwright.bench.drive_results import MotorTable, RatioSearch, StopRow
from shotwright.bench.drives import motors, pick_panel, ratio_search
from shotwright.bench.match_heat import match_drawing, match_heat
from shotwright.bench.recovery import built_panel
from shotwright.bench.winding import TurnRow, turn_drawing, winding, wound_drawing
from shotwright.bench.workbook import Workbook
from shotwright.notebook.blocks import Block, Bullets, Column, Heading, Picture, Table, Words
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.drives import DrivePage
from shotwright.notebook.figures.sweep_map import MapPanel, sweep_map
from shotwright.powertrain.drive_file import DriveFile
from shotwright.powertrain.drive_loads import Load
from shotwright.powertrain.wheel_match import trace_match


def drive_pages(book: Workbook, *, progress: Progress = silent) -> tuple[DrivePage, ...]:
    """Work out every drive that the project keeps.

    Parameters
    ----------
    book : Workbook
        The loaded project.
    progress : Progress
        Told how far it is.

    Returns
    -------
    tuple of DrivePage
        A part that can't be worked out says why.
    """
    pages = []
    for i, file in enumerate(book.drives):
        pages.append(_page(file, i + 1, progress))
        progress((i + 1) / len(book.drives), "drives")
    return tuple(pages)


def _page(file: DriveFile, number: int, progress: Progress) -> DrivePage:
    table = motors(file)
    blocks, cautions = _motors(table), list(table.cautions)
    for title, wanted, part in (
        ("The match", file.wheel is not None, _match),
        ("The pick", file.wheel is not None and len(file.teeth) > 1, partial(_pick, progress=progress)),
        ("The piston", file.winding is not None, _piston),
    ):
        if not wanted:
            continue
        blocks.append(Heading(title))
        try:
            more, warnings = part(file, f"drive-{number}")
        except (BadInput, NoAnswer) as reason:
            blocks.append(Words(f"Not worked out: {reason}."))
            continue
        blocks += more
        cautions += [words for words in warnings if words not in cautions]
    return DrivePage(file.name, tuple(blocks), tuple(cautions))


def _motors(table: MotorTable) -> list[Block]:
    columns = (
        Column("motor", share=1.6),
        Column("at [°C]", True),
        Column("free [rpm]", True),
        Column("stall [N m]", True),
        Column("stall [A]", True),
        Column("power [W]", True),
    )
    rows = tuple(
        (
            row.motor,
            f"{row.temperature_c:.0f}",
            f"{row.free_speed_rpm:.0f}",
            f"{row.stall_torque_n_m:.3g}",
            f"{row.stall_current_a:.3g}",
            f"{row.peak_power_w:.3g}",
        )
        for row in table.rows
    )
    caption = "What each motor does at the battery's voltage without load, cold and warm."
    return [Heading("Motors"), Table(caption, columns, rows), Bullets(table.words)]


def _match(file: DriveFile, key: str) -> tuple[list[Block], tuple[str, ...]]:
    drive, duty = file.needed_wheel()
    found = match_heat(file)
    _, trace = trace_match(drive, duty)
    picture = Picture(
        f"{key}-match",
        f"Speed, currents and temperatures of {file.name} over the match, predicted.",
        lambda unique, width: match_drawing(file.name, drive, duty, trace, unique, width),
    )
    blocks: list[Block] = [Bullets(found.words), picture, _stops(found.stops)]
    if len(file.teeth) < 2:
        caption = f"Recovery over ratio and wheel for the motors of {file.name}, cold, predicted."
        blocks.append(Picture(f"{key}-map", caption, _map(built_panel(file))))
    return blocks, found.cautions


def _stops(rows: Sequence[StopRow]) -> Table:
    columns = (
        Column("stop", share=1.3),
        Column("winding [°C]", True),
        Column("case [°C]", True),
        Column("battery [Wh]", True),
        Column("ready after [s]", True),
        Column("gives way", share=1.8),
    )
    cells = tuple(
        (
            row.stop,
            f"{row.winding_c:.0f}",
            f"{row.case_c:.0f}",
            f"{row.from_battery_j / 3600:.2f}",
            "never" if row.ready_after_s is None else f"{row.ready_after_s:.2f}",
            row.breaks,
        )
        for row in rows
    )
    return Table("The same match with each way to stop the wheel after a burst.", columns, cells)


def _pick(file: DriveFile, key: str, progress: Progress) -> tuple[list[Block], tuple[str, ...]]:
    found = ratio_search(file, progress=progress)
    notes = [words for words in found.words if words not in file.notes]
    panel, _ = pick_panel(file, found.search)
    caption = f"Recovery over ratio and wheel for the motors of the pick of {file.name}, cold, predicted."
    blocks: list[Block] = [
        Bullets(tuple(notes)),
        _loads("How much of each limit the pick uses in its match.", found.search.loads),
        _loads(
            "The same with the battery as the match leaves it: what breaks first.", found.search.low_battery
        ),
        Picture(f"{key}-map", caption, _map(panel)),
        _front(found),
    ]
    return blocks, found.cautions


def _loads(caption: str, loads: Sequence[Load]) -> Table:
    columns = (Column("limit", share=2.0), Column("used [%]", True), Column("gives way after [s]", True))
    rows = tuple(
        (one.what, f"{100 * one.used:.0f}", "–" if one.at_s is None else f"{one.at_s:.1f}") for one in loads
    )
    return Table(caption, columns, rows)


def _front(found: RatioSearch) -> Table:
    columns = (
        Column("motor", share=1.6),
        Column("number", True),
        Column("ratio", True),
        Column("wheel [kg cm²]", True),
        Column("shots a second", True),
        Column("recovery [ms]", True),
        Column("winding [°C]", True),
    )
    rows = tuple(
        (
            one.motor,
            str(one.motors),
            f"{one.ratio:.3g}",
            f"{1e4 * one.wheel_inertia_kg_m2:.3g}",
            f"{one.shot_rate_s:.2f}",
            f"{1e3 * one.recovery_s:.0f}",
            f"{one.winding_k - 273.15:.0f}",
        )
        for one in found.search.front[:8]
    )
    return Table("Best trade-offs of shots, temperature and number of motors; the first 8.", columns, rows)


def _piston(file: DriveFile, key: str) -> tuple[list[Block], tuple[str, ...]]:
    found, wound = winding(file), file.needed_winding()
    turn = Picture(
        f"{key}-turn",
        f"Torque, current and speed of {file.name} over the last turn of the match, predicted.",
        lambda unique, width: turn_drawing(file.name, wound, found.run, unique, width),
    )
    match = Picture(
        f"{key}-wound",
        f"Temperatures of the motors of {file.name} over the match, predicted.",
        lambda unique, width: wound_drawing(file.name, wound, found.run, unique, width),
    )
    return [Bullets(found.words), turn, match, _turn(found.rows)], found.cautions


def _turn(rows: Sequence[TurnRow]) -> Table:
    columns = (
        Column("angle [°]", True),
        Column("torque [N m]", True),
        Column("shaft [rpm]", True),
        Column("motor [A]", True),
    )
    cells = tuple(
        (
            f"{row.angle_deg:.0f}",
            f"{row.torque_n_m:.3g}",
            f"{row.speed_rpm:.0f}",
            f"{row.motor_a:.1f}",
        )
        for row in rows
    )
    return Table("The last turn of the match.", columns, cells)


def _map(panel: MapPanel) -> Callable[[str, float], Drawing]:
    return lambda key, width: sweep_map(panel, key=key, width=width)
