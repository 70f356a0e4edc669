"""Range over a setting: the model on paper, the corrected model with its band, and what was measured.

Predicted things are lines and bands, dashed where nobody fired; measured means are filled marks with their
interval, simulated ones hollow.
"""

from __future__ import annotations

from collections.abc import Sequence

from shotwright.base.estimate import Estimate
from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing, Point
from shotwright.trials.calibration_records import CalibrationCurve, CurvePoint, MeasuredPoint

_HEIGHT = 250.0  # px
_PAPER, _LEARNED = "s5", "s0"
_DASH = "6 4"


def calibration_curve(curve: CalibrationCurve, prototype: str, *, key: str, width: float) -> Drawing:
    """Draw predicted against measured range over the setting that the trials varied.

    Parameters
    ----------
    curve : CalibrationCurve
        Predicted points and measured means.
    prototype : str
        Whose.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        With a legend that tells predicted from measured.
    """
    legend = _legend(curve)
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    frame = _frame(curve, top, width)
    title = f"Range of {prototype} over {curve.setting}, predicted and measured"
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, title, _described(curve, prototype))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    unit = f" [{curve.unit}]" if curve.unit else ""
    chart.draw_axes(drawing, frame, f"{curve.setting}{unit}", "distance to the floor [m]")
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        for which, colour, opacity in (("on_paper", _PAPER, 0.12), ("calibrated", _LEARNED, 0.25)):
            for run in _runs(curve.points, which):
                _band(drawing, frame, run, colour, opacity)
        _middle(drawing, frame, curve, "on_paper", _PAPER)
        _middle(drawing, frame, curve, "calibrated", _LEARNED)
    for point in curve.measured:
        _mark(drawing, frame, point)
    return drawing


def _runs(points: Sequence[CurvePoint], which: str) -> list[list[tuple[float, Estimate]]]:
    """Stretches of the curve without gaps."""
    runs: list[list[tuple[float, Estimate]]] = [[]]
    for point in points:
        found = getattr(point, which)
        if isinstance(found, Estimate):
            runs[-1].append((point.value, found))
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if len(run) > 1]


def _band(
    drawing: Drawing, frame: Frame, run: Sequence[tuple[float, Estimate]], colour: str, opacity: float
) -> None:
    ring: list[Point] = [frame.at(x, e.low) for x, e in run] + [frame.at(x, e.high) for x, e in reversed(run)]
    drawing.area([ring], colour, opacity=opacity)


def _middle(drawing: Drawing, frame: Frame, curve: CalibrationCurve, which: str, colour: str) -> None:
    """Draw the line of medians, dashed outside the fired settings and everywhere on paper."""
    fired = [point.value for point in curve.measured]
    for run in _runs(curve.points, which):
        line = [frame.at(x, e.value) for x, e in run]
        drawing.line(line, colour, width=1.6, dash=_DASH)
        if which == "calibrated" and fired:
            inside = [frame.at(x, e.value) for x, e in run if min(fired) <= x <= max(fired)]
            if len(inside) > 1:
                drawing.line(inside, colour, width=2.2)


def _mark(drawing: Drawing, frame: Frame, point: MeasuredPoint) -> None:
    x = frame.x(point.value)
    drawing.line([(x, frame.y(point.reach.low)), (x, frame.y(point.reach.high))], "s1", width=1.6)
    for end in (point.reach.low, point.reach.high):
        drawing.line([(x - 4, frame.y(end)), (x + 4, frame.y(end))], "s1", width=1.6)
    at = frame.at(point.value, point.reach.value)
    drawing.mark(at, "square", "s1", size=4.5, hollow=point.origin == "simulated")


def _frame(curve: CalibrationCurve, top: float, width: float) -> Frame:
    found = [e for p in curve.points for e in (p.on_paper, p.calibrated) if isinstance(e, Estimate)]
    values = [v for e in [*found, *(m.reach for m in curve.measured)] for v in (e.low, e.high)] or [0.0, 1.0]
    xs = [p.value for p in curve.points] + [m.value for m in curve.measured]
    low, high = max(0.0, min(values)), max(values)
    room = 0.06 * (high - low) or 1.0
    across = 0.02 * (max(xs) - min(xs)) or 1.0
    return Frame(
        chart.LEFT, top, width - chart.LEFT - 8, _HEIGHT,
        min(xs) - across, max(xs) + across, low - room, high + room,
    )  # fmt: skip


def _legend(curve: CalibrationCurve) -> list[LegendEntry]:
    entries = [
        LegendEntry("predicted on paper, 95 %", _PAPER, opacity=0.12),
        LegendEntry("predicted after calibration, 95 %", _LEARNED, opacity=0.25),
    ]
    if len({point.value for point in curve.measured}) > 1:
        entries.append(LegendEntry("between fired settings", _LEARNED, dash=""))
    entries.append(LegendEntry("predicted only", _LEARNED, dash=_DASH))
    for origin, words in (("measured", "MEASURED mean, 95 %"), ("simulated", "SIMULATED mean, 95 %")):
        if any(point.origin == origin for point in curve.measured):
            entries.append(LegendEntry(words, "s1", mark="square", hollow=origin == "simulated"))
    return entries


def _described(curve: CalibrationCurve, prototype: str) -> str:
    said = [f"Predicted range of {prototype} over {curve.setting}, before and after calibration."]
    said += [
        f"{p.trial} ({p.origin}): {p.reach.value:.2f} m at {p.value:.4g} {curve.unit}".rstrip() + "."
        for p in curve.measured
    ]
    return " ".join(said)
