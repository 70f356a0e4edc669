"""The end of a flight inside its last step: from the septic through place and three rates at both ends."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.layout import (
    AX,
    AY,
    AZ,
    CODE,
    CU1,
    CU2,
    CU3,
    CW,
    CY1,
    CY2,
    CY3,
    DECAY_PART,
    DENSITY,
    DRAG_PART,
    EX,
    EY,
    FLOAT_PART,
    FX,
    FY,
    FZ,
    GRAVITY,
    LANES,
    LFLAG,
    LFLOOR,
    LG,
    LH,
    LIFT_PART,
    LK,
    LMASS,
    LS1,
    LS2,
    LS3,
    LSIZE,
    LT,
    LU1,
    LU2,
    LU3,
    LW,
    LX3,
    LY1,
    LY2,
    LY3,
    LZB,
    LZE,
    LZH,
    LZP1,
    LZP2,
    LZP3,
    LZQ,
    LZT,
    LZU1,
    LZU2,
    LZU3,
    LZW,
    MU1,
    MU2,
    MU3,
    MW,
    MY1,
    MY2,
    MY3,
    NX,
    NY,
    NZ,
    OFFSET,
    OWN_FLOOR,
    R0,
    R1,
    R2,
    R3,
    R4,
    R5,
    R6,
    R7,
    R8,
    R9,
    R10,
    R11,
    R12,
    R13,
    R14,
    THICKNESS,
    WX,
    WY,
    WZ,
    P,
    Q,
)  # fmt: skip
from shotwright.flight.lanes.rates import TINY, rates
from shotwright.flight.lanes.steps import FALL, FLOORED

Numbers = NDArray[np.float64]

DECAY = False  # replaced when the loops are compiled

AGAIN, UNSURE = 5.0, 0.0
_STEEP = 4e-3  # (m/s)^2 of the velocity across the plane; a grazing ball is flown with care
_SETTLED = 1e-6  # of a step, in Newton's last move; the error left is its square
_HEIGHT = 1e-4  # m between plane and floor at the crossing; nearer, the order is found with care


def septic(
    y0: float, u0: float, a0: float, j0: float, y1: float, u1: float, a1: float, j1: float
) -> tuple[float, float, float, float]:
    """Upper four coefficients of the septic on 0..1; the lower four are y0, u0, a0/2, j0/6.

    Parameters
    ----------
    y0, u0, a0, j0, y1, u1, a1, j1 : float
        Value and three rates by part of the step at both ends. [m]

    Returns
    -------
    tuple of float
        Of the fourth to the seventh power. [m]
    """
    half, sixth = 0.5 * a0, (1.0 / 6.0) * j0
    r0 = y1 - (y0 + u0 + half + sixth)
    r1 = u1 - (u0 + a0 + 0.5 * j0)
    r2 = a1 - (a0 + j0)
    r3 = j1 - j0
    return (
        35.0 * r0 - 15.0 * r1 + 2.5 * r2 - (1.0 / 6.0) * r3,
        -84.0 * r0 + 39.0 * r1 - 7.0 * r2 + 0.5 * r3,
        70.0 * r0 - 34.0 * r1 + 6.5 * r2 - 0.5 * r3,
        -20.0 * r0 + 10.0 * r1 - 2.0 * r2 + (1.0 / 6.0) * r3,
    )


def take_axes(ws: Numbers, par: Numbers) -> None:
    """Find again the axes and the ball of each flight that has ended."""
    density, float_part, gravity, own_floor = par[DENSITY], par[FLOAT_PART], par[GRAVITY], par[OWN_FLOOR]
    for i in range(LANES):
        sx, sy, sz = ws[LS1 + i], ws[LS2 + i], ws[LS3 + i]
        spin = math.sqrt(sx * sx + sy * sy + sz * sz)
        still = spin < 1e-12
        part = 1.0 / max(spin, 1e-12)
        ax = 0.0 if still else sx * part
        ay = -1.0 if still else sy * part
        az = 0.0 if still else sz * part
        level = math.sqrt(ax * ax + ay * ay)
        upright = level < 1e-9
        turn = 1.0 / max(level, 1e-9)
        ex = 1.0 if upright else -ay * turn
        ey = 0.0 if upright else ax * turn
        ws[EX + i] = ex
        ws[EY + i] = ey
        ws[FX + i] = -az * ey
        ws[FY + i] = az * ex
        ws[FZ + i] = ax * ey - ay * ex
        ws[AX + i] = ax
        ws[AY + i] = ay
        ws[AZ + i] = az
        m, d = ws[LMASS + i], ws[LSIZE + i]
        ws[LK + i] = 0.125 * density * math.pi * d * d / m
        ws[LG + i] = gravity * (1.0 - float_part * d * d * d / m)
        ws[LFLOOR + i] = own_floor if own_floor < 1e300 else 0.5 * d
        if not DECAY:
            w = 0.5 * d * spin
            ws[LW + i] = w
            ws[MW + i] = w
            ws[LZW + i] = w
            ws[LZQ + i] = w


def top(ws: Numbers, par: Numbers) -> None:
    """Place the top of each flight in the step that passes over it: height in R13, time in R14."""
    p, q, drag_part, lift_part = par[P], par[Q], par[DRAG_PART], par[LIFT_PART]
    decay_part, thickness, wz = par[DECAY_PART], par[THICKNESS], par[WZ]
    for i in range(LANES):
        k, g, fz, az = ws[LK + i], ws[LG + i], ws[FZ + i], ws[AZ + i]
        kd, kl, lam, rep = k * drag_part, k * lift_part, k * decay_part, thickness * ws[LSIZE + i]
        u1, u2, u3 = ws[LZP1 + i], ws[LZP2 + i], ws[LZP3 + i]
        _a, a2, a3, _b, _j, j2, j3 = rates(u1, u2, u3, ws[LZQ + i], kd, kl, p, q, lam, rep, g * fz, g * az)
        h = ws[LZH + i]
        h2, h3 = h * h, h * h * h
        z0, v0 = ws[LZB + i], h * (fz * u2 + az * u3 + wz)
        b0, i0 = h2 * (fz * a2 + az * a3), h3 * (fz * j2 + az * j3)
        u1, u2, u3 = ws[LZU1 + i], ws[LZU2 + i], ws[LZU3 + i]
        _a, a2, a3, _b, _j, j2, j3 = rates(u1, u2, u3, ws[LZW + i], kd, kl, p, q, lam, rep, g * fz, g * az)
        v1 = h * (fz * u2 + az * u3 + wz)
        c4, c5, c6, c7 = septic(
            z0, v0, b0, i0, ws[LZE + i], v1, h2 * (fz * a2 + az * a3), h3 * (fz * j2 + az * j3)
        )
        half = 0.5 * i0
        s = v0 / (v0 - v1 + TINY)
        for _ in range(3):
            slope = v0 + s * (
                b0 + s * (half + s * (4.0 * c4 + s * (5.0 * c5 + s * (6.0 * c6 + s * 7.0 * c7))))
            )
            bend = b0 + s * (i0 + s * (12.0 * c4 + s * (20.0 * c5 + s * (30.0 * c6 + s * 42.0 * c7))))
            s -= slope / (bend - TINY)
        value = s * (v0 + s * (0.5 * b0 + s * (half / 3.0 + s * (c4 + s * (c5 + s * (c6 + s * c7))))))
        ws[R13 + i] = z0 + value
        ws[R14 + i] = ws[LZT + i] + s * h


def cross(ws: Numbers, par: Numbers) -> None:
    """Place the end of each flight in its last step: time, place and velocity in its axes, and its code."""
    p, q, drag_part, lift_part = par[P], par[Q], par[DRAG_PART], par[LIFT_PART]
    decay_part, thickness, wx, wy, wz = par[DECAY_PART], par[THICKNESS], par[WX], par[WY], par[WZ]
    nx, ny, nz, offset = par[NX], par[NY], par[NZ], par[OFFSET]
    along = nx * wx + ny * wy + nz * wz
    for i in range(LANES):
        k, g, fz, az, floor = ws[LK + i], ws[LG + i], ws[FZ + i], ws[AZ + i], ws[LFLOOR + i]
        kd, kl, lam, rep = k * drag_part, k * lift_part, k * decay_part, thickness * ws[LSIZE + i]
        flag, h, t1 = ws[LFLAG + i], ws[LH + i], ws[LT + i]
        h2, h3 = h * h, h * h * h
        p1, p2, p3 = ws[MY1 + i], ws[MY2 + i], ws[MY3 + i]
        v1, v2, v3 = ws[MU1 + i], ws[MU2 + i], ws[MU3 + i]
        b1, b2, b3, rb, i1, i2, i3 = rates(v1, v2, v3, ws[MW + i], kd, kl, p, q, lam, rep, g * fz, g * az)
        v1, v2, v3 = h * v1, h * v2, h * v3
        b1, b2, b3 = h2 * b1, h2 * b2, h2 * b3
        i1, i2, i3 = h3 * i1, h3 * i2, h3 * i3
        u1, u2, u3 = ws[LU1 + i], ws[LU2 + i], ws[LU3 + i]
        a1, a2, a3, re, j1, j2, j3 = rates(u1, u2, u3, ws[LW + i], kd, kl, p, q, lam, rep, g * fz, g * az)
        c14, c15, c16, c17 = septic(p1, v1, b1, i1, ws[LY1 + i], h * u1, h2 * a1, h3 * j1)
        c24, c25, c26, c27 = septic(p2, v2, b2, i2, ws[LY2 + i], h * u2, h2 * a2, h3 * j2)
        c34, c35, c36, c37 = septic(p3, v3, b3, i3, ws[LY3 + i], h * u3, h2 * a3, h3 * j3)
        # the function that falls through zero: distance from the plane, or height above the floor
        falls = (flag == FALL) | (flag == FALL + FLOORED)
        n1 = ws[EX + i] * nx + ws[EY + i] * ny if falls else 0.0
        n2 = ws[FX + i] * nx + ws[FY + i] * ny + fz * nz if falls else fz
        n3 = ws[AX + i] * nx + ws[AY + i] * ny + az * nz if falls else az
        drift = along if falls else wz
        q0 = n1 * p1 + n2 * p2 + n3 * p3 + drift * (t1 - h) - (offset if falls else floor)
        q1 = n1 * v1 + n2 * v2 + n3 * v3 + drift * h
        q2 = 0.5 * (n1 * b1 + n2 * b2 + n3 * b3)
        q3 = (1.0 / 6.0) * (n1 * i1 + n2 * i2 + n3 * i3)
        q4 = n1 * c14 + n2 * c24 + n3 * c34
        q5 = n1 * c15 + n2 * c25 + n3 * c35
        q6 = n1 * c16 + n2 * c26 + n3 * c36
        q7 = n1 * c17 + n2 * c27 + n3 * c37
        # first guess: root of the parabola that touches at the step's end
        e0 = q0 + q1 + q2 + q3 + q4 + q5 + q6 + q7
        e1 = q1 + 2.0 * q2 + 3.0 * q3 + 4.0 * q4 + 5.0 * q5 + 6.0 * q6 + 7.0 * q7
        e2 = 2.0 * q2 + 6.0 * q3 + 12.0 * q4 + 20.0 * q5 + 30.0 * q6 + 42.0 * q7
        under = max(e1 * e1 - 2.0 * e2 * e0, 0.0)
        s = min(max(1.0 + 2.0 * e0 / (math.sqrt(under) - e1 + TINY), 0.0), 1.0)
        move, slope = 0.0, 0.0
        for _ in range(4):
            value = q0 + s * (q1 + s * (q2 + s * (q3 + s * (q4 + s * (q5 + s * (q6 + s * q7))))))
            slope = q1 + s * (
                2.0 * q2 + s * (3.0 * q3 + s * (4.0 * q4 + s * (5.0 * q5 + s * (6.0 * q6 + s * 7.0 * q7))))
            )
            move = value / (slope - TINY)
            s -= move
        sure = (
            (abs(move) < _SETTLED) & (slope * slope > _STEEP * h2) & (slope < 0.0) & (s >= 0.0) & (s <= 1.0)
        )
        late = flag > FALL + FLOORED
        s = 1.0 if late else s
        y1 = p1 + s * (
            v1 + s * (0.5 * b1 + s * ((1.0 / 6.0) * i1 + s * (c14 + s * (c15 + s * (c16 + s * c17)))))
        )
        y2 = p2 + s * (
            v2 + s * (0.5 * b2 + s * ((1.0 / 6.0) * i2 + s * (c24 + s * (c25 + s * (c26 + s * c27)))))
        )
        y3 = p3 + s * (
            v3 + s * (0.5 * b3 + s * ((1.0 / 6.0) * i3 + s * (c34 + s * (c35 + s * (c36 + s * c37)))))
        )
        per = 1.0 / h
        upper = 4.0 * c14 + s * (5.0 * c15 + s * (6.0 * c16 + s * 7.0 * c17))
        ws[CU1 + i] = per * (v1 + s * (b1 + s * (0.5 * i1 + s * upper)))
        upper = 4.0 * c24 + s * (5.0 * c25 + s * (6.0 * c26 + s * 7.0 * c27))
        ws[CU2 + i] = per * (v2 + s * (b2 + s * (0.5 * i2 + s * upper)))
        upper = 4.0 * c34 + s * (5.0 * c35 + s * (6.0 * c36 + s * 7.0 * c37))
        ws[CU3 + i] = per * (v3 + s * (b3 + s * (0.5 * i3 + s * upper)))
        ws[CY1 + i] = y1
        ws[CY2 + i] = y2
        ws[CY3 + i] = y3
        t = t1 - h + s * h
        ws[R0 + i] = t
        w = ws[LW + i]
        if DECAY:
            w0, r0, r1 = ws[MW + i], h * rb, h * re
            rise = w - w0
            w = w0 + s * (r0 + s * (3.0 * rise - 2.0 * r0 - r1 + s * (r0 + r1 - 2.0 * rise)))
        ws[CW + i] = w
        order = fz * y2 + az * y3 + wz * t - floor
        both = flag == FALL + FLOORED
        code = 4.0 if late else (1.0 if falls else 2.0)
        code = (UNSURE if abs(order) < _HEIGHT else (AGAIN if order < 0.0 else code)) if both else code
        ws[CODE + i] = code if sure | late else UNSURE


def report(ws: Numbers, par: Numbers) -> None:
    """Turn what was found into the field's axes, with acceleration, jerk and the greatest height."""
    p, q, drag_part, lift_part = par[P], par[Q], par[DRAG_PART], par[LIFT_PART]
    decay_part, thickness, wx, wy, wz = par[DECAY_PART], par[THICKNESS], par[WX], par[WY], par[WZ]
    for i in range(LANES):
        ex, ey, fx, fy, fz = ws[EX + i], ws[EY + i], ws[FX + i], ws[FY + i], ws[FZ + i]
        ax, ay, az = ws[AX + i], ws[AY + i], ws[AZ + i]
        k, g = ws[LK + i], ws[LG + i]
        u1, u2, u3 = ws[CU1 + i], ws[CU2 + i], ws[CU3 + i]
        a1, a2, a3, _b, j1, j2, j3 = rates(
            u1, u2, u3, ws[CW + i], k * drag_part, k * lift_part, p, q, k * decay_part,
            thickness * ws[LSIZE + i], g * fz, g * az,
        )  # fmt: skip
        t, y1, y2, y3 = ws[R0 + i], ws[CY1 + i], ws[CY2 + i], ws[CY3 + i]
        z = fz * y2 + az * y3 + wz * t
        ws[R1 + i] = ex * y1 + fx * y2 + ax * y3 + wx * t
        ws[R2 + i] = ey * y1 + fy * y2 + ay * y3 + wy * t
        ws[R3 + i] = z
        ws[R4 + i] = ex * u1 + fx * u2 + ax * u3 + wx
        ws[R5 + i] = ey * u1 + fy * u2 + ay * u3 + wy
        ws[R6 + i] = fz * u2 + az * u3 + wz
        ws[R7 + i] = ex * a1 + fx * a2 + ax * a3
        ws[R8 + i] = ey * a1 + fy * a2 + ay * a3
        ws[R9 + i] = fz * a2 + az * a3
        ws[R10 + i] = ex * j1 + fx * j2 + ax * j3
        ws[R11 + i] = ey * j1 + fy * j2 + ay * j3
        ws[R12 + i] = fz * j2 + az * j3
        start = ws[LX3 + i]
        peak, at = ws[R13 + i] + ws[LFLOOR + i], ws[R14 + i]
        over = (ws[LZH + i] > 0.0) & (at <= t) & (peak > start)
        high = peak if over else start
        when = at if over else 0.0
        ws[R13 + i] = z if z > high else high
        ws[R14 + i] = t if z > high else when
