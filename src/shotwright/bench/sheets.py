"""Chapters of the notebook one at a time, drawn for the width they are looked at: what the pages show."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from shotwright import __version__
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.bench.choosing import latest_choice, rank
from shotwright.bench.evidence import SEED, dispersion_of, hits_of
from shotwright.bench.launchers import Predictions
from shotwright.bench.notebooks import choice_on_record
from shotwright.bench.paper_pages import pages_of
from shotwright.bench.results import Decision, HitTable, MatchPlans, ShotTable
from shotwright.bench.workbook import Workbook, load, opened, read_workbook
from shotwright.choice.decision import CRITERIA, RecordedChoice
from shotwright.choice.records import HitDraws
from shotwright.notebook.blocks import Picture, Section
from shotwright.notebook.chapters.choice import CONDITIONS, choice
from shotwright.notebook.chapters.comparison import comparison
from shotwright.notebook.chapters.hits import hits
from shotwright.notebook.chapters.match_day import drivers_card, match_plans, shot_table
from shotwright.notebook.chapters.on_paper import on_paper
from shotwright.notebook.chapters.trials import trials
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.from_results import (
    comparison_rows,
    criteria_rows,
    gate_rows,
    hit_row,
    rank_rows,
    trial_page,
)
from shotwright.notebook.layout import laid_out
from shotwright.notebook.match_day import MatchDay
from shotwright.notebook.palette import DARK, LIGHT
from shotwright.trials.comparison import compare_trials

NARROWEST, WIDEST = 320.0, 1100.0


@dataclass(frozen=True, slots=True)
class Sheet(Result):
    """Chapters laid out for one width.

    Parameters
    ----------
    sections : tuple of dict
        Sections with their parts, each a title, whether it starts folded, and blocks: words, bullets, tables,
        pictures as SVG.
    simulated : bool
        Whether any trial behind it is simulated.
    """

    sections: tuple[dict[str, Any], ...]
    simulated: bool


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Hit probabilities of a project at one moment, with the draws behind them: what rankings start from.

    Parameters
    ----------
    book : Workbook
        The project as it was.
    hits : HitTable
        Of every prototype at every position.
    draws : tuple of HitDraws
        Behind them.
    recorded : RecordedChoice, optional
        The last choice on record.
    """

    book: Workbook
    hits: HitTable
    draws: tuple[HitDraws, ...]
    recorded: RecordedChoice | None


def drawing_colours() -> str:
    """Return the style sheet that gives drawings their colours by day and by night."""
    return "\n".join(
        f".f-{name}{{fill:light-dark({LIGHT[name]},{DARK[name]})}}"
        f".l-{name}{{stroke:light-dark({LIGHT[name]},{DARK[name]})}}"
        for name in LIGHT
    )


def evidence_sheet(project: Path, width: float, *, seed: int = SEED) -> Sheet:
    """Show what the trials say, and the prototypes set against each other.

    Parameters
    ----------
    project : Path
        The project file; it has a game.
    width : float
        Room for the drawings. [px]
    seed : int
        Seed of the permutations.

    Returns
    -------
    Sheet
        The chapters on trials and comparison.

    Raises
    ------
    BadInput
        The project has no game yet.
    """
    with opened(project, read_only=True) as file:
        book = load(file)
    shown = {found.trial: found for found in dispersion_of(book).trials} if book.trials else {}
    with_shots = [(t, s) for t, s in book.trials if s]
    found = compare_trials(with_shots, rng=np.random.default_rng(seed)) if len(with_shots) > 1 else None
    content = _content(
        book,
        trials=tuple(trial_page(t, s, shown[t.name]) for t, s in book.trials if t.name in shown),
        comparison=comparison_rows(found) if found else (),
        comparison_words=found.words if found else (),
    )
    return _sheet(book, (trials(content), comparison(content)), width, folded=bool)


def standing(
    project: Path, *, defended: bool = False, seed: int = SEED, progress: Progress = silent
) -> Standing:
    """Compute the hit probabilities of a project, for pages that rank and rank again.

    Parameters
    ----------
    project : Path
        The project file.
    defended : bool
        With the defenders in the way.
    seed : int
        Seed of the draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Standing
        To be handed to :func:`hit_sheet`, :func:`ranked` and :func:`choice_sheet`.
    """
    with opened(project, read_only=True) as file:
        book = load(file)
        recorded = latest_choice(file.choices())
    found, draws = hits_of(book, defended=defended, seed=seed, progress=progress)
    return Standing(book, found, draws, recorded)


