"""Where the numbers of 64 flights lie: one flat array, 64 numbers for each quantity.

A quantity's name is the place of its first number; flight i of a block of 64 has it at name + i. Known places
let the compiler see that no two quantities overlap, which it must know to use vector instructions.

Places and directions of a flight are kept in its own axes: e3 along the spin, e1 level, e2 the third. There
the lift has two components and the gravity too, and the air is at rest: the frame moves with the wind.
"""

from __future__ import annotations

LANES = 64
PITCH = 72  # from one quantity to the next; a multiple of 512 bytes would crowd few places of the cache


def _rows(names: str, first: int) -> tuple[tuple[int, ...], int]:
    count = len(names.split())
    return tuple(first + PITCH * k for k in range(count)), first + PITCH * count


# state at the end of the last step: place [m], velocity in the air [m/s], surface speed of the spin [m/s]
(Y1, Y2, Y3, U1, U2, U3, W), _next = _rows("Y1 Y2 Y3 U1 U2 U3 W", 0)
ENDS = 7
# their rates; distance in front of the plane and height above the floor, with two rates
(A1, A2, A3, B, D0, D1, D2, F0, F1, F2), _next = _rows("A1 A2 A3 B D0 D1 D2 F0 F1 F2", _next)
# normal of the plane, direction of height, number of the flight
(N1, N2, N3, E2, E3, ID), _next = _rows("N1 N2 N3 E2 E3 ID", _next)
ALIKE_ROWS = _next // PITCH  # what a new flight brings along when all balls are alike
# the ball: drag and lift factors [1/m], spin decay [1/m], Reynolds number by speed [s/m], gravity [m/s^2],
# height of its centre on the floor [m]
(KD, KL, LAM, REP, G, FLOOR), _next = _rows("KD KL LAM REP G FLOOR", _next)
FLIGHT_ROWS = _next // PITCH
# time [s], step [s], and the state at the step's begin
(T, H, PY1, PY2, PY3, PU1, PU2, PU3, PW), _next = _rows("T H PY1 PY2 PY3 PU1 PU2 PU3 PW", _next)
# the step over the top: velocities and heights at its end and its begin, its length and begin, spin
(ZU1, ZU2, ZU3, ZP1, ZP2, ZP3, ZE, ZB, ZH, ZT, ZW, ZQ), _next = _rows("z " * 12, _next)
(FLAG,), _next = _rows("FLAG", _next)
LANE_ROWS = _next // PITCH

# of one step only: factors times the step, and the stages
(HK, HL, HQ, HG2, HG3, HLAM, WIDTH), _next = _rows("h " * 7, _next)
STAGES = _next
STAGE_ROWS = 48
_next += STAGE_ROWS * PITCH

# flights that are next, as in the first rows, and what they are made from
NEXT = _next
_next += FLIGHT_ROWS * PITCH
(X1, X2, X3, V1, V2, V3, S1, S2, S3, MASS, SIZE), _next = _rows("x " * 11, _next)
(START,), _next = _rows("START", _next)

# flights that have ended: both ends of the last step, the top, and what they were made from
(LY1, LY2, LY3, LU1, LU2, LU3, LW), _next = _rows("l " * 7, _next)
(MY1, MY2, MY3, MU1, MU2, MU3, MW), _next = _rows("m " * 7, _next)
(LZU1, LZU2, LZU3, LZP1, LZP2, LZP3, LZE, LZB, LZH, LZT, LZW, LZQ), _next = _rows("z " * 12, _next)
(LT, LH, LFLAG, LID), _next = _rows("LT LH LFLAG LID", _next)
(LS1, LS2, LS3, LX3, LMASS, LSIZE), _next = _rows("s " * 6, _next)
ENDED_ROWS = 30  # from LY1 to LID
# their axes and balls
(EX, EY, FX, FY, FZ, AX, AY, AZ, LK, LG, LFLOOR), _next = _rows("e " * 11, _next)
# what is found: place and velocity in the flight's axes, spin, then the values to hand back
(CY1, CY2, CY3, CU1, CU2, CU3, CW, CODE), _next = _rows("c " * 8, _next)
(R0, R1, R2, R3, R4, R5, R6, R7, R8, R9, R10, R11, R12, R13, R14), _next = _rows("r " * 15, _next)
VALUES = 15  # time, place, velocity, acceleration, jerk, apex height, apex time
WORKSPACE = _next

# one number each, the same for all flights of a call: step, lift law, parts of a ball's factors, plane
(
    ETA, NEAR, WIDE, LONGEST, LIMIT, P, Q, DRAG_PART, LIFT_PART, DECAY_PART, DENSITY, FLOAT_PART, GRAVITY,
    THICKNESS, OWN_FLOOR, WX, WY, WZ, NX, NY, NZ, OFFSET,
) = range(22)  # fmt: skip
SETTINGS = 22
WIDTHS = 256  # how widely a law may be passed in one step, by Reynolds number
BY_REYNOLDS = 1.0 / 2500.0
