r"""Speeds of a ball that drops from rest and of one that rises to rest, in air.

Straight down or up, with w = v^2 and s the way from the moment of rest:

    falling  dw/ds = 2 (g' - K C_D w),      rising, run backwards  dw/ds = 2 (g' + K C_D w).

Both begin with w = 0, so neither the impact speed of a drop nor the rebound speed of a rise needs a search.
With a constant C_D and c = K C_D: w = (g'/c) (1 - exp(-2 c s)) and (g'/c) (exp(2 c s) - 1).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.drag import drag_of
from shotwright.flight.launches import launch_arrays, state_rows
from shotwright.flight.model import FlightModel

FloatArray = NDArray[np.float64]

_STEPS = 200


def drop_speed(model: FlightModel, height: ArrayLike) -> FloatArray:
    """Speed of a ball that has dropped from rest.

    Parameters
    ----------
    model : FlightModel
        Ball and air; the wind is left out.
    height : float or array_like, shape (n,)
        Way that the ball fell. [m]

    Returns
    -------
    ndarray, shape (n,)
        [m/s]

    Raises
    ------
    BadInput
        A height that is not positive.

    References
    ----------
    For a constant C_D the closed form v = v_T sqrt(1 - exp(-2 g H / v_T^2)), textbook.
    """
    return _speeds(model, height, -1.0)


def rise_speed(model: FlightModel, height: ArrayLike) -> FloatArray:
    """Speed with which a ball must leave to rise to a height.

    Parameters
    ----------
    model : FlightModel
        Ball and air; the wind is left out.
    height : float or array_like, shape (n,)
        Way that the ball rises. [m]

    Returns
    -------
    ndarray, shape (n,)
        [m/s]

    Raises
    ------
    BadInput
        A height that is not positive.

    References
    ----------
    For a constant C_D the closed form v = v_T sqrt(exp(2 g h / v_T^2) - 1), textbook.
    """
    return _speeds(model, height, 1.0)


def drop_restitution(model: FlightModel, dropped: ArrayLike, rebounded: ArrayLike) -> FloatArray:
    r"""Coefficient of restitution from drop and rebound heights.

    .. math:: e = \frac{v_{after}(h)}{v_{before}(H)}, \quad \text{without air } e = \sqrt{h / H}

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    dropped, rebounded : float or array_like, shape (n,)
        Ways that the ball fell and rose, both of the same point of the ball. [m]

    Returns
    -------
    ndarray, shape (n,)
        [-]

    Raises
    ------
    BadInput
        A height that is not positive.

    Examples
    --------
    >>> from shotwright.flight.model import flight_model
    >>> from shotwright.game.records import Ball, CoefficientLaw, Weather
    >>> ball = Ball("b", 0.04, 0.0027, CoefficientLaw("constant", 0.45), CoefficientLaw("none"))
    >>> model = flight_model(ball, Weather(), density=1.225, buoyancy=False)
    >>> round(float(drop_restitution(model, 0.305, 0.250)[0]), 6)
    0.938128
    """
    return rise_speed(model, rebounded) / drop_speed(model, dropped)


def _speeds(model: FlightModel, height: ArrayLike, sign: float) -> FloatArray:
    heights = np.atleast_1d(np.asarray(height, dtype=float))
    if not (np.isfinite(heights).all() and (heights > 0).all()):
        bad = heights[~(np.isfinite(heights) & (heights > 0))][0]
        raise BadInput(f"{bad:g} m is not a height; it must be greater than zero", field="height")
    _, bodies = state_rows(model, launch_arrays(model, (0, 0, 0), (0, 0, 0), (0, 0, 0)))
    factor, gravity, reynolds = bodies[0, 0], bodies[0, 2], bodies[0, 4]

    def slope(w: float) -> float:
        speed = math.sqrt(max(w, 0.0))
        return float(2.0 * (gravity + sign * factor * drag_of(model.drag, reynolds * speed, 0.0) * w))

    return np.array([math.sqrt(_integral(slope, float(way))) for way in heights])


def _integral(slope: Callable[[float], float], way: float) -> float:
    """Square of the speed after `way`, by the classical fourth-order rule from w = 0."""
    w, h = 0.0, way / _STEPS
    for _ in range(_STEPS):
        k1 = slope(w)
        k2 = slope(w + 0.5 * h * k1)
        k3 = slope(w + 0.5 * h * k2)
        k4 = slope(w + h * k3)
        w += h * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0
    return w
