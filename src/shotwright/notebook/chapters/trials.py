"""What was fired and what it shows, trial by trial."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

from shotwright.notebook.blocks import Block, Bullets, Column, Heading, Picture, Section, Table, Words
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.evidence import TrialPage
from shotwright.notebook.figures.scatter_plot import mark_of, scatter_plot
from shotwright.notebook.looks import looks_of
from shotwright.notebook.palette import Series
from shotwright.notebook.wording import day, estimate_words, orders_in_words, shots_in_words

PER_FIGURE = 6  # panels that one figure holds; all figures of one surface still share one scale


def trials(content: NotebookContent) -> Section:
    """Return the chapter on the trials."""
    if not content.trials:
        return Section("trials", "Trials", (Words("No trial has been logged yet."),), fresh_page=True)
    blocks: list[Block] = [_overview(content.trials)]
    looks = looks_of(content)
    for surface, words in (("floor", "marks on the floor"), ("plane", "marks on an upright plane")):
        pages = [p for p in content.trials if p.trial.surface == surface and _marked(p)]
        for k in range(0, len(pages), PER_FIGURE):
            part = pages[k : k + PER_FIGURE]
            blocks.append(
                Picture(
                    f"scatter-{surface}-{k // PER_FIGURE + 1}",
                    f"Scatter of the trials, {words}, all at one scale. {_behind(part)} "
                    "Numbers beside the marks are shot numbers.",
                    partial(_scatter, part, pages, looks),
                )
            )
    for page in content.trials:
        blocks += _trial(page)
    return Section("trials", "Trials", tuple(blocks), fresh_page=True)


def _marked(page: TrialPage) -> bool:
    return any(mark_of(page.trial, shot) is not None for shot in page.shots)


def _scatter(
    pages: Sequence[TrialPage],
    scaled_as: Sequence[TrialPage],
    looks: dict[str, Series],
    key: str,
    width: float,
) -> Drawing:
    return scatter_plot(pages, key=key, width=width, looks=looks, scaled_as=scaled_as)


def _behind(pages: Sequence[TrialPage]) -> str:
    return (
        "; ".join(
            f"{p.trial.name}: {shots_in_words(p)}{', SIMULATED' if p.trial.origin == 'simulated' else ''}"
            for p in pages
        )
        + "."
    )


def _overview(pages: Sequence[TrialPage]) -> Table:
    columns = (
        Column("trial"),
        Column("prototype", share=1.3),
        Column("day", share=1.4),
        Column("setting", share=1.5),
        Column("elevation [°]", True),
        Column("measured on", share=1.6),
        Column("shots", share=2.2),
        Column("data", share=1.4),
    )
    rows = tuple(
        (
            p.trial.name,
            p.trial.prototype,
            day(p.trial.date) if p.trial.date else "–",
            p.trial.setting or "–",
            "–" if p.trial.elevation is None else f"{math.degrees(p.trial.elevation):.1f}",
            f"floor at {p.trial.surface_at:.2f} m"
            if p.trial.surface == "floor"
            else f"plane {p.trial.surface_at:.2f} m away",
            shots_in_words(p),
            p.trial.origin.upper() if p.trial.origin == "simulated" else "measured",
        )
        for p in pages
    )
    return Table(
        "The trials. One trial is one prototype at one setting on one day with one set of balls.",
        columns,
        rows,
    )


def _trial(page: TrialPage) -> list[Block]:
    trial = page.trial
    mark = " (SIMULATED)" if trial.origin == "simulated" else ""
    blocks: list[Block] = [Heading(f"Trial {trial.name}: {trial.prototype}{mark}")]
    if trial.remark:
        blocks.append(Words(f"Remark of the crew: {trial.remark}"))
    if page.findings:
        columns = (
            Column("what", share=1.6),
            Column("best value (95 % interval)", share=1.8),
            Column("meaning", share=2.6),
        )
        rows = tuple(
            (f.name, estimate_words(f.estimate, f.unit, f.scale), f.meaning or "–") for f in page.findings
        )
        caption = (
            f"What trial {trial.name} shows, from {shots_in_words(page)}. Marks were read to "
            f"{1000 * trial.mark_sd:.0f} mm (standard deviation)."
        )
        blocks.append(Table(caption, columns, rows))
    notes = [
        f"Shot {one.order} is flagged: {one.reason}. It still counts." for one in page.flagged if one.reason
    ]
    notes += [f"Shot {s.order} was set aside: {s.set_aside}." for s in page.shots if s.set_aside is not None]
    missing = [s.order for s in page.shots if s.set_aside is None and mark_of(trial, s) is None]
    if missing:
        notes.append(f"No mark was taken of shot {orders_in_words(missing)}.")
    notes += page.remarks
    if notes:
        blocks.append(Bullets(tuple(notes)))
    return blocks
