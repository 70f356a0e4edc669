"""Begin and end of a step for all lanes: its length, the rates at its end, and what may have happened in it."""

from __future__ import annotations

import math

from numpy.typing import NDArray
import numpy as np

from shotwright.flight.lanes.layout import (
    A1, A2, A3, B, D0, D1, D2, E2, E3, F0, F1, F2, FLAG, FLOOR, G, H, HG2, HG3, HK, HL, HLAM, HQ, KD, KL, LAM, LANES, N1, N2, N3, PITCH, PU1, PU2, PU3, PW, REP, STAGES, T, U1, U2, U3, W, Y1, Y2, Y3, ZB, ZE, ZH, ZP1, ZP2, ZP3, ZQ, ZT, ZU1, ZU2, ZU3, ZW,
)  # fmt: skip
from shotwright.flight.lanes.rates import TINY, pull

Numbers = NDArray[np.float64]

DECAY = False  # replaced when the loops are compiled

FALL, FLOORED, LATE, LOOK, HARD = 1.0, 2.0, 4.0, 8.0, 16.0
SHORTEST = 2e-3  # s; shorter steps are needed only where a ball nearly rests in the air
_SAG = 0.2  # of a h^2; a curve lies within 1/8 of that of its chord when a does not change


def begin_step(ws: Numbers, q: float, eta: float, near: float, longest: float, limit: float) -> None:
    for i in range(LANES):
        u1, u2, u3 = ws[U1 + i], ws[U2 + i], ws[U3 + i]
        a1, a2, a3 = ws[A1 + i], ws[A2 + i], ws[A3 + i]
        rest = math.sqrt((u1 * u1 + u2 * u2 + u3 * u3) / (a1 * a1 + a2 * a2 + a3 * a3 + 1e-30))
        h = min(min(eta * math.sqrt(rest), near * rest), min(longest, limit - ws[T + i]))
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
        low = _SAG * h * h * max(max(d2, e2), 0.0)
        high = -_SAG * h * h * min(min(d2, e2), 0.0)
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
        sag = _SAG * h * h * max(max(f2, r2), 0.0)
        odd = (r0 > 0.0) & (min(f0, r0) <= sag)
        turns = (f1 > 0.0) & (r1 <= 0.0)
        # a second top, or a height that bends both ways: rare, and flown again with care
        odd = odd | (turns & (top > 0.0)) | ((f2 * r2 <= 0.0) & ((f1 > 0.0) != (r1 > 0.0)))
        last = t >= limit
        flag += LATE if last else 0.0
        flag += HARD if odd | ((h < SHORTEST) & (not last)) else 0.0
        ws[FLAG + i] = flag
        ws[ZU1 + i] = ws[U1 + i] if turns else ws[ZU1 + i]
        ws[ZU2 + i] = u2 if turns else ws[ZU2 + i]
        ws[ZU3 + i] = u3 if turns else ws[ZU3 + i]
        ws[ZP1 + i] = ws[PU1 + i] if turns else ws[ZP1 + i]
        ws[ZP2 + i] = ws[PU2 + i] if turns else ws[ZP2 + i]
        ws[ZP3 + i] = ws[PU3 + i] if turns else ws[ZP3 + i]
        ws[ZE + i] = r0 if turns else ws[ZE + i]
        ws[ZB + i] = f0 if turns else ws[ZB + i]
        ws[ZH + i] = h if turns else top
        ws[ZT + i] = t - h if turns else ws[ZT + i]
        if DECAY:
            ws[ZW + i] = ws[W + i] if turns else ws[ZW + i]
            ws[ZQ + i] = ws[PW + i] if turns else ws[ZQ + i]
