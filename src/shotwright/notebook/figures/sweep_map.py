"""A map of what a launcher on paper does over two settings, with the line of each firing position."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.notebook import chart, ticks
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing, Point
from shotwright.notebook.palette import SMALL, series

FloatArray = NDArray[np.float64]

_FAINTEST, _DARKEST = 0.04, 0.62


@dataclass(frozen=True, slots=True)
class MapLine:
    """One line on a map.

    Parameters
    ----------
    name : str
        What stands in the legend.
    paths : sequence of ndarray, shape (k, 2)
        In the units of the axes.
    """

    name: str
    paths: Sequence[FloatArray]


@dataclass(frozen=True, slots=True)
class MapPanel:
    """What a map shows.

    Parameters
    ----------
    title : str
        Short.
    x_label, y_label : str
        With their unit.
    x, y : ndarray, shape (nx,), (ny,)
        Middles of the cells, evenly spaced, rising.
    values : ndarray, shape (ny, nx)
        What is shaded.
    edges : sequence of float
        Limits of the shades, rising; darker is more.
    unit : str
        Of the values, for the legend.
    lines : sequence of MapLine
        On top.
    best : (float, float), optional
        A cell to mark.
    best_name : str
        What the mark is.
    """

    title: str
    x_label: str
    y_label: str
    x: FloatArray
    y: FloatArray
    values: FloatArray
    edges: Sequence[float]
    unit: str
    lines: Sequence[MapLine] = ()
    best: Point | None = None
    best_name: str = "most hits"


def sweep_map(panel: MapPanel, *, key: str, width: float) -> Drawing:
    """Draw a map: shades for the values, a line for each firing position.

    Parameters
    ----------
    panel : MapPanel
        What it shows.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        The map. Shades differ by darkness alone, lines by dash as well as colour.
    """
    frame, legend, drawn = _laid_out(panel, width)
    bands, shades = len(panel.edges) - 1, _shades(panel)
    half_x, half_y = _half(panel.x), _half(panel.y)
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, panel.title, _describe(panel, drawn))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    chart.draw_axes(drawing, frame, panel.x_label, panel.y_label)
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        for k, shade in enumerate(shades):
            rings = _rings(panel, k, frame, half_x, half_y, last=k == bands - 1)
            if rings:
                drawing.area(rings, "s5", opacity=shade, kind="shade")
        for k, line in enumerate(drawn):
            look = series(k)
            for path in line.paths:
                points = frame.path(path)
                drawing.line(points, "paper", width=4.0)
                drawing.line(points, look.name, width=2.0, dash=look.dash, kind="position")
    if panel.best is not None:
        drawing.mark(frame.at(*panel.best), "plus", "ink", size=6.0, kind="best")
    chart_edge = (frame.left, frame.top, frame.width, frame.height)
    drawing.box(*chart_edge, edge="soft", kind="border")
    drawing.text(
        (frame.right, frame.bottom + 34), "predicted", size=SMALL, anchor="end", colour="soft", kind="origin"
    )
    return drawing


def map_frame(panel: MapPanel, width: float) -> Frame:
    """Return where the axes of a map stand; parameters as :func:`sweep_map`."""
    return _laid_out(panel, width)[0]


def _shades(panel: MapPanel) -> list[float]:
    bands = len(panel.edges) - 1
    return [_FAINTEST + (_DARKEST - _FAINTEST) * k / max(bands - 1, 1) for k in range(bands)]


def _laid_out(panel: MapPanel, width: float) -> tuple[Frame, list[LegendEntry], list[MapLine]]:
    """Axes, legend, and the lines that have anything to draw."""
    shades = _shades(panel)
    legend = [
        LegendEntry(f"{low:g} to {high:g}{panel.unit}", "s5", opacity=shade)
        for low, high, shade in zip(panel.edges, panel.edges[1:], shades, strict=False)
    ]
    drawn = [line for line in panel.lines if line.paths]
    legend += [LegendEntry(line.name, series(k).name, dash=series(k).dash) for k, line in enumerate(drawn)]
    if panel.best is not None:
        legend.append(LegendEntry(panel.best_name, "ink", mark="plus"))
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    half_x, half_y = _half(panel.x), _half(panel.y)
    frame = Frame(
        chart.LEFT,
        top,
        width - chart.LEFT - 12,
        min(0.66 * width, 420.0),
        float(panel.x[0] - half_x),
        float(panel.x[-1] + half_x),
        float(panel.y[0] - half_y),
        float(panel.y[-1] + half_y),
    )
    return frame, legend, drawn


def even_edges(values: FloatArray, bands: int = 7) -> tuple[float, ...]:
    """Return round limits of shades that cover values.

    Parameters
    ----------
    values : ndarray
        What is shaded.
    bands : int
        About how many.

    Returns
    -------
    tuple of float
        Rising; at least two.
    """
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    if not high > low:
        return (low - 0.5, low + 0.5)
    step = ticks.round_step(high - low, bands)
    first, last = np.floor(low / step + 1e-9), np.ceil(high / step - 1e-9)
    return tuple(round(float(k) * step, ticks.places(step)) for k in range(int(first), int(last) + 1))


def _half(line: FloatArray) -> float:
    return float(line[-1] - line[0]) / (len(line) - 1) / 2 if len(line) > 1 else 0.5


def _rings(
    panel: MapPanel, band: int, frame: Frame, half_x: float, half_y: float, *, last: bool
) -> list[list[Point]]:
    """Cells of one shade, joined along each row."""
    low, high = panel.edges[band], panel.edges[band + 1]
    inside = (panel.values >= low) & ((panel.values <= high) if last else (panel.values < high))
    rings = []
    for row, y in enumerate(panel.y):
        runs = np.flatnonzero(np.diff(np.concatenate([[False], inside[row], [False]]).astype(int)))
        for begin, end in zip(runs[::2], runs[1::2], strict=True):
            left, bottom = frame.at(float(panel.x[begin]) - half_x, float(y) - half_y)
            right, top = frame.at(float(panel.x[end - 1]) + half_x, float(y) + half_y)
            rings.append([(left, bottom), (right, bottom), (right, top), (left, top)])
    return rings


def _describe(panel: MapPanel, drawn: Sequence[MapLine]) -> str:
    known = panel.values[np.isfinite(panel.values)]
    said = (
        [f"Predicted values from {known.min():.3g} to {known.max():.3g}{panel.unit}."] if known.size else []
    )
    for line in drawn:
        points = np.concatenate(list(line.paths))
        said.append(
            f"{line.name} runs from ({points[0][0]:.4g}, {points[0][1]:.4g}) "
            f"to ({points[-1][0]:.4g}, {points[-1][1]:.4g})."
        )
    return " ".join(said)
