"""Force of a spring against its travel: readings both ways, the curve through them, the stroke."""

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
_HEIGHT = 260.0  # px


@dataclass(frozen=True, slots=True, eq=False)
class ForceLine:
    """One curve, with the readings behind it.

    Parameters
    ----------
    name : str
        In the legend.
    travel, force : ndarray, shape (n,)
        The curve. [mm], [N]
    readings : ndarray, shape (k, 2), optional
        Travel and force as read. [mm], [N]
    """

    name: str
    travel: FloatArray
    force: FloatArray
    readings: FloatArray | None = None


def force_chart(
    lines: Sequence[ForceLine],
    *,
    key: str,
    width: float,
    title: str,
    origin: str,
    stroke: tuple[float, float],
) -> Drawing:
    """Draw force against travel; the area of the stroke under the first curve is its energy.

    Parameters
    ----------
    lines : sequence of ForceLine
        Loading first.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    title : str
        Short.
    origin : str
        ``"measured"`` or ``"computed"``.
    stroke : tuple of float
        Travel at the front stop and wound. [mm]

    Returns
    -------
    Drawing
        Curves differ by dash and mark as well as colour.
    """
    looks = [series(i) for i in range(len(lines))]
    legend = [
        LegendEntry(one.name, look.name, mark=None if one.readings is None else look.mark, dash=look.dash)
        for one, look in zip(lines, looks, strict=True)
    ]
    legend.append(LegendEntry("work of the stroke", looks[0].name, opacity=0.15))
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    drawing = Drawing(key, width, top + _HEIGHT + chart.BELOW, title, _describe(lines, stroke))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    every = [np.column_stack([one.travel, one.force]) for one in lines]
    every += [one.readings for one in lines if one.readings is not None]
    points = np.concatenate(every)
    low, high = min(0.0, float(points[:, 0].min())), float(points[:, 0].max())
    least, most = min(0.0, float(points[:, 1].min())), 1.06 * float(points[:, 1].max())
    wide = width - chart.LEFT - 8
    frame = Frame(chart.LEFT, top, wide, _HEIGHT, low, high + 0.03 * (high - low), least, most)
    chart.draw_axes(drawing, frame, "travel [mm]", "force [N]")
    first = lines[0]
    inside = (first.travel >= stroke[0] - 1e-9) & (first.travel <= stroke[1] + 1e-9)
    area = np.column_stack([first.travel[inside], first.force[inside]])
    if len(area) > 1:
        ring = [frame.at(area[0, 0], 0.0), *frame.path(area), frame.at(area[-1, 0], 0.0)]
        drawing.area([ring], looks[0].name, opacity=0.15)
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        for one, look in zip(lines, looks, strict=True):
            curve = np.column_stack([one.travel, one.force])
            drawing.line(frame.path(curve), look.name, width=1.6, dash=look.dash)
            for x, y in one.readings if one.readings is not None else ():
                drawing.mark(frame.at(float(x), float(y)), look.mark, look.name)
    place = (width - 8, top + _HEIGHT + 34)
    drawing.text(place, origin, size=SMALL, anchor="end", colour="soft", kind="origin")
    return drawing


def _describe(lines: Sequence[ForceLine], stroke: tuple[float, float]) -> str:
    parts = [
        f"{one.name}: {one.force[0]:.3g} N at {one.travel[0]:.3g} mm to {one.force[-1]:.3g} N at "
        f"{one.travel[-1]:.3g} mm"
        for one in lines
    ]
    return f"Force against travel. {'; '.join(parts)}. Stroke from {stroke[0]:.3g} to {stroke[1]:.3g} mm."
