"""What a ball can bounce off, as distances from packed shapes, and the first touch on a step.

Every shape is a block of numbers in one row: kind, length of the block, e_n, e_t, mu, role, then its own
numbers. e_n below zero means that a ball goes no further there.

- `PLANE`: unit normal out of it, offset.
- `RING`: centre, unit normal, radius of the bar's centre line, radius of the bar (a torus).
- `BAR`: two ends, radius: a round bar with round ends.
- `PLATE`: centre, three axes, three half sizes.
- `SOLID`: an upright prism or post, packed as `obstacles.pack_obstacles` does it.

A ball touches when its centre is a radius away. The distance from a convex shape is a convex function of
place; that from a ring bends down at most as 1/rho, rho the distance from the ring's axis. With the path's
own bend this bounds the distance between two times from below, so no touch is lost, however short.

This text runs compiled for a batch and plain for one flight: floats and tuples only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from shotwright.flight.events import NEVER
from shotwright.flight.obstacles import lower_bound, solid_distance
from shotwright.flight.step_curve import Controls, slope_at, value_at

PLANE, RING, BAR, PLATE, SOLID = 0.0, 1.0, 2.0, 3.0, 4.0
HEADER = 6  # kind, length, e_n, e_t, mu, role
CONVEX = 1e30  # m; stands for rho where nothing bends down
TOUCHING = 1e-9  # m; nearer than this is a touch

_CLOSE = 1e-3  # of a step; from here the secant rule finds the touch
_SHORT = 1e-7  # of a step; shorter dips are below 1e-12 m deep
_EXACT = 1e-13  # m
_MOST = 4000  # intervals a step
_ROUNDS = 8

# distance of a point from a shape's surface, gradient x, y, z, distance from the axis of a ring
Gap = tuple[float, float, float, float, float]


def shape_distance(shapes: Sequence[float], at: int, x: float, y: float, z: float) -> Gap:
    """Distance of a point from one packed shape.

    Parameters
    ----------
    shapes : sequence of float
        Packed shapes. [SI]
    at : int
        Where the shape begins.
    x, y, z : float
        The point. [m]

    Returns
    -------
    tuple of float
        Distance [m], gradient [-], distance from the axis of a ring (`CONVEX` for other shapes) [m].
    """
    kind, i = shapes[at], at + HEADER
    if kind == PLANE:
        nx, ny, nz = shapes[i], shapes[i + 1], shapes[i + 2]
        return nx * x + ny * y + nz * z - shapes[i + 3], nx, ny, nz, CONVEX
    if kind == RING:
        return _ring_distance(shapes, i, x, y, z)
    if kind == BAR:
        return _bar_distance(shapes, i, x, y, z)
    if kind == PLATE:
        return _plate_distance(shapes, i, x, y, z)
    distance, gx, gy, gz = solid_distance(shapes, i, x, y, z)
    return distance, gx, gy, gz, CONVEX


def _ring_distance(shapes: Sequence[float], i: int, x: float, y: float, z: float) -> Gap:
    """Distance from a torus, also where the point lies inside the bar."""
    dx, dy, dz = x - shapes[i], y - shapes[i + 1], z - shapes[i + 2]
    nx, ny, nz = shapes[i + 3], shapes[i + 4], shapes[i + 5]
    up = dx * nx + dy * ny + dz * nz
    px, py, pz = dx - up * nx, dy - up * ny, dz - up * nz
    rho = math.sqrt(px * px + py * py + pz * pz)
    out = rho - shapes[i + 6]
    away = math.sqrt(out * out + up * up)
    if away == 0.0 or rho == 0.0:  # on the centre line, or as far from all of the ring: no way is nearest
        return away - shapes[i + 7], nx, ny, nz, rho
    a, b = out / (rho * away), up / away
    return away - shapes[i + 7], a * px + b * nx, a * py + b * ny, a * pz + b * nz, rho


def _bar_distance(shapes: Sequence[float], i: int, x: float, y: float, z: float) -> Gap:
    ex, ey, ez = shapes[i + 3] - shapes[i], shapes[i + 4] - shapes[i + 1], shapes[i + 5] - shapes[i + 2]
    dx, dy, dz = x - shapes[i], y - shapes[i + 1], z - shapes[i + 2]
    share = min(max((dx * ex + dy * ey + dz * ez) / (ex * ex + ey * ey + ez * ez), 0.0), 1.0)
    return _away(dx - share * ex, dy - share * ey, dz - share * ez, shapes[i + 6])


def _plate_distance(shapes: Sequence[float], i: int, x: float, y: float, z: float) -> Gap:
    dx, dy, dz = x - shapes[i], y - shapes[i + 1], z - shapes[i + 2]
    gx, gy, gz = 0.0, 0.0, 0.0
    for k in range(3):
        ax, ay, az = shapes[i + 3 + 3 * k], shapes[i + 4 + 3 * k], shapes[i + 5 + 3 * k]
        along, half = dx * ax + dy * ay + dz * az, shapes[i + 12 + k]
        beyond = along - min(max(along, -half), half)
        gx, gy, gz = gx + beyond * ax, gy + beyond * ay, gz + beyond * az
    return _away(gx, gy, gz, 0.0)


def _away(gx: float, gy: float, gz: float, radius: float) -> Gap:
    distance = math.sqrt(gx * gx + gy * gy + gz * gz)
    if distance == 0.0:
        return -radius, 0.0, 0.0, 0.0, CONVEX
    return distance - radius, gx / distance, gy / distance, gz / distance, CONVEX


def first_contact(
    shapes: Sequence[float],
    at: int,
    px: Controls,
    py: Controls,
    pz: Controls,
    last: float,
    radius: float,
    speed: float,
    bend: float,
) -> float:
    """First time on a step at which the centre is a radius away from a shape and coming nearer.

    Parameters
    ----------
    shapes : sequence of float
        Packed shapes. [SI]
    at : int
        Where the shape begins.
    px, py, pz : tuple of float
        Control values of the path over the step. [m]
    last : float
        Part of the step to look at, 0 to 1. [-]
    radius : float
        Of the ball. [m]
    speed, bend : float
        Bounds of the path's first and second rate by part of the step. [m]

    Returns
    -------
    float
        Part of the step, or `NEVER`. A ball that touches at the begin and moves away is let go. [-]
    """
    a = 0.0
    fa, sa, rho = _approach(shapes, at, px, py, pz, a, radius)
    if fa - speed * last > TOUCHING:
        return NEVER
    if fa <= TOUCHING:
        if sa <= 0.0:
            return a
        # f >= f(0) + sa t - down t^2/2 rises until t = sa/down
        down = bend + speed * speed / max(rho - speed * last, 0.5 * rho, 1e-9)
        a = sa / down if sa < down * last else last
        fa, sa, rho = _approach(shapes, at, px, py, pz, a, radius)
        if fa <= 0.0:
            return a
    width = last - a
    for _ in range(_MOST):
        if a >= last or fa > speed * (last - a):
            break
        b = min(a + width, last)
        fb, sb, rho_b = _approach(shapes, at, px, py, pz, b, radius)
        w = b - a
        if fb > 0.0:
            if w <= _SHORT or _least(fa, sa, fb, sb, w, rho, speed, bend) > 0.0:
                a, fa, sa, rho = b, fb, sb, rho_b
                width = 2.0 * w
                continue
        elif w <= _CLOSE:
            return _root(shapes, at, px, py, pz, a, fa, b, fb, radius)
        width = 0.5 * w
    return NEVER


def _least(
    fa: float, sa: float, fb: float, sb: float, w: float, rho: float, speed: float, bend: float
) -> float:
    """Lower bound of the distance over an interval, from values and slopes at its ends."""
    by_speed = 0.5 * (fa + fb - speed * w)
    nearest_axis = rho - speed * w
    if by_speed > 0.0 or nearest_axis <= 0.0:
        return by_speed
    down = bend + speed * speed / nearest_axis
    return max(by_speed, lower_bound(fa, sa - 0.5 * down * w, fb, sb + 0.5 * down * w, w))


def _root(
    shapes: Sequence[float],
    at: int,
    px: Controls,
    py: Controls,
    pz: Controls,
    a: float,
    fa: float,
    b: float,
    fb: float,
    radius: float,
) -> float:
    """Touch between `a`, where the ball is clear, and `b`, by the Illinois form of the secant rule."""
    s, before = b, 0
    for _ in range(_ROUNDS):
        s = b - fb * (b - a) / (fb - fa)
        fs, _slope, _rho = _approach(shapes, at, px, py, pz, s, radius)
        if abs(fs) < _EXACT:
            break
        if fs > 0.0:
            a, fa, fb, before = s, fs, 0.5 * fb if before > 0 else fb, 1
        else:
            b, fb, fa, before = s, fs, 0.5 * fa if before < 0 else fa, -1
    return s


def _approach(
    shapes: Sequence[float], at: int, px: Controls, py: Controls, pz: Controls, s: float, radius: float
) -> tuple[float, float, float]:
    """Distance of the ball's surface from a shape at part `s` of the step, its slope, and rho."""
    x, y, z = value_at(px, s), value_at(py, s), value_at(pz, s)
    distance, gx, gy, gz, rho = shape_distance(shapes, at, x, y, z)
    return distance - radius, gx * slope_at(px, s) + gy * slope_at(py, s) + gz * slope_at(pz, s), rho
