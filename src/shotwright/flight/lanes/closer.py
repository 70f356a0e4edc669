"""A closer look at a step in which a ball may have passed the plane twice."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.layout import (
    D0,
    D1,
    D2,
    N1,
    N2,
    N3,
    PITCH,
    PU1,
    PU2,
    PU3,
    PY1,
    PY2,
    PY3,
    STAGES,
    H,
    T,
)  # fmt: skip

Numbers = NDArray[np.float64]

CERTAIN = 2e-4  # m; more than the error of the quintic in the longest step


def closer(ws: Numbers, i: int, wind_n: float, offset: float) -> int:
    """Decide whether the distance falls through zero in the last step of a lane.

    Parameters
    ----------
    ws : ndarray
        The array. [SI]
    i : int
        The lane.
    wind_n, offset : float
        Wind across the plane [m/s] and the plane's offset [m].

    Returns
    -------
    int
        1, 0, or -1 where it is not certain.
    """
    h = ws[H + i]
    n1, n2, n3 = ws[N1 + i], ws[N2 + i], ws[N3 + i]
    d0 = n1 * ws[PY1 + i] + n2 * ws[PY2 + i] + n3 * ws[PY3 + i] + wind_n * (ws[T + i] - h) - offset
    v0 = h * (n1 * ws[PU1 + i] + n2 * ws[PU2 + i] + n3 * ws[PU3 + i] + wind_n)
    a0 = h * (n1 * ws[STAGES + i] + n2 * ws[STAGES + PITCH + i] + n3 * ws[STAGES + 2 * PITCH + i])
    d1, v1, a1 = ws[D0 + i], h * ws[D1 + i], h * h * ws[D2 + i]
    b1 = d0 + 0.2 * v0
    b2 = d0 + 0.4 * v0 + 0.05 * a0
    b3 = d1 - 0.4 * v1 + 0.05 * a1
    b4 = d1 - 0.2 * v1
    low, high = min(b1, b2, b3, b4), max(b1, b2, b3, b4)
    found = -1
    if (min(d0, d1) > 0.0 and low > 0.0) or (max(d0, d1) <= 0.0 and high < -CERTAIN):
        found = 0
    elif max(d0, d1) <= 0.0 and v0 > 0.0 and v1 < 0.0 and a0 < 0.0 and a1 < 0.0:
        r0 = d1 - d0 - v0 - 0.5 * a0
        r1 = v1 - v0 - a0
        r2 = a1 - a0
        c3 = 10.0 * r0 - 4.0 * r1 + 0.5 * r2
        c4 = -15.0 * r0 + 7.0 * r1 - r2
        c5 = 6.0 * r0 - 3.0 * r1 + 0.5 * r2
        s = v0 / (v0 - v1)
        for _ in range(3):
            slope = v0 + s * (a0 + s * (3.0 * c3 + s * (4.0 * c4 + s * 5.0 * c5)))
            bend = a0 + s * (6.0 * c3 + s * (12.0 * c4 + s * 20.0 * c5))
            s = min(max(s - slope / min(bend, -1e-30), 0.0), 1.0)
        top = d0 + s * (v0 + s * (0.5 * a0 + s * (c3 + s * (c4 + s * c5))))
        if top > CERTAIN:
            found = 1
        elif top < -CERTAIN:
            found = 0
    return found
