"""How far a law may be passed in one step of the formula: how widely a polynomial still follows it.

The formula is of order eight: it follows what a polynomial of that degree can follow. A law of the Reynolds
number is asked, at every place, over how wide a range of the logarithm of speed the force C_D |u|^2 is a
polynomial of degree eight to one part in a hundred thousand. The step is then a fixed part of the time the
ball needs for that range. A law that bends sharply is passed in short steps there and in long ones elsewhere.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.layout import BY_REYNOLDS, WIDTHS

FloatArray = NDArray[np.float64]

_DEGREE = 8
_ALLOWED = 1e-5
_WIDEST = 2.0
_RATIO = 0.85


@functools.cache
def widths(law: Callable[[float], float]) -> FloatArray:
    """Half-width of the range of ln(speed) over which the force of a law is nearly a polynomial.

    Parameters
    ----------
    law : callable
        Coefficient of the Reynolds number.

    Returns
    -------
    ndarray, shape (256,)
        For Reynolds numbers k / `BY_REYNOLDS` to (k + 1) / `BY_REYNOLDS`; the last goes on. [-]
    """
    edges = np.arange(WIDTHS + 1) / BY_REYNOLDS
    edges[0] = 0.3 * edges[1]
    at = np.array([width_at(law, float(x)) for x in np.log(edges)])
    at[-1] = min(at[-1], *(width_at(law, math.log(edges[-1]) + k) for k in (0.5, 1.0, 2.0)))
    return np.asarray(np.minimum(at[:-1], at[1:]))


def width_at(law: Callable[[float], float], x: float) -> float:
    """Half-width around ln(Re) = `x`.

    Parameters
    ----------
    law : callable
        Coefficient of the Reynolds number.
    x : float
        Natural logarithm of the Reynolds number. [-]

    Returns
    -------
    float
        Largest half-width at which the force is nearly a polynomial; 0.02 at least. [-]
    """
    width = _WIDEST
    while width > 0.02:
        s = width * _NODES
        force = np.array([law(math.exp(x + one)) for one in s.tolist()]) * np.exp(2.0 * s)
        if np.abs(_REST @ force).max() <= _ALLOWED * np.abs(force).max():
            return width
        width *= _RATIO
    return width


_NODES = np.cos(np.pi * (np.arange(2 * _DEGREE) + 0.5) / (2 * _DEGREE))
_POLYNOMIALS = np.polynomial.chebyshev.chebvander(_NODES, _DEGREE)
# what is left of the values after their best polynomial
_REST = np.eye(len(_NODES)) - _POLYNOMIALS @ np.linalg.pinv(_POLYNOMIALS)
