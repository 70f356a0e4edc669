"""The verb ``moving-shot``: aim from a robot that drives and turns."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from shotwright.cli.evidence import DEFENDED, SEED
from shotwright.cli.projects import PATH
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import CHANCE, Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.moving_records import MovingShotResult

SETTINGS = (
    Column("setting", "kind"),
    Column("speed", "speed_m_s"),
    Column("elevation", "elevation_deg"),
    Column("lead, left +", "lead_deg"),
    Column("time", "flight_time_s"),
    Column("entry", "entry_angle_deg"),
    Column("hit probability", "hit_probability", CHANCE),
)
FALLS = (
    Column("error of the robot's speed", "velocity_error_m_s"),
    Column("hit probability", "hit_probability", CHANCE),
)
SOURCES = (Column("the scatter comes from", "source"), Column("share", "share", CHANCE))


@click.command("moving-shot")
@click.option("--position", metavar="NAME", help="Firing position: where the ball leaves.")
@click.option("--target", metavar="NAME", help="Target; may be left out where there is one.")
@click.option("--prototype", metavar="NAME", help="Prototype; may be left out where there is one.")
@click.option("--toward", metavar="SPEED", help="Robot's speed towards the target; away is negative.")
@click.option("--left", metavar="SPEED", help="Robot's speed to the left of that line; right is negative.")
@click.option("--turn-rate", metavar="RATE", help="Turning to the left, e.g. '90 deg/s'.")
@click.option(
    "--offset-toward", metavar="LENGTH", help="Release point from the turning centre, towards the target."
)
@click.option("--offset-left", metavar="LENGTH", help="The same, to the left.")
@click.option("--speed", metavar="SPEED", help="Hold this launch speed; elevation and azimuth are sought.")
@click.option("--elevation", metavar="ANGLE", help="Hold this elevation; speed and azimuth are sought.")
@click.option("--speed-error", metavar="SPEED", help="Standard deviation of what is not known of the speed.")
@click.option("--turn-error", metavar="RATE", help="The same of the turn rate.")
@click.option("--delay", metavar="TIME", help="Mean time from command to release.")
@click.option("--delay-error", metavar="TIME", help="Its standard deviation.")
@click.option(
    "--ball-turns/--ball-rolls-free",
    default=True,
    help="Whether the ball turns with the robot until it leaves (it does when left out).",
)
@click.option("--svg", type=PATH, metavar="FILE", help="Draw the aim against the robot's speed.")
@DEFENDED
@SEED
@project_option
@json_option
def moving_shot(
    project: Path,
    ball_turns: bool,
    svg: Path | None,
    defended: bool,
    seed: int,
    as_json: bool,
    **typed: str | None,
) -> None:
    """Aim from a robot that drives and turns, and see what errors of the motion cost."""
    from shotwright.bench.moving import moving_shot as find

    given: dict[str, Any] = {name: text for name, text in typed.items() if text is not None}
    with progress_bar("shot on the move") as progress:
        found = find(
            project,
            ball_turns=ball_turns,
            svg=svg,
            defended=defended,
            seed=seed,
            progress=progress,
            **given,
        )
    show(found, as_json, moving_text)


def moving_text(found: MovingShotResult) -> str:
    """Write the sentences, then settings, falling chances and sources as tables."""
    rows = [found.standing, *(one for one in found.settings if one.usable)]
    return blocks(
        paragraphs(found.words, text_width()),
        section("Settings, relative to the robot", table_of(rows, SETTINGS)),
        table_of(found.falls, FALLS),
        table_of([one for one in found.sources if one.share >= 0.005], SOURCES),
    )
