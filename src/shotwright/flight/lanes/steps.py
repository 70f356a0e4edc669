"""Begin and end of a step for all lanes: its length, the rates at its end, what may have happened in it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.layout import (
    A1,
    A2,
    A3,
    BY_REYNOLDS,
    D0,
    D1,
    D2,
    E2,
    E3,
    ETA,
    F0,
    F1,
    F2,
    FLAG,
    FLOOR,
    HG2,
    HG3,
    HK,
    HL,
    HLAM,
    HQ,
    KD,
    KL,
    LAM,
    LANES,
    LIMIT,
    LONGEST,
    N1,
    N2,
    N3,
    NEAR,
    PITCH,
    PU1,
    PU2,
    PU3,
    PW,
    REP,
    STAGES,
    U1,
    U2,
    U3,
    WIDE,
    WIDTH,
    WIDTHS,
    Y1,
    Y2,
    Y3,
    ZB,
    ZE,
    ZH,
    ZP1,
    ZP2,
    ZP3,
    ZQ,
    ZT,
    ZU1,
    ZU2,
    ZU3,
    ZW,
    B,
    G,
    H,
    Q,
    T,
    W,
)  # fmt: skip
from shotwright.flight.lanes.rates import TINY, pull

Numbers = NDArray[np.float64]

DECAY = False  # replaced when the loops are compiled, as is the next
BENT = False  # whether the drag coefficient changes with speed

FALL, FLOORED, LATE, LOOK, HARD = 1.0, 2.0, 4.0, 8.0, 16.0
SHORTEST = 2e-3  # s; shorter steps are needed only where a ball nearly rests in the air
_SWIFT = 0.7  # s: a drag that slows a ball in less than a second asks for shorter steps
_SAG = 0.2  # of a h^2; a curve lies within 1/8 of that of its chord when a does not change


def begin_step(ws: Numbers, par: Numbers, widths: Numbers) -> None:
    """Choose each lane's step, and make the factors and the first stage.

    |u|/|a| is about the time to the nearest moment, real or complex, at which the speed is zero; there the
    drag is not smooth. The step goes with its root.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    par : ndarray
        What is the same for all flights. [SI]
    widths : ndarray
        As `smoothness.widths` gives them. [-]
    """
    eta, near, wide, longest, limit, q = par[ETA], par[NEAR], par[WIDE], par[LONGEST], par[LIMIT], par[Q]
    if BENT:
        for i in range(LANES):
            u1, u2, u3 = ws[U1 + i], ws[U2 + i], ws[U3 + i]
            reynolds = ws[REP + i] * math.sqrt(u1 * u1 + u2 * u2 + u3 * u3)
            ws[WIDTH + i] = min(reynolds * BY_REYNOLDS, WIDTHS - 1.0)
        for i in range(LANES):  # a look-up table can't be read by vector instructions
            ws[WIDTH + i] = wide * widths[int(ws[WIDTH + i])]
    for i in range(LANES):
        u1, u2, u3 = ws[U1 + i], ws[U2 + i], ws[U3 + i]
        a1, a2, a3 = ws[A1 + i], ws[A2 + i], ws[A3 + i]
        square, pull2 = u1 * u1 + u2 * u2 + u3 * u3, a1 * a1 + a2 * a2 + a3 * a3 + TINY
        speed, rest = math.sqrt(square), math.sqrt(square / pull2)
        swift = 1.0 + _SWIFT * ws[KD + i] * speed
        h = min(eta * math.sqrt(rest / swift), near * rest, longest, limit - ws[T + i])
        if BENT:
            # the logarithm of speed moves by r h + c h^2 / 2
            width, r = ws[WIDTH + i], abs(u1 * a1 + u2 * a2 + u3 * a3)
            h = min(h, 2.0 * width * square / (r + math.sqrt(r * r + 2.0 * width * square * pull2) + TINY))
        ws[H + i] = h
        ws[HK + i] = h * ws[KD + i]
        ws[HL + i] = h * ws[KL + i] if DECAY else h * ws[KL + i] * ws[W + i]
        g = h * ws[G + i]
        ws[HG2 + i] = g * ws[E2 + i]
        ws[HG3 + i] = g * ws[E3 + i]
        ws[STAGES + i] = h * a1
        ws[STAGES + PITCH + i] = h * a2
        ws[STAGES + 2 * PITCH + i] = h * a3
        if DECAY:
            ws[HLAM + i] = h * ws[LAM + i]
            ws[STAGES + 3 * PITCH + i] = h * ws[B + i]
        else:
            ws[HQ + i] = q * ws[W + i] + TINY


def end_step(ws: Numbers, p: float, q: float) -> None:
    """Take the rates at the step's end and move the time on.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    p, q : float
        Of the lift law. [-]
    """
    for i in range(LANES):
        g = ws[G + i]
        a1, a2, a3, b = pull(
            ws[U1 + i], ws[U2 + i], ws[U3 + i], ws[W + i], ws[KD + i], ws[KL + i], p, q,
            ws[LAM + i], ws[REP + i], g * ws[E2 + i], g * ws[E3 + i],
        )  # fmt: skip
        ws[A1 + i] = a1
        ws[A2 + i] = a2
        ws[A3 + i] = a3
        if DECAY:
            ws[B + i] = b
        ws[T + i] += ws[H + i]


def look(ws: Numbers, wind_n: float, wind_z: float, offset: float, limit: float) -> None:
    """Mark the lanes in which something happened in the step, and keep the step over the top.

    A distance with known rates at both ends lies within a h^2/8 of its chord, a the largest second rate.
    What this does not decide is marked `LOOK`, or `HARD` where the flight must be flown with more care.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    wind_n, wind_z : float
        Wind across the plane and upwards. [m/s]
    offset : float
        Of the plane. [m]
    limit : float
        [s]
    """
    for i in range(LANES):
        n1, n2, n3 = ws[N1 + i], ws[N2 + i], ws[N3 + i]
        t, h = ws[T + i], ws[H + i]
        y2, y3 = ws[Y2 + i], ws[Y3 + i]
        u2, u3 = ws[U2 + i], ws[U3 + i]
        a2, a3 = ws[A2 + i], ws[A3 + i]
        d0, d1, d2 = ws[D0 + i], ws[D1 + i], ws[D2 + i]
        e0 = n1 * ws[Y1 + i] + n2 * y2 + n3 * y3 + wind_n * t - offset
        e1 = n1 * ws[U1 + i] + n2 * u2 + n3 * u3 + wind_n
        e2 = n1 * ws[A1 + i] + n2 * a2 + n3 * a3
        ws[D0 + i] = e0
        ws[D1 + i] = e1
        ws[D2 + i] = e2
        low = _SAG * h * h * max(d2, e2, 0.0)
        high = -_SAG * h * h * min(d2, e2, 0.0)
        front = min(d0, e0) > 0.0
        behind = max(d0, e0) <= 0.0
        bent = d2 * e2 < 0.0
        falls = (d0 > 0.0) & (e0 <= 0.0)
        near = min(abs(d0), abs(e0)) < low + high
        # tangents at both ends enclose an arch from above
        peak = d0 + d1 * (e0 - d0 - e1 * h) / (d1 - e1 + 1e-300)
        arch = behind & (max(d0, e0) > -high) & (((d1 > 0.0) & (e1 < 0.0) & (peak > -1e-3)) | bent)
        flag = FALL if falls else 0.0
        dip = front & (min(d0, e0) <= low) & (((d1 < 0.0) & (e1 > 0.0)) | bent)
        flag += LOOK if dip | arch | (bent & near & ((d0 > 0.0) != (e0 > 0.0))) else 0.0

        f0, f1, f2, top = ws[F0 + i], ws[F1 + i], ws[F2 + i], ws[ZH + i]
        k2, k3 = ws[E2 + i], ws[E3 + i]
        r0 = k2 * y2 + k3 * y3 + wind_z * t - ws[FLOOR + i]
        r1 = k2 * u2 + k3 * u3 + wind_z
        r2 = k2 * a2 + k3 * a3
        ws[F0 + i] = r0
        ws[F1 + i] = r1
        ws[F2 + i] = r2
        flag += FLOORED if r0 <= 0.0 else 0.0
        sag = _SAG * h * h * max(f2, r2, 0.0)
        odd = (r0 > 0.0) & (min(f0, r0) <= sag)
        turns = (f1 > 0.0) & (r1 <= 0.0)
        # a second top, or a height that bends both ways: rare, and flown again with care
        odd = odd | (turns & (top > 0.0)) | ((f2 * r2 <= 0.0) & ((f1 > 0.0) != (r1 > 0.0)))
        last = t >= limit
        flag += LATE if last else 0.0
        flag += HARD if odd | ((h < SHORTEST) & (not last)) else 0.0
        ws[FLAG + i] = flag
        # all are read before the choice: a read that depends on it would stop the vector instructions
        old1, old2, old3, old4 = ws[ZU1 + i], ws[ZU2 + i], ws[ZU3 + i], ws[ZE + i]
        old5, old6, old7, old8 = ws[ZP1 + i], ws[ZP2 + i], ws[ZP3 + i], ws[ZB + i]
        u1, p1, p2, p3, old9 = ws[U1 + i], ws[PU1 + i], ws[PU2 + i], ws[PU3 + i], ws[ZT + i]
        ws[ZU1 + i] = u1 if turns else old1
        ws[ZU2 + i] = u2 if turns else old2
        ws[ZU3 + i] = u3 if turns else old3
        ws[ZE + i] = r0 if turns else old4
        ws[ZP1 + i] = p1 if turns else old5
        ws[ZP2 + i] = p2 if turns else old6
        ws[ZP3 + i] = p3 if turns else old7
        ws[ZB + i] = f0 if turns else old8
        ws[ZH + i] = h if turns else top
        ws[ZT + i] = t - h if turns else old9
        if DECAY:
            w, pw, old_w, old_q = ws[W + i], ws[PW + i], ws[ZW + i], ws[ZQ + i]
            ws[ZW + i] = w if turns else old_w
            ws[ZQ + i] = pw if turns else old_q
