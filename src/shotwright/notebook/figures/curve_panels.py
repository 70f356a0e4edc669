"""Panels with curves, marks, level lines and spans of time, one below the other; each with its own axes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.notebook import chart, lettering
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.palette import SMALL, Mark, series

FloatArray = NDArray[np.float64]

_PANEL, _GAP, _ROW = 150.0, 54.0, 20.0  # px
_LEVEL = "2 3"


@dataclass(frozen=True, slots=True)
class PanelCurve:
    """One curve.

    Parameters
    ----------
    name : str
        What stands in the legend; curves of one name look the same in all panels.
    points : sequence of (float, float)
        In the panel's units.
    """

    name: str
    points: Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class PanelMark:
    """One point that matters.

    Parameters
    ----------
    name : str
        What stands in the legend.
    x, y : float
        In the panel's units.
    shape : Mark
        Its mark.
    """

    name: str
    x: float
    y: float
    shape: Mark = "circle"


@dataclass(frozen=True, slots=True)
class CurvePanel:
    """One panel.

    Parameters
    ----------
    x_label, y_label : str
        Quantities with their unit.
    curves : tuple of PanelCurve
        Drawn from the first to the last.
    marks : tuple of PanelMark
        On top.
    levels : tuple of (str, float)
        Level lines with their name.
    from_zero : bool
        Whether the y axis begins at zero.
    """

    x_label: str
    y_label: str
    curves: tuple[PanelCurve, ...]
    marks: tuple[PanelMark, ...] = ()
    levels: tuple[tuple[str, float], ...] = ()
    from_zero: bool = True


@dataclass(frozen=True, slots=True)
class SpanPanel:
    """Who runs when.

    Parameters
    ----------
    x_label : str
        Time with its unit.
    rows : tuple of (str, spans)
        Name, and pairs of begin and end.
    ends : (float, float)
        Of the axis.
    """

    x_label: str
    rows: tuple[tuple[str, tuple[tuple[float, float], ...]], ...]
    ends: tuple[float, float]


def curve_panels(panels: Sequence[CurvePanel | SpanPanel], *, key: str, width: float, title: str) -> Drawing:
    """Draw panels one below the other.

    Parameters
    ----------
    panels : sequence of CurvePanel or SpanPanel
        From the top.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    title : str
        Short.

    Returns
    -------
    Drawing
        Curves differ by dash as well as colour, marks by shape.
    """
    curved = [panel for panel in panels if isinstance(panel, CurvePanel)]
    names = list(dict.fromkeys(curve.name for panel in curved for curve in panel.curves))
    looks = {name: series(i) for i, name in enumerate(names)}
    marks = {mark.name: mark.shape for panel in curved for mark in panel.marks}
    levels = list(dict.fromkeys(name for panel in curved for name, _ in panel.levels))
    legend = [LegendEntry(name, looks[name].name, dash=looks[name].dash) for name in names]
    legend += [LegendEntry(name, "ink", mark=shape) for name, shape in marks.items()]
    legend += [LegendEntry(", ".join(levels), "ink", dash=_LEVEL)] if levels else []
    left = _left(panels, width)
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    heights = [_height(panel) for panel in panels]
    bottom = top + sum(heights) + _GAP * (len(panels) - 1)
    drawing = Drawing(key, width, bottom + chart.BELOW, title, _describe(panels))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    for panel, height in zip(panels, heights, strict=True):
        if isinstance(panel, SpanPanel):
            _draw_spans(drawing, panel, top, left, width, height)
        else:
            frame = _frame(panel, top, left, width, height)
            chart.draw_axes(drawing, frame, panel.x_label, panel.y_label)
            with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
                for _, value in panel.levels:
                    drawing.line(
                        [frame.at(frame.x_low, value), frame.at(frame.x_high, value)], "ink", dash=_LEVEL
                    )
                for curve in panel.curves:
                    look = looks[curve.name]
                    points = np.array([p for p in curve.points if np.all(np.isfinite(p))], dtype=float)
                    if len(points):
                        drawing.line(frame.path(points), look.name, width=1.6, dash=look.dash)
            for mark in panel.marks:
                if frame.shows(mark.x, mark.y):
                    drawing.mark(frame.at(mark.x, mark.y), mark.shape, "ink", size=5.0)
        top += height + _GAP
    drawing.text(
        (width - 8, bottom + 34), "predicted", size=SMALL, anchor="end", colour="soft", kind="origin"
    )
    return drawing


def _height(panel: CurvePanel | SpanPanel) -> float:
    return _PANEL if isinstance(panel, CurvePanel) else _ROW * max(len(panel.rows), 1) + 8


def _left(panels: Sequence[CurvePanel | SpanPanel], width: float) -> float:
    """Left edge of all panels, so that their times stand one below the other. [px]."""
    names = [name for panel in panels if isinstance(panel, SpanPanel) for name, _ in panel.rows]
    room = 20 + max((lettering.width(name, SMALL) for name in names), default=0.0)
    return max(min(0.3 * width, room), chart.LEFT)


def _frame(panel: CurvePanel, top: float, left: float, width: float, height: float) -> Frame:
    points = np.array(
        [p for curve in panel.curves for p in curve.points if np.all(np.isfinite(p))], dtype=float
    ).reshape(-1, 2)
    points = points if len(points) else np.array([[0.0, 0.0], [1.0, 1.0]])
    (x_low, low), (x_high, high) = points.min(axis=0), points.max(axis=0)
    low = min(0.0, low) if panel.from_zero else low
    near = [value for _, value in panel.levels if value <= high + 0.8 * (high - low)]
    high = max([high, *near, *(mark.y for mark in panel.marks)])
    low = min([low, *(mark.y for mark in panel.marks)])
    room = 0.06 * (high - low) or 0.5
    if not x_high > x_low:
        x_low, x_high = x_low - 0.5, x_high + 0.5
    if panel.marks:
        x_low, x_high = x_low - 0.03 * (x_high - x_low), x_high + 0.03 * (x_high - x_low)
    below = 0.0 if panel.from_zero and low >= 0 else room
    return Frame(
        left, top, width - left - 12, height,
        float(x_low), float(x_high), float(low - below), float(high + room),
    )  # fmt: skip


def _draw_spans(
    drawing: Drawing, panel: SpanPanel, top: float, left: float, width: float, height: float
) -> None:
    frame = Frame(left, top, width - left - 12, height, *panel.ends, 0.0, 1.0)
    chart.draw_axes(drawing, frame, panel.x_label, "", y_ticks=False)
    for i, (name, spans) in enumerate(panel.rows):
        y = top + 4 + _ROW * i
        words = lettering.fit(name, SMALL, left - 10)
        drawing.text((left - 6, y + 14), words, size=SMALL, anchor="end", kind="row")
        for begin, end in spans:
            x, stop = frame.x(begin), frame.x(min(end, panel.ends[1]))
            drawing.box(x, y + 4, max(stop - x, 1.5), _ROW - 8, series(i).name, kind="span")


def _describe(panels: Sequence[CurvePanel | SpanPanel]) -> str:
    said = []
    for panel in panels:
        if isinstance(panel, SpanPanel):
            said += [f"{name} runs {len(spans)} times" for name, spans in panel.rows]
            continue
        for curve in panel.curves:
            values = [y for _, y in curve.points if np.isfinite(y)]
            if values:
                said.append(f"{curve.name} {min(values):.3g} to {max(values):.3g} ({panel.y_label})")
        said += [f"{mark.name} at {mark.x:.3g}, {mark.y:.3g}" for mark in panel.marks]
    return f"Predicted: {'; '.join(said)}."
