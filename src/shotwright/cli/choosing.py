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
    from shotwright.choice.decision import Decision

GATES = (
    Column("prototype", "prototype"),
    Column("gate", "gate"),
    Column("passed", "passed"),
    Column("why", "words"),
)
CRITERIA = (Column("prototype", "prototype"), Column("criterion", "criterion"), Column("value", "value"))
CHANCES = (Column("prototype", "prototype"), Column("chance", "chance", CHANCE))


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
    help="What a criterion counts against the others. Repeat for more.",
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
    """Write the findings, then gates, criteria, chances to rank first, and rank acceptability."""
    return blocks(
        paragraphs(found.words, text_width()),
        section("Chance to rank first, with these weights", table_of(found.first_chance, CHANCES)),
        section("Chance of each rank, over all weights", acceptability(found)),
        section("Chance that another is at least as good in everything", table_of(found.dominated, CHANCES)),
        section("Gates", table_of(found.gates, GATES)),
        section("Criteria", table_of([_criterion(row) for row in found.criteria], CRITERIA)),
        recorded(found),
    )


def acceptability(found: Decision) -> str:
    """Write the share of all weights that give a prototype each rank."""
    if not found.acceptability:
        return ""
    ranks = max(len(row.ranks) for row in found.acceptability)
    header = ["prototype", *(f"rank {k}" for k in range(1, ranks + 1))]
    rows = [[row.prototype, *(cell(share, CHANCE) for share in row.ranks)] for row in found.acceptability]
    return table(header, rows, text_width())


class CriterionRow(NamedTuple):
    """One value of one criterion, its unit already beside it."""

    prototype: str
    criterion: str
    value: str


def _criterion(row: Any) -> CriterionRow:
    return CriterionRow(
        row.prototype, row.criterion, cell(row.value, CHANCE if row.unit == "%" else (row.unit, 1.0))
    )


def recorded(found: Decision) -> str:
    """Write the choice on record; empty when there is none."""
    choice = found.recorded
    if choice is None:
        return ""
    return section(
        "On record", paragraphs([f"{choice.date}: {choice.prototype}. {choice.reason}"], text_width())
    )
