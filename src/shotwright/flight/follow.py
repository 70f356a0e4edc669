"""One flight with its bounces, until it scores, is stopped, stays on something, or has no bounces left.

Steps as in `path.fly`; each accepted step is searched for the first contact and for the first passage of
the opening's plane. Either ends the step: the state there is the integrator's own, restarted from its begin.

A ball scores when its centre has passed the opening's plane from the front, inside the outline, and then is
wholly behind it; a touch of the rim on that way is a bounce like any other. After the passage a ball that
comes to the floor or an obstacle is in.

This text runs compiled for a batch and plain for one flight.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.bounce import collide
from shotwright.flight.contact import first_contact, shape_distance
from shotwright.flight.dop853 import advance
from shotwright.flight.events import NEVER, SHORTEST
from shotwright.flight.laws import PackedLaw
from shotwright.flight.motion import Body, Rate, State, acceleration
from shotwright.flight.obstacles import path_bounds
from shotwright.flight.path import first_step, longest_step, next_step
from shotwright.flight.step_curve import path_controls

SCORED, MISSED, STOPPED, NO_BOUNCES_LEFT, STAYS, TIMED_OUT = 1, 2, 3, 4, 5, 6
FLOOR_ROLE, OBSTACLE_ROLE, RIM_ROLE, BOARD_ROLE = 0.0, 1.0, 2.0, 3.0

# of one row of the log: time, place 3, normal 3, velocity before 3, spin before 3, velocity after 3, spin
# after 3, slid, where the shape begins
LOG_WIDTH = 21
# time, place 3, velocity 3, spin 3
END_WIDTH = 10
# of the goal: two planes as shapes, centre 3, u 3, w 3, radius of the bar, radius or 0, number of corners
FRONT, BEHIND, CENTRE, BAR_RADIUS, RADIUS, CORNERS = 0, 10, 20, 29, 30, 31

_MOST_STEPS = 100_000
_STILL = 1e-3  # m/s; a ball that leaves a surface more slowly, and is pressed back, stays on it
_MOMENT = 1e-4  # s; over which the bend of a surface under a ball is looked at
_CLEAR = 2e-9  # m; a ball that grazes is set off so far
_OVERLAP = 1e-6  # m; a ball released deeper in something than this is stopped at once
_EXACT = 1e-12  # m
_ROUNDS = 4

_NO_GOAL, _IN_FRONT, _BEHIND, _ENTERED = 0, 1, 2, 3


def follow(
    start: State,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
    goal: Sequence[float],
    shapes: Sequence[float],
    inertia_factor: float,
    bounces: int,
    time_limit: float,
    tolerance: float,
    log: NDArray[np.float64],
) -> tuple[int, int, int, tuple[float, ...]]:
    """Follow one ball through its bounces.

    Parameters
    ----------
    start : State
        Place, velocity relative to the air, spin at release.
    body, drag, lift : Body, PackedLaw, PackedLaw
        The ball in this air.
    goal : sequence of float
        The opening as `contact_shapes.pack_goal` gives it; empty: none. [SI]
    shapes : sequence of float
        What the ball can touch, as `contact_shapes.pack_shapes` gives it. [SI]
    inertia_factor : float
        alpha. [-]
    bounces : int
        Bounces allowed; the next touch ends the flight.
    time_limit : float
        [s]
    tolerance : float
        Allowed estimate of the velocity's error in one step. [m/s]
    log : ndarray, shape (bounces, 21)
        Receives one row for each bounce. [SI]

    Returns
    -------
    status : int
        `SCORED`, `MISSED`, `STOPPED`, `NO_BOUNCES_LEFT`, `STAYS` or `TIMED_OUT`.
    count : int
        Bounces up to there.
    touched : int
        Where the shape that ended the flight begins; -1: none did.
    end : tuple of float
        Time, place, velocity, spin.
    """
    state = start
    rate = acceleration(state[3], state[4], state[5], state[6], body, drag, lift)
    radius, time, count, status, touched = body.radius, 0.0, 0, 0, -1
    side = _side(goal, state)
    at = 0
    while at < len(shapes):
        if shape_distance(shapes, at, state[0], state[1], state[2])[0] < radius - _OVERLAP:
            status, touched = STOPPED, at
        at += int(shapes[at + 1])
    h = first_step(state, rate)
    for _ in range(_MOST_STEPS):
        if status != 0:
            break
        rest = time_limit - time
        h = min(h, rest, longest_step(state, rate))
        end, error = advance(state, rate, h, body, drag, lift)
        if error > tolerance and h > SHORTEST:
            h = next_step(h, error, tolerance)
            continue
        end_rate = acceleration(end[3], end[4], end[5], end[6], body, drag, lift)
        planned = next_step(h, error, tolerance)
        px, py, pz = path_controls(state, rate, end, end_rate, h, body)
        speed, bend = path_bounds(px, py, pz)
        part, touch = NEVER, -1
        at = 0
        while at < len(shapes):
            s = first_contact(shapes, at, px, py, pz, min(part, 1.0), radius, speed, bend)
            if s < part:
                part, touch = s, at
            at += int(shapes[at + 1])
        passage, out = NEVER, False
        if side != _NO_GOAL:
            first = FRONT if side == _IN_FRONT else BEHIND
            passage = first_contact(goal, first, px, py, pz, min(part, 1.0), 0.0, speed, bend)
            if side == _ENTERED:
                depth = -radius - goal[BAR_RADIUS]
                s = first_contact(goal, FRONT, px, py, pz, min(part, passage, 1.0), depth, speed, bend)
                if s < passage:
                    passage, out = s, True
        if min(part, passage) > 1.0:
            time += h
            if h >= rest:
                status = TIMED_OUT
            state, rate, h = end, end_rate, planned
            continue
        if passage < part:
            row, reach = FRONT if side == _IN_FRONT or out else BEHIND, 0.0
            if out:
                reach = -radius - goal[BAR_RADIUS]
            state, span = _settle(goal, row, reach, state, rate, passage * h, h, body, drag, lift)
            time += span
            if out:
                status = SCORED
            elif side == _IN_FRONT:
                side = _ENTERED if _inside(goal, state) else _BEHIND
                if side == _BEHIND and count >= bounces:
                    status = MISSED
            else:
                side = _IN_FRONT
        else:
            state, span = _settle(shapes, touch, radius, state, rate, part * h, h, body, drag, lift)
            time += span
            role = shapes[touch + 5]
            if side == _ENTERED and role < RIM_ROLE:  # floor or obstacle
                status, touched = SCORED, touch
            elif shapes[touch + 2] < 0.0:
                status, touched = STOPPED, touch
            elif count >= bounces:
                status, touched = NO_BOUNCES_LEFT, touch
            else:
                state, body, leaving = _bounce(shapes, touch, state, body, inertia_factor, time, log, count)
                count += 1
                if leaving < _STILL:
                    rate = acceleration(state[3], state[4], state[5], state[6], body, drag, lift)
                    state, held = _graze(shapes, touch, state, rate, body)
                    if held:
                        status, touched = STAYS, touch
        rate = acceleration(state[3], state[4], state[5], state[6], body, drag, lift)
        h = planned
    if status == 0:
        status = TIMED_OUT
    return status, count, touched, _end(time, state, body)


def _end(time: float, state: State, body: Body) -> tuple[float, ...]:
    spin = state[6]
    return (
        time,
        state[0],
        state[1],
        state[2],
        state[3] + body.wind_x,
        state[4] + body.wind_y,
        state[5] + body.wind_z,
        spin * body.axis_x,
        spin * body.axis_y,
        spin * body.axis_z,
    )


def _side(goal: Sequence[float], state: State) -> int:
    """On which side of the opening's plane a ball starts."""
    if len(goal) == 0:
        return _NO_GOAL
    front = shape_distance(goal, FRONT, state[0], state[1], state[2])[0]
    return _IN_FRONT if front > 0.0 else _BEHIND


