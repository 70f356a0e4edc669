"""Many matches of one plan, event by event, in plain numbers that a compiler takes.

The same match as :mod:`shotwright.match.processes` tells with processes; the tests hold both against each
other, event for event.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.match.around import (
    N_RETURN,
    arrivals,
    first_free,
    lay_out,
    leaves,
    next_ball,
    next_free,
    stock,
)
from shotwright.match.case import (
    AIM,
    AUTO,
    AUTO_WAIT,
    CLEAR,
    COOLING,
    DRIVE,
    FACTOR,
    FIRE,
    HIT_BLOCKED,
    HOT,
    JAM,
    JAM_TIME,
    JAMMED,
    LAST,
    NEXT,
    PER_BALL,
    PICK,
    POINTS,
    PRELOAD,
    RECOVERY,
    RETURN,
    RETURN_TIME,
    RETURN_TO,
    RETURNS,
    ROWS,
    RULE,
    SHOT,
    SIGMA,
    SLOWER,
    STOP,
    TAKE,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# state of a match
T, NODE, BALLS, READY, HEAT, LAST_SHOT, ROW = range(7)  # then N_RETURN
N_DRIVE, N_STOP, N_PICK, N_SHOT, N_JAM, N_CLEAR = range(8, 14)
STATE = 14
# what is told of a match
(SCORE, AUTO_SCORE, SHOTS, HITS, JAMS, TRIPS, MOVED_ON, DRIVING, AIMING, FIRING, BLOCKED, COLLECTING,
 CLEARING, IDLE) = range(14)  # fmt: skip
TOLD = 14
# kinds of events
ARRIVED, AIMED, JAM_CLEARED, HIT, MISS, PICKED, LEFT_BLOCKED, FREE_AGAIN = range(8)


def stretch(sigma: float, z: float) -> float:
    """Factor of a duration: lognormal with mean 1."""
    return math.exp(sigma * z - 0.5 * sigma * sigma)


def _note(s: FloatArray, log: FloatArray, kind: int, place: int) -> None:
    """Write down an event."""
    row = int(s[ROW])
    if row < len(log):
        log[row, 0] = s[T]
        log[row, 1] = kind
        log[row, 2] = place
    s[ROW] += 1


def _spend(p: FloatArray, s: FloatArray, told: FloatArray, on: int, time: float) -> None:
    """Let time go by, and book what of it lies within the match."""
    told[on] += max(min(time, p[LAST] - s[T]), 0.0)
    s[T] += time


def _go(
    p: FloatArray,
    travel: FloatArray,
    draws: FloatArray,
    s: FloatArray,
    told: FloatArray,
    log: FloatArray,
    node: int,
) -> bool:
    """Drive to a node; False when the draws run out."""
    if int(s[NODE]) == node:
        return True
    if s[N_DRIVE] >= draws.shape[1]:
        return False
    time = travel[int(s[NODE]), node] * stretch(p[SIGMA], draws[DRIVE, int(s[N_DRIVE])])
    s[N_DRIVE] += 1
    _spend(p, s, told, DRIVING, time)
    s[NODE] = node
    if s[T] <= p[LAST]:
        _note(s, log, ARRIVED, node)
    return True


def _fire_one(
    p: FloatArray,
    spots: FloatArray,
    hit: float,
    blocked: bool,
    draws: FloatArray,
    s: FloatArray,
    back: FloatArray,
    told: FloatArray,
    log: FloatArray,
    q: int,
) -> None:
    """Fire one ball now."""
    n = int(s[N_SHOT])
    s[N_SHOT] += 1
    s[BALLS] -= 1
    told[SHOTS] += 1
    if draws[SHOT, n] < (spots[q, HIT_BLOCKED] if blocked else hit):
        points = spots[q, POINTS] * (p[FACTOR] if s[T] <= p[AUTO] else 1.0)
        told[SCORE] += points
        told[AUTO_SCORE] += points if s[T] <= p[AUTO] else 0.0
        told[HITS] += 1
        _note(s, log, HIT, q)
    else:
        if draws[RETURN, n] < spots[q, RETURNS]:
            row = int(s[N_RETURN])
            back[row, 0] = s[T] + spots[q, RETURN_TIME]
            back[row, 1] = spots[q, RETURN_TO]
            s[N_RETURN] += 1
        _note(s, log, MISS, q)
    s[HEAT] = s[HEAT] * math.exp(-(s[T] - s[LAST_SHOT]) / p[COOLING]) + 1.0
    s[LAST_SHOT] = s[T]
    s[READY] = s[T] + p[RECOVERY] * (1.0 + p[SLOWER] * s[HEAT] / p[HOT])
    if s[HEAT] > p[HOT] - 1.0:
        s[READY] = max(s[READY], s[T] + p[COOLING] * math.log(s[HEAT] / (p[HOT] - 1.0)))


def _fire_stop(
    p: FloatArray,
    travel: FloatArray,
    spots: FloatArray,
    hit: FloatArray,
    order: IntArray,
    draws: FloatArray,
    s: FloatArray,
    when: FloatArray,
    where: IntArray,
    back: FloatArray,
    told: FloatArray,
    log: FloatArray,
) -> bool:
    """Drive to a position and fire until empty, chased off, or the end; False when the draws run out."""
    width = draws.shape[1]
    q = int(order[0])
    if p[RULE] == NEXT:
        other = first_free(when, where, order, s[T])
        q = q if other < 0 else other
    if not _go(p, travel, draws, s, told, log, 1 + q):
        return False
    if s[T] > p[LAST]:
        return True
    if p[RULE] == NEXT and leaves(when, where, q, s[T]) >= 0.0 and first_free(when, where, order, s[T]) >= 0:
        told[MOVED_ON] += 1
        _note(s, log, LEFT_BLOCKED, q)
        return True
    if s[N_STOP] >= width:
        return False
    time = p[AIM] * stretch(p[SIGMA], draws[STOP, int(s[N_STOP])])
    s[N_STOP] += 1
    _spend(p, s, told, AIMING, time)
    if s[T] > p[LAST]:
        return True
    _note(s, log, AIMED, q)
    while s[BALLS] > 0:
        if s[READY] > s[T]:
            _spend(p, s, told, FIRING, s[READY] - s[T])
            s[T] = s[READY]  # to the last bit: what waits for this moment must find it come
        if s[T] > p[LAST]:
            return True
        if p[RULE] != FIRE and leaves(when, where, q, s[T]) >= 0.0:
            if p[RULE] == NEXT and first_free(when, where, order, s[T]) >= 0:
                told[MOVED_ON] += 1
                _note(s, log, LEFT_BLOCKED, q)
                return True
            free = next_free(when, where, q, s[T])
            if p[RULE] == NEXT:
                for i in range(len(order)):
                    free = min(free, next_free(when, where, order[i], s[T]))
            free = min(free, p[LAST] + 1.0)
            _spend(p, s, told, BLOCKED, free - s[T])
            s[T] = free  # to the last bit: what waits for this moment must find it come
            if s[T] > p[LAST]:
                return True
            _note(s, log, FREE_AGAIN, q)
            continue
        if s[N_JAM] >= width or s[N_CLEAR] >= width or s[N_SHOT] >= width:
            return False
        s[N_JAM] += 1
        if draws[JAMMED, int(s[N_JAM]) - 1] < p[JAM]:
            time = p[JAM_TIME] * draws[CLEAR, int(s[N_CLEAR])]
            s[N_CLEAR] += 1
            _spend(p, s, told, CLEARING, time)
            told[JAMS] += 1
            if s[T] > p[LAST]:
                return True
            _note(s, log, JAM_CLEARED, q)
        _fire_one(p, spots, hit[q], leaves(when, where, q, s[T]) >= 0.0, draws, s, back, told, log, q)
    return True


def _collect(
    p: FloatArray,
    travel: FloatArray,
    depots: FloatArray,
    order: IntArray,
    route: IntArray,
    draws: FloatArray,
    s: FloatArray,
    come: FloatArray,
    taken: IntArray,
    back: FloatArray,
    told: FloatArray,
    log: FloatArray,
) -> int:
    """Drive to a station and fill up; 0 when there is nothing left to collect, -1 when the draws run out."""
    d, comes = -1, math.inf
    for i in range(len(route)):
        if stock(s, depots, come, taken, back, route[i], s[T]) > 0.0:
            d, comes = int(route[i]), s[T]
            break
    if d < 0:
        for i in range(len(route)):
            time = next_ball(s, come, back, route[i], s[T])
            if time < comes:
                d, comes = int(route[i]), time
    if d < 0:
        return 0
    node = len(travel) - len(depots) + d
    if not _go(p, travel, draws, s, told, log, node):
        return -1
    if s[T] > p[LAST]:
        return 1
    if comes > s[T]:
        _spend(p, s, told, IDLE, comes - s[T])
        s[T] = comes  # to the last bit: what waits for this moment must find it come
    told[TRIPS] += 1
    while s[BALLS] < p[TAKE] and stock(s, depots, come, taken, back, d, s[T]) > 0.0:
        least = depots[d, PER_BALL] + travel[node, 1 + order[0]] + p[AIM]
        if s[BALLS] > 0 and s[T] + least > p[LAST]:
            break
        if s[N_PICK] >= draws.shape[1]:
            return -1
        time = depots[d, PER_BALL] * stretch(p[SIGMA], draws[PICK, int(s[N_PICK])])
        s[N_PICK] += 1
        _spend(p, s, told, COLLECTING, time)
        if s[T] > p[LAST]:
            return 1
        s[BALLS] += 1
        taken[d] += 1
        _note(s, log, PICKED, d)
    return 1


def run_match(
    p: FloatArray,
    travel: FloatArray,
    spots: FloatArray,
    hit: FloatArray,
    depots: FloatArray,
    order: IntArray,
    route: IntArray,
    shares: FloatArray,
    stay: FloatArray,
    comes: FloatArray,
    draws: FloatArray,
    told: FloatArray,
    log: FloatArray,
) -> int:
    """Run one match.

    Parameters
    ----------
    p, travel, spots, hit, depots, order, route, shares, stay, comes : ndarray
        As in :class:`shotwright.match.case.MatchCase`. [SI]
    draws : ndarray, shape (7 + 2 k + d, w)
        Of this match. [-]
    told : ndarray, shape (14,)
        Filled in. [SI]
    log : ndarray, shape (e, 3)
        Events: time [s], kind, position or station or node; as many as it holds.

    Returns
    -------
    int
        Number of events; -1 when the draws run out.
    """
    width = draws.shape[1]
    s = np.zeros(STATE)
    s[BALLS] = p[PRELOAD]
    when = np.full((len(stay), width + 1), math.inf)
    where = np.full((len(stay), width + 1), -1, dtype=np.int64)
    taken = np.zeros(len(depots), dtype=np.int64)
    back = np.zeros((width, 2))
    come = np.full((len(depots), width), math.inf)
    if not lay_out(p, shares, stay, comes, draws, when, where):
        return -1
    if not arrivals(p, depots, draws, ROWS + 2 * len(stay), come):
        return -1
    while s[T] <= p[LAST]:
        if s[BALLS] > 0:
            if not _fire_stop(p, travel, spots, hit, order, draws, s, when, where, back, told, log):
                return -1
            continue
        if p[AUTO_WAIT] > 0.0 and s[T] < p[AUTO]:
            _spend(p, s, told, IDLE, p[AUTO] - s[T])
        found = _collect(p, travel, depots, order, route, draws, s, come, taken, back, told, log)
        if found < 0:
            return -1
        if found == 0:
            _spend(p, s, told, IDLE, p[LAST] - s[T])
            break
    return int(s[ROW])


def run_matches(
    p: FloatArray,
    travel: FloatArray,
    spots: FloatArray,
    hit: FloatArray,
    depots: FloatArray,
    order: IntArray,
    route: IntArray,
    shares: FloatArray,
    stay: FloatArray,
    comes: FloatArray,
    draws: FloatArray,
    told: FloatArray,
    rows: IntArray,
) -> None:
    """Run many matches of one plan.

    Parameters
    ----------
    p, travel, spots, depots, order, route, shares, stay, comes : ndarray
        As :func:`run_match` takes them. [SI]
    hit : ndarray, shape (m, n)
        One row for each match. [-]
    draws : ndarray, shape (m, 7 + 2 k + d, w)
        Of each match. [-]
    told : ndarray, shape (m, 14)
        Filled in. [SI]
    rows : ndarray of int, shape (m,)
        Filled in: number of events, -1 when the draws run out.
    """
    nothing = np.empty((0, 3))
    for i in range(len(draws)):
        rows[i] = run_match(
            p, travel, spots, hit[i], depots, order, route, shares, stay, comes, draws[i], told[i], nothing
        )


@functools.cache
def compiled_matches() -> Callable[..., None]:
    """Return `run_matches` compiled; the first call of a new version compiles for some seconds."""
    from shotwright.base.compiled import Compiled, text_of, with_compiled_callees

    options = {"nogil": True, "fastmath": False, "error_model": "numpy"}
    plain = with_compiled_callees(run_matches, "shotwright.match", lambda _: options)
    return Compiled(plain, text_of(Path(__file__).parent), "matches of a plan", **options)
