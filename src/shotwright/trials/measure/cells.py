"""Cells of a table file: CSV in any common dress, or XLSX."""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from shotwright.base.errors import BadInput

Row = Sequence[Any]
LARGEST_FILE = 50_000_000  # bytes
LONGEST_TABLE = 200_000  # rows
_DELIMITERS = {"\t": "tabs", ";": "semicolons", "|": "bars", ",": "commas"}
_SEP_LINE = re.compile(r"^sep=(.)\r?\n", re.I)


@dataclass(slots=True)
class Cells:
    """Rows of a table as they stand in the file; the first is row 1.

    Parameters
    ----------
    rows : list of sequence
        Text, or numbers and dates from a spreadsheet.
    how : str
        How the file was understood: ``"text in cp1252, cells between semicolons"``.
    """

    rows: list[Row] = field(default_factory=list)
    how: str = ""


def read_cells(path: Path, count_known: Callable[[Row], int]) -> Cells:
    """Read all cells of a table file.

    Parameters
    ----------
    path : Path
        CSV, TSV or XLSX. The content decides, not the ending of the name.
    count_known : callable
        Says how many cells of a row are known headers; tells delimiters and sheets apart.

    Returns
    -------
    Cells
        The rows.

    Raises
    ------
    BadInput
        No such file, not a table, or damaged.
    """
    try:
        if path.is_dir():
            raise BadInput("is a folder; name the file in it", file=str(path))
        if path.stat().st_size > LARGEST_FILE:
            raise BadInput(
                f"is larger than {LARGEST_FILE // 1_000_000} MB; is it the right file?", file=str(path)
            )
        data = path.read_bytes()
    except FileNotFoundError:
        raise BadInput("there is no such file", file=str(path)) from None
    except OSError as reason:
        raise BadInput(f"can't be read ({reason.strerror})", file=str(path)) from None
    if data.startswith(b"PK\x03\x04"):
        cells = _read_xlsx(data, path.name, count_known)
    elif data.startswith(b"\xd0\xcf\x11\xe0"):
        raise BadInput("is in the old XLS format; save it as XLSX or CSV", file=path.name)
    else:
        cells = _read_text(data, path.name, count_known)
    if not any(str(cell or "").strip() for row in cells.rows for cell in row):
        raise BadInput("is empty", file=path.name)
    return cells


def _read_text(data: bytes, file: str, count_known: Callable[[Row], int]) -> Cells:
    text, encoding = _decode(data)
    if "\x00" in text:
        raise BadInput("is not a table; give a CSV, TSV or XLSX file", file=file)
    given = _SEP_LINE.match(
        text
    )  # a line by which some spreadsheets state the delimiter; they count no row for it
    if given:
        text = text[given.end() :]
    head = "".join(text.splitlines(keepends=True)[:30])
    best, delimiter = (-1, 0), ","
    for candidate in [given[1]] if given else _DELIMITERS:
        try:
            rows = list(csv.reader(io.StringIO(head, newline=""), delimiter=candidate))
        except (csv.Error, ValueError, TypeError):
            continue
        score = max(((count_known(row), len(row)) for row in rows), default=(0, 0))
        if score > best:
            best, delimiter = score, candidate
    how = f"text in {encoding}, cells between {_DELIMITERS.get(delimiter, repr(delimiter))}"
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as reason:
        if "unexpected end of data" in str(reason):
            raise BadInput(
                'a quotation mark is opened and never closed; look for a lone "', file=file
            ) from None
        try:
            rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
        except csv.Error as worse:
            raise BadInput(f"can't be read as a table ({worse})", file=file) from None
    if len(rows) > LONGEST_TABLE:
        raise BadInput(f"has more than {LONGEST_TABLE} rows; is it the right file?", file=file)
    return Cells(list(rows), how)


def _decode(data: bytes) -> tuple[str, str]:
    """Text and the name of its encoding: marked, then UTF-16 by its zero bytes, then UTF-8, then Western."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace"), "UTF-16"
    sample = data[:2000]
    for codec, zeros in (("utf-16-le", sample[1::2]), ("utf-16-be", sample[0::2])):
        if zeros and zeros.count(0) > 0.6 * len(zeros):
            return data.decode(codec, errors="replace"), "UTF-16"
    try:
        return data.decode("utf-8-sig"), "UTF-8"
    except UnicodeDecodeError:
        pass
    try:
        return data.decode("cp1252"), "Windows-1252 (Latin-1)"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "Latin-1"


def _read_xlsx(data: bytes, file: str, count_known: Callable[[Row], int]) -> Cells:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = archive.namelist()
            if sum(item.file_size for item in archive.infolist()) > 10 * LARGEST_FILE:
                raise BadInput("unpacks to more than a table can hold; is it the right file?", file=file)
            sheets = [name for name in names if name.startswith("xl/worksheets/")]
            has_formulas = any(b"<f" in archive.read(name) for name in sheets)
        if not sheets:
            raise BadInput("is no XLSX file; save the table as XLSX or CSV", file=file)
        return _read_workbook(data, file, count_known, has_formulas)
    except BadInput:
        raise
    except Exception as reason:
        problem = f"is a damaged XLSX file ({type(reason).__name__}); save it again, or as CSV"
        raise BadInput(problem, file=file) from reason


def _read_workbook(data: bytes, file: str, count_known: Callable[[Row], int], has_formulas: bool) -> Cells:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about charts and drop-down lists that nobody reads here
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        tables = {sheet.title: _sheet_rows(sheet, file) for sheet in book.worksheets}
        scores = {
            title: max((count_known(row) for row in rows[:30]), default=0) for title, rows in tables.items()
        }
        title = max(scores, key=lambda name: scores[name])
        rows = tables[title]
        if has_formulas:
            written = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=False)
            _mark_formulas_without_value(rows, _sheet_rows(written[title], file))
    others = [name for name in tables if name != title and tables[name]]
    how = f"sheet {title!r}" + (f"; not read: {', '.join(repr(name) for name in others)}" if others else "")
    return Cells(rows, how)


def _sheet_rows(sheet: Any, file: str) -> list[Row]:
    sheet.reset_dimensions()  # some programs write a wrong size
    rows: list[Row] = []
    last = 0
    for row in sheet.iter_rows(values_only=True):
        rows.append(row)
        if any(cell is not None for cell in row):
            last = len(rows)
        if len(rows) - last > LONGEST_TABLE or last > LONGEST_TABLE:
            raise BadInput(f"has more than {LONGEST_TABLE} rows; is it the right file?", file=file)
    return rows[:last]


def _mark_formulas_without_value(rows: list[Row], written: list[Row]) -> None:
    """Put the text of a formula where the file holds no value of it."""
    for number, formulas in enumerate(written):
        values = list(rows[number]) if number < len(rows) else []
        values += [None] * (len(formulas) - len(values))
        for place, formula in enumerate(formulas):
            text = getattr(formula, "text", formula)
            if values[place] is None and isinstance(text, str) and text.startswith("="):
                values[place] = text
        if number < len(rows):
            rows[number] = values
        elif any(value is not None for value in values):
            rows.extend([()] * (number - len(rows)))
            rows.append(values)
