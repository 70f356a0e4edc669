"""Laws that every flight obeys: first integrals, exact cases, symmetries."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.flight.crossing import NO_FLOOR, fly_to_floor, fly_to_plane
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Weather

G = 9.80665
NONE = CoefficientLaw("none")
FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))

speeds = st.floats(2.0, 25.0)
elevations = st.floats(math.radians(-80), math.radians(88))
spins = st.floats(-300.0, 300.0)
times = st.floats(0.01, 2.5)
balls = st.builds(
    lambda d, m, c: Ball("ball", d, m, CoefficientLaw("constant", c), NONE),
    st.floats(0.03, 0.3),
    st.floats(0.02, 1.0),
    st.floats(0.0, 0.8),
)


def still(ball: Ball, wind=(0.0, 0.0, 0.0), gravity=G):
    return flight_model(
        ball, Weather(wind=wind), density=1.2, viscosity=1.8e-5, gravity=gravity, buoyancy=False
    )


def after(model, velocity, spin, time, place=(0.0, 0.0, 0.0)):
    return fly_to_floor(model, place, velocity, spin, floor=NO_FLOOR, time_limit=time)


@settings(max_examples=80, deadline=None)
@given(balls, speeds, elevations, times)
def test_hodograph_of_quadratic_drag(ball, speed, elevation, time):
    # 1/(v cos psi)^2 + (c/g) F(psi) is constant, F = tan sec + asinh tan: textbook (Bernoulli, Euler)
    c = 1.2 * math.pi / 4 * ball.diameter**2 * ball.drag.constant / (2 * ball.mass)
    velocity, spin = launch_vectors(speed, elevation, 0.0, 0.0)
    end = after(still(ball), velocity, spin, time)

    def constant(v):
        slope = v[2] / v[0]
        return 1 / v[0] ** 2 + c / G * (slope * math.hypot(1, slope) + math.asinh(slope))

    # a relative error of 1e-9 m/s in each part of the velocity; the two terms may cancel
    scale = 1 / end.velocity[0, 0] ** 2 * (1 + 1 / abs(end.velocity[0, 0]))
    assert constant(end.velocity[0]) == pytest.approx(constant(velocity[0]), abs=1e-7 * scale)


@settings(max_examples=40, deadline=None)
@given(speeds, st.floats(0.05, 0.8), st.floats(-0.5, 0.5), times)
def test_without_gravity_the_path_is_a_circle(speed, drag, lift, time):
    # radius 1/(K C_L), arc s = ln(1 + K C_D v t)/(K C_D): closed form
    ball = replace(FOAM, drag=CoefficientLaw("constant", drag), lift=CoefficientLaw("constant", lift))
    k = 1.2 * math.pi / 4 * 0.178**2 / (2 * 0.140)
    end = after(still(ball, gravity=0.0), (speed, 0, 0), (0, 0, 3.0), time)
    arc = math.log1p(k * drag * speed * time) / (k * drag)
    turned = k * lift * arc
    x = math.sin(turned) / (k * lift) if abs(lift) > 1e-6 else arc
    y = (1 - math.cos(turned)) / (k * lift) if abs(lift) > 1e-6 else 0.5 * turned * arc
    np.testing.assert_allclose(end.position[0], (x, y, 0.0), rtol=0, atol=1e-7)
    assert np.linalg.norm(end.velocity[0]) == pytest.approx(speed / (1 + k * drag * speed * time), abs=1e-7)


@settings(max_examples=40, deadline=None)
@given(speeds, elevations, spins, st.floats(-1.0, 1.0), times)
def test_mirrored_launch_flies_mirrored(speed, elevation, spin, azimuth, time):
    left_v, left_w = launch_vectors(speed, elevation, azimuth, spin)
    right_v, right_w = launch_vectors(speed, elevation, -azimuth, spin)
    left, right = (after(still(FOAM), v, w, time) for v, w in ((left_v, left_w), (right_v, right_w)))
    np.testing.assert_allclose(left.position * [1, -1, 1], right.position, rtol=0, atol=1e-12)


@settings(max_examples=40, deadline=None)
@given(speeds, elevations, spins, st.tuples(*[st.floats(-6, 6)] * 3), times)
def test_wind_is_a_moving_frame(speed, elevation, spin, wind, time):
    velocity, axis = launch_vectors(speed, elevation, 0.3, spin)
    windy = after(still(FOAM, wind), velocity, axis, time)
    carried = after(still(FOAM), velocity - np.array(wind), axis, time)
    np.testing.assert_allclose(windy.position, carried.position + np.array(wind) * time, rtol=0, atol=1e-11)


@settings(max_examples=40, deadline=None)
@given(st.floats(2.0, 20.0), st.floats(0.1, 1.3), st.floats(0.0, 0.7), st.floats(0.01, 0.3))
def test_more_drag_never_flies_farther(speed, elevation, drag, more):
    velocity, spin = launch_vectors(speed, elevation, 0.0, 0.0)
    near, far = (
        fly_to_floor(
            still(replace(FOAM, drag=CoefficientLaw("constant", c), lift=NONE)), (0, 0, 1), velocity, spin
        )
        for c in (drag + more, drag)
    )
    assert near.position[0, 0] <= far.position[0, 0] + 1e-9
    assert near.apex_height[0] <= far.apex_height[0] + 1e-9


@settings(max_examples=40, deadline=None)
@given(speeds, elevations, times)
def test_drag_only_takes_energy(speed, elevation, time):
    velocity, spin = launch_vectors(speed, elevation, 0.0, 200.0)
    end = after(still(FOAM), velocity, spin, time)
    energy = 0.5 * np.sum(end.velocity**2) + G * end.position[0, 2]
    assert energy < 0.5 * speed**2


def test_backspin_lifts_and_topspin_dips():
    height = {
        spin: after(still(FOAM), *launch_vectors(10.0, 0.5, 0.7, spin), 0.5).position[0, 2]
        for spin in (-50.0, 0.0, 50.0)
    }
    assert height[-50.0] < height[0.0] < height[50.0]


def test_spin_about_the_vertical_turns_the_ball_to_its_side():
    # spin up, flight along x: lift along z x x = +y, to the left
    assert after(still(FOAM), (10, 0, 0), (0, 0, 50.0), 0.5).position[0, 1] > 0.1


def test_spin_along_the_flight_does_not_lift():
    spun, plain = (after(still(FOAM), (10, 0, 0), (w, 0, 0), 0.1).position[0] for w in (50.0, 0.0))
    # at first; gravity then turns the flight out of the axis
    np.testing.assert_allclose(spun[[0, 2]], plain[[0, 2]], atol=1e-4)


def test_buoyancy_carries_the_displaced_air():
    # a ball as light as its air neither falls nor rises: Archimedes
    mass = 1.2 * math.pi / 6 * 0.2**3
    ball = Ball("bubble", 0.2, mass, CoefficientLaw("constant", 0.5), NONE)
    model = flight_model(ball, Weather(), density=1.2)
    end = after(model, (0, 0, 0), (0, 0, 0), 2.0)
    np.testing.assert_allclose(end.position, 0.0, atol=1e-12)


def test_spin_decays_with_the_distance_flown():
    # without gravity and drag the speed stays, and omega falls as exp(-k v t/L): closed form
    ball = replace(FOAM, drag=CoefficientLaw("constant", 0.0), spin_decay=0.5)
    keeps = replace(ball, spin_decay=0.0)
    decays, stays = (after(still(b, gravity=0.0), (10, 0, 0), (0, 0, 60.0), 1.0) for b in (ball, keeps))
    turned = [math.atan2(c.velocity[0, 1], c.velocity[0, 0]) for c in (decays, stays)]
    # lift turns the path at K |u| C_L(S): integrate the closed form of S(t) by a fine sum
    k = 1.2 * math.pi / 4 * 0.178**2 / (2 * 0.140)
    length = 2 * 0.4 * 0.140 / (1.2 * math.pi / 4 * 0.178**2)
    t = (np.arange(20000) + 0.5) / 20000
    s = 0.089 * 60.0 / 10.0 * np.exp(-0.5 * 10.0 * t / length)
    assert turned[0] == pytest.approx(np.mean(k * 10.0 * s / (2.32 * s + 0.4)), abs=1e-8)
    assert turned[1] == pytest.approx(k * 10.0 * s[0] / (2.32 * s[0] + 0.4), rel=1e-3)


@pytest.mark.authority
def test_backspin_does_not_add_range_to_a_steep_shot():
    # reference flights D1 and D2: 0.35 m more height, 0.093 m less distance at 2 m
    plain = replace(FOAM, lift=NONE)
    model = {
        ball.lift.name: flight_model(ball, Weather(), density=1.225, buoyancy=False) for ball in (FOAM, plain)
    }
    velocity, spin = launch_vectors(10.0, math.radians(55), 0.0, 50.0)
    found = {
        name: fly_to_plane(one, (0, 0, 0.6), velocity, spin, (0, 0, 2), (0, 0, 1))
        for name, one in model.items()
    }
    assert found["cross"].apex_height[0] - found["none"].apex_height[0] == pytest.approx(0.346, abs=1e-3)
    assert found["cross"].position[0, 0] - found["none"].position[0, 0] == pytest.approx(-0.093, abs=1e-3)
