"""Numbers with their doubt, as people read them. Rounding rule: JCGM 100:2008, 7.2.6."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.estimate import Estimate, NotEstimated, in_words, round_to_doubt


# The first two rows are examples of JCGM 100:2008, 7.2.2 and 7.2.6 (from memory): 100.021 47 g with 0.35 mg,
# and 10.057 62 ohm with 27 milliohm, which is to be rounded to 10.058 ohm.
@pytest.mark.parametrize(
    ("value", "doubt", "shown"),
    [
        (100.02147, 0.00035, "100.02147"),
        (10.05762, 0.027, "10.058"),
        (7.14379, 0.0321, "7.144"),
        (7143.79, 320.0, "7140"),
        (7143.79, 3200.0, "7100"),
        (0.5, 1.0, "0.5"),
        (-0.21234, 0.014, "-0.212"),
        (3.14159265, 0.0, "3.142"),
        (3.14159265, -1.0, "3.142"),
        (3.14159265, math.inf, "3.142"),
        (math.nan, 1.0, "not known"),
        (math.inf, 1.0, "not known"),
        (0.0, 0.1, "0.00"),
    ],
)
def test_rounded_to_two_digits_of_the_doubt(value: float, doubt: float, shown: str) -> None:
    assert round_to_doubt(value, doubt) == shown


@given(
    value=st.floats(min_value=-1e6, max_value=1e6),
    doubt=st.floats(min_value=1e-6, max_value=1e6),
)
@settings(max_examples=200, deadline=None)
def test_rounding_moves_a_number_by_less_than_a_tenth_of_its_doubt(value: float, doubt: float) -> None:
    shown = float(round_to_doubt(value, doubt))
    assert abs(shown - value) <= 0.0501 * doubt + 1e-9


def test_in_words() -> None:
    spread = Estimate(0.2123, 0.1412, 0.4)
    assert in_words(spread) == "0.21 (0.14 to 0.40)"
    assert in_words(spread, "m") == "0.21 m (0.14 to 0.40 m)"
    assert in_words(spread, "mm", 1000) == "210 mm (140 to 400 mm)"
    assert in_words(Estimate(0.71, 0.52, 0.85), "%", 100) == "71 % (52 to 85 %)"
    assert in_words(Estimate(0.8, 0.55, 1.4), "°") == "0.80° (0.55 to 1.40°)"
    assert (
        in_words(NotEstimated("1 shot, at least 2 needed"), "m") == "not estimated: 1 shot, at least 2 needed"
    )


def test_to_dict_names_the_fields() -> None:
    assert Estimate(1.0, 0.5, 2.0, method="t").to_dict() == {
        "value": 1.0,
        "low": 0.5,
        "high": 2.0,
        "confidence": 0.95,
        "method": "t",
    }
    assert NotEstimated("no shots").to_dict() == {"reason": "no shots"}
