"""The slowest shots: through the middle of an opening, and of all that score."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.chance import Aim
from shotwright.flight.line_of_fire import LineOfFire
from shotwright.flight.window_edges import Interval, refined_edges

FloatArray = NDArray[np.float64]

_NODES = 13
_ZOOMS = 3
_NEAR = 2e-3  # of the speed: how far the edge may be from a parabola through its neighbours
_ROUNDING = 1e-8


def minimum_speed_aim(line: LineOfFire, aims: Sequence[Aim | None], elevations: FloatArray) -> Aim | None:
    """Find the slowest shot through the middle of the opening, on the elevations and between them.

    Parameters
    ----------
    line : LineOfFire
        Release point and opening.
    aims : sequence of Aim or None
        Aims through the middle, one for each elevation, as `LineOfFire.centre_aims` gives them.
    elevations : ndarray, shape (k,)
        Rising. [rad]

    Returns
    -------
    Aim or None
        None when no elevation reaches the middle.

    Notes
    -----
    The least is placed where the slope of the polynomial through thirteen neighbouring speeds is zero; good
    to 1e-6 deg where the speed is smooth.
    """
    speeds = np.array([np.inf if aim is None else aim.speed for aim in aims])
    if not np.isfinite(speeds).any():
        return None
    best = int(np.argmin(speeds))
    if len(elevations) == 1:
        return aims[best]
    low, high = elevations[max(best - 1, 0)], elevations[min(best + 1, len(elevations) - 1)]
    nodes = 0.5 * (low + high) - 0.5 * (high - low) * np.cos(np.pi * np.arange(_NODES) / (_NODES - 1))
    known = np.isfinite(speeds)
    near = line.centre_aims(nodes, np.interp(nodes, elevations[known], speeds[known]))
    found = [aim for aim in [*near, aims[best]] if aim is not None]
    if len(found) == _NODES + 1:
        curve = np.polynomial.Chebyshev.fit(nodes, [aim.speed for aim in found[:-1]], _NODES - 1)
        for root in curve.deriv().roots():
            if abs(root.imag) < 1e-9 and low < root.real < high:
                found += [
                    aim
                    for aim in line.centre_aims(np.array([root.real]), np.array([curve(root.real)]))
                    if aim is not None
                ]
    return min(found, key=lambda aim: aim.speed)


def slowest_scoring_aim(
    line: LineOfFire, elevations: FloatArray, azimuths: FloatArray, intervals: Sequence[Sequence[Interval]]
) -> Aim:
    """Find the slowest shot that scores, on the elevations and between them.

    Parameters
    ----------
    line : LineOfFire
        Release point, opening, solids.
    elevations, azimuths : ndarray, shape (k,)
        Rising elevations, and the azimuth of each. [rad]
    intervals : sequence of sequence of (float, float)
        Speeds that score at each; not all empty. [m/s]

    Returns
    -------
    Aim
        The aim; a shot any slower at its elevation touches.
    """
    slowest = np.array([found[0][0] if found else np.inf for found in intervals])
    best = int(np.argmin(slowest))
    elevation, speed, step = float(elevations[best]), float(slowest[best]), 0.0
    if len(elevations) > 1:
        step = float(elevations[1] - elevations[0])
    fast = 0.5 * (intervals[best][0][0] + intervals[best][0][1])
    slow = max(speed - 0.5 * (intervals[best][0][1] - speed), 0.5 * speed)
    known = np.isfinite(slowest)
    places, edges, doubt = elevations[known], slowest[known], _NEAR * speed
    for _ in range(_ZOOMS if step and not line.draft else 0):
        around = elevation + step * np.linspace(-1, 1, _NODES)
        nodes = np.unique(np.clip(around, elevations[0], elevations[-1]))
        guess = _through(places, edges, elevation, nodes)
        rungs = np.column_stack(
            [np.full(len(nodes), slow), guess - doubt, guess + doubt, np.full(len(nodes), fast)]
        )
        found = _edges_at(line, nodes, np.interp(nodes, elevations, azimuths), np.sort(rungs, axis=1))
        if not np.isfinite(found).any():
            break
        if found.min() < speed:
            speed, elevation = float(found.min()), float(nodes[np.argmin(found)])
        good = np.isfinite(found)
        places, edges = nodes[good], found[good]
        bend = np.abs(np.diff(edges, 2)).max() if len(edges) > 2 else doubt
        doubt = min(doubt, bend + _ROUNDING * speed)
        step *= 2.0 / (_NODES - 1)
    return line.aim(speed, elevation, float(np.interp(elevation, elevations, azimuths)))


def _through(places: FloatArray, edges: FloatArray, middle: float, nodes: FloatArray) -> FloatArray:
    """Edges at `nodes` by the parabola through the three known places nearest the middle."""
    own = np.argsort(np.abs(places - middle), kind="stable")[:3]
    if len(own) < 3:
        return np.full(len(nodes), edges[own[0]])
    a, b, c = places[own]
    return np.asarray(
        edges[own[0]] * ((nodes - b) * (nodes - c) / ((a - b) * (a - c)))
        + edges[own[1]] * ((nodes - a) * (nodes - c) / ((b - a) * (b - c)))
        + edges[own[2]] * ((nodes - a) * (nodes - b) / ((c - a) * (c - b)))
    )


def _edges_at(line: LineOfFire, nodes: FloatArray, azimuths: FloatArray, rungs: FloatArray) -> FloatArray:
    """Slowest speed that scores at each node, above the first of its rungs (m, r); inf: none found."""

    def margin(k: NDArray[np.intp], v: FloatArray) -> FloatArray:
        return line.margin_among(v, nodes[k], azimuths[k], line.solids)

    rows = np.repeat(np.arange(len(nodes)), rungs.shape[1])
    clear = margin(rows, rungs.ravel()).reshape(rungs.shape)
    rises = (clear[:, :-1] < 0.0) & (clear[:, 1:] >= 0.0)
    k = np.flatnonzero(rises.any(axis=1))
    at = 1 + np.argmax(rises[k], axis=1)
    found = np.full(len(nodes), np.inf)
    if len(k):
        scoring, touching = ((rungs[k, i], clear[k, i]) for i in (at, at - 1))
        found[k] = refined_edges(margin, k, scoring, touching, tolerance=line.closeness)
    return found
