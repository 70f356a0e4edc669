"""Points of match plans: how often each number came up, plan under plan on one scale."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from shotwright.match.results import PlanPoints
from shotwright.notebook import chart, lettering
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.palette import SMALL, series

_ROW, _HEAD = 84.0, 20.0  # px
_MOST_BARS = 60


def match_points(plans: Sequence[PlanPoints], *, key: str, width: float) -> Drawing:
    """Draw the distribution of points of each plan, with its mean and the middle nine tenths.

    Parameters
    ----------
    plans : sequence of PlanPoints
        At least one.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        One row a plan.
    """
    legend = [
        LegendEntry("PREDICTED share of matches", "s0", opacity=0.3),
        LegendEntry("mean", "ink", dash=""),
        LegendEntry("nine matches of ten", "warn", dash="6 4"),
    ]
    room = width - chart.LEFT - 8
    top = chart.legend_height(legend, room) + 6
    step, low, high = _bins(plans)
    height = (_ROW + _HEAD) * len(plans)
    title = "Points of each match plan, predicted"
    drawing = Drawing(key, width, top + height + chart.BELOW, title, _described(plans))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, room)
    tallest = 0.0
    bars = []
    for plan in plans:
        total = sum(count for _, count in plan.histogram)
        shares: dict[int, float] = {}
        for points, count in plan.histogram:
            bin_of = int((points - low) // step)
            shares[bin_of] = shares.get(bin_of, 0.0) + count / total
        bars.append(shares)
        tallest = max(tallest, *shares.values())
    whole = Frame(chart.LEFT, top, room, height, low, high, 0.0, 1.0)
    chart.draw_axes(drawing, whole, "points in a match", "", y_ticks=False)
    for k, (plan, shares) in enumerate(zip(plans, bars, strict=True)):
        frame = Frame(
            chart.LEFT, top + k * (_ROW + _HEAD) + _HEAD, room, _ROW, low, high, 0.0, 1.08 * tallest
        )
        _row(drawing, frame, plan, shares, step, series(k).name)
    return drawing


def _row(
    drawing: Drawing, frame: Frame, plan: PlanPoints, shares: dict[int, float], step: float, colour: str
) -> None:
    for bin_of, share in sorted(shares.items()):
        left, right = frame.x_low + bin_of * step, frame.x_low + (bin_of + 1) * step
        corners = [frame.at(left, 0), frame.at(left, share), frame.at(right, share), frame.at(right, 0)]
        drawing.area([corners], colour, opacity=0.35)
    for end in (plan.quantiles[0], plan.quantiles[-1]):
        drawing.line([frame.at(end, 0.0), frame.at(end, 0.75 * frame.y_high)], "warn", width=1.4, dash="6 4")
    mean = plan.mean.value
    drawing.line([frame.at(mean, 0.0), frame.at(mean, frame.y_high)], "ink", width=1.8)
    drawing.line([(frame.left, frame.bottom), (frame.right, frame.bottom)], "soft")
    words = lettering.fit(f"{plan.plan}: {mean:.1f} points", SMALL, frame.width - 12)
    drawing.text((frame.left + 6, frame.top - 5), words, size=SMALL, bold=True, halo=True, kind="group")


def _bins(plans: Sequence[PlanPoints]) -> tuple[float, float, float]:
    """Width of a bar, and the ends of the axis: whole multiples of the step between possible points."""
    values = sorted({points for plan in plans for points, _ in plan.histogram})
    gaps = [b - a for a, b in itertools.pairwise(values) if b - a > 1e-9]
    step = min(gaps, default=1.0)
    low, high = values[0], values[-1]
    while (high - low) / step > _MOST_BARS:
        step *= 2
    return step, low - step / 2, high + step * 1.5


def _described(plans: Sequence[PlanPoints]) -> str:
    return " ".join(
        f"{one.plan}: mean {one.mean.value:.1f} points, {one.quantiles[0]:g} to {one.quantiles[-1]:g} in "
        "nine matches of ten."
        for one in plans
    )
