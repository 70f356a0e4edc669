"""The verb ``map``: hit probability over the floor."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.cli.evidence import DEFENDED, SCHEDULER, SEED, WORKERS
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import CHANCE, Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.floor_result import FloorMap

PLACES = (
    Column("place", "name"),
    Column("x", "x_m"),
    Column("y", "y_m"),
    Column("hits", "hit_probability", CHANCE),
    Column("at least", "low", CHANCE),
    Column("at most", "high", CHANCE),
    Column("speed", "speed_m_s"),
    Column("elevation", "elevation_deg"),
    Column("azimuth", "azimuth_deg"),
    Column("or why not", "reason"),
)


@click.command("map")
@click.argument("prototype", required=False)
@click.option("--target", metavar="NAME", help="The opening; the first of the game when left out.")
@click.option(
    "--placed-as",
    metavar="POSITION",
    help="Firing position whose placement spread holds everywhere; the first when left out.",
)
@click.option("--x", metavar="RANGE", help="Part of the floor: '0 m .. 8 m'; all when left out.")
@click.option("--y", metavar="RANGE", help="Likewise.")
@click.option("--step", default="5 cm", show_default=True, metavar="LENGTH", help="Between places.")
@click.option(
    "--draws",
    type=click.IntRange(20, 100_000),
    default=1000,
    show_default=True,
    metavar="NUMBER",
    help="Draws of the launch spread at each place.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the map as an SVG picture; a coarse one is there within seconds.",
)
@DEFENDED
@SEED
@WORKERS
@SCHEDULER
@project_option
@json_option
def floor(
    project: Path,
    prototype: str | None,
    target: str | None,
    placed_as: str | None,
    x: str | None,
    y: str | None,
    step: str,
    draws: int,
    out: Path | None,
    defended: bool,
    seed: int,
    workers: int | None,
    scheduler: str | None,
    as_json: bool,
) -> None:
    """Map the hit probability of PROTOTYPE over the floor, with the best setting at each place.

    From its trials, in still air. Ctrl-C stops it; a coarse picture written by then stays.
    """
    from shotwright.bench.floor_maps import floor_map
    from shotwright.bench.floor_result import write_floor_map

    with progress_bar("mapping") as progress:
        found = floor_map(
            project,
            prototype,
            target=target,
            placed_as=placed_as,
            x=x,
            y=y,
            step=step,
            draws=draws,
            defended=defended,
            seed=seed,
            workers=workers,
            scheduler=scheduler,
            progress=progress,
            shown=None if out is None else lambda coarse: write_floor_map(coarse, out),
        )
    if out is not None:
        write_floor_map(found, out)
    show(found, as_json, map_words)


def map_words(found: FloorMap) -> str:
    """Write the sentences, the best places and the firing positions."""
    return blocks(
        paragraphs(found.words, text_width()),
        section("Best places", table_of(found.best, PLACES)) if found.best else "",
        section("Firing positions", table_of(found.positions, PLACES)) if found.positions else "",
    )
