"""Derivatives of the crossing against closed forms, scaling laws and an independent differentiation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.flight.crossing import NO_FLOOR, fly_to_plane
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.sensitivity import COLUMNS, crossing_sensitivities, plane_axes
from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

G = 9.80665
NONE = CoefficientLaw("none")
VACUUM = flight_model(
    Ball("b", 0.2, 0.5, CoefficientLaw("constant", 0.5), NONE), Weather(), density=0.0, buoyancy=False
)
FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"), spin_decay=0.05)
AIR = flight_model(FOAM, Weather(wind=(1.0, 0.4, 0.0)))
NORMAL = np.array([-1.0, 0.15, 0.6])


def test_without_air():
    # y(L) = L tan t - g L^2/(2 v^2 cos^2 t): its derivatives, and the sideways shift L per radian of azimuth
    v, t, length = 9.0, math.radians(57), 4.5
    found = crossing_sensitivities(VACUUM, (0, 0, 1), v, t, 0.0, 0.0, (length, 0, 1), (-1, 0, 0))
    by_speed = G * length**2 / (v**3 * math.cos(t) ** 2)
    by_elevation = length / math.cos(t) ** 2 * (1 - G * length / v**2 * math.tan(t))
    slope = math.tan(t) - G * length / (v * math.cos(t)) ** 2
    # u points to -y, w up
    expected = [
        [0, 0, -length, 0, 0, -1, 0, 0],
        [by_speed, by_elevation, 0, 0, -slope, 0, 0, 0],
    ]
    np.testing.assert_allclose(found.jacobian[0], expected, rtol=1e-9, atol=1e-9)


def test_on_a_floor():
    # range v^2 sin 2t/g from a release at the floor's own height
    v, t = 8.0, math.radians(50)
    found = crossing_sensitivities(VACUUM, (0, 0, 0.1), v, t, 0.0, 0.0, (0, 0, 0.1), (0, 0, 1))
    assert -found.crossing[0, 1] == pytest.approx(v**2 * math.sin(2 * t) / G, rel=1e-9)
    assert -found.jacobian[0, 1, 0] == pytest.approx(2 * v * math.sin(2 * t) / G, rel=1e-9)
    assert -found.jacobian[0, 1, 1] == pytest.approx(2 * v**2 * math.cos(2 * t) / G, rel=1e-9)
    assert found.jacobian[0, 0, 2] == pytest.approx(-found.crossing[0, 1], rel=1e-9)
    assert -found.jacobian[0, 1, 4] == pytest.approx(1.0)
    assert found.jacobian[0, 0, 5] == pytest.approx(1.0)


def crossing(values, tolerance=1e-13):
    """Crossing (u, w) for launch values in the order of the columns."""
    speed, elevation, azimuth, spin, x, y, mass, diameter = values
    velocity, axis = launch_vectors(speed, elevation, azimuth, spin)
    found = fly_to_plane(
        AIR, (x, y, 0.6), velocity, axis, (4, 0.3, 2), NORMAL, floor=NO_FLOOR, mass=mass, diameter=diameter,
        tolerance=tolerance,
    )  # fmt: skip
    u, w, _ = plane_axes(NORMAL)
    return (found.position[0] - (4, 0.3, 2)) @ np.column_stack([u, w])


def richardson(values, column, step):
    """Central differences at three steps, extrapolated: an error of order step^6, another rule than ours."""
    table = []
    for h in (step, step / 2, step / 4):
        moved = [np.array(values, dtype=float) for _ in range(2)]
        moved[0][column] += h
        moved[1][column] -= h
        table.append((crossing(moved[0]) - crossing(moved[1])) / (2 * h))
    once = [(4 * table[i + 1] - table[i]) / 3 for i in range(2)]
    return (16 * once[1] - once[0]) / 15


@pytest.mark.parametrize("spin", [40.0, -25.0])
def test_in_air_against_an_independent_differentiation(spin):
    values = [9.5, math.radians(55), 0.08, spin, 0.0, 0.1, 0.140, 0.178]
    found = crossing_sensitivities(AIR, (0, 0.1, 0.6), 9.5, math.radians(55), 0.08, spin, (4, 0.3, 2), NORMAL)
    np.testing.assert_allclose(found.crossing[0], crossing(values), rtol=0, atol=1e-10)
    steps = [0.02, 0.004, 0.004, 1.0, 0.01, 0.01, 0.002, 0.002]
    for column, step in enumerate(steps):
        theirs = richardson(values, column, step)
        np.testing.assert_allclose(
            found.jacobian[0, :, column], theirs, rtol=1e-6, atol=1e-6 * np.abs(theirs).max(),
            err_msg=COLUMNS[column],
        )  # fmt: skip


def test_mass_and_diameter_act_through_their_ratio():
    # constant C_D, no lift, no buoyancy: the flight knows only D^2/m
    ball = Ball("b", 0.178, 0.140, CoefficientLaw("constant", 0.47), NONE)
    model = flight_model(ball, Weather(), buoyancy=False)
    found = crossing_sensitivities(model, (0, 0, 0.6), 9.5, 0.95, 0.0, 0.0, (4, 0, 2), NORMAL).jacobian[0]
    np.testing.assert_allclose(found[:, 7] * 0.178, -2 * found[:, 6] * 0.140, rtol=1e-7, atol=1e-10)
    np.testing.assert_allclose(found[:, 3], 0.0, atol=1e-10)


def test_no_crossing_no_derivative():
    found = crossing_sensitivities(AIR, (0, 0, 0.6), [3.0, 9.5], 0.95, 0.0, 0.0, (4, 0, 2), (0, 0, 1))
    assert np.isnan(found.crossing[0]).all()
    assert np.isnan(found.jacobian[0]).all()
    assert np.isfinite(found.jacobian[1]).all()


def test_rows_are_those_of_single_launches():
    speeds, places = np.array([9.0, 9.5, 10.0]), np.array([(0, 0, 0.6), (0.2, 0, 0.7), (0, 0.1, 0.5)])
    many = crossing_sensitivities(AIR, places, speeds, 0.95, 0.02, 30.0, (4, 0, 2), NORMAL)
    for i in range(3):
        one = crossing_sensitivities(AIR, places[i], speeds[i], 0.95, 0.02, 30.0, (4, 0, 2), NORMAL)
        np.testing.assert_allclose(many.jacobian[i], one.jacobian[0], rtol=1e-9, atol=1e-12)


def test_axes_are_those_of_a_target():
    for azimuth, elevation in ((0.3, 0.2), (2.0, math.pi / 2), (-1.0, -0.4)):
        target = Target("t", (0, 0, 0), azimuth, elevation, radius=1.0)
        for ours, theirs in zip(plane_axes(target.axes()[2]), target.axes(), strict=True):
            np.testing.assert_allclose(ours, theirs, atol=1e-12)


def test_shapes_that_do_not_fit():
    with pytest.raises(BadInput, match="one row of n numbers"):
        crossing_sensitivities(AIR, np.zeros((2, 3)), np.full(3, 9.0), 0.9, 0.0, 0.0, (4, 0, 2), NORMAL)
