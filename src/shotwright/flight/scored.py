"""Which of many launches score, among solids: all fly freely, and doubtful hits again with the solids."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.crossing import COARSE, Crossings, fly_to_plane
from shotwright.flight.launches import LaunchArrays
from shotwright.flight.model import FlightModel
from shotwright.flight.opening import passes
from shotwright.flight.well_clear import well_clear
from shotwright.game.records import Obstacle, Target

BoolArray = NDArray[np.bool_]


def scored(
    model: FlightModel,
    target: Target,
    launches: LaunchArrays,
    *,
    obstacles: Sequence[Obstacle] = (),
) -> BoolArray:
    """Tell which launches score.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    launches : LaunchArrays
        n balls, fired about one way.
    obstacles : sequence of Obstacle
        What may be in the way.

    Returns
    -------
    ndarray of bool, shape (n,)
        Which balls score.

    Notes
    -----
    All fly as if there were no obstacles, many at once. Those that would score, and are not told to be well
    clear of every obstacle, then fly again with them. That gives the same answer, since an obstacle only
    takes hits away. Crossings are good to 1e-6 m.
    """
    free = _cross(model, target, launches, ())
    found = np.zeros(launches.flights(), dtype=bool)
    rows = _near(target, free)
    some = launches.some(rows)
    found[rows] = passes(target, free.some(rows), some.diameter / 2)
    hits = np.flatnonzero(found)
    if not obstacles or not len(hits):
        return found
    some = launches.some(hits)
    flat = np.atleast_2d(some.velocity)[:, :2].mean(axis=0)
    heading = math.atan2(flat[1], flat[0])
    again = hits[~well_clear(model, some, free.some(hits), heading, obstacles)]
    if len(again):
        some = launches.some(again)
        found[again] = passes(target, _cross(model, target, some, obstacles), some.diameter / 2)
    return found


def _near(target: Target, crossings: Crossings) -> NDArray[np.intp]:
    """Flights that cross within the circle about the opening: no other can pass it."""
    off = crossings.position - np.asarray(target.centre)
    outline = target.radius or float(np.linalg.norm(target.corners, axis=1).max())
    with np.errstate(invalid="ignore"):
        within = np.einsum("ij,ij->i", off, off) <= outline**2
    return np.flatnonzero(crossings.crossed & within)


def _cross(
    model: FlightModel, target: Target, launches: LaunchArrays, obstacles: Sequence[Obstacle]
) -> Crossings:
    return fly_to_plane(
        model,
        launches.place,
        launches.velocity,
        launches.spin,
        np.asarray(target.centre, dtype=float),
        target.axes()[2],
        obstacles=obstacles,
        mass=launches.mass,
        diameter=launches.diameter,
        accuracy=COARSE,
    )
