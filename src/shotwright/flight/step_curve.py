"""The course of one step between two states, as curves in Bernstein form.

The distance from a plane, or a coordinate of the place, over one step of the integrator is taken as the
quintic through value, first and second rate at both ends. Its six control values enclose the curve. `s` runs
from 0 at the step's begin to 1 at its end.

This text runs compiled for a batch and plain for one flight: floats and tuples only.
"""

from __future__ import annotations

from typing import NamedTuple

from shotwright.flight.motion import Body, Rate, State

MARGIN = 1e-5  # m; a hundred times the largest error of the quintic at the largest step
_NOISE = 1e-13  # m; control values nearer than this do not count as a change of direction

Controls = tuple[float, float, float, float, float, float]


class Plane(NamedTuple):
    """The plane n . x = offset; the front is where n points.

    Parameters
    ----------
    x, y, z : float
        Unit normal n. [-]
    offset : float
        [m]
    """

    x: float
    y: float
    z: float
    offset: float


def distance(plane: Plane, state: State, rate: Rate, body: Body) -> tuple[float, float, float]:
    """Distance of the ball's centre in front of the plane, and its first two rates.

    Parameters
    ----------
    plane : Plane
        The plane.
    state : State
        Place, velocity relative to the air, spin.
    rate : Rate
        Acceleration and spin rate.
    body : Body
        The ball in this air.

    Returns
    -------
    tuple of float
        [m], [m/s], [m/s^2].
    """
    px, py, pz, ux, uy, uz, _ = state
    ax, ay, az, _ = rate
    return (
        plane.x * px + plane.y * py + plane.z * pz - plane.offset,
        plane.x * (ux + body.wind_x) + plane.y * (uy + body.wind_y) + plane.z * (uz + body.wind_z),
        plane.x * ax + plane.y * ay + plane.z * az,
    )


def controls(begin: tuple[float, float, float], end: tuple[float, float, float], h: float) -> Controls:
    """Bernstein control values of the quintic through value, slope and curvature at both ends.

    Parameters
    ----------
    begin, end : tuple of float
        Value [m], first rate [m/s], second rate [m/s^2].
    h : float
        Length of the step. [s]

    Returns
    -------
    tuple of float
        Six control values. [m]
    """
    d0, v0, a0 = begin
    d1, v1, a1 = end
    return (
        d0,
        d0 + 0.2 * h * v0,
        d0 + 0.4 * h * v0 + 0.05 * h * h * a0,
        d1 - 0.4 * h * v1 + 0.05 * h * h * a1,
        d1 - 0.2 * h * v1,
        d1,
    )


def path_controls(
    state: State, rate: Rate, end: State, end_rate: Rate, h: float, body: Body
) -> tuple[Controls, Controls, Controls]:
    """Control values of the ball's path over a step.

    Parameters
    ----------
    state, rate, end, end_rate : State, Rate
        At the step's begin and end.
    h : float
        Length of the step. [s]
    body : Body
        The ball in this air.

    Returns
    -------
    tuple of Controls
        For x, y and z. [m]
    """
    x, y, z = Plane(1.0, 0.0, 0.0, 0.0), Plane(0.0, 1.0, 0.0, 0.0), Plane(0.0, 0.0, 1.0, 0.0)
    return (
        controls(distance(x, state, rate, body), distance(x, end, end_rate, body), h),
        controls(distance(y, state, rate, body), distance(y, end, end_rate, body), h),
        controls(distance(z, state, rate, body), distance(z, end, end_rate, body), h),
    )


def value_at(c: Controls, s: float) -> float:
    """Value of the curve at part `s` of the step.

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]
    s : float
        0 to 1. [-]

    Returns
    -------
    float
        [m]
    """
    r = 1.0 - s
    return r * r * r * (r * r * c[0] + 5.0 * r * s * c[1] + 10.0 * s * s * c[2]) + s * s * s * (
        10.0 * r * r * c[3] + 5.0 * r * s * c[4] + s * s * c[5]
    )


def slope_at(c: Controls, s: float) -> float:
    """Slope of the curve by part of the step, at part `s`.

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]
    s : float
        0 to 1. [-]

    Returns
    -------
    float
        [m]
    """
    r = 1.0 - s
    return 5.0 * (
        r * r * (r * r * (c[1] - c[0]) + 4.0 * r * s * (c[2] - c[1]) + 6.0 * s * s * (c[3] - c[2]))
        + s * s * s * (4.0 * r * (c[4] - c[3]) + s * (c[5] - c[4]))
    )


def bend_at(c: Controls, s: float) -> float:
    """Second rate of the curve by part of the step, at part `s`.

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]
    s : float
        0 to 1. [-]

    Returns
    -------
    float
        [m]
    """
    r = 1.0 - s
    return 20.0 * (
        r * r * (r * (c[2] - 2.0 * c[1] + c[0]) + 3.0 * s * (c[3] - 2.0 * c[2] + c[1]))
        + s * s * (3.0 * r * (c[4] - 2.0 * c[3] + c[2]) + s * (c[5] - 2.0 * c[4] + c[3]))
    )


def changes_of_direction(c: Controls) -> int:
    """Count the sign changes between control values: at least as many as the curve turns (Descartes).

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]

    Returns
    -------
    int
        0 and 1 are exact.
    """
    count, last = 0, 0.0
    for difference in (c[1] - c[0], c[2] - c[1], c[3] - c[2], c[4] - c[3], c[5] - c[4]):
        if abs(difference) > _NOISE:
            if last * difference < 0.0:
                count += 1
            last = difference
    return count


def clears(c: Controls) -> bool:
    """Whether the curve certainly stays on one side of zero.

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]

    Returns
    -------
    bool
        False when it may touch zero.
    """
    least = min(c[0], c[1], c[2], c[3], c[4], c[5])
    most = max(c[0], c[1], c[2], c[3], c[4], c[5])
    return least > MARGIN or most < -MARGIN
