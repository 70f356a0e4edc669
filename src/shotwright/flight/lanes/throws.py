"""Hits of many balls thrown at one opening, drawn, flown and counted in chunks; nothing is kept of them."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes import draws, elementary, layout, tally
from shotwright.flight.lanes.build import compile_linked, compiled_lanes
from shotwright.flight.lanes.fly import cores, settings, workspace
from shotwright.flight.lanes.kinds import LaneLaws
from shotwright.flight.lanes.smoothness import widths
from shotwright.flight.launches import LaunchArrays
from shotwright.flight.model import FlightModel
from shotwright.flight.step_curve import Plane

FloatArray = NDArray[np.float64]

# which balls, all numbered, score: taken for those that need care
Judge = Callable[[LaunchArrays], int]

_INLINED = (draws.mixed, draws.uniform, elementary.logarithm, elementary.sine_cosine)
_TOGETHER = 16  # chunks that a thread takes at once


class Opening(NamedTuple):
    """An opening as the counting loop takes it.

    Parameters
    ----------
    frame : ndarray, shape (4, 3)
        Directions u, w, n, and its centre. [-], [m]
    width : float
        Greatest width. [m]
    sides : ndarray, shape (k, 4)
        As `edge_distance.Side`. [m]
    ring : bool
        Whether its edge is a ring.
    """

    frame: FloatArray
    width: float
    sides: FloatArray
    ring: bool


def count_in_lanes(
    model: FlightModel,
    laws: LaneLaws,
    opening: Opening,
    aim: FloatArray,
    count: int,
    seed: int,
    judge: Judge,
    accuracy: float,
) -> int:
    """Draw, fly and count balls.

    Parameters
    ----------
    model, laws : FlightModel, LaneLaws
        Ball and air.
    opening : Opening
        What to pass.
    aim : ndarray, shape (18,)
        Means and standard deviations, in the order of `draws.SPEED` and so on. [SI, rad]
    count : int
        Balls.
    seed : int
        Of the draws, 0 to 2^63 - 1.
    judge : callable
        Counts the hits among launches that need care.
    accuracy : float
        Of the place, one of `kinds.STEPS`. [m]

    Returns
    -------
    int
        Hits.
    """
    normal, centre = opening.frame[2], opening.frame[3]
    plane = Plane(float(normal[0]), float(normal[1]), float(normal[2]), float(normal @ centre))
    par = settings(model, laws, plane, None, 10.0, accuracy)
    table = np.full(layout.WIDTHS, math.inf) if laws.law is None else widths(laws.law)
    fly = compiled_lanes(laws.drag, decay=laws.drag != "steady" or model.ball.spin_decay > 0)
    draw, add_up = _compiled(draws.draw_launches), _compiled(tally.tally)
    stream = draws.stream(seed)
    own_ball = int(aim[draws.MASS_SD] > 0 or aim[draws.SIZE_SD] > 0)
    steps = np.array([1, 1, 1, own_ball, own_ball, draws.GAP])
    edge = opening.frame.ravel(), opening.width, opening.sides.ravel(), opening.ring

    def part(first: int) -> tuple[int, list[LaunchArrays]]:
        most, hits = draws.MOST, 0
        ws, own = workspace(), np.zeros(tally.TALLY)
        chunk, status, values = (
            np.zeros(draws.CHUNK),
            np.empty(most, np.uint8),
            np.empty(most * layout.VALUES),
        )
        unsure, ended = np.empty(2 * most + 2, np.int64), np.empty(layout.LANES, np.int64)
        arrays = [chunk[a:] for a in (draws.PLACE, draws.VELOCITY, draws.SPIN, draws.MASS, draws.SIZE)]
        left: list[LaunchArrays] = []
        for begin in range(first, min(first + _TOGETHER * most, count), most):
            n = min(most, count - begin)
            draw(chunk, begin, n, stream, aim)
            fly(0, n, *arrays, steps, par, table, ws, ended, status, values)
            sure, doubts = add_up(own, n, status, values, arrays[4], *edge, ended, unsure)
            hits += sure
            if doubts:
                left.append(_launches(chunk, unsure[:doubts]))
        return hits, left

    starts = range(0, count, _TOGETHER * draws.MOST)
    workers = min(cores(), len(starts))
    if workers < 2:
        found = [part(first) for first in starts]
    else:
        with ThreadPoolExecutor(workers) as pool:
            found = list(pool.map(part, starts))
    left = [one for _, some in found for one in some]
    delicate = judge(LaunchArrays(*map(np.concatenate, zip(*left, strict=True)))) if left else 0
    return sum(hits for hits, _ in found) + delicate


def drawn_launches(aim: FloatArray, first: int, count: int, seed: int) -> LaunchArrays:
    """Draw the launches that :func:`count_in_lanes` flies.

    Parameters
    ----------
    aim : ndarray, shape (18,)
        As there. [SI, rad]
    first, count : int
        Number of the first ball, and of balls, at most `draws.MOST`.
    seed : int
        Of the draws.

    Returns
    -------
    LaunchArrays
        One row for each ball.
    """
    chunk = np.zeros(draws.CHUNK)
    _compiled(draws.draw_launches)(chunk, first, count, draws.stream(seed), aim)
    return _launches(chunk, np.arange(count))


def _launches(chunk: FloatArray, chosen: NDArray[np.int64]) -> LaunchArrays:
    """Copy the chosen launches out of a chunk."""
    rows = chunk.reshape(-1, draws.GAP)[:11, chosen]
    return LaunchArrays(rows[0:3].T, rows[3:6].T, rows[6:9].T, rows[9], rows[10])


@functools.cache
def _compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    return compile_linked(function, _INLINED)
