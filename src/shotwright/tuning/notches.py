"""The fewest notches: settings that together keep the hit probability above a level over all distances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cover:
    """Notches, and what they leave open.

    Parameters
    ----------
    chosen : tuple of int
        Numbers of the settings chosen, in the order of the distances.
    spans : tuple of (float, float)
        Distances from and to which each is used. [m]
    gaps : tuple of (float, float)
        Stretches where no setting reaches the level. [m]
    """

    chosen: tuple[int, ...]
    spans: tuple[tuple[float, float], ...]
    gaps: tuple[tuple[float, float], ...]


def reach_of(distances: FloatArray, chances: FloatArray, level: float) -> list[tuple[float, float] | None]:
    """Find the stretch of distances over which each setting keeps the level, around its best distance.

    Parameters
    ----------
    distances : ndarray, shape (n,)
        Rising. [m]
    chances : ndarray, shape (n, k)
        Hit probability of k settings at each. [-]
    level : float
        Wanted hit probability. [-]

    Returns
    -------
    list
        Ends of the stretch by linear interpolation [m]; None for a setting that reaches the level nowhere.
    """
    found: list[tuple[float, float] | None] = []
    for column in np.asarray(chances).T:
        top = int(np.argmax(column))
        if not column[top] >= level:
            found.append(None)
            continue
        low = high = top
        while low > 0 and column[low - 1] >= level:
            low -= 1
        while high < len(column) - 1 and column[high + 1] >= level:
            high += 1
        a = distances[low] if low == 0 else _crossing(distances, column, low - 1, level)
        b = distances[high] if high == len(column) - 1 else _crossing(distances, column, high, level)
        found.append((float(a), float(b)))
    return found


def _crossing(distances: FloatArray, column: FloatArray, left: int, level: float) -> float:
    share = (level - column[left]) / (column[left + 1] - column[left])
    return float(distances[left] + share * (distances[left + 1] - distances[left]))


def fewest_notches(
    spans: list[tuple[float, float] | None], low: float, high: float, *, slack: float = 1e-9
) -> Cover:
    """Cover a range with the fewest of the given stretches.

    Parameters
    ----------
    spans : list
        Stretch of each setting, or None. [m]
    low, high : float
        Range to be covered. [m]
    slack : float
        Gaps up to this are none. [m]

    Returns
    -------
    Cover
        Always the one that begins where something is left open and reaches farthest: no other choice needs
        fewer. Where nothing reaches, the range goes on behind a gap. Neighbours hand over in the middle of
        where both reach.

    Notes
    -----
    That the greedy choice is the least for stretches of a line is a textbook result; the tests hold it
    against integer programming.
    """
    usable = [(a, b, k) for k, span in enumerate(spans) if span is not None for a, b in [span]]
    chosen: list[tuple[float, float, int]] = []
    gaps: list[tuple[float, float]] = []
    at = low
    while at < high - slack or (not chosen and not gaps):
        able = [one for one in usable if one[0] <= at + slack and one[1] > at + slack]
        if able:
            best = max(able, key=lambda one: one[1])
            chosen.append(best)
            at = best[1]
            continue
        later = [one[0] for one in usable if one[0] > at + slack and one[0] < high]
        end = min(later, default=high)
        gaps.append((at, end))
        at = end
    shared = []
    for n, (a, b, _) in enumerate(chosen):
        start = max(a, low) if n == 0 or a > chosen[n - 1][1] else (max(a, low) + chosen[n - 1][1]) / 2
        end = min(b, high)
        if n + 1 < len(chosen) and chosen[n + 1][0] <= b:
            end = (max(chosen[n + 1][0], low) + b) / 2
        shared.append((start, end))
    return Cover(tuple(k for _, _, k in chosen), tuple(shared), tuple(gaps))