def _inside(goal: Sequence[float], state: State) -> bool:
    """Whether the centre lies inside the opening's outline; a polygon may have inward corners."""
    dx, dy, dz = state[0] - goal[CENTRE], state[1] - goal[CENTRE + 1], state[2] - goal[CENTRE + 2]
    u = dx * goal[CENTRE + 3] + dy * goal[CENTRE + 4] + dz * goal[CENTRE + 5]
    w = dx * goal[CENTRE + 6] + dy * goal[CENTRE + 7] + dz * goal[CENTRE + 8]
    if goal[RADIUS] > 0.0:
        return u * u + w * w < goal[RADIUS] * goal[RADIUS]
    inside, corners = False, int(goal[CORNERS])
    for i in range(corners):
        j = (i + 1) % corners
        u1, w1 = goal[CORNERS + 1 + 2 * i], goal[CORNERS + 2 + 2 * i]
        u2, w2 = goal[CORNERS + 1 + 2 * j], goal[CORNERS + 2 + 2 * j]
        if (w1 > w) != (w2 > w) and u < u1 + (w - w1) * (u2 - u1) / (w2 - w1):
            inside = not inside
    return inside


def _settle(
    shapes: Sequence[float],
    at: int,
    reach: float,
    state: State,
    rate: Rate,
    guess: float,
    h: float,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
) -> tuple[State, float]:
    """State on the flight itself where the centre is `reach` away from a shape, and the time to there."""
    span, there = guess, state
    for _ in range(_ROUNDS):
        there, _error = advance(state, rate, span, body, drag, lift)
        distance, gx, gy, gz, _rho = shape_distance(shapes, at, there[0], there[1], there[2])
        slope = gx * (there[3] + body.wind_x) + gy * (there[4] + body.wind_y) + gz * (there[5] + body.wind_z)
        miss = distance - reach
        if abs(miss) < _EXACT or slope > -1e-6:
            break
        later = min(max(span - miss / slope, 0.0), h)
        if later == span:
            break
        span = later
    return there, span


