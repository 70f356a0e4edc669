"""A ball in its weather, and launch values as vectors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.flight.air import moist_air_density, viscosity_of_air
from shotwright.flight.model import extrapolations, flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Weather

FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("haider-levenspiel"), CoefficientLaw("cross"))


def test_air_is_that_of_the_weather():
    weather = Weather(temperature=300.0, pressure=95000.0, humidity=0.4)
    model = flight_model(FOAM, weather)
    assert model.density == moist_air_density(300.0, 95000.0, 0.4)
    assert model.viscosity == viscosity_of_air(300.0)
    assert model.radius == 0.089


def test_backspin_has_its_axis_to_the_right_of_the_flight():
    # h x z for the horizontal direction h
    azimuth = np.array([0.0, 1.0, 2.5])
    velocity, spin = launch_vectors(8.0, 0.6, azimuth, 20.0)
    flat = velocity * [1, 1, 0] / np.linalg.norm(velocity[:, :2], axis=1)[:, None]
    np.testing.assert_allclose(spin, 20.0 * np.cross(flat, (0, 0, 1)), atol=1e-14)
    np.testing.assert_allclose(np.linalg.norm(velocity, axis=1), 8.0)
    np.testing.assert_allclose(np.arcsin(velocity[:, 2] / 8.0), 0.6)


def test_laws_stretched_beyond_their_range_are_told():
    model = flight_model(FOAM, Weather())
    assert extrapolations(model, [6.0, 10.0], 30.0) == ()
    drag, lift = extrapolations(model, [4.0, 25.0], 60.0)
    assert "drag law 'haider-levenspiel' is stated for a Reynolds number of 0 to 2.6e+05" in drag
    assert (
        "lift law 'cross' is stated for a spin parameter of 0 to 0.6; this flight has 0.214 to 1.33" in lift
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"mass": 0.0}, "ball.mass: 0 kg is not a mass"),
        ({"mass": float("nan")}, "ball.mass"),
        ({"diameter": -0.1}, "ball.diameter: -0.1 m is not a diameter"),
        ({"inertia_factor": 0.0}, "ball.inertia_factor"),
        ({"spin_decay": -1.0}, "ball.inertia_factor"),
    ],
)
def test_bad_ball_is_named(change, words):
    with pytest.raises(BadInput) as raised:
        flight_model(replace(FOAM, **change), Weather())
    assert words in str(raised.value)


def test_bad_wind_is_named():
    with pytest.raises(BadInput, match=r"weather\.wind"):
        flight_model(FOAM, Weather(wind=(0.0, float("inf"), 0.0)))
