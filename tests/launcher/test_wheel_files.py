"""Wheel launchers as a launcher file describes them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from shotwright.base.errors import BadFile
from shotwright.game.records import Ball, CoefficientLaw
from shotwright.launcher.compression import Hertz
from shotwright.launcher.protocol import Amount
from shotwright.launcher.reading import launchers_from_text
from shotwright.launcher.release import Limit
from shotwright.launcher.shots import with_spread
from shotwright.launcher.wheel_and_hood import WheelAndHood

BALL = Ball("foam", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("none"), 0.001, 0.003)
HOOD = """[[launcher]]
prototype = "hood"
kind = "wheel and hood"
elevation = "52 deg"
release_height = "50 cm"
wheel_radius = "4 in"
wheel_inertia = "20 kg cm^2"
wheel_grip = { value = 0.6, sd = 0.05 }
rim_speed = { value = "20 m/s", low = "10 m/s", high = "26 m/s", sd = "1 %" }
gap = "158 mm"
wrap_angle = "90 deg"
hood_grip = 0.6
"""
READ = """[launcher.compression]
closing = [["5 mm", "1.5 kg"], ["10 mm", "4.5 kg"], ["20 mm", "120 N"]]
opening = [["10 mm", "3 kg"]]
"""
AROUND = """[[launcher]]
prototype = "two"
kind = "wheels around the ball"
elevation = "52 deg"
release_height = "50 cm"
contact_length = "30 cm"
compression = { squeeze = "20 mm", force = "12 kg", loss = "20 %" }
[[launcher.surface]]
name = "low wheel"
place = "270 deg"
rim_speed = { value = "20 m/s", low = "10 m/s", high = "22 m/s" }
radius = "10 cm"
inertia = "20 kg cm^2"
grip = 0.6
squeeze = "10 mm"
[[launcher.surface]]
name = "top rail"
place = "90 deg"
grip = 0.6
squeeze = "10 mm"
"""


def test_a_hood_is_read_with_the_scale_s_kilograms() -> None:
    (one,) = launchers_from_text(HOOD + READ)
    launcher = one.launcher

    assert isinstance(launcher, WheelAndHood)
    assert launcher.wheel_radius.value == pytest.approx(0.1016)
    # a kilogram on the scale is 9.80665 N
    assert float(launcher.compression.force(0.005)) == pytest.approx(1.5 * 9.80665)
    assert float(launcher.compression.force(0.020)) == pytest.approx(120.0)
    assert launcher.compression.origin == "measured"
    assert 0 < launcher.compression.loss < 0.5
    assert one.setting("rim_speed").shown(20.0) == "20 m/s"


def test_it_throws() -> None:
    (one,) = launchers_from_text(HOOD + READ)
    out = one.release({name: np.array([value]) for name, value in one.means(BALL).items()})

    assert out.limit[0] == Limit.GRIPPED
    assert 7 < out.speed[0] < 9


def test_a_missing_or_odd_compression_is_told() -> None:
    with pytest.raises(BadFile, match="compression: is missing: press a ball on a kitchen scale"):
        launchers_from_text(HOOD)
    with pytest.raises(BadFile, match="closing: is not a list of pairs"):
        launchers_from_text(HOOD + '[launcher.compression]\nclosing = ["5 mm", "1 kg"]\n')
    with pytest.raises(BadFile, match="closing: 1 squeezes above zero are not enough"):
        launchers_from_text(HOOD + '[launcher.compression]\nclosing = [["5 mm", "1 kg"]]\n')
    with pytest.raises(BadFile, match="force: is missing"):
        launchers_from_text(HOOD + '[launcher.compression]\nsqueeze = "5 mm"\n')
    with pytest.raises(BadFile, match="clossing: is not a key here; did you mean closing"):
        launchers_from_text(HOOD + READ + 'clossing = "5 mm"\n')
    with pytest.raises(BadFile, match="compression: is empty"):
        launchers_from_text(HOOD + "[launcher.compression]\n")


def test_a_material_gives_hertz_marked_as_assumed() -> None:
    text = HOOD + '[launcher.compression]\nmodulus = "0.3 MPa"\npoisson = 0.2\ndiameter = "178 mm"\n'
    (one,) = launchers_from_text(text)
    assert isinstance(one.launcher, WheelAndHood)

    assert isinstance(one.launcher.compression, Hertz)
    assert one.launcher.compression.origin == "assumed"
    assert float(one.launcher.compression.force(0.02)) == pytest.approx(124.303615751)


def test_surfaces_are_read_with_their_settings() -> None:
    (one,) = launchers_from_text(AROUND)
    out = one.release({name: np.array([value]) for name, value in one.means(BALL).items()})

    assert [s.name for s in one.settings] == ["low_wheel_rim_speed"]
    assert one.launcher.amount("top_rail_grip").value == 0.6
    assert with_spread(one, "low_wheel_grip", 2.0).launcher.amount("low_wheel_grip").value == 0.6
    assert one.launcher.with_amounts({"top_rail_grip": Amount(0.1)}).kind == "wheels around the ball"
    assert out.limit[0] == Limit.GRIPPED
    assert math.isclose(out.speed[0], out.rim_speeds[0, 0] / 2, rel_tol=1e-9)


def test_a_battery_can_drive_the_wheels_of_surfaces() -> None:
    battery = '[launcher.battery]\nvoltage = "12 V"\ndrives = ["low_wheel_rim_speed"]\nfollows = "100 %"\n'
    (one,) = launchers_from_text(AROUND + battery)
    means = {name: np.array([value]) for name, value in one.means(BALL).items()}
    weak = one.release({**means, "battery_voltage": np.array([10.8])})

    assert weak.speed[0] == pytest.approx(0.9 * one.release(means).speed[0], rel=0.02)


def test_surfaces_problems_name_the_surface() -> None:
    with pytest.raises(BadFile, match=r'surface "top rail", grip: is missing'):
        launchers_from_text(AROUND.replace('place = "90 deg"\ngrip = 0.6\n', 'place = "90 deg"\n'))
    with pytest.raises(BadFile, match="surfaces: needs surfaces, each with its own name"):
        launchers_from_text(AROUND.replace("top rail", "low wheel"))
