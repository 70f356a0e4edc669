"""How often each prototype would score from each firing position."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from shotwright.base.estimate import NotEstimated
from shotwright.notebook.blocks import Block, Bullets, Column, Picture, Section, Table, Words
from shotwright.notebook.content import HitRow, NotebookContent
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.interval_chart import IntervalGroup, IntervalRow, interval_chart
from shotwright.notebook.figures.share_bars import spread_share
from shotwright.notebook.looks import looks_of
from shotwright.notebook.palette import Series
from shotwright.notebook.wording import estimate_words, listed, percent, shots_in_words

PARTS_SHOWN = 12  # bars that one chart of shares holds


def hits(content: NotebookContent) -> Section:
    """Return the chapter on hit probabilities."""
    if not content.hits:
        words = Words("No hit probability has been worked out yet.")
        return Section("hits", "Hit probability", (words,), fresh_page=True)
    blocks: list[Block] = [
        Words(
            "The hit probability is the chance that the next ball scores. It is predicted: the scatter "
            "measured in the trials is carried through the flight to each firing position, with the "
            "spread of the robot's own place and heading, and through the opening."
        ),
        Picture(
            "hit-probability",
            "Predicted hit probability of each prototype at each firing position, with its 95 % interval. "
            + _behind(content),
            partial(_chart, content.hits, looks_of(content)),
        ),
        _table(content),
        _narrowing(content.hits),
    ]
    with_parts = [row for row in content.hits if row.parts]
    if with_parts:
        blocks.append(
            Picture(
                "width-shares",
                "Where the doubt in each hit probability comes from, in shares of its variance. A large "
                f"share of few shots says: fire more. {_behind(content)}",
                partial(_shares, with_parts[:PARTS_SHOWN]),
            )
        )
    return Section("hits", "Hit probability", tuple(blocks), fresh_page=True)


def _behind(content: NotebookContent) -> str:
    used = {name for row in content.hits for name in row.trials}
    pages = [page for page in content.trials if page.trial.name in used]
    said = [
        f"{p.trial.name} ({p.trial.prototype}): {shots_in_words(p)}"
        f"{', SIMULATED' if p.trial.origin == 'simulated' else ''}"
        for p in pages
    ]
    return f"From {'; '.join(said)}." if said else ""


def _chart(rows: Sequence[HitRow], looks: dict[str, Series], key: str, width: float) -> Drawing:
    groups: dict[str, list[IntervalRow]] = {}
    for row in rows:
        one = IntervalRow(row.prototype, row.estimate, row.origin == "simulated", row.count)
        groups.setdefault(f"{row.position} to {row.target}", []).append(one)
    return interval_chart(
        [IntervalGroup(name, tuple(members)) for name, members in groups.items()],
        key=key,
        width=width,
        title="Hit probability",
        x_label="hit probability [%]",
        unit="%",
        scale=100.0,
        ends=(0.0, 100.0),
        second_words="from counting hits and misses alone",
        looks=looks,
    )


def _table(content: NotebookContent) -> Table:
    columns = (
        Column("position to target", share=1.6),
        Column("prototype", share=1.0),
        Column("setting", share=1.3),
        Column("hit probability", share=1.5),
        Column("by counting alone", share=1.5),
        Column("all spread in elevation … in speed", share=1.2),
        Column("trials", share=1.0),
        Column("shots", True, 0.6),
    )
    rows = tuple(
        (
            f"{row.position} to {row.target}",
            row.prototype,
            row.setting_words or "–",
            estimate_words(row.estimate, "%", 100.0),
            _counted(row),
            "–" if row.extremes is None else f"{percent(row.extremes[1])} … {percent(row.extremes[0])}",
            (", ".join(row.trials) or "–") + (" SIMULATED" if row.origin == "simulated" else ""),
            str(row.shots) if row.trials else "–",
        )
        for row in content.hits
    )
    caption = (
        "Hit probability with its 95 % interval. One setting cannot tell a spread in speed from one in "
        "elevation: the sixth column shows what the two extremes would give. Shots are those that counted "
        "in the trials named."
    )
    return Table(caption, columns, rows)


def _counted(row: HitRow) -> str:
    if row.count is None:
        return "–"
    return estimate_words(row.count, "%", 100.0) + (" (trust this one)" if row.count_leads else "")


def _narrowing(rows: Sequence[HitRow]) -> Block:
    said: dict[str, list[str]] = {}
    for row in rows:
        if row.narrows:
            said.setdefault(row.narrows, []).append(f"{row.prototype} at {row.position}")
    items = [f"{listed(list(dict.fromkeys(names)))}: {words}" for words, names in said.items()]
    items += [
        f"{row.prototype} at {row.position}, {row.target}: no figure, because {row.estimate.reason}."
        for row in rows
        if isinstance(row.estimate, NotEstimated)
    ]
    return Bullets(tuple(items)) if items else Words("Nothing is known that would narrow these intervals.")


def _shares(rows: Sequence[HitRow], key: str, width: float) -> Drawing:
    wholes = [(f"{row.prototype}, {row.position} to {row.target}", row.parts) for row in rows]
    return spread_share(wholes, key=key, width=width)
