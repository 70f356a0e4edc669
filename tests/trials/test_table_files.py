"""Spreadsheets, large tables, and the law of the table reader: any content is read or refused in words."""

from __future__ import annotations

import contextlib
import datetime
import io
import math
import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import ShotwrightError
from shotwright.trials.measure.tables import read_shot_table


def read_book(tmp_path, rows, **kwargs):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(tmp_path / "shots.xlsx")
    return read_shot_table(tmp_path / "shots.xlsx", trial="first", **kwargs)


def test_spreadsheet(tmp_path):
    rows = [
        ["Trial of Saturday"],
        [],
        ["Shot", "Along (cm)", "Cross (cm)", "Ball", "Hit", "Date"],
        [1, 320, 12.5, 7, True, datetime.date(2026, 1, 17)],
        [None, None, None],
        [2, "3.1 m", -4, "B", "no", None],
        [3, "#DIV/0!", -4, "B", "no", None],
    ]
    reading = read_book(tmp_path, rows, prototype="P")

    assert [(s.order, s.ball, s.hit) for s in reading.shots] == [(1, "7", True), (2, "B", False)]
    assert [s.along for s in reading.shots] == pytest.approx([3.2, 3.1])
    assert reading.shots[1].source == "shots.xlsx row 6"
    assert [str(p)[:37] for p in reading.problems] == ["row 7, along: '#DIV/0!' is not a numb"]
    assert reading.trials[0].date == datetime.date(2026, 1, 17)


def test_spreadsheet_formula_without_stored_value_is_named(tmp_path):
    # The library writes formulas without values, as programs do that never computed them.
    reading = read_book(tmp_path, [["shot", "along (m)"], [1, 3], [2, "=B2+1"], [3, 4]])

    assert [s.order for s in reading.shots] == [1, 3]
    assert str(reading.problems[0]).startswith("row 3, along: '=B2+1' is a formula without a value")


def test_spreadsheet_formula_with_stored_value_gives_the_value(tmp_path):
    read_book(tmp_path, [["shot", "along (m)"], [1, 3], [2, "=B2+1"]])
    source, target = io.BytesIO((tmp_path / "shots.xlsx").read_bytes()), tmp_path / "stored.xlsx"
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b"<v></v>", b"<v>4</v>").replace(b"<v />", b"<v>4</v>"))

    assert [s.along for s in read_shot_table(target, trial="T").shots] == [3.0, 4.0]


def test_the_sheet_with_shots_is_found(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["shopping list"])
    sheet = book.create_sheet("marks")
    sheet.append(["along (m)", "cross (m)"])
    sheet.append([3, 0.1])
    book.save(tmp_path / "two.xlsx")
    reading = read_shot_table(tmp_path / "two.xlsx", trial="T")

    assert [s.along for s in reading.shots] == [3.0]
    assert "sheet 'marks'; not read: 'Sheet'" in reading.notes[0]


def big_rows(count):
    return [
        [n, f"{3 + n % 17 / 100:.3f}", f"{n % 11 / 100:.3f}", n % 6, f"{n % 5} in", "ok"]
        for n in range(1, count + 1)
    ]


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_ten_thousand_shots_are_read(tmp_path, ending):
    header = ["shot", "along (m)", "cross (m)", "ball", "height", "remark"]
    if ending == "csv":
        text = "\n".join(",".join(map(str, row)) for row in [header, *big_rows(10_000)])
        (tmp_path / "big.csv").write_text(text)
    else:
        book = openpyxl.Workbook(write_only=True)
        sheet = book.create_sheet()
        for row in [header, *big_rows(10_000)]:
            sheet.append(row)
        book.save(tmp_path / "big.xlsx")

    reading = read_shot_table(tmp_path / f"big.{ending}", trial="T")

    assert len(reading.shots) == 10_000
    assert not reading.problems


CELLS = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        ["along (m)", "cross", "shot", "hit", "3", "3,2", "=1", "#", '"', "x", "nan", "1e999", "2 in", "date"]
    ),
)


@given(st.lists(st.lists(CELLS, max_size=5), max_size=6), st.sampled_from(",;\t|"))
@settings(max_examples=150, deadline=None)
def test_any_table_of_text_is_read_or_refused_in_words(tmp_path_factory, rows, delimiter):
    text = "\n".join(delimiter.join(row) for row in rows)
    path = tmp_path_factory.mktemp("any") / "any.csv"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with contextlib.suppress(ShotwrightError):
        reading = read_shot_table(path, trial="T")
        values = [v for s in reading.shots for v in (s.along, s.cross, s.height) if v is not None]

        assert all(math.isfinite(v) for v in values)
        assert len({s.order for s in reading.shots}) == len(reading.shots)


@given(
    st.binary(max_size=300),
    st.sampled_from([b"", b"PK\x03\x04", b"\xff\xfe", b"along (m),cross (m)\n", b"\xd0\xcf\x11\xe0"]),
)
@settings(max_examples=100, deadline=None)
def test_any_bytes_are_read_or_refused_in_words(tmp_path_factory, data, start):
    path = tmp_path_factory.mktemp("any") / "any.csv"
    path.write_bytes(start + data)
    with contextlib.suppress(ShotwrightError):
        read_shot_table(path, trial="T")


@given(st.integers(0, 5000), st.integers(0, 255))
@settings(max_examples=40, deadline=None)
def test_a_damaged_spreadsheet_is_read_or_refused_in_words(tmp_path_factory, place, byte):
    folder = tmp_path_factory.mktemp("book")
    read_book(folder, [["shot", "along (m)"], [1, 3]])
    data = bytearray((folder / "shots.xlsx").read_bytes())
    data[place % len(data)] = byte
    (folder / "shots.xlsx").write_bytes(data)
    with contextlib.suppress(ShotwrightError):
        read_shot_table(folder / "shots.xlsx", trial="T")


@given(
    st.lists(st.tuples(st.floats(-900, 900), st.floats(-900, 900)), min_size=1, max_size=8),
    st.sampled_from(["m", "cm", "mm", "in", "ft"]),
)
@settings(max_examples=60, deadline=None)
def test_typed_marks_come_back(tmp_path_factory, marks, unit):
    # inch and foot exact by definition
    metres = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048}[unit]
    path = tmp_path_factory.mktemp("marks") / "marks.csv"
    path.write_text(
        f"along ({unit});left ({unit})\n" + "".join(f"{a / metres!r};{c / metres!r}\n" for a, c in marks)
    )
    shots = read_shot_table(path, trial="T").shots

    assert [s.along for s in shots] == pytest.approx([a for a, _ in marks], rel=1e-12, abs=1e-12)
    assert [s.cross for s in shots] == pytest.approx([c for _, c in marks], rel=1e-12, abs=1e-12)
