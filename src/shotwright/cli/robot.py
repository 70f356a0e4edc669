"""Verbs about the robot around the launcher: ``drive-base``, ``tilt``, ``feed``, ``brake``, ``power``."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from shotwright.cli.evidence import SEED
from shotwright.cli.shell import HasDict, find_project, json_option, progress_bar, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import CHANCE, Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.robot_results import (
        BrakeResult,
        DriveBaseResult,
        FeedResult,
        PowerResult,
        TiltResult,
    )
    from shotwright.bench.robots import FoundRobot

Function = TypeVar("Function", bound=Callable[..., Any])
NEWTON = ("N", 1.0)
AMPERE = ("A", 1.0)
SPRINTS = (
    Column("sprint", "distance_m"),
    Column("times", "times"),
    Column("takes", "time_s"),
    Column("end speed", "end_speed_m_s"),
    Column("with sag", "followed_s"),
    Column("full voltage", "full_voltage_s"),
    Column("battery", "peak_a", AMPERE),
    Column("least", "lowest_v", ("V", 1.0)),
    Column("energy", "energy_j"),
)
RATIOS = (
    Column("", "what"),
    Column("ratio", "ratio"),
    Column("top speed", "top_speed_m_s"),
    Column("all sprints", "sprint_s"),
    Column("push", "push_force_n", NEWTON),
    Column("limited by", "limited_by"),
    Column("held of wanted", "hold_s"),
    Column("lost", "lost_s"),
    Column("motor", "motor_a", AMPERE),
)
HOLDS = (
    Column("elevation", "elevation_deg"),
    Column("weight", "torque_n_m", ("N m", 1.0)),
    Column("worm, raising", "raising_n_m", ("N m", 1.0)),
    Column("lowering", "lowering_n_m", ("N m", 1.0)),
    Column("motor", "motor_a", AMPERE),
)
SLEWS = (
    Column("from", "from_deg"),
    Column("to", "to_deg"),
    Column("takes", "time_s"),
    Column("rate", "rate_deg_s", ("°/s", 1.0)),
    Column("motor", "motor_a", AMPERE),
)
ELEVATIONS = (
    Column("position", "position"),
    Column("target", "target"),
    Column("elevation", "elevation_deg"),
    Column("speed", "speed_m_s"),
    Column("hits", "probability", CHANCE),
    Column("given away", "loss", CHANCE),
)
BORES = (
    Column("bore", "bore_mm"),
    Column("on the pads", "force_n", NEWTON),
    Column("held", "held_n", NEWTON),
    Column("holds", "holds"),
    Column("lifts the robot", "lifts"),
    Column("strokes of a fill", "strokes"),
)
CONSUMERS = (
    Column("load", "name"),
    Column("motors", "motors"),
    Column("times", "times"),
    Column("energy", "energy_j"),
    Column("waited", "waited"),
    Column("at most", "longest_wait_s"),
    Column("without room", "forced"),
)


def robot_options(command: Function) -> Function:
    """Give a command FILE, ``--project``, ``--picture`` and ``--json``."""
    command = click.argument("robot", metavar="[FILE]", type=click.Path(path_type=Path), required=False)(
        command
    )
    command = click.option(
        "--project",
        metavar="FILE",
        envvar="SHOTWRIGHT_PROJECT",
        type=click.Path(path_type=Path),
        help="Project that keeps the robot, with game and trials; the only one in this folder when left out.",
    )(command)
    command = click.option(
        "--picture", type=click.Path(path_type=Path), metavar="FILE", help="Write the picture, as SVG."
    )(command)
    return json_option(command)


def chosen(robot: Path | None, project: Path | None) -> FoundRobot:
    """Return the robot of the file, or of the project; a file may stand without a project."""
    from shotwright.base.errors import BadInput
    from shotwright.bench.robots import find_robot

    try:
        known: Path | None = find_project(project)
    except BadInput:
        if robot is None or project is not None:
            raise
        known = None
    return find_robot(robot, known)


def _tell(found: Any, picture: Path | None, as_json: bool, words: Callable[[Any], str]) -> None:
    """Write the picture where one is wanted, and show the result."""
    from shotwright.bench.pictures import write_picture

    result: HasDict = found
    if picture is not None:
        write_picture(found.svg, picture)
    show(result, as_json, words)
    if picture is not None and not as_json:
        click.echo(f"\nWrote {picture}.")


def _all(found: Any, *parts: str) -> str:
    width = text_width()
    return blocks(
        paragraphs([f"{found.name}, PREDICTED.", *found.words], width),
        *parts,
        paragraphs([f"Caution: {words}" for words in found.cautions], width),
    )


@click.command("drive-base")
@robot_options
def drive_base(robot: Path | None, project: Path | None, picture: Path | None, as_json: bool) -> None:
    """Sprints, pushing force and how long it holds, turning, and the ratio for the crew's mix of both."""
    from shotwright.bench.robots import drive_base as work_out

    with progress_bar("trying ratios") as progress:
        found = work_out(chosen(robot, project), progress=progress)
    _tell(found, picture, as_json, drive_base_words)


