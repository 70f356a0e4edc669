"""Which of many flights pass every solid well clear, told by two crossings beside each instead of a search.

A flight that is told to be clear need not be flown again with the solids; the others must.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.crossing import COARSE, Crossings, fly_to_plane
from shotwright.flight.launches import LaunchArrays
from shotwright.flight.model import FlightModel
from shotwright.game.records import Obstacle, Post

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_ROOM = 1e-4  # m, far above the accuracy of a crossing
_ONWARD = 0.3  # m/s along the heading, below which a ball might turn back
_BENDS = 1.5  # of the larger side acceleration at the two ends


def well_clear(
    model: FlightModel,
    launches: LaunchArrays,
    crossings: Crossings,
    heading: float,
    obstacles: Sequence[Obstacle],
) -> BoolArray:
    """Tell flights that surely meet no solid between release and crossing.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    launches : LaunchArrays
        n flights, about along `heading`.
    crossings : Crossings
        Where they ended without the solids.
    heading : float
        Azimuth of the aim. [rad]
    obstacles : sequence of Obstacle
        The solids.

    Returns
    -------
    ndarray of bool, shape (n,)
        True where a flight is surely clear; False says nothing.

    Notes
    -----
    Each solid's extent along the heading, a radius wider, is looked at. A flight that ends before it or
    starts behind it is clear. Else its places at both ends are flown to: it is clear when both lie over the
    solid, since between them its height is above the straight line (the acceleration points down at both),
    or when both lie to one side, by more than the path can bend meanwhile. A ball is taken not to turn back
    where it goes onward at both ends.
    """
    n = launches.flights()
    ahead = np.array([math.cos(heading), math.sin(heading), 0.0])
    left = np.array([-math.sin(heading), math.cos(heading), 0.0])
    radius = launches.diameter / 2
    start = np.broadcast_to(launches.place @ ahead, (n,))
    begins, ends = np.broadcast_to(launches.velocity @ ahead, (n,)), crossings.velocity @ ahead
    onward = (begins > _ONWARD) & (ends > _ONWARD)
    clear = np.ones(n, dtype=bool)
    for solid in obstacles:
        near, far = _extent(solid, ahead)
        widest = float(radius.max()) + _ROOM
        apart = (near - widest > crossings.position @ ahead) | (far + widest < start)
        left_over = np.flatnonzero(clear & onward & ~apart & (start < near - widest))
        passed = clear & onward & apart
        if len(left_over):
            some = launches.some(left_over)
            entry = _crossing(model, some, ahead, near - widest)
            leave = _crossing(model, some, ahead, far + widest)
            passed[left_over] = _passes(
                solid, _extent(solid, left), entry, leave, crossings.some(left_over), left, ahead, some
            )
        clear &= passed
    return clear


def _passes(
    solid: Obstacle,
    sides: tuple[float, float],
    entry: Crossings,
    leave: Crossings,
    end: Crossings,
    left: FloatArray,
    ahead: FloatArray,
    launches: LaunchArrays,
) -> BoolArray:
    """Whether flights pass over a solid or to one side of it, from their places at both its ends."""
    # a flight that ends within the extent is looked at where it ends
    early = ~leave.crossed | (end.time < leave.time)
    here, rate, when = (
        np.where(early if a.ndim == 1 else early[:, None], b, a)
        for a, b in (
            (leave.position, end.position),
            (leave.acceleration, end.acceleration),
            (leave.time, end.time),
        )
    )
    radius = launches.diameter / 2
    falls = (entry.acceleration[:, 2] < 0) & (rate[:, 2] < 0)
    over = falls & (np.minimum(entry.position[:, 2], here[:, 2]) - radius > solid.top + _ROOM)
    side_in, side_out = entry.position @ left, here @ left
    pull = np.maximum(np.abs(entry.acceleration @ left), np.abs(rate @ left))
    bend = _BENDS * pull * (when - entry.time) ** 2 / 8 + _ROOM + radius
    beside = (np.minimum(side_in, side_out) - bend > sides[1]) | (
        np.maximum(side_in, side_out) + bend < sides[0]
    )
    moving = entry.velocity @ ahead > _ONWARD
    return np.asarray(entry.crossed & moving & (when >= entry.time) & (over | beside))


def _crossing(model: FlightModel, launches: LaunchArrays, ahead: FloatArray, along: float) -> Crossings:
    return fly_to_plane(
        model,
        launches.place,
        launches.velocity,
        launches.spin,
        along * ahead,
        -ahead,
        mass=launches.mass,
        diameter=launches.diameter,
        accuracy=COARSE,
    )


def _extent(solid: Obstacle, axis: FloatArray) -> tuple[float, float]:
    """Least and largest reach of a solid along a level axis. [m]."""
    if isinstance(solid, Post):
        middle = solid.x * axis[0] + solid.y * axis[1]
        return float(middle - solid.radius), float(middle + solid.radius)
    reach = np.asarray(solid.footprint) @ axis[:2]
    return float(reach.min()), float(reach.max())
