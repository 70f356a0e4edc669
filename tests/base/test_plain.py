"""Results as plain data: whatever goes in, JSON can hold what comes out, and nothing is lost on the way."""

from __future__ import annotations

import datetime
import enum
import json
import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.plain import Result, as_plain


class Colour(enum.Enum):
    RED = "red"


class Ending(enum.IntEnum):
    FLOOR = 2


@dataclass(frozen=True, slots=True)
class Mark(Result):
    along: float
    name: str = "first"


@dataclass(frozen=True, slots=True)
class Series(Result):
    marks: tuple[Mark, ...]
    when: datetime.date
    spread: float = math.nan


@pytest.mark.parametrize(
    ("value", "plain"),
    [
        (None, None),
        (True, True),
        (3, 3),
        ("ä", "ä"),
        (1.5, 1.5),
        (math.nan, None),
        (-math.inf, None),
        (np.float64(2.5), 2.5),
        (np.float64("nan"), None),
        (np.int32(4), 4),
        (np.bool_(True), True),
        (np.array([[1.0, np.inf], [2.0, 3.0]]), [[1.0, None], [2.0, 3.0]]),
        ((1, 2), [1, 2]),
        ({3: (1.0,)}, {"3": [1.0]}),
        (Colour.RED, "red"),
        (Ending.FLOOR, 2),
        (datetime.date(2026, 1, 2), "2026-01-02"),
        (datetime.datetime(2026, 1, 2, 3, 4, tzinfo=datetime.UTC), "2026-01-02T03:04:00+00:00"),
    ],
)
def test_as_plain(value: object, plain: object) -> None:
    found = as_plain(value)
    assert found == plain
    assert type(found) is type(plain)


def test_results_nest_in_field_order() -> None:
    series = Series((Mark(1.0), Mark(math.inf, "second")), datetime.date(2026, 1, 2))
    assert json.dumps(series.to_dict()) == (
        '{"marks": [{"along": 1.0, "name": "first"}, {"along": null, "name": "second"}], '
        '"when": "2026-01-02", "spread": null}'
    )


def test_a_type_without_plain_form_is_a_bug_not_a_guess() -> None:
    with pytest.raises(TypeError, match="object has no plain form"):
        as_plain({"a": object()})
    with pytest.raises(TypeError, match="type has no plain form"):
        as_plain(Mark)


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text() | st.floats(),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
        max_leaves=12,
    )
)
@settings(max_examples=100, deadline=None)
def test_json_holds_whatever_comes_out(value: object) -> None:
    plain = as_plain(value)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
