"""A cable on a drawn drum: closed forms, the law from the corners, energy, and drums that can't be."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import NoAnswer
from shotwright.build.force_curve import linear_force, polynomial_force
from shotwright.build.pitch_curve import PitchCurves, scale_for_angle
from shotwright.build.pitch_law import EvenTorque
from shotwright.build.spiral_drum import draw_drum, pull

MM, UM = 1e-3, 1e-6


def curves_for(spring, angle_deg):
    law = EvenTorque(spring)
    return PitchCurves(law, scale_for_angle(law, math.radians(angle_deg)), 0.0)


def test_constant_force_makes_a_round_drum():
    curves = curves_for(polynomial_force([50.0], 0.06), 200)
    drum = draw_drum(curves, 1 * MM)
    wanted = 0.06 / math.radians(200) - 0.5 * MM
    assert np.hypot(*drum.edge.T) == pytest.approx(wanted, rel=1e-9)
    assert drum.roundness == pytest.approx(wanted)


@pytest.mark.parametrize("cable", [0.0, 1 * MM, 3 * MM])
def test_level_cable_meets_the_law(cable):
    spring = linear_force(900, 0.09, 0.09)
    curves = curves_for(spring, 260)
    drum = draw_drum(curves, cable)
    found = pull(drum, spring)
    assert found.travel == pytest.approx(curves.travel_at_turn(found.turn), abs=1 * UM)
    assert found.torque == pytest.approx(curves.scale, rel=1e-5)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.08, 0.2), st.floats(120, 260), st.floats(0.02, 2.0), st.floats(0.0, 3 * MM))
def test_work_is_work_wherever_the_cable_ends(preload, angle, distance, cable):
    # Torque over the turn does the spring's work over the travel that the cable really makes.
    spring = linear_force(700, preload, 0.09)
    curves = curves_for(spring, angle)
    height = float(curves.radius(0.045))
    found = pull(draw_drum(curves, cable), spring, distance=distance, height=height, positions=361)
    done = np.trapezoid(found.torque, found.turn)
    assert done == pytest.approx(float(spring.work(found.travel[-1])), rel=1e-4)


def test_far_end_is_a_level_cable():
    spring = linear_force(900, 0.09, 0.09)
    drum = draw_drum(curves_for(spring, 260), 1 * MM)
    near = [np.ptp(pull(drum, spring, distance=d, height=0.02).torque) for d in (0.05, 0.2, 1.0, 5.0)]
    assert near == sorted(near, reverse=True)
    assert near[-1] < 0.002 * drum.curves.scale


def test_step_under_the_cable_is_seen():
    spring = linear_force(900, 0.04, 0.09)
    with pytest.raises(NoAnswer, match="step comes round under the cable"):
        pull(draw_drum(curves_for(spring, 300), 0.0), spring)


def test_hollow_drum_is_refused():
    # h + h'' = h (1 - 2 c T^2/F^3) where a force F = 50 N + c x^2 begins.
    with pytest.raises(NoAnswer, match="hollow"):
        draw_drum(curves_for(polynomial_force([50.0, 0.0, 1e5], 0.09), 120), 0.0)
