"""The equations of motion of a point ball.

    dv/dt = -g' z - K |u| (C_D u - C_L (s x u)),   dw/dt = -|u| w / L

Axes: field frame, z up. u = v - wind is the velocity relative to the air, s the unit vector of the spin,
w = |spin| >= 0, K = rho A / (2 m). C_D and C_L belong to Re = rho |u| D / mu and S = r w / |u|. The direction
of the spin stays. g' = g (1 - rho V / m) when buoyancy counts. The wind is uniform and steady, so u obeys the
same equation as v.

This text runs compiled for a batch and plain for one flight: floats and tuples only.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from shotwright.flight.drag import drag_of
from shotwright.flight.laws import PackedLaw
from shotwright.flight.lift import lift_of

# place x y z, velocity relative to the air x y z, magnitude of the spin
State = tuple[float, float, float, float, float, float, float]
# acceleration x y z, rate of the spin's magnitude
Rate = tuple[float, float, float, float]

_STILL = 1e-9  # m/s; at rest in the air the spin parameter has no value, and no force needs it


class Body(NamedTuple):
    """One ball in one air: every constant of its equations of motion.

    Parameters
    ----------
    force_factor : float
        K = rho A / (2 m). [1/m]
    radius : float
        [m]
    gravity : float
        g', less the buoyancy. [m/s^2]
    decay : float
        1/L of the spin; 0 keeps it. [1/m]
    reynolds_per_speed : float
        rho D / mu. [s/m]
    axis_x, axis_y, axis_z : float
        Unit vector of the spin; zero without spin. [-]
    wind_x, wind_y, wind_z : float
        Where the air moves to. [m/s]
    """

    force_factor: float
    radius: float
    gravity: float
    decay: float
    reynolds_per_speed: float
    axis_x: float
    axis_y: float
    axis_z: float
    wind_x: float
    wind_y: float
    wind_z: float


def acceleration(
    ux: float, uy: float, uz: float, spin: float, body: Body, drag: PackedLaw, lift: PackedLaw
) -> Rate:
    """Acceleration of the ball and rate of its spin.

    Parameters
    ----------
    ux, uy, uz : float
        Velocity relative to the air. [m/s]
    spin : float
        Magnitude of the spin. [rad/s]
    body : Body
        The ball in this air.
    drag, lift : PackedLaw
        Its coefficients.

    Returns
    -------
    Rate
        Acceleration [m/s^2] and rate of the spin [rad/s^2].
    """
    speed = math.sqrt(ux * ux + uy * uy + uz * uz)
    spin_parameter = body.radius * spin / max(speed, _STILL)
    pull = body.force_factor * speed
    d = pull * drag_of(drag, body.reynolds_per_speed * speed, spin_parameter)
    c = pull * lift_of(lift, spin_parameter)
    return (
        -d * ux + c * (body.axis_y * uz - body.axis_z * uy),
        -d * uy + c * (body.axis_z * ux - body.axis_x * uz),
        -d * uz + c * (body.axis_x * uy - body.axis_y * ux) - body.gravity,
        -body.decay * speed * spin,
    )


def jerk(
    state: State, rate: Rate, body: Body, drag: PackedLaw, lift: PackedLaw
) -> tuple[float, float, float]:
    """Rate of the acceleration along the flight, by a central difference of the equations of motion.

    Parameters
    ----------
    state : State
        Place, velocity relative to the air, spin.
    rate : Rate
        Acceleration and spin rate at `state`.
    body : Body
        The ball in this air.
    drag, lift : PackedLaw
        Its coefficients.

    Returns
    -------
    tuple of float
        Jerk, good to about 1e-9 of its size. [m/s^3]
    """
    e = 1e-5  # s: truncation e^2 and rounding 1e-16/e are both near 1e-10
    _, _, _, ux, uy, uz, w = state
    ax, ay, az, aw = rate
    x2, y2, z2, _ = acceleration(ux + e * ax, uy + e * ay, uz + e * az, w + e * aw, body, drag, lift)
    x1, y1, z1, _ = acceleration(ux - e * ax, uy - e * ay, uz - e * az, w - e * aw, body, drag, lift)
    return 0.5 * (x2 - x1) / e, 0.5 * (y2 - y1) / e, 0.5 * (z2 - z1) / e
