"""Verbs that ask what the shots show: ``dispersion``, ``compare``, ``sample-size``, ``hit``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import CHANCE, Column, blocks, cell, table_of

if TYPE_CHECKING:
    from shotwright.bench.results import (
        Comparison,
        DispersionResult,
        HitTable,
        PairComparison,
        ShotPlan,
        TrialDispersion,
    )

PROTOTYPES = click.option(
    "--prototype",
    "prototypes",
    metavar="NAME",
    multiple=True,
    help="One prototype; repeat for more; else all.",
)
SEED = click.option(
    "--seed", type=int, default=1, show_default=True, metavar="NUMBER", help="Seed of the random draws."
)
DEFENDED = click.option("--defended", is_flag=True, help="With the game's defenders in the way.")
WORKERS = click.option(
    "--workers", type=click.IntRange(min=1), metavar="NUMBER", help="Processes; one a core."
)
SCHEDULER = click.option("--scheduler", metavar="ADDRESS", help="Dask scheduler to work on: tcp://host:port.")
SIDES = (
    Column("prototype", "label"),
    Column("from", "origin"),
    Column("shots", "shots"),
    Column("mean reach or height", "reach_m"),
    Column("spread", "sigma_m"),
    Column("tightest", "tightest", CHANCE),
)
PAIRS = (
    Column("first", "first"),
    Column("second", "second"),
    Column("spread, second / first", "ratio"),
    Column("p, spread", "spread_p"),
    Column("p, mean point", "centre_p"),
)
SPREADS = (
    Column("prototype", "prototype"),
    Column("shots", "shots"),
    Column("speed", "speed_percent"),
    Column("elevation", "elevation_deg"),
    Column("azimuth", "azimuth_deg"),
    Column("along spread from speed", "speed_share", CHANCE),
)
HITS = (
    Column("prototype", "prototype"),
    Column("shots", "shots"),
    Column("from", "origin"),
    Column("speed", "setting.speed_m_s"),
    Column("elevation", "setting.elevation_deg"),
    Column("by", "leads"),
    Column("hit probability", "probability", CHANCE),
)
FIGURE_WIDTH = 27  # of the names of figures, so that their values stand in one column


@click.command()
@click.argument("trial", required=False)
@project_option
@json_option
def dispersion(project: Path, trial: str | None, as_json: bool) -> None:
    """Mean point and spread of TRIAL, or of each trial, with 95 % intervals."""
    from shotwright.bench.evidence import dispersion as find

    show(find(project, trial), as_json, dispersion_words)


def dispersion_words(found: DispersionResult) -> str:
    """Write each trial's sentences and figures."""
    parts = (
        section(
            f"{trial.trial} ({trial.prototype})",
            paragraphs(trial.words, text_width()),
            trial_figures(trial),
        )
        for trial in found.trials
    )
    return blocks(*parts) or "No trials yet."


def trial_figures(trial: TrialDispersion) -> str:
    """Write the figures of one trial, one on a line."""
    metres = ("m", 1.0)
    figures = (
        (f"mean {trial.first_axis}", trial.mean_first_m),
        ("mean cross", trial.mean_cross_m),
        (f"spread {trial.first_axis}", trial.sd_first_m),
        ("spread cross", trial.sd_cross_m),
        ("spread, both axes", trial.sigma_m),
        ("circular error probable", trial.cep_m),
        ("radius that holds 95 %", trial.r95_m),
        ("mean radius", trial.mean_radius_m),
        ("extreme spread", trial.extreme_spread_m),
    )
    return "\n".join(f"{name:<{FIGURE_WIDTH}}{cell(value, metres)}" for name, value in figures)


@click.command()
@PROTOTYPES
@click.option(
    "--pooled", is_flag=True, help="Take all trials of a prototype together, each about its own mean."
)
@SEED
@project_option
@json_option
def compare(project: Path, prototypes: tuple[str, ...], pooled: bool, seed: int, as_json: bool) -> None:
    """Set prototypes against each other: reach and spread, and whether the shots can tell them apart."""
    from shotwright.bench.evidence import compare as find

    show(find(project, prototypes=prototypes, pooled=pooled, seed=seed), as_json, comparison_words)


def comparison_words(found: Comparison) -> str:
    """Write the findings, then the sides and the pairs as tables."""
    return blocks(
        paragraphs(found.words, text_width()),
        table_of(found.sides, SIDES),
        table_of([_pair(pair) for pair in found.pairs], PAIRS),
    )


class PairRow(NamedTuple):
    """One pair as a row of the table."""

    first: str
    second: str
    ratio: Any
    spread_p: str | None
    centre_p: str | None


def _pair(pair: PairComparison) -> PairRow:
    ratio = getattr(pair.spread, "ratio", pair.spread)
    p = [None if p is None else f"{p:.2g}" for p in (pair.spread_p_adjusted, pair.centre_p_adjusted)]
    return PairRow(pair.first, pair.second, ratio, *p)


@click.command("sample-size")
@click.option(
    "--ratio", type=float, metavar="NUMBER", help="Spread ratio thought possible, wider over tighter: 1.5."
)
@click.option(
    "--shots", type=click.IntRange(min=1), metavar="NUMBER", help="Shots of each prototype fired already."
)
@click.option("--hit-rate", metavar="PERCENT", help="Hit rate expected: how many shots to know it?")
@click.option("--width", metavar="PERCENT", help="Wanted half-width of its 95 % interval.")
@click.option(
    "--power",
    default="80 %",
    show_default=True,
    metavar="PERCENT",
    help="Wanted chance to show a true difference.",
)
@json_option
def sample_size(
    ratio: float | None, shots: int | None, hit_rate: str | None, width: str | None, power: str, as_json: bool
) -> None:
    """Tell how many shots a comparison or a hit rate needs, before firing. Needs no project."""
    from shotwright.bench.evidence import sample_size as plan

    show(plan(ratio=ratio, shots=shots, hit_rate=hit_rate, width=width, power=power), as_json, plan_words)


def plan_words(plan: ShotPlan) -> str:
    """Write a shot plan: its sentences hold every number."""
    return paragraphs(plan.words, text_width())


@click.command()
@PROTOTYPES
@click.option("--position", metavar="NAME", help="One firing position; all when left out.")
@click.option("--target", metavar="NAME", help="One target; all when left out.")
@DEFENDED
@SEED
@project_option
@json_option
def hit(
    project: Path,
    prototypes: tuple[str, ...],
    position: str | None,
    target: str | None,
    defended: bool,
    seed: int,
    as_json: bool,
) -> None:
    """Hit probability of each prototype at each firing position, with its 95 % interval."""
    from shotwright.bench.evidence import hit_probabilities

    with progress_bar("hit probabilities") as progress:
        found = hit_probabilities(
            project,
            prototypes=prototypes,
            position=position,
            target=target,
            defended=defended,
            seed=seed,
            progress=progress,
        )
    show(found, as_json, hit_words)


def hit_words(found: HitTable) -> str:
    """Write the launch spreads, then a table for each position and target with its sentences below."""
    width = text_width()
    places = dict.fromkeys((row.position, row.target) for row in found.rows)
    parts = []
    for place in places:
        rows = [row for row in found.rows if (row.position, row.target) == place]
        sentences = [" ".join(row.words) for row in rows]
        parts.append(section(f"{place[0]}: {place[1]}", table_of(rows, HITS), paragraphs(sentences, width)))
    return blocks(
        paragraphs(found.words, width),
        section("Launch spread, shot to shot", table_of(found.spreads, SPREADS)),
        *parts,
    )
