"""The path of one flight at many times, quick enough to be asked for some hundred times in one fit.

The flight room's equations of motion by the classical Runge-Kutta formula of order four with steps of 0.04 s,
and the cubic through place and velocity between them: within 1e-6 m of the flight room's own path for balls
of a competition. A test holds it against that.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.launches import launch_arrays, state_rows
from shotwright.flight.model import FlightModel
from shotwright.flight.motion import Body, acceleration

FloatArray = NDArray[np.float64]

_STEP = 0.04  # s


def quick_path(model: FlightModel, velocity: FloatArray, spin: FloatArray, times: FloatArray) -> FloatArray:
    """Way from the release point at some times.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    velocity, spin : ndarray, shape (3,)
        At release. [m/s], [rad/s]
    times : ndarray, shape (k,)
        Since release, not negative. [s]

    Returns
    -------
    ndarray, shape (k, 3)
        [m]
    """
    starts, bodies = state_rows(model, launch_arrays(model, np.zeros(3), velocity, spin))
    body = Body(*bodies[0].tolist())
    longest = float(np.max(times))
    steps = max(2, math.ceil(longest / _STEP))
    h = longest / steps
    rows = [_row(starts[0].tolist(), body)]
    state = starts[0].tolist()
    for _ in range(steps):
        state = _step(state, h, model, body)
        rows.append(_row(state, body))
    nodes = np.array(rows)
    k = np.minimum((times / h).astype(int), steps - 1) if h > 0 else np.zeros(len(times), dtype=int)
    s = (times / h - k)[:, None] if h > 0 else np.zeros((len(times), 1))
    a, b = nodes[k], nodes[k + 1]
    # cubic through places (columns 0 to 2) and velocities (3 to 5) at both ends
    here = (1 + 2 * s) * (1 - s) ** 2 * a[:, :3] + s * s * (3 - 2 * s) * b[:, :3]
    return np.asarray(here + h * (s * (1 - s) ** 2 * a[:, 3:] - s * s * (1 - s) * b[:, 3:]))


def _row(state: list[float], body: Body) -> list[float]:
    x, y, z, ux, uy, uz, _ = state
    return [x, y, z, ux + body.wind_x, uy + body.wind_y, uz + body.wind_z]


def _rate(state: list[float], model: FlightModel, body: Body) -> list[float]:
    ux, uy, uz = state[3], state[4], state[5]
    ax, ay, az, aw = acceleration(ux, uy, uz, state[6], body, model.drag, model.lift)
    return [ux + body.wind_x, uy + body.wind_y, uz + body.wind_z, ax, ay, az, aw]


def _step(state: list[float], h: float, model: FlightModel, body: Body) -> list[float]:
    one = _rate(state, model, body)
    two = _rate([v + 0.5 * h * r for v, r in zip(state, one, strict=True)], model, body)
    three = _rate([v + 0.5 * h * r for v, r in zip(state, two, strict=True)], model, body)
    four = _rate([v + h * r for v, r in zip(state, three, strict=True)], model, body)
    return [
        v + h / 6.0 * (a + 2.0 * (b + c) + d)
        for v, a, b, c, d in zip(state, one, two, three, four, strict=True)
    ]
