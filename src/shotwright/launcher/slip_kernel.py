"""The ball between rough surfaces, compiled: slip, grip and letting go, followed event by event.

State of one shot: place s along the path, speed v, surface speeds of spin w_b (backspin) and w_s (sidespin),
surface speed u_i of each contact; and the books: heat of each contact, motor work, squeeze work.
Slip sigma_i = u_i - v cos b_i - a_i w_b - c_i w_s; friction F_i on the ball is positive forward.
A sliding contact has F = mu N sgn(sigma); a gripping one has the F that keeps sigma at 0, while |F| <= mu N.

Kept in one file on purpose: the compiler's cache looks at this file alone.
"""

from __future__ import annotations

import math
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

# columns of a ball's row
MASS, RADIUS, ALPHA, SPEED, BACK, SIDE, START, END, CURVE, RAMP, POWER, DRAG = range(12)
BALL_WIDTH = 12
# columns of a contact's row; PASSING is 1 for a wheel that the ball passes in its true geometry
PASSING, ARM_BACK, ARM_SIDE, RIM, INVERSE, GRIP, FORCE, SHARE, DRIVE, WHEEL, AXIS = range(11)
CONTACT_WIDTH = 11
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

# sums may be reordered and fused; nothing is assumed about infinities and NaN
_jit: Any = numba.njit(
    cache=True, nogil=True, error_model="numpy", fastmath={"contract", "reassoc", "arcp", "nsz"}
)


@_jit
def _squeezed(table: FloatArray, squeeze: float) -> float:
    """Force of a table: row (step, 0), then (value, slope) at even steps; straight on past its end."""
    step = table[0, 0]
    last = table.shape[0] - 2
    i = int(squeeze / step)
    if i >= last:
        return table[last + 1, 0] + table[last + 1, 1] * (squeeze - last * step)
    x = squeeze / step - i
    f0, d0, f1, d1 = table[i + 1, 0], table[i + 1, 1] * step, table[i + 2, 0], table[i + 2, 1] * step
    return f0 + x * (d0 + x * (3 * (f1 - f0) - 2 * d0 - d1 + x * (2 * (f0 - f1) + d0 + d1)))


@_jit
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


@_jit
def _solve(work: FloatArray, k: int) -> None:
    """Solve rows 7.. times x = row 6 in place, k unknowns; a singular system shares its force out evenly."""
    if k == 1:
        work[6, 0] /= work[7, 0]
        return
    g, f = work[7:], work[6]
    top = 0.0
    for i in range(k):
        top = max(top, g[i, i])
    # contacts with the same arms: a trace of give makes them share
    for i in range(k):
        for j in range(i):
            if abs(g[i, i] * g[j, j] - g[i, j] * g[i, j]) < 1e-13 * g[i, i] * g[j, j]:
                g[i, i] += 1e-10 * top
    for i in range(k):
        if abs(g[i, i]) < 1e-13 * top:
            g[i, i] += 1e-10 * top
        for j in range(i + 1, k):
            factor = g[j, i] / g[i, i]
            for c in range(i, k):
                g[j, c] -= factor * g[i, c]
            f[j] -= factor * f[i]
    for i in range(k - 1, -1, -1):
        for c in range(i + 1, k):
            f[i] -= g[i, c] * f[c]
        f[i] /= g[i, i]


@_jit
def _couple(ball: FloatArray, contacts: FloatArray, work: FloatArray, i: int, j: int) -> float:
    """How a force at contact j changes the slip at contact i, per unit of force."""
    m = ball[MASS]
    spin = contacts[i, ARM_BACK] * contacts[j, ARM_BACK] + contacts[i, ARM_SIDE] * contacts[j, ARM_SIDE]
    own = contacts[i, INVERSE] if i == j else 0.0
    return work[1, i] * work[1, j] / m + spin / (ball[ALPHA] * m) + own


