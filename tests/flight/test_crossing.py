"""Crossings: reference flights, events that are easy to miss, an independent integrator, bad input."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput
from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_floor, fly_to_plane, trace
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.published.reference_flights import ROWS, SETUPS, fly_row

G = 9.80665
UP = (0.0, 0.0, 1.0)
NONE = CoefficientLaw("none")
VACUUM = flight_model(
    Ball("b", 0.2, 0.5, CoefficientLaw("constant", 0.5), NONE), Weather(), density=0.0, buoyancy=False
)
FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))
CRISIS = CoefficientLaw("table", table=((5e4, 0.5), (1e5, 0.48), (1.3e5, 0.35), (1.6e5, 0.3), (2e5, 0.3)))


def launches(n: int, seed: int = 7, low: float = 20.0, high: float = 75.0):
    rng = np.random.default_rng(seed)
    return launch_vectors(
        rng.uniform(6, 14, n),
        np.radians(rng.uniform(low, high, n)),
        np.radians(rng.uniform(-10, 10, n)),
        rng.uniform(0, 60, n) * 2 * np.pi,
    )


@pytest.mark.authority
@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.flight} {row.at} {row.time:.4g} s")
def test_reference_flight(row):
    # Two independent integrators agree on these values to 1e-12; the default tolerance must give 1e-8.
    found = fly_row(row)
    if row.at == "apex":
        assert found.apex_height[0] == pytest.approx(row.place[2], abs=1e-8)
        assert found.apex_time[0] == pytest.approx(row.time, abs=1e-8)
        return
    assert found.time[0] == pytest.approx(row.time, abs=1e-8)
    np.testing.assert_allclose(found.position[0], row.place, rtol=0, atol=1e-8)
    np.testing.assert_allclose(found.velocity[0], row.velocity, rtol=0, atol=1e-8)


@pytest.mark.authority
def test_reference_flight_at_a_tight_tolerance():
    row = next(row for row in ROWS if row.flight == "D2" and row.at == "fall")
    velocity, spin = launch_vectors(10.0, math.radians(55), 0.0, 50.0)
    found = fly_to_plane(SETUPS["D2"].model(), (0, 0, 0.6), velocity, spin, (0, 0, 2), UP, tolerance=1e-13)
    np.testing.assert_allclose(found.position[0], row.place, rtol=0, atol=1e-12)


@pytest.mark.parametrize("miss", [1e-3, 1e-6, 1e-9])
def test_apex_that_hardly_reaches_the_plane(miss):
    # without air the apex is v_z^2/(2g) up, exactly
    velocity, _ = launch_vectors(np.full(20, 9.0), np.radians(np.linspace(30, 80, 20)), 0.0, 0.0)
    apex = 1.0 + velocity[:, 2] ** 2 / (2 * G)
    for one, top in zip(velocity, apex, strict=True):
        below = fly_to_plane(VACUUM, (0, 0, 1), one, (0, 0, 0), (0, 0, top - miss), UP)
        above = fly_to_plane(VACUUM, (0, 0, 1), one, (0, 0, 0), (0, 0, top + miss), UP)
        assert below.status[0] == Status.CROSSED
        assert below.time[0] == pytest.approx(one[2] / G + math.sqrt(2 * miss / G), abs=1e-7)
        assert above.status[0] == Status.FLOOR


@pytest.mark.parametrize("dip", [1e-3, 1e-6, 1e-9])
def test_plane_that_is_crossed_twice_within_one_step(dip):
    # seen from below, a ball dips through a ceiling near its apex: the first crossing is on the way up
    velocity = np.array([3.0, 0.0, 6.0])
    ceiling = 1.0 + 18.0 / G - dip
    found = fly_to_plane(VACUUM, (0, 0, 1), velocity, (0, 0, 0), (0, 0, ceiling), (0, 0, -1))
    assert found.status[0] == Status.CROSSED
    assert found.time[0] == pytest.approx(6.0 / G - math.sqrt(2 * dip / G), abs=1e-7)
    missed = fly_to_plane(VACUUM, (0, 0, 1), velocity, (0, 0, 0), (0, 0, ceiling + 2 * dip), (0, 0, -1))
    assert missed.status[0] == Status.FLOOR


def test_the_back_of_a_plane_does_not_count():
    # a ball thrown up through a level opening passes its back first, then its front on the way down
    found = fly_to_plane(VACUUM, (0, 0, 1), (2.0, 0.0, 7.0), (0, 0, 0), (0, 0, 2), UP)
    assert found.velocity[0, 2] < 0
    behind = fly_to_plane(VACUUM, (0, 0, 1), (2.0, 0.0, 7.0), (0, 0, 0), (1, 0, 0), (1, 0, 0))
    assert behind.status[0] == Status.FLOOR


def test_floor_and_plane_in_one_step_are_put_in_order():
    # a flat throw at 20 m/s reaches x = 4 after 0.2 s, just before or just after it touches the floor
    for height, status in ((0.4, Status.CROSSED), (0.25, Status.FLOOR)):
        found = fly_to_plane(VACUUM, (0, 0, height), (20.0, 0.0, 0.0), (0, 0, 0), (4, 0, 0), (-1, 0, 0))
        assert found.status[0] == status


def test_floor_is_touched_by_the_surface():
    found = fly_to_floor(VACUUM, (0, 0, 1), (1.0, 0.0, 0.0), (0, 0, 0))
    assert found.status[0] == Status.FLOOR
    assert found.position[0, 2] == pytest.approx(0.1, abs=1e-12)
    bigger = fly_to_floor(VACUUM, (0, 0, 1), (1.0, 0.0, 0.0), (0, 0, 0), diameter=[0.3])
    assert bigger.position[0, 2] == pytest.approx(0.15, abs=1e-12)
    lower = fly_to_floor(VACUUM, (0, 0, 1), (1.0, 0.0, 0.0), (0, 0, 0), floor=-2.0)
    assert lower.time[0] == pytest.approx(math.sqrt(6.0 / G), abs=1e-10)


def test_start_on_or_below_the_floor():
    up = fly_to_floor(VACUUM, (0, 0, 0.1), (1.0, 0.0, 5.0), (0, 0, 0))
    assert up.time[0] == pytest.approx(10.0 / G, abs=1e-9)
    for start, speed in ((0.1, -1.0), (0.05, 5.0)):
        at_once = fly_to_floor(VACUUM, (0, 0, start), (1.0, 0.0, speed), (0, 0, 0))
        assert (at_once.status[0], at_once.time[0]) == (Status.FLOOR, 0.0)


def test_time_limit():
    found = fly_to_floor(VACUUM, (0, 0, 1), (1.0, 0.0, 20.0), (0, 0, 0), time_limit=0.75)
    assert found.status[0] == Status.TIMED_OUT
    assert found.time[0] == 0.75
    np.testing.assert_allclose(found.position[0], (0.75, 0.0, 1 + 15 - G * 0.75**2 / 2), atol=1e-12)


def test_apex_is_the_highest_point_up_to_the_end():
    falling = fly_to_floor(VACUUM, (0, 0, 1), (1.0, 0.0, -2.0), (0, 0, 0))
    assert (falling.apex_height[0], falling.apex_time[0]) == (1.0, 0.0)
    rising = fly_to_plane(VACUUM, (0, 0, 1), (5.0, 0.0, 9.0), (0, 0, 0), (1, 0, 0), (-1, 0, 0))
    assert rising.apex_height[0] == rising.position[0, 2]
    assert rising.apex_time[0] == rising.time[0]


def test_no_status_is_wrong_and_grazing_is_only_as_bad_as_it_must_be():
    # against the same equations at a 1000 times tighter tolerance, level and upright planes
    model = flight_model(FOAM, Weather(wind=(1.0, -0.5, 0.2)))
    velocity, spin = launches(4000)
    for point, normal in (((0, 0, 1.2), (0, 0, 1)), ((4, 0, 0), (-1, 0, 0)), ((5, 0, 1), (-1, 0.2, 1))):
        usual = fly_to_plane(model, (0, 0, 0.4), velocity, spin, point, normal)
        tight = fly_to_plane(model, (0, 0, 0.4), velocity, spin, point, normal, tolerance=1e-11)
        np.testing.assert_array_equal(usual.status, tight.status)
        assert 0 < (usual.status == Status.CROSSED).mean() < 1
        across = np.abs(usual.velocity @ np.asarray(normal)) / np.linalg.norm(normal)
        grazing = np.linalg.norm(usual.velocity, axis=1) / np.maximum(across, 1e-12)
        error = np.linalg.norm(usual.position - tight.position, axis=1)
        assert (error / np.where(usual.status == Status.CROSSED, grazing, 1.0)).max() < 2e-8


def test_throws_straight_up_are_as_exact_as_the_others():
    # drag |u| u has a jump in its second rate where the ball rests; a step across it must not go unseen
    model = flight_model(FOAM, Weather())
    velocity, spin = launches(2000, low=80.0, high=90.0)
    velocity[:200, :2] = 0.0
    usual = fly_to_floor(model, (0, 0, 0.4), velocity, spin)
    tight = fly_to_floor(model, (0, 0, 0.4), velocity, spin, tolerance=1e-12)
    assert np.abs(usual.position - tight.position).max() < 2e-8
    assert np.abs(usual.velocity - tight.velocity).max() < 2e-8


DRAG = {
    "constant": (CoefficientLaw("constant", 0.47), lambda re, s: 0.47),
    "haider-levenspiel": (
        CoefficientLaw("haider-levenspiel"),
        lambda re, s: fluids.drag.Haider_Levenspiel(re),
    ),
    "clift-gauvin": (CoefficientLaw("clift-gauvin"), lambda re, s: fluids.drag.Clift_Gauvin(re)),
    "morsi-alexander": (CoefficientLaw("morsi-alexander"), lambda re, s: fluids.drag.Morsi_Alexander(re)),
    "brown-lawler": (
        CoefficientLaw("brown-lawler"),
        lambda re, s: 24 / re * (1 + 0.15 * re**0.681) + 0.407 / (1 + 8710 / re),
    ),
    "stepanek": (
        CoefficientLaw("stepanek"),
        lambda re, s: 0.508 + (22.503 + 4.196 * s**-2.5) ** -0.4,
    ),
}
LIFT = {
    "constant": (CoefficientLaw("constant", 0.2), lambda s: 0.2),
    "none": (NONE, lambda s: 0.0),
    "cross": (CoefficientLaw("cross"), lambda s: 1 / (2.32 + 0.4 / s)),
    "nathan": (CoefficientLaw("nathan"), lambda s: 1.12 * s / (0.583 + 2.333 * s)),
    "stepanek": (CoefficientLaw("stepanek"), lambda s: 1 / (2.022 + 0.981 / s)),
    "sawicki-hubbard-stronge": (
        CoefficientLaw("sawicki-hubbard-stronge"),
        lambda s: 1.5 * s if s < 0.1 else 0.09 + 0.6 * min(s, 0.6),
    ),
}


def scipy_flight(place, velocity, spin, wind, drag, lift, decay=0.05):
    """Where a foam ball falls through z = 1.2, by scipy's integrator on equations typed anew."""
    rho, mu, d, m = 1.2, 1.8e-5, 0.178, 0.140
    area, gravity = math.pi * d * d / 4, G * (1 - rho * math.pi / 6 * d**3 / m)
    axis = spin / np.linalg.norm(spin)
    rate = decay * rho * area / (2 * 0.4 * m)

    def rhs(_, y):
        u = y[3:6] - wind
        speed = np.linalg.norm(u)
        re, s = rho * speed * d / mu, d / 2 * y[6] / speed
        force = 0.5 * rho * area * speed * (lift(s) * np.cross(axis, u) - drag(re, s) * u)
        return [*y[3:6], *(force / m - [0, 0, gravity]), -rate * speed * y[6]]

    def falls(_, y):
        return y[2] - 1.2

    falls.terminal, falls.direction = True, -1
    start = [*place, *velocity, np.linalg.norm(spin)]
    found = solve_ivp(
        rhs, (0, 10), start, method="DOP853", rtol=1e-11, atol=1e-12, max_step=0.02, events=falls
    )
    return found.t_events[0][0], found.y_events[0][0]


