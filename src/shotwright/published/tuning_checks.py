"""The shot chain on a line of fire: hit probability of a free throw, curve through points, cover."""

from __future__ import annotations

import functools
import math

import numpy as np

from shotwright.flight.chance import Scatter
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Game, Target, Weather
from shotwright.published.table import Check
from shotwright.trials.records import Prototype
from shotwright.tuning.line import FiringLine, firing_line
from shotwright.tuning.monotone import monotone_fit
from shotwright.tuning.notches import fewest_notches

_LENGTH = 4.191  # m, from the line to the middle of the ring
_BALL = Ball("basketball", 0.240, 0.600, CoefficientLaw("constant", 0.50), CoefficientLaw("cross"))
_RING = Target("ring", (_LENGTH, 0.0, 3.048), 0.0, math.pi / 2, radius=0.2286)
_SPOT = FiringPosition("free-throw line", 0.0, 0.0, 0.0, 0.0)
_SOURCE = (
    "computed by Gauss-Legendre rule over the angle with exact speed windows, independent normal errors, no "
    "air; a Monte Carlo of 40 000 throws agrees; geometry of the free throw of Tran and Silverberg, "
    "J. Sports Sci. 26, 1147 (2008)"
)
# elevation [deg], speed and its standard deviation [m/s], hit probability; the angle has 1 deg
_HITS = (
    (52.0, 7.1485, 0.03, 0.640606),
    (52.0, 7.1485, 0.06, 0.360704),
    (60.0, 7.3695, 0.03, 0.659816),
    (60.0, 7.3695, 0.06, 0.530525),
)


@functools.cache
def _line() -> FiringLine:
    """The line through the free-throw spot: 2.1336 m (7 ft) of release height, no air."""
    model = flight_model(_BALL, Weather(), density=0.0)
    game = Game("free throw", 9.0, 9.0, _BALL, (_RING,), (_SPOT,))
    low, high = math.radians(48.0), math.radians(64.0)
    player = Prototype("player", release_height=2.1336, elevation_low=low, elevation_high=high)
    return firing_line(model, game, player, _SPOT, _RING, np.array([_LENGTH]), _scatter(7.15, 0.03))


def _scatter(speed: float, speed_sd: float) -> Scatter:
    one = np.ones(1)
    # the computed case is plane; 4 mm to the sides at the ring move the chance by less than 1e-3
    return Scatter(speed_sd / speed * one, math.radians(1.0) * one, 1e-3 * one)


def _hit(elevation: float, speed: float, speed_sd: float) -> float:
    line, scatter, angle = _line(), _scatter(speed, speed_sd), math.radians(elevation)
    gap, lost = line.fly(line.places[0], speed, angle, scatter)
    flown = line.with_flown(np.array([_LENGTH]), np.array([gap]), np.array([lost]))
    return float(flown.chances(line.places[0], np.array([speed]), angle, scatter)[0, 0])


def _straight(at: float) -> float:
    x = np.linspace(1.0, 5.0, 9)
    return float(monotone_fit(x, 3.0 + 0.7 * x)(np.array([at]))[0])


def _even_cover() -> float:
    """Number of stretches 0.5 m long that begin every 0.1 m and cover 0 to 4.2 m."""
    spans: list[tuple[float, float] | None] = [(0.1 * k, 0.1 * k + 0.5) for k in range(40)]
    return float(len(fewest_notches(spans, 0.0, 4.2).chosen))


CHECKS: tuple[Check, ...] = (
    *(
        Check(
            f"free throw at {elevation:g} deg (sd 1 deg), {speed:g} m/s (sd {sd:g} m/s): hit probability",
            _SOURCE,
            "computed",
            chance,
            0.003,  # 0.002 that the integral may be off by after its check, and the printed spread of azimuth
            functools.partial(_hit, elevation, speed, sd),
        )
        for elevation, speed, sd, chance in _HITS
    ),
    Check(
        "monotone curve through points of a straight line, between two of them",
        "closed form: 3 + 0.7 x at x = 2.75",
        "identity",
        3.0 + 0.7 * 2.75,
        1e-9,
        lambda: _straight(2.75),
    ),
    Check(
        "fewest stretches of 0.5 m, begun at whole 0.1 m, that cover 4.2 m",
        "closed form: 4.2 / 0.5, rounded up",
        "identity",
        9.0,
        1e-9,
        _even_cover,
    ),
)
