"""All flights of a chunk through the lanes: whoever ends makes room for the next."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.begin import prepare
from shotwright.flight.lanes.closer import closer
from shotwright.flight.lanes.formula import stages, sum_up
from shotwright.flight.lanes.landing import AGAIN, cross, report, take_axes, top
from shotwright.flight.lanes.layout import (
    ALIKE_ROWS,
    CODE,
    ENDED_ROWS,
    FLAG,
    FLIGHT_ROWS,
    ID,
    LANE_ROWS,
    LANES,
    LFLAG,
    LH,
    LID,
    LIMIT,
    LMASS,
    LS1,
    LS2,
    LS3,
    LSIZE,
    LT,
    LX3,
    LY1,
    LZU1,
    MASS,
    MY1,
    NEXT,
    NX,
    NY,
    NZ,
    OFFSET,
    PITCH,
    PY1,
    R0,
    S1,
    S2,
    S3,
    SIZE,
    START,
    V1,
    V2,
    V3,
    VALUES,
    WX,
    WY,
    WZ,
    X1,
    X2,
    X3,
    Y1,
    ZH,
    ZU1,
    H,
    P,
    Q,
    T,
)  # fmt: skip
from shotwright.flight.lanes.steps import FALL, FLOORED, HARD, LATE, LOOK, begin_step, end_step, look

Numbers = NDArray[np.float64]

DECAY = False  # replaced when the loops are compiled

# `& LANE` and `& FLIGHT` change nothing: they tell the compiler that a place is not negative, so that it need
# not look for places counted from the end
LANE = LANES - 1
FLIGHT = (1 << 40) - 1


def fetch(
    ws: Numbers,
    first: int,
    count: int,
    place: Numbers,
    velocity: Numbers,
    spin: Numbers,
    mass: Numbers,
    size: Numbers,
    steps: NDArray[np.int64],
) -> None:
    """Bring launches into the array; `steps` lead to the next flight of each input, the last to y and z.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    first, count : int
        First flight, and how many.
    place, velocity, spin : ndarray
        Launches, flat. [m], [m/s], [rad/s]
    mass, size : ndarray
        Mass and diameter of the balls. [kg], [m]
    steps : ndarray, shape (6,)
        From each input to its next flight, and from an axis to the next. [-]
    """
    for c in range(count):
        k = (first + c) & FLIGHT
        a, b, e, f = k * steps[0], k * steps[1], k * steps[2], steps[5]
        ws[X1 + c] = place[a]
        ws[X2 + c] = place[a + f]
        ws[X3 + c] = place[a + 2 * f]
        ws[V1 + c] = velocity[b]
        ws[V2 + c] = velocity[b + f]
        ws[V3 + c] = velocity[b + 2 * f]
        ws[S1 + c] = spin[e]
        ws[S2 + c] = spin[e + f]
        ws[S3 + c] = spin[e + 2 * f]
        ws[MASS + c] = mass[k * steps[3]]
        ws[SIZE + c] = size[k * steps[4]]
        ws[NEXT + ID + c] = k


def settle(
    ws: Numbers,
    count: int,
    place: Numbers,
    spin: Numbers,
    mass: Numbers,
    size: Numbers,
    steps: NDArray[np.int64],
    par: Numbers,
    status: NDArray[np.uint8],
    values: Numbers,
) -> int:
    """Land `count` flights and write them out; return how many must land once more, on the floor.

    Parameters
    ----------
    ws : ndarray
        The array; flights that have ended stand in its rows for landing. [SI]
    count : int
        How many.
    place, spin : ndarray
        Launches, flat. [m], [rad/s]
    mass, size : ndarray
        Mass and diameter of the balls. [kg], [m]
    steps : ndarray, shape (6,)
        From each input to its next flight, and from an axis to the next. [-]
    par : ndarray
        Numbers that all flights share, as `layout` names them. [SI]
    status, values : ndarray
        Written: how each flight ended, and its crossing. [-], [SI]

    Returns
    -------
    int
        How many met the plane's level outside and go on to the floor.
    """
    for c in range(count):
        k = int(ws[LID + c]) & FLIGHT
        e, f = k * steps[2], steps[5]
        ws[LS1 + c] = spin[e]
        ws[LS2 + c] = spin[e + f]
        ws[LS3 + c] = spin[e + 2 * f]
        ws[LX3 + c] = place[k * steps[0] + 2 * f]
        ws[LMASS + c] = mass[k * steps[3]]
        ws[LSIZE + c] = size[k * steps[4]]
    take_axes(ws, par)
    top(ws, par)
    cross(ws, par)
    report(ws, par)
    kept = 0
    for c in range(count):
        k = int(ws[LID + c]) & FLIGHT
        code = ws[CODE + c]
        status[k] = int(code)
        for r in range(VALUES):
            values[VALUES * k + r] = ws[R0 + r * PITCH + c]
        if code == AGAIN:
            for r in range(ENDED_ROWS):
                ws[LY1 + r * PITCH + kept] = ws[LY1 + r * PITCH + c]
            ws[LFLAG + kept] = FLOORED
            kept += 1
    return kept


def keep(ws: Numbers, lane: int, row: int, flag: float) -> None:
    """Move what the landing needs of a lane to the flights that have ended.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    lane, row : int
        From which lane, to which place among those that have ended.
    flag : float
        Which event ended it. [-]
    """
    i, landed = lane & LANE, row & LANE
    for r in range(7 if DECAY else 6):
        ws[LY1 + r * PITCH + landed] = ws[Y1 + r * PITCH + i]
        ws[MY1 + r * PITCH + landed] = ws[PY1 + r * PITCH + i]
    for r in range(12 if DECAY else 10):
        ws[LZU1 + r * PITCH + landed] = ws[ZU1 + r * PITCH + i]
    ws[LT + landed] = ws[T + i]
    ws[LH + landed] = ws[H + i]
    ws[LFLAG + landed] = flag - LATE if flag > LATE else flag
    ws[LID + landed] = ws[ID + i]


def fly_lanes(
    first: int,
    last: int,
    place: Numbers,
    velocity: Numbers,
    spin: Numbers,
    mass: Numbers,
    size: Numbers,
    steps: NDArray[np.int64],
    par: Numbers,
    widths: Numbers,
    ws: Numbers,
    ended: NDArray[np.int64],
    status: NDArray[np.uint8],
    values: Numbers,
) -> None:
    """Fly flights `first` to `last`; status 0 is left where a flight must be flown with more care.

    Parameters
    ----------
    first, last : int
        Numbers of the flights, the last one left out.
    place, velocity, spin : ndarray
        Launches, flat. [m], [m/s], [rad/s]
    mass, size : ndarray
        Mass and diameter of the balls. [kg], [m]
    steps : ndarray, shape (6,)
        From each input to its next flight, and from an axis to the next. [-]
    par : ndarray
        Numbers that all flights share, as `layout` names them. [SI]
    widths : ndarray
        Steps by the law's smoothness. [-]
    ws : ndarray
        The array to work in. [SI]
    ended : ndarray
        Lanes whose flight has ended; to work in. [-]
    status, values : ndarray
        Written: how each flight ended, and its crossing. [-], [SI]
    """
    p, q, limit = par[P], par[Q], par[LIMIT]
    wind_n = par[NX] * par[WX] + par[NY] * par[WY] + par[NZ] * par[WZ]
    alike = steps[3] == 0 and steps[4] == 0
    coming, ready, taken, landed, lanes = first, 0, 0, 0, 0
    # all lanes are asked for a flight at first, later those that have ended
    count = LANES
    for i in range(LANES):
        ended[i] = i
    while count > 0 or lanes > 0:
        c = 0
        while c < count and (taken < ready or coming < last):
            if taken == ready:
                ready = min(LANES, last - coming)
                taken = 0
                fetch(ws, coming, ready, place, velocity, spin, mass, size, steps)
                prepare(ws, par)
                if alike and coming == first:
                    for r in range(ALIKE_ROWS, FLIGHT_ROWS):
                        for i in range(LANES):
                            ws[r * PITCH + i] = ws[NEXT + r * PITCH]
                coming += ready
            new = taken & LANE
            if ws[START + new] == 0.0:
                i = ended[c] & LANE
                for r in range(ALIKE_ROWS):
                    ws[r * PITCH + i] = ws[NEXT + r * PITCH + new]
                if not alike:
                    for r in range(ALIKE_ROWS, FLIGHT_ROWS):
                        ws[r * PITCH + i] = ws[NEXT + r * PITCH + new]
                ws[T + i] = 0.0
                ws[ZH + i] = 0.0
                lanes = max(lanes, i + 1)
                c += 1
            else:
                status[int(ws[NEXT + ID + new]) & FLIGHT] = 0
            taken += 1
        # no flights are left: close the gaps from the end
        while count > c:
            count -= 1
            i = ended[count]
            if i < lanes:
                lanes -= 1
                if i < lanes:
                    for r in range(LANE_ROWS):
                        ws[r * PITCH + i] = ws[r * PITCH + lanes]
        count = 0
        if lanes > 0:
            begin_step(ws, par, widths)
            stages(ws, p, q)
            sum_up(ws)
            end_step(ws, p, q)
            look(ws, wind_n, par[WZ], par[OFFSET], limit)
            marked = 0
            for i in range(lanes):
                ended[marked & LANE] = i
                marked += 1 if ws[FLAG + i] != 0.0 else 0
            for c in range(marked):
                i = ended[c] & LANE
                flag = ws[FLAG + i]
                if flag >= LOOK and flag < HARD:
                    found = closer(ws, i, wind_n, par[OFFSET])
                    flag -= LOOK
                    if found == 1:  # an arch: both ends lie behind, so that no fall is marked yet
                        flag += FALL
                    if found < 0:
                        flag = HARD
                if flag >= HARD:
                    status[int(ws[ID + i]) & FLIGHT] = 0
                elif flag > 0.0:
                    keep(ws, i, landed, flag)
                    landed += 1
                    # where a whole block falls short of the plane, all of it lands once more
                    while landed == LANES:
                        landed = settle(ws, landed, place, spin, mass, size, steps, par, status, values)
                if flag > 0.0:
                    ended[count & LANE] = i
                    count += 1
    while landed > 0:
        landed = settle(ws, landed, place, spin, mass, size, steps, par, status, values)
