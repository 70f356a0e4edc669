"""The grid of settings: cut without gaps, counted right, as likely as the integral says."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.choice.setting_grid import FLIGHTS, GridLauncher, GridTask
from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import Scatter, linear_shots, surroundings
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Target, Weather
from shotwright.trials.records import Prototype

FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"), mass_sd=0.002)
MODEL = flight_model(FOAM, Weather(wind=(0.3, 0.5, 0.0)))
RING = Target("ring", (4.0, 0.5, 2.0), math.pi, math.pi / 2, radius=0.4)
SPOT = FiringPosition("spot", 0.0, 0.0, 0.02, 0.01)
THROWER = Prototype("thrower", release_height=0.6, elevation_low=0.8, elevation_high=1.1, spin_parameter=0.2)


def launcher(speeds: tuple[float, ...], elevations: tuple[float, ...], draws: int = 50) -> GridLauncher:
    rng = np.random.default_rng(3)
    scatter = Scatter(
        rng.uniform(0.01, 0.03, draws), rng.uniform(0.005, 0.02, draws), rng.uniform(0.005, 0.02, draws),
        rng.normal(0, 0.003, draws), rng.normal(0, 0.002, draws), rng.normal(0, 0.002, draws),
    )  # fmt: skip
    return GridLauncher(THROWER, scatter, speeds, elevations)


@given(st.integers(1, 60), st.integers(1, 20), st.integers(1, 300_000), st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_the_pieces_cover_every_setting_with_every_ball_once(
    speeds: int, elevations: int, balls: int, pairs: int
) -> None:
    grid = launcher(tuple(range(1, speeds + 1)), tuple(0.1 * k for k in range(elevations)))
    task = GridTask(MODEL, (grid, grid), ((SPOT, RING),) * pairs, ())
    flown = np.zeros((2, pairs, elevations), dtype=int)
    for piece in task.pieces(balls):
        flown[piece.launcher, piece.pair, piece.first : piece.last] += piece.balls
        assert (piece.last - piece.first) * speeds * piece.balls <= max(FLIGHTS, speeds)
    assert (flown == balls).all()


def test_the_share_of_hits_is_that_of_the_exact_integral() -> None:
    """Another way: the linearised flight and the integral of a normal over the scoring region."""
    (aim,) = aims_through(MODEL, RING, np.array([0.0, 0.0, 0.6]), np.array([1.0]), 0.2)
    assert aim is not None
    grid = launcher((aim.speed,), (1.0,))
    task = GridTask(MODEL, (grid,), ((SPOT, RING),), ())
    (piece,) = task.pieces(40_000)
    share = task.count(piece, np.random.default_rng(8))[0, 0] / 40_000
    (shot,) = linear_shots(MODEL, RING, [aim])
    assert shot is not None
    expected = float(np.mean(shot.chance(grid.scatter, surroundings(SPOT, FOAM))))
    assert 0.3 < expected < 0.99
    assert share == pytest.approx(expected, abs=0.008)  # three standard errors


def test_out_of_reach_counts_nothing() -> None:
    task = GridTask(MODEL, (launcher((2.0, 3.0), (0.9,)),), ((SPOT, RING),), ())
    (piece,) = task.pieces(100)
    assert task.count(piece, np.random.default_rng(1)).tolist() == [[0, 0]]
