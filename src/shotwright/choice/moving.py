"""Hit probability of a setting on the move, over the draws of a launcher's spread."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from shotwright.base.estimate import Estimate
from shotwright.flight.chance import Scatter, Surroundings
from shotwright.flight.model import FlightModel
from shotwright.flight.moving import MovingAim
from shotwright.flight.moving_chance import MotionErrors, MovingShot, moving_hits, moving_shot
from shotwright.game.records import Obstacle, Target

FloatArray = NDArray[np.float64]

LINEAR_GOOD_TO = 0.002


@dataclass(frozen=True, slots=True)
class MovingChance:
    """Hit probability of one setting on the move.

    Parameters
    ----------
    shot : MovingShot
        The flight around the setting.
    chance : ndarray, shape (m,)
        Of each draw of the launcher's spread. [-]
    gap : float
        Flown less linearised share of hits, on the same balls; added to `chance` where it counts. [-]
    """

    shot: MovingShot
    chance: FloatArray
    gap: float

    @property
    def estimate(self) -> Estimate:
        """Mean over the draws with the central 95 % interval."""
        low, high = (float(q) for q in np.quantile(self.chance, (0.025, 0.975)))
        return Estimate(float(np.mean(self.chance)), low, high, method="posterior mean and central interval")


def moving_chance(
    model: FlightModel,
    target: Target,
    moving: MovingAim,
    scatter: Scatter,
    around: Surroundings,
    errors: MotionErrors,
    normals: FloatArray,
    *,
    obstacles: Sequence[Obstacle] = (),
) -> MovingChance:
    """Find the hit probability of a setting on the move for each draw of a launcher's spread.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    moving : MovingAim
        The setting and the motion.
    scatter : Scatter
        Of arrays, one value for each draw.
    around : Surroundings
        Placement and balls.
    errors : MotionErrors
        Of the motion.
    normals : ndarray, shape (n, 12)
        Standard normal draws of the balls that are flown as a check; the same for every setting and error
        makes differences smooth. [-]
    obstacles : sequence of Obstacle
        What may be in the way of the balls that are flown.

    Returns
    -------
    MovingChance
        By the linearised flight and the exact integral; where the flown balls differ by more than 0.002
        beyond their noise, shifted by that difference.

    Raises
    ------
    NoAnswer
        As `shotwright.flight.moving_chance.moving_shot`.
    """
    shot = moving_shot(model, target, moving)
    chance = shot.chance(scatter, around, errors)
    deviations, means = shot.deviations(scatter, around, errors), shot.means(scatter)
    draw = np.arange(len(normals)) % len(deviations)
    deviations, means = deviations[draw], means[draw % len(means)]
    flown = moving_hits(model, target, moving, deviations, means, normals, obstacles=obstacles)
    points = shot.crossing + (means + deviations * normals) @ shot.jacobian.T
    linear = shapely.contains_xy(shapely.Polygon(shot.region), points[:, 0], points[:, 1])
    difference = flown.astype(float) - linear.astype(float)
    gap = float(difference.mean())
    if abs(gap) - 2 * float(difference.std()) / math.sqrt(len(normals)) > LINEAR_GOOD_TO:
        chance = np.clip(chance + gap, 0.0, 1.0)
    return MovingChance(shot, chance, gap)
