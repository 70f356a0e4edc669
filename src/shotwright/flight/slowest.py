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
    near = line.centre_aims(nodes)
    found = [aim for aim in [*near, aims[best]] if aim is not None]
    if len(found) == _NODES + 1:
        curve = np.polynomial.Chebyshev.fit(nodes, [aim.speed for aim in found[:-1]], _NODES - 1)
        for root in curve.deriv().roots():
            if abs(root.imag) < 1e-9 and low < root.real < high:
                found += [aim for aim in line.centre_aims(np.array([root.real])) if aim is not None]
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
    slow = speed - 0.5 * (intervals[best][0][1] - speed)
    slow = max(slow, 0.5 * speed)
    for _ in range(_ZOOMS if step else 0):
        nodes = np.clip(elevation + step * np.linspace(-1, 1, _NODES), elevations[0], elevations[-1])
        turned = np.interp(nodes, elevations, azimuths)

        def margin(
            k: NDArray[np.intp], v: FloatArray, nodes: FloatArray = nodes, turned: FloatArray = turned
        ) -> FloatArray:
            return line.margin_among(v, nodes[k], turned[k], line.solids)

        k = np.arange(_NODES)
        fast_margin, slow_margin = margin(k, np.full(_NODES, fast)), margin(k, np.full(_NODES, slow))
        k = k[(fast_margin >= 0.0) & (slow_margin < 0.0)]
        if len(k):
            edges = refined_edges(
                margin,
                k,
                (np.full(len(k), fast), fast_margin[k]),
                (np.full(len(k), slow), slow_margin[k]),
            )
            if edges.min() < speed:
                speed, elevation = float(edges.min()), float(nodes[k[np.argmin(edges)]])
        step *= 2.0 / (_NODES - 1)
    return line.aim(speed, elevation, float(np.interp(elevation, elevations, azimuths)))