@pytest.mark.parametrize(
    ("drag", "lift"),
    [
        ("constant", "cross"),
        ("constant", "sawicki-hubbard-stronge"),
        ("haider-levenspiel", "nathan"),
        ("clift-gauvin", "none"),
        ("morsi-alexander", "constant"),
        ("brown-lawler", "stepanek"),
        ("stepanek", "stepanek"),
    ],
)
def test_independent_integrator_on_equations_typed_anew(drag, lift):
    wind = (2.0, -1.0, 0.3)
    ball = Ball("foam", 0.178, 0.140, DRAG[drag][0], LIFT[lift][0], spin_decay=0.05)
    model = flight_model(ball, Weather(wind=wind), density=1.2, viscosity=1.8e-5)
    rng = np.random.default_rng(3)
    velocity, spin = launch_vectors(
        rng.uniform(8, 13, 5), rng.uniform(0.7, 1.2, 5), rng.uniform(-0.2, 0.2, 5), rng.uniform(20, 200, 5)
    )
    spin[:, 2] += rng.uniform(-40, 40, 5)  # spin that is not square to the flight
    spin[:, 0] += rng.uniform(-20, 20, 5)
    ours = fly_to_plane(model, (0, 0, 0.4), velocity, spin, (0, 0, 1.2), UP)
    for i in range(5):
        time, state = scipy_flight((0, 0, 0.4), velocity[i], spin[i], wind, DRAG[drag][1], LIFT[lift][1])
        assert ours.time[i] == pytest.approx(time, abs=5e-8)
        np.testing.assert_allclose(ours.position[i], state[:3], rtol=0, atol=1e-7)
        np.testing.assert_allclose(ours.velocity[i], state[3:6], rtol=0, atol=2e-7)


