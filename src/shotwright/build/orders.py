"""Parts that a crew keeps: the file that holds what was typed for each, so that it can be made again."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from shotwright.base.toml_tables import Section, check_unique, parse_toml, raise_problems

FILE_NAME = "parts.toml"


@dataclass(frozen=True, slots=True)
class KeptOrder:
    """A part to be made again.

    Parameters
    ----------
    name : str
        What the crew calls it; no two parts share one.
    kind : str
        Its kind: ``"hub-plate"``.
    date : datetime.date
        When it was kept; it stands on the drawing.
    inputs : dict of str to str
        What was typed, by field.
    """

    name: str
    kind: str
    date: datetime.date
    inputs: dict[str, str]


def orders_from_text(text: str, file: str = FILE_NAME) -> tuple[KeptOrder, ...]:
    """Read a file of parts.

    Parameters
    ----------
    text : str
        TOML: ``[[part]]`` with name, kind, date and a table ``inputs`` of texts.
    file : str
        Its name, for messages.

    Returns
    -------
    tuple of KeptOrder
        In the order of the file. Whether a kind is known, only making it tells.

    Raises
    ------
    BadInput
        All that is wrong in it.
    """
    problems: list[Any] = []
    top = Section(parse_toml(text, file), "", file, problems)
    sections = top.sections("part")
    found = [_order(section) for section in sections]
    top.finish()
    check_unique(zip(sections, (one.name for one in found), strict=True), "part")
    raise_problems(problems)
    return tuple(found)


def _order(section: Section) -> KeptOrder:
    name = section.name("winding cam")
    kind = section.text("kind", example="hub-plate")
    date = section.raw("date")
    if type(date) is not datetime.date:
        section.problem(f"{date!s} is not a date; e.g. date = 2026-01-17", "date")
        date = datetime.date.min
    typed = section.section("inputs", required=False)
    inputs = {}
    for key in typed.values:
        value = typed.raw(key)
        if not isinstance(value, str):
            typed.problem(f'{value!r} is not text; put it in quotes: {key} = "{value}"', key)
        else:
            inputs[key] = value
    section.finish()
    return KeptOrder(name, kind, date, inputs)


def with_order(text: str, order: KeptOrder) -> str:
    """Text with a part added; one of the same name is replaced where it stands.

    Parameters
    ----------
    text : str
        A file of parts, or "".
    order : KeptOrder
        To be kept.

    Returns
    -------
    str
        Everything else in it stays as it is, comments and all.
    """
    import tomlkit

    document = tomlkit.parse(text)
    table = tomlkit.table()
    table["name"], table["kind"], table["date"] = order.name, order.kind, order.date
    inputs = tomlkit.table()
    for key, value in order.inputs.items():
        inputs[key] = tomlkit.string(value, multiline=_plain_lines(value))
    inputs.add(tomlkit.nl())
    table["inputs"] = inputs
    parts: Any = document.get("part")
    if parts is None:
        parts = tomlkit.aot()
        document["part"] = parts
    names = [part.get("name") for part in parts]
    if order.name in names:
        parts[names.index(order.name)] = table
    else:
        parts.append(table)
    return tomlkit.dumps(document)


def _plain_lines(value: str) -> bool:
    """Whether several lines can stand as they are between triple quotes."""
    lines = value.split("\n")
    return (
        len(lines) > 1
        and lines[0] != ""
        and all(one.isprintable() and not set('"\\') & set(one) for one in lines)
    )


def without_order(text: str, name: str) -> str:
    """Text without the part of that name; the same text when there is none.

    Parameters
    ----------
    text : str
        A file of parts.
    name : str
        The part's.

    Returns
    -------
    str
        The rest, as it is.
    """
    import tomlkit

    document = tomlkit.parse(text)
    parts: Any = document.get("part")
    names = [part.get("name") for part in parts or ()]
    if name not in names:
        return text
    if len(names) == 1:
        del document["part"]
    else:
        del parts[names.index(name)]
    return tomlkit.dumps(document)
