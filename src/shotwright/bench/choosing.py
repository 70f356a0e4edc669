"""Rank the prototypes, and record the choice with the evidence it rested on."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import as_plain
from shotwright.base.progress import Progress, silent
from shotwright.bench.evidence import SEED, hits_of
from shotwright.bench.results import HitTable
from shotwright.bench.workbook import Workbook, opened, read_workbook
from shotwright.choice import decision
from shotwright.choice.decision import Decision, RecordedChoice
from shotwright.choice.records import HitDraws


def choose(
    project: Path,
    *,
    weights: Mapping[str, float] | None = None,
    decide: str | None = None,
    reason: str | None = None,
    defended: bool = False,
    seed: int = SEED,
    progress: Progress = silent,
) -> Decision:
    """Rank the prototypes; with `decide`, record the choice.

    Parameters
    ----------
    project : Path
        The project file.
    weights : mapping, optional
        The crew's weights by criterion; all weightings alike by default.
    decide : str, optional
        Prototype to record as chosen.
    reason : str, optional
        Why; needed with `decide`.
    defended : bool
        Judge with the defenders in the way.
    seed : int
        Seed of the draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Decision
        Ranking, gates and the choice on record.
    """
    if decide is not None:
        _needs_reason(reason)
    book = read_workbook(project)
    if decide is not None:
        decide = book.some_prototypes((decide,))[0].name
    with opened(project, read_only=True) as file:
        recorded = latest_choice(file.choices())
    hits, draws = hits_of(book, defended=defended, seed=seed, progress=progress)
    ranked = rank(book, hits, draws, recorded, weights=weights, seed=seed)
    if decide is None:
        return ranked
    recorded = record(project, book, hits, ranked, decide, reason or "")
    return rank(book, hits, draws, recorded, weights=weights, seed=seed)


def record(
    project: Path, book: Workbook, hits: HitTable, ranked: Decision, decide: str, reason: str
) -> RecordedChoice | None:
    """Record a choice, with its reason and the evidence of this moment.

    Parameters
    ----------
    project : Path
        The project file.
    book : Workbook
        The project, loaded.
    hits : HitTable
        Hit probabilities that the choice rests on.
    ranked : Decision
        The ranking that it rests on.
    decide : str
        Prototype chosen.
    reason : str
        Why, in the crew's words.

    Returns
    -------
    RecordedChoice
        As it stands on record.

    Raises
    ------
    BadInput
        No reason, or a prototype that misses a hard condition.
    """
    _needs_reason(reason)
    if decide not in ranked.admitted:
        raise BadInput(
            f"{decide!r} does not pass every gate: "
            + "; ".join(g.words for g in ranked.gates if g.prototype == decide and g.passed is False),
            field="decide",
        )
    evidence = evidence_of(book, ranked, hits)
    today = datetime.datetime.now().astimezone().date()
    with opened(project) as file:
        file.add_choice({"date": today, "prototype": decide, "reason": reason, "evidence": evidence})
        return latest_choice(file.choices())


def _needs_reason(reason: str | None) -> None:
    if not (reason or "").strip():
        raise BadInput(
            "say why: --reason 'repeats best from the rail'; the notebook shows it", field="reason"
        )


def latest_choice(choices: tuple[dict[str, Any], ...]) -> RecordedChoice | None:
    """Return the last choice on record."""
    if not choices:
        return None
    last = choices[-1]
    return RecordedChoice(
        date=str(as_plain(last["date"])),
        prototype=last["prototype"],
        reason=last["reason"],
        evidence=last.get("evidence") or {},
    )


def rank(
    book: Workbook,
    table: HitTable,
    draws: tuple[HitDraws, ...],
    recorded: RecordedChoice | None,
    *,
    weights: Mapping[str, float] | None = None,
    seed: int = SEED,
) -> Decision:
    """Rank the prototypes of a loaded project by hit probabilities that are there already.

    Parameters
    ----------
    book : Workbook
        The loaded project; must hold a game.
    table : HitTable
        Hit probability of each prototype at each position and target.
    draws : tuple of HitDraws
        The draws behind `table`.
    recorded : RecordedChoice or None
        The last choice on record.
    weights : mapping of str to float, optional
        The crew's weights by criterion; None: all weightings alike.
    seed : int
        Seed of the draws of weights.

    Returns
    -------
    Decision
        The ranking.
    """
    return decision.decide(
        book.needed_game(),
        book.prototypes,
        table.rows,
        draws,
        np.random.default_rng([seed, 99]),
        weights=weights,
        recorded=recorded,
        seed=seed,
    )


def evidence_of(book: Workbook, ranked: Decision, hits: HitTable) -> dict[str, Any]:
    """Collect what a choice rests on, as plain data.

    Parameters
    ----------
    book : Workbook
        The loaded project, whose shots are counted.
    ranked : Decision
        The ranking at the time.
    hits : HitTable
        The hit probabilities behind it.

    Returns
    -------
    dict
        What is recorded with a choice; JSON can hold it.
    """
    return {
        "trials": {t.name: sum(s.set_aside is None for s in shots) for t, shots in book.trials},
        "hit_probabilities": [
            {
                "prototype": h.prototype,
                "position": h.position,
                "target": h.target,
                "probability": as_plain(h.probability),
            }
            for h in hits.rows
        ],
        "first_chance": {c.prototype: c.chance for c in ranked.first_chance},
        "weights": ranked.weights,
        "seed": ranked.seed,
    }
