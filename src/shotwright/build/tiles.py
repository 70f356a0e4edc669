"""How a drawing larger than a sheet of paper is laid over several, in millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shotwright.build.outline import Drawing

Paper = Literal["a4", "letter"]
PAPERS: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm, upright
MARGIN = 10.0  # mm; what printers can't print on
FOOT = 15.0  # mm; room for the bar below the drawing
NAME, LINE = (
    7.0,
    3.5,
)  # mm; height of the part's name above the drawing, and of each line of small words below it
LETTERS = 0.68  # small letters that a millimetre holds at least, bold ones too
OVERLAP = 8.0  # mm; what neighbouring sheets share
BORDER = 3.0  # mm; round the part
BAR = 50.0  # mm


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet.

    Parameters
    ----------
    column, row : int
        From 0, at the upper left.
    left, top : float
        Corner of the sheet's window on the drawing, y down from the drawing's top. [mm]
    marks : tuple of (float, float, str)
        Crosses: x and y in the window, and the name that neighbouring sheets share. [mm]
    """

    column: int
    row: int
    left: float
    top: float
    marks: tuple[tuple[float, float, str], ...]


@dataclass(frozen=True, slots=True)
class Tiling:
    """All sheets of a drawing.

    Parameters
    ----------
    page : tuple of float
        Width and height of the paper as it is turned. [mm]
    head : float
        Height of the words above the drawing. [mm]
    window : tuple of float
        Width and height of the part of the drawing that one sheet shows. [mm]
    origin : tuple of float
        Left and top of the laid-out area on the drawing, y up. [mm]
    size : tuple of float
        Its width and height. [mm]
    columns, rows : int
        Sheets side by side and one below the other.
    tiles : tuple of Tile
        Those that show something.
    """

    page: tuple[float, float]
    head: float
    window: tuple[float, float]
    origin: tuple[float, float]
    size: tuple[float, float]
    columns: int
    rows: int
    tiles: tuple[Tile, ...]


def tiling(drawing: Drawing, paper: Paper = "a4") -> Tiling:
    """Lay a drawing over as few sheets as it takes, upright or across.

    Parameters
    ----------
    drawing : Drawing
        Any.
    paper : {"a4", "letter"}
        Size of a sheet.

    Returns
    -------
    Tiling
        Sheets that show nothing are left out.

    Examples
    --------
    >>> PAPERS["a4"]
    (210.0, 297.0)
    """
    width, height = PAPERS[paper]
    upright, across = _laid(drawing, (width, height)), _laid(drawing, (height, width))
    return across if len(across.tiles) < len(upright.tiles) else upright


def _laid(drawing: Drawing, page: tuple[float, float]) -> Tiling:
    left, low, right, high = (1000 * edge for edge in drawing.bounds_m)
    wide, tall = right - left + 2 * BORDER, high - low + 2 * BORDER
    head = _head(drawing, page[0] - 2 * MARGIN)
    window = (page[0] - 2 * MARGIN, page[1] - 2 * MARGIN - head - FOOT)
    columns, rows = _count(wide, window[0]), _count(tall, window[1])
    # What is left over on the last sheets goes to both sides alike.
    spare = [
        n * w - (n - 1) * OVERLAP - s for n, w, s in zip((columns, rows), window, (wide, tall), strict=True)
    ]
    origin = (left - BORDER - spare[0] / 2, high + BORDER + spare[1] / 2)
    size = (wide + spare[0], tall + spare[1])
    several = columns * rows > 1
    tiles = []
    shown = _occupied(drawing, origin, window, columns, rows)
    for row in range(rows):
        for column in range(columns):
            if shown[row][column]:
                at = (column * (window[0] - OVERLAP), row * (window[1] - OVERLAP))
                tiles.append(Tile(column, row, *at, _marks(column, row, window) if several else ()))
    return Tiling(page, head, window, origin, size, columns, rows, tuple(tiles))


def _head(drawing: Drawing, width: float) -> float:
    """Height that the words take: the name, the facts in one run, and the caution, never cut short."""
    _, *facts, last = drawing.title.lines()
    runs = (" · ".join(facts), last)
    return NAME + LINE * sum(math.ceil(len(run) / (LETTERS * width)) for run in runs)


def _count(length: float, window: float) -> int:
    return max(math.ceil((length - OVERLAP) / (window - OVERLAP) - 1e-9), 1)


def _marks(column: int, row: int, window: tuple[float, float]) -> tuple[tuple[float, float, str], ...]:
    """Crosses in the middle of the overlaps; each has one name on every sheet that shows it."""
    half = OVERLAP / 2
    return tuple(
        (
            half + i * (window[0] - OVERLAP),
            half + j * (window[1] - OVERLAP),
            f"{_letters(column + i)}{row + j + 1}",
        )
        for i in (0, 1)
        for j in (0, 1)
    )


def _letters(number: int) -> str:
    """Name of a column of crosses: A to Z, then AA, AB, ..."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def _occupied(
    drawing: Drawing, origin: tuple[float, float], window: tuple[float, float], columns: int, rows: int
) -> list[list[bool]]:
    """Which sheets show a line of the drawing."""
    from shapely import STRtree, box
    from shapely.geometry import LineString, Point

    lines = [LineString(1000 * np.concatenate([loop.points, loop.points[:1]])) for loop in drawing.cuts]
    lines += [LineString(1000 * line) for line in drawing.engraved]
    lines += [Point(1000 * x, 1000 * y).buffer(2.0) for x, y in drawing.centres]
    lines += [Point(1000 * one.at[0], 1000 * one.at[1]).buffer(2.0) for one in drawing.lettering]
    tree = STRtree(lines)
    step = (window[0] - OVERLAP, window[1] - OVERLAP)
    return [
        [
            bool(
                len(
                    tree.query(
                        box(
                            origin[0] + column * step[0],
                            origin[1] - row * step[1] - window[1],
                            origin[0] + column * step[0] + window[0],
                            origin[1] - row * step[1],
                        ),
                        predicate="intersects",
                    )
                )
            )
            for column in range(columns)
        ]
        for row in range(rows)
    ]
