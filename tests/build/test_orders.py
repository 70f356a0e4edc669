"""The file of kept parts: whatever was typed comes back, and what others wrote in it stays."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile
from shotwright.build.orders import KeptOrder, orders_from_text, with_order, without_order

words = st.text(st.characters(exclude_categories=("Cs", "Cc"), include_characters="\n\t\\\"'"), max_size=40)
orders = st.builds(
    KeptOrder,
    name=words.filter(str.strip),
    kind=st.sampled_from(["hub-plate", "cam"]),
    date=st.dates(),
    inputs=st.dictionaries(st.sampled_from(["bore", "readings", "x y", "é"]), words, max_size=4),
)


@given(st.lists(orders, max_size=5, unique_by=lambda one: one.name))
@settings(max_examples=60, deadline=None)
def test_parts_come_back_as_they_were_kept(wanted: list[KeptOrder]) -> None:
    text = ""
    for order in wanted:
        text = with_order(text, order)
    assert orders_from_text(text) == tuple(wanted)
    for order in wanted:
        assert with_order(text, order) == text or orders_from_text(with_order(text, order)) == tuple(wanted)
    for order in wanted:
        text = without_order(text, order.name)
    assert orders_from_text(text) == ()


def test_a_part_is_replaced_where_it_stands_and_comments_stay() -> None:
    text = "# ours\n"
    for name in ("a", "b", "c"):
        text = with_order(text, KeptOrder(name, "cam", datetime.date(2026, 1, 2), {"lift": "90 mm"}))
    text = with_order(text, KeptOrder("b", "cam", datetime.date(2026, 1, 9), {"lift": "80 mm"}))
    assert [one.name for one in orders_from_text(text)] == ["a", "b", "c"]
    assert orders_from_text(text)[1].inputs == {"lift": "80 mm"}
    assert text.startswith("# ours\n")
    assert without_order(text, "d") == text
    assert [one.name for one in orders_from_text(without_order(text, "b"))] == ["a", "c"]


def test_everything_wrong_in_a_file_is_told() -> None:
    text = (
        '[[part]]\nname = "a"\nkind = "cam"\ndate = "soon"\n[part.inputs]\nlift = 90\n'
        '[[part]]\nname = "a"\nkind = "cam"\ndate = 2026-01-02\ncolour = "red"\n'
    )
    with pytest.raises(BadFile) as told:
        orders_from_text(text, "parts.toml")
    shown = str(told.value)
    assert "soon is not a date" in shown
    assert 'lift = "90"' in shown
    assert "colour" in shown
    assert "already the name of another part" in shown
