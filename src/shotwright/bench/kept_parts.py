"""Parts that a project keeps: what was typed for each, so that it can be made again and shown."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.bench.part_kinds import part_kind
from shotwright.bench.parts import MadePart, complete, make_part
from shotwright.bench.workbook import Workbook, opened, read_workbook
from shotwright.build.orders import KeptOrder, orders_from_text, with_order, without_order

KIND = "parts"  # of the file that a project keeps whole


@dataclass(frozen=True, slots=True)
class KeptPart(Result):
    """One part of a project.

    Parameters
    ----------
    name, kind, label : str
        What the crew calls it, its kind, and that kind in words.
    date : datetime.date
        When it was kept.
    inputs : dict
        As typed.
    """

    name: str
    kind: str
    label: str
    date: datetime.date
    inputs: dict[str, str]


@dataclass(frozen=True, slots=True)
class PartList(Result):
    """The parts of a project.

    Parameters
    ----------
    parts : tuple of KeptPart
        In the order of the file.
    words : tuple of str
        What was done, or what to do.
    """

    parts: tuple[KeptPart, ...]
    words: tuple[str, ...] = ()


def orders_of(book: Workbook) -> tuple[KeptOrder, ...]:
    """Return what a project keeps of its parts."""
    return orders_from_text(book.crew_files.get(KIND, ""))


def list_parts(project: Path, *, words: tuple[str, ...] = ()) -> PartList:
    """List the parts of a project.

    Parameters
    ----------
    project : Path
        The project file.
    words : tuple of str
        To go with the list.

    Returns
    -------
    PartList
        Empty when none is kept.
    """
    rows = tuple(
        KeptPart(one.name, one.kind, label_of(one.kind), one.date, one.inputs)
        for one in orders_of(read_workbook(project))
    )
    if not rows and not words:
        words = ("No part is kept yet; make one and add --keep NAME.",)
    return PartList(rows, words)


def label_of(kind: str) -> str:
    """Return what a kind is called; its key when it is not known."""
    try:
        return part_kind(kind).label
    except BadInput:
        return kind


def keep_part(project: Path, made: MadePart, name: str = "", *, date: datetime.date | None = None) -> str:
    """Keep a part in a project; one of the same name is replaced.

    Parameters
    ----------
    project : Path
        The project file.
    made : MadePart
        The part; it was made, so it can be made again.
    name : str
        What to keep it as; the part's own name when empty.
    date : datetime.date, optional
        Today when left out.

    Returns
    -------
    str
        What was done, in words.
    """
    label = name.strip() or made.name
    day = date or datetime.datetime.now().astimezone().date()
    order = KeptOrder(label, made.kind, day, complete(made.kind, made.inputs))
    with opened(project) as file, file.transaction():
        text = file.crew_files().get(KIND, "")
        before = [one.name for one in orders_from_text(text)]
        file.put_crew_file(KIND, with_order(text, order), note=f"part {label!r} kept ({made.kind})")
    return f"Kept {label!r}" + (" in place of what was kept under that name." if label in before else ".")


def remove_part(project: Path, name: str) -> PartList:
    """Remove a part from a project.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        The part's.

    Returns
    -------
    PartList
        What is left.

    Raises
    ------
    BadInput
        No such part.
    """
    with opened(project) as file, file.transaction():
        text = file.crew_files().get(KIND, "")
        order = _named(orders_from_text(text), name)
        file.put_crew_file(KIND, without_order(text, order.name), note=f"part {order.name!r} removed")
    return list_parts(project, words=(f"Removed {order.name!r}.",))


def parts_text(project: Path) -> str:
    """Return the file of parts that a project keeps; "" when there is none."""
    with opened(project, read_only=True) as file:
        return file.crew_files().get(KIND, "")


def set_parts_text(project: Path, text: str) -> None:
    """Put a file of parts in place of the one that a project keeps."""
    with opened(project) as file:
        file.put_crew_file(KIND, text)


def kept_part(project: Path, name: str, *, coarse: bool = False) -> MadePart:
    """Make a part of a project again.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        The part's.
    coarse : bool
        A quick preview.

    Returns
    -------
    MadePart
        With the date on which it was kept.

    Raises
    ------
    BadInput
        No such part, or one that can't be made any more.
    """
    book = read_workbook(project)
    return made_again(_named(orders_of(book), name), book.name, coarse=coarse)


def made_again(order: KeptOrder, project_name: str, *, coarse: bool = False) -> MadePart:
    """Make a kept part.

    Parameters
    ----------
    order : KeptOrder
        What was typed.
    project_name : str
        For the drawing.
    coarse : bool
        A quick preview.

    Returns
    -------
    MadePart
        With the date on which it was kept.
    """
    return make_part(
        order.kind, order.inputs, name=order.name, project=project_name, date=order.date, coarse=coarse
    )


def all_made(book: Workbook) -> tuple[tuple[KeptOrder, MadePart | str], ...]:
    """Make every part of a project; where one can't be made any more, say why."""
    found: list[tuple[KeptOrder, MadePart | str]] = []
    for order in orders_of(book):
        try:
            found.append((order, made_again(order, book.name)))
        except (BadInput, NoAnswer) as reason:
            found.append((order, str(reason)))
    return tuple(found)


def _named(orders: tuple[KeptOrder, ...], name: str) -> KeptOrder:
    for order in orders:
        if order.name.casefold() == name.strip().casefold():
            return order
    known = ", ".join(order.name for order in orders) or "none yet"
    raise BadInput(f"there is no part {name!r}; there is: {known}", field="part")
