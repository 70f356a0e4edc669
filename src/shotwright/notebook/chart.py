"""A frame with axes: data to pixels, grid, ticks, labels, legend. Linear axes, y up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.notebook import lettering, ticks
from shotwright.notebook.drawing import Drawing, Point
from shotwright.notebook.palette import SMALL, Mark

TICK_ROOM_X = 46.0  # px that one tick label on the x axis may take
TICK_ROOM_Y = 40.0  # px between tick labels on the y axis; half of it where few would be left
FEWEST_TICKS = 3  # to read a value by
LEFT, BELOW = 52.0, 42.0  # px for labels left of and below a frame


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle of the drawing and the range of data that it shows.

    Parameters
    ----------
    left, top, width, height : float
        The rectangle. [px]
    x_low, x_high, y_low, y_high : float
        Data at its edges, low < high.
    mirrored : bool
        x grows to the left: a quantity that is positive to the left, seen from behind.
    """

    left: float
    top: float
    width: float
    height: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float
    mirrored: bool = False

    @property
    def right(self) -> float:
        """Right edge. [px]."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Lower edge. [px]."""
        return self.top + self.height

    @property
    def x_scale(self) -> float:
        """Pixels per unit of x."""
        return self.width / (self.x_high - self.x_low)

    @property
    def y_scale(self) -> float:
        """Pixels per unit of y."""
        return self.height / (self.y_high - self.y_low)

    def x(self, value: float) -> float:
        """Return the pixel of a value of x."""
        way = (value - self.x_low) * self.x_scale
        return self.right - way if self.mirrored else self.left + way

    def y(self, value: float) -> float:
        """Return the pixel of a value of y."""
        return self.bottom - (value - self.y_low) * self.y_scale

    def at(self, x: float, y: float) -> Point:
        """Return the pixel of a point."""
        return self.x(x), self.y(y)

    def path(self, points: NDArray[np.float64]) -> list[Point]:
        """Return the pixels of points (x, y), shape (k, 2)."""
        return [self.at(float(x), float(y)) for x, y in points]

    def shows(self, x: float, y: float) -> bool:
        """Whether the point lies within the frame."""
        return self.x_low <= x <= self.x_high and self.y_low <= y <= self.y_high


def equal_frame(
    left: float,
    top: float,
    width: float,
    heights: tuple[float, float],
    x_range: tuple[float, float],
    y_range: tuple[float, float],
) -> Frame:
    """Return a frame with the same scale on both axes that shows at least the ranges given.

    The width is kept. The height follows from the ranges, within `heights`; where that would not do, the
    shorter range is widened about its middle.

    Parameters
    ----------
    left, top, width : float
        Place and width. [px]
    heights : tuple of float
        Least and largest height. [px]
    x_range, y_range : tuple of float
        Data to be shown, low < high.

    Returns
    -------
    Frame
        With `x_scale` equal to `y_scale`.
    """
    x_span, y_span = x_range[1] - x_range[0], y_range[1] - y_range[0]
    scale = min(width / x_span, heights[1] / y_span)
    height = min(max(y_span * scale, heights[0]), heights[1])
    x_low, x_high = _widened(x_range, width / scale)
    y_low, y_high = _widened(y_range, height / scale)
    return Frame(left, top, width, height, x_low, x_high, y_low, y_high)


def _widened(ends: tuple[float, float], span: float) -> tuple[float, float]:
    middle = (ends[0] + ends[1]) / 2
    return middle - span / 2, middle + span / 2


def steps_of(frame: Frame, *, equal: bool = False) -> tuple[float, float]:
    """Return the tick steps in x and y that leave each label its room; the same on both when `equal`."""
    in_x = ticks.round_step(frame.x_high - frame.x_low, max(1, int(frame.width / TICK_ROOM_X)))
    in_y = ticks.round_step(frame.y_high - frame.y_low, max(1, int(frame.height / TICK_ROOM_Y)))
    if equal:
        return (max(in_x, in_y),) * 2
    if len(_within(frame.y_low, frame.y_high, in_y)) < FEWEST_TICKS:
        in_y = ticks.round_step(frame.y_high - frame.y_low, max(1, int(2 * frame.height / TICK_ROOM_Y)))
    return in_x, in_y


