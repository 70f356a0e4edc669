"""The verb ``settings``: hit probability over a grid of settings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from shotwright.cli.evidence import DEFENDED, PROTOTYPES, SCHEDULER, SEED, WORKERS
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import CHANCE, Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.setting_table import SettingGrid, SettingTable

BEST = (
    Column("from", "position"),
    Column("at", "target"),
    Column("prototype", "prototype"),
    Column("best speed", "best_speed_m_s"),
    Column("elevation", "best_elevation_deg"),
    Column("hits", "best_hit_probability", CHANCE),
    Column("nearly as good", "nearly"),
)
SHARED = (
    Column("prototype", "prototype"),
    Column("speed", "speed_m_s"),
    Column("elevation", "elevation_deg"),
    Column("worst", "worst", CHANCE),
    Column("worst at", "worst_at"),
    Column("mean", "mean", CHANCE),
)


@click.command()
@PROTOTYPES
@click.option("--position", metavar="NAME", help="One firing position; all when left out.")
@click.option("--target", metavar="NAME", help="One target; all when left out.")
@click.option("--slowest", metavar="SPEED", help="Slowest speed; the prototype's when left out.")
@click.option("--fastest", metavar="SPEED", help="Fastest speed; the prototype's when left out.")
@click.option(
    "--speeds",
    type=click.IntRange(1, 1000),
    default=41,
    show_default=True,
    metavar="NUMBER",
    help="How many.",
)
@click.option(
    "--elevations",
    type=click.IntRange(1, 1000),
    default=9,
    show_default=True,
    metavar="NUMBER",
    help="How many.",
)
@click.option(
    "--draws",
    type=click.IntRange(min=1),
    default=1000,
    show_default=True,
    metavar="NUMBER",
    help="Balls at each setting.",
)
@DEFENDED
@SEED
@WORKERS
@SCHEDULER
@project_option
@json_option
def settings(
    project: Path,
    prototypes: tuple[str, ...],
    position: str | None,
    target: str | None,
    slowest: str | None,
    fastest: str | None,
    speeds: int,
    elevations: int,
    draws: int,
    defended: bool,
    seed: int,
    workers: int | None,
    scheduler: str | None,
    as_json: bool,
) -> None:
    """Hit probability of each prototype from each position at every speed and elevation of a grid.

    Shows the best setting, how exactly it must be kept, and the one setting that serves all positions.
    """
    from shotwright.bench.setting_table import setting_table

    with progress_bar("settings") as progress:
        found = setting_table(
            project,
            prototypes=prototypes,
            position=position,
            target=target,
            slowest=slowest,
            fastest=fastest,
            speeds=speeds,
            elevations=elevations,
            draws=draws,
            defended=defended,
            seed=seed,
            workers=workers,
            scheduler=scheduler,
            progress=progress,
        )
    show(found, as_json, settings_text)


class BestRow(NamedTuple):
    """One grid as a row of the table."""

    position: str
    target: str
    prototype: str
    best_speed_m_s: float | None
    best_elevation_deg: float | None
    best_hit_probability: float | None
    nearly: str


def settings_text(found: SettingTable) -> str:
    """Write the best settings, the shared ones, and what to know."""
    rows = sorted((_row(grid) for grid in found.grids), key=lambda row: row[:2])
    return blocks(
        section("Best settings", table_of(rows, BEST)),
        section("One setting for all", table_of(found.shared, SHARED)),
        paragraphs(found.words, text_width()),
    )


def _span(low: float | None, high: float | None, places: int, unit: str) -> str:
    """Write a range; one value when the next one of the grid is worse already."""
    return f"{low:.{places}f}{unit}" if low == high else f"{low:.{places}f} to {high:.{places}f}{unit}"


def _row(grid: SettingGrid) -> BestRow:
    nearly = ""
    if grid.speed_low_m_s is not None:
        nearly = _span(grid.speed_low_m_s, grid.speed_high_m_s, 2, " m/s")
        if len(grid.elevations_deg) > 1:
            nearly += ", " + _span(grid.elevation_low_deg, grid.elevation_high_deg, 1, "°")
    return BestRow(
        grid.position,
        grid.target,
        grid.prototype,
        grid.best_speed_m_s,
        grid.best_elevation_deg,
        grid.best_hit_probability,
        nearly,
    )
