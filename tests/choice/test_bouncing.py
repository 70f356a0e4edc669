"""Hit probability where bounces count: nothing changes without, the direct part is told, more bounces add."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from shotwright.base.estimate import Estimate
from shotwright.choice.hit import Launcher, as_scatter, hit_probability, launcher_from_trials
from shotwright.flight.aiming import aims_through
from shotwright.flight.bounce_chance import BounceField, bounced_hits
from shotwright.flight.chance import COLUMNS, scattered_launches, surroundings
from shotwright.flight.model import flight_model
from shotwright.game.records import (
    Ball,
    Board,
    CoefficientLaw,
    FiringPosition,
    Game,
    Rim,
    Surface,
    Target,
    Weather,
)
from shotwright.trials.records import Prototype, Trial
from shotwright.trials.synthetic.crew import Truth, simulate_trial

ANGLE = math.radians(55)
BALL = Ball("ball", 0.15, 0.16, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))
BARE = Target("lantern", (4.0, 0.0, 1.2), 0.0, math.pi / 2, radius=0.25, points=3.0)
WOOD = Surface(0.6, 0.1, 0.5)
BOARDED = replace(BARE, rim=Rim(0.0, WOOD), board=Board((4.3, 0, 1.6), math.pi, 0.0, 1.0, 0.8, 0.0, WOOD))
SPOT = FiringPosition("rail", 0.0, 0.0, place_sd=0.01, heading_sd=math.radians(0.3))
HOOD = Prototype("hood", release_height=0.5, elevation_low=ANGLE, elevation_high=ANGLE)
TRIAL = Trial("T1", "hood", elevation=ANGLE, origin="simulated")
MODEL = flight_model(BALL, Weather())


def game(target: Target, bounces: int) -> Game:
    return Game("yard", 9.0, 6.0, BALL, (target,), (SPOT,), bounces=bounces, floor=WOOD, origin="invented")


@pytest.fixture(scope="module")
def hood() -> Launcher:
    rng = np.random.default_rng(3)
    shots = simulate_trial(MODEL, HOOD, TRIAL, Truth("hood", 0.02, 0.7, 1.0), 7.0, 7, rng)
    yard = game(BARE, 0)
    return launcher_from_trials(MODEL, yard, HOOD, [(TRIAL, shots)], np.random.default_rng(5), draws=300)


def answer(hood: Launcher, target: Target, bounces: int):
    return hit_probability(MODEL, game(target, bounces), hood, SPOT, target, 1)


def test_without_bounces_nothing_changes(hood: Launcher) -> None:
    bare, bare_draws = answer(hood, BARE, 0)
    boarded, draws = answer(hood, BOARDED, 0)
    assert boarded == bare
    assert boarded.direct is None
    assert draws is not None
    assert bare_draws is not None
    np.testing.assert_array_equal(draws.chance, bare_draws.chance)


def test_bounces_add_to_the_direct_hits(hood: Launcher) -> None:
    direct, _ = answer(hood, BOARDED, 0)
    one, _ = answer(hood, BOARDED, 1)
    three, draws = answer(hood, BOARDED, 3)
    assert one.direct == three.direct == direct.model
    assert isinstance(direct.model, Estimate)
    assert isinstance(one.model, Estimate)
    assert isinstance(three.model, Estimate)
    assert direct.model.value + 0.03 < one.model.value < three.model.value <= 1.0
    assert "Directly it scores" in " ".join(three.words)
    assert "up to 3 bounces" in " ".join(three.words)
    assert "one bounce" in " ".join(one.words)
    assert three.setting == direct.setting
    # against balls flown one draw at a time, at the same setting
    assert draws is not None
    assert three.setting is not None
    point = np.array([0.0, 0.0, 0.5])
    beyond = np.array([three.setting.aimed_beyond_m])
    aim = aims_through(MODEL, BOARDED, point, np.array([ANGLE]), 0.0, long_by=beyond)[0]
    assert aim is not None
    field = BounceField(3, (), WOOD)
    around = surroundings(SPOT, BALL)
    scatter = as_scatter(hood.spread)
    normals = np.random.default_rng(9).standard_normal((1000, COLUMNS))
    shares = [
        bounced_hits(
            MODEL, BOARDED, scattered_launches(MODEL, aim, scatter.at(j), around, normals, ball=BALL), field
        ).mean()
        for j in range(0, 300, 6)
    ]
    # 50 of 300 draws, 1000 balls each: the draws' own spread over the root of 50 dominates
    assert np.mean(shares) == pytest.approx(three.model.value, abs=3 * np.std(shares) / math.sqrt(50))
