"""Gear and rack over a whole turn, from their outlines: the checks that a cut part lives by."""

import dataclasses
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.build.basic_rack import profile
from shotwright.build.force_curve import curve_through, linear_force, polynomial_force
from shotwright.build.gear_checks import OVERLAP, roll_pair
from shotwright.build.gear_choice import longest_turn
from shotwright.build.pitch_curve import scale_for_angle
from shotwright.build.pitch_law import EvenTorque, best_straight
from shotwright.build.rack_cutter import COARSE
from shotwright.build.spiral_gear import ToothForm, cut_pair, tooth_count

MM, UM = 1e-3, 1e-6
A15 = ToothForm(1.5 * MM, profile("A"))
SPRING = linear_force(900, 0.09, 0.09)


def pair_for(spring=SPRING, angle_deg=260.0, form=A15, soft=0.0, **more):
    law = EvenTorque(spring, soft)
    return cut_pair(law, scale_for_angle(law, math.radians(angle_deg)), form, **more)


def holds(pair, positions=361):
    """Bounds of the project: travel within 0.02 mm, torque within 1 %, no overlap."""
    found = roll_pair(pair, positions=positions).checks
    assert found.travel_error_m < 20 * UM
    assert found.travel_error_m < 1 * UM  # found: 0.4 um at most
    assert 0.99 < found.torque_low <= found.torque_high < 1.01
    assert found.overlap_m < OVERLAP
    assert found.overlap_area_m2 < 1e-10
    assert shapely.polygons(pair.gear).is_valid
    assert shapely.polygons(pair.rack).is_valid
    return found


@pytest.mark.authority
def test_whole_numbers_of_teeth():
    # k 900 N/m, x0 40 mm, stroke 90 mm, m 1.5 mm, computed with mpmath: 20 -> 327.1320500119 deg and
    # 1.205878304902 N m, 21 -> 218.257541423, 22 -> 171.8558238331 deg; 19 impossible (89.5 < 90 mm).
    law = EvenTorque(linear_force(900, 0.04, 0.09))
    counts = [tooth_count(law, A15, teeth) for teeth in (20, 21, 22)]
    assert None not in counts
    assert [math.degrees(one.angle) for one in counts] == pytest.approx(
        [327.1320500119, 218.257541423, 171.8558238331], rel=1e-11
    )
    assert counts[0].scale == pytest.approx(1.205878304902, rel=1e-11)
    assert tooth_count(law, A15, 19) is None