def draw_axes(
    drawing: Drawing, frame: Frame, x_label: str, y_label: str, *, equal: bool = False, y_ticks: bool = True
) -> None:
    """Draw background, grid, ticks and axis labels of a frame.

    Parameters
    ----------
    drawing : Drawing
        Drawn on.
    frame : Frame
        The frame.
    x_label, y_label : str
        Quantity with its unit: ``"speed [m/s]"``. An empty label draws none.
    equal : bool
        Use one tick step on both axes, so that the grid is square.
    y_ticks : bool
        False leaves out the numbers of the y axis, for a chart with names beside its rows.
    """
    drawing.box(frame.left, frame.top, frame.width, frame.height, "paper", kind="frame")
    step_x, step_y = steps_of(frame, equal=equal)
    _x_ticks(drawing, frame, step_x)
    if y_ticks:
        _y_ticks(drawing, frame, step_y)
    drawing.box(frame.left, frame.top, frame.width, frame.height, edge="soft", kind="border")
    if x_label:
        middle = frame.left + frame.width / 2
        drawing.text((middle, frame.bottom + 34), x_label, anchor="middle", kind="label")
    if y_label:
        at = (frame.left - 40, frame.top + frame.height / 2)
        drawing.text(at, y_label, anchor="middle", turned=True, kind="label")


def _x_ticks(drawing: Drawing, frame: Frame, step: float) -> None:
    for value in _within(frame.x_low, frame.x_high, step):
        x = frame.x(value)
        drawing.line([(x, frame.top), (x, frame.bottom)], "grid")
        drawing.line([(x, frame.bottom), (x, frame.bottom + 4)], "soft")
        words = ticks.label(value, step)
        drawing.text((x, frame.bottom + 17), words, size=SMALL, anchor="middle", colour="soft", kind="tick-x")


def _y_ticks(drawing: Drawing, frame: Frame, step: float) -> None:
    for value in _within(frame.y_low, frame.y_high, step):
        y = frame.y(value)
        drawing.line([(frame.left, y), (frame.right, y)], "grid")
        drawing.line([(frame.left - 4, y), (frame.left, y)], "soft")
        words = ticks.label(value, step)
        drawing.text((frame.left - 7, y + 4), words, size=SMALL, anchor="end", colour="soft", kind="tick-y")


def _within(low: float, high: float, step: float) -> list[float]:
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(k * step, ticks.places(step)) + 0.0 for k in range(first, last + 1)]


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """One line of a legend.

    Parameters
    ----------
    words : str
        What it stands for.
    colour : str
        Name in the palette.
    mark : Mark, optional
        Its mark; None for a line or an area.
    hollow : bool
        Hollow mark.
    dash : str, optional
        Dash of its line; None draws no line.
    opacity : float, optional
        Fill of its area; None for no area.
    """

    words: str
    colour: str
    mark: Mark | None = None
    hollow: bool = False
    dash: str | None = None
    opacity: float | None = None


KEY, GAP, ROW = 26.0, 18.0, 18.0  # px: key symbol with its space, between entries, row height


def legend_height(entries: Sequence[LegendEntry], width: float) -> float:
    """Return the height that a legend takes in the given width. [px]."""
    placed = _legend_places(entries, width)
    return ROW * (placed[-1][1] + len(placed[-1][2])) + 6 if placed else 0.0


def _legend_places(
    entries: Sequence[LegendEntry], width: float
) -> list[tuple[float, int, list[str], LegendEntry]]:
    """For each entry: distance from the left [px], row, and its words in lines."""
    placed: list[tuple[float, int, list[str], LegendEntry]] = []
    used, row, lines = 0.0, 0, 1
    for entry in entries:
        words = lettering.wrap(entry.words, SMALL, width - KEY - 2)
        need = KEY + max(lettering.width(line, SMALL) for line in words)
        if placed and (used + need > width or len(words) > 1 or lines > 1):
            used, row = 0.0, row + lines
        placed.append((used, row, words, entry))
        used, lines = used + need + GAP, len(words)
    return placed


def draw_legend(
    drawing: Drawing, left: float, top: float, entries: Sequence[LegendEntry], width: float
) -> None:
    """Draw a legend in rows from (left, top), outside every frame; an entry too long for a row is wrapped.

    Parameters
    ----------
    drawing : Drawing
        What to draw into.
    left, top : float
        The legend's upper left corner. [px]
    entries : sequence of LegendEntry
        In the order of reading.
    width : float
        How wide a row may get. [px]
    """
    for across, row, words, entry in _legend_places(entries, width):
        x, y = left + 1 + across, top + ROW * row + 12
        _key(drawing, x, y - 4, entry)
        for k, line in enumerate(words):
            drawing.text((x + KEY, y + ROW * k), line, size=SMALL, kind="legend")


def _key(drawing: Drawing, x: float, y: float, entry: LegendEntry) -> None:
    if entry.opacity is not None:
        corners = [(x, y - 5), (x + 19, y - 5), (x + 19, y + 5), (x, y + 5)]
        drawing.area([corners], entry.colour, opacity=entry.opacity, edge=entry.colour)
    if entry.dash is not None:
        drawing.line([(x, y), (x + 20, y)], entry.colour, width=1.6, dash=entry.dash)
    if entry.mark is not None:
        drawing.mark((x + 10, y), entry.mark, entry.colour, hollow=entry.hollow)
