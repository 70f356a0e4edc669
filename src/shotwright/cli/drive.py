"""Verbs about what drives a launcher: ``motor``, ``ratio``, ``heat``, ``winding``."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from shotwright.cli.shell import find_project, json_option, progress_bar, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.drive_results import MatchHeat, MotorTable, NearestTrains, RatioSearch
    from shotwright.bench.drives import DriveFile
    from shotwright.bench.winding import WindingTable

Function = TypeVar("Function", bound=Callable[..., Any])
MOTORS = (
    Column("motor", "motor"),
    Column("at", "temperature_c", ("°C", 1.0)),
    Column("volts", "voltage_v", ("V", 1.0)),
    Column("free", "free_speed_rpm", ("rpm", 1.0)),
    Column("stall", "stall_torque_n_m", ("N m", 1.0)),
    Column("stall", "stall_current_a", ("A", 1.0)),
    Column("power", "peak_power_w", ("W", 1.0)),
    Column("best efficiency", "best_efficiency", ("%", 100.0)),
    Column("at", "best_current_a", ("A", 1.0)),
)
FRONT = (
    Column("motor", "motor"),
    Column("number", "motors"),
    Column("ratio", "ratio"),
    Column("wheel", "wheel_inertia_kg_m2", ("kg cm²", 1e4)),
    Column("shots", "shot_rate_s", ("1/s", 1.0)),
    Column("recovery", "recovery_s"),
    Column("winding", "winding_c", ("°C", 1.0)),
    Column("motor", "motor_a", ("A", 1.0)),
    Column("least", "lowest_v", ("V", 1.0)),
)
LOADS = (
    Column("limit", "what"),
    Column("used", "used", ("%", 100.0)),
    Column("gives way at", "at_s"),
)
TRAINS = (
    Column("gears", "gears"),
    Column("ratio", "ratio"),
    Column("error", "error", ("%", 100.0)),
    Column("stages", "stages"),
    Column("teeth in all", "size"),
)
STOPS = (
    Column("stop", "stop"),
    Column("winding", "winding_c", ("°C", 1.0)),
    Column("case", "case_c", ("°C", 1.0)),
    Column("from battery", "from_battery_j"),
    Column("stands after", "at_rest_after_s"),
    Column("ready after", "ready_after_s"),
    Column("gives way", "breaks"),
)
BURSTS = (
    Column("burst at", "start_s"),
    Column("ready after", "ready_after_s"),
    Column("fired", "fired"),
    Column("last shot after", "last_shot_after_s"),
    Column("recovery", "worst_recovery_s"),
    Column("stands after", "at_rest_after_s"),
    Column("heat a motor", "winding_heat_j"),
)
WOUND = (
    Column("burst at", "start_s"),
    Column("first shot after", "ready_after_s"),
    Column("fired", "fired"),
    Column("last shot after", "last_shot_after_s"),
    Column("winding", "winding_c", ("°C", 1.0)),
)
TURN = (
    Column("angle", "angle_deg", ("°", 1.0)),
    Column("torque", "torque_n_m", ("N m", 1.0)),
    Column("shaft", "speed_rpm", ("rpm", 1.0)),
    Column("motor", "motor_a", ("A", 1.0)),
)


def drive_options(command: Function) -> Function:
    """Give a command FILE, ``--project`` and ``--drive``: a drive file, or one that a project keeps."""
    command = click.argument("drive", metavar="[FILE]", type=click.Path(path_type=Path), required=False)(
        command
    )
    command = click.option(
        "--project",
        metavar="FILE",
        envvar="SHOTWRIGHT_PROJECT",
        type=click.Path(path_type=Path),
        help="Project that keeps the drive; the only one in this folder when no FILE is named.",
    )(command)
    return click.option("--drive", "named", default="", metavar="NAME", help="Which drive of the project.")(
        command
    )


LAUNCHER = click.option(
    "--launcher",
    metavar="NAME",
    help="Set point and jolt of a shot from this prototype of the project, on paper.",
)


def chosen(drive: Path | None, project: Path | None, named: str, launcher: str | None = None) -> DriveFile:
    """Return the drive of the file, or of the project; with the shot of a prototype when one is named."""
    from shotwright.bench.drives import find_drive

    if launcher is not None:
        from shotwright.bench.launcher_jolt import jolt_of, with_jolt
        from shotwright.bench.workbook import read_workbook

        file = chosen(drive, project, named)
        return with_jolt(file, jolt_of(read_workbook(find_project(project)), launcher))

    if drive is not None and named:
        raise click.UsageError("--drive names a drive of a project; leave it out, or FILE")
    return find_drive(drive, None if drive is not None else find_project(project), named)


@click.command()
@drive_options
@click.option("--voltage", metavar="VOLTAGE", help="At the terminals; the battery's, or 12 V, when left out.")
@click.option(
    "--warm", default="80 degC", show_default=True, metavar="TEMPERATURE", help="Compared with 20 °C."
)
@click.option(
    "--reading",
    "readings",
    multiple=True,
    metavar="TEXT",
    help="Of your own motor: '12 V, 25 A, 14300 rpm, 0.138 N m'; repeat it, at different loads.",
)
@json_option
def motor(
    drive: Path | None,
    project: Path | None,
    named: str,
    voltage: str | None,
    warm: str,
    readings: tuple[str, ...],
    as_json: bool,
) -> None:
    """Show what the motors of a drive do, cold and warm; the generic classes when none is named.

    Readings of speed, current and torque in the file are fitted, with their interval.
    """
    from shotwright.bench.drives import motors

    if readings and (drive is not None or named):
        raise click.UsageError("--reading stands alone; leave FILE and --drive out")
    nothing = bool(readings) or (drive is None and project is None and not named)
    file = None if nothing else chosen(drive, project, named)
    show(motors(file, voltage=voltage, warm=warm, readings=readings), as_json, motor_words)


def motor_words(found: MotorTable) -> str:
    """Write the table, the fits and the cautions."""
    return blocks(
        table_of(found.rows, MOTORS),
        paragraphs(found.words, text_width()),
        paragraphs([f"Caution: {words}" for words in found.cautions], text_width()),
    )


@click.command()
@drive_options
@LAUNCHER
@click.option("--wanted", type=float, metavar="RATIO", help="Only list the trains of --teeth nearest to it.")
@click.option("--teeth", metavar="NUMBERS", help="Tooth counts that you own: 12,18,24,36.")
@click.option(
    "--stages", type=click.IntRange(1, 3), default=2, show_default=True, help="Most stages, with --wanted."
)
@click.option(
    "--svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the map of recovery times."
)
@click.option("--workers", type=click.IntRange(min=1), metavar="NUMBER", help="Threads; one a core.")
@json_option
def ratio(
    drive: Path | None,
    project: Path | None,
    named: str,
    launcher: str | None,
    wanted: float | None,
    teeth: str | None,
    stages: int,
    svg: Path | None,
    workers: int | None,
    as_json: bool,
) -> None:
    """Search motor, number, buildable ratio and wheel for the match of a drive; follows the match of each.

    With --wanted and --teeth: the trains that these gears make nearest to a ratio.
    """
    from shotwright.bench.drives import nearest, ratio_search
    from shotwright.bench.pictures import write_picture

    if wanted is not None:
        if teeth is None:
            raise click.UsageError("--wanted needs --teeth, e.g. --teeth 12,18,24,36")
        try:
            owned = tuple(int(one) for one in teeth.replace(" ", ",").split(",") if one)
        except ValueError:
            raise click.UsageError(f"--teeth {teeth!r}: type whole numbers, e.g. 12,18,24,36") from None
        show(nearest(wanted, owned, stages=stages), as_json, nearest_words)
        return
    file = chosen(drive, project, named, launcher)
    with progress_bar("searching drives") as progress:
        found = ratio_search(file, workers=workers, progress=progress)
    if svg is not None:
        write_picture(found.svg, svg)
    show(found, as_json, ratio_words)
    if svg is not None and not as_json:
        click.echo(f"\nWrote {svg}.")


class _Row:
    """A record with fields of its own beside those of another."""

    def __init__(self, record: object, **more: object) -> None:
        self._record = record
        self.__dict__.update(more)

    def __getattr__(self, name: str) -> object:
        return getattr(self._record, name)


def nearest_words(found: NearestTrains) -> str:
    """Write the trains as a table."""
    rows = [_Row(one, gears=", ".join(f"{a}:{b}" for a, b in one.pairs)) for one in found.trains]
    return blocks(paragraphs(found.words, text_width()), table_of(rows, TRAINS))


def ratio_words(found: RatioSearch) -> str:
    """Write the pick, the front, and how much of each limit is used."""
    rows = [_Row(one, winding_c=one.winding_k - 273.15) for one in found.search.front[:12]]
    level = 100 * found.search.low_level
    return blocks(
        paragraphs(found.words, text_width()),
        section(f"Best trade-offs ({len(found.search.front)}), PREDICTED", table_of(rows, FRONT)),
        section("How much of each limit the pick uses", table_of(found.search.loads, LOADS)),
        section(f"The same with the battery at {level:.0f} %", table_of(found.search.low_battery, LOADS)),
        paragraphs([f"Caution: {words}" for words in found.cautions], text_width()),
    )


@click.command()
@drive_options
@LAUNCHER
@click.option(
    "--stop",
    type=click.Choice(["keep running", "brake", "coast", "clutch"]),
    help="How the wheel stops after a burst; as the file says when left out.",
)
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the match as a picture.")
@json_option
def heat(
    drive: Path | None,
    project: Path | None,
    named: str,
    launcher: str | None,
    stop: str | None,
    svg: Path | None,
    as_json: bool,
) -> None:
    """Follow the match of a drive: speed, currents, energy, temperatures, and what each way to stop costs."""
    from shotwright.bench.match_heat import match_heat
    from shotwright.bench.pictures import write_picture

    file = chosen(drive, project, named, launcher)
    with progress_bar("following the match") as progress:
        found = match_heat(file, stop=stop, progress=progress)
    if svg is not None:
        write_picture(found.svg, svg)
    show(found, as_json, heat_words)
    if svg is not None and not as_json:
        click.echo(f"\nWrote {svg}.")


def heat_words(found: MatchHeat) -> str:
    """Write the match, its bursts, and the ways to stop."""
    return blocks(
        paragraphs(found.words, text_width()),
        section("The same match with each way to stop, PREDICTED", table_of(found.stops, STOPS)),
        section("Bursts", table_of(found.run.bursts, BURSTS)),
        paragraphs([f"Caution: {words}" for words in found.cautions], text_width()),
    )


@click.command()
@drive_options
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the turn as a picture.")
@click.option(
    "--match-svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the match as a picture."
)
@click.option("--part", metavar="NAME", help="Torque over a turn from this part of the project, as drawn.")
@json_option
def winding(
    drive: Path | None,
    project: Path | None,
    named: str,
    part: str | None,
    svg: Path | None,
    match_svg: Path | None,
    as_json: bool,
) -> None:
    """Wind a piston by a cam or a spiral gear: torque over a turn, current, shots a minute, heat."""
    from shotwright.bench.pictures import write_picture
    from shotwright.bench.winding import winding as wind

    file = chosen(drive, project, named)
    if part is not None:
        from shotwright.bench.part_turn import with_turn

        file = with_turn(file, find_project(project), part)
    found = wind(file)
    pictures = [(path, text) for path, text in ((svg, found.turn_svg), (match_svg, found.match_svg)) if path]
    for path, text in pictures:
        write_picture(text, path)
    show(found, as_json, winding_words)
    if not as_json:
        for path, _ in pictures:
            click.echo(f"\nWrote {path}.")


def winding_words(found: WindingTable) -> str:
    """Write the sentences, the last turn, and the bursts."""
    bursts = [
        _Row(one, winding_c=None if one.winding_k is None else one.winding_k - 273.15)
        for one in found.run.run.bursts
    ]
    return blocks(
        paragraphs(found.words, text_width()),
        section("The last turn, PREDICTED", table_of(found.rows, TURN)),
        section("Bursts", table_of(bursts, WOUND)),
        paragraphs([f"Caution: {words}" for words in found.cautions], text_width()),
    )
