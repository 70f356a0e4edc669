"""Ink, paper, series: how things are told apart, on paper, on a dark screen, by eyes that see fewer colours.

Colours stand as presentation attributes, so that one and the same drawing works in the PDF; each drawn thing
also carries a class, by which the page's style sheet gives it its colour in the dark. No meaning hangs on
colour alone: series differ in mark and dash as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Mark = Literal["circle", "square", "diamond", "triangle", "down", "cross", "plus", "star", "aim"]

FONT = "'Open Sans', 'Segoe UI', 'Helvetica Neue', Arial, sans-serif"
SIZE = 12.0  # px; 9 pt on paper
SMALL = 11.0

INK = "#1d2730"
SOFT = "#5b6873"
GRID = "#dfe4e8"
PAPER = "#ffffff"
SHADE = "#eceff2"
WARN = "#a33a22"


@dataclass(frozen=True, slots=True)
class Series:
    """How one series is drawn.

    Parameters
    ----------
    name : str
        Class of its drawn parts: ``"s0"``.
    colour, dark : str
        On paper and on a dark screen.
    mark : str
        Shape of its points.
    dash : str
        Dash pattern of its lines; empty is solid.
    """

    name: str
    colour: str
    dark: str
    mark: Mark
    dash: str


SERIES = (
    Series("s0", "#1b5e8c", "#7db8e0", "circle", ""),
    Series("s1", "#b0560f", "#eda35e", "square", "7 3"),
    Series("s2", "#2b7d63", "#74c7a9", "diamond", "2 3"),
    Series("s3", "#86417f", "#d29acb", "triangle", "9 3 2 3"),
    Series("s4", "#6d6a14", "#c6c05a", "down", "4 2"),
    Series("s5", "#4a5560", "#aab6c1", "star", "12 3"),
)


def series(index: int) -> Series:
    """Return the look of the series with that number; after the last one they start again."""
    return SERIES[index % len(SERIES)]


# class of a drawn part -> its colour in the dark; the page's style sheet is written from this
DARK = {
    "ink": "#e3e9ee",
    "soft": "#a3b0bb",
    "grid": "#323c45",
    "paper": "#161c21",
    "shade": "#232b32",
    "warn": "#f0937c",
    **{one.name: one.dark for one in SERIES},
}
LIGHT = {
    "ink": INK,
    "soft": SOFT,
    "grid": GRID,
    "paper": PAPER,
    "shade": SHADE,
    "warn": WARN,
    **{one.name: one.colour for one in SERIES},
}
