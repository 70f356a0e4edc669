"""What a crew writes down of its springs: force against travel, and the list of springs at hand."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity
from shotwright.base.toml_tables import Section, check_unique, parse_toml, raise_problems, read_text
from shotwright.build.coil_spring import ENDS, WIRES, Coil, Ends
from shotwright.build.force_readings import Branch
from shotwright.build.springs_at_hand import SOLID_RESERVE, SpringAtHand

_EXAMPLE = "travel [mm],force [N],way"
_HEADERS = {
    "travel": ("travel", "deflection", "compression", "extension", "stretch", "displacement", "x", "length"),
    "force": ("force", "load", "pull", "push", "weight", "scale", "f"),
    "way": ("way", "direction", "branch", "loading"),
}
_BACK = {"unloading", "unload", "back", "down", "return", "out", "release", "opening"}
_THERE = {"loading", "load", "there", "up", "in", "closing", ""}
_UNIT = re.compile(r"^(.*?)[\s_]*[\[(]\s*(.+?)\s*[\])]\s*$")


@dataclass(frozen=True, slots=True, eq=False)
class ForceReadings:
    """Readings both ways.

    Parameters
    ----------
    loading : Branch
        While winding.
    unloading : Branch, optional
        While it is let back.
    by_weight : bool
        Whether forces were read in kg or lb and taken as weights.
    """

    loading: Branch
    unloading: Branch | None
    by_weight: bool


def read_force_text(text: str, file: str = "readings") -> ForceReadings:
    """Read force against travel from text: a CSV with headers, or bare lines like ``10 mm, 45 N``.

    Columns are recognised by header (travel, force, way), units stand in the header or in the cells. A force
    may be read on a scale, in kg, g, lb or oz: it is taken as a weight. Way is ``loading`` or ``unloading``.

    Parameters
    ----------
    text : str
        The lines.
    file : str
        Name for messages.

    Returns
    -------
    ForceReadings
        In SI.

    Raises
    ------
    BadInput
        Every row that can't be read.
    """
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise BadInput(f"holds no reading; write e.g. a line {_EXAMPLE!r} and one row for each", file=file)
    rows = _cells(lines, file)
    columns = _columns(rows[0], file)
    problems: list[BadInput] = []
    there: list[tuple[float, float]] = []
    back: list[tuple[float, float]] = []
    weights = False
    for number, row in enumerate(rows[1:] if columns.headed else rows, 2 if columns.headed else 1):
        try:
            travel = _cell(row, columns.travel, columns.travel_unit, "length", "travel")
            force, weighed = _force(row, columns)
            way = (
                row[columns.way].strip().lower() if columns.way is not None and columns.way < len(row) else ""
            )
            if way not in _BACK | _THERE:
                raise BadInput(f"{way!r} is neither loading nor unloading", field="way")
        except BadInput as bad:
            problems.append(bad.at(file=file, row=number))
            continue
        weights |= weighed
        (back if way in _BACK else there).append((travel, force))
    raise_problems(problems)
    if len(there) < 2:
        raise BadInput(f"{len(there)} reading while loading; at least two are needed", file=file)
    return ForceReadings(
        Branch(*zip(*there, strict=True)),
        Branch(*zip(*back, strict=True)) if len(back) > 1 else None,
        weights,
    )


def _cells(lines: list[str], file: str) -> list[list[str]]:
    """Split lines into cells; tabs, semicolons or bars where the first line has them, commas else."""
    sign = next((one for one in "\t;|" if one in lines[0]), ",")
    try:
        return list(csv.reader(io.StringIO("\n".join(lines)), delimiter=sign, skipinitialspace=True))
    except csv.Error as reason:
        raise BadInput(f"can't be read as a table ({reason})", file=file) from None


@dataclass(frozen=True, slots=True)
class _Columns:
    headed: bool
    travel: int
    force: int
    way: int | None
    travel_unit: str | None
    force_unit: str | None


def _columns(first: list[str], file: str) -> _Columns:
    found: dict[str, tuple[int, str | None]] = {}
    for i, cell in enumerate(first):
        match = _UNIT.match(cell)
        name, unit = (match[1], match[2]) if match else (cell, None)
        words = name.strip().lower().replace("_", " ")
        for field, known in _HEADERS.items():
            if words in known or (field != "way" and words.split(" ")[0] in known):
                found.setdefault(field, (i, unit or _last_unit(words)))
    if "travel" in found and "force" in found:
        way = found.get("way")
        return _Columns(
            True, found["travel"][0], found["force"][0], way[0] if way else None,
            found["travel"][1], found["force"][1],
        )  # fmt: skip
    if len(first) >= 2 and re.match(r"^\s*[-+\d.]", first[0]):
        return _Columns(False, 0, 1, 2 if len(first) > 2 else None, None, None)
    raise BadInput(
        f"the header {', '.join(first)!r} names no travel and force; write e.g. {_EXAMPLE!r}",
        file=file,
        row=1,
    )


def _last_unit(words: str) -> str | None:
    last = words.split(" ")[-1]
    return (
        last if last in {"mm", "cm", "m", "in", "n", "lbf", "kg", "g", "lb", "oz"} and " " in words else None
    )


def _cell(row: list[str], at: int, unit: str | None, kind: str, field: str) -> float:
    if at >= len(row) or not row[at].strip():
        raise BadInput("is missing", field=field)
    return parse_quantity(row[at], kind, field, unit=unit)


def _force(row: list[str], columns: _Columns) -> tuple[float, bool]:
    try:
        return _cell(row, columns.force, columns.force_unit, "force", "force"), False
    except BadInput as bad:
        try:
            mass = _cell(row, columns.force, columns.force_unit, "mass", "force")
        except BadInput:
            raise bad from None
        return STANDARD_GRAVITY * mass, True


def read_springs(path: Path) -> tuple[SpringAtHand, ...]:
    """Read a list of springs at hand: TOML with one [[spring]] each, or CSV with one row each.

    Keys, or columns: ``name``; ``rate`` and ``most_deflection``, or ``free_length`` and ``solid_length``
    instead of the latter, or the coil's ``wire``, ``outside``, ``turns``, ``ends``, ``material`` and
    ``free_length`` instead of all; ``number``, ``tension``, ``mass``.

    Parameters
    ----------
    path : Path
        ``.toml``, or CSV.

    Returns
    -------
    tuple of SpringAtHand
        In the order of the file.

    Raises
    ------
    BadInput
        Every entry that can't be read.
    """
    problems: list[BadInput] = []
    text = read_text(path)
    if path.suffix.lower() == ".toml":
        top = Section(parse_toml(text, path.name), "", path.name, problems)
        parts = top.sections("spring", required=True)
        top.finish()
    else:
        parts = [
            Section(values, f"row {row}", path.name, problems) for row, values in _csv_rows(text, path.name)
        ]
    springs = [(part, _spring(part)) for part in parts]
    check_unique([(part, one.name) for part, one in springs if one is not None], "spring")
    raise_problems(problems)
    return tuple(one for _, one in springs if one is not None)


def _csv_rows(text: str, file: str) -> list[tuple[int, dict[str, Any]]]:
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if len(lines) < 2:
        raise BadInput("holds no spring; the first line names the columns, e.g. name,rate [N/m]", file=file)
    rows = _cells(lines, file)
    heads = [_UNIT.match(cell) for cell in rows[0]]
    names = [
        (head[1] if head else cell).strip().lower().replace(" ", "_")
        for head, cell in zip(heads, rows[0], strict=True)
    ]
    found = []
    for number, row in enumerate(rows[1:], 2):
        values: dict[str, Any] = {}
        for name, head, cell in zip(names, heads, row, strict=False):
            typed = cell.strip()
            if not typed:
                continue
            bare = re.fullmatch(r"[-+]?[\d.,]+(?:[eE][-+]?\d+)?", typed)
            values[name] = f"{typed} {head[2]}" if head and bare else _whole(typed) if bare else typed
        found.append((number, values))
    return found


def _whole(typed: str) -> int | float | str:
    try:
        number = float(typed)
    except ValueError:
        return typed
    return int(number) if math.isfinite(number) and number == int(number) else number


def _spring(part: Section) -> SpringAtHand | None:
    before = len(part.problems)
    name = part.name("grey 20 x 120")
    number = part.whole("number", 1) or 1
    tension = part.quantity("tension", "force", "8 N", 0.0, least=0.0)
    mass = part.quantity("mass", "mass", "60 g", 0.0, least=0.0)
    rate = part.optional("rate", "stiffness", above=0.0)
    most = part.optional("most_deflection", "length", above=0.0)
    free = part.optional("free_length", "length", above=0.0)
    solid = part.optional("solid_length", "length", above=0.0)
    coil = read_coil(part, free, tension) if "wire" in part else None
    part.finish()
    if len(part.problems) > before:
        return None
    if coil is not None:
        rate = coil.rate if rate is None else rate
        mass = mass or coil.mass
        solid = coil.solid_length if solid is None and coil.kind == "compression" else solid
    if most is None and free is not None and solid is not None:
        most = (1 - SOLID_RESERVE) * (free - solid)
    if rate is None:
        part.problem(
            'is missing; e.g. rate = "900 N/m", or give wire, outside, turns and free_length', "rate"
        )
    if most is None:
        part.problem(
            'is missing; e.g. most_deflection = "130 mm", or give free_length and solid_length',
            "most_deflection",
        )
    if rate is None or most is None or len(part.problems) > before:
        return None
    return _kept(part, lambda: SpringAtHand(name, rate, most, number, tension, mass))


def _kept(part: Section, make: Callable[[], SpringAtHand]) -> SpringAtHand | None:
    try:
        return make()
    except BadInput as bad:
        part.problem(bad.problem, bad.field)
        return None


def read_coil(part: Section, free: float | None, tension: float = 0.0) -> Coil | None:
    """Read a coil by its dimensions from a table or from typed options.

    Parameters
    ----------
    part : Section
        Keys ``kind``, ``wire``, ``outside`` or ``diameter``, ``turns``, ``ends``, ``material``.
    free : float, optional
        Free length. [m]
    tension : float
        Initial tension. [N]

    Returns
    -------
    Coil or None
        None after a problem, which the section keeps.
    """
    before = len(part.problems)
    kind = part.choice("kind", ("compression", "extension"), "compression")
    wire = part.quantity("wire", "length", "2 mm", above=0.0)
    if "outside" in part:
        part.know("diameter")
        mean = part.quantity("outside", "length", "22 mm", above=0.0) - wire
    else:
        mean = part.quantity("diameter", "length", "20 mm", above=0.0)
    turns = part.number("turns", None, "18", above=0.0)
    usual = "squared ground" if kind == "compression" else "hooks"
    ends: Ends = part.choice("ends", tuple(ENDS), usual)  # type: ignore[assignment]  # one of ENDS
    material = part.choice("material", tuple(WIRES), "music wire")
    if free is None:
        part.problem('is missing; e.g. free_length = "120 mm"', "free_length")
    if len(part.problems) > before or free is None or math.isnan(wire + mean + turns + free):
        return None
    try:
        return Coil(kind, wire, mean, turns, free, WIRES[material], ends, tension)  # type: ignore[arg-type]  # read as a choice
    except BadInput as bad:
        part.problem(bad.problem, bad.field)
        return None


def typed_section(values: Mapping[str, Any], problems: list[BadInput]) -> Section:
    """Options as typed, read like a table; those left out are absent.

    Parameters
    ----------
    values : mapping
        By key.
    problems : list of BadInput
        Grows.

    Returns
    -------
    Section
        Without place or file: messages name the option.
    """
    return Section({key: value for key, value in values.items() if value is not None}, "", "", problems)
