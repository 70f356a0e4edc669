"""The verb ``choose``: rank the prototypes, record the choice and its reason."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from shotwright.base.errors import BadInput
from shotwright.cli.evidence import DEFENDED, SEED
from shotwright.cli.projects import assignments
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section, table
from shotwright.cli.wording import CHANCE, Column, blocks, cell, table_of

if TYPE_CHECKING:
    from shotwright.bench.results import Decision, SampleGain

GATES = (
    Column("prototype", "prototype"),
    Column("gate", "gate"),
    Column("passed", "passed"),
    Column("why", "words"),
)
CRITERIA = (Column("prototype", "prototype"), Column("criterion", "criterion"), Column("value", "value"))


def weights_of(
    context: click.Context, parameter: click.Parameter, given: tuple[str, ...]
) -> dict[str, float] | None:
    """Read options of the form CRITERION=NUMBER; None when there are none."""
    weights = {}
    for name, text in (assignments(context, parameter, given) or {}).items():
        try:
            weights[name] = float(text)
        except ValueError:
            raise BadInput(f"{text!r} is not a number; write {name}=2", field="--weight") from None
    return weights or None


@click.command()
@click.option(
    "--weight",
    "weights",
    metavar="CRITERION=NUMBER",
    multiple=True,
    callback=weights_of,
    help="What a criterion counts: points, worst, motors, mass or energy. Repeat for more.",
)
@click.option("--decide", metavar="NAME", help="Record this prototype as the choice; needs --reason.")
@click.option("--reason", metavar="TEXT", help="Why, in your words; recorded with the evidence of today.")
@DEFENDED
@SEED
@project_option
@json_option
def choose(
    project: Path,
    weights: dict[str, float] | None,
    decide: str | None,
    reason: str | None,
    defended: bool,
    seed: int,
    as_json: bool,
) -> None:
    """Rank the prototypes: gates first, then weighted criteria, with the chance that each ranks first.

    With --decide and --reason the choice is recorded, with its date and the evidence it rests on. Later
    shots that would change it are pointed out.
    """
    if (decide is None) != (reason is None):
        raise BadInput("--decide NAME and --reason TEXT go together", field="--decide")
    from shotwright.bench.choosing import choose as rank

    with progress_bar("ranking") as progress:
        found = rank(
            project,
            weights=weights,
            decide=decide,
            reason=reason,
            defended=defended,
            seed=seed,
            progress=progress,
        )
    show(found, as_json, decision_words)


def decision_words(found: Decision) -> str:
    """Write the findings, then chances, gates and criteria."""
    how = "with your weights" if found.weights else "all weightings alike"
    return blocks(
        paragraphs(found.words, text_width()),
        section(f"Chances, {how}", chances(found)),
        section("Gates", table_of(found.gates, GATES)),
        section("Criteria", table_of([_criterion(row) for row in found.criteria], CRITERIA)),
        section("Points of hit probability that more shots before choosing would gain", testing(found)),
    )


def chances(found: Decision) -> str:
    """Write for each prototype the chance of each rank, to bring the most points, and to be beaten in all.

    Parameters
    ----------
    found : Decision
        The ranking.

    Returns
    -------
    str
        A table; empty when nothing was ranked.
    """
    if not found.acceptability:
        return ""
    points, beaten = (
        {row.prototype: row.chance for row in kind} for kind in (found.first_by_points, found.dominated)
    )
    ranks = (f"rank {k}" for k in range(1, len(found.acceptability[0].ranks) + 1))
    rows = [
        [
            row.prototype,
            *(cell(share, CHANCE) for share in (*row.ranks, *others(row.prototype, points, beaten))),
        ]
        for row in found.acceptability
    ]
    return table(["prototype", *ranks, "most points", "beaten in all"], rows, text_width())


def testing(found: Decision) -> str:
    """Write what more shots before choosing would gain, with the error of the simulation.

    Parameters
    ----------
    found : Decision
        The ranking.

    Returns
    -------
    str
        A table; empty when there is nothing to choose.
    """
    worth = found.testing
    if worth is None:
        return ""
    whose = list(dict.fromkeys(g.of for g in worth.gains))
    rows = []
    for shots in dict.fromkeys(g.shots for g in worth.gains):
        here = {g.of: g for g in worth.gains if g.shots == shots}
        rows.append([f"{shots}", *(_gain(here[name]) for name in whose)])
    rows.append(["all known", _gain(worth.perfect), *([""] * (len(whose) - 1))])
    heads = ("of each" if k == 0 else f"{name} alone" for k, name in enumerate(whose))
    return table(["more shots", *heads], rows, text_width())


def _gain(gain: SampleGain) -> str:
    return f"{gain.gain_percent:.2f} ± {gain.standard_error_percent:.2f}"


def others(name: str, *kinds: dict[str, float]) -> list[float | None]:
    """Return what several lists of chances hold for one prototype."""
    return [kind.get(name) for kind in kinds]


class CriterionRow(NamedTuple):
    """One value of one criterion, its unit already beside it."""

    prototype: str
    criterion: str
    value: str


def _criterion(row: Any) -> CriterionRow:
    return CriterionRow(
        row.prototype, row.criterion, cell(row.value, CHANCE if row.unit == "%" else (row.unit, 1.0))
    )