def hit_sheet(at: Standing, width: float) -> Sheet:
    """Show the hit probabilities.

    Parameters
    ----------
    at : Standing
        What is known.
    width : float
        Room for the drawings. [px]

    Returns
    -------
    Sheet
        The chapter.
    """
    content = _content(at.book, hits=tuple(hit_row(h) for h in at.hits.rows))
    return _sheet(at.book, (hits(content),), width)


def ranked(at: Standing, weights: Mapping[str, float] | None = None, *, seed: int = SEED) -> Decision:
    """Rank the prototypes again, with other weights.

    Parameters
    ----------
    at : Standing
        What is known.
    weights : mapping of str to float, optional
        By criterion, of :data:`CRITERIA_NAMES`; None: all weightings alike.
    seed : int
        Seed of the draws of weights.

    Returns
    -------
    Decision
        The ranking.
    """
    return rank(at.book, at.hits, at.draws, at.recorded, weights=weights, seed=seed)


CRITERIA_NAMES = tuple(CRITERIA)


def choice_sheet(at: Standing, decision: Decision, width: float) -> Sheet:
    """Show the ranking and the choice on record.

    Parameters
    ----------
    at : Standing
        What is known.
    decision : Decision
        The ranking to show.
    width : float
        Room for the drawings. [px]

    Returns
    -------
    Sheet
        The chapter.
    """
    met = all(gate.passed for gate in decision.gates)
    content = _content(
        at.book,
        gates=gate_rows(decision),
        criteria=criteria_rows(decision),
        ranks=rank_rows(decision),
        choices=choice_on_record(at.recorded, decision),
        testing_words=at.hits.words,
    )
    return _sheet(at.book, (choice(content),), width, folded=lambda title: met and title == CONDITIONS)


def prediction_sheet(project: Path, found: Predictions, width: float) -> Sheet:
    """Show what prototypes on paper would throw.

    Parameters
    ----------
    project : Path
        The project file.
    found : Predictions
        What was predicted.
    width : float
        Room for the drawings. [px]

    Returns
    -------
    Sheet
        One chapter for each.
    """
    with opened(project, read_only=True) as file:
        book = load(file)
    return _sheet(book, on_paper(_content(book, on_paper=pages_of(book, found))), width)


def shot_table_sheet(project: Path, table: ShotTable, width: float) -> Sheet:
    """Show a shot table and the drivers' card.

    Parameters
    ----------
    project : Path
        The project file.
    table : ShotTable
        The table.
    width : float
        Room for the drawings. [px]

    Returns
    -------
    Sheet
        Both chapters.
    """
    book = read_workbook(project)
    content = _content(book, match_day=MatchDay(table=table))
    found = tuple(s for s in (shot_table(content), drivers_card(content)) if s is not None)
    return _sheet(book, found, width)


def match_sheet(project: Path, plans: MatchPlans, width: float) -> Sheet:
    """Show match plans side by side.

    Parameters
    ----------
    project : Path
        The project file.
    plans : MatchPlans
        The plans.
    width : float
        Room for the drawings. [px]

    Returns
    -------
    Sheet
        The chapter.
    """
    book = read_workbook(project)
    section = match_plans(_content(book, match_day=MatchDay(plans=plans)))
    assert section is not None
    return _sheet(book, (section,), width)


def _content(book: Workbook, **parts: Any) -> NotebookContent:
    return NotebookContent(
        project_name=book.name,
        made_on=datetime.datetime.now().astimezone().date(),
        version=__version__,
        game=book.needed_game(),
        prototypes=book.prototypes,
        **parts,
    )


def _sheet(
    book: Workbook,
    sections: tuple[Section, ...],
    width: float,
    folded: Callable[[str], bool] = lambda title: False,  # noqa: ARG005 - nothing is folded by default
) -> Sheet:
    simulated = any(trial.origin == "simulated" for trial, _ in book.trials)
    room = min(max(width, NARROWEST), WIDEST)

    def draw(picture: Picture) -> dict[str, Any]:
        return {"svg": picture.draw(picture.key, room).svg()}

    laid = laid_out(sections, draw)
    return Sheet(
        tuple({"key": s["key"], "title": s["title"], "parts": _parts(s["blocks"], folded)} for s in laid),
        simulated,
    )


def _parts(blocks: list[dict[str, Any]], folded: Callable[[str], bool]) -> list[dict[str, Any]]:
    """Group blocks under their headings; what stands before the first heading has none."""
    parts: list[dict[str, Any]] = [{"title": "", "folded": False, "blocks": []}]
    for block in blocks:
        if block["kind"] == "heading":
            parts.append({"title": block["text"], "folded": folded(block["text"]), "blocks": []})
        else:
            parts[-1]["blocks"].append(block)
    return [part for part in parts if part["blocks"]]
