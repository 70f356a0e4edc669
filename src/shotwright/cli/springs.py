"""The verb ``spring``: by dimensions, by readings, or searched in a list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.cli.shell import json_option, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.spring_results import SpringReport

CHOICES = (
    Column("spring", "name"),
    Column("side by side", "side_by_side"),
    Column("fits", "fits"),
    Column("preload", "preload_m", ("mm", 1e3)),
    Column("at front", "front_n", ("N", 1.0)),
    Column("wound", "wound_n", ("N", 1.0)),
    Column("stored", "stored_j"),
    Column("used", "used", ("%", 100.0)),
    Column("why", "reason"),
)
# Options of a spring by its dimensions: key, metavar, help.
SIZES = (
    ("wire", "LENGTH", "Wire diameter."),
    ("outside", "LENGTH", "Outside diameter of the coil or tube."),
    ("diameter", "LENGTH", "Mean coil diameter, instead of --outside."),
    ("inside", "LENGTH", "Inside diameter of a tube; 0 mm for a cord."),
    ("turns", "NUMBER", "All turns of the coil."),
    (
        "ends",
        "WORDS",
        "plain, plain ground, squared, squared ground or hooks [default: squared ground; hooks when pulled].",
    ),
    ("material", "WORDS", "Wire: music wire, stainless or phosphor bronze [default: music wire]."),
    ("free_length", "LENGTH", "Without load."),
    ("tension", "FORCE", "Force before an extension spring opens."),
    ("shear_modulus", "PRESSURE", "Of a tube's rubber [default: 0.4 MPa, typical]."),
    ("strands", "NUMBER", "Lengths of tube side by side."),
    ("preload", "LENGTH", "How far it is bent at the front stop."),
    (
        "fixity",
        "WORDS",
        (
            "How the ends of a pushed spring are held: both ends flat and guided, one end flat, one hinged, "
            "both ends hinged, one end flat, one free."
        ),
    ),
)


def _size_options(command: click.decorators.FC) -> click.decorators.FC:
    for key, metavar, words in reversed(SIZES):
        command = click.option(f"--{key.replace('_', '-')}", key, metavar=metavar, help=words)(command)
    return command


@click.command()
@click.option(
    "--kind", type=click.Choice(["compression", "extension", "tube"]), help="Pushed, pulled, or elastic tube."
)
@_size_options
@click.option("--stroke", metavar="LENGTH", help="Of the piston.")
@click.option(
    "--readings",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Force against travel as you read it: CSV with columns travel, force, way.",
)
@click.option(
    "--reading", "typed", multiple=True, metavar="PAIR", help='One reading, "20 mm, 54 N"; repeat it.'
)
@click.option("--front", metavar="LENGTH", help="Where the front stop lies in the readings' own travel.")
@click.option(
    "--at-hand",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="List of springs that you own, TOML or CSV, to be searched.",
)
@click.option("--energy", metavar="ENERGY", help="Wanted from the stroke, with --at-hand.")
@click.option(
    "--side-by-side", type=click.IntRange(1, 12), default=1, show_default=True, help="Most springs together."
)
@click.option("--most-force", metavar="FORCE", help="Largest force when wound, with --at-hand.")
@click.option("--most-preload", metavar="LENGTH", help="Largest preload, with --at-hand.")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Write the force as an SVG.")
@json_option
def spring(
    kind: str | None,
    stroke: str | None,
    readings: Path | None,
    typed: tuple[str, ...],
    front: str | None,
    at_hand: Path | None,
    energy: str | None,
    side_by_side: int,
    most_force: str | None,
    most_preload: str | None,
    picture: Path | None,
    as_json: bool,
    **sizes: str | None,
) -> None:
    """Tell force, energy and margins of a spring, or find one in a list.

    By its dimensions (--wire, --outside, --turns, --free-length, --preload, --stroke), by your own
    --readings, or searched --at-hand for a wanted --energy and --stroke.
    """
    from shotwright.bench import springs

    if at_hand is not None:
        if energy is None or stroke is None:
            raise click.UsageError(
                '--at-hand needs --energy and --stroke, e.g. --energy "7 J" --stroke "90 mm"'
            )
        found = springs.find_spring(
            at_hand, energy=energy, stroke=stroke, side_by_side=side_by_side, most_force=most_force,
            most_preload=most_preload,
        )  # fmt: skip
    elif readings is not None or typed:
        found = springs.spring_by_readings(
            springs.readings_text(readings, typed), file=readings.name if readings else "--reading",
            front=front, stroke=stroke,
        )  # fmt: skip
    elif any(sizes.values()):
        found = springs.spring_by_size({"kind": kind, "stroke": stroke, **sizes})
    else:
        raise click.UsageError("give its dimensions, --readings FILE, or --at-hand FILE")
    if picture is not None:
        if not found.svg:
            raise click.UsageError("a search has no picture; leave --picture out")
        springs.write_picture(found.svg, picture)
    show(found, as_json, spring_words)
    if picture is not None and not as_json:
        click.echo(f"\nWrote {picture}.")


def spring_words(found: SpringReport) -> str:
    """Write the sentences, and the list that was searched."""
    return blocks(
        found.title,
        paragraphs(found.words, text_width()),
        section("Springs at hand", table_of(found.choices, CHOICES)) if found.choices else "",
        paragraphs([f"Caution: {words}" for words in found.cautions], text_width()),
    )
