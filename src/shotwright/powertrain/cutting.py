"""Breakers, fuses and self-resetting protections: when they cut, what then happens, when they close."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.powertrain.wheel_steps import (
    BACK,
    CLUTCH,
    CUTS,
    EACH,
    EACH_BACK,
    EACH_TAU,
    GEARED,
    IN_TRAIN,
    INERTIA,
    MAIN,
    MAIN_BACK,
    MAIN_TAU,
    MOTORS,
    OFF,
    OPEN,
    PTC_BACK,
    PTC_RISE,
    PTC_TAU,
    RATIO,
    ROTOR,
    STOP,
    X_MAIN,
    Q,
    T,
    W,
    drive,
    slow_down,
)

FloatArray = NDArray[np.float64]

_SHARP = 1e-9  # s, how well the moment of tripping is found


def _limit(p: FloatArray, which: int) -> float:
    """Image at which a guard opens: 0 main breaker, 1 motor breakers, 2 protections. [A^2], [K]."""
    if which == 0:
        return float(p[MAIN])
    return float(p[EACH]) if which == 1 else float(p[PTC_RISE])


def _back(p: FloatArray, which: int) -> float:
    """Image at which it closes again; 0: never. [A^2], [K]."""
    if which == 0:
        return float(p[MAIN_BACK])
    return float(p[EACH_BACK]) if which == 1 else float(p[PTC_BACK])


def _tau(p: FloatArray, which: int) -> float:
    if which == 0:
        return float(p[MAIN_TAU])
    return float(p[EACH_TAU]) if which == 1 else float(p[PTC_TAU])


def is_cut(s: FloatArray) -> bool:
    """Tell whether the motors get no current."""
    return bool(s[OPEN] + s[OPEN + 1] + s[OPEN + 2] > 0.0)


def _trips(p: FloatArray, s: FloatArray) -> bool:
    main = s[OPEN] == 0.0 and s[X_MAIN] >= p[MAIN]
    each = s[OPEN + 1] == 0.0 and s[X_MAIN + 1] >= p[EACH]
    return bool(main or each or (s[OPEN + 2] == 0.0 and s[X_MAIN + 2] >= p[PTC_RISE]))


def _plain_step(
    p: FloatArray, table: FloatArray, s: FloatArray, e: FloatArray, goal: float, stop: float, most: float
) -> None:
    if goal > 0.0:
        drive(p, table, s, e, goal, most)
    else:
        slow_down(p, table, s, e, stop, most)


def step_until_cut(
    p: FloatArray,
    table: FloatArray,
    s: FloatArray,
    e: FloatArray,
    goal: float,
    stop: float,
    most: float,
    kept: FloatArray,
) -> None:
    """Take a step, ending where a breaker or protection trips; then it is open.

    Parameters
    ----------
    p, table, s, e : ndarray
        What is built, the battery, the state, the books. SI.
    goal : float
        Speed that the wheel is driven to; 0: it is not driven. [rad/s]
    stop : float
        How it then slows down.
    most : float
        Longest time. [s]
    kept : ndarray, shape (STATE + BOOKS,)
        Room for the state before the step.
    """
    if p[CUTS] == 0.0:
        _plain_step(p, table, s, e, goal, stop, most)
        return
    states = len(s)
    kept[:states] = s
    kept[states:] = e
    _plain_step(p, table, s, e, goal, stop, most)
    if not _trips(p, s):
        return
    low, high = 0.0, s[T] - kept[T]
    while high - low > _SHARP:
        middle = 0.5 * (low + high)
        s[:] = kept[:states]
        e[:] = kept[states:]
        _plain_step(p, table, s, e, goal, stop, middle)
        if _trips(p, s):
            high = middle
        else:
            low = middle
    s[:] = kept[:states]
    e[:] = kept[states:]
    _plain_step(p, table, s, e, goal, stop, high)
    for which in range(3):
        if s[X_MAIN + which] >= _limit(p, which):
            s[OPEN + which] = 1.0


def step_while_cut(
    p: FloatArray,
    table: FloatArray,
    s: FloatArray,
    e: FloatArray,
    asked: bool,
    most: float,
    kept: FloatArray,
) -> None:
    """Take a step without current: the wheel coasts with its motors, or on its one-way clutch.

    The main breaker cuts everything, the others only the motors. A self-resetting protection that has
    tripped stays warm by its own trickle as long as voltage is on it; that trickle, a watt or two, is in no
    book.

    Parameters
    ----------
    p, table, s, e, most, kept : ndarray, float
        As for :func:`step_until_cut`.
    asked : bool
        Whether the controller asks for speed meanwhile, so that voltage is on the protections.
    """
    held = asked and s[OPEN + 2] > 0.0 and s[OPEN] == 0.0 and s[OPEN + 1] == 0.0
    time = most
    for which in range(3):
        back, image = _back(p, which), s[X_MAIN + which]
        still_fed = (which == 2 and held) or (which == 0 and s[OPEN] == 0.0)
        if s[OPEN + which] > 0.0 and back > 0.0 and not still_fed and image > back:
            time = min(time, _tau(p, which) * (math.log(image) - math.log(back)) + _SHARP)
    stop = CLUTCH if p[STOP] == CLUTCH else GEARED
    if stop == GEARED and p[BACK] <= 0.0 and s[W] > 0.0:
        # a self-locking train stops the wheel at once
        rotors = p[RATIO] * p[RATIO] * p[MOTORS] * p[ROTOR]
        e[IN_TRAIN] += 0.5 * (p[INERTIA] * s[W] * s[W] + rotors * s[Q] * s[Q])
        s[W] = s[Q] = 0.0
    began, warmth = s[T], s[X_MAIN + 2]
    open_before = (s[OPEN], s[OPEN + 1], s[OPEN + 2])
    step_until_cut(p, table, s, e, 0.0, stop, time, kept)
    if held:
        s[X_MAIN + 2] = warmth
    for which in range(3):
        if open_before[which] > 0.0:
            s[OFF + which] += s[T] - began
            if 0.0 < s[X_MAIN + which] <= _back(p, which):
                s[OPEN + which] = 0.0
