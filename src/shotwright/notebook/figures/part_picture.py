"""A flat part drawn to scale, with the torque over the turn below it where it turns a shaft."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.build.outline import Drawing as Sheet
from shotwright.notebook import chart, ticks
from shotwright.notebook.chart import Frame
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.palette import SMALL

FloatArray = NDArray[np.float64]

_TALLEST = 420.0  # px of one drawing
_MARGIN, _GAP = 12.0, 22.0
_PANEL = 150.0
_OTHERS = (("s0", "6 3"), ("s2", "2 3"), ("soft", "8 2 2 2"))
_NEAR = 0.15  # px; corners that stray less from a straight line are left out


def part_picture(
    sheets: Sequence[Sheet],
    *,
    key: str,
    width: float,
    torque: Sequence[tuple[float, float]] = (),
    others: Sequence[tuple[str, Sequence[tuple[float, float]]]] = (),
    title: str = "",
) -> Drawing:
    """Draw a part.

    Parameters
    ----------
    sheets : sequence of Drawing
        Its drawings, one beside the other at one scale, or one below the other where that gives more room.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    torque : sequence of (float, float)
        Turn [deg] and torque [N m], for the panel below.
    others : sequence of (str, sequence)
        The same of other ways to do it, with their names; drawn thinner.
    title : str
        Short; the first drawing's name when empty.

    Returns
    -------
    Drawing
        With a bar that gives the scale.
    """
    places, scale, height = _placed(sheets, width)
    names = title or (sheets[0].title.part if sheets else "part")
    bottom = height + (30.0 if sheets else 0.0)
    panel = _PANEL + chart.BELOW + 10 if len(torque) else 0.0
    drawing = Drawing(key, width, bottom + panel, f"{names}, to scale", _described(sheets, torque))
    for sheet, (left, top) in zip(sheets, places, strict=True):
        _sheet(drawing, sheet, left, top, scale)
    if sheets:
        _scale_bar(drawing, scale, height + 14)
    if len(torque):
        _torque(drawing, np.asarray(torque, dtype=float), bottom + 10, width, others)
    return drawing


def torque_picture(
    torque: Sequence[tuple[float, float]],
    *,
    key: str,
    width: float,
    title: str,
    others: Sequence[tuple[str, Sequence[tuple[float, float]]]] = (),
) -> Drawing:
    """Draw the torque over the turn alone, for a page that has room for it beside the part.

    Parameters
    ----------
    torque : sequence of (float, float)
        Turn [deg] and torque [N m].
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    title : str
        Of the part.
    others : sequence of (str, sequence)
        The same of other ways to do it, with their names.

    Returns
    -------
    Drawing
        Axes and one curve, thinner ones of the others.
    """
    drawing = Drawing(
        key, width, _PANEL + chart.BELOW + 8, f"{title}, torque over the turn", _described((), torque)
    )
    _torque(drawing, np.asarray(torque, dtype=float), 8.0, width, others)
    return drawing


def _placed(sheets: Sequence[Sheet], width: float) -> tuple[list[tuple[float, float]], float, float]:
    """Upper left corner of each drawing [px], scale [px/m], height of all [px]."""
    if not sheets:
        return [], 1.0, 0.0
    sizes = [(b[2] - b[0], b[3] - b[1]) for b in (sheet.bounds_m for sheet in sheets)]
    room = width - 2 * _MARGIN
    beside = min(
        (room - _GAP * (len(sizes) - 1)) / sum(w for w, _ in sizes), _TALLEST / max(h for _, h in sizes)
    )
    below = min(room / max(w for w, _ in sizes), _TALLEST / max(h for _, h in sizes))
    places, at = [], _MARGIN
    if beside >= 0.7 * below:
        tall = max(h for _, h in sizes) * beside
        spare = (room - sum(w for w, _ in sizes) * beside - _GAP * (len(sizes) - 1)) / 2
        at += spare
        for wide, high in sizes:
            places.append((at, _MARGIN + (tall - high * beside) / 2))
            at += wide * beside + _GAP
        return places, beside, tall + 2 * _MARGIN
    for wide, high in sizes:
        places.append(((width - wide * below) / 2, at))
        at += high * below + _GAP
    return places, below, at - _GAP + _MARGIN


def _sheet(drawing: Drawing, sheet: Sheet, left: float, top: float, scale: float) -> None:
    x_low, _, _, y_high = sheet.bounds_m

    def pixels(points: FloatArray, closed: bool) -> list[tuple[float, float]]:
        held = np.column_stack([left + scale * (points[:, 0] - x_low), top + scale * (y_high - points[:, 1])])
        return _thinned(np.concatenate([held, held[:1]]) if closed else held)

    rings = [pixels(loop.points, True) for loop in (*sheet.outers, *sheet.holes)]
    drawing.area(rings, "shade", edge="ink", edge_width=1.2)
    for line in sheet.engraved:
        drawing.line(pixels(line, False), "s0", width=0.8, dash="5 3")
    for x, y in sheet.centres:
        at_x, at_y = left + scale * (x - x_low), top + scale * (y_high - y)
        drawing.line([(at_x - 3, at_y), (at_x + 3, at_y)], "soft", width=0.7)
        drawing.line([(at_x, at_y - 3), (at_x, at_y + 3)], "soft", width=0.7)


def _thinned(points: FloatArray) -> list[tuple[float, float]]:
    from shapely.geometry import LineString

    kept = np.asarray(LineString(points).simplify(_NEAR, preserve_topology=False).coords)
    return [(float(x), float(y)) for x, y in kept]


def _scale_bar(drawing: Drawing, scale: float, top: float) -> None:
    length = ticks.round_step(drawing.width / scale, 6)
    pixels, left = length * scale, 8.0
    drawing.line([(left, top), (left + pixels, top)], "ink", width=2.0)
    for x in (left, left + pixels):
        drawing.line([(x, top - 4), (x, top + 4)], "ink")
    drawing.text((left + pixels + 8, top + 4), f"{1e3 * length:.4g} mm", size=SMALL)


def _torque(
    drawing: Drawing,
    points: FloatArray,
    top: float,
    width: float,
    others: Sequence[tuple[str, Sequence[tuple[float, float]]]] = (),
) -> None:
    curves = [np.asarray(curve, dtype=float) for _, curve in others]
    every = np.concatenate([points, *curves])[:, 1]
    low, high = min(0.0, float(every.min())), max(float(every.max()), 1e-9)
    frame = Frame(
        chart.LEFT, top, width - chart.LEFT - 8, _PANEL,
        float(points[0, 0]), float(points[-1, 0]), low, high + 0.1 * (high - low),
    )  # fmt: skip
    chart.draw_axes(drawing, frame, "turn [°]", "torque [N m]")
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        for curve, (colour, dash) in zip(curves, _OTHERS, strict=False):
            drawing.line(frame.path(curve), colour, width=1.1, dash=dash)
        drawing.line(frame.path(points), "s1", width=1.5)
    # Names stand low in the panel, where a part that winds has no torque.
    left, line = frame.left + 8, frame.top + frame.height - 8
    for (name, _), (colour, dash) in zip(others, _OTHERS, strict=False):
        drawing.line([(left, line - 4), (left + 22, line - 4)], colour, width=1.1, dash=dash)
        drawing.text((left + 27, line), name, size=SMALL)
        left += 45 + 6.2 * len(name)


def _described(sheets: Sequence[Sheet], torque: Sequence[tuple[float, float]]) -> str:
    parts = []
    for sheet in sheets:
        left, low, right, high = (1000 * edge for edge in sheet.bounds_m)
        holes = f", {len(sheet.holes)} holes" if sheet.holes else ""
        parts.append(f"{sheet.title.part}: {right - left:.1f} by {high - low:.1f} mm{holes}")
    if len(torque):
        values = [value for _, value in torque]
        parts.append(
            f"torque from {min(values):.3g} to {max(values):.3g} N m over {torque[-1][0] - torque[0][0]:.0f}°"
        )
    return "; ".join(parts) + "."
