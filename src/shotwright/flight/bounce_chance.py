r"""What bounces add to the chance that a ball scores, for many scatters at once.

The balls are flown once, from a mixture of some of the scatters made a little wider. Each scatter then weighs
the same balls by its own density over that of the mixture, so two thousand posterior draws cost one set of
flights:

.. math:: \text{gain}_j = \frac{1}{n} \sum_i \frac{p_j(x_i)}{p_{mix}(x_i)} \, (b_i - d_i)

with b_i = 1 when ball i scores with its bounces, d_i = 1 when it scores by passing the opening clear of its
edge, x its speed, elevation and azimuth. The other scatter (place, spin, ball) is the same for all draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.chance import (
    AZIMUTH,
    COLUMNS,
    ELEVATION,
    SPEED,
    Aim,
    Launches,
    Scatter,
    Surroundings,
    hits_of,
    scattered_launches,
)
from shotwright.flight.model import FlightModel
from shotwright.flight.rebound import follow_bounces
from shotwright.game.records import Ball, Obstacle, Surface, Target

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

BALLS = 20_000
_COMPONENTS = 40
_WIDER = 1.25  # so that no draw's tail is left to a few heavy balls
_AT_ONCE = 100  # draws weighed in one call


@dataclass(frozen=True, slots=True)
class BounceField:
    """What may be bounced off on the way to a target, and how often.

    Parameters
    ----------
    bounces : int
        Most bounces of a ball that still scores.
    obstacles : tuple of Obstacle
        Those without a surface stop a ball.
    floor : Surface, optional
        None: the floor stops a ball.
    """

    bounces: int
    obstacles: tuple[Obstacle, ...] = ()
    floor: Surface | None = None


def bounced_hits(model: FlightModel, target: Target, launches: Launches, around: BounceField) -> BoolArray:
    """Follow launches through their bounces and say which score.

    Parameters
    ----------
    model : FlightModel
        Air, drag and lift.
    target : Target
        The opening with rim and board.
    launches : Launches
        n balls.
    around : BounceField
        What else may be bounced off.

    Returns
    -------
    ndarray of bool, shape (n,)
        Which balls score, directly or with the bounces allowed.
    """
    return follow_bounces(
        model,
        target,
        launches.point,
        launches.velocity,
        launches.spin,
        bounces=around.bounces,
        obstacles=around.obstacles,
        floor=around.floor,
        mass=launches.mass,
        diameter=launches.diameter,
    ).scored()


def bounce_gain(
    model: FlightModel,
    ball: Ball,
    target: Target,
    aim: Aim,
    scatter: Scatter,
    around: Surroundings,
    field: BounceField,
    rng: np.random.Generator,
    *,
    balls: int = BALLS,
) -> FloatArray:
    """Chance to score with bounces less the chance to score directly, of each draw.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        Mean diameter and mass.
    target : Target
        The opening with rim and board.
    aim : Aim
        The aim.
    scatter : Scatter
        Arrays of m draws.
    around : Surroundings
        Placement and balls.
    field : BounceField
        What may be bounced off, and how often.
    rng : numpy.random.Generator
        Source of the balls.
    balls : int
        Balls flown.

    Returns
    -------
    ndarray, shape (m,)
        Negative only where the bar around the opening turns away balls that a line would let pass. [-]

    Notes
    -----
    With 20,000 balls the standard error of one draw's gain is below 0.01, and mostly shared by all draws.
    """
    mean, sd = _normal(scatter, around)
    parts = rng.permutation(len(mean))[:_COMPONENTS]
    owner = np.arange(balls) % len(parts)
    wide = _WIDER * sd[parts]
    normals = rng.standard_normal((balls, COLUMNS))
    x = mean[parts][owner] + wide[owner] * normals[:, (SPEED, ELEVATION, AZIMUTH)]
    launches = _launches(model, ball, aim, around, normals, x)
    direct = hits_of(model, target, launches, obstacles=field.obstacles)
    differ = bounced_hits(model, target, launches, field).astype(float) - direct
    matter = np.flatnonzero(differ)
    if len(matter) == 0:
        return np.zeros(len(mean))
    x, differ = x[matter], differ[matter]
    mixture = np.mean(_densities(x, mean[parts], wide), axis=0)
    gain = np.empty(len(mean))
    for first in range(0, len(mean), _AT_ONCE):
        some = slice(first, first + _AT_ONCE)
        gain[some] = _densities(x, mean[some], sd[some]) @ (differ / mixture) / balls
    return gain


def _normal(scatter: Scatter, around: Surroundings) -> tuple[FloatArray, FloatArray]:
    """Means and standard deviations (m, 3) of speed (as a fraction), elevation and azimuth, from the aim."""
    azimuth = np.hypot(scatter.azimuth, around.heading_sd)
    columns: Sequence[FloatArray | float] = (
        scatter.speed_offset,
        scatter.elevation_offset,
        scatter.azimuth_offset,
        scatter.speed,
        scatter.elevation,
        azimuth,
    )
    rows = np.stack(np.broadcast_arrays(*(np.atleast_1d(one) for one in columns)), axis=1)
    return rows[:, :3], np.maximum(rows[:, 3:], 1e-9)


def _launches(
    model: FlightModel, ball: Ball, aim: Aim, around: Surroundings, normals: FloatArray, x: FloatArray
) -> Launches:
    """Launches at given speeds, elevations and azimuths; the rest scattered by the normals."""
    drawn = normals.copy()
    drawn[:, (SPEED, ELEVATION, AZIMUTH)] = x
    return scattered_launches(
        model,
        aim,
        Scatter(speed=1.0, elevation=1.0, azimuth=1.0),
        Surroundings(
            place_sd=around.place_sd,
            mass_sd=around.mass_sd,
            diameter_sd=around.diameter_sd,
            spin_parameter_sd=around.spin_parameter_sd,
        ),
        drawn,
        ball=ball,
    )


def _densities(x: FloatArray, mean: FloatArray, sd: FloatArray) -> FloatArray:
    """Normal densities (k, n) of places (n, 3), but for a constant factor."""
    part = sd**-2
    constant = np.log(np.prod(sd, axis=1)) + 0.5 * np.sum(part * mean**2, axis=1)
    # written out, the exponent is a product of matrices, which costs less than its exponential
    exponent = (part * mean) @ x.T - 0.5 * part @ (x**2).T
    return np.asarray(np.exp(exponent - constant[:, None]))
