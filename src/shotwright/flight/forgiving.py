"""The shot with the largest hit probability for a given launch spread."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.chance import (
    COLUMNS,
    Aim,
    Launches,
    Scatter,
    Surroundings,
    hits_of,
    linear_chances,
    linear_shots,
    scattered_launches,
)
from shotwright.flight.line_of_fire import LineOfFire
from shotwright.flight.window_edges import Interval
from shotwright.game.records import Ball

FloatArray = NDArray[np.float64]

_BALLS_TRIED = 256
_BALLS_DRAFT = 64
_BATCH = 6  # aims flown together
_LOOKED_AT = 12  # elevations looked at first where nothing stands in the way: the chance is smooth there
_BEST = 4  # elevations looked at more closely
_SHARES = np.array([0.3, 0.5, 0.7])  # of an interval of speed


@dataclass(frozen=True, slots=True, eq=False)
class SpreadOfLaunch:
    """What makes one shot differ from the next.

    Parameters
    ----------
    scatter : Scatter
        Of the launcher; scalars.
    around : Surroundings
        Placement, heading, balls.
    ball : Ball
        Mean diameter and mass.
    """

    scatter: Scatter
    around: Surroundings
    ball: Ball

    def chances(self, line: LineOfFire, aims: Sequence[Aim], balls: int) -> FloatArray:
        """Share of evenly spread balls that score among the solids of the line, for each of n aims (n,)."""
        normals = even_normals(balls)
        thrown = [
            scattered_launches(line.model, aim, self.scatter, self.around, normals, ball=self.ball)
            for aim in aims
        ]
        hits = hits_of(
            line.model,
            line.target,
            Launches(*(np.concatenate(parts) for parts in zip(*thrown, strict=True))),
            obstacles=line.solids,
        )
        return np.asarray(hits.reshape(len(aims), balls).mean(axis=1))


@functools.lru_cache(maxsize=4)
def even_normals(count: int) -> FloatArray:
    """Return evenly spread standard normal values, shape (count, 8), from Halton's sequence.

    Parameters
    ----------
    count : int
        How many rows.

    Returns
    -------
    ndarray, shape (count, 8)
        The same on every call. [-]

    References
    ----------
    J. H. Halton, "On the efficiency of certain quasi-random sequences of points in evaluating
    multi-dimensional integrals", Numerische Mathematik 2, 84-90 (1960); from memory.
    """
    from scipy.special import ndtri

    rows = np.arange(1, count + 1)
    points = np.empty((count, COLUMNS))
    for column, base in enumerate((2, 3, 5, 7, 11, 13, 17, 19)):
        left, digit_worth, value = rows.copy(), 1.0 / base, np.zeros(count)
        while left.any():
            value += digit_worth * (left % base)
            left //= base
            digit_worth /= base
        points[:, column] = value
    return np.asarray(ndtri(points))


def most_forgiving_aim(
    line: LineOfFire,
    elevations: FloatArray,
    azimuths: FloatArray,
    intervals: Sequence[Sequence[Interval]],
    spread: SpreadOfLaunch,
) -> Aim:
    """Find the aim with the largest hit probability for a given launch spread.

    Parameters
    ----------
    line : LineOfFire
        Release point, opening, solids.
    elevations, azimuths : ndarray, shape (k,)
        Elevations, and the azimuth of each. [rad]
    intervals : sequence of sequence of (float, float)
        Speeds that score at each; not all empty. [m/s]
    spread : SpreadOfLaunch
        The spread.

    Returns
    -------
    Aim
        The best of the aims tried.

    Notes
    -----
    First the middle of every interval is tried (without solids of about twelve, then of those beside the
    best), then three speeds at the best elevations. Without solids the
    chance is the exact integral over the linearised flight. Among solids balls are flown; since a solid can
    only take hits away, an aim whose free chance is below the best flown one is not flown.
    """
    middle = [(k, number, 0.5) for k, found in enumerate(intervals) for number in range(len(found))]
    skip = 1 if line.solids else max(1, len(middle) // _LOOKED_AT)

    def chances(places: Sequence[tuple[int, int, float]]) -> FloatArray:
        return _chances(line, [_aim_in(line, elevations, azimuths, intervals, at) for at in places], spread)

    few = middle[::skip]
    found = dict(zip(few, chances(few).tolist(), strict=True))
    top = middle.index(max(found, key=lambda at: found[at]))
    beside = [at for at in middle[max(0, top - 2 * skip + 1) : top + 2 * skip] if at not in found]
    found |= dict(zip(beside, chances(beside).tolist(), strict=True))
    best = sorted(found, key=lambda at: -found[at])[:_BEST]
    closer = [(*at[:2], float(share)) for at in best for share in _SHARES]
    aim = closer[int(np.argmax(chances(closer)))]
    return _aim_in(line, elevations, azimuths, intervals, aim)


def _aim_in(
    line: LineOfFire,
    elevations: FloatArray,
    azimuths: FloatArray,
    intervals: Sequence[Sequence[Interval]],
    where: tuple[int, int, float],
) -> Aim:
    """Aim at one elevation, in one of its intervals, at a share of its width."""
    k, number, share = where
    low, high = intervals[k][number]
    return line.aim(low + share * (high - low), float(elevations[k]), float(azimuths[k]))


def _chances(line: LineOfFire, aims: Sequence[Aim], spread: SpreadOfLaunch) -> FloatArray:
    """Hit probability of each aim; among solids by counting flown balls, 0 for an aim that can't win."""
    shots = linear_shots(line.model, line.target, aims)
    free = linear_chances(shots, spread.scatter, spread.around)
    if not line.solids:
        return free
    found = np.zeros(len(aims))
    order = np.argsort(-free, kind="stable")
    for start in range(0, len(order), _BATCH):
        batch = order[start : start + _BATCH]
        if free[batch[0]] <= found.max():
            break
        found[batch] = spread.chances(
            line, [aims[i] for i in batch], _BALLS_DRAFT if line.draft else _BALLS_TRIED
        )
    return found