CASES = {
    "module 1": (SPRING, 250, ToothForm(1 * MM, profile("A")), 0),
    "module 1.5": (SPRING, 260, A15, 0),
    "module 3, undercut": (SPRING, 250, ToothForm(3 * MM, profile("A")), 0),
    "profile D": (SPRING, 250, ToothForm(1.5 * MM, profile("D")), 0),
    "shift": (SPRING, 250, ToothForm(1.5 * MM, profile("A"), 0.3), 0),
    "backlash": (SPRING, 250, ToothForm(1.5 * MM, profile("B"), 0.0, 0.1 * MM), 0),
    "steep start": (linear_force(900, 0.04, 0.09), 250, A15, 0),
    "soft start": (linear_force(900, 0.04, 0.09), 250, A15, 0.03),
    "no preload": (linear_force(900, 0.0, 0.09), 280, ToothForm(1 * MM, profile("A")), 0.04),
    "falling force": (polynomial_force([80.0, -300.0], 0.09), 270, A15, 0),
    "measured": (
        curve_through([0, 0.02, 0.04, 0.06, 0.08], [45, 60, 78, 90, 112]), 260, A15, 0
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_a_turn_of_the_drawn_pair(name):
    spring, angle, form, soft = CASES[name]
    pair = pair_for(spring, angle, form, soft)
    found = holds(pair)
    assert found.let_go_travel_m > spring.stroke
    assert math.degrees(pair.let_go) == pytest.approx(found.let_go_turn_deg, abs=1.5)
    assert found.tail_torque < 1.01


def test_backlash_is_the_play():
    pair = pair_for(form=ToothForm(1.5 * MM, profile("A"), 0.0, 0.2 * MM))
    meshing = roll_pair(pair).meshing
    # 0.2 mm along the tangent is 0.2 mm cos(a) along the normal of the backs, which leans by tilt - a from
    # the travel. Near the ends fewer teeth stand in the mesh, and the play can only be more.
    tilt, a = pair.curves.tilt(meshing.travel[:361]), math.radians(20)
    wanted = 0.2 * MM * math.cos(a) / np.cos(tilt - a)
    assert meshing.play[40:320] == pytest.approx(wanted[40:320], rel=0.01)
    assert (meshing.play[:361] > 0.99 * wanted).all()


def test_law_of_a_straight_rack_is_rolled_too():
    law = best_straight(SPRING)
    pair = cut_pair(law, scale_for_angle(law, math.radians(260)), A15)
    found = holds(pair)
    curve = np.polyfit(*pair.rack_teeth.small.points[:, -1].T, 1)
    tips = pair.rack_teeth.small.points[:, -1]
    assert tips[:, 1] == pytest.approx(np.polyval(curve, tips[:, 0]), abs=1e-9)
    assert found.torque_high - found.torque_low < 0.01  # against the law of this gear, which ripples


@settings(max_examples=8, deadline=None)
@given(
    st.floats(0.05, 0.2),
    st.floats(0.05, 0.12),
    st.floats(150, 270),
    st.sampled_from([1.0, 1.25, 1.5, 2.0]),
    st.sampled_from("ABCD"),
)
def test_any_linear_spring(preload, stroke, angle, module, letter):
    form = ToothForm(module * MM, profile(letter))
    try:
        pair = pair_for(linear_force(700, preload, stroke), angle, form)
    except NoAnswer:
        return
    holds(pair, positions=121)


def moved_rack(pair, by):
    return dataclasses.replace(pair, rack=pair.rack + by)


def test_a_wrong_distance_of_the_axis_is_seen():
    pair = pair_for()
    closer = roll_pair(moved_rack(pair, [0.0, -0.1 * MM])).checks
    assert closer.overlap_m > 50 * UM
    assert closer.overlap_area_m2 > 1e-8


def test_a_damaged_tooth_is_seen():
    pair = pair_for()
    gear = pair.gear.copy()
    polar = np.arctan2(gear[:, 1], gear[:, 0]) % (2 * math.pi)
    bump = np.flatnonzero((polar > 2.0) & (polar < 2.3))
    gear[bump] *= 1.01
    found = roll_pair(dataclasses.replace(pair, gear=gear)).checks
    assert found.travel_error_m > 20 * UM or found.overlap_area_m2 > 1e-8


def test_a_rack_for_another_spring_is_seen():
    pair, other = pair_for(), pair_for(linear_force(900, 0.06, 0.09))
    found = roll_pair(dataclasses.replace(pair, rack=other.rack)).checks
    assert found.travel_error_m > 20 * UM


def test_a_turn_too_long_makes_the_rack_strike_the_gear():
    assert roll_pair(pair_for(linear_force(900, 0.04, 0.09), 275)).checks.free_to_deg == math.inf
    found = roll_pair(pair_for(linear_force(900, 0.04, 0.09), 235)).checks
    assert found.let_go_turn_deg < found.free_from_deg < found.let_go_turn_deg + 4
    assert found.free_to_deg > found.free_from_deg + 20


@pytest.mark.parametrize(
    ("preload", "module", "soft"),
    [(0.04, 1.5, 0), (0.09, 1.5, 0), (0.15, 1, 0), (0.09, 3, 0), (0.03, 1.5, 0.03)],
)
def test_longest_turn_leaves_the_rack_its_way_back(preload, module, soft):
    form = ToothForm(module * MM, profile("A"))
    law = EvenTorque(linear_force(900, preload, 0.09), soft)
    angle = longest_turn(law, form)
    found = roll_pair(cut_pair(law, scale_for_angle(law, angle), form)).checks
    assert found.free_to_deg - found.let_go_turn_deg > 9
    longer = roll_pair(cut_pair(law, scale_for_angle(law, angle + 0.35), form)).checks
    assert longer.free_to_deg == math.inf or longer.free_to_deg - longer.let_go_turn_deg < 9


def test_coarse_outlines_stay_near_the_fine_ones():
    fine, coarse = pair_for(), pair_for(fineness=COARSE)
    for name in ("gear", "rack"):
        a, b = shapely.polygons(getattr(fine, name)), shapely.polygons(getattr(coarse, name))
        assert shapely.hausdorff_distance(a, b) < 0.2 * MM


@pytest.mark.parametrize(
    ("change", "words"),
    [({"module": 0.0}, "above zero"), ({"backlash": 2 * MM}, "fifth"), ({"shift": 2.0}, "allowed")],
)
def test_tooth_forms_that_can_not_be(change, words):
    with pytest.raises(BadInput, match=words):
        dataclasses.replace(A15, **change)


def test_teeth_too_large_for_the_gear():
    with pytest.raises(NoAnswer):
        pair_for(form=ToothForm(8 * MM, profile("A")))
