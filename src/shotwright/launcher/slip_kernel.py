"""The ball between rough surfaces, compiled: slip, grip and letting go, followed event by event.

State of one shot: place s along the path, speed v, surface speeds of spin w_b (backspin) and w_s (sidespin),
surface speed u_i of each contact; and the books: heat of each contact, motor work, squeeze work; and time.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from pathlib import Path
from types import FunctionType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.compiled import Compiled
from shotwright.launcher import slip_forces
from shotwright.launcher.slip_forces import (
    ALPHA,
    ARM_BACK,
    ARM_SIDE,
    BACK,
    CURVE,
    DRAG,
    DRIVE,
    END,
    GRIP,
    INVERSE,
    MASS,
    PASSING,
    RAMP,
    RIM,
    SHARE,
    SIDE,
    SPEED,
    START,
    compiled,
    forces,
)  # fmt: skip

FloatArray = NDArray[np.float64]

# columns of the answer before those of the contacts (rim speed, heat, slip, grip place, grip time)
OUT_SPEED, OUT_BACK, OUT_SIDE, OUT_MOTOR, OUT_SQUEEZE, OUT_TIME, OUT_PLACE, OUT_STATE, OUT_LIFTED = range(9)
OUT_WIDTH = 9
OUT_EACH = 5
LEFT, STOPPED, GAVE_UP = 0.0, 1.0, 2.0

_STEPS = 20_000
_EVENTS = 60
_NEAR = 1e-9  # slip, as a share of the fastest surface, that counts as none when the ball may begin to grip

# Dormand and Prince 5(4): Hairer, Norsett, Wanner, "Solving Ordinary Differential Equations I" (1993), II.5
_A = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [1 / 5, 0.0, 0.0, 0.0, 0.0, 0.0],
        [3 / 40, 9 / 40, 0.0, 0.0, 0.0, 0.0],
        [44 / 45, -56 / 15, 32 / 9, 0.0, 0.0, 0.0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0.0, 0.0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0.0],
        [35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]
)
_ERR = np.array([71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])


@compiled
def _rates(
    y: FloatArray, dy: FloatArray, ball: FloatArray, contacts: FloatArray, mode: NDArray[np.int64],
    work: FloatArray, load: FloatArray, free: FloatArray, want: int,
) -> None:  # fmt: skip
    """Rates of the state: equations of motion of ball and wheels, and the powers for the books."""
    k = len(contacts)
    forces(y, ball, contacts, mode, work, load, free, want, 0.0)
    v = y[1]
    forward, back, side, normal, motor = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(k):
        force = work[4, i]
        forward += force * work[1, i]
        back += force * contacts[i, ARM_BACK]
        side += force * contacts[i, ARM_SIDE]
        normal += work[0, i] * work[2, i]
        dy[4 + i] = (contacts[i, DRIVE] - force) * contacts[i, INVERSE]
        # a surface whose speed nothing changes is held by its motor or its frame, which pays for it
        motor += (contacts[i, DRIVE] if contacts[i, INVERSE] > 0 else force) * y[4 + i]
        dy[4 + k + i] = force * work[3, i]
    dy[0] = v
    dy[1] = (forward + normal - ball[DRAG]) / ball[MASS]
    dy[2] = back / (ball[ALPHA] * ball[MASS])
    dy[3] = side / (ball[ALPHA] * ball[MASS])
    dy[4 + 2 * k] = motor
    dy[5 + 2 * k] = (ball[DRAG] - normal) * v


@compiled
def _event(
    y: FloatArray, before: FloatArray, end: float, contacts: FloatArray, mode: NDArray[np.int64],
    work: FloatArray, near: float, which: int,
) -> float:  # fmt: skip
    """How far event `which` is away; negative: past. `before` holds the slips at the start of the step."""
    k = len(contacts)
    if which == 2 * k:
        return float(end - y[0])
    if which == 2 * k + 1:
        return float(y[1])
    if which >= k:
        i = which - k
        if mode[i] != 0:
            return 1.0
        return float(contacts[i, GRIP] * work[0, i] * (1 + 1e-11) + 1e-12 - abs(work[4, i]))
    if mode[which] == 0 or work[0, which] <= 0:
        return 1.0
    if before[which] * mode[which] > near:
        return float(work[3, which] * mode[which])
    return float(work[3, which] * mode[which] + near)


@compiled
def _steady(
    y: FloatArray, dy: FloatArray, ball: FloatArray, contacts: FloatArray, mode: NDArray[np.int64],
    work: FloatArray, near: float,
) -> int:  # fmt: skip
    """Go to the next event where all forces are constant, exactly; returns which, or -1 when none comes."""
    k = len(contacts)
    v, a = y[1], dy[1]
    which, h = -1, math.inf
    way = ball[END] - y[0]
    root = v * v + 2 * a * way
    if root >= 0 and (v > 0 or a > 0):
        t = 2 * way / (v + math.sqrt(root))
        if t >= 0:
            which, h = 2 * k, t
    if a < 0 and -v / a < h:
        which, h = 2 * k + 1, -v / a
    for i in range(k):
        if mode[i] != 0 and work[5, i] * mode[i] < 0:
            t = -work[3, i] / work[5, i]
            if work[3, i] * mode[i] > near and t < h:
                which, h = i, t
    if which < 0:
        return which
    for i in range(k):
        mean = work[3, i] + 0.5 * h * work[5, i]
        y[4 + k + i] += work[4, i] * mean * h
        held = contacts[i, INVERSE] <= 0
        pull = work[4, i] if held else contacts[i, DRIVE]
        y[4 + 2 * k] += pull * (y[4 + i] + 0.5 * h * dy[4 + i]) * h
    y[0] += h * (v + 0.5 * h * a)
    y[5 + 2 * k] += ball[DRAG] * h * (v + 0.5 * h * a)
    for i in range(1, 4 + k):
        y[i] += h * dy[i]
    y[6 + 2 * k] += h
    return which


@compiled
def _step(
    y: FloatArray, stages: FloatArray, h: float, new: FloatArray, ball: FloatArray, contacts: FloatArray,
    mode: NDArray[np.int64], work: FloatArray, load: FloatArray, free: FloatArray, scale: FloatArray,
) -> float:  # fmt: skip
    """One step of Dormand and Prince; stage 0 is known. Returns the largest scaled error."""
    size = y.shape[0] - 1
    for stage in range(1, 7):
        for c in range(size):
            total = 0.0
            for j in range(stage):
                total += _A[stage, j] * stages[j, c]
            new[c] = y[c] + h * total
        _rates(new, stages[stage], ball, contacts, mode, work, load, free, 0)
    worst = 0.0
    for c in range(size):
        error = 0.0
        for j in range(7):
            error += _ERR[j] * stages[j, c]
        worst = max(worst, abs(h * error) / scale[c])
    new[size] = y[size] + h
    return worst


@compiled
def _advance(
    y: FloatArray, new: FloatArray, stages: FloatArray, h: float, before: FloatArray, ball: FloatArray,
    contacts: FloatArray, mode: NDArray[np.int64], work: FloatArray, load: FloatArray, free: FloatArray,
    scale: FloatArray, near: float, tolerance: float,
) -> Any:  # fmt: skip
    """Step once, no further than the first event; returns (event or -1, next step length)."""
    k = len(contacts)
    while True:
        error = _step(y, stages, h, new, ball, contacts, mode, work, load, free, scale) / tolerance
        if error <= 1.0 or h < 1e-13:
            break
        h *= max(0.2, 0.9 * error**-0.2)
    grown = h * min(5.0, 0.9 * max(error, 1e-10) ** -0.2)
    found, reach = -1, h
    for _ in range(2 * k + 2):
        fired = -1
        for which in range(2 * k + 2):
            if _event(new, before, ball[END], contacts, mode, work, near, which) < 0:
                fired = which
                break
        if fired < 0 or fired == found:
            break
        found = fired
        low, high = 0.0, reach
        _step(y, stages, 0.0, new, ball, contacts, mode, work, load, free, scale)
        f_low = _event(new, before, ball[END], contacts, mode, work, near, fired)
        _step(y, stages, high, new, ball, contacts, mode, work, load, free, scale)
        f_high = _event(new, before, ball[END], contacts, mode, work, near, fired)
        kept, close = 0, (1e-12 * scale[0] if fired == 2 * k else 0.02 * near if fired < k else 0.0)
        for _ in range(80):  # Illinois: false position that halves the value at an end which stays twice
            if high - low <= 1e-15 * (abs(y[-1]) + high) or -f_high <= close:
                break
            middle = high - f_high * (high - low) / (f_high - f_low) if f_low > 0 else 0.5 * (low + high)
            if not low < middle < high:
                middle = 0.5 * (low + high)
            _step(y, stages, middle, new, ball, contacts, mode, work, load, free, scale)
            f_middle = _event(new, before, ball[END], contacts, mode, work, near, fired)
            if f_middle <= 0:
                high, f_high = middle, f_middle
                f_low *= 0.5 if kept < 0 else 1.0
                kept = -1
            else:
                low, f_low = middle, f_middle
                f_high *= 0.5 if kept > 0 else 1.0
                kept = 1
        reach = high
        _step(y, stages, reach, new, ball, contacts, mode, work, load, free, scale)
    return found, grown


@compiled
def _follow(
    ball: FloatArray, contacts: FloatArray, load: FloatArray, free: FloatArray, tolerance: float,
    y: FloatArray, new: FloatArray, before: FloatArray, stages: FloatArray, work: FloatArray,
    mode: NDArray[np.int64], scale: FloatArray, out: FloatArray,
) -> None:  # fmt: skip
    """Follow one ball through the launcher and write its row of the answer; `y` to `scale` are room."""
    k = len(contacts)
    y[:], mode[:] = 0.0, 1
    y[0], y[1], y[2], y[3] = ball[START], ball[SPEED], ball[BACK], ball[SIDE]
    fastest, smooth = abs(ball[SPEED]), ball[RAMP] > 0
    for i in range(k):
        y[4 + i] = contacts[i, RIM]
        fastest = max(fastest, abs(contacts[i, RIM]))
        bent = contacts[i, SHARE] != 0 and ball[CURVE] < math.inf
        smooth = smooth or contacts[i, PASSING] > 0 or bent
        out[OUT_WIDTH + 3 * k + i] = -1.0
        out[OUT_WIDTH + 4 * k + i] = -1.0
    near = _NEAR * fastest
    way = ball[END] - ball[START]
    scale[:] = fastest
    scale[0] = way
    scale[4 + k :] = ball[MASS] * fastest * fastest
    if way <= 0:  # a loose ball: there is no contact to follow
        out[OUT_SPEED], out[OUT_BACK], out[OUT_SIDE], out[OUT_STATE] = y[1], y[2], y[3], STOPPED
        for i in range(k):
            out[OUT_WIDTH + i] = y[4 + i]
        return
    state, h = GAVE_UP, 0.01 * way / max(fastest, 1e-12)
    for _ in range(_EVENTS):
        for i in range(k):
            before[i] = mode[i]
        forces(y, ball, contacts, mode, work, load, free, 2, near)
        for i in range(k):
            if mode[i] == 0 and (before[i] != 0 or out[OUT_WIDTH + 3 * k + i] < 0):
                out[OUT_WIDTH + 3 * k + i], out[OUT_WIDTH + 4 * k + i] = y[0] - ball[START], y[6 + 2 * k]
        _rates(y, stages[0], ball, contacts, mode, work, load, free, 1)
        if y[1] <= 0 and stages[0, 1] <= 0:
            state = STOPPED
            break
        found = -1
        if not smooth:
            found = _steady(y, stages[0], ball, contacts, mode, work, near)
            if found < 0:
                state = STOPPED
                break
        else:
            for _ in range(_STEPS):
                for i in range(k):
                    before[i] = work[3, i]
                found, h = _advance(
                    y, new, stages, h, before, ball, contacts, mode, work, load, free, scale, near, tolerance
                )
                y[:] = new
                stages[0, :] = stages[6, :]
                for i in range(k):
                    if contacts[i, PASSING] == 0 and work[0, i] == 0:
                        out[OUT_LIFTED] = 1.0
                if found >= 0:
                    break
            if found < 0:
                break
        if found >= 2 * k:
            state = LEFT if found == 2 * k else STOPPED
            break
    out[OUT_SPEED], out[OUT_BACK], out[OUT_SIDE] = y[1], y[2], y[3]
    out[OUT_MOTOR], out[OUT_SQUEEZE], out[OUT_TIME] = y[4 + 2 * k], y[5 + 2 * k], y[6 + 2 * k]
    out[OUT_PLACE], out[OUT_STATE] = y[0] - ball[START], state
    for i in range(k):
        out[OUT_WIDTH + i], out[OUT_WIDTH + k + i] = y[4 + i], y[4 + k + i]
        slip = y[4 + i] - y[1] * work[1, i] - contacts[i, ARM_BACK] * y[2] - contacts[i, ARM_SIDE] * y[3]
        out[OUT_WIDTH + 2 * k + i] = 0.0 if mode[i] == 0 else slip


@functools.cache
def follower() -> Callable[[FloatArray, FloatArray, FloatArray, FloatArray, float], FloatArray]:
    """Return the compiled loop over balls; the first call of a new version compiles for some seconds.

    Returns
    -------
    callable
        Takes balls (n, BALL_WIDTH), contacts (n, k, CONTACT_WIDTH), tables of force against squeeze of one
        contact while closing and while opening (points + 1, 2), and the allowed error of a step as a share
        of the fastest surface's speed. Returns (n, OUT_WIDTH + OUT_EACH k). Columns are named in this file
        and in `slip_forces`. [SI]
    """
    text = b"".join(Path(file).read_bytes() for file in (__file__, slip_forces.__file__))
    assert isinstance(_follow_all, FunctionType)
    return Compiled(_follow_all, text, "slip kernel", nogil=True, error_model="numpy")


def _follow_all(
    balls: FloatArray, contacts: FloatArray, load: FloatArray, free: FloatArray, tolerance: float
) -> FloatArray:
    n, k = contacts.shape[0], contacts.shape[1]
    out = np.zeros((n, OUT_WIDTH + OUT_EACH * k))
    y, new, before = np.zeros(7 + 2 * k), np.zeros(7 + 2 * k), np.zeros(k)
    stages, work, mode = np.zeros((7, 6 + 2 * k)), np.zeros((7 + k, k)), np.ones(k, np.int64)
    scale = np.zeros(6 + 2 * k)
    for row in range(n):
        _follow(
            balls[row], contacts[row], load, free, tolerance,
            y, new, before, stages, work, mode, scale, out[row],
        )  # fmt: skip
    return out
