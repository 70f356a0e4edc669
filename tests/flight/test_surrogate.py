"""Shot grids from series: the parabola's closed form, every cell against its own flight, and plain text."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.flight.crossing import Status
from shotwright.flight.line_of_fire import line_of_fire
from shotwright.flight.model import flight_model
from shotwright.flight.surrogate import shot_surrogate
from shotwright.flight.surrogate_grid import QUANTITIES, TO_FLY, compiled_rows, fill_rows, quantities
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Target, Weather

G = 9.80665
BALL = Ball("ball", 0.18, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
SPOT = FiringPosition("spot", 0.0, 0.0, 0.0, 0.0)
RING = Target("ring", (4.0, 0.0, 2.5), 0.0, math.pi / 2, radius=0.4)
SPAN = (math.radians(25.0), math.radians(75.0))
SPEEDS = (5.0, 12.0)
CORNERS = ((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))


def line(target=RING, density=None, wind=(0.0, 0.0, 0.0), spin=0.0, height=1.0):
    model = flight_model(BALL, Weather(wind=wind), density=density, buoyancy=False)
    return line_of_fire(model, target, SPOT, height, spin_parameter=spin)


def test_without_air_the_grid_is_the_parabola():
    speeds, elevations = np.linspace(*SPEEDS, 301), np.linspace(*SPAN, 201)
    found = shot_surrogate(line(density=0.0), SPEEDS, SPAN).on_grid(speeds, elevations)
    up, along = speeds * np.sin(elevations)[:, None], speeds * np.cos(elevations)[:, None]
    root = up**2 - 2 * G * 1.5
    crosses = root >= 0
    np.testing.assert_array_equal(found.status == Status.CROSSED, crosses)
    assert 0.3 < crosses.mean() < 0.9
    time = (up + np.sqrt(np.where(crosses, root, np.nan))) / G
    # w points back towards the launcher [m]; errors grow with |v|/|v_n| near a grazing path
    slant = np.hypot(along, np.sqrt(np.where(crosses, root, 1.0))) / np.sqrt(np.where(root > 0, root, 1.0))
    assert np.nanmax(np.abs(found.values[2] - (4.0 - along * time)) / slant) < 1e-7
    np.testing.assert_allclose(found.values[5], -np.sqrt(np.where(crosses, root, np.nan)), atol=2e-6)
    np.testing.assert_allclose(found.values[1][crosses], 0.0, atol=1e-9)


scenes = st.tuples(
    st.sampled_from([0.0, 0.3, 0.7, 1.2, math.pi / 2]),  # tilt of the opening [rad]
    st.floats(0.6, 3.0),  # its height [m]
    st.floats(2.5, 6.0),  # its distance [m]
    st.floats(0.0, 0.3),  # spin parameter
    st.floats(-2.0, 2.0),  # wind along [m/s]
)


@settings(max_examples=8, deadline=None)
@given(scenes)
def test_every_cell_is_that_of_its_flight(scene):
    tilt, height, distance, spin, wind = scene
    target = Target("gate", (distance, 0.0, height), math.pi, tilt, corners=CORNERS)
    one = line(target, wind=(wind, 0.0, 0.0), spin=spin)
    speeds, elevations = np.linspace(*SPEEDS, 97), np.linspace(*SPAN, 83)
    series = shot_surrogate(one, SPEEDS, SPAN)
    found = series.on_grid(speeds, elevations)
    row, column = (x.ravel() for x in np.indices(found.status.shape))
    flown = one.fly(speeds[column], elevations[row], np.full(len(row), series.azimuth))
    np.testing.assert_array_equal(found.status.ravel(), flown.status)
    off = np.abs(found.values.reshape(QUANTITIES, -1) - quantities(one, flown))
    assert np.nanmax(off[1:3], initial=0.0) < 1e-6
    assert (np.isnan(found.values[0].ravel()) == (flown.status != Status.CROSSED)).all()


def test_cells_beside_the_boundary_are_flown():
    series = shot_surrogate(line(), SPEEDS, SPAN)
    panel = next(p for p in series.panels if p.low <= 1.0 <= p.high)
    edge = float(panel.slowest(np.array(1.0)))
    speeds = edge + np.array([-1e-3, -5e-5, 5e-5, 1e-3])
    found = series.on_grid(speeds, np.array([1.0]))
    assert found.flown == 2
    assert found.status[0].tolist() == [Status.FLOOR] * 2 + [Status.CROSSED] * 2


def test_an_opening_out_of_reach_has_no_panel():
    high = dataclasses.replace(RING, centre=(4.0, 0.0, 30.0))
    series = shot_surrogate(line(high), SPEEDS, SPAN)
    found = series.on_grid(np.array([6.0, 11.0]), np.array([0.6, 1.2]))
    assert series.panels == ()
    assert (found.status == Status.FLOOR).all()


def test_compiled_rows_are_the_plain_ones():
    rng = np.random.default_rng(0)
    rows, speeds = rng.normal(size=(5, QUANTITIES, 16)), np.linspace(5.0, 12.0, 90)
    slowest = np.linspace(6.0, 9.0, 5)
    both = []
    for run in (fill_rows, compiled_rows()):
        status, values = np.zeros((5, 90), np.uint8), np.zeros((QUANTITIES, 5, 90))
        run(rows, speeds, slowest, 13.0, True, 0.0, 0.5, status, values)
        run(rows, speeds, slowest, 13.0, True, 0.5, 1.0, status, values)
        both.append((status, values))
    np.testing.assert_array_equal(both[0][0], both[1][0])
    np.testing.assert_allclose(both[0][1], both[1][1], rtol=0, atol=1e-12)
    assert TO_FLY not in both[0][0] or (np.abs(speeds[:, None] - slowest) < 2e-4).any()


@pytest.mark.parametrize(
    ("speeds", "span", "tolerance", "field"),
    [
        ((0.0, 5.0), SPAN, 1e-6, "speed_range"),
        ((5.0, 99.0), SPAN, 1e-6, "speed_range"),
        (SPEEDS, (0.5, 0.2), 1e-6, "elevation_range"),
        (SPEEDS, SPAN, 0.0, "tolerance"),
    ],
)
def test_bad_ranges_name_their_field(speeds, span, tolerance, field):
    with pytest.raises(BadInput) as caught:
        shot_surrogate(line(), speeds, span, tolerance=tolerance)
    assert caught.value.field == field


def test_a_grid_outside_the_fit_is_refused():
    series = shot_surrogate(line(), SPEEDS, SPAN)
    with pytest.raises(BadInput, match="speeds of a grid"):
        series.on_grid(np.array([4.0, 6.0]), np.array([0.6]))
    with pytest.raises(BadInput, match="elevations of a grid"):
        series.on_grid(np.array([6.0]), np.array([0.8, 0.6]))
