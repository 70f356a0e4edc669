"""Pitch curves against the closed forms of a linear spring, the circle and the logarithmic spiral."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.build.force_curve import curve_through, linear_force, polynomial_force
from shotwright.build.pitch_curve import PitchCurves, scale_for_angle
from shotwright.build.pitch_law import EvenTorque, StraightRack, best_straight

MM = 1e-3
SPRING = linear_force(900, 0.04, 0.09)

AUTHORITIES = Path(__file__).parents[1] / "authorities"
LINEAR = np.loadtxt(AUTHORITIES / "spiral_gear.csv", delimiter=",").tolist()


def even(angle_deg=300.0, spring=SPRING, soft=0.0):
    law = EvenTorque(spring, soft)
    return PitchCurves(law, scale_for_angle(law, math.radians(angle_deg)), 0.008)


@pytest.mark.authority
@pytest.mark.parametrize(("turn", "r", "x", "s", "tilt", "gear", "rack"), LINEAR)
def test_linear_spring(turn, r, x, s, tilt, gear, rack):
    curves = even()
    travel = curves.travel_at_turn(math.radians(turn))
    arc = curves.arc(travel)
    assert curves.radius(travel) / MM == pytest.approx(r, rel=1e-11)
    assert travel / MM + 40 == pytest.approx(x, rel=1e-11)
    assert arc / MM == pytest.approx(s, rel=1e-11, abs=1e-11)
    assert math.degrees(curves.tilt(travel)) == pytest.approx(tilt, rel=1e-11)
    assert 1 / curves.gear(arc).curvature / MM == pytest.approx(gear, rel=1e-9)
    assert 1 / curves.rack(arc).curvature / MM == pytest.approx(rack, rel=1e-9)


def test_torque_of_the_linear_spring_is_work_over_angle():
    assert even().scale == pytest.approx(6.885 / math.radians(300), rel=1e-13)


def test_constant_force_gives_a_circle_and_a_straight_line():
    curves = even(200, polynomial_force([50.0], 0.06))
    s = np.linspace(0, curves.length, 50)
    assert np.hypot(*curves.gear(s).point.T) == pytest.approx(0.06 / math.radians(200), rel=1e-13)
    assert np.ptp(curves.rack(s).point[:, 1]) == pytest.approx(0.0, abs=1e-16)
    assert curves.rack(s).curvature == pytest.approx(0.0, abs=1e-9)


def test_straight_rack_is_a_logarithmic_spiral():
    # r = r0 exp(-0.15 theta), r0 30 mm, 300 deg, closed form: r 13.67814383298 mm, arc 110.0297042688 mm.
    stroke = 108.8123744468 * MM
    law = StraightRack(linear_force(900, 0.1, stroke), 30 * MM, -0.15)
    curves = PitchCurves(law, 1.0, 0.0)
    assert math.degrees(curves.angle) == pytest.approx(300, rel=1e-10)
    assert curves.radius(stroke) / MM == pytest.approx(13.67814383298, rel=1e-9)
    assert curves.length / MM == pytest.approx(110.0297042688, rel=1e-10)


def test_best_straight_rack_ripples_as_the_parabola_says():
    # F g is a parabola, equal at both ends: (x0 + x1)^2/(4 x0 x1).
    law = best_straight(SPRING)
    x = np.linspace(0, 0.09, 4001)
    torque = SPRING.force(x) * law.shape(x)[0]
    assert torque.max() / torque.min() == pytest.approx(170**2 / (4 * 40 * 130), rel=1e-5)


FORCES = st.builds(
    lambda start, gains: curve_through(
        np.linspace(0, 0.08, len(gains) + 1), start + np.concatenate([[0], np.cumsum(gains)])
    ),
    st.floats(20, 80),
    st.lists(st.floats(0, 15), min_size=3, max_size=8),
)


@settings(max_examples=25, deadline=None)
@given(FORCES, st.floats(120, 300))
def test_laws_of_any_measured_curve(curve, angle):
    curves = even(angle, curve)
    x = np.linspace(-0.004, 0.084, 300)
    s = curves.arc(x)
    # The turn does the spring's work, the arc comes back, and both curves have the same length everywhere.
    assert curves.scale * math.radians(angle) == pytest.approx(curve.total_work, rel=1e-9)
    assert curves.travel(s) == pytest.approx(x, abs=1e-12)
    for body in (curves.gear, curves.rack):
        chords = np.hypot(*np.diff(body(np.linspace(s[0], s[-1], 4001)).point, axis=0).T)
        assert chords.sum() == pytest.approx(s[-1] - s[0], rel=1e-5)
    gear, rack = curves.gear(s), curves.rack(s)
    assert gear.curvature + rack.curvature == pytest.approx(
        np.cos(curves.tilt(x)) / curves.radius(x), rel=1e-9
    )
    for frame in (gear, rack):
        assert np.hypot(*frame.along.T) == pytest.approx(1.0)
        assert (frame.along * frame.out).sum(axis=1) == pytest.approx(0.0, abs=1e-12)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.001, 0.08), st.floats(0.005, 0.06))
def test_soft_start_begins_level_and_never_asks_for_more_torque(preload, soft):
    spring = linear_force(900, preload, 0.09)
    if spring.force(soft) < 1e-2 * spring.force(0.09):
        return
    law = EvenTorque(spring, soft)
    x = np.linspace(0, 0.09, 500)
    g, first, _ = law.shape(x)
    assert first[0] == pytest.approx(0.0, abs=1e-12)
    assert (spring.force(x) * g <= 1 + 1e-12).all()
    inside = x >= soft
    assert spring.force(x[inside]) * g[inside] == pytest.approx(1.0)
    step = 1e-6
    rate = (law.shape(x + step)[0] - law.shape(x - step)[0]) / (2 * step)
    assert rate == pytest.approx(first, rel=1e-4, abs=1e-4 * np.abs(first).max())


def test_without_preload_there_is_no_law():
    with pytest.raises(NoAnswer, match="preload"):
        EvenTorque(linear_force(900, 0.0, 0.09))
    with pytest.raises(NoAnswer, match="preload"):
        best_straight(linear_force(900, 0.0, 0.09))


def test_soft_start_longer_than_the_stroke():
    with pytest.raises(BadInput, match="less than the stroke"):
        EvenTorque(SPRING, 0.1)
