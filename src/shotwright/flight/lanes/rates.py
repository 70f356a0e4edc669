"""Acceleration and jerk of a ball in its own axes, for the loops over lanes.

    a = (-D u1 - C u2, -D u2 + C u1 - g2, -D u3 - g3),   D = K C_D |u|,   C = K C_L |u|

with u the velocity in the air and e3 along the spin. Every lift law here is n S / (p + q S), S = W/|u|, W the
surface speed of the spin: C = (K n W) |u| / (p |u| + q W). The jerk is the exact rate of a along the flight.
"""

from __future__ import annotations

import math

from shotwright.flight.lanes.elementary import exponential, logarithm

TINY = 1e-30  # keeps 0/0 away where there is neither speed nor spin


def steady(speed: float, reynolds_per_speed: float) -> tuple[float, float]:
    """Drag coefficient 1 and its slope: the constant is part of the drag factor.

    Parameters
    ----------
    speed : float
        [m/s]
    reynolds_per_speed : float
        [s/m]

    Returns
    -------
    tuple of float
        Coefficient [-], rate by speed [s/m].
    """
    return 1.0 + 0.0 * speed * reynolds_per_speed, 0.0


def falling(speed: float, reynolds_per_speed: float) -> tuple[float, float]:
    """Drag coefficient of `drag.drag_crisis` and its slope.

    Parameters
    ----------
    speed : float
        [m/s]
    reynolds_per_speed : float
        [s/m]

    Returns
    -------
    tuple of float
        Coefficient [-], rate by speed [s/m].
    """
    x = reynolds_per_speed * speed * (1.0 / 1.2e5)
    x2 = x * x
    x4 = x2 * x2
    x7 = x4 * x2 * x
    m = 1.0 / (1.0 + x7 * x)
    return 0.30 + 0.20 * m, -0.20 * 8.0 / 1.2e5 * reynolds_per_speed * x7 * m * m


# C_D = 24/Re (1 + a Re^b) + c/(1 + d Re^e), the form of the smooth-sphere laws
SPHERES = {
    "haider-levenspiel": (0.1806, 0.6459, 0.4251, 6880.95, -1.0),
    "brown-lawler": (0.150, 0.681, 0.407, 8710.0, -1.0),
    "clift-gauvin": (0.152, 0.677, 0.417, 5070.0, -0.94),
}
# numbers of one of them, replaced when the loops are compiled
SPHERE_A, SPHERE_B, SPHERE_C, SPHERE_D, SPHERE_E = SPHERES["haider-levenspiel"]
_STILL = 1e-6  # Reynolds number that stands for rest


def sphere(speed: float, reynolds_per_speed: float) -> tuple[float, float]:
    """Drag coefficient of a smooth-sphere law and its slope.

    Parameters
    ----------
    speed : float
        [m/s]
    reynolds_per_speed : float
        [s/m]

    Returns
    -------
    tuple of float
        Coefficient [-], rate by speed [s/m].
    """
    re = reynolds_per_speed * speed + _STILL
    ln_re, per = logarithm(re), 1.0 / re
    low = 24.0 * SPHERE_A * exponential(SPHERE_B * ln_re) * per
    ratio = SPHERE_D * exponential(SPHERE_E * ln_re)
    part = 1.0 / (1.0 + ratio)
    high = SPHERE_C * part
    slope = -24.0 * per + (SPHERE_B - 1.0) * low - SPHERE_E * high * part * ratio
    return 24.0 * per + low + high, slope * per * reynolds_per_speed


def rates(
    u1: float,
    u2: float,
    u3: float,
    w: float,
    kd: float,
    kl: float,
    p: float,
    q: float,
    lam: float,
    rep: float,
    g2: float,
    g3: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Acceleration, rate of the spin, jerk.

    Parameters
    ----------
    u1, u2, u3 : float
        Velocity in the air, in the ball's own axes. [m/s]
    w : float
        Surface speed of the spin. [m/s]
    kd, kl : float
        Drag and lift factor. [1/m]
    p, q : float
        Of the lift law. [-]
    lam : float
        Spin decay. [1/m]
    rep : float
        Reynolds number by speed. [s/m]
    g2, g3 : float
        Gravity less buoyancy, along e2 and e3. [m/s^2]

    Returns
    -------
    tuple of float
        Acceleration [m/s^2], rate of the surface speed [m/s^2], jerk [m/s^3].
    """
    s = math.sqrt(u1 * u1 + u2 * u2 + u3 * u3 + TINY)
    cd, slope = steady(s, rep)
    below = 1.0 / (p * s + q * w + TINY)
    d = kd * s * cd
    c = kl * w * s * below
    a1 = -d * u1 - c * u2
    a2 = c * u1 - d * u2 - g2
    a3 = -d * u3 - g3
    b = -lam * s * w
    gain = (u1 * a1 + u2 * a2 + u3 * a3) / s
    dd = kd * (cd + s * slope) * gain
    dc = kl * below * below * (q * w * w * gain + p * s * s * b)
    return (
        a1,
        a2,
        a3,
        b,
        -d * a1 - c * a2 - dd * u1 - dc * u2,
        c * a1 - d * a2 + dc * u1 - dd * u2,
        -d * a3 - dd * u3,
    )


def pull(
    u1: float,
    u2: float,
    u3: float,
    w: float,
    kd: float,
    kl: float,
    p: float,
    q: float,
    lam: float,
    rep: float,
    g2: float,
    g3: float,
) -> tuple[float, float, float, float]:
    """Acceleration and rate of the spin alone; see :func:`rates`.

    Parameters
    ----------
    u1, u2, u3 : float
        Velocity through the air. [m/s]
    w : float
        Surface speed of the spin. [m/s]
    kd, kl : float
        Factors of drag and lift. [1/m]
    p, q : float
        Numbers of the lift law. [-]
    lam : float
        Decay of the spin. [1/m]
    rep : float
        Reynolds number of one metre a second. [s/m]
    g2, g3 : float
        Gravity along the second and third axis. [m/s^2]

    Returns
    -------
    tuple of float
        Acceleration, and rate of the spin. [m/s^2]
    """
    s = math.sqrt(u1 * u1 + u2 * u2 + u3 * u3 + TINY)
    cd, _slope = steady(s, rep)
    d = kd * s * cd
    c = kl * w * s / (p * s + q * w + TINY)
    return -d * u1 - c * u2, c * u1 - d * u2 - g2, -d * u3 - g3, -lam * s * w
