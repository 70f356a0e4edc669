"""Forces between a ball and the rough surfaces around it: who slips, who grips.

Slip sigma_i = u_i - v cos b_i - a_i w_b - c_i w_s; friction F_i on the ball is positive forward.
A sliding contact has F = mu N sgn(sigma); a gripping one has the F that keeps sigma at 0, while |F| <= mu N.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba
import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Plain = TypeVar("Plain", bound=Callable[..., Any])

# columns of a ball's row
MASS, RADIUS, ALPHA, SPEED, BACK, SIDE, START, END, CURVE, RAMP, POWER, DRAG = range(12)
BALL_WIDTH = 12
# columns of a contact's row; PASSING is 1 for a wheel that the ball passes in its true geometry
PASSING, ARM_BACK, ARM_SIDE, RIM, INVERSE, GRIP, FORCE, SHARE, DRIVE, WHEEL, AXIS = range(11)
CONTACT_WIDTH = 11


def compiled(function: Plain) -> Plain:
    """Compile a function for use by other compiled ones.

    Parameters
    ----------
    function : callable
        Plain numbers and arrays only.

    Returns
    -------
    callable
        Sums in it may be reordered and fused; nothing is assumed about infinities and NaN.
    """
    jit = numba.njit(nogil=True, error_model="numpy", fastmath={"contract", "reassoc", "arcp", "nsz"})
    return cast(Plain, jit(function))


@compiled
def _squeezed(table: FloatArray, squeeze: float) -> float:
    """Force of a table: row (step, 0), then (value, slope) at even steps; straight on past its end."""
    step = table[0, 0]
    last = table.shape[0] - 2
    i = int(squeeze / step)
    if i >= last:
        return float(table[last + 1, 0] + table[last + 1, 1] * (squeeze - last * step))
    x = squeeze / step - i
    f0, d0, f1, d1 = table[i + 1, 0], table[i + 1, 1] * step, table[i + 2, 0], table[i + 2, 1] * step
    return float(f0 + x * (d0 + x * (3 * (f1 - f0) - 2 * d0 - d1 + x * (2 * (f0 - f1) + d0 + d1))))


@compiled
def _normal(
    ball: FloatArray, contacts: FloatArray, i: int, s: float, v: float, load: FloatArray, free: FloatArray
) -> Any:
    """Normal force, cosine and sine of the contact's angle, and the distance of wheel and ball."""
    if contacts[i, PASSING] > 0:
        axis = contacts[i, AXIS]
        d = math.sqrt(s * s + axis * axis)
        squeeze = contacts[i, WHEEL] + ball[RADIUS] - d
        if squeeze <= 0:
            return 0.0, axis / d, s / d, d
        if contacts[i, FORCE] > 0:  # Hertz: stiffness in place of a preload
            force = contacts[i, FORCE] * squeeze * math.sqrt(squeeze)
            if s > 0:
                force *= contacts[i, SHARE]
        else:
            force = _squeezed(load if s < 0 else free, squeeze)
        return force, axis / d, s / d, d
    ramp = 1.0
    if ball[RAMP] > 0 and s < ball[RAMP]:
        ramp = max(s / ball[RAMP], 0.0) ** ball[POWER]
    force = contacts[i, FORCE] * ramp + contacts[i, SHARE] * ball[MASS] * v * v / ball[CURVE]
    return max(force, 0.0), 1.0, 0.0, math.inf


@compiled
def _solve(work: FloatArray, k: int) -> None:
    """Solve rows 7.. times x = row 6 in place, k unknowns; a singular system shares its force out evenly."""
    if k == 1:
        work[6, 0] /= work[7, 0]
        return
    top = 0.0
    for i in range(k):
        top = max(top, work[7 + i, i])
    # contacts with the same arms: a trace of give makes them share
    for i in range(k):
        for j in range(i):
            if (
                abs(work[7 + i, i] * work[7 + j, j] - work[7 + i, j] * work[7 + i, j])
                < 1e-13 * work[7 + i, i] * work[7 + j, j]
            ):
                work[7 + i, i] += 1e-10 * top
    for i in range(k):
        if abs(work[7 + i, i]) < 1e-13 * top:
            work[7 + i, i] += 1e-10 * top
        for j in range(i + 1, k):
            factor = work[7 + j, i] / work[7 + i, i]
            for c in range(i, k):
                work[7 + j, c] -= factor * work[7 + i, c]
            work[6, j] -= factor * work[6, i]
    for i in range(k - 1, -1, -1):
        for c in range(i + 1, k):
            work[6, i] -= work[7 + i, c] * work[6, c]
        work[6, i] /= work[7 + i, i]


@compiled
def _couple(ball: FloatArray, contacts: FloatArray, work: FloatArray, i: int, j: int) -> float:
    """How a force at contact j changes the slip at contact i, per unit of force."""
    m = ball[MASS]
    spin = contacts[i, ARM_BACK] * contacts[j, ARM_BACK] + contacts[i, ARM_SIDE] * contacts[j, ARM_SIDE]
    own = contacts[i, INVERSE] if i == j else 0.0
    return float(work[1, i] * work[1, j] / m + spin / (ball[ALPHA] * m) + own)


