"""What bounces add: one set of flights weighed for many scatters, against flying each scatter by itself."""

from __future__ import annotations

import math

import numpy as np

from shotwright.flight.bounce_chance import BounceField, bounce_gain, bounced_hits
from shotwright.flight.chance import COLUMNS, Aim, Scatter, Surroundings, hits_of, scattered_launches
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, Board, CoefficientLaw, Rim, Surface, Target, Weather

BALL = Ball("ball", 0.24, 0.6, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"), inertia_factor=0.62)
MODEL = flight_model(BALL, Weather())
SURFACE = Surface(0.6, 0.1, 0.5)
RING = Target(
    "ring",
    (4.191, 0.0, 3.048),
    0.0,
    math.pi / 2,
    radius=0.2286,
    rim=Rim(0.009, SURFACE),
    board=Board((4.572, 0.0, 3.4), math.pi, 0.0, 1.8, 1.05, 0.0, SURFACE),
)
AIM = Aim(np.array([0.0, 0.0, 2.1336]), 7.44, math.radians(52), 0.0, 0.3)
AROUND = Surroundings(0.02, math.radians(0.5), 0.01, 0.001, 0.02)
FIELD = BounceField(4, (), SURFACE)


def draws(m: int) -> Scatter:
    """As a posterior after a few shots would have them."""
    rng = np.random.default_rng(5)
    return Scatter(
        speed=0.012 * rng.chisquare(6, m) ** -0.5 * 6**0.5,
        elevation=math.radians(1.2) * rng.chisquare(6, m) ** -0.5 * 6**0.5,
        azimuth=math.radians(0.8) * rng.chisquare(6, m) ** -0.5 * 6**0.5,
        speed_offset=rng.normal(0, 0.005, m),
        elevation_offset=rng.normal(0, 0.006, m),
        azimuth_offset=rng.normal(0, 0.004, m),
    )


def test_weighed_flights_are_flown_ones():
    scatter = draws(400)
    gain = bounce_gain(MODEL, BALL, RING, AIM, scatter, AROUND, FIELD, np.random.default_rng(1))
    assert 0.1 < gain.mean() < 0.7
    normals = np.random.default_rng(2).standard_normal((6000, COLUMNS))
    off = []
    for j in range(0, 400, 40):
        launches = scattered_launches(MODEL, AIM, scatter.at(j), AROUND, normals, ball=BALL)
        direct = hits_of(MODEL, RING, launches).mean()
        off.append(gain[j] - (bounced_hits(MODEL, RING, launches, FIELD).mean() - direct))
    # standard errors: 0.0065 of the flown share, below 0.01 of the weighed one
    assert np.abs(off).max() < 0.045
    assert abs(np.mean(off)) < 0.012


def test_without_bounces_and_with_a_thin_edge_nothing_is_gained():
    thin = Target("ring", RING.centre, 0.0, math.pi / 2, radius=0.2286)
    gain = bounce_gain(
        MODEL, BALL, thin, AIM, draws(50), AROUND, BounceField(0), np.random.default_rng(1), balls=2000
    )
    assert gain.tolist() == [0.0] * 50


def test_the_same_seed_gives_the_same_digits():
    one, two = (
        bounce_gain(MODEL, BALL, RING, AIM, draws(30), AROUND, FIELD, np.random.default_rng(3), balls=2000)
        for _ in range(2)
    )
    assert one.tolist() == two.tolist()
