"""scipy's ``solve_ivp`` on the same flights, with a right-hand side tuned for plain Python numbers."""

from __future__ import annotations

import math

import numpy as np
from scipy.integrate import solve_ivp

from anchors.workload import LIMIT, START, Case, Ends, Launches

TOLERANCE = 5e-8  # of RK45: its loosest with the error asked for


def rates(case: Case, spin: np.ndarray):
    """The equations of motion of one flight, and its spin's surface speed."""
    model = case.model
    ball = model.ball
    k = model.density * math.pi * ball.diameter**2 / 4 / (2 * ball.mass)
    decay, radius, g = ball.spin_decay * k / ball.inertia_factor, ball.diameter / 2, model.gravity
    by_speed = (model.density * ball.diameter / model.viscosity / 1.2e5) ** 2
    constant = ball.drag.constant if ball.drag.name == "constant" else None
    magnitude = float(np.linalg.norm(spin))
    wx, wy, wz = (float(w) / (magnitude or 1.0) for w in spin)
    cx, cy, cz = model.wind
    sqrt = math.sqrt

    def lasting(_, y, r=radius * magnitude):
        ux, uy, uz = y[3], y[4], y[5]
        s = sqrt(ux * ux + uy * uy + uz * uz)
        d, lift = -k * constant * s, k * r * s / (2.32 * r + 0.4 * s)
        return (
            ux,
            uy,
            uz,
            d * ux + lift * (wy * uz - wz * uy),
            d * uy + lift * (wz * ux - wx * uz),
            d * uz + lift * (wx * uy - wy * ux) - g,
        )

    def fading(_, y):
        vx, vy, vz, r = y[3], y[4], y[5], y[6]
        ux, uy, uz = vx - cx, vy - cy, vz - cz
        s2 = ux * ux + uy * uy + uz * uz
        s, q = sqrt(s2), (by_speed * s2) ** 4
        d, lift = -k * (0.30 + 0.20 / (1.0 + q)) * s, k * r * s / (2.32 * r + 0.4 * s)
        return (
            vx,
            vy,
            vz,
            d * ux + lift * (wy * uz - wz * uy),
            d * uy + lift * (wz * ux - wx * uz),
            d * uz + lift * (wx * uy - wy * ux) - g,
            -decay * s * r,
        )

    return fading if decay else lasting, [radius * magnitude] if decay else []


def fly(case: Case, launches: Launches, tolerance: float = TOLERANCE, method: str = "RK45") -> Ends:
    """Fly each in turn, to the plane, the floor or the time limit."""
    level, height, far = case.normal[2] != 0, case.point[2], case.point[0]

    def plane(_, y):
        return y[2] - height if level else far - y[0]

    def floor(_, y):
        return y[2]

    for one in (plane, floor):
        one.terminal, one.direction = True, -1
    n = len(launches.velocity)
    status, time, place = np.empty(n, np.uint8), np.empty(n), np.empty((n, 3))
    for i, (velocity, spin) in enumerate(zip(launches.velocity.tolist(), launches.spin, strict=True)):
        rate, more = rates(case, spin)
        found = solve_ivp(
            rate,
            (0, LIMIT),
            [*START, *velocity, *more],
            method=method,
            rtol=tolerance,
            atol=tolerance,
            events=(plane, floor),
        )
        end = [k for k in (0, 1) if len(found.y_events[k])]
        status[i] = end[0] + 1 if end else 4
        time[i] = found.t[-1]
        place[i] = found.y_events[end[0]][0][:3] if end else found.y[:3, -1]
    return Ends(status, time, place)
