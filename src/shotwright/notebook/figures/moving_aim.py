"""How the aim changes with the robot's motion: lead angle and launch speed, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.palette import series

FloatArray = NDArray[np.float64]
HEIGHT, GAP = 220.0, 30.0  # px


@dataclass(frozen=True, slots=True)
class MotionCurve:
    """What the aim is along one direction of driving.

    Parameters
    ----------
    name : str
        ``"driving towards the target"``.
    robot_m_s, lead_deg, speed_m_s : ndarray, shape (k,)
        Robot's speed, lead angle, launch speed; NaN where nothing hits.
    """

    name: str
    robot_m_s: FloatArray
    lead_deg: FloatArray
    speed_m_s: FloatArray


def moving_aim(curves: Sequence[MotionCurve], *, key: str, width: float, title: str) -> Drawing:
    """Draw lead angle and launch speed against the robot's speed.

    Parameters
    ----------
    curves : sequence of MotionCurve
        One for each direction of driving.
    key : str
        Unique on the page.
    width : float
        Of the box. [px]
    title : str
        Short.

    Returns
    -------
    Drawing
        Two frames with the same x axis.
    """
    legend = [LegendEntry(one.name, series(k).name, dash=series(k).dash) for k, one in enumerate(curves)]
    top = chart.legend_height(legend, width - chart.LEFT) + 8
    panels = (("lead angle, left positive [°]", "lead_deg"), ("launch speed [m/s]", "speed_m_s"))
    wide = (width - 2 * chart.LEFT - GAP - 8) / 2
    x_range = _range([one.robot_m_s for one in curves], 0.0)
    drawing = Drawing(key, width, top + HEIGHT + chart.BELOW, title, _describe(curves))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    for column, (label, field) in enumerate(panels):
        y_range = _range([getattr(one, field) for one in curves], 0.06)
        left = chart.LEFT + column * (wide + chart.LEFT + GAP)
        frame = Frame(left, top, wide, HEIGHT, *x_range, *y_range)
        chart.draw_axes(drawing, frame, "robot's speed [m/s]", label)
        drawing.line([frame.at(0.0, y_range[0]), frame.at(0.0, y_range[1])], "soft", dash="2 3")
        for k, one in enumerate(curves):
            for piece in _pieces(one.robot_m_s, getattr(one, field)):
                drawing.line(frame.path(piece), series(k).name, width=2.0, dash=series(k).dash, kind="curve")
    return drawing


def _range(values: Sequence[FloatArray], margin: float) -> tuple[float, float]:
    every = np.concatenate(list(values))
    every = every[np.isfinite(every)]
    low, high = (float(every.min()), float(every.max())) if len(every) else (-1.0, 1.0)
    if high - low < 1e-3:
        low, high = low - 1.0, high + 1.0
    return low - margin * (high - low), high + margin * (high - low)


def _pieces(x: FloatArray, y: FloatArray) -> list[FloatArray]:
    """Parts of a curve without holes, each of at least two points."""
    points = np.column_stack([x, y])
    good = np.isfinite(y)
    edges = np.flatnonzero(np.diff(good.astype(int))) + 1
    parts = np.split(np.arange(len(x)), edges)
    return [points[part] for part in parts if len(part) > 1 and good[part[0]]]


def _describe(curves: Sequence[MotionCurve]) -> str:
    said = []
    for one in curves:
        good = np.flatnonzero(np.isfinite(one.speed_m_s))
        if len(good):
            first, last = good[0], good[-1]
            said.append(
                f"{one.name}, {one.robot_m_s[first]:.1f} to {one.robot_m_s[last]:.1f} m/s: launch speed "
                f"{one.speed_m_s[first]:.2f} to {one.speed_m_s[last]:.2f} m/s, lead "
                f"{one.lead_deg[first]:.1f} to {one.lead_deg[last]:.1f}°."
            )
    return " ".join(said) or "No setting hits."
