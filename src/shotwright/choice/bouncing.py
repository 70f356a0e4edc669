"""Hit probability with the bounces that the game allows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.bounce_chance import BounceField, bounce_gain
from shotwright.flight.chance import Aim, Scatter, Surroundings
from shotwright.flight.model import FlightModel
from shotwright.game.records import Game, Obstacle, Target

FloatArray = NDArray[np.float64]


def with_bounces(
    model: FlightModel,
    game: Game,
    target: Target,
    aim: Aim,
    scatter: Scatter,
    around: Surroundings,
    obstacles: tuple[Obstacle, ...],
    direct: FloatArray,
    seed: int,
) -> FloatArray:
    """Add to the chance of a direct hit what bounces bring.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    game : Game
        Its ball, its floor and the bounces that it allows.
    target : Target
        The opening with rim and board.
    aim : Aim
        The aim.
    scatter : Scatter
        Arrays of m draws.
    around : Surroundings
        Placement and balls.
    obstacles : tuple of Obstacle
        What stands in the way; what has a surface may be bounced off.
    direct : ndarray, shape (m,)
        Chance of a direct hit. [-]
    seed : int
        Of the balls that are flown.

    Returns
    -------
    ndarray, shape (m,)
        `direct` itself where the game allows no bounce. [-]
    """
    if game.bounces == 0:
        return direct
    field = BounceField(game.bounces, obstacles, game.floor)
    rng = np.random.default_rng([seed, 3])
    gain = bounce_gain(model, game.ball, target, aim, scatter, around, field, rng)
    return np.clip(direct + gain, 0.0, 1.0)
