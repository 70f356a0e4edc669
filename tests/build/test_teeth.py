"""Exact flanks: the involute, published points of a spiral gear, and the swept cutter as witness."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import NoAnswer
from shotwright.build.basic_rack import profile
from shotwright.build.force_curve import linear_force, polynomial_force
from shotwright.build.gear_envelope import envelope_error
from shotwright.build.pitch_curve import PitchCurves, scale_for_angle
from shotwright.build.pitch_law import EvenTorque
from shotwright.build.rack_cutter import cutters
from shotwright.build.teeth import LARGE, SMALL, cut_teeth, flank_point

MM, UM = 1e-3, 1e-6
A20 = math.radians(20)


def curves_for(spring, angle_deg, soft=0.0, margin=0.02):
    law = EvenTorque(spring, soft)
    return PitchCurves(law, scale_for_angle(law, math.radians(angle_deg)), margin)


def round_gear(radius, teeth, module):
    """Pitch curves of a round gear of so many teeth, from a constant force."""
    return curves_for(polynomial_force([50.0], 2 * math.pi * radius * 0.9), 324.0)


def involute_angle(radius, base):
    return math.sqrt((radius / base) ** 2 - 1) - math.acos(base / radius)


def involute_miss(points, base, start_polar, q):
    """Largest distance of points from the involute of a base circle, by polar angle."""
    radius, polar = np.hypot(*points.T), np.arctan2(points[:, 1], points[:, 0])
    roll = np.sqrt((radius / base) ** 2 - 1)
    wanted = start_polar - q * (roll - np.arctan(roll))
    return float(np.abs(radius * np.sin(polar - wanted)).max())


@pytest.mark.authority
@pytest.mark.parametrize("q", [SMALL, LARGE])
@pytest.mark.parametrize("teeth", [20, 32, 60])
def test_round_gear_is_the_involute(q, teeth):
    # Limit of constant force: involute of the base circle r cos a, to a tenth of a micrometre (found: 1e-9).
    module = 1.5 * MM
    radius = teeth * module / 2
    curves = round_gear(radius, teeth, module)
    crossing = 10 * math.pi * module
    gear, _ = cutters(profile("A"), module)
    small = np.array([crossing - (math.pi * module / 2 if q == LARGE else 0.0)])
    made = cut_teeth(curves.gear, small, small + math.pi * module / 2, gear)
    side = made.small if q == SMALL else made.large
    flank = side.points[0, side.fillet_points :]
    base = radius * math.cos(A20)
    start = crossing / radius + q * (math.tan(A20) - A20)
    assert involute_miss(flank, base, start, q) < 0.1 * UM
    assert involute_miss(flank, base, start, q) < 1e-12


@pytest.mark.authority
def test_published_circle_point():
    # Circle r 15 mm, s_j - s = -3 mm: |C| 16.18247948956 mm, polar shift inv(phi_C) - inv(20 deg).
    curves = round_gear(15 * MM, 20, 1.5 * MM)
    eta = np.array([3.0 * MM])
    point = flank_point(curves.gear(30 * MM + eta), eta, SMALL, A20)[0]
    assert np.hypot(*point) / MM == pytest.approx(16.18247948956, rel=1e-12)
    base = 15 * MM * math.cos(A20)
    shift = involute_angle(16.18247948956 * MM, base) - (math.tan(A20) - A20)
    assert shift == pytest.approx(0.03556023723661, rel=1e-10)
    assert math.atan2(point[1], point[0]) - 2.0 == pytest.approx(shift, rel=1e-10)


# Flank of the linear spring's 300 deg gear at s_j = 10 pi m, m 1.5 mm, side at smaller s, gear frame;
# computed with mpmath, the envelope condition verified to 1e-30: s - s_j, x, y, height [mm].
POINTS = [
    (0.0, -3.793978518806, 17.2779969117, 0.0),
    (1.5, -4.206911638281, 17.66672162217, 0.4820907072649),
    (3.0, -4.735961716503, 18.09258013519, 0.9641814145298),
    (-2.0, -3.400189396283, 16.83701070721, -0.6427876096865),
]


@pytest.mark.authority
@pytest.mark.parametrize(("step", "x", "y", "height"), POINTS)
def test_points_of_a_spiral_flank(step, x, y, height):
    curves = curves_for(linear_force(900, 0.04, 0.09), 300)
    eta = np.array([step * MM])
    point = flank_point(curves.gear(10 * math.pi * 1.5 * MM + eta), eta, SMALL, A20)[0]
    assert point / MM == pytest.approx([x, y], rel=1e-11)
    assert eta[0] * math.sin(A20) * math.cos(A20) / MM == pytest.approx(height, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.02, 0.2), st.floats(100, 320), st.floats(0.1, 0.9), st.sampled_from([SMALL, LARGE]))
def test_flank_is_the_envelope_of_the_cutters_line(preload, angle, share, q):
    """Near each contact no place of the cutter's line covers the flank's point: it is a true extremum."""
    curves = curves_for(linear_force(900, preload, 0.09), angle)
    crossing = share * curves.length
    for body in (curves.gear, curves.rack):
        eta = np.linspace(-2 * MM, 4 * MM, 9)
        at = body(crossing - q * eta)
        growth = math.sin(A20) + eta * at.curvature * math.cos(A20)
        points = flank_point(at, eta, q, A20)[growth > 0.1]
        steps = np.linspace(-1, 1, 201) * 0.2 * MM
        arc = crossing - q * eta[growth > 0.1][:, None] + steps
        frame = body(arc)
        away = points[:, None] - frame.point
        along = (away * frame.along).sum(-1) - (crossing - arc)
        height = (away * frame.out).sum(-1)
        inside = -q * (along * math.cos(A20) + q * height * math.sin(A20))  # > 0: within the tooth
        # The flank line's own normal distance: zero at the contact, of one sign beside it.
        assert np.abs(inside[:, 100]).max() < 1e-12
        convex = (frame.curvature > 0).all(axis=1)
        assert (inside[convex] > -1e-11).all()


@pytest.mark.parametrize("tooth", [0, 10, 18])
@pytest.mark.parametrize("body", ["gear", "rack"])
def test_swept_cutter_leaves_the_same_teeth(tooth, body):
    """Brute force: 2001 places of a polygon, united. Fillets differ by the sides of its rounded corner."""
    curves = curves_for(linear_force(900, 0.09, 0.09), 260)
    module = 1.5 * MM
    gear, rack = cutters(profile("A"), module)
    small = (0.3 + np.arange(19)) * math.pi * module
    cutter = gear if body == "gear" else rack
    teeth = cut_teeth(getattr(curves, body), small, small + math.pi * module / 2, cutter)
    for side in (teeth.small, teeth.large):
        found = envelope_error(getattr(curves, body), side, cutter, tooth)
        assert found.flank_m < 0.01 * UM
        assert found.fillet_m < 0.05 * UM


def test_undercut_teeth_agree_with_the_swept_cutter():
    # 12 teeth of module 2 mm: undercut, since 12 < 17.1.
    module = 2 * MM
    curves = round_gear(12 * MM, 12, module)
    gear, _ = cutters(profile("A"), module)
    small = (2.0 + np.arange(4)) * math.pi * module
    teeth = cut_teeth(curves.gear, small, small + math.pi * module / 2, gear)
    assert teeth.small.undercut.all()
    found = envelope_error(curves.gear, teeth.small, gear, 1)
    assert found.flank_m < 1 * UM
    assert found.fillet_m < 1 * UM


def test_undercut_begins_at_17_teeth():
    module = 1.5 * MM
    gear, _ = cutters(profile("A"), module)
    for count, wanted in ((17, True), (18, False)):
        curves = round_gear(count * module / 2, count, module)
        small = np.array([8 * math.pi * module])
        assert cut_teeth(curves.gear, small, small + math.pi * module / 2, gear).small.undercut[0] == wanted


def test_pointed_teeth_are_refused():
    module = 1.5 * MM
    curves = round_gear(8 * module / 2, 8, module)
    gear, _ = cutters(profile("A"), module, 0.8)
    small = np.array([8 * math.pi * module])
    with pytest.raises(NoAnswer, match="comes to a point"):
        cut_teeth(curves.gear, small, small + math.pi * module / 2, gear)
