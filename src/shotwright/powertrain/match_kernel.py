"""A whole match of a wheel: bursts of shots, stops and rests, step by step."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.powertrain.cutting import is_cut, step_until_cut, step_while_cut
from shotwright.powertrain.wheel_steps import (
    AIR,
    AT_EACH,
    AT_HOT,
    AT_MAIN,
    AT_PTC,
    BOOKS,
    BRAKED,
    CASE,
    CHARGE,
    COARSE,
    CUTS,
    DRAWN,
    END,
    END_B,
    END_I,
    END_V,
    FEED,
    FINE,
    HOLD,
    IN_WINDING,
    LOW_V,
    MOTORS,
    NOW_B,
    NOW_I,
    NOW_V,
    OPEN,
    READY,
    SPEED,
    STATE,
    STOP,
    WARM,
    Q,
    T,
    W,
    drive,
    fire,
    slow_down,
)  # fmt: skip

FloatArray = NDArray[np.float64]

# what is told of each burst
BURST_READY, BURST_FIRED, BURST_END, BURST_REST, BURST_WORST, BURST_HEAT, BURST_WARM = range(7)
BURST_WIDTH = 7
TRACE_WIDTH = 8  # time, wheel, motor's current, battery's current, voltage, winding, case, state of charge
_STEPS = 1_000_000


def _trace_row(
    p: FloatArray,
    table: FloatArray,
    s: FloatArray,
    trace: FloatArray,
    row: int,
    time: float,
    speed: float,
    ends: bool,
    warm: float,
    case: float,
    drawn: float,
) -> int:
    """Write one row of the record, if there is room; return the next row."""
    if row < trace.shape[0]:
        trace[row, 0] = time
        trace[row, 1] = speed
        trace[row, 2] = s[END_I] if ends else s[NOW_I]
        trace[row, 3] = s[END_B] if ends else s[NOW_B]
        trace[row, 4] = s[END_V] if ends else s[NOW_V]
        trace[row, 5] = p[AIR] + warm
        trace[row, 6] = p[AIR] + case
        trace[row, 7] = table[3, 0] - drawn / p[CHARGE]
        return row + 1
    return row


def begin(s: FloatArray, e: FloatArray) -> None:
    """Set the state of a match to its start: at rest, as warm as the air, everything cold."""
    for i in range(STATE):
        s[i] = 0.0
    for i in range(BOOKS):
        e[i] = 0.0
    s[AT_MAIN] = s[AT_EACH] = s[AT_PTC] = s[AT_HOT] = s[LOW_V] = math.inf


def _longest(p: FloatArray, s: FloatArray, recorded: bool) -> float:
    """Longest step of a wheel that is not driven. [s]

    At rest nothing that a step holds fixed is felt: one step is exact whatever its length. Below a third of
    its speed a braked wheel has a ninth of its energy left to warm the windings.
    """
    if p[STOP] == BRAKED and s[W] > 0.0:
        return float(p[FINE] if 3 * s[W] > p[SPEED] else p[COARSE])
    return float(p[COARSE]) if recorded or s[W] > 0.0 else math.inf


def run_match(
    p: FloatArray,
    table: FloatArray,
    bursts: FloatArray,
    s: FloatArray,
    e: FloatArray,
    told: FloatArray,
    trace: FloatArray,
) -> int:
    """Follow one match.

    Parameters
    ----------
    p : ndarray, shape (WIDTH,)
        What is built; see `wheel_steps`.
    table : ndarray, shape (4, m)
        Battery: states of charge, voltages, resistances; in the last row, first column, the charge at the
        start.
    bursts : ndarray, shape (b, 2)
        When each is commanded [s], and its shots. Each lasts until they are fired, or the next begins.
    s, e, told : ndarray, shapes (STATE,), (BOOKS,), (b, BURST_WIDTH)
        Filled: state at the end, books of energy, what happened in each burst (NaN: did not happen).
    trace : ndarray, shape (rows, TRACE_WIDTH)
        Filled with a record of the match; no rows: none is kept.

    Returns
    -------
    int
        Rows of the record.
    """
    begin(s, e)
    told[:] = math.nan
    row, turn, left, shot_at, heat, measured = 0, -1, 0.0, -math.inf, 0.0, True
    ready = p[READY] * p[SPEED]
    kept = np.empty(STATE + BOOKS)
    for _ in range(_STEPS):
        if s[T] >= p[END]:
            break
        if turn + 1 < len(bursts) and s[T] >= bursts[turn + 1, 0]:
            turn += 1
            left, heat, shot_at = bursts[turn, 1], e[IN_WINDING], -math.inf
            measured = True
            told[turn, BURST_FIRED] = 0.0
        limit = bursts[turn + 1, 0] if turn + 1 < len(bursts) else p[END]
        most = min(limit, p[END]) - s[T]
        together = s[Q] >= s[W]
        powerless = s[OPEN] > 0.0  # without the main breaker no feed brings a ball
        is_ready = not powerless and together and s[W] >= ready * (1 - 1e-13)
        if left > 0 and is_ready:
            if math.isnan(told[turn, BURST_READY]):
                told[turn, BURST_READY] = s[T] - bursts[turn, 0]
            if not measured:
                took, worst = s[T] - shot_at, told[turn, BURST_WORST]
                told[turn, BURST_WORST] = took if math.isnan(worst) else max(took, worst)
                measured = True
            if s[T] >= shot_at + p[FEED] - 1e-12:
                fire(p, s, e)
                shot_at, measured = s[T], False
                left -= 1
                told[turn, BURST_FIRED] += 1
                if left <= 0:
                    told[turn, BURST_END] = s[T] - bursts[turn, 0]
                    told[turn, BURST_HEAT] = (e[IN_WINDING] - heat) / p[MOTORS]
                    told[turn, BURST_WARM] = p[AIR] + s[WARM]
                continue
        time, speed, warm, case, drawn = s[T], s[W], s[WARM], s[CASE], s[DRAWN]
        asked = left > 0 or (p[STOP] == HOLD and turn >= 0)
        moving = s[W] > 0.0
        if left > 0 and is_ready:
            most = min(most, max(shot_at + p[FEED] - s[T], 1e-12))
        if is_cut(s):
            step_while_cut(p, table, s, e, asked, min(most, _longest(p, s, len(trace) > 0)), kept)
        elif asked:
            goal = p[SPEED]
            if left > 0 and s[W] < ready * (1 - 1e-13):
                goal = ready
            steady = speed >= p[SPEED] and together
            longest = p[COARSE] if steady else p[FINE]
            if p[CUTS] == 0.0:  # only watched: the search's case, worth the shorter way
                drive(p, table, s, e, goal, min(most, longest))
            else:
                step_until_cut(p, table, s, e, goal, p[STOP], min(most, longest), kept)
        else:
            longest = _longest(p, s, len(trace) > 0)
            if p[CUTS] == 0.0:
                slow_down(p, table, s, e, p[STOP], min(most, longest))
            else:
                step_until_cut(p, table, s, e, 0.0, p[STOP], min(most, longest), kept)
        if moving and s[W] <= 0.0 and turn >= 0 and not asked:
            told[turn, BURST_REST] = s[T] - bursts[turn, 0]
        if len(trace):
            row = _trace_row(p, table, s, trace, row, time, speed, False, warm, case, drawn)
            row = _trace_row(p, table, s, trace, row, s[T], s[W], True, s[WARM], s[CASE], s[DRAWN])
    return row


def run_matches(
    p: FloatArray,
    table: FloatArray,
    bursts: FloatArray,
    states: FloatArray,
    books: FloatArray,
    told: FloatArray,
) -> None:
    """Follow many matches of one plan.

    Parameters
    ----------
    p, states, books, told : ndarray
        As `run_match` takes them, one row for each match. SI.
    table, bursts : ndarray
        As there, the same for all. SI.
    """
    nothing = np.empty((0, 8))
    for i in range(len(p)):
        run_match(p[i], table, bursts, states[i], books[i], told[i], nothing)


@functools.cache
def many_matches() -> Callable[..., None]:
    """Return `run_matches` compiled; the first call of a new version compiles for some seconds."""
    from shotwright.base.compiled import Compiled, text_of, with_compiled_callees

    options = {"nogil": True, "fastmath": False, "error_model": "numpy"}
    plain = with_compiled_callees(run_matches, "shotwright.powertrain", lambda _: options)
    return Compiled(plain, text_of(Path(__file__).parent), "matches of a drive", **options)
