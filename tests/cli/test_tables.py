"""Tables that line up."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.cli.tables import paragraphs, section, table


def test_numbers_stand_to_the_right_and_words_to_the_left() -> None:
    shown = table(["trial", "shots", "spread"], [["T1", 7, "0.21 m"], ["long one", 12, None]])
    assert shown.splitlines() == [
        "trial     shots  spread",
        "--------  -----  ------",
        "T1            7  0.21 m",
        "long one     12       -",
    ]


def test_a_long_last_column_wraps_under_itself() -> None:
    shown = table(["pair", "words"], [["A, B", "seven shots each cannot tell these apart"]], width=32)
    assert shown.splitlines() == [
        "pair  words",
        "----  --------------------------",
        "A, B  seven shots each cannot",
        "      tell these apart",
    ]


def test_no_rows_leave_the_header() -> None:
    assert table(["trial", "shots"], []) == "trial  shots\n-----  -----"


def test_a_row_of_another_length_is_a_bug() -> None:
    with pytest.raises(ValueError, match="zip"):
        table(["a", "b"], [["only one"]])


@given(st.lists(st.lists(st.text("abc 123", max_size=12), min_size=3, max_size=3), max_size=6))
@settings(max_examples=60, deadline=None)
def test_no_cell_is_lost_and_columns_line_up(rows: list[list[str]]) -> None:
    lines = table(["one", "two", "three"], rows, width=200).split("\n")
    rule = lines[1]
    starts = [0, *(i + 2 for i in range(len(rule)) if rule.startswith("  ", i))]
    assert len(lines) == 2 + len(rows)
    for row, line in zip(rows, lines[2:], strict=True):
        ends = [*(s - 2 for s in starts[1:]), None]
        cells = [line[s:e].split() for s, e in zip(starts, ends, strict=True)]
        assert cells == [cell.split() for cell in row]


def test_paragraphs_wrap_and_skip_empty_ones() -> None:
    assert paragraphs(["one two three", "", "four"], width=8) == "one two\n  three\nfour"


def test_section_is_left_out_when_empty() -> None:
    assert section("Hits", "", "") == ""
    assert section("Hits", "a", "", "b") == "Hits\n====\n\na\n\nb"
