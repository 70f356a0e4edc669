"""A shot table as curves: the setting over the distance with its notches, and the hit probability below."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing
from shotwright.tuning.records import MeasuredSetting, ShotTable, TableRow

_HEIGHT, _BELOW, _GAP = 190.0, 130.0, 26.0  # px: setting, hit probability, between them


def shot_table_curve(table: ShotTable, *, key: str, width: float) -> Drawing:
    """Draw setting and hit probability over the distance.

    Parameters
    ----------
    table : ShotTable
        The table.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        Two frames over one axis of distance.
    """
    room = width - chart.LEFT - 8
    legend = [
        LegendEntry("PREDICTED setting, 95 %", "s0", opacity=0.25, dash=""),
        LegendEntry("fewest notches", "s1", dash="7 3"),
        LegendEntry("PREDICTED hit probability, 95 %", "s2", opacity=0.25, dash=""),
        LegendEntry(f"level of the notches, {100 * table.level:.0f} %", "warn", dash="6 4"),
    ]
    top = chart.legend_height(legend, room) + 6
    title = f"Shot table of {table.prototype} at {table.target}, predicted"
    bottom = top + _HEIGHT + _GAP + _BELOW
    drawing = Drawing(key, width, bottom + chart.BELOW, title, _described(table))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, room)
    rows = table.rows
    low, high = rows[0].distance_m, rows[-1].distance_m
    edge = 0.02 * (high - low)
    with_setting = [row for row in rows if math.isfinite(row.setting.value)]
    ends = [v for row in with_setting for v in (row.setting.low, row.setting.high)]
    ends += [notch.setting for notch in table.notches if math.isfinite(notch.setting)]
    room_y = 0.06 * (max(ends) - min(ends)) or 1.0
    frame = Frame(
        chart.LEFT, top, room, _HEIGHT, low - edge, high + edge, min(ends) - room_y, max(ends) + room_y
    )
    unit = f" [{table.setting_unit}]" if table.setting_unit else ""
    chart.draw_axes(drawing, frame, "", f"{table.setting_name}{unit}")
    _setting(drawing, frame, with_setting)
    for notch in table.notches:
        if math.isfinite(notch.setting):
            line = [frame.at(notch.from_m, notch.setting), frame.at(notch.to_m, notch.setting)]
            drawing.line(line, "s1", width=2.2, dash="7 3")
    below = Frame(chart.LEFT, top + _HEIGHT + _GAP, room, _BELOW, low - edge, high + edge, 0.0, 100.0)
    chart.draw_axes(drawing, below, "distance to the middle of the opening [m]", "hits [%]")
    _hits(drawing, below, rows)
    drawing.line(
        [below.at(low, 100 * table.level), below.at(high, 100 * table.level)], "warn", width=1.4, dash="6 4"
    )
    return drawing


def _setting(drawing: Drawing, frame: Frame, rows: Sequence[TableRow]) -> None:
    band = [frame.at(row.distance_m, row.setting.low) for row in rows]
    band += [frame.at(row.distance_m, row.setting.high) for row in reversed(rows)]
    drawing.area([band], "s0", opacity=0.25)
    line = [frame.at(row.distance_m, row.setting.value) for row in rows]
    drawing.line(line, "s0", width=2.0)
    for at in line:
        drawing.mark(at, "circle", "s0", size=3)


def _hits(drawing: Drawing, frame: Frame, rows: Sequence[TableRow]) -> None:
    band = [frame.at(row.distance_m, 100 * row.hit.low) for row in rows]
    band += [frame.at(row.distance_m, 100 * row.hit.high) for row in reversed(rows)]
    drawing.area([band], "s2", opacity=0.25)
    line = [frame.at(row.distance_m, 100 * row.hit.value) for row in rows]
    drawing.line(line, "s2", width=2.0)


def speed_over_setting(table: ShotTable, *, key: str, width: float) -> Drawing:
    """Draw the launch speed over the setting, with the trials as points.

    Parameters
    ----------
    table : ShotTable
        The table; at least one trial says what was set.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        Predicted line and band, measured points.
    """
    points = placed_trials(table)
    rows = [row for row in table.rows if math.isfinite(row.setting.value)]
    legend = [LegendEntry("PREDICTED, 95 %", "s0", opacity=0.25, dash="")]
    for origin, words in (("measured", "MEASURED mean, 95 %"), ("simulated", "SIMULATED mean, 95 %")):
        if any(point.origin == origin for point in points):
            legend.append(LegendEntry(words, "s1", mark="square", hollow=origin == "simulated"))
    room = width - chart.LEFT - 8
    top = chart.legend_height(legend, room) + 6
    title = f"Launch speed of {table.prototype} over its {table.setting_name}"
    said = [f"{p.trial} ({p.origin}): {p.speed_m_s.value:.2f} m/s at {p.setting:.4g}." for p in points]
    drawing = Drawing(key, width, top + _HEIGHT + chart.BELOW, title, " ".join([f"{title}.", *said]))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, room)
    xs = [v for row in rows for v in (row.setting.low, row.setting.high)] + [p.setting or 0.0 for p in points]
    ys = [row.speed_m_s for row in rows] + [v for p in points for v in _ends(p)]
    x_room, y_room = 0.03 * (max(xs) - min(xs)) or 1.0, 0.06 * (max(ys) - min(ys)) or 1.0
    frame = Frame(
        chart.LEFT, top, room, _HEIGHT, min(xs) - x_room, max(xs) + x_room, min(ys) - y_room, max(ys) + y_room
    )
    unit = f" [{table.setting_unit}]" if table.setting_unit else ""
    chart.draw_axes(drawing, frame, f"{table.setting_name}{unit}", "launch speed [m/s]")
    band = [frame.at(row.setting.low, row.speed_m_s) for row in rows]
    band += [frame.at(row.setting.high, row.speed_m_s) for row in reversed(rows)]
    drawing.area([band], "s0", opacity=0.25)
    drawing.line([frame.at(row.setting.value, row.speed_m_s) for row in rows], "s0", width=2.0)
    for point in points:
        x = point.setting or 0.0
        low, high = _ends(point)
        drawing.line([frame.at(x, low), frame.at(x, high)], "s1", width=1.6)
        at = frame.at(x, point.speed_m_s.value)
        drawing.mark(at, "square", "s1", size=4.5, hollow=point.origin == "simulated")
    return drawing


def placed_trials(table: ShotTable) -> tuple[MeasuredSetting, ...]:
    """Return the trials that say what was set."""
    return tuple(point for point in table.measured if point.setting is not None)


def _ends(point: MeasuredSetting) -> tuple[float, float]:
    speed = point.speed_m_s
    return (speed.low, speed.high) if math.isfinite(speed.high) else (speed.value, speed.value)


def _described(table: ShotTable) -> str:
    said = [
        f"{row.distance_m:.2f} m: {row.setting.value:.4g} {table.setting_unit}, {100 * row.hit.value:.0f} %."
        for row in table.rows
        if math.isfinite(row.setting.value)
    ]
    return " ".join([f"Shot table of {table.prototype} at {table.target}, predicted.", *said])
