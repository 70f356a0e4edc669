"""The verb ``log``: add shots, list them, set one aside, take it back."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.cli.shell import json_option, project_option, show, text_width
from shotwright.cli.tables import paragraphs
from shotwright.cli.wording import Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.results import ShotList

SHOT = (
    Column("trial", "trial"),
    Column("shot", "order"),
    Column("ball", "ball"),
    Column("along", "along", ("m", 1.0)),
    Column("cross", "cross", ("m", 1.0)),
    Column("height", "height", ("m", 1.0)),
    Column("speed", "speed", ("m/s", 1.0)),
    Column("elevation", "elevation", ("°", math.degrees(1.0))),
    Column("spin", "spin", ("rev/s", 1 / (2 * math.pi))),
    Column("scored", "hit"),
    Column("set aside", "set_aside"),
    Column("remark", "remark"),
)


@click.group()
def log() -> None:
    """Add shots, list them, set one aside, take it back. A shot is never deleted."""


@log.command("add")
@click.argument("trial")
@click.option("--along", metavar="LENGTH", help="Mark, away from the launcher, from under the release point.")
@click.option("--cross", metavar="LENGTH", help="Mark, left of the aim line; negative to the right.")
@click.option("--height", metavar="LENGTH", help="Mark on an upright plane, over the floor.")
@click.option("--ball", metavar="NAME", help="Which ball.")
@click.option(
    "--order", type=click.IntRange(min=1), metavar="NUMBER", help="Its number; the next by default."
)
@click.option("--speed", metavar="SPEED", help="Measured launch speed.")
@click.option("--elevation", metavar="ANGLE", help="Measured launch elevation, above horizontal.")
@click.option("--spin", metavar="SPIN", help="Measured spin; backspin positive.")
@click.option("--hit/--miss", default=None, help="Whether it scored, when fired at the real target.")
@click.option("--remark", default="", metavar="TEXT", help="Anything.")
@project_option
@json_option
def add(
    project: Path,
    trial: str,
    along: str | None,
    cross: str | None,
    height: str | None,
    ball: str | None,
    order: int | None,
    speed: str | None,
    elevation: str | None,
    spin: str | None,
    hit: bool | None,
    remark: str,
    as_json: bool,
) -> None:
    """Add one shot to TRIAL, its marks with their units: --along "4.2 m" --cross "-3 cm"."""
    from shotwright.bench.shots import add_shot

    added = add_shot(
        project,
        trial,
        order=order,
        ball=ball,
        along=along,
        cross=cross,
        height=height,
        speed=speed,
        elevation=elevation,
        spin=spin,
        hit=hit,
        remark=remark,
    )
    show(added, as_json, shot_words)


@log.command("list")
@click.argument("trial", required=False)
@project_option
@json_option
def list_(project: Path, trial: str | None, as_json: bool) -> None:
    """List the shots of TRIAL, or of all trials, those set aside included."""
    from shotwright.bench.shots import list_shots

    show(list_shots(project, trial), as_json, shot_words)


@log.command("set-aside")
@click.argument("trial")
@click.argument("order", type=click.IntRange(min=1))
@click.option(
    "--reason", required=True, metavar="TEXT", help="Why it doesn't count; printed wherever it matters."
)
@project_option
@json_option
def set_aside_(project: Path, trial: str, order: int, reason: str, as_json: bool) -> None:
    """Leave shot number ORDER of TRIAL out of every figure, for a reason. It stays in the file."""
    from shotwright.bench.shots import set_aside

    show(set_aside(project, trial, order, reason), as_json, shot_words)


@log.command("take-back")
@click.argument("trial")
@click.argument("order", type=click.IntRange(min=1))
@project_option
@json_option
def take_back_(project: Path, trial: str, order: int, as_json: bool) -> None:
    """Let shot number ORDER of TRIAL count again."""
    from shotwright.bench.shots import take_back

    show(take_back(project, trial, order), as_json, shot_words)


def shot_words(found: ShotList) -> str:
    """Write shots as a table."""
    return blocks(paragraphs(found.words, text_width()), table_of(found.shots, SHOT))
