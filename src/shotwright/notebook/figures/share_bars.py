"""Wholes cut into shares: how often a prototype takes each rank, where an interval gets its width from."""

from __future__ import annotations

from collections.abc import Sequence

from shotwright.notebook import chart, lettering
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.content import RankRow, SharePart
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.palette import SMALL, series

BAR, ROW, HEAD, GAP = 18.0, 28.0, 22.0, 6.0  # px: bar, row, heading of a group, space between groups


def rank_chart(ranks: Sequence[RankRow], *, key: str, width: float) -> Drawing:
    """Draw rank acceptability: one bar for each prototype, cut at the ranks, in groups by weights.

    Parameters
    ----------
    ranks : sequence of RankRow
        Rows; those with the same `weights_words` stand together.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        The chart; darker is a better rank, and the rank stands in the bar.
    """
    groups: dict[str, list[tuple[str, list[SharePart]]]] = {}
    for row in ranks:
        parts = [SharePart(f"rank {k + 1}", share) for k, share in enumerate(row.shares)]
        groups.setdefault(f"With {row.weights_words}", []).append((row.prototype, parts))
    count = max((len(row.shares) for row in ranks), default=1)
    looks = {
        f"rank {k + 1}": ("s0", max(0.08, 0.85 - 0.75 * k / max(count - 1, 1)), "") for k in range(count)
    }
    return _bars(groups, looks, key, width, "Rank acceptability", "share of draws [%]")


def spread_share(wholes: Sequence[tuple[str, Sequence[SharePart]]], *, key: str, width: float) -> Drawing:
    """Draw where the doubt of each figure comes from, one bar for each.

    Parameters
    ----------
    wholes : sequence of (str, sequence of SharePart)
        Name of the whole and its parts.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        The chart.
    """
    names = list(dict.fromkeys(part.name for _, parts in wholes for part in parts))
    looks = {
        name: (series(k).name, 0.30 if k % 2 == 0 else 0.55, series(k).dash) for k, name in enumerate(names)
    }
    groups = {"": [(name, list(parts)) for name, parts in wholes]}
    return _bars(groups, looks, key, width, "Where the doubt comes from", "share of the doubt [%]")


def _bars(
    groups: dict[str, list[tuple[str, list[SharePart]]]],
    looks: dict[str, tuple[str, float, str]],
    key: str,
    width: float,
    title: str,
    x_label: str,
) -> Drawing:
    legend = [LegendEntry(name, colour, opacity=faint) for name, (colour, faint, _) in looks.items()]
    names = [name for rows in groups.values() for name, _ in rows]
    room = min(0.38 * width, 10 + max((lettering.width(name, SMALL) for name in names), default=0))
    top = chart.legend_height(legend, width) + 6
    height = sum((HEAD if head else GAP) + ROW * len(rows) + GAP for head, rows in groups.items())
    frame = Frame(room, top, width - room - 14, height, 0.0, 100.0, 0.0, 1.0)
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, title, _describe(groups))
    chart.draw_legend(drawing, 0, 0, legend, width)
    chart.draw_axes(drawing, frame, x_label, "", y_ticks=False)
    y = frame.top
    for head, rows in groups.items():
        if head:
            words = lettering.fit(head, SMALL, frame.width - 12)
            drawing.text((frame.left + 6, y + 15), words, size=SMALL, bold=True, halo=True, kind="group")
        y += HEAD if head else GAP
        for name, parts in rows:
            words = lettering.fit(name, SMALL, frame.left - 10)
            drawing.text((frame.left - 7, y + BAR / 2 + 6), words, size=SMALL, anchor="end", kind="row")
            _bar(drawing, frame, y + 3, parts, looks)
            y += ROW
        y += GAP
    return drawing


def _describe(groups: dict[str, list[tuple[str, list[SharePart]]]]) -> str:
    said = []
    for head, rows in groups.items():
        for name, parts in rows:
            whole = ", ".join(f"{part.name} {100 * part.share:.0f} %" for part in parts)
            said.append(f"{head + ', ' if head else ''}{name}: {whole}.")
    return " ".join(said)


def _bar(
    drawing: Drawing,
    frame: Frame,
    y: float,
    parts: Sequence[SharePart],
    looks: dict[str, tuple[str, float, str]],
) -> None:
    done = 0.0
    for part in parts:
        left, right = frame.x(100 * done), frame.x(100 * min(done + part.share, 1.0))
        done += part.share
        if right - left < 0.25:
            continue
        colour, faint, _ = looks[part.name]
        ring = [(left, y), (right, y), (right, y + BAR), (left, y + BAR)]
        drawing.area([ring], "paper")
        drawing.area([ring], colour, opacity=faint, edge=colour, kind="share")
        words = f"{100 * part.share:.0f} %"
        if lettering.width(words, SMALL) + 8 <= right - left:
            shade = "paper" if faint > 0.6 else "ink"
            middle = ((left + right) / 2, y + BAR / 2 + 4)
            drawing.text(middle, words, size=SMALL, anchor="middle", colour=shade, kind="share-words")
