"""Headers of a shot table: which column means what, and in which unit."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shotwright.base.errors import BadInput
from shotwright.base.quantities import KINDS, unit_scale

# What a column of ours holds: a kind of quantity, or one of "whole", "text", "date", "hit".
FIELDS: dict[str, str] = {
    "uid": "text",
    "trial": "text",
    "prototype": "text",
    "order": "whole",
    "ball": "text",
    "along": "length",
    "cross": "length",
    "height": "length",
    "speed": "speed",
    "elevation": "angle",
    "spin": "spin",
    "hit": "hit",
    "remark": "text",
    "set_aside": "text",
    "date": "date",
    "setting": "text",
}
MEASURED = ("along", "cross", "height", "speed", "elevation", "spin", "hit")

# Headers that people write, lower case, "_" read as a space; the second part turns the sign.
_WORDS: dict[str, tuple[str, float]] = {
    word: (field, sign)
    for field, sign, words in (
        ("uid", 1, "uid"),
        ("trial", 1, "trial|trial name|series"),
        ("prototype", 1, "prototype|prototype name|launcher"),
        ("order", 1, "order|firing order|shot|shot no|shot nr|shot number|shot #|no|nr|number|#|n"),
        ("ball", 1, "ball|ball no|ball nr|ball number|ball id|ball #"),
        ("along", 1, "along|distance|dist|range|reach|down range|downrange|x"),
        ("cross", 1, "cross|left|left/right|left-right|side|sideways|lateral|y"),
        ("cross", -1, "right"),
        ("height", 1, "height|vertical|z"),
        ("speed", 1, "speed|launch speed|exit speed|velocity|launch velocity|v"),
        ("elevation", 1, "elevation|angle|launch angle"),
        ("spin", 1, "spin|backspin|spin rate"),
        ("spin", -1, "topspin"),
        ("hit", 1, "hit|hits|scored|hit?"),
        ("remark", 1, "remark|remarks|note|notes|comment|comments"),
        ("set_aside", 1, "set aside|setaside|excluded"),
        ("date", 1, "date|day"),
        ("setting", 1, "setting|settings"),
    )
    for word in words.split("|")
}
_LONGEST_FIRST = sorted(_WORDS, key=len, reverse=True)
_BRACKET = re.compile(r"^[\s,;:/]*[(\[{]\s*([^)\]}]*?)\s*[)\]}]\s*$")
_ANY_BRACKET = re.compile(r"[(\[{]\s*([^)\]}]*?)\s*[)\]}]\s*$")
_EXAMPLE_UNIT = {"length": "cm", "speed": "m/s", "angle": "deg", "spin": "rpm"}


@dataclass(slots=True)
class Column:
    """One column that is read.

    Parameters
    ----------
    index : int
        Place in the row, from 0.
    header : str
        As it stands in the file.
    field : str
        Key of `FIELDS`.
    sign : float
        -1 when the header counts the other way round. [-]
    unit : str
        Unit of bare numbers; empty when none was found.
    scale : float
        SI per unit; of use only with a unit.
    """

    index: int
    header: str
    field: str
    sign: float = 1.0
    unit: str = ""
    scale: float = 1.0

    @property
    def kind(self) -> str:
        """Kind of quantity, or ``"whole"``, ``"text"``, ``"date"``, ``"hit"``."""
        return FIELDS[self.field]

    def take_unit(self, unit: str) -> bool:
        """Set the unit if it is one of this kind of quantity; say whether it was."""
        unit = unit.strip(" ,;:/-")
        for spelled in (unit, unit.replace("_", "/"), unit.replace(" ", "/"), unit.rstrip(".")):
            if spelled and self.kind in KINDS:
                try:
                    self.scale = unit_scale(spelled, self.kind)[0]
                except BadInput:
                    continue
                self.unit = spelled
                return True
        return False

    def missing_unit(self) -> str:
        """Words for a column whose numbers have no unit."""
        example = _EXAMPLE_UNIT[self.kind]
        return (
            f"the column {self.header!r} has no unit; write it in the header, {self.header} ({example}),"
            f" or state it when reading: {self.field}={example}"
        )


def plain_header(header: object) -> str:
    """Header as it is compared: lower case, single spaces, no underscores."""
    return " ".join(str(header or "").replace("_", " ").lower().split()).strip(" .:\ufeff")


def recognise(header: object, index: int = 0) -> Column | None:
    """Recognise one header.

    Parameters
    ----------
    header : object
        Cell of the header row: ``"Along / m"``, ``"along_cm"``, ``"Right [in]"``, ``"Shot no."``.
    index : int
        Place of the column.

    Returns
    -------
    Column or None
        None when the header is none that we know.

    Examples
    --------
    >>> column = recognise("Right [in]")
    >>> column.field, column.sign, column.scale
    ('cross', -1.0, 0.0254)
    >>> recognise("distance to the wall (m)") is None
    True
    """
    plain = plain_header(header)
    for word in _LONGEST_FIRST:
        if not plain.startswith(word):
            continue
        rest = plain[len(word) :]
        if rest and rest[0].isalnum():
            continue
        field, sign = _WORDS[word]
        column = Column(index, str(header).strip(), field, float(sign))
        if not rest.strip(" ?"):
            return column
        bracket = _BRACKET.match(rest)
        unit = bracket[1] if bracket else re.sub(r"^[\s,;:/-]*(?:in\s+)?", "", rest)
        if column.take_unit(unit) or (bracket and column.kind not in KINDS):
            return column
        if bracket:
            column.unit = f"?{unit}"
            return column
    return None


def count_known(cells: Sequence[object]) -> int:
    """Count the cells of a row that are headers we know."""
    return sum(recognise(cell) is not None for cell in cells if str(cell or "").strip())


def find_columns(
    header: Sequence[object], columns: Mapping[str, str], units: Mapping[str, str], file: str, row: int
) -> tuple[list[Column], list[str]]:
    """Find what each column of a header row means.

    Parameters
    ----------
    header : sequence
        Cells of the header row.
    columns : mapping
        Our name -> header in the file, for headers that we would not know. ``"right"`` is a name too.
    units : mapping
        Our name -> unit; wins over the header.
    file : str
        For messages.
    row : int
        For messages.

    Returns
    -------
    tuple of list
        Columns, and headers that are not used.

    Raises
    ------
    BadInput
        Two columns with one meaning, a name or header that does not exist, a unit that is none.
    """
    chosen = _chosen(header, columns, file)
    found: dict[str, Column] = {}
    unused = []
    for index, cell in enumerate(header):
        if not str(cell or "").strip():
            continue
        column = chosen.get(index) or (None if _is_chosen(cell, chosen) else recognise(cell, index))
        if column is not None and column.field in found and index not in chosen:
            if found[column.field].index in chosen:
                column = None
            else:
                first, name = found[column.field].header, column.field
                problem = f"the columns {first!r} and {column.header!r} both mean {name}"
                raise BadInput(f"{problem}; say which: {name}={column.header}", file=file, row=row)
        if column is None:
            unused.append(str(cell).strip())
        else:
            found[column.field] = column
    _apply_units(found, units, file, row)
    return sorted(found.values(), key=lambda column: column.index), unused


def _is_chosen(cell: object, chosen: Mapping[int, Column]) -> bool:
    return any(plain_header(cell) == plain_header(column.header) for column in chosen.values())


def _chosen(header: Sequence[object], columns: Mapping[str, str], file: str) -> dict[int, Column]:
    """Columns that the caller named, by index."""
    names = [plain_header(cell) for cell in header]
    chosen: dict[int, Column] = {}
    for name, wanted in columns.items():
        field, sign = (name, 1.0) if name in FIELDS else _WORDS.get(plain_header(name), ("", 1.0))
        if not field:
            raise BadInput(
                f"{name!r} is not a name of ours; known: {', '.join(FIELDS)}", field="columns", file=file
            )
        if plain_header(wanted) not in names:
            listed = ", ".join(str(cell).strip() for cell in header if str(cell or "").strip())
            near = difflib.get_close_matches(plain_header(wanted), names, n=1, cutoff=0.5)
            hint = (
                f"did you mean {str(header[names.index(near[0])]).strip()!r}?" if near else f"found: {listed}"
            )
            raise BadInput(f"there is no column {wanted!r} for {field}; {hint}", field="columns", file=file)
        index = names.index(plain_header(wanted))
        column = Column(index, str(header[index]).strip(), field, float(sign))
        bracket = _ANY_BRACKET.search(column.header)
        known = recognise(column.header)
        if bracket:
            column.take_unit(bracket[1])
        elif known is not None and known.kind == column.kind and known.unit:
            column.take_unit(known.unit)
        chosen[index] = column
    return chosen


def _apply_units(found: Mapping[str, Column], units: Mapping[str, str], file: str, row: int) -> None:
    for name, unit in units.items():
        field = name if name in FIELDS else _WORDS.get(plain_header(name), ("", 1.0))[0]
        if field not in found:
            listed = ", ".join(found)
            raise BadInput(
                f"a unit is stated for {name!r}, but there is no such column; found: {listed}", file=file
            )
        if found[field].kind not in KINDS:
            raise BadInput(f"{name} has no unit; leave {unit!r} out", field="units", file=file)
        if not found[field].take_unit(unit):
            unit_scale(unit, found[field].kind, field)  # raises with the words for this kind
    for column in found.values():
        if column.unit.startswith("?"):
            problem = f"{column.unit[1:]!r} in the header {column.header!r} is not a unit of {column.kind}"
            example = f"{column.field} ({_EXAMPLE_UNIT[column.kind]})"
            raise BadInput(f"{problem}; e.g. {example}", field=column.field, file=file, row=row)