@pytest.mark.parametrize("drag", [CRISIS, CoefficientLaw("morsi-alexander")], ids=["table", "pieces"])
def test_laws_with_corners_are_as_exact_as_smooth_ones(drag):
    ball = Ball("foam", 0.178, 0.140, drag, CoefficientLaw("sawicki-hubbard-stronge"))
    model = flight_model(ball, Weather())
    velocity, spin = launches(1500)
    usual = fly_to_floor(model, (0, 0, 0.4), velocity, spin)
    tight = fly_to_floor(model, (0, 0, 0.4), velocity, spin, tolerance=1e-12)
    assert np.abs(usual.position - tight.position).max() < 1e-6


def test_acceleration_and_jerk_are_rates_of_the_flight():
    model = flight_model(FOAM, Weather(wind=(1.0, 0.0, 0.0)))
    velocity, spin = launches(6)
    at = fly_to_floor(model, (0, 0, 0.4), velocity, spin, floor=NO_FLOOR, time_limit=0.8, tolerance=1e-13)
    e = 2e-3
    later, sooner = (
        fly_to_floor(model, (0, 0, 0.4), velocity, spin, floor=NO_FLOOR, time_limit=0.8 + s, tolerance=1e-13)
        for s in (e, -e)
    )
    np.testing.assert_allclose(at.acceleration, (later.velocity - sooner.velocity) / (2 * e), atol=2e-5)
    np.testing.assert_allclose(at.jerk, (later.acceleration - sooner.acceleration) / (2 * e), atol=2e-4)