@compiled
def forces(
    y: FloatArray, ball: FloatArray, contacts: FloatArray, mode: NDArray[np.int64], work: FloatArray,
    load: FloatArray, free: FloatArray, want: int, near: float,
) -> None:  # fmt: skip
    """Fill `work` with the forces of a moment, and choose who grips when asked.

    Which contacts without slip grip is the one least-power solution of the friction laws together: minimise
    F'GF/2 - F'r within |F_i| <= mu_i N_i, by sweeps over the contacts.

    Parameters
    ----------
    y : ndarray
        State: place, speed, surface speeds of backspin and sidespin, rim speeds, books. [SI]
    ball : ndarray, shape (BALL_WIDTH,)
        Columns as named at the top of this file. [SI]
    contacts : ndarray, shape (k, CONTACT_WIDTH)
        Columns as named at the top of this file. [SI]
    mode : ndarray of int, shape (k,)
        Sign of each contact's slip, 0 where it grips; chosen anew when `want` is 2.
    work : ndarray, shape (7 + k, k)
        Rows 0 to 5 become N, cos b, sin b, slip, F and, with `want` > 0, the rate of the slip; the rest is
        room for the solution. [SI]
    load, free : ndarray, shape (points + 1, 2)
        Force against squeeze of one contact, closing and opening. [N], [N/m]
    want : int
        0 forces, 1 rates of the slips too, 2 choose who grips.
    near : float
        Slip that counts as none when a contact may begin to grip. [m/s]
    """
    k = len(contacts)
    s, v = y[0], y[1]
    push = -ball[DRAG]
    for i in range(k):
        work[0, i], work[1, i], work[2, i], d = _normal(ball, contacts, i, s, v, load, free)
        work[3, i] = y[4 + i] - v * work[1, i] - contacts[i, ARM_BACK] * y[2] - contacts[i, ARM_SIDE] * y[3]
        push += work[0, i] * work[2, i]
        work[5, i] = contacts[i, DRIVE] * contacts[i, INVERSE] + v * v * work[2, i] * work[1, i] / d
        work[4, i] = 0.0
    stuck = 0
    for i in range(k):
        work[5, i] -= push * work[1, i] / ball[MASS]
        if want == 2:
            if abs(work[3, i]) > near and mode[i] != 0:
                mode[i] = 1 if work[3, i] > 0 else -1
            else:
                mode[i] = 0
        if mode[i] != 0:
            work[4, i] = mode[i] * contacts[i, GRIP] * work[0, i]
        else:
            stuck += 1
    if want == 0 and stuck == 0:
        return
    for i in range(k):
        if want > 0 or mode[i] == 0:
            for j in range(k):
                if mode[j] != 0:
                    work[5, i] -= _couple(ball, contacts, work, i, j) * work[4, j]
    if stuck > 0:
        enough = _gripping(ball, contacts, mode, work)
        if want == 2 and not enough:
            for i in range(k):
                work[4, i] = 0.0 if mode[i] == 0 else work[4, i]
            _who_grips(ball, contacts, mode, work)
            _gripping(ball, contacts, mode, work)
    if want > 0:
        for i in range(k):
            for j in range(k):
                if mode[j] == 0:
                    work[5, i] -= _couple(ball, contacts, work, i, j) * work[4, j]


@compiled
def _gripping(ball: FloatArray, contacts: FloatArray, mode: NDArray[np.int64], work: FloatArray) -> bool:
    """Find the forces that keep the gripping contacts so; returns whether their grip is enough for that."""
    k, count, enough = len(contacts), 0, True
    for i in range(k):
        if mode[i] == 0:
            work[6, count] = work[5, i]
            column = 0
            for j in range(k):
                if mode[j] == 0:
                    work[7 + count, column] = _couple(ball, contacts, work, i, j)
                    column += 1
            count += 1
    _solve(work, count)
    column = 0
    for j in range(k):
        if mode[j] == 0:
            work[4, j] = work[6, column]
            enough = enough and abs(work[4, j]) <= contacts[j, GRIP] * work[0, j] * (1 - 1e-12)
            column += 1
    return enough


@compiled
def _who_grips(ball: FloatArray, contacts: FloatArray, mode: NDArray[np.int64], work: FloatArray) -> None:
    """Turn contacts without slip whose grip is not enough into sliding ones, with their force."""
    k = len(contacts)
    for _ in range(400):
        moved = 0.0
        for i in range(k):
            if mode[i] != 0:
                continue
            rate = work[5, i]
            for j in range(k):
                if mode[j] == 0:
                    rate -= _couple(ball, contacts, work, i, j) * work[4, j]
            bound = contacts[i, GRIP] * work[0, i]
            new = work[4, i] + rate / _couple(ball, contacts, work, i, i)
            new = min(max(new, -bound), bound)
            moved = max(moved, abs(new - work[4, i]) / (bound + 1e-300))
            work[4, i] = new
        if moved < 1e-14:
            break
    for i in range(k):
        if mode[i] == 0:
            bound = contacts[i, GRIP] * work[0, i]
            if abs(work[4, i]) >= bound * (1 - 1e-12):
                mode[i] = 2 if work[4, i] > 0 or (work[4, i] == 0 and work[5, i] > 0) else -2
                work[4, i] = bound if mode[i] > 0 else -bound
    for j in range(k):
        if abs(mode[j]) == 2:
            for i in range(k):
                work[5, i] -= _couple(ball, contacts, work, i, j) * work[4, j]
            mode[j] //= 2
    for i in range(k):
        if mode[i] == 0:
            work[4, i] = 0.0
