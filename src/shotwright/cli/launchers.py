"""Verbs about prototypes on paper: ``predict``, ``sweep``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from shotwright.cli.evidence import DEFENDED, SCHEDULER, SEED, WORKERS
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section, table
from shotwright.cli.wording import CHANCE, Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.base.estimate import Estimate
    from shotwright.bench.launchers import Predictions, PrototypePrediction, ShotShares
    from shotwright.bench.results import PredictedHit
    from shotwright.bench.sweep_map import SweepMap

HITS = (
    Column("from", "position"),
    Column("at", "target"),
    Column("setting", "setting"),
    Column("speed", "speed_m_s"),
    Column("elevation", "elevation_deg"),
    Column("along sd", "along_sd_m"),
    Column("cross sd", "cross_sd_m"),
    Column("predicted to hit", "probability"),
)
SHARES = (
    Column("input", "input"),
    Column("of speed", "speed"),
    Column("along", "along"),
    Column("cross", "cross"),
    Column("of hits, in all", "hit"),
)
SHOWN = 8  # inputs in a table; the others count for less


@click.command()
@click.argument("prototypes", metavar="[PROTOTYPE]...", nargs=-1)
@click.option("--position", metavar="NAME", help="One firing position; all when left out.")
@click.option("--target", metavar="NAME", help="One target; all when left out.")
@DEFENDED
@click.option(
    "--draws",
    type=click.IntRange(min=0),
    default=2048,
    show_default=True,
    metavar="NUMBER",
    help="Draws of the variance shares, a power of two; 0 leaves them out.",
)
@SEED
@project_option
@json_option
def predict(
    project: Path,
    prototypes: tuple[str, ...],
    position: str | None,
    target: str | None,
    defended: bool,
    draws: int,
    seed: int,
    as_json: bool,
) -> None:
    """Predict what PROTOTYPE throws, as its launcher file describes it on paper; all by default.

    Release, range, which firing positions it reaches and with what setting, energy with cautions, scatter and
    hit probability, and which spread costs most. Nothing of it is measured.
    """
    from shotwright.bench.launchers import predict as find

    with progress_bar("predicting") as progress:
        found = find(
            project,
            prototypes=prototypes,
            position=position,
            target=target,
            defended=defended,
            draws=draws,
            seed=seed,
            progress=progress,
        )
    show(found, as_json, prediction_words)


def prediction_words(found: Predictions) -> str:
    """Write each prototype's sentences, reach, shares and cautions."""
    return blocks(paragraphs(found.words, text_width()), *(_one(prototype) for prototype in found.prototypes))


def _one(found: PrototypePrediction) -> str:
    width = text_width()
    energy = [
        f"{name}: {joules:.3g} J"
        for name, joules in found.release.energy_by_part.items()
        if abs(joules) > 1e-9
    ]
    return section(
        f"{found.prototype} ({found.kind}), PREDICTED",
        paragraphs(found.words, width),
        paragraphs(found.source_words, width),
        table_of([_hit(row) for row in found.hits], HITS),
        *(_shares(one) for one in found.sources),
        f"Energy of a shot by where it goes: {', '.join(energy)}.",
        paragraphs([f"Caution: {words}" for words in found.release.cautions], width),
        paragraphs([f"Note: {words}" for words in found.release.notes], width),
    )


class HitRow(NamedTuple):
    """One firing position as a row of the table."""

    position: str
    target: str
    setting: str
    speed_m_s: float | None
    elevation_deg: float | None
    along_sd_m: float | None
    cross_sd_m: float | None
    probability: str


def _hit(row: PredictedHit) -> HitRow:
    from shotwright.base.estimate import Estimate
    from shotwright.cli.wording import cell

    chance = row.probability.value if isinstance(row.probability, Estimate) else row.probability
    return HitRow(
        row.position,
        row.target,
        ", ".join(one.shown for one in row.setting),
        row.speed_m_s,
        row.elevation_deg,
        row.along_sd_m,
        row.cross_sd_m,
        cell(chance, CHANCE),
    )


class ShareRow(NamedTuple):
    """One input as a row of the table of shares."""

    input: str
    speed: str
    along: str
    cross: str
    hit: str


def _shares(one: ShotShares) -> str:
    """Write the shares of variance of one shot: first order, and total for the hits."""
    by_output = {shares.output: {s.input: s for s in shares.shares} for shares in one.shares}
    names = list(dict.fromkeys(name for shares in one.shares for name in [s.input for s in shares.shares]))
    most = {
        name: max((shares[name].total.value for shares in by_output.values() if name in shares), default=0.0)
        for name in names
    }
    names = sorted(names, key=lambda name: -most[name])[:SHOWN]
    rows = []
    for name in names:
        cells = []
        for output in ("speed", "along", "cross", "hit"):
            share = by_output.get(output, {}).get(name)
            cells.append(_share(share.total if output == "hit" else share.first) if share else "-")
        rows.append(ShareRow(name.replace("_", " "), *cells))
    if not rows:
        return ""
    return f"Share of the variance, from {one.position} at {one.target}:\n{table_of(rows, SHARES)}"


