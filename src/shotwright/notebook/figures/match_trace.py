"""Speed, currents and temperatures of a drive against time over a match, one panel below the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.palette import SMALL, series

FloatArray = NDArray[np.float64]

_PANEL, _GAP = 150.0, 50.0  # px
_POINTS = 1500  # pixels are fewer; what lies between two is drawn as its least and most


@dataclass(frozen=True, slots=True)
class TraceCurve:
    """One curve of a panel.

    Parameters
    ----------
    name : str
        What stands in the legend.
    values : ndarray, shape (n,)
        In the panel's unit.
    """

    name: str
    values: FloatArray


@dataclass(frozen=True, slots=True)
class TracePanel:
    """One panel of the picture.

    Parameters
    ----------
    label : str
        Quantity with its unit.
    curves : tuple of TraceCurve
        Drawn from the first to the last.
    limits : tuple of (str, float)
        Level lines with their name.
    """

    label: str
    curves: tuple[TraceCurve, ...]
    limits: tuple[tuple[str, float], ...] = ()


def match_trace(
    time: FloatArray,
    panels: Sequence[TracePanel],
    *,
    key: str,
    width: float,
    title: str,
    along: str = "time [s]",
) -> Drawing:
    """Draw panels over one axis of time, or of angle.

    Parameters
    ----------
    time : ndarray, shape (n,)
        Rising; two rows may share a time where something jumps. In the unit of `along`.
    panels : sequence of TracePanel
        From the top.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    title : str
        Short.
    along : str
        What the axis shows, with its unit in brackets.

    Returns
    -------
    Drawing
        Curves differ by dash as well as colour.
    """
    curves = [curve for panel in panels for curve in panel.curves]
    names = list(dict.fromkeys(curve.name for curve in curves))
    looks = {name: series(i) for i, name in enumerate(names)}
    legend = [LegendEntry(name, looks[name].name, dash=looks[name].dash) for name in names]
    if any(panel.limits for panel in panels):
        legend.append(LegendEntry("ready speed, or limit", "ink", dash="2 3"))
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    bottom = top + len(panels) * _PANEL + (len(panels) - 1) * _GAP
    drawing = Drawing(key, width, bottom + chart.BELOW, title, _describe(time, panels, along))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    for i, panel in enumerate(panels):
        last = i == len(panels) - 1
        frame = _frame(time, panel, top + i * (_PANEL + _GAP), width)
        chart.draw_axes(drawing, frame, along if last else "", panel.label)
        with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
            for _, value in panel.limits:
                drawing.line([frame.at(frame.x_low, value), frame.at(frame.x_high, value)], "ink", dash="2 3")
            for curve in panel.curves:
                look = looks[curve.name]
                drawing.line(frame.path(_thinned(time, curve.values)), look.name, width=1.3, dash=look.dash)
    drawing.text(
        (width - 8, bottom + 34), "predicted", size=SMALL, anchor="end", colour="soft", kind="origin"
    )
    return drawing


def _frame(time: FloatArray, panel: TracePanel, top: float, width: float) -> Frame:
    values = np.concatenate([curve.values for curve in panel.curves])
    low, high = min(0.0, float(values.min())), float(values.max())
    if panel.label.startswith("temperature"):
        low = float(values.min())
    near = [value for _, value in panel.limits if value <= high + 0.6 * (high - low)]
    high = max([high, *near])
    room = 0.05 * (high - low) or 1.0
    return Frame(
        chart.LEFT, top, width - chart.LEFT - 8, _PANEL,
        float(time[0]), float(time[-1]), low - (room if low < 0 else 0.0), high + room,
    )  # fmt: skip


def _thinned(time: FloatArray, values: FloatArray) -> FloatArray:
    """Keep of each short stretch of time its first, least, most and last value."""
    points = np.column_stack([time, values])
    if len(points) <= _POINTS:
        return points
    cell = np.minimum((time - time[0]) / (time[-1] - time[0]) * (_POINTS // 4), _POINTS // 4 - 1).astype(int)
    kept: set[int] = set()
    edges = np.flatnonzero(np.diff(cell)) + 1
    for rows in np.split(np.arange(len(time)), edges):
        kept |= {
            int(rows[0]),
            int(rows[-1]),
            int(rows[np.argmin(values[rows])]),
            int(rows[np.argmax(values[rows])]),
        }
    return points[sorted(kept)]


def _describe(time: FloatArray, panels: Sequence[TracePanel], along: str) -> str:
    parts = [
        f"{curve.name} {curve.values.min():.3g} to {curve.values.max():.3g}, {curve.values[-1]:.3g} at the "
        f"end ({panel.label})"
        for panel in panels
        for curve in panel.curves
    ]
    unit = along.partition("[")[2].rstrip("]")
    return f"Over {time[-1] - time[0]:.0f} {unit}, predicted: {'; '.join(parts)}."
