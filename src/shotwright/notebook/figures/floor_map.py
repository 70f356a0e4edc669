"""Hit probability over the floor, seen from above: darker scores more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing, Point
from shotwright.notebook.palette import SMALL

FloatArray = NDArray[np.float64]

BANDS = 10  # of hit probability, 10 % each
HUE = "s0"
FAINTEST, DARKEST = 0.05, 0.95  # of the hue over the paper; even steps of it are even steps of lightness
_CROSSES = 0.4  # m between marks of blocked places
_MOST_HEIGHT = 640.0  # px


@dataclass(frozen=True, slots=True)
class FloorPanel:
    """What a floor map shows.

    Parameters
    ----------
    title : str
        Short.
    x, y : ndarray, shape (nx,), (ny,)
        Middles of the places, evenly spaced, rising. [m]
    chance : ndarray, shape (ny, nx)
        NaN where nothing scores. [-]
    blocked : ndarray of bool, shape (ny, nx)
        Where something stands in the way.
    target : (float, float)
        Middle of the opening. [m]
    solids : sequence of (name, outline)
        Outlines of what stands on the floor, shape (k, 2). [m]
    positions : sequence of (name, (x, y))
        Firing positions. [m]
    best : (float, float), optional
        The place with the most hits. [m]
    origin : str
        ``"measured"`` or ``"simulated"`` trials.
    """

    title: str
    x: FloatArray
    y: FloatArray
    chance: FloatArray
    blocked: NDArray[np.bool_]
    target: Point
    solids: Sequence[tuple[str, FloatArray]]
    positions: Sequence[tuple[str, Point]]
    best: Point | None
    origin: str


def opacity(band: int) -> float:
    """Share of the hue over the paper for one band of hit probability.

    Parameters
    ----------
    band : int
        From 0.

    Returns
    -------
    float
        [-]
    """
    return FAINTEST + (DARKEST - FAINTEST) * band / (BANDS - 1)


def floor_map(panel: FloorPanel, *, key: str, width: float) -> Drawing:
    """Draw the floor from above.

    Parameters
    ----------
    panel : FloorPanel
        What it shows.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        The map. Ten shades of one colour, told apart by lightness alone; blocked places carry crosses.
    """
    legend = [LegendEntry(f"{10 * k} to {10 * (k + 1)} %", HUE, opacity=opacity(k)) for k in range(BANDS)]
    legend.append(LegendEntry("no shot scores", "shade", opacity=0.999))
    if panel.blocked.any():
        legend.append(LegendEntry("blocked", "soft", mark="cross"))
    legend.append(LegendEntry("opening", "ink", mark="aim"))
    if panel.best is not None:
        legend.append(LegendEntry("most hits", "warn", mark="star"))
    room = width - chart.LEFT - 12
    top = chart.legend_height(legend, room) + 6
    half_x, half_y = _half(panel.x), _half(panel.y)
    x_range = (float(panel.x[0] - half_x), float(panel.x[-1] + half_x))
    y_range = (float(panel.y[0] - half_y), float(panel.y[-1] + half_y))
    frame = chart.equal_frame(chart.LEFT, top, room, (160.0, _MOST_HEIGHT), x_range, y_range)
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, panel.title, _describe(panel))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, room)
    chart.draw_axes(drawing, frame, "x [m]", "y [m]", equal=True)
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        _shade(drawing, panel, frame, (half_x, half_y))
        _things(drawing, panel, frame)
    drawing.box(frame.left, frame.top, frame.width, frame.height, edge="soft", kind="border")
    words = f"{panel.origin} trials"
    at = (frame.right, frame.bottom + 34)
    drawing.text(at, words, size=SMALL, anchor="end", colour="soft", kind="origin")
    return drawing


def _half(line: FloatArray) -> float:
    return float(line[-1] - line[0]) / (len(line) - 1) / 2 if len(line) > 1 else 0.5


def _shade(drawing: Drawing, panel: FloorPanel, frame: Frame, half: Point) -> None:
    """Fill the places, each shade in one area."""
    none = ~np.isfinite(panel.chance)
    if none.any():
        drawing.area(_rings(panel, none, frame, half), "shade", kind="none")
    band = np.minimum((np.where(none, 0.0, panel.chance) * BANDS).astype(int), BANDS - 1)
    for k in range(BANDS):
        inside = (band == k) & ~none
        if inside.any():
            drawing.area(_rings(panel, inside, frame, half), HUE, opacity=opacity(k), kind="chance")
    step = max(1, round(_CROSSES / (2 * half[0])))
    rows, columns = np.nonzero(panel.blocked)
    for i, j in zip(rows.tolist(), columns.tolist(), strict=True):
        if i % step == step // 2 and j % step == step // 2:
            place = frame.at(float(panel.x[j]), float(panel.y[i]))
            drawing.mark(place, "cross", "soft", size=3.0, kind="blocked")


def _rings(panel: FloorPanel, inside: NDArray[np.bool_], frame: Frame, half: Point) -> list[list[Point]]:
    """Places of one shade, joined along each row, and rows with the same ends joined upwards."""
    open_: dict[tuple[int, int], int] = {}
    blocks: list[tuple[int, int, int, int]] = []
    for row in range(len(panel.y) + 1):
        now: set[tuple[int, int]] = set()
        if row < len(panel.y):
            runs = np.flatnonzero(np.diff(np.concatenate([[False], inside[row], [False]]).astype(int)))
            now = {(int(a), int(b)) for a, b in zip(runs[::2], runs[1::2], strict=True)}
        for run in [run for run in open_ if run not in now]:
            blocks.append((*run, open_.pop(run), row))
        for run in now:
            open_.setdefault(run, row)
    rings = []
    for begin, end, first, last in blocks:
        left, bottom = frame.at(float(panel.x[begin]) - half[0], float(panel.y[first]) - half[1])
        right, top = frame.at(float(panel.x[end - 1]) + half[0], float(panel.y[last - 1]) + half[1])
        rings.append([(left, bottom), (right, bottom), (right, top), (left, top)])
    return rings


def _things(drawing: Drawing, panel: FloorPanel, frame: Frame) -> None:
    """Draw solids, positions, the opening and the best place."""
    for name, outline in panel.solids:
        drawing.area([frame.path(outline)], "paper", opacity=0.6, edge="ink", edge_width=1.2, kind="solid")
        middle = outline.mean(axis=0)
        at = frame.at(float(middle[0]), float(middle[1]))
        drawing.text((at[0], at[1] + 4), name, size=SMALL, anchor="middle", halo=True, kind="name")
    drawing.mark(frame.at(*panel.target), "aim", "ink", size=8.0, kind="opening")
    for name, place in panel.positions:
        if frame.shows(*place):
            at = frame.at(*place)
            drawing.mark(at, "triangle", "ink", size=5.0, hollow=True, kind="position")
            drawing.text((at[0], at[1] - 8), name, size=SMALL, anchor="middle", halo=True, kind="name")
    if panel.best is not None:
        drawing.mark(frame.at(*panel.best), "star", "warn", size=7.0, kind="best")


def _describe(panel: FloorPanel) -> str:
    known = panel.chance[np.isfinite(panel.chance)]
    if not known.size:
        return "No place on this part of the floor scores."
    said = f"Hit probabilities from {100 * known.min():.0f} to {100 * known.max():.0f} %"
    share = f"; {100 * known.size / panel.chance.size:.0f} % of the places score at all."
    best = "" if panel.best is None else f" Most hits at ({panel.best[0]:.2f}, {panel.best[1]:.2f}) m."
    return said + share + best
