"""Launcher files: what they say, everything that is wrong at once, and that they can be cut and joined."""

from __future__ import annotations

import dataclasses
import math
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile, BadInput
from shotwright.game.records import Ball, CoefficientLaw
from shotwright.launcher.kinds import KINDS
from shotwright.launcher.reading import UNITS, launchers_from_text, split_launchers

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "launchers.md").read_text(encoding="utf-8")
BALL = Ball("felt ball", 0.15, 0.165, CoefficientLaw("constant", 0.48), CoefficientLaw("none"), 0.0012, 0.004)

PISTON = """# the crew's piston
[[launcher]]
prototype = "piston"
kind = "spring piston"
action = "push"
elevation = { value = "55 deg", low = "50 deg", high = "62 deg", sd = "0.4 deg" }
release_height = "50 cm"
stiffness = { value = "5 lbf/in", sd = "1 %", origin = "measured" }
preload = "40 mm"
stroke = { value = "90 mm", low = "1.5 in", high = "100 mm", sd = "0.5 mm" }
piston_mass = "180 g"
"""
ARM = (DOCS / "examples" / "launchers.toml").read_text(encoding="utf-8")


def test_amounts_are_read_in_the_units_typed() -> None:
    (one,) = launchers_from_text(PISTON)
    assert one.prototype == "piston"
    assert one.launcher.kind == "spring piston"
    held = {i.name: i for i in one.inputs(BALL)}
    assert held["stiffness"].value == pytest.approx(5 * 4.4482216152605 / 0.0254)  # lbf, in: exact
    assert held["stiffness"].sd == pytest.approx(0.01 * held["stiffness"].value)
    assert held["stiffness"].origin == "measured"
    assert held["ball_mass"].sd == 0.004
    stroke = one.setting("stroke")
    assert (stroke.low, stroke.high) == (pytest.approx(0.0381), pytest.approx(0.1))
    assert stroke.shown(0.0853) == "85.3 mm"
    assert one.setting("elevation").shown(math.radians(52)) == "52 deg"


def test_all_problems_are_told_at_once() -> None:
    text = """[[launcher]]
prototype = "pistn"
kind = "spring piston"
stroke = { value = "90 mm", low = "95 mm", high = "100 mm", sdd = "1 mm" }
elevation = 4
release_height = "50 cm"
preload = "-3 mm"
stiffnes = "3 N"
[launcher.battery]
voltage = "12"
drives = ["strok"]
"""
    with pytest.raises(BadFile) as told:
        launchers_from_text(text, "mine.toml", ["piston"])
    lines = str(told.value).splitlines()
    assert all(line.startswith('mine.toml, [[launcher]] 1 "pistn"') for line in lines)
    for part in (
        "did you mean 'piston'?",
        "action: is missing: does the piston push",
        "elevation: '4' has no unit",
        "stiffness: is missing",
        "stiffnes: is not a key here; did you mean stiffness?",
        "preload: -3 mm is not allowed; it must be 0 m or more",
        "stroke, value: is outside low to high",
        "stroke, sdd: is not a key here; did you mean sd?",
        "battery, voltage: '12' has no unit",
        "battery, drives: there is no amount 'strok'; did you mean stroke?",
        "battery, follows: is missing",
    ):
        assert any(part in line for line in lines), part


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('preload = "40 mm"', 'preload = "40 mm"\nstrike_height = "2 mm"', 'needs action = "strike"'),
        ('action = "push"', 'action = "strike"\nstrike_height = "2 mm"', "off the centre"),
        ('preload = "40 mm"', 'preload = "40 mm"\ngap = "9 cm"', "not less than the stroke"),
        ('"180 g"', '{ value = "180 g", low = "100 g" }', "a setting has both low and high"),
        ('"180 g"', '{ sd = "1 g" }', "value: is missing"),
        ('kind = "spring piston"', 'kind = "spring pistol"', 'did you mean "spring piston"?'),
    ],
)
def test_a_contradiction_is_named(old: str, new: str, told: str) -> None:
    with pytest.raises(BadInput, match=re.escape(told)):
        launchers_from_text(PISTON.replace(old, new))


def test_a_drive_needs_its_numbers() -> None:
    with pytest.raises(BadInput, match="needed for a drive by rubber"):
        launchers_from_text(ARM.replace('drive = "spring"', 'drive = "rubber"'))


def test_two_launchers_of_one_prototype_are_refused() -> None:
    with pytest.raises(BadInput, match="already the name"):
        launchers_from_text(PISTON + PISTON)


COMMENTS = st.lists(st.sampled_from(["# a note", "", "#", "  # [[launcher]]"]), max_size=3)


@settings(max_examples=40, deadline=None)
@given(COMMENTS, COMMENTS, st.booleans())
def test_cut_and_joined_the_file_is_the_same(before: list[str], between: list[str], battery: bool) -> None:
    tail = (
        '[launcher.battery]\nvoltage = "12 V"\ndrives = ["stiffness"]\nfollows = "10 %"\n' if battery else ""
    )
    text = "".join(f"{line}\n" for line in before) + PISTON + tail
    text += "".join(f"{line}\n" for line in between) + ARM
    pieces = split_launchers(text)
    assert [name for name, _ in pieces] == ["piston", "catapult"]
    assert "".join(piece for _, piece in pieces) == text
    whole = launchers_from_text(text)
    assert tuple(one for _, piece in pieces for one in launchers_from_text(piece)) == whole


def test_a_file_that_cannot_be_cut_is_refused() -> None:
    inline = 'launcher = [{ prototype = "a" }, { prototype = "b" }]\n'
    with pytest.raises(BadInput, match="one file for each"):
        split_launchers(inline)


def test_the_battery_slows_what_it_drives() -> None:
    tail = '[launcher.battery]\nvoltage = { value = "12 V", sd = "0.2 V" }\n'
    tail += 'drives = ["stiffness"]\nfollows = "50 %"\n'
    (plain,) = launchers_from_text(PISTON)
    (driven,) = launchers_from_text(PISTON + tail)
    means = driven.means(BALL)
    weak = driven.release(means | {"battery_voltage": np.array([12.0, 10.8])})
    wanted = plain.release(means | {"stiffness": means["stiffness"] * np.array([1.0, 0.95])})
    assert weak.speed == pytest.approx(wanted.speed)
    assert {i.name: i.sd for i in driven.inputs(BALL)}["battery_voltage"] == pytest.approx(0.2)


def test_every_key_of_every_kind_is_explained() -> None:
    words = set(re.findall(r"`([^`\n]+)`", PAGE))
    for kind, record in KINDS.items():
        assert f"## {kind[0].upper()}{kind[1:]}" in PAGE, kind
        keys = {one.name for one in dataclasses.fields(record)} - {"name"}
        assert keys - words == set(), kind


def test_every_unit_of_an_amount_can_be_read() -> None:
    for record in KINDS.values():
        for one in dataclasses.fields(record):
            if "amount" in one.metadata:
                assert one.metadata["amount"]["unit"] in UNITS, one.name
