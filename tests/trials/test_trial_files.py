"""prototypes.toml and trials.toml."""

from __future__ import annotations

import contextlib
import datetime
import math
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile, BadInput, ShotwrightError
from shotwright.trials.reading import prototypes_from_text, read_prototypes, read_trials, trials_from_text

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
PROTOTYPES = (EXAMPLES / "prototypes.toml").read_text(encoding="utf-8")
TRIALS = (EXAMPLES / "trials.toml").read_text(encoding="utf-8")


def test_prototypes_come_out_in_si():
    roller, catapult = read_prototypes(EXAMPLES / "prototypes.toml")

    assert roller.elevation_low == roller.elevation_high == pytest.approx(math.radians(52))
    assert (roller.speed_low, roller.speed_high, roller.motors) == (5.0, 11.0, 2)
    assert catapult.release_height == pytest.approx(0.508, abs=1e-12)  # 20 in, exact by definition
    assert (catapult.elevation_low, catapult.elevation_high) == pytest.approx(
        (math.radians(35), math.radians(70))
    )
    assert catapult.speed_low is None


def test_trials_come_out_in_si():
    low, wall = read_trials(EXAMPLES / "trials.toml", ["twin roller", "catapult"])

    assert low.date == datetime.date(2026, 1, 17)
    assert (low.surface, low.surface_at, low.mark_sd) == ("floor", 0.0, pytest.approx(0.01))
    assert low.release_height is None
    assert (wall.surface, wall.surface_at, wall.same_ball) == ("plane", 4.0, True)


SLIPS = [
    (PROTOTYPES, 'elevation = "52 deg" ', "elevation = 52 ", "\"twin roller\", elevation: '52' has no unit"),
    (PROTOTYPES, 'elevation = "52 deg" ', 'elevation = "152 deg" ', "between -90 and 90 deg"),
    (PROTOTYPES, 'elevation_high = "70 deg"', "", "elevation_high: is missing"),
    (
        PROTOTYPES,
        'elevation_high = "70 deg"',
        'elevation_high = "7 deg"',
        "35 deg is more than elevation_high",
    ),
    (PROTOTYPES, 'elevation_high = "70 deg"', 'elevation = "7 deg"', "keep one of the two"),
    (PROTOTYPES, 'speed_low = "5 m/s"', 'speed = "5 m/s"', "say speed_low and speed_high"),
    (PROTOTYPES, 'speed_low = "5 m/s"', 'speed_low = "50 m/s"', "speed_low: 50 m/s is more than speed_high"),
    (PROTOTYPES, 'mass = "3.1 kg"', 'mass = "0 kg"', "mass: 0 kg is not allowed"),
    (PROTOTYPES, "motors = 2", "motors = -2", "motors: -2 is not a whole number of at least 0"),
    (PROTOTYPES, "spin_parameter = 0.15", "spin_parameter = nan", "nan is not a number"),
    (PROTOTYPES, 'name = "catapult"', 'name = "twin roller"', "already the name of another prototype"),
    (PROTOTYPES, "[[prototype]]", "[prototype]", "line 20: "),
    (TRIALS, 'prototype = "catapult"', 'prototype = "catapul"', "did you mean 'catapult'?"),
    (TRIALS, 'surface_at = "4 m" ', "", 'surface_at: is missing; e.g. surface_at = "3 m"'),
    (TRIALS, 'surface_at = "4 m" ', 'surface_at = "-4 m" ', "how far the plane stands"),
    (TRIALS, 'surface = "plane" ', 'surface = "wall" ', '\'wall\' is not one of "floor", "plane"'),
    (TRIALS, "date = 2026-01-18", 'date = "18.1.2026"', "18.1.2026 is not a date; year-month-day"),
    (TRIALS, 'mark_sd = "5 mm"', 'mark_sd = "-5 mm"', "mark_sd: -5 mm is not allowed"),
    (TRIALS, "same_ball = true", "same_bal = true", "did you mean same_ball?"),
]


@pytest.mark.parametrize(
    ("text", "old", "new", "said"), SLIPS, ids=[s[2][:40] or f"no {s[1]}" for s in SLIPS]
)
def test_each_slip_is_named(text, old, new, said):
    assert old in text
    text = text.replace(old, new, 1)
    read = partial(trials_from_text, prototypes=["twin roller", "catapult"])
    with pytest.raises(BadInput) as caught:
        (read if "[[trial]]" in text else prototypes_from_text)(text)

    assert said in str(caught.value)


def test_all_slips_are_told_at_once():
    with pytest.raises(BadFile) as caught:
        trials_from_text(TRIALS.replace('"10 mm"', "10").replace('"5 mm"', "5"))

    assert len(caught.value.problems) == 2


VALUES = st.one_of(
    st.integers(),
    st.floats(),
    st.sampled_from(
        ["true", "[]", "{}", "[1, 2]", '""', '"1 m"', '"-1 deg"', "1979-05-27T07:32:00Z", "07:32:00"]
    ),
)


@given(st.sampled_from([PROTOTYPES, TRIALS]), st.integers(0, 30), VALUES)
@settings(max_examples=100, deadline=None)
def test_any_value_on_any_line_is_read_or_refused_in_words(text, number, value):
    lines = text.splitlines()
    number %= len(lines)
    if "=" in lines[number]:
        lines[number] = f"{lines[number].split('=')[0]}= {value}"
    read = trials_from_text if "[[trial]]" in text else prototypes_from_text
    with contextlib.suppress(ShotwrightError):
        read("\n".join(lines))
