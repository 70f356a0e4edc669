"""Launches into lanes: from the field's axes into each flight's own, with all that stays the same."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.layout import (
    A1,
    A2,
    A3,
    D0,
    D1,
    D2,
    DECAY_PART,
    DENSITY,
    DRAG_PART,
    E2,
    E3,
    F0,
    F1,
    F2,
    FLOAT_PART,
    FLOOR,
    GRAVITY,
    KD,
    KL,
    LAM,
    LANES,
    LIFT_PART,
    MASS,
    N1,
    N2,
    N3,
    NEXT,
    NX,
    NY,
    NZ,
    OFFSET,
    OWN_FLOOR,
    REP,
    S1,
    S2,
    S3,
    SIZE,
    START,
    THICKNESS,
    U1,
    U2,
    U3,
    V1,
    V2,
    V3,
    WX,
    WY,
    WZ,
    X1,
    X2,
    X3,
    Y1,
    Y2,
    Y3,
    B,
    G,
    P,
    Q,
    W,
)  # fmt: skip
from shotwright.flight.lanes.rates import pull

Numbers = NDArray[np.float64]

_ON_FLOOR = 1e-6  # m; a ball that starts nearer than this to the floor or the plane is flown with care
_ON_PLANE = 1e-10
_SLOW = 0.05  # m/s


def prepare(ws: Numbers, par: Numbers) -> None:
    """Make the first rows of the next flights from their launches, and mark those that are delicate.

    Parameters
    ----------
    ws : ndarray
        The array; reads X1 to SIZE, writes START and the rows of NEXT. [SI]
    par : ndarray
        What is the same for all flights. [SI]
    """
    p, q, drag_part, lift_part, decay_part = par[P], par[Q], par[DRAG_PART], par[LIFT_PART], par[DECAY_PART]
    density, float_part, gravity, thickness = par[DENSITY], par[FLOAT_PART], par[GRAVITY], par[THICKNESS]
    own_floor, wx, wy, wz = par[OWN_FLOOR], par[WX], par[WY], par[WZ]
    nx, ny, nz, offset = par[NX], par[NY], par[NZ], par[OFFSET]
    for i in range(LANES):
        sx, sy, sz = ws[S1 + i], ws[S2 + i], ws[S3 + i]
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
        fx, fy, fz = -az * ey, az * ex, ax * ey - ay * ex
        m, d = ws[MASS + i], ws[SIZE + i]
        area = 0.25 * math.pi * d * d
        k = 0.5 * density * area / m
        g = gravity * (1.0 - float_part * d * d * d / m)
        w = 0.5 * d * spin
        vx, vy, vz = ws[V1 + i] - wx, ws[V2 + i] - wy, ws[V3 + i] - wz
        x, y, z = ws[X1 + i], ws[X2 + i], ws[X3 + i]
        u1, u2, u3 = ex * vx + ey * vy, fx * vx + fy * vy + fz * vz, ax * vx + ay * vy + az * vz
        kd, kl, lam, rep = k * drag_part, k * lift_part, k * decay_part, thickness * d
        g2, g3 = g * fz, g * az
        a1, a2, a3, b = pull(u1, u2, u3, w, kd, kl, p, q, lam, rep, g2, g3)
        floor = own_floor if own_floor < 1e300 else 0.5 * d
        e0 = nx * x + ny * y + nz * z - offset
        f0 = z - floor
        ws[NEXT + Y1 + i] = ex * x + ey * y
        ws[NEXT + Y2 + i] = fx * x + fy * y + fz * z
        ws[NEXT + Y3 + i] = ax * x + ay * y + az * z
        ws[NEXT + U1 + i] = u1
        ws[NEXT + U2 + i] = u2
        ws[NEXT + U3 + i] = u3
        ws[NEXT + W + i] = w
        ws[NEXT + A1 + i] = a1
        ws[NEXT + A2 + i] = a2
        ws[NEXT + A3 + i] = a3
        ws[NEXT + B + i] = b
        ws[NEXT + D0 + i] = e0
        ws[NEXT + D1 + i] = nx * ws[V1 + i] + ny * ws[V2 + i] + nz * ws[V3 + i]
        n1, n2, n3 = ex * nx + ey * ny, fx * nx + fy * ny + fz * nz, ax * nx + ay * ny + az * nz
        ws[NEXT + D2 + i] = n1 * a1 + n2 * a2 + n3 * a3
        ws[NEXT + F0 + i] = f0
        ws[NEXT + F1 + i] = ws[V3 + i]
        ws[NEXT + F2 + i] = fz * a2 + az * a3
        ws[NEXT + KD + i] = kd
        ws[NEXT + KL + i] = kl
        ws[NEXT + LAM + i] = lam
        ws[NEXT + REP + i] = rep
        ws[NEXT + G + i] = g
        ws[NEXT + N1 + i] = n1
        ws[NEXT + N2 + i] = n2
        ws[NEXT + N3 + i] = n3
        ws[NEXT + E2 + i] = fz
        ws[NEXT + E3 + i] = az
        ws[NEXT + FLOOR + i] = floor
        hard = (f0 < _ON_FLOOR) | (abs(e0) < _ON_PLANE) | (u1 * u1 + u2 * u2 + u3 * u3 < _SLOW * _SLOW)
        ws[START + i] = 1.0 if hard else 0.0
