"""A page for each prototype on paper: what it is predicted to throw, and what to fix first."""

from __future__ import annotations

from functools import partial

from shotwright.base.estimate import Estimate
from shotwright.notebook.blocks import (
    Block,
    Bullets,
    Caution,
    Column,
    Heading,
    Picture,
    Section,
    Table,
    Words,
)
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.variance_bars import variance_bars
from shotwright.notebook.on_paper import PaperHit, PaperPage, ShareGroup
from shotwright.notebook.wording import percent


def on_paper(content: NotebookContent) -> tuple[Section, ...]:
    """Return the pages of the prototypes that a launcher file describes."""
    return tuple(_page(page, number) for number, page in enumerate(content.on_paper, 1))


def _page(page: PaperPage, number: int) -> Section:
    blocks: list[Block] = [
        Words(
            f"Predicted from the dimensions and spreads in the launcher file ({page.kind}). Nothing on this "
            "page was measured, except where it says so."
        ),
        *page.drawing,
        _figures(page),
        _hits(page),
    ]
    if page.shares:
        blocks += [
            Heading("What to fix first"),
            Picture(
                f"paper-{number}-shares",
                f"Share of the predicted variance by input, {page.prototype}. Filled: what would go if this "
                "input did not vary. Outline: what it has a hand in, together with others. Thin bar: the "
                "error of the draws.",
                partial(_shares, page.shares),
            ),
        ]
    blocks += [Bullets(page.share_words)] if page.share_words else []
    blocks += page.calibration
    blocks += [Caution(words) for words in page.cautions]
    blocks += [Bullets(page.notes)] if page.notes else []
    return Section(f"paper-{number}", f"On paper: {page.prototype}", tuple(blocks), fresh_page=True)


def _figures(page: PaperPage) -> Table:
    energies = tuple((f"energy of a shot: {name}", f"{joules:.3g} J") for name, joules in page.energies)
    caption = f"What {page.prototype} is predicted to throw, with the standard deviation from shot to shot."
    return Table(
        caption, (Column("figure", share=1.2), Column("predicted", share=1.6)), page.figures + energies
    )


def _hits(page: PaperPage) -> Table:
    columns = (
        Column("position to target", share=1.5),
        Column("reached with", share=2.0),
        Column("best setting", share=1.8),
        Column("predicted hit probability", share=1.6),
        Column("scatter along, across [mm]", True, 1.3),
    )
    caption = (
        f"Firing positions of {page.prototype}. The hit probability follows from the stated spreads alone; "
        "what the model leaves out is not in it."
    )
    return Table(caption, columns, tuple(_row(hit) for hit in page.hits))


def _row(hit: PaperHit) -> tuple[str, ...]:
    known = isinstance(hit.chance, Estimate)
    chance = percent(hit.chance.value) if isinstance(hit.chance, Estimate) else f"none: {hit.chance.reason}"
    scatter = (
        f"{1000 * hit.along_sd_m:.0f}, {1000 * hit.cross_sd_m:.0f}"
        if known and hit.along_sd_m is not None and hit.cross_sd_m is not None
        else "–"
    )
    where = f"{hit.position} to {hit.target}"
    return where, hit.reach_words or "–", hit.setting_words or "–", chance, scatter


def _shares(groups: tuple[ShareGroup, ...], key: str, width: float) -> Drawing:
    return variance_bars(groups, key=key, width=width)