class _Named:
    """A row with a word in front."""

    def __init__(self, record: object, what: str) -> None:
        self._record = record
        self.what = what

    def __getattr__(self, name: str) -> object:
        return getattr(self._record, name)


def drive_base_words(found: DriveBaseResult) -> str:
    """Write sprints and ratios."""
    built = min(found.map.rows, key=lambda row: abs(row.ratio - found.ratio))
    rows = [
        _Named(built, "as built"),
        _Named(found.map.pick, "the pick"),
        _Named(found.map.fastest, "fastest"),
        _Named(found.map.strongest, "strongest"),
    ]
    return _all(
        found,
        section("Sprints", table_of(found.sprints, SPRINTS)),
        section("Ratios", table_of(rows, RATIOS)),
    )


@click.command()
@click.option("--hits/--no-hits", default=True, help="Carry backlash and pins into hits, or leave that out.")
@SEED
@robot_options
def tilt(
    robot: Path | None, project: Path | None, picture: Path | None, as_json: bool, hits: bool, seed: int
) -> None:
    """Worm, weight and slews of the tilt, and what backlash, pins or one elevation cost in hits."""
    from shotwright.bench.robot_tilt import tilt as work_out

    with progress_bar("carrying backlash into hits") as progress:
        found = work_out(chosen(robot, project), hits=hits, seed=seed, progress=progress)
    _tell(found, picture, as_json, tilt_words)


def tilt_words(found: TiltResult) -> str:
    """Write holding, slews and the ways to tilt."""
    ways = found.ways if isinstance(found.ways, tuple) else ()
    return _all(
        found,
        section("Weight at the elevations that are needed", table_of(found.holds, HOLDS)),
        section("Slews between them", table_of(found.slews, SLEWS)),
        *(section(f"Hits: {way.name}", table_of(way.rows, ELEVATIONS)) for way in ways),
    )


@click.command()
@robot_options
def feed(robot: Path | None, project: Path | None, picture: Path | None, as_json: bool) -> None:
    """Interval, capacity and rates of the feed, traction on the ball, and how far it is from jamming."""
    from shotwright.bench.robot_feed import feed as work_out

    _tell(work_out(chosen(robot, project)), picture, as_json, feed_words)


def feed_words(found: FeedResult) -> str:
    """Write the sentences."""
    return _all(found)


@click.command()
@robot_options
def brake(robot: Path | None, project: Path | None, picture: Path | None, as_json: bool) -> None:
    """Force held against a pushing opponent, bores, strokes of a fill and actuations, and stored energy."""
    from shotwright.bench.robot_brake import brake as work_out

    _tell(work_out(chosen(robot, project)), picture, as_json, brake_words)


def brake_words(found: BrakeResult) -> str:
    """Write the bores."""
    return _all(found, section("Bores of the standard series", table_of(found.bores, BORES)))


@click.command()
@robot_options
def power(robot: Path | None, project: Path | None, picture: Path | None, as_json: bool) -> None:
    """Everything that runs at once over a match: current, sag, breaker, energy, motors, and who must wait."""
    from shotwright.bench.robot_power import power as work_out

    with progress_bar("following the match") as progress:
        found = work_out(chosen(robot, project), progress=progress)
    _tell(found, picture, as_json, power_words)


def power_words(found: PowerResult) -> str:
    """Write who took what."""
    return _all(found, section("Loads, with waiting", table_of(found.waiting.rows, CONSUMERS)))
