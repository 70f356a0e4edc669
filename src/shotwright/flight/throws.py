"""How many of many balls score, drawn and flown on the spot: seeded, and nothing kept of them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.chance import Aim, Launches, Scatter, Surroundings, hits_of
from shotwright.flight.crossing import COARSE
from shotwright.flight.lanes.kinds import lane_laws
from shotwright.flight.launches import LaunchArrays
from shotwright.flight.model import FlightModel
from shotwright.flight.opening import edge_sides, greatest_width
from shotwright.game.records import Ball, Obstacle, Target

FloatArray = NDArray[np.float64]

_SLOWEST = 0.01  # of the aimed speed, as in `chance.scattered_launches`


def counted_hits(
    model: FlightModel,
    target: Target,
    aim: Aim,
    scatter: Scatter,
    around: Surroundings,
    count: int,
    seed: int,
    *,
    ball: Ball,
    obstacles: tuple[Obstacle, ...] = (),
) -> int:
    """Throw balls at an opening and count those that score.

    Ball k of a seed is the same ball however many are thrown, and on however many cores. The balls are
    scattered as by :func:`shotwright.flight.chance.scattered_launches`; nothing is kept of them.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    aim : Aim
        The aim.
    scatter : Scatter
        Of scalars.
    around : Surroundings
        Placement, balls.
    count : int
        Balls.
    seed : int
        0 to 2^63 - 1.
    ball : Ball
        Mean diameter and mass.
    obstacles : tuple of Obstacle
        What may be in the way; each ball is then flown by itself.

    Returns
    -------
    int
        Hits.

    Raises
    ------
    BadInput
        A count or a seed below zero.
    """
    if count < 0 or not 0 <= seed < 2**63:
        raise BadInput(f"{count} balls of seed {seed}: both must be 0 or more", field="balls")
    from shotwright.flight.lanes.draws import MOST  # loads the compiler
    from shotwright.flight.lanes.throws import Opening, count_in_lanes, drawn_launches

    row = _aim_row(model, aim, scatter, around, ball)

    def judge(one: LaunchArrays) -> int:
        launches = Launches(one.place, one.velocity, one.spin, one.mass, one.diameter)
        return int(hits_of(model, target, launches, obstacles=obstacles).sum())

    laws = lane_laws(model.drag, model.lift)
    if laws is None or obstacles:
        starts = range(0, count, MOST)
        return sum(judge(drawn_launches(row, k, min(MOST, count - k), seed)) for k in starts)
    frame = np.array([*target.axes(), target.centre])
    opening = Opening(frame, greatest_width(target), edge_sides(target), target.radius is not None)
    return count_in_lanes(model, laws, opening, row, count, seed, judge, COARSE)


def _aim_row(model: FlightModel, aim: Aim, scatter: Scatter, around: Surroundings, ball: Ball) -> FloatArray:
    """Means and standard deviations in the order of `lanes.draws.SPEED` and so on."""
    return np.array(
        [
            aim.speed * (1 + float(scatter.speed_offset)),
            aim.speed * float(scatter.speed),
            aim.elevation + float(scatter.elevation_offset),
            float(scatter.elevation),
            aim.azimuth + float(scatter.azimuth_offset),
            math.hypot(float(scatter.azimuth), around.heading_sd),
            aim.spin_parameter,
            around.spin_parameter_sd,
            _SLOWEST * aim.speed,
            model.radius,
            *aim.point.tolist(),
            around.place_sd,
            ball.mass,
            around.mass_sd,
            ball.diameter,
            around.diameter_sd,
        ]
    )
