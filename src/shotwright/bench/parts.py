"""Make a part from the numbers that a crew types: what the verbs, the notebook and the pages share."""

from __future__ import annotations

import datetime
import importlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.toml_tables import Section, raise_problems
from shotwright.bench.part_kinds import fields_of, part_kind
from shotwright.build.outline import Drawing, checked, with_kerf
from shotwright.build.part import Field, Order, Part

LONGEST_LINES = 200_000  # letters of a table of readings


@dataclass(frozen=True, slots=True, eq=False)
class MadePart(Result):
    """A part, made.

    Parameters
    ----------
    kind, name : str
        What it is, and what the crew calls it.
    inputs : dict
        As typed; empty fields left out.
    part : Part
        At its true size.
    sheets : tuple of Drawing
        Its drawings as they are cut, with the kerf that was asked for.
    """

    kind: str
    name: str
    inputs: dict[str, str]
    part: Part
    sheets: tuple[Drawing, ...]

    def to_dict(self) -> dict[str, Any]:
        """Figures, size and words as plain data."""
        from shotwright.base.plain import as_plain

        plain = as_plain(
            {
                "kind": self.kind,
                "name": self.name,
                "inputs": self.inputs,
                **self.part.figures,
                "sheets": [
                    _sheet_figures(part, sheet)
                    for part, sheet in zip(self.part.drawings, self.sheets, strict=True)
                ],
                "torque": [{"turn_deg": turn, "torque_n_m": torque} for turn, torque in self.part.torque],
                "words": self.part.words,
                "cautions": self.part.cautions,
            }
        )
        assert isinstance(plain, dict)
        return plain


def size_rows(made: MadePart) -> tuple[tuple[str, str], ...]:
    """Size of each drawing of a part as it is when cut, and the length of its cut line, in words."""
    rows = []
    for part, sheet in zip(made.part.drawings, made.sheets, strict=True):
        left, low, right, high = (1000 * edge for edge in part.bounds_m)
        name = f"{part.title.part}: " if len(made.sheets) > 1 else ""
        rows.append((f"{name}size", f"{right - left:.2f} x {high - low:.2f} mm"))
        rows.append((f"{name}cut", f"{sum(loop.length_m for loop in sheet.cuts):.3g} m"))
    return tuple(rows)


def _sheet_figures(part: Drawing, sheet: Drawing) -> dict[str, Any]:
    """Size and area of the part itself; the length of its cut line, which allows for the kerf."""
    left, low, right, high = part.bounds_m
    return {
        "part": sheet.title.part,
        "width_m": right - left,
        "height_m": high - low,
        "area_m2": part.area_m2,
        "cut_length_m": sum(loop.length_m for loop in sheet.cuts),
        "pieces": len(sheet.outers),
        "holes": len(sheet.holes),
        "thickness_m": sheet.title.thickness_m,
        "kerf_m": sheet.title.kerf_m,
        "module_m": sheet.title.module_m,
    }


def make_part(
    kind: str,
    inputs: Mapping[str, object],
    *,
    name: str = "",
    project: str = "",
    date: datetime.date | None = None,
    coarse: bool = False,
) -> MadePart:
    """Make a part.

    Parameters
    ----------
    kind : str
        One of `shotwright.bench.part_kinds.KINDS`.
    inputs : mapping of str to str
        Fields as typed; those left out or empty take their defaults.
    name : str
        What the crew calls it; the kind's label when empty.
    project : str
        Name of the project, for the drawing.
    date : datetime.date, optional
        For the drawing; today when left out.
    coarse : bool
        A quick preview.

    Returns
    -------
    MadePart
        With its drawings, checked.

    Raises
    ------
    BadInput
        All that can't be used.
    """
    known = part_kind(kind)
    fields = fields_of(known)
    values = read_fields(fields, inputs)
    label = name.strip() or known.label
    order = Order(
        name=label,
        project=project,
        date=date or datetime.datetime.now().astimezone().date(),
        material=values["material"] or "",
        thickness_m=values["thickness"],
        coarse=coarse,
    )
    module, _, function = known.make.partition(":")
    part: Part = getattr(importlib.import_module(module), function)(values, order)
    sheets = tuple(checked(with_kerf(checked(one), values["kerf"])) for one in part.drawings)
    typed = {one.key: str(inputs[one.key]).strip() for one in fields if _given(inputs, one.key)}
    return MadePart(kind, label, typed, part, sheets)


def complete(kind: str, inputs: Mapping[str, object]) -> dict[str, str]:
    """What was typed, with the defaults of the fields left out: it makes the same part for ever.

    Parameters
    ----------
    kind : str
        Its kind.
    inputs : mapping of str to str
        As typed.

    Returns
    -------
    dict of str to str
        Fields that stay empty are left out.
    """
    typed = {
        one.key: str(inputs[one.key]).strip() if _given(inputs, one.key) else one.default
        for one in fields_of(part_kind(kind))
    }
    return {key: value for key, value in typed.items() if value}


def _given(inputs: Mapping[str, object], key: str) -> bool:
    return inputs.get(key) is not None and str(inputs[key]).strip() != ""


def read_fields(fields: tuple[Field, ...], inputs: Mapping[str, object]) -> dict[str, Any]:
    """Read fields as typed.

    Parameters
    ----------
    fields : tuple of Field
        What is asked.
    inputs : mapping of str to str
        As typed.

    Returns
    -------
    dict
        SI numbers, whole numbers, words, or None for an empty field without a default.

    Raises
    ------
    BadInput
        All problems at once.
    """
    problems: list[BadInput] = []
    typed = {key: str(value).strip() for key, value in inputs.items() if _given(inputs, key)}
    section = Section(typed, "", "", problems)
    section.know(*(one.key for one in fields))
    section.finish()
    values = {one.key: _value(section, one, typed.get(one.key, one.default)) for one in fields}
    raise_problems(problems)
    return values


def _value(section: Section, asked: Field, typed: str) -> Any:
    """Value of one field; a stand-in after a problem, which the section keeps."""
    if not typed:
        if asked.needed:
            section.problem("is needed", asked.key)
        return None
    if asked.kind in ("text", "lines"):
        if len(typed) > LONGEST_LINES:
            section.problem(f"is longer than {LONGEST_LINES} letters", asked.key)
        return typed
    if asked.kind == "choice":
        return Section({asked.key: typed}, "", "", section.problems).choice(asked.key, asked.choices)
    bounds: dict[str, Any] = {"above": asked.above, "least": asked.least, "most": asked.most}
    if asked.kind == "number":
        return Section({asked.key: typed}, "", "", section.problems).number(asked.key, **bounds)
    if asked.kind == "whole":
        try:
            number = int(typed)
        except ValueError:
            section.problem(f"{typed!r} is not a whole number", asked.key)
            return 0
        return int(number) if section.check(asked.key, number, typed, **bounds) == number else 0
    return section.parse(asked.key, typed, asked.kind, **bounds)
