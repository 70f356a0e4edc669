"""The notebook as a list of sections made of plain parts, the same for the page and for the PDF."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shotwright.notebook.drawing import Drawing


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a section."""

    text: str


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list without order."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning in a frame."""

    text: str


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    name : str
        Its head, with the unit.
    figures : bool
        Numbers, set to the right.
    share : float
        Part of the table's width, relative to the other columns.
    """

    name: str
    figures: bool = False
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Table:
    """A table with its caption.

    Parameters
    ----------
    caption : str
        What stands in it, in plain words.
    columns : tuple of Column
        From the left.
    rows : tuple of tuple of str
        Cells; the first column heads its row.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure, drawn when the width of its box is known.

    Parameters
    ----------
    key : str
        Unique in the notebook; letters, figures, hyphens.
    caption : str
        In plain words, with the trials and shots behind it.
    draw : callable
        Takes a unique key and a width [px], gives the drawing.
    """

    key: str
    caption: str
    draw: Callable[[str, float], Drawing]


Block = Words | Heading | Bullets | Caution | Table | Picture


@dataclass(frozen=True, slots=True)
class Section:
    """A section of the notebook.

    Parameters
    ----------
    key : str
        Its address within the page.
    title : str
        Its heading.
    blocks : tuple
        Its parts in order.
    fresh_page : bool
        Whether it starts on a new page in print.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    fresh_page: bool = False
