"""The verb ``shot-table``: what to set at which distance."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.cli.evidence import SEED
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import CHANCE, Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.results import ShotTable

PLAIN = ("", 1.0)
MEASURED = (
    Column("trial", "trial"),
    Column("origin", "origin"),
    Column("set to", "setting", PLAIN),
    Column("mean speed", "speed_m_s"),
)
CHANGES = (
    Column("distance", "distance_m"),
    Column("setting", "setting", PLAIN),
    Column("speed", "speed_m_s"),
    Column("elevation", "elevation_deg"),
    Column("hits", "hit", ("points", 100.0)),
)


@click.command("shot-table")
@click.argument("prototype", required=False)
@click.option("--target", metavar="NAME", help="The opening; the first of the game when left out.")
@click.option(
    "--position", metavar="NAME", help="The line runs through it, with its spread; the first when left out."
)
@click.option("--distances", metavar="RANGE", help="'1.5 m .. 5 m'; around the position's when left out.")
@click.option("--step", metavar="LENGTH", help="Between rows; about a dozen rows when left out.")
@click.option("--elevation", metavar="ANGLE", help="One elevation for all rows; chosen when left out.")
@click.option(
    "--level",
    metavar="CHANCE",
    help="Hit probability that the notches must keep; ten points below the least.",
)
@click.option(
    "--setting", metavar="NAME", help="What is set for the speed, as the launcher file names it, or 'speed'."
)
@click.option("--keep", is_flag=True, help="Keep it in the project: the next table says what changed.")
@click.option("--csv", type=click.Path(path_type=Path), metavar="FILE", help="Write it for a spreadsheet.")
@click.option("--header", type=click.Path(path_type=Path), metavar="FILE", help="Write it as a C header.")
@click.option(
    "--card", type=click.Path(path_type=Path), metavar="FILE", help="Write the drivers' card, A5, as PDF."
)
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Write an SVG picture.")
@SEED
@project_option
@json_option
def shot_table(
    project: Path,
    prototype: str | None,
    target: str | None,
    position: str | None,
    distances: str | None,
    step: str | None,
    elevation: str | None,
    level: str | None,
    setting: str | None,
    keep: bool,
    csv: Path | None,
    header: Path | None,
    card: Path | None,
    picture: Path | None,
    seed: int,
    as_json: bool,
) -> None:
    """Tell what to set at which distance for PROTOTYPE, and what it hits there.

    From its trials; the setting comes from its launcher file, calibrated by them, from trials at several
    settings, or is the launch speed itself. PROTOTYPE is the chosen one when left out.
    """
    from shotwright.bench.shot_table_files import write_shot_table
    from shotwright.bench.shot_tables import shot_table as build

    with progress_bar("building the table") as progress:
        found = build(
            project,
            prototype,
            target=target,
            position=position,
            distances=distances,
            step=step,
            elevation=elevation,
            level=level,
            setting=setting,
            keep=keep,
            seed=seed,
            progress=progress,
        )
    written = write_shot_table(found, csv=csv, header=header, picture=picture, card=card)
    show(found, as_json, table_words)
    if not as_json:
        if keep:
            click.echo("\nKept in the project.")
        if written:
            click.echo(f"\nWrote {', '.join(written)}.")


def table_words(found: ShotTable) -> str:
    """Write the sentences, the rows, the notches, the trials and what changed."""
    unit = (found.setting_unit, 1.0)
    rows = (
        Column("distance", "distance_m"),
        Column(found.setting_name, "setting", unit),
        Column("elevation", "elevation_deg"),
        Column("launch speed", "speed_m_s"),
        Column("hits", "hit", CHANCE),
    )
    notches = (
        Column(found.setting_name, "setting", unit),
        Column("elevation", "elevation_deg"),
        Column("from", "from_m"),
        Column("to", "to_m"),
        Column("hits at least", "least_hit", CHANCE),
    )
    return blocks(
        paragraphs(found.words, text_width()),
        section("Shot table, PREDICTED", table_of(found.rows, rows)),
        section(f"Fewest notches that keep {100 * found.level:.0f} %", table_of(found.notches, notches))
        if found.notches
        else "",
        section("Mean launch speeds of the trials", table_of(found.measured, MEASURED))
        if found.measured
        else "",
        section("Changed since the table kept before", table_of(found.changes, CHANGES))
        if found.changes
        else "",
    )
