"""Prototypes set against each other."""

from __future__ import annotations

from functools import partial

from shotwright.notebook.blocks import Block, Bullets, Column, Picture, Section, Table, Words
from shotwright.notebook.content import ComparisonRow, NotebookContent
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.evidence import TrialPage
from shotwright.notebook.figures.interval_chart import groups_of_findings, interval_chart
from shotwright.notebook.looks import looks_of
from shotwright.notebook.palette import Series
from shotwright.notebook.wording import estimate_words, shots_in_words


def comparison(content: NotebookContent) -> Section:
    """Return the chapter that compares prototypes."""
    blocks: list[Block] = []
    if content.comparison_words:
        blocks.append(Bullets(content.comparison_words))
    for k, (name, unit, scale) in enumerate(_shared_findings(content)):
        blocks.append(_chart(content, k + 1, name, unit, scale))
    if content.comparison:
        blocks.append(_table(content))
        said = dict.fromkeys(row.words for row in content.comparison if row.words)
        new = tuple(words for words in said if words not in content.comparison_words)
        blocks += [Bullets(new)] if new else []
    if not blocks:
        blocks.append(Words("Nothing to compare yet: it takes trials of two prototypes."))
    return Section("comparison", "Comparison", tuple(blocks))


def _shared_findings(content: NotebookContent) -> list[tuple[str, str, float]]:
    """Findings worth a chart: spreads that trials of at least two prototypes show."""
    owners: dict[tuple[str, str, float], set[str]] = {}
    for page in content.trials:
        for row in page.findings:
            if "spread" in row.name:
                owners.setdefault((row.name, row.unit, row.scale), set()).add(page.trial.prototype)
    return [finding for finding, who in owners.items() if len(who) > 1][:2]


def _chart(content: NotebookContent, order: int, name: str, unit: str, scale: float) -> Picture:
    pages = [p for p in content.trials if any(row.name == name for row in p.findings)]
    behind = "; ".join(f"{p.trial.name}: {shots_in_words(p)}" for p in pages)
    looks = {p.trial.name: looks_of(content)[p.trial.prototype] for p in pages}
    return Picture(
        f"spread-{order}",
        f"{name[:1].upper()}{name[1:]} of each trial with its 95 % interval. {behind}.",
        partial(_draw, pages, name, unit, scale, looks),
    )


def _draw(
    pages: list[TrialPage],
    name: str,
    unit: str,
    scale: float,
    looks: dict[str, Series],
    key: str,
    width: float,
) -> Drawing:
    groups = groups_of_findings(pages, name)
    label = f"{name} [{unit}]" if unit else name
    return interval_chart(
        groups, key=key, width=width, title=name, x_label=label, unit=unit, scale=scale, looks=looks
    )


def _table(content: NotebookContent) -> Table:
    columns = (
        Column("pair", share=1.5),
        Column("in", share=1.2),
        Column("value (95 % interval)", share=1.6),
        Column("p", True, 0.8),
        Column("trials and shots", share=3.4),
    )
    shots = {p.trial.name: shots_in_words(p) for p in content.trials}
    rows = tuple(
        (
            f"{row.first} and {row.second}",
            row.what,
            estimate_words(row.estimate, row.unit, row.scale),
            _p(row),
            "; ".join(f"{name}: {shots.get(name, 'shots not listed here')}" for name in row.trials) or "–",
        )
        for row in content.comparison
    )
    caption = (
        "Prototypes two by two. A ratio or difference is the second against the first. p is the chance of a "
        "difference at least this large if the two were alike, adjusted for making several comparisons."
    )
    return Table(caption, columns, rows)


def _p(row: ComparisonRow) -> str:
    if row.p_value is None:
        return "–"
    return "<\u00a00.001" if row.p_value < 0.001 else f"{row.p_value:.2g}"
