"""Flights in lanes against flights flown one by one with a tight tolerance."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.flight.crossing import COARSE, FINE, NO_FLOOR, Status, fly_to_floor, fly_to_plane
from shotwright.flight.drag import drag_crisis, haider_levenspiel
from shotwright.flight.lanes import fly as lanes_fly
from shotwright.flight.lanes import layout
from shotwright.flight.lanes.build import KINDS, loops
from shotwright.flight.lanes.elementary import exponential
from shotwright.flight.lanes.kinds import lane_laws
from shotwright.flight.lanes.rates import falling, rates, sphere
from shotwright.flight.lanes.smoothness import width_at
from shotwright.flight.launches import launch_arrays
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.step_curve import Plane
from shotwright.game.records import Ball, CoefficientLaw, Weather

G = 9.80665
UP = (0.0, 0.0, 1.0)
START = (0.0, 0.0, 0.4)
WIND = (2.0, -1.0, 0.3)
PLANES = [
    ((0, 0, 1.2), UP),
    ((4, 0, 0), (-1, 0, 0)),
    ((3, 0, 1), (-1, 0.2, 1)),
    ((2.0, 0, 2.5), (0.3, 0.1, -1)),
]
LAWS = [
    ("constant", "cross", 0.0),
    ("constant", "none", 0.05),
    ("constant", "constant", 0.1),
    ("drag-crisis", "nathan", 0.0),
    ("drag-crisis", "stepanek", 0.1),
    ("haider-levenspiel", "cross", 0.1),
    pytest.param("brown-lawler", "none", 0.0, marks=pytest.mark.slow),  # each of them is compiled first
    pytest.param("clift-gauvin", "nathan", 0.0, marks=pytest.mark.slow),
]


def launches(n: int, seed: int = 5):
    """Draw speed 6 to 14 m/s, elevation 20 to 70 deg, spin 0 to 60 rev/s, tilted by up to 20 deg."""
    rng = np.random.default_rng(seed)
    velocity, spin = launch_vectors(
        rng.uniform(6, 14, n),
        np.radians(rng.uniform(20, 70, n)),
        np.radians(rng.uniform(-10, 10, n)),
        rng.uniform(0, 60, n) * 2 * np.pi,
    )
    tilt = np.tan(np.radians(rng.uniform(-20, 20, n)))
    return velocity, spin + np.column_stack([0 * tilt, 0 * tilt, tilt]) * np.linalg.norm(spin, axis=1)[
        :, None
    ]


def model_of(drag: str, lift: str, decay: float, wind=WIND, **options):
    ball = Ball("ball", 0.178, 0.140, CoefficientLaw(drag, 0.5), CoefficientLaw(lift, 0.2), spin_decay=decay)
    return flight_model(ball, Weather(wind=wind), density=1.2, viscosity=1.8e-5, **options)


def grazing(found, normal):
    """|v|/|v_n|, the factor by which a grazing crossing multiplies every error."""
    unit = np.asarray(normal, dtype=float) / np.linalg.norm(normal)
    across = np.where(
        found.status == Status.CROSSED, np.abs(found.velocity @ unit), np.abs(found.velocity[:, 2])
    )
    return np.linalg.norm(found.velocity, axis=1) / np.maximum(across, 1e-12)


@pytest.mark.parametrize("accuracy", [COARSE, FINE])
@pytest.mark.parametrize(("drag", "lift", "decay"), LAWS)
def test_place_and_status_are_those_of_careful_flights(drag, lift, decay, accuracy):
    model = model_of(drag, lift, decay)
    velocity, spin = launches(2000)
    for point, normal in PLANES:
        careful = fly_to_plane(model, START, velocity, spin, point, normal, tolerance=1e-12)
        found = fly_to_plane(model, START, velocity, spin, point, normal, accuracy=accuracy)
        np.testing.assert_array_equal(found.status, careful.status)
        error = np.linalg.norm(found.position - careful.position, axis=1)
        assert (error / grazing(careful, normal)).max() < accuracy
        top = np.abs(found.apex_height - careful.apex_height)
        assert top.max() < accuracy
        steep = grazing(careful, normal) < 30
        assert np.abs(found.velocity - careful.velocity)[steep].max() < 100 * accuracy
        assert np.abs(found.apex_time - careful.apex_time).max() < accuracy


@settings(max_examples=30, deadline=None)
@given(
    diameter=st.floats(0.04, 0.25),
    density=st.floats(30.0, 400.0),
    speed=st.floats(3.0, 20.0),
    decay=st.sampled_from([0.0, 0.1]),
    drag=st.sampled_from(["constant", "drag-crisis"]),
    normal=st.tuples(st.floats(-1, 1), st.floats(-0.3, 0.3), st.floats(-1, 1)),
    seed=st.integers(0, 10_000),
)
def test_any_ball_any_plane(diameter, density, speed, decay, drag, normal, seed):
    if np.linalg.norm(normal) < 0.1:
        normal = UP
    mass = density * math.pi / 6 * diameter**3
    ball = Ball("b", diameter, mass, CoefficientLaw(drag, 0.5), CoefficientLaw("cross"), spin_decay=decay)
    model = flight_model(ball, Weather(wind=(1.0, 0.5, -0.2)))
    rng = np.random.default_rng(seed)
    velocity, spin = launch_vectors(
        rng.uniform(0.7, 1.3, 200) * speed,
        rng.uniform(-0.2, 1.5, 200),
        rng.uniform(-0.4, 0.4, 200),
        rng.uniform(0, 1.0, 200) * speed / (diameter / 2),
    )
    point = (0.15 * speed**1.5, 0.0, 0.8)
    careful = fly_to_plane(model, (0, 0, 0.5), velocity, spin, point, normal, tolerance=1e-12)
    found = fly_to_plane(model, (0, 0, 0.5), velocity, spin, point, normal, accuracy=COARSE)
    np.testing.assert_array_equal(found.status, careful.status)
    error = np.linalg.norm(found.position - careful.position, axis=1)
    assert (error / grazing(careful, normal)).max() < COARSE


def test_each_flight_has_its_own_start_mass_and_size():
    model = model_of("constant", "cross", 0.1)
    velocity, spin = launches(300)
    rng = np.random.default_rng(2)
    place = rng.uniform(-0.5, 0.5, (300, 3)) + np.array([0.0, 0.0, 1.0])
    mass, diameter = rng.uniform(0.1, 0.2, 300), rng.uniform(0.15, 0.2, 300)
    inputs = (model, place, velocity, spin, (3, 0, 1), (-1, 0, 1))
    found = fly_to_plane(*inputs, mass=mass, diameter=diameter)
    careful = fly_to_plane(*inputs, mass=mass, diameter=diameter, tolerance=1e-12)
    np.testing.assert_array_equal(found.status, careful.status)
    np.testing.assert_allclose(found.position, careful.position, rtol=0, atol=3e-8)
    np.testing.assert_allclose(found.jerk, careful.jerk, rtol=0, atol=2e-4)


def test_results_do_not_depend_on_neighbours_or_threads(monkeypatch):
    model = model_of("constant", "cross", 0.0)
    velocity, spin = launches(20_000)
    many = fly_to_plane(model, START, velocity, spin, (0, 0, 1.2), UP)
    part = fly_to_plane(model, START, velocity[7000:7900], spin[7000:7900], (0, 0, 1.2), UP)
    np.testing.assert_array_equal(many.position[7000:7900], part.position)
    for count in (1, 3):
        monkeypatch.setattr(lanes_fly, "cores", lambda count=count: count)
        again = fly_to_plane(model, START, velocity, spin, (0, 0, 1.2), UP)
        for name in ("status", "time", "position", "velocity", "acceleration", "jerk", "apex_height"):
            np.testing.assert_array_equal(getattr(many, name), getattr(again, name))


@pytest.mark.parametrize("count", [13, 63, 64, 65, 127, 200])
def test_no_flight_is_lost_whatever_their_number(count):
    model = model_of("constant", "cross", 0.0)
    velocity, spin = launches(count)
    found = fly_to_plane(model, START, velocity, spin, (4, 0, 0), (-1, 0, 0))
    careful = fly_to_plane(model, START, velocity, spin, (4, 0, 0), (-1, 0, 0), tolerance=1e-11)
    np.testing.assert_allclose(found.time, careful.time, rtol=0, atol=1e-8)


def test_grazing_flights_are_as_exact_as_they_can_be():
    # aimed so that the top of each flight lies between 1e-10 m and 1 cm over the plane, and as much under it
    velocity, _ = launch_vectors(np.full(400, 9.0), np.radians(60.0), 0.0, 0.0)
    air = flight_model(
        Ball("b", 0.2, 0.5, CoefficientLaw("constant", 0.5), CoefficientLaw("none")), Weather(), density=0.0
    )
    gap = np.concatenate([np.geomspace(1e-10, 1e-2, 200), -np.geomspace(1e-9, 1e-2, 200)])
    top = velocity[0, 2] ** 2 / (2 * G)
    place = np.column_stack([0 * gap, 0 * gap, 2.0 - top + gap])
    found = fly_to_plane(air, place, velocity, (0, 0, 0), (0, 0, 2.0), UP, floor=-9.0, accuracy=COARSE)
    np.testing.assert_array_equal(found.status, np.where(gap > 0, Status.CROSSED, Status.FLOOR))
    # closed form without air
    over = gap > 0
    time = velocity[0, 2] / G + np.sqrt(2 * gap[over] / G)
    steep = 9.0 / np.sqrt(2 * G * gap[over])
    error = np.abs(found.position[over, 0] - velocity[0, 0] * time)
    assert (error / steep).max() < 1e-9


def test_throws_straight_up_and_balls_that_are_dropped():
    model = model_of("constant", "cross", 0.0, wind=(0.0, 0.0, 0.0))
    velocity = np.column_stack([np.zeros(100), np.zeros(100), np.linspace(-5, 15, 100)])
    velocity[:5] = 0.0
    found = fly_to_floor(model, (0, 0, 2), velocity, (0, 0, 0), accuracy=COARSE)
    careful = fly_to_floor(model, (0, 0, 2), velocity, (0, 0, 0), tolerance=1e-12)
    np.testing.assert_array_equal(found.status, careful.status)
    np.testing.assert_allclose(found.position, careful.position, rtol=0, atol=1e-6)
    np.testing.assert_allclose(found.apex_height, careful.apex_height, rtol=0, atol=1e-6)


def test_time_limit_and_no_floor():
    model = model_of("constant", "cross", 0.0)
    velocity, spin = launches(50)
    late = fly_to_floor(model, START, velocity, spin, floor=NO_FLOOR, time_limit=0.37)
    assert set(late.status) == {Status.TIMED_OUT}
    np.testing.assert_allclose(late.time, 0.37, rtol=1e-15)
    careful = fly_to_floor(model, START, velocity, spin, floor=NO_FLOOR, time_limit=0.37, tolerance=1e-12)
    np.testing.assert_allclose(late.position, careful.position, rtol=0, atol=1e-9)
    at_once = fly_to_floor(model, START, velocity, spin, time_limit=0.0)
    np.testing.assert_allclose(at_once.position, np.broadcast_to(START, (50, 3)), rtol=0, atol=1e-15)


def test_jerk_of_the_lanes_is_the_rate_of_their_acceleration():
    # central difference of the acceleration along the flight
    numbers = {
        "w": 12.0,
        "kd": 0.05,
        "kl": 0.11,
        "p": 0.4,
        "q": 2.32,
        "lam": 0.03,
        "rep": 1.2e4,
        "g2": 9.0,
        "g3": 2.0,
    }
    u = np.array([7.0, 3.0, -1.0])
    a1, a2, a3, b, *jerk = rates(*u, *numbers.values())
    e = 1e-5
    a = np.array([a1, a2, a3])
    ends = []
    for sign in (1, -1):
        moved = {**numbers, "w": numbers["w"] + sign * e * b}
        ends.append(np.array(rates(*(u + sign * e * a), *moved.values())[:3]))
    np.testing.assert_allclose(jerk, (ends[0] - ends[1]) / (2 * e), rtol=1e-7)


def test_sphere_drag_is_the_law_and_its_slope():
    # the numbers of the first law stand in the function; the other laws' are put in their place
    for speed in (0.01, 0.5, 3.0, 10.0, 30.0):
        value, slope = sphere(speed, 1.2e4)
        assert value == pytest.approx(haider_levenspiel(1.2e4 * speed), rel=1e-7)
        e = 1e-5 * speed
        ends = haider_levenspiel(1.2e4 * (speed + e)), haider_levenspiel(1.2e4 * (speed - e))
        assert slope == pytest.approx((ends[0] - ends[1]) / (2 * e), rel=1e-5)


def test_exponential():
    for x in np.linspace(-40.0, 40.0, 801):
        assert exponential(float(x)) == pytest.approx(math.exp(x), rel=1e-13)


def test_falling_drag_is_the_law_and_its_slope():
    for speed in (2.0, 8.0, 10.0, 15.0):
        value, slope = falling(speed, 1.2e4)
        assert value == pytest.approx(drag_crisis(1.2e4 * speed), rel=1e-14)
        e = 1e-5
        ends = drag_crisis(1.2e4 * (speed + e)), drag_crisis(1.2e4 * (speed - e))
        assert slope == pytest.approx((ends[0] - ends[1]) / (2 * e), rel=1e-6, abs=1e-9)


def test_widths_are_narrow_where_a_law_bends():
    assert width_at(lambda re: 0.5, math.log(1e5)) > 1.0
    near, far = (width_at(drag_crisis, math.log(re)) for re in (1.2e5, 1e4))
    assert near < 0.3 < 0.8 < far


@pytest.mark.parametrize(("drag", "decay"), KINDS[:4])
def test_plain_loops_find_what_the_compiled_ones_find(drag, decay):
    # every function of the loops, in Python, on as many flights as fill the lanes once and a little
    model = model_of(
        {"steady": "constant", "falling": "drag-crisis"}.get(drag, drag), "cross", 0.1 if decay else 0.0
    )
    velocity, spin = launches(70)
    laws = lane_laws(model.drag, model.lift)
    inputs = launch_arrays(model, START, velocity, spin)
    plane = Plane(-1.0, 0.0, 0.0, -4.0)
    status, values = lanes_fly.fly_in_lanes(model, laws, inputs, plane, None, 10.0, COARSE)
    plain = loops(drag, decay=decay)["fly_lanes"]
    code, found = np.empty(70, np.uint8), np.empty(70 * layout.VALUES)
    rows = [one.ravel() for one in inputs]
    steps = lanes_fly.steps_of(inputs)
    par = lanes_fly.settings(model, laws, plane, None, 10.0, COARSE)
    table = lanes_fly.widths(laws.law) if laws.law else np.full(layout.WIDTHS, math.inf)
    with np.errstate(all="ignore"):  # lanes without a flight hold zeros
        plain(0, 70, *rows, steps, par, table, lanes_fly.workspace(), np.empty(64, np.int64), code, found)
    np.testing.assert_array_equal(code, status)
    flown = status > 0
    np.testing.assert_allclose(found.reshape(70, -1)[flown], values[flown], rtol=1e-9, atol=1e-9)
    assert flown.sum() > 60


def test_an_accuracy_that_is_not_offered():
    model = model_of("constant", "cross", 0.0)
    with pytest.raises(BadInput, match=r"accuracy: 0\.001 m is not offered; take 1e-06 m or 1e-09 m"):
        fly_to_floor(model, START, (1.0, 0, 0), (0, 0, 0), accuracy=1e-3)


def test_inputs_that_may_not_be_written():
    model = model_of("constant", "cross", 0.0)
    velocity, spin = launches(40)
    expected = fly_to_floor(model, START, velocity, spin)
    velocity.flags.writeable = False
    _, spread = np.broadcast_arrays(velocity, spin[0])
    found = fly_to_floor(model, START, velocity, spin)
    np.testing.assert_array_equal(found.position, expected.position)
    one_spin = fly_to_floor(model, START, velocity, spread)
    np.testing.assert_array_equal(one_spin.position, fly_to_floor(model, START, velocity, spin[0]).position)
