"""Parts as pages of the notebook, and as a picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.bench.kept_parts import all_made
from shotwright.bench.part_kinds import fields_of, part_kind
from shotwright.bench.parts import MadePart, make_part, size_rows
from shotwright.bench.workbook import Workbook, opened
from shotwright.build.orders import KeptOrder
from shotwright.notebook.figures.part_picture import part_picture, torque_picture
from shotwright.notebook.parts import PartPage

PICTURE = 640.0  # px wide
_LONGEST = 60  # letters of a value that was typed


def part_pages(book: Workbook) -> tuple[PartPage, ...]:
    """Make every part that a project keeps, as pages of the notebook.

    Parameters
    ----------
    book : Workbook
        The loaded project.

    Returns
    -------
    tuple of PartPage
        One for each, also for one that can't be made any more.
    """
    return tuple(_page(order, made) for order, made in all_made(book))


def _page(order: KeptOrder, made: MadePart | str) -> PartPage:
    label, typed = _words_of(order)
    date = order.date.isoformat()
    if isinstance(made, str):
        return PartPage(order.name, label, date, typed, problem=made)
    return PartPage(
        order.name,
        label,
        date,
        typed,
        (*made.part.rows, *size_rows(made)),
        made.sheets,
        made.part.torque,
        made.part.others,
        made.part.words,
        made.part.cautions,
    )


def _words_of(order: KeptOrder) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Label of the kind, and what was typed by the labels of its fields."""
    try:
        kind = part_kind(order.kind)
    except BadInput:
        return order.kind, tuple(order.inputs.items())
    labels = {one.key: one.label for one in fields_of(kind)}
    return kind.label, tuple((labels.get(key, key), _short(value)) for key, value in order.inputs.items())


def _short(value: str) -> str:
    first, *more = value.splitlines() or [""]
    shown = first if len(first) <= _LONGEST else first[: _LONGEST - 1] + "…"
    return f"{shown} … ({len(more) + 1} lines)" if more else shown


def part_svg(made: MadePart, *, width: float = PICTURE, key: str = "part") -> str:
    """Draw a part to scale, as the notebook shows it.

    Parameters
    ----------
    made : MadePart
        The part.
    width : float
        Of the picture. [px]
    key : str
        Unique on the page.

    Returns
    -------
    str
        SVG.

    Raises
    ------
    BadInput
        The part has nothing to draw.
    """
    if not made.sheets and not made.part.torque:
        raise BadInput(f"{made.name} has no drawing: it is bought, not cut", field="picture")
    part = made.part
    return part_picture(
        made.sheets, key=key, width=width, torque=part.torque, others=part.others, title=made.name
    ).svg()


@dataclass(frozen=True, slots=True)
class PartView(Result):
    """A part as a page shows it while its numbers change.

    Parameters
    ----------
    drawing_svg, torque_svg : str
        The part to scale, and its torque over the turn; "" for what it does not have.
    rows : tuple of (str, str)
        Figures in words.
    words, cautions : tuple of str
        What to know, what can hurt.
    drawings : int
        How many files a download gives.
    exact : bool
        False for a rough preview.
    """

    drawing_svg: str
    torque_svg: str
    rows: tuple[tuple[str, str], ...]
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    drawings: int
    exact: bool


def view_part(
    kind: str,
    inputs: Mapping[str, str],
    *,
    name: str = "",
    width: float = PICTURE,
    torque_width: float = PICTURE,
    exact: bool = False,
) -> PartView:
    """Make a part from what stands in a form, and draw it.

    Parameters
    ----------
    kind : str
        Its kind.
    inputs : mapping of str to str
        Fields as typed.
    name : str
        What the crew calls it.
    width, torque_width : float
        Room for the drawing, and for the curve of the torque. [px]
    exact : bool
        The part itself; else a preview that may be rough.

    Returns
    -------
    PartView
        With pictures as SVG.

    Raises
    ------
    BadInput
        All that can't be used.
    """
    made = make_part(kind, inputs, name=name, coarse=not exact)
    room, curve_room = (min(max(one, 240.0), 1100.0) for one in (width, torque_width))
    drawing = part_picture(made.sheets, key="part", width=room, title=made.name).svg() if made.sheets else ""
    torque = ""
    if made.part.torque:
        torque = torque_picture(
            made.part.torque, key="torque", width=curve_room, title=made.name, others=made.part.others
        ).svg()
    return PartView(
        drawing,
        torque,
        (*made.part.rows, *size_rows(made)),
        made.part.words,
        made.part.cautions,
        len(made.sheets),
        exact,
    )


def project_name(project: Path) -> str:
    """Name of a project, for its drawings."""
    with opened(project, read_only=True) as file:
        return file.name
