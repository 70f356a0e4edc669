"""A firing position from which nothing scores says why."""

from __future__ import annotations

import dataclasses
import math

import pytest

from shotwright.flight.model import flight_model
from shotwright.flight.windows import ShotWindow, shot_window
from shotwright.game.records import (
    Ball,
    CoefficientLaw,
    Defender,
    FiringPosition,
    Game,
    Post,
    Prism,
    Target,
    Weather,
)

UP = math.pi / 2
STILL = Weather()
PLAIN = Ball("ball", 0.24, 0.6, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
SPOT = FiringPosition("spot", 0.0, 3.0, 0.01, 0.005)
RING = Target("ring", (4.191, 3.0, 3.048), 0.0, UP, radius=0.2286)
GATE = Target(
    "gate", (5.0, 3.0, 1.8), math.pi, 0.0, corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
)


def box(name: str, x: float, y: float, length: float, width: float, bottom: float, top: float) -> Prism:
    a, b = length / 2, width / 2
    return Prism(name, ((x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b)), bottom, top)


def game_of(**changes: object) -> Game:
    return dataclasses.replace(Game("yard", 9.0, 6.0, PLAIN, (RING, GATE), (SPOT,)), **changes)


def window(target: Target, game: Game | None = None, **options: object) -> ShotWindow:
    game = game or game_of()
    density = options.pop("density", None)
    position = options.pop("position", game.positions[0])
    model = flight_model(game.ball, game.weather, density=density, buoyancy=False)
    return shot_window(
        model,
        game,
        position,
        target,
        **{"release_height": 1.0, "elevation_steps": 11, "spin_parameter": 0.1} | options,
    )


@pytest.mark.parametrize(
    ("game", "target", "options", "words"),
    [
        (game_of(), RING, {"speed_range": (1.0, 5.0)}, "out of reach up to 5 m/s: the slowest shot"),
        (
            game_of(),
            RING,
            {"speed_range": (19.9, 20.0), "elevation_range": (math.radians(60), math.radians(70))},
            "19.9 m/s is too fast: the fastest shot",
        ),
        (
            game_of(),
            RING,
            {
                "elevation_range": (math.radians(40), math.radians(46)),
                "density": 0.0,
                "release_height": 2.1336,
            },
            "the ball does not fit: it passes the ring at 31.7° below the horizontal or more",
        ),
        (
            game_of(
                obstacles=(
                    box("garden wall", 3.6, 3.0, 0.2, 6.0, 0.0, 9.0),
                    Post("post", 2.0, 5.0, 0.1, 0.0, 1.0),
                )
            ),
            RING,
            {},
            "blocked: every path that reaches the ring hits the garden wall",
        ),
        (
            game_of(
                obstacles=(
                    box("low wall", 2.5, 3.0, 0.2, 6.0, 0.0, 4.0),
                    box("roof", 2.5, 3.0, 0.2, 6.0, 4.1, 90.0),
                )
            ),
            RING,
            {},
            "hits one of the low wall, the roof",
        ),
        (
            game_of(defenders=(Defender("warden", box("warden", 2.0, 3.0, 1.0, 6.0, 0.0, 30.0)),)),
            RING,
            {"defended": True},
            "hits the defender warden",
        ),
        (
            game_of(obstacles=(box("crate", 0.1, 3.0, 0.5, 0.5, 0.0, 1.5),)),
            RING,
            {},
            "release point lies inside the crate",
        ),
        (game_of(), dataclasses.replace(GATE, azimuth=0.0), {}, "the position lies behind the gate"),
        (
            game_of(),
            dataclasses.replace(RING, centre=(200.0, 3.0, 3.0)),
            {},
            "out of reach: at elevations of 5° to 85° no path up to 60 m/s",
        ),
    ],
    ids=["slow", "fast", "fit", "wall", "two", "defender", "inside", "behind", "never"],
)
def test_blocked_says_why(game: Game, target: Target, options: dict[str, object], words: str) -> None:
    found = window(target, game, **options)
    assert found.blocked
    assert words in found.reason
    assert found.words == (found.reason,)
    assert found.minimum_speed is None
    assert found.most_forgiving is None
    assert not any(found.intervals_m_s)
