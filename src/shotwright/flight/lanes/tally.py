"""Which of many flights pass an opening clear of its edge, without looking closely at most of them.

Let D be the distance from the edge at which the ball's centre crosses the plane, at the angle f to it. Every
point of the straight path at time t is at least max(D, v |t|) sin f away from the edge, and the path bends
away from it by at most a t^2/2. That decides most balls. Of the others the least distance of the cubic
through place, velocity, acceleration and jerk at the crossing is found, by a few moves of Newton's method
from the straight path's; a ball that this leaves nearer than `SURE` to touching is looked at with care by
`edge_distance`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.layout import LANES, PITCH, VALUES

Numbers = NDArray[np.float64]

SURE = 2e-5  # m
LONGEST = 0.3  # s, each side of the crossing, as in `edge_distance`
# of 64 flights: time, place, velocity, acceleration, jerk in the field's axes, diameter
RAW = 0
# path coefficients in the opening's axes u, w, n; times that count; least square of the distance; inside;
# radius of the ball; verdict; time of the moves
(
    P1, P2, V1, V2, V3, A1, A2, A3, J1, J2, J3, EARLY, LATE, LEAST, INSIDE, BALL, VERDICT, NOW,
) = range(14 * PITCH, 32 * PITCH, PITCH)  # fmt: skip
TALLY = 32 * PITCH
LANE = LANES - 1
_ROUNDS = 4
_TINY = 1e-300


def tally(
    ws: Numbers,
    count: int,
    status: NDArray[np.uint8],
    values: Numbers,
    diameter: Numbers,
    frame: Numbers,
    width: float,
    sides: Numbers,
    ring: bool,
    picked: NDArray[np.int64],
    unsure: NDArray[np.int64],
) -> tuple[int, int]:
    """Count hits.

    Parameters
    ----------
    ws : ndarray
        `TALLY` numbers to work in. [SI]
    count : int
        Number of flights.
    status, values : ndarray
        As `driver.fly_lanes` gives them. [-], [SI]
    diameter : ndarray
        Of each ball. [m]
    frame : ndarray, shape (12,)
        Directions u, w, n, and the opening's centre. [-], [m]
    width : float
        Greatest width of the opening. [m]
    sides : ndarray, shape (4 k,)
        As `edge_distance.Side`. [m]
    ring : bool
        Whether the edge is a ring.
    picked : ndarray, shape (64,)
        To work in. [-]
    unsure : ndarray, shape (2 count + 2,)
        Takes the numbers of flights that must be looked at with care. [-]

    Returns
    -------
    tuple of int
        Hits among the others, and how many are unsure.
    """
    hits, doubts, filled, looked = 0, 0, 0, 0
    for k in range(count):
        code = int(status[k])
        picked[filled & LANE] = k
        filled += 1 if code == 1 else 0
        unsure[doubts] = k
        doubts += 1 if code == 0 else 0
        if filled == LANES or k == count - 1:
            fetch_ends(ws, filled, picked, values, diameter)
            turn_into(ws, frame, width)
            judge(ws, sides, ring)
            # a block of flights that must be looked at comes together from several blocks
            for c in range(filled):
                hits += 1 if ws[VERDICT + c] > 0.0 else 0
            left = 0
            for c in range(filled):
                ended = picked[c]
                picked[left & LANE] = ended
                left += 1 if ws[VERDICT + c] == 0.0 else 0
            for c in range(left):
                unsure[count + 1 + looked] = picked[c & LANE]
                looked += 1
            filled = 0
    first = count + 1
    while looked > 0:
        filled = min(looked, LANES)
        for c in range(filled):
            picked[c] = unsure[first + c]
        fetch_ends(ws, filled, picked, values, diameter)
        turn_into(ws, frame, width)
        if ring:
            near_ring(ws, sides[0])
        else:
            for i in range(0, len(sides), 4):
                near_side(ws, sides[i], sides[i + 1], sides[i + 2], sides[i + 3])
        for c in range(filled):
            clear = math.sqrt(ws[LEAST + c]) - ws[BALL + c]
            hits += 1 if clear > SURE else 0
            unsure[doubts] = picked[c]
            doubts += 1 if abs(clear) <= SURE else 0
        first += filled
        looked -= filled
    return hits, doubts


def fetch_ends(
    ws: Numbers, count: int, picked: NDArray[np.int64], values: Numbers, diameter: Numbers
) -> None:
    """Bring what is known of the picked flights' crossings into the array.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    count : int
        How many.
    picked : ndarray
        Their numbers. [-]
    values : ndarray
        As `driver.fly_lanes` gives them. [SI]
    diameter : ndarray
        Of each ball. [m]
    """
    for c in range(count):
        k = picked[c] & ((1 << 40) - 1)  # tells the compiler that it is not negative
        for r in range(13):
            ws[RAW + r * PITCH + c] = values[VALUES * k + r]
        ws[RAW + 13 * PITCH + c] = diameter[k]


def turn_into(ws: Numbers, frame: Numbers, width: float) -> None:
    """Turn the paths into the opening's axes.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    frame : ndarray, shape (12,)
        Directions u, w, n, and the opening's centre. [-], [m]
    width : float
        Greatest width of the opening. [m]
    """
    ux, uy, uz, wx, wy, wz = frame[0], frame[1], frame[2], frame[3], frame[4], frame[5]
    nx, ny, nz, cx, cy, cz = frame[6], frame[7], frame[8], frame[9], frame[10], frame[11]
    for i in range(LANES):
        x, y, z = ws[PITCH + i] - cx, ws[2 * PITCH + i] - cy, ws[3 * PITCH + i] - cz
        ws[P1 + i] = ux * x + uy * y + uz * z
        ws[P2 + i] = wx * x + wy * y + wz * z
        x, y, z = ws[4 * PITCH + i], ws[5 * PITCH + i], ws[6 * PITCH + i]
        ws[V1 + i] = ux * x + uy * y + uz * z
        ws[V2 + i] = wx * x + wy * y + wz * z
        ws[V3 + i] = nx * x + ny * y + nz * z
        span = min(1.2 * width / math.sqrt(x * x + y * y + z * z + _TINY), LONGEST)
        ws[LATE + i] = span
        ws[EARLY + i] = -min(span, ws[i])
        x, y, z = 0.5 * ws[7 * PITCH + i], 0.5 * ws[8 * PITCH + i], 0.5 * ws[9 * PITCH + i]
        ws[A1 + i] = ux * x + uy * y + uz * z
        ws[A2 + i] = wx * x + wy * y + wz * z
        ws[A3 + i] = nx * x + ny * y + nz * z
        sixth = 1.0 / 6.0
        x, y, z = sixth * ws[10 * PITCH + i], sixth * ws[11 * PITCH + i], sixth * ws[12 * PITCH + i]
        ws[J1 + i] = ux * x + uy * y + uz * z
        ws[J2 + i] = wx * x + wy * y + wz * z
        ws[J3 + i] = nx * x + ny * y + nz * z
        ws[LEAST + i] = 1e300
        ws[INSIDE + i] = -1.0
        ws[BALL + i] = 0.5 * ws[13 * PITCH + i]


def judge(ws: Numbers, sides: Numbers, ring: bool) -> None:
    """Decide what can be decided at once: 1 in VERDICT for a hit, -1 for a miss, 0 where it can't.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    sides : ndarray, shape (4 k,)
        As `edge_distance.Side`. [m]
    ring : bool
        Whether the edge is a ring.
    """
    if ring:
        radius = sides[0]
        for i in range(LANES):
            gap = radius - math.sqrt(ws[P1 + i] * ws[P1 + i] + ws[P2 + i] * ws[P2 + i])
            ws[LEAST + i] = gap * gap
            ws[INSIDE + i] = 1.0 if gap > 0.0 else -1.0
    else:
        for k in range(0, len(sides), 4):
            u1, w1, du, dw = sides[k], sides[k + 1], sides[k + 2] - sides[k], sides[k + 3] - sides[k + 1]
            per = 1.0 / (du * du + dw * dw)
            rise = du / dw if dw != 0.0 else 0.0
            for i in range(LANES):
                x, y = ws[P1 + i] - u1, ws[P2 + i] - w1
                crosses = ((y < 0.0) != (y - dw < 0.0)) & (x < y * rise)
                share = min(max((x * du + y * dw) * per, 0.0), 1.0)
                x, y = x - share * du, y - share * dw
                ws[LEAST + i] = min(ws[LEAST + i], x * x + y * y)
                inside = ws[INSIDE + i]
                ws[INSIDE + i] = -inside if crosses else inside
    for i in range(LANES):
        v1, v2, v3 = ws[V1 + i], ws[V2 + i], ws[V3 + i]
        a1, a2, a3, j1, j2, j3 = ws[A1 + i], ws[A2 + i], ws[A3 + i], ws[J1 + i], ws[J2 + i], ws[J3 + i]
        late, radius = ws[LATE + i], ws[BALL + i]
        square = v1 * v1 + v2 * v2 + v3 * v3 + _TINY
        # the coefficients are a/2 and j/6
        bend = math.sqrt(a1 * a1 + a2 * a2 + a3 * a3) + late * math.sqrt(j1 * j1 + j2 * j2 + j3 * j3)
        speed = math.sqrt(square)
        gap, steep = math.sqrt(ws[LEAST + i]), abs(v3) / speed
        near = gap * steep - bend * gap * gap / square
        far = late * (speed * steep - bend * late)
        misses = (ws[INSIDE + i] < 0.0) | (gap < radius)
        hits = min(near, far) > radius
        ws[VERDICT + i] = -1.0 if misses else (1.0 if hits else 0.0)


def near_side(ws: Numbers, u1: float, w1: float, u2: float, w2: float) -> None:
    """Take one straight side into account.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    u1, w1, u2, w2 : float
        The side's ends. [m]
    """
    du, dw = u2 - u1, w2 - w1
    length = math.sqrt(du * du + dw * dw)
    eu, ew = du / length, dw / length
    for i in range(LANES):
        v1, v2, v3 = ws[V1 + i], ws[V2 + i], ws[V3 + i]
        square, along = v1 * v1 + v2 * v2 + v3 * v3 + _TINY, v1 * eu + v2 * ew
        x, y = ws[P1 + i] - u1, ws[P2 + i] - w1
        # the straight path: nearest to the side's line, then to the nearest point of the side itself
        e = x * eu + y * ew
        t = (e * along - (x * v1 + y * v2)) / (square - along * along + _TINY)
        share = min(max(e + t * along, 0.0), length)
        t = ((share * eu - x) * v1 + (share * ew - y) * v2) / square
        ws[NOW + i] = min(max(t, ws[EARLY + i]), ws[LATE + i])
    for _ in range(_ROUNDS):
        for i in range(LANES):
            v1, v2, v3, t = ws[V1 + i], ws[V2 + i], ws[V3 + i], ws[NOW + i]
            a1, a2, a3, j1, j2, j3 = ws[A1 + i], ws[A2 + i], ws[A3 + i], ws[J1 + i], ws[J2 + i], ws[J3 + i]
            r1 = ws[P1 + i] - u1 + t * (v1 + t * (a1 + t * j1))
            r2 = ws[P2 + i] - w1 + t * (v2 + t * (a2 + t * j2))
            r3 = t * (v3 + t * (a3 + t * j3))
            s1, s2 = v1 + t * (2.0 * a1 + 3.0 * t * j1), v2 + t * (2.0 * a2 + 3.0 * t * j2)
            s3 = v3 + t * (2.0 * a3 + 3.0 * t * j3)
            e = r1 * eu + r2 * ew
            share = min(max(e, 0.0), length)
            r1, r2 = r1 - share * eu, r2 - share * ew
            ws[LEAST + i] = min(ws[LEAST + i], r1 * r1 + r2 * r2 + r3 * r3)
            slide = s1 * eu + s2 * ew
            free = slide if (e > 0.0) & (e < length) else 0.0
            square = s1 * s1 + s2 * s2 + s3 * s3
            bend = square - free * free + 2.0 * (r1 * a1 + r2 * a2 + r3 * a3)
            slope = r1 * s1 + r2 * s2 + r3 * s3
            t -= slope / max(bend, 0.1 * square + _TINY)
            ws[NOW + i] = min(max(t, ws[EARLY + i]), ws[LATE + i])


def near_ring(ws: Numbers, radius: float) -> None:
    """Take a ring into account: from the points at which the path's shadow passes over and under it.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    radius : float
        Of the ring. [m]
    """
    for way in range(3):
        for i in range(LANES):
            p1, p2, v1, v2, v3 = ws[P1 + i], ws[P2 + i], ws[V1 + i], ws[V2 + i], ws[V3 + i]
            flat = v1 * v1 + v2 * v2
            # the shadow leaves the ring at p + v x; the path is nearest at about flat/|v|^2 of that time
            half = p1 * v1 + p2 * v2
            root = math.sqrt(max(half * half + flat * (radius * radius - p1 * p1 - p2 * p2), 0.0))
            t = ((way - 1.0) * root - half) / (flat + v3 * v3 + _TINY) if way != 1 else 0.0
            ws[NOW + i] = min(max(t, ws[EARLY + i]), ws[LATE + i])
        for _ in range(_ROUNDS):
            for i in range(LANES):
                v1, v2, v3, t = ws[V1 + i], ws[V2 + i], ws[V3 + i], ws[NOW + i]
                a1, a2, a3, j1, j2, j3 = (
                    ws[A1 + i],
                    ws[A2 + i],
                    ws[A3 + i],
                    ws[J1 + i],
                    ws[J2 + i],
                    ws[J3 + i],
                )
                x = ws[P1 + i] + t * (v1 + t * (a1 + t * j1))
                y = ws[P2 + i] + t * (v2 + t * (a2 + t * j2))
                z = t * (v3 + t * (a3 + t * j3))
                s1, s2 = v1 + t * (2.0 * a1 + 3.0 * t * j1), v2 + t * (2.0 * a2 + 3.0 * t * j2)
                s3 = v3 + t * (2.0 * a3 + 3.0 * t * j3)
                per = 1.0 / math.sqrt(x * x + y * y + _TINY)
                off = 1.0 / per - radius
                ws[LEAST + i] = min(ws[LEAST + i], off * off + z * z)
                rate = (x * s1 + y * s2) * per
                turn = (s1 * s1 + s2 * s2 + 2.0 * (x * a1 + y * a2) - rate * rate) * per
                slope = off * rate + z * s3
                bend = rate * rate + off * turn + s3 * s3 + 2.0 * z * a3
                t -= slope / max(bend, 0.1 * (s1 * s1 + s2 * s2 + s3 * s3) + _TINY)
                ws[NOW + i] = min(max(t, ws[EARLY + i]), ws[LATE + i])
