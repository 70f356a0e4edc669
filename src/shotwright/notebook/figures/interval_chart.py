"""Estimates with their 95 % bars, row under row, in groups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.notebook import chart, lettering, ticks
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.evidence import TrialPage
from shotwright.notebook.palette import SMALL, Series, series
from shotwright.notebook.wording import estimate_words

ROW, HEAD, GAP = 22.0, 22.0, 8.0  # px: row, heading of a group, space between groups


@dataclass(frozen=True, slots=True)
class IntervalRow:
    """One estimate.

    Parameters
    ----------
    label : str
        Whose it is; rows of one label share a look.
    estimate : Estimate or NotEstimated
        Drawn after multiplying by the chart's scale.
    simulated : bool
        Hollow mark.
    second : Estimate or NotEstimated, optional
        Another interval for the same thing, drawn thin beneath.
    """

    label: str
    estimate: Estimated
    simulated: bool = False
    second: Estimated | None = None


@dataclass(frozen=True, slots=True)
class IntervalGroup:
    """Rows under one heading.

    Parameters
    ----------
    name : str
        The heading.
    rows : tuple of IntervalRow
        At least one.
    """

    name: str
    rows: tuple[IntervalRow, ...]


def interval_chart(
    groups: Sequence[IntervalGroup],
    *,
    key: str,
    width: float,
    title: str,
    x_label: str,
    unit: str = "",
    scale: float = 1.0,
    ends: tuple[float, float] | None = None,
    second_words: str = "",
    looks: dict[str, Series] | None = None,
) -> Drawing:
    """Draw estimates as marks on their 95 % bars, with the numbers at the right.

    Parameters
    ----------
    groups : sequence of IntervalGroup
        Groups in the order wanted.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    title, x_label : str
        What it shows; quantity with unit.
    unit : str
        Unit behind the printed numbers.
    scale : float
        Multiplies all estimates: 100 draws probabilities in percent.
    ends : tuple of float, optional
        Ends of the axis after scaling; found from the data when None.
    second_words : str
        What the second, thin bar is.
    looks : dict of str to Series, optional
        Look of each label.

    Returns
    -------
    Drawing
        The chart. What could not be estimated stands in its row with the reason.
    """
    labels = list(dict.fromkeys(row.label for group in groups for row in group.rows))
    looks = looks or {label: series(k) for k, label in enumerate(labels)}
    legend = [LegendEntry("best value and 95 % interval", "ink", mark="circle", dash="")]
    if second_words and any(isinstance(row.second, Estimate) for group in groups for row in group.rows):
        legend.append(LegendEntry(second_words, "soft", dash="2 2"))
    if any(row.simulated for group in groups for row in group.rows):
        legend.append(LegendEntry("hollow: SIMULATED", "ink", mark="circle", hollow=True))
    name_room = min(0.28 * width, 8 + max(lettering.width(label, SMALL) for label in labels))
    said = [estimate_words(row.estimate, unit, scale) for group in groups for row in group.rows]
    wide = width >= 480
    value_room = (
        max((lettering.width(s, SMALL) for s in said if not s.startswith("not")), default=0) + 14
        if wide
        else 10
    )
    top = chart.legend_height(legend, width) + 6
    row = ROW if wide else ROW + 15
    height = sum(HEAD + row * len(group.rows) + GAP for group in groups)
    low, high = ends or _ends(groups, scale)
    frame = Frame(name_room, top, width - name_room - value_room, height, low, high, 0.0, 1.0)
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, title, describe(groups, unit, scale))
    chart.draw_legend(drawing, 0, 0, legend, width)
    chart.draw_axes(drawing, frame, x_label, "", y_ticks=False)
    y = frame.top
    for group in groups:
        name = lettering.fit(group.name, SMALL, frame.width - 12)
        drawing.text((frame.left + 6, y + 15), name, size=SMALL, bold=True, halo=True, kind="group")
        y += HEAD
        for one in group.rows:
            _row(drawing, frame, y + row - ROW / 2, one, looks[one.label], (unit, scale), wide)
            y += row
        y += GAP
    return drawing


def describe(groups: Sequence[IntervalGroup], unit: str, scale: float) -> str:
    """Return the chart in words, row by row.

    Parameters
    ----------
    groups : sequence of IntervalGroup
        The chart's rows.
    unit : str
        Printed behind the numbers.
    scale : float
        Multiplies every number first.

    Returns
    -------
    str
        The words that stand in for the chart.
    """
    return " ".join(
        f"{group.name}: "
        + "; ".join(
            f"{row.label} {estimate_words(row.estimate, unit, scale)}"
            + (" (simulated)" if row.simulated else "")
            for row in group.rows
        )
        + "."
        for group in groups
    )


def _ends(groups: Sequence[IntervalGroup], scale: float) -> tuple[float, float]:
    found = [
        scale * v
        for group in groups
        for row in group.rows
        for one in (row.estimate, row.second)
        if isinstance(one, Estimate)
        for v in (one.low, one.value, one.high)
    ]
    return ticks.rounded_out(min([0.0, *found]), max(found, default=1.0))


def _row(
    drawing: Drawing,
    frame: Frame,
    y: float,
    row: IntervalRow,
    look: Series,
    printed: tuple[str, float],
    wide: bool,
) -> None:
    unit, scale = printed
    words = estimate_words(row.estimate, unit, scale)
    name = lettering.fit(row.label, SMALL, frame.left - 8)
    drawing.text((frame.left - 7, y + 4), name, size=SMALL, anchor="end", kind="row")
    if isinstance(row.estimate, NotEstimated):
        words = lettering.fit(words, SMALL, frame.width - 16)
        drawing.text((frame.left + 8, y + 4), words, size=SMALL, colour="soft", halo=True, kind="value")
        return
    if isinstance(row.second, Estimate):
        _bar(drawing, frame, y + 6, (scale * row.second.low, scale * row.second.high), "soft", 1.0, "2 2")
    _bar(drawing, frame, y, (scale * row.estimate.low, scale * row.estimate.high), look.name, 2.0, "")
    x = frame.x(scale * row.estimate.value)
    drawing.mark((x, y), look.mark, look.name, size=4.5, hollow=row.simulated, kind="shot")
    at = (frame.right + 8, y + 4) if wide else (frame.left + 6, y - 9)
    drawing.text(at, words, size=SMALL, colour="soft", halo=not wide, kind="value")


def _bar(
    drawing: Drawing, frame: Frame, y: float, ends: tuple[float, float], colour: str, width: float, dash: str
) -> None:
    low, high = (frame.x(min(max(v, frame.x_low), frame.x_high)) for v in ends)
    drawing.line([(low, y), (high, y)], colour, width=width, dash=dash, kind="interval")
    for x in (low, high):
        drawing.line([(x, y - 4), (x, y + 4)], colour, width=width * 0.75)


def groups_of_findings(pages: Sequence[TrialPage], name: str) -> list[IntervalGroup]:
    """Gather the finding of that name over trials, one group for each prototype.

    Parameters
    ----------
    pages : sequence of TrialPage
        Trials.
    name : str
        Name of a `FindingRow`.

    Returns
    -------
    list of IntervalGroup
        Groups in order of appearance; trials without the finding are left out.
    """
    found: dict[str, list[IntervalRow]] = {}
    for page in pages:
        for row in page.findings:
            if row.name == name:
                simulated = page.trial.origin == "simulated"
                one = IntervalRow(page.trial.name, row.estimate, simulated)
                found.setdefault(page.trial.prototype, []).append(one)
    return [IntervalGroup(prototype, tuple(rows)) for prototype, rows in found.items()]
