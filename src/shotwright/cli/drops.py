"""The verb ``drop-test``: how a ball bounces off a surface."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.cli.shell import find_project, json_option, show, text_width
from shotwright.cli.tables import paragraphs
from shotwright.cli.wording import Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.results import DropTest

DROPS = (
    Column("drop", "dropped_m"),
    Column("rebound", "rebound_m"),
    Column("impact speed", "impact_speed_m_s"),
    Column("restitution", "restitution"),
    Column("without air", "restitution_without_air"),
)
POINT = click.Choice(["bottom", "centre", "top"])


@click.command("drop-test")
@click.argument("heights", nargs=-1)
@click.option(
    "--table",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="CSV, TSV or XLSX with the columns drop and rebound, instead of HEIGHTS.",
)
@click.option(
    "--drop-point", type=POINT, default="bottom", show_default=True, help="Point of the ball measured before."
)
@click.option(
    "--rebound-point",
    type=POINT,
    default="bottom",
    show_default=True,
    help="Point of the ball measured after.",
)
@click.option("--height-sd", metavar="LENGTH", help="How well one height is read; needed for a single drop.")
@click.option("--diameter", metavar="LENGTH", help="Of the ball; that of the project's ball when left out.")
@click.option("--mass", metavar="MASS", help="Of the ball; that of the project's ball when left out.")
@click.option("--drag", metavar="LAW", help="Drag coefficient as a number, or a law by name.")
@click.option(
    "--project",
    metavar="FILE",
    envvar="SHOTWRIGHT_PROJECT",
    type=click.Path(path_type=Path),
    help="Project whose game gives ball and air; without it and without a ball air is left out.",
)
@json_option
def drop_test(
    heights: tuple[str, ...],
    table: Path | None,
    drop_point: str,
    rebound_point: str,
    height_sd: str | None,
    diameter: str | None,
    mass: str | None,
    drag: str | None,
    project: Path | None,
    as_json: bool,
) -> None:
    """Turn drop and rebound HEIGHTS into a coefficient of restitution with its interval.

    HEIGHTS are typed in pairs: drop, rebound, drop, rebound, ...
    """
    from shotwright.bench.drops import drop_test as measure

    found = measure(
        heights,
        table=table,
        drop_point=drop_point,
        rebound_point=rebound_point,
        height_sd=height_sd,
        diameter=diameter,
        mass=mass,
        drag=drag,
        project=find_project(project) if project is not None else None,
    )
    show(found, as_json, drop_words)


def drop_words(found: DropTest) -> str:
    """Write the coefficient in sentences, the drops as a table, and the line for the game file."""
    line = f"For the game file: restitution = {found.mean:.3f}"
    return blocks(paragraphs(found.words, text_width()), table_of(found.drops, DROPS), line)
