"""One flight from release to its end: the plane, the floor, an obstacle or the time limit.

The steps of the eighth-order formula follow its error estimate; each accepted step is searched for events
before the next is made. This text runs compiled for a batch and plain for one flight.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from shotwright.flight.breaks import HOP, first_break
from shotwright.flight.dop853 import advance
from shotwright.flight.events import NEVER, SHORTEST, first_fall, turn
from shotwright.flight.laws import PackedLaw
from shotwright.flight.motion import Body, Rate, State, acceleration, jerk
from shotwright.flight.obstacles import first_touch
from shotwright.flight.step_curve import (
    Plane,
    changes_of_direction,
    clears,
    controls,
    distance,
    path_controls,
)

CROSSED = 1
FLOOR = 2
OBSTACLE = 3
TIMED_OUT = 4

TOLERANCE = 1e-8  # m/s of estimated error a step; see docs/flight.md for what it gives
_LONGEST = 0.5  # s
_MOST_STEPS = 100_000
_NEAR_REST = 0.6  # of |u|/|a|, the time to the nearest moment of rest
_ACROSS_REST = 1e-3  # s; over it, the jump is worth 1e-9 m/s
_FIRST = 0.3  # of sqrt(|u|/|a|), which is near the distance to the nearest singularity of the flight

# time, place 3, velocity 3, acceleration 3, jerk 3, apex height, apex time, clearance
Values = tuple[
    float, float, float, float, float, float, float, float,
    float, float, float, float, float, float, float, float,
]  # fmt: skip
WIDTH = 16


def first_step(state: State, rate: Rate) -> float:
    """First guess of the step, from speed and acceleration.

    Parameters
    ----------
    state, rate : State, Rate
        At release.

    Returns
    -------
    float
        Step. [s]
    """
    speed = math.sqrt(state[3] * state[3] + state[4] * state[4] + state[5] * state[5])
    pull = math.sqrt(rate[0] * rate[0] + rate[1] * rate[1] + rate[2] * rate[2])
    if pull == 0.0:
        return _LONGEST
    return min(max(_FIRST * math.sqrt(speed / pull), 1e-3), _LONGEST)


def longest_step(state: State, rate: Rate) -> float:
    """Step that stays clear of the moment at which the ball rests in the air.

    Drag goes with |u| u, whose second rate jumps where u passes zero: at the top of a throw straight up. That
    moment is about |u|/|a| away; a step across it can fool the error estimate.

    Parameters
    ----------
    state, rate : State, Rate
        At the step's begin.

    Returns
    -------
    float
        Step. [s]
    """
    square = state[3] * state[3] + state[4] * state[4] + state[5] * state[5]
    pull = rate[0] * rate[0] + rate[1] * rate[1] + rate[2] * rate[2]
    if square >= pull * _LONGEST * _LONGEST:
        return _LONGEST
    return max(_NEAR_REST * math.sqrt(square / pull), _ACROSS_REST)


def next_step(h: float, error: float, tolerance: float) -> float:
    """Step that the error estimate asks for; the formula's error goes with the eighth power.

    Parameters
    ----------
    h : float
        Last step. [s]
    error, tolerance : float
        [m/s]

    Returns
    -------
    float
        Step. [s]
    """
    if error == 0.0:
        return min(4.0 * h, _LONGEST)
    eighth_root = math.sqrt(math.sqrt(math.sqrt(tolerance / error)))
    return min(h * min(4.0, max(0.2, 0.9 * eighth_root)), _LONGEST)


def fly(
    start: State,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
    plane: Plane,
    floor: float,
    solids: Sequence[float],
    time_limit: float,
    tolerance: float,
) -> tuple[int, Values]:
    """Fly one ball to the first of: plane crossed from its front, floor, obstacle, time limit.

    Parameters
    ----------
    start : State
        Place, velocity relative to the air, spin at release.
    body, drag, lift : Body, PackedLaw, PackedLaw
        The ball in this air.
    plane : Plane
        The plane to cross.
    floor : float
        Height of the ball's centre when it touches the floor; -inf: no floor. [m]
    solids : sequence of float
        Obstacles as `obstacles.pack_obstacles` gives them. [m]
    time_limit : float
        [s]
    tolerance : float
        Allowed estimate of the velocity's error in one step. [m/s]

    Returns
    -------
    status : int
        `CROSSED`, `FLOOR`, `OBSTACLE` or `TIMED_OUT`.
    values : tuple of float
        Time, place, velocity, acceleration, jerk, apex height, apex time, clearance.
    """
    ground = Plane(0.0, 0.0, 1.0, floor if floor > -1e300 else 0.0)
    state = start
    rate = acceleration(state[3], state[4], state[5], state[6], body, drag, lift)
    time, status = 0.0, 0
    apex_height, apex_time, least = state[2], 0.0, math.inf
    if state[2] < floor or (state[2] == floor and state[5] + body.wind_z <= 0.0):
        status = FLOOR
    h = first_step(state, rate)
    broken = len(drag.breaks) + len(lift.breaks) > 0
    planned, hopped = h, False
    for _ in range(_MOST_STEPS):
        if status != 0:
            break
        rest = time_limit - time
        h = min(h, rest, longest_step(state, rate))
        end, error = advance(state, rate, h, body, drag, lift)
        end_rate = acceleration(end[3], end[4], end[5], end[6], body, drag, lift)
        hop = False
        if broken:
            at_break = first_break(state, rate, end, end_rate, h, body, drag, lift)
            if at_break > 2.0 * HOP and at_break <= h:
                h = at_break - HOP
                continue
            hop = at_break <= 2.0 * HOP and not hopped
            if hop and h > at_break + HOP:
                h = at_break + HOP
                continue
        if error > tolerance and h > SHORTEST and not hop:
            h = next_step(h, error, tolerance)
            planned = h
            continue
        rise = controls(distance(ground, state, rate, body), distance(ground, end, end_rate, body), h)
        turns = changes_of_direction(rise)
        at_plane, in_plane, at_floor, on_floor = NEVER, end, NEVER, end
        nearing = controls(distance(plane, state, rate, body), distance(plane, end, end_rate, body), h)
        if not clears(nearing):
            at_plane, in_plane = first_fall(plane, nearing, state, rate, end, h, body, drag, lift)
        dips = turns > 0 and rise[1] < rise[0]
        above = at_plane < NEVER and in_plane[2] > floor and not dips
        if floor > -1e300 and not above and not clears(rise):
            at_floor, on_floor = first_fall(ground, rise, state, rate, end, h, body, drag, lift)
        if (turns > 1 or at_plane < 0.0 or at_floor < 0.0) and h > SHORTEST:
            h *= 0.5
            planned = h
            continue
        stop = min(at_plane, at_floor, h)
        touch = NEVER
        if len(solids) > 0 and h > 0.0:
            x, y, z = path_controls(state, rate, end, end_rate, h, body)
            touch, least = first_touch(solids, x, y, z, stop / h, body.radius, least)
            stop = min(stop, touch * h)
        if turns == 1 and rise[1] > rise[0]:
            at_top, top = turn(ground, rise, state, rate, h, body, drag, lift)
            if at_top <= stop and top + ground.offset > apex_height:
                apex_height, apex_time = top + ground.offset, time + at_top
        if min(at_plane, at_floor, touch * h) <= h:
            if touch < NEVER:
                status = OBSTACLE
                end, _error = advance(state, rate, stop, body, drag, lift)
            elif at_plane <= at_floor:
                status, end = CROSSED, in_plane
            else:
                status, end = FLOOR, on_floor
            end_rate = acceleration(end[3], end[4], end[5], end[6], body, drag, lift)
        elif h >= rest:
            status = TIMED_OUT
        time += stop
        # a step that was cut at a break says nothing of the step that fits beyond it
        planned = (
            max(planned, next_step(h, error, tolerance)) if h < planned else next_step(h, error, tolerance)
        )
        hopped = hop
        state, rate, h = end, end_rate, planned
        if state[2] > apex_height:
            apex_height, apex_time = state[2], time
    if status == 0:
        status = TIMED_OUT
    jx, jy, jz = jerk(state, rate, body, drag, lift)
    values = (
        time,
        state[0],
        state[1],
        state[2],
        state[3] + body.wind_x,
        state[4] + body.wind_y,
        state[5] + body.wind_z,
        rate[0],
        rate[1],
        rate[2],
        jx,
        jy,
        jz,
        apex_height,
        apex_time,
        least - body.radius,
    )
    return status, values
