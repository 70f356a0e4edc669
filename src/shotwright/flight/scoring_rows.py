"""Rows of scoring launches, elevation by elevation: which belong together, and how they end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rows:
    """The arrays of `ScoringLaunches`, for some elevations.

    Parameters
    ----------
    speed, azimuth : ndarray, shape (e, m)
        The curve. [m/s], [rad]
    middle : ndarray, shape (e, 2)
        Speed and azimuth through the middle of the opening. [m/s], [rad]
    per_offset : ndarray, shape (e, 2, 2)
        What an aim beyond the middle needs. [m/s/m], [rad/m]
    other, other_curvature : ndarray, shape (e, 2, 5)
        What one unit of each other quantity is worth, and its second derivatives. [SI]
    """

    speed: FloatArray
    azimuth: FloatArray
    middle: FloatArray
    per_offset: FloatArray
    other: FloatArray
    other_curvature: FloatArray


def longest_run(numbers: NDArray[np.intp]) -> NDArray[np.intp]:
    """Positions of the longest run of numbers that follow one another.

    Parameters
    ----------
    numbers : ndarray of int
        Rising. [-]

    Returns
    -------
    ndarray of int
        Where in `numbers` the run stands. [-]
    """
    if not len(numbers):
        return numbers
    breaks = np.flatnonzero(np.diff(numbers) != 1) + 1
    return max(np.split(np.arange(len(numbers)), breaks), key=len)


def _sizes(rows: Rows) -> FloatArray:
    """Extent of the curve at each elevation, as the root of its speeds times its azimuths."""
    curve = np.stack([rows.speed, rows.azimuth], axis=2)
    return np.asarray(np.sqrt(np.prod(np.ptp(curve, axis=1), axis=1)))


def runs_away(rows: Rows, beyond: FloatArray) -> bool:
    """Whether the curves grow towards an end behind which nothing gets there: the limit of reach.

    Parameters
    ----------
    rows : Rows
        Two or more; their last one is the end.
    beyond : ndarray, shape (2,)
        Launch through the middle one step farther, NaN where there is none. [m/s], [rad]

    Returns
    -------
    bool
        True where slower and faster shots meet behind the end.
    """
    size = _sizes(rows)
    return bool(size[-1] >= size[-2] and not np.isfinite(beyond).all())


def flipped(rows: Rows) -> Rows:
    """Return the rows in the other order."""
    return Rows(*(getattr(rows, name)[::-1] for name in Rows.__slots__))


def closed_at_end(rows: Rows, known: FloatArray) -> Rows:
    """Close the curves where what scores ends: two more rows, the outer one without extent.

    The last curve shrinks as fast as the last two did.

    Parameters
    ----------
    rows : Rows
        Two or more; their last one is the end.
    known : ndarray, shape (k, 2)
        Launches through the middle beyond it, NaN where there is none. [m/s], [rad]

    Returns
    -------
    Rows
        With two more.
    """
    curve = np.stack([rows.speed, rows.azimuth], axis=2)
    size = _sizes(rows)
    left = float(np.clip(2 - size[-2] / max(size[-1], 1e-300), 0.0, 1.0))
    step = rows.middle[-1] - rows.middle[-2]
    middles, curves = [rows.middle[-1]], []
    for k, share in enumerate((left, 0.0)):
        there = known[k] if k < len(known) and np.isfinite(known[k]).all() else middles[-1] + step
        middles.append(there)
        offset = (curve[-1] - rows.middle[-1]).mean(axis=0)
        curves.append(there + offset + share * (curve[-1] - rows.middle[-1] - offset))
    more = {
        "speed": [one[:, 0] for one in curves],
        "azimuth": [one[:, 1] for one in curves],
        "middle": middles[1:],
    }
    return Rows(
        *(
            np.concatenate([getattr(rows, name), more.get(name, [getattr(rows, name)[-1]] * 2)])
            for name in Rows.__slots__
        )
    )