def _share(found: Estimate) -> str:
    """Write a share with its Monte Carlo error; one that can't be told from nothing as a dash."""
    if found.low <= 0:
        return "-"
    return f"{100 * found.value:.0f} ± {100 * (found.high - found.value):.0f} %"


@click.command()
@click.argument("prototype")
@click.option("--x", metavar="INPUT", help="Input across: stroke, or 'stroke = 60 mm .. 120 mm'.")
@click.option("--y", metavar="INPUT", help="Input up, likewise; the first two settings when left out.")
@click.option(
    "--show",
    "shown",
    type=click.Choice(["range", "spin", "hit"]),
    default="range",
    show_default=True,
    help="What is mapped.",
)
@click.option("--position", metavar="NAME", help="Firing position of the hit map; the first when left out.")
@click.option("--target", metavar="NAME", help="Target of the hit map; the first when left out.")
@click.option(
    "--cells",
    type=click.IntRange(2, 1000),
    default=60,
    show_default=True,
    metavar="NUMBER",
    help="Values of each input.",
)
@click.option(
    "--draws",
    type=click.IntRange(1, 100_000),
    default=200,
    show_default=True,
    metavar="NUMBER",
    help="Shots at each cell of a hit map.",
)
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the map as a picture.")
@DEFENDED
@SEED
@WORKERS
@SCHEDULER
@project_option
@json_option
def sweep(
    project: Path,
    prototype: str,
    x: str | None,
    y: str | None,
    shown: str,
    position: str | None,
    target: str | None,
    cells: int,
    draws: int,
    svg: Path | None,
    defended: bool,
    seed: int,
    workers: int | None,
    scheduler: str | None,
    as_json: bool,
) -> None:
    """Map what PROTOTYPE, as it stands on paper, does over two of its settings.

    Range, backspin or predicted hit probability, with the line of each firing position: settings whose mean
    shot crosses the middle of the opening. Ctrl-C stops it and writes nothing.
    """
    from shotwright.bench.launcher_sweep import sweep as find
    from shotwright.bench.sweep_map import write_map

    with progress_bar("sweeping") as progress:
        found = find(
            project,
            prototype,
            x=x,
            y=y,
            show=shown,
            position=position,
            target=target,
            cells=cells,
            draws=draws,
            defended=defended,
            seed=seed,
            workers=workers,
            scheduler=scheduler,
            progress=progress,
        )
    if svg is not None:
        write_map(found, svg)
    show(found, as_json, sweep_words)
    if svg is not None and not as_json:
        click.echo(f"\nWrote {svg}.")


ROWS = 8  # of the map that the terminal shows


def sweep_words(found: SweepMap) -> str:
    """Write the findings, a coarse map and where each position's line runs."""
    scale, unit = {"range": (1.0, "m"), "spin": (1.0, "rev/s"), "hit": (100.0, "%")}[found.shown]
    field = {"range": found.range_m, "spin": found.backspin_rev_s, "hit": found.hit_probability}[found.shown]
    assert field is not None
    columns, rows = _some(len(found.x.values)), _some(len(found.y.values))
    head = [f"{found.y.label} [{found.y.unit}]", *(f"{found.x.values[i]:.4g}" for i in columns)]
    cells = [
        [f"{found.y.values[k]:.4g}", *(f"{scale * field[k][i]:.3g}" for i in columns)] for k in reversed(rows)
    ]
    title = f"{found.shown} [{unit}]; across: {found.x.label} [{found.x.unit}]"
    lines = [
        f"{line.position} at {line.target}: {found.x.label} {first[0]:.4g} to {last[0]:.4g} {found.x.unit}, "
        f"{found.y.label} {first[1]:.4g} to {last[1]:.4g} {found.y.unit}."
        for line in found.lines
        for first, last in [(path[0], path[-1]) for path in line.lines]
    ]
    return blocks(
        paragraphs(found.words, text_width()),
        section(title, table(head, cells, text_width())),
        section("Lines of the firing positions", paragraphs(lines, text_width())),
    )


def _some(count: int) -> list[int]:
    """Indexes of a few values, ends included."""
    return sorted({round(k * (count - 1) / (ROWS - 1)) for k in range(ROWS)})
