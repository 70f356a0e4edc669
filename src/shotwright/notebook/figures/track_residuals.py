"""How far the ball's centres lie off the flight that was fitted, frame by frame."""

from __future__ import annotations

from collections.abc import Sequence

from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.palette import Mark

_HEIGHT = 180.0  # px
_ACROSS, _DOWN = "s0", "s1"


def track_residuals(
    times: Sequence[float],
    across: Sequence[float],
    down: Sequence[float],
    kept: Sequence[bool],
    *,
    key: str,
    width: float,
    title: str,
) -> Drawing:
    """Draw seen less computed centres over time.

    Parameters
    ----------
    times : sequence of float
        [s]
    across, down : sequence of float
        Residuals. [px]
    kept : sequence of bool
        False for a point that was left out; drawn as a cross, at the edge when it lies beyond.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    title : str
        What it shows.

    Returns
    -------
    Drawing
        The chart.
    """
    legend = [
        LegendEntry("across", _ACROSS, mark="circle"),
        LegendEntry("down", _DOWN, mark="square"),
        LegendEntry("left out", "soft", mark="cross"),
    ]
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    used = [abs(v) for a, d, k in zip(across, down, kept, strict=True) if k for v in (a, d)]
    reach = 1.25 * max([*used, 0.1])
    room = 0.03 * (times[-1] - times[0])
    frame = Frame(
        chart.LEFT, top, width - chart.LEFT - 8, _HEIGHT, times[0] - room, times[-1] + room, -reach, reach
    )
    worst = max(used, default=0.0)
    drawing = Drawing(
        key,
        width,
        frame.bottom + chart.BELOW,
        title,
        f"{len(times)} frames; the worst used is {worst:.2f} px off.",
    )
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    chart.draw_axes(drawing, frame, "time on the clip [s]", "seen less computed [px]")
    drawing.line([(frame.left, frame.y(0.0)), (frame.right, frame.y(0.0))], "soft", width=1.0)
    for time, a, d, good in zip(times, across, down, kept, strict=True):
        shapes: tuple[tuple[float, Mark, str], ...] = ((a, "circle", _ACROSS), (d, "square", _DOWN))
        for value, mark, colour in shapes:
            at = frame.at(time, min(max(value, -reach), reach))
            drawing.mark(at, mark if good else "cross", colour if good else "soft", size=3.5)
    return drawing