def test_trace_passes_the_same_places():
    model = flight_model(FOAM, Weather())
    velocity, spin = launches(1)
    times = [0.0, 0.3, 0.3, 0.9]
    path = trace(model, (0, 0, 0.4), velocity, spin, times)
    for time, place in zip(times, path, strict=True):
        end = fly_to_floor(model, (0, 0, 0.4), velocity, spin, floor=NO_FLOOR, time_limit=max(time, 1e-12))
        np.testing.assert_allclose(place, end.position[0], atol=1e-8)
    assert trace(model, (0, 0, 0.4), velocity, spin, []).shape == (0, 3)


def test_each_ball_has_its_own_mass_and_size():
    model = flight_model(FOAM, Weather())
    velocity, spin = launch_vectors(10.0, 0.9, 0.0, 40.0)
    many = fly_to_plane(
        model, (0, 0, 0.6), velocity, spin, (0, 0, 2), UP, mass=[0.13, 0.15], diameter=[0.18, 0.17]
    )
    for i, (m, d) in enumerate(((0.13, 0.18), (0.15, 0.17))):
        ball = Ball("one", d, m, FOAM.drag, FOAM.lift)
        one = fly_to_plane(flight_model(ball, Weather()), (0, 0, 0.6), velocity, spin, (0, 0, 2), UP)
        np.testing.assert_allclose(many.position[i], one.position[0], rtol=0, atol=1e-12)


def test_no_flights_at_all():
    none = np.empty((0, 3))
    found = fly_to_floor(VACUUM, none, none, none)
    assert found.position.shape == (0, 3)
    assert found.to_dict()["status"] == []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"velocity": (1.0, float("nan"), 0.0)}, "velocity: row 0 is"),
        ({"velocity": (1.0, 2.0)}, "velocity: shape (2,) is not (3,) or (n, 3)"),
        ({"position": np.zeros((2, 3)), "spin": np.zeros((3, 3))}, "[2, 3] rows do not fit together"),
        ({"mass": [0.1, -0.1]}, "ball.mass: -0.1 kg is not a mass"),
        ({"diameter": 0.0}, "ball.diameter: 0 m is not a diameter"),
        ({"plane_normal": (0, 0, 0)}, "not all zero"),
        ({"plane_point": (0, 0, float("inf"))}, "finite"),
        ({"floor": float("nan")}, "floor"),
        ({"time_limit": -1.0}, "time limit"),
        ({"tolerance": 0.0}, "tolerance"),
    ],
)
def test_bad_input_is_named(change, words):
    usual = {
        "position": (0, 0, 1),
        "velocity": (1.0, 0.0, 1.0),
        "spin": (0, 0, 0),
        "plane_point": (1, 0, 0),
        "plane_normal": (-1, 0, 0),
    }
    with pytest.raises(BadInput) as raised:
        fly_to_plane(VACUUM, **(usual | change))
    assert words in str(raised.value)


@pytest.mark.parametrize("times", [[0.2, 0.1], [-0.1], [float("nan")]])
def test_times_of_a_path_do_not_fall(times):
    with pytest.raises(BadInput, match="times"):
        trace(VACUUM, (0, 0, 1), (1, 0, 1), (0, 0, 0), times)


def test_a_path_is_that_of_one_flight():
    with pytest.raises(BadInput, match="one flight, not to 2"):
        trace(VACUUM, (0, 0, 1), np.ones((2, 3)), (0, 0, 0), [0.1])
