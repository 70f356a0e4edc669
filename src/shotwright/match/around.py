"""What happens around the robot: defenders that come and go, balls that arrive or come back."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.match.case import ARRIVES, LAST, ROWS, STOCK

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

N_RETURN = 7  # entry of the state: balls that came back, or will


def lay_out(
    p: FloatArray,
    shares: FloatArray,
    stay: FloatArray,
    comes: FloatArray,
    draws: FloatArray,
    when: FloatArray,
    where: IntArray,
) -> bool:
    """Fill in when each defender comes to which position (-1: none); False when the draws run out.

    Parameters
    ----------
    p, shares, stay, comes, draws : ndarray
        As :func:`shotwright.match.match_kernel.run_match` takes them. [SI]
    when : ndarray, shape (k, w + 1)
        Filled in: times at which each defender comes to a place. [s]
    where : ndarray of int, shape (k, w + 1)
        Filled in: the place, -1 for none.

    Returns
    -------
    bool
        False when the draws run out.
    """
    width = draws.shape[1]
    for k in range(len(stay)):
        time = comes[k]
        i = 0
        while time < p[LAST]:
            if i >= width:
                return False
            at = -1
            for n in range(shares.shape[1]):
                if draws[ROWS + 2 * k + 1, i] < shares[k, n]:
                    at = n
                    break
            when[k, i] = time
            where[k, i] = at
            time += stay[k] * draws[ROWS + 2 * k, i]
            i += 1
        if i < width + 1:
            when[k, i] = math.inf
            where[k, i] = -1
    return True


def arrivals(p: FloatArray, depots: FloatArray, draws: FloatArray, first: int, come: FloatArray) -> bool:
    """Fill in when further balls arrive at each station; False when the draws run out.

    Parameters
    ----------
    p, depots, draws : ndarray
        As :func:`shotwright.match.match_kernel.run_match` takes them. [SI]
    first : int
        Row of the draws for the first station.
    come : ndarray, shape (d, w)
        Filled in: times at which further balls arrive. [s]

    Returns
    -------
    bool
        False when the draws run out.
    """
    for d in range(len(depots)):
        time = 0.0
        for i in range(draws.shape[1]):
            time += depots[d, ARRIVES] * draws[first + d, i]
            come[d, i] = time
        if come[d, draws.shape[1] - 1] <= p[LAST]:
            return False
    return True


def leaves(when: FloatArray, where: IntArray, q: int, time: float) -> float:
    """Time at which the last of those who block a position now leave it; -1 when nobody blocks it.

    Parameters
    ----------
    when, where : ndarray
        As :func:`lay_out` fills them in. [s]
    q : int
        The position.
    time : float
        Now. [s]

    Returns
    -------
    float
        [s]
    """
    found = -1.0
    for k in range(when.shape[0]):
        i = 0
        while when[k, i] <= time:
            i += 1
        if i > 0 and where[k, i - 1] == q:
            found = max(found, when[k, i])
    return found


def next_free(when: FloatArray, where: IntArray, q: int, time: float) -> float:
    """First time from now on at which a position is free.

    Parameters
    ----------
    when, where, q, time
        As for :func:`leaves`.

    Returns
    -------
    float
        [s]
    """
    while True:
        end = leaves(when, where, q, time)
        if end < 0.0:
            return time
        if end == math.inf:
            return math.inf
        time = end


def first_free(when: FloatArray, where: IntArray, order: IntArray, time: float) -> int:
    """First position of the plan that is free now; -1 when none is.

    Parameters
    ----------
    when, where : ndarray
        As :func:`lay_out` fills them in. [s]
    order : ndarray of int
        Positions of the plan.
    time : float
        Now. [s]

    Returns
    -------
    int
        The position.
    """
    for i in range(len(order)):
        if leaves(when, where, order[i], time) < 0.0:
            return int(order[i])
    return -1


def stock(
    s: FloatArray,
    depots: FloatArray,
    come: FloatArray,
    taken: IntArray,
    back: FloatArray,
    d: int,
    time: float,
) -> float:
    """Balls that lie at a station now.

    Parameters
    ----------
    s : ndarray
        State of the match.
    depots : ndarray, shape (m, 3)
        Stations. [SI]
    come : ndarray, shape (m, w)
        As :func:`arrivals` fills it in. [s]
    taken : ndarray of int, shape (m,)
        Balls taken so far.
    back : ndarray, shape (w, 2)
        Time at which each miss comes back [s], and to which station.
    d : int
        The station.
    time : float
        Now. [s]

    Returns
    -------
    float
        Number of balls; infinite where they never run out.
    """
    if depots[d, STOCK] < 0.0:
        return math.inf
    count = float(depots[d, STOCK] - taken[d] + np.searchsorted(come[d], time, side="right"))
    for i in range(int(s[N_RETURN])):
        if back[i, 1] == d and back[i, 0] <= time:
            count += 1.0
    return count


def next_ball(s: FloatArray, come: FloatArray, back: FloatArray, d: int, time: float) -> float:
    """Time at which the next ball comes to a station.

    Parameters
    ----------
    s, come, back, d, time
        As for :func:`stock`.

    Returns
    -------
    float
        Infinite when none comes. [s]
    """
    after = int(np.searchsorted(come[d], time, side="right"))
    found = float(come[d, after]) if after < come.shape[1] else math.inf
    for i in range(int(s[N_RETURN])):
        if back[i, 1] == d and time < back[i, 0] < found:
            found = back[i, 0]
    return found