def _graze(shapes: Sequence[float], at: int, state: State, rate: Rate, body: Body) -> tuple[State, bool]:
    """Whether a ball that hardly leaves a surface is pressed back to it; else its state set off a little."""
    x, y, z = state[0], state[1], state[2]
    vx, vy, vz = state[3] + body.wind_x, state[4] + body.wind_y, state[5] + body.wind_z
    here, nx, ny, nz, _rho = shape_distance(shapes, at, x, y, z)
    slope = nx * vx + ny * vy + nz * vz
    t = _MOMENT
    ahead = shape_distance(shapes, at, x + t * vx, y + t * vy, z + t * vz)[0]
    bend = 2.0 * (ahead - here - t * slope) / (t * t)
    if nx * rate[0] + ny * rate[1] + nz * rate[2] + bend < 0.0:
        return state, True
    off = _CLEAR
    set_off = (x + off * nx, y + off * ny, z + off * nz, state[3], state[4], state[5], state[6])
    return set_off, False


def _bounce(
    shapes: Sequence[float],
    at: int,
    state: State,
    body: Body,
    inertia_factor: float,
    time: float,
    log: NDArray[np.float64],
    row: int,
) -> tuple[State, Body, float]:
    """State and spin axis after a bounce, and the speed along the normal; writes one row of the log."""
    distance, nx, ny, nz, _rho = shape_distance(shapes, at, state[0], state[1], state[2])
    before = (state[3] + body.wind_x, state[4] + body.wind_y, state[5] + body.wind_z)
    turning = (state[6] * body.axis_x, state[6] * body.axis_y, state[6] * body.axis_z)
    after, turned, slid = collide(
        before,
        turning,
        (nx, ny, nz),
        body.radius,
        inertia_factor,
        shapes[at + 2],
        shapes[at + 3],
        shapes[at + 4],
    )
    # on the surface exactly, so that the next step begins clear of it
    back = body.radius - distance
    place = (state[0] + back * nx, state[1] + back * ny, state[2] + back * nz)
    spin = math.sqrt(turned[0] * turned[0] + turned[1] * turned[1] + turned[2] * turned[2])
    part = 1.0 / spin if spin > 0.0 else 0.0
    new = Body(
        body.force_factor,
        body.radius,
        body.gravity,
        body.decay,
        body.reynolds_per_speed,
        turned[0] * part,
        turned[1] * part,
        turned[2] * part,
        body.wind_x,
        body.wind_y,
        body.wind_z,
    )
    log[row, 0] = time
    for k in range(3):
        log[row, 1 + k] = place[k]
        log[row, 7 + k] = before[k]
        log[row, 10 + k] = turning[k]
        log[row, 13 + k] = after[k]
        log[row, 16 + k] = turned[k]
    log[row, 4], log[row, 5], log[row, 6] = nx, ny, nz
    log[row, 19], log[row, 20] = 1.0 if slid else 0.0, float(at)
    state = (
        place[0],
        place[1],
        place[2],
        after[0] - body.wind_x,
        after[1] - body.wind_y,
        after[2] - body.wind_z,
        spin,
    )
    return state, new, after[0] * nx + after[1] * ny + after[2] * nz
