"""The match file: what it says is read in SI, and every slip is told with its place."""

from __future__ import annotations

import contextlib
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput, ShotwrightError
from shotwright.match.reading import match_from_text

TEXT = (Path(__file__).parents[2] / "docs" / "examples" / "match.toml").read_text(encoding="utf-8")


def test_the_example():
    found = match_from_text(TEXT)

    assert (found.times.length, found.times.autonomous, found.times.last_shot) == (150.0, 15.0, 150.0)
    assert (found.robot.start, found.robot.storage, found.robot.spread) == ((1.0, 1.0), 3, 0.2)
    assert (found.launcher.recovery, found.launcher.hot_shots) == (0.9, math.inf)
    assert found.positions[0].hit == pytest.approx(0.7)
    assert found.plans[0].stations == ("ball rack",)
    assert found.stations[0].balls is None


def test_units_are_those_typed():
    found = match_from_text(TEXT.replace('"2 m/s^2"', '"6 ft/s^2"').replace('"150 s"', '"2.5 min"'))

    assert found.robot.acceleration == pytest.approx(6 * 0.3048)
    assert found.times.length == 150.0


DEFENDER = '[[defender]]\nname = "warden"\nblocks = { "at the rail" = "40 %" }\nstay = "8 s"\n'


def test_a_defender_comes_after_the_autonomous_period():
    (one,) = match_from_text(TEXT + DEFENDER).defenders

    assert one.shares == (("at the rail", 0.4),)
    assert one.comes == 15.0


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"150 s"', '"150"', "match.toml, [match], length: '150' has no unit"),
        ('"15 s"', '"200 s"', "[match], autonomous: 200 s is longer than the match of 150 s"),
        ("storage = 3", "storage = 2", "[robot], preload: 3 is more than the 2 that it holds"),
        ("storage = 3\n", "", "[robot], storage: is missing; e.g. storage = 3"),
        ('"2 m/s^2"', '"2 m/s"', "[robot], acceleration: '2 m/s': 'm/s' is not a unit of acceleration"),
        ('"0.9 s"', '"0 s"', "[launcher], recovery: 0 s is not allowed; it must be at least 0.02"),
        ('jam = "1 %"', 'jam = "101 %"', "jam: 101 % is not allowed; it must be between 0 and 1"),
        ('"70 %"', '"70"', "hit: 70 is not allowed; it must be between 0 and 1"),
        ('["at the rail"]', '["at the wall"]', "positions: there is no 'at the wall' in this file"),
        ('["ball rack"]', '["rack"]', "stations: there is no 'rack' in this file; there is: ball rack"),
        ("preload = 3", "preloads = 3", "[robot], preloads: is not a key here; did you mean preload?"),
        ('[[plan]]\nname = "rail all day"', "[plan]", "write [[plan]] in double brackets"),
    ],
)
def test_slips(old, new, message):
    with pytest.raises(BadInput) as wrong:
        match_from_text(TEXT.replace(old, new))

    assert message in str(wrong.value)


def test_shares_of_a_defender_add_up_to_one_at_most():
    two = TEXT.replace('hit = "70 %"', 'hit = "70 %"\n\n[[position]]\nname = "gate"\nhit = "50 %"')
    with pytest.raises(BadInput, match="the shares add up to 130 %"):
        match_from_text(two + DEFENDER.replace('"40 %"', '"40 %", gate = "90 %"'))


LINES = TEXT.splitlines()


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, len(LINES) - 1),
    st.sampled_from(
        ["", "x", "= 3", '"', "[match]", 'spread = "-1 %"', "name = 5", "[[position]]", "take = 0"]
    ),
)
def test_no_slip_ends_in_anything_but_words(line, other):
    text = "\n".join([*LINES[:line], other, *LINES[line + 1 :]])
    with contextlib.suppress(ShotwrightError):
        assert match_from_text(text).plans
