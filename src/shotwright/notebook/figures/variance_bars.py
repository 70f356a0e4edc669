"""Shares of a variance by input: a filled bar for the input alone, an outline for all it has a hand in."""

from __future__ import annotations

from collections.abc import Sequence

from shotwright.base.estimate import Estimate
from shotwright.notebook import chart, lettering
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.on_paper import ShareBar, ShareGroup
from shotwright.notebook.palette import SMALL

BAR, ROW, HEAD, GAP = 12.0, 20.0, 22.0, 6.0  # px: bar, row, heading of a group, space between groups


def variance_bars(groups: Sequence[ShareGroup], *, key: str, width: float) -> Drawing:
    """Draw variance shares, one group of bars for each output.

    Parameters
    ----------
    groups : sequence of ShareGroup
        In the order wanted; bars from the largest down.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        The chart.
    """
    legend = [
        LegendEntry("alone", "s0", opacity=0.55),
        LegendEntry("together with others", "s0", opacity=0.12),
        LegendEntry("error of the draws", "ink", dash=""),
    ]
    names = [bar.input for group in groups for bar in group.bars]
    room = min(0.36 * width, 10 + max((lettering.width(name, SMALL) for name in names), default=0))
    top = chart.legend_height(legend, width) + 6
    height = sum(HEAD + ROW * len(group.bars) + GAP for group in groups)
    frame = Frame(room, top, width - room - 14, height, 0.0, 100.0, 0.0, 1.0)
    title = "Share of the variance by input"
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, title, describe(groups))
    chart.draw_legend(drawing, 0, 0, legend, width)
    chart.draw_axes(drawing, frame, "share of the predicted variance [%]", "", y_ticks=False)
    y = frame.top
    for group in groups:
        words = lettering.fit(group.name, SMALL, frame.width - 12)
        drawing.text((frame.left + 6, y + 15), words, size=SMALL, bold=True, halo=True, kind="group")
        y += HEAD
        for bar in group.bars:
            name = lettering.fit(bar.input, SMALL, frame.left - 10)
            drawing.text((frame.left - 7, y + BAR - 2), name, size=SMALL, anchor="end", kind="row")
            _bar(drawing, frame, y, bar)
            y += ROW
        y += GAP
    return drawing


def describe(groups: Sequence[ShareGroup]) -> str:
    """Return the chart in words.

    Parameters
    ----------
    groups : sequence of ShareGroup
        As drawn.

    Returns
    -------
    str
        One sentence for each group.
    """
    return " ".join(
        f"{group.name}: "
        + "; ".join(
            f"{bar.input} {100 * bar.alone.value:.0f} % alone, {100 * bar.in_all.value:.0f} % in all"
            for bar in group.bars
        )
        + "."
        for group in groups
    )


def _bar(drawing: Drawing, frame: Frame, y: float, bar: ShareBar) -> None:
    for share, opacity, edge in ((bar.in_all, 0.12, "s0"), (bar.alone, 0.55, "")):
        right = frame.x(_within(100 * share.value))
        if right - frame.left > 0.25:
            ring = [(frame.left, y), (right, y), (right, y + BAR), (frame.left, y + BAR)]
            drawing.area([ring], "s0", opacity=opacity, edge=edge, kind="share")
    _error(drawing, frame, y + BAR / 2, bar.in_all)


def _error(drawing: Drawing, frame: Frame, y: float, share: Estimate) -> None:
    low, high = (frame.x(_within(100 * end)) for end in (share.low, share.high))
    drawing.line([(low, y), (high, y)], "ink", kind="interval")
    for x in (low, high):
        drawing.line([(x, y - 3), (x, y + 3)], "ink", width=0.75)


def _within(value: float) -> float:
    return min(max(value, 0.0), 100.0)