@_jit
def _forces(
    y: FloatArray, ball: FloatArray, contacts: FloatArray, mode: NDArray[np.int64], work: FloatArray,
    load: FloatArray, free: FloatArray, want: int, near: float,
) -> None:  # fmt: skip
    """Fill work rows 0..5: N, cos b, sin b, slip, F, and with `want` > 0 the slip's rate; 2 chooses who grips.

    Which contacts without slip grip is the one least-power solution of the friction laws together: minimise
    F'GF/2 - F'r within |F_i| <= mu_i N_i, by sweeps over the contacts.
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
    if want == 2:
        _who_grips(ball, contacts, mode, work)
    count = 0
    for i in range(k):
        if mode[i] == 0:
            work[6, count] = work[5, i]
            column = 0
            for j in range(k):
                if mode[j] == 0:
                    work[7 + count, column] = _couple(ball, contacts, work, i, j)
                    column += 1
            count += 1
    if count == 0:
        return
    _solve(work, count)
    column = 0
    for j in range(k):
        if mode[j] == 0:
            work[4, j] = work[6, column]
            column += 1
    if want > 0:
        for i in range(k):
            for j in range(k):
                if mode[j] == 0:
                    work[5, i] -= _couple(ball, contacts, work, i, j) * work[4, j]


@_jit
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


@_jit
def _rates(
    y: FloatArray, dy: FloatArray, ball: FloatArray, contacts: FloatArray, mode: NDArray[np.int64],
    work: FloatArray, load: FloatArray, free: FloatArray, want: int,
) -> None:  # fmt: skip
    """Rates of the state: equations of motion of ball and wheels, and the powers for the books."""
    k = len(contacts)
    _forces(y, ball, contacts, mode, work, load, free, want, 0.0)
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


@_jit
def _event(
    y: FloatArray, before: FloatArray, end: float, contacts: FloatArray, mode: NDArray[np.int64],
    work: FloatArray, near: float, which: int,
) -> float:  # fmt: skip
    """How far event `which` is away; negative: past. `before` holds the slips at the start of the step."""
    k = len(contacts)
    if which == 2 * k:
        return end - y[0]
    if which == 2 * k + 1:
        return y[1]
    if which >= k:
        i = which - k
        if mode[i] != 0:
            return 1.0
        return contacts[i, GRIP] * work[0, i] * (1 + 1e-11) + 1e-12 - abs(work[4, i])
    if mode[which] == 0 or work[0, which] <= 0:
        return 1.0
    if before[which] * mode[which] > near:
        return work[3, which] * mode[which]
    return work[3, which] * mode[which] + near


@_jit
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


@_jit
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


@_jit
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


@_jit
def _follow(
    ball: FloatArray, contacts: FloatArray, load: FloatArray, free: FloatArray, tolerance: float,
    out: FloatArray,
) -> None:  # fmt: skip
    """Follow one ball through the launcher and write its row of the answer."""
    k = len(contacts)
    y, new, before = np.zeros(7 + 2 * k), np.zeros(7 + 2 * k), np.zeros(k)
    stages, work, mode = np.zeros((7, 6 + 2 * k)), np.zeros((7 + k, k)), np.ones(k, np.int64)
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
    scale = np.full(6 + 2 * k, fastest)
    scale[0] = way
    scale[4 + k :] = ball[MASS] * fastest * fastest
    state, h = GAVE_UP, 0.01 * way / max(fastest, 1e-12)
    for _ in range(_EVENTS):
        for i in range(k):
            before[i] = mode[i]
        _forces(y, ball, contacts, mode, work, load, free, 2, near)
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


@_jit
def follow(
    balls: FloatArray, contacts: FloatArray, load: FloatArray, free: FloatArray, tolerance: float
) -> FloatArray:
    """Follow many balls, each through its own contacts.

    Parameters
    ----------
    balls : ndarray, shape (n, BALL_WIDTH)
        Columns as named at the top of this file. [SI]
    contacts : ndarray, shape (n, k, CONTACT_WIDTH)
        Columns as named at the top of this file; surfaces that don't give way have INVERSE 0. [SI]
    load, free : ndarray, shape (points + 1, 2)
        Force against squeeze of one contact, closing and opening, for passing contacts without a Hertz
        stiffness. [N], [N/m]
    tolerance : float
        Allowed error of a step, as a share of the fastest surface's speed. [-]

    Returns
    -------
    ndarray, shape (n, OUT_WIDTH + OUT_EACH k)
        Columns as named at the top of this file. [SI]
    """
    n, k = contacts.shape[0], contacts.shape[1]
    out = np.zeros((n, OUT_WIDTH + OUT_EACH * k))
    for row in range(n):
        _follow(balls[row], contacts[row], load, free, tolerance, out[row])
    return out
