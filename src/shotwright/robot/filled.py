"""The power budget with what the other parts take."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.robot.description import DrivePart, PowerPart, Robot, TakenFrom
from shotwright.robot.drive_base import push, stall_battery_current
from shotwright.robot.power import Budget, MotorCount, count_motors
from shotwright.robot.slewing import slew
from shotwright.robot.sprint_run import run_sprint
from shotwright.robot.turning import turning

_PIECES = 10  # of a sprint
_USUAL = (math.radians(45.0), math.radians(65.0))  # elevations of a slew when nothing else is known


@dataclass(frozen=True, slots=True)
class Taken(Result):
    """What a consumer takes from the battery, by another part.

    Parameters
    ----------
    name : str
        Of the consumer.
    origin : str
        Part that it follows from.
    current_a, duration_s : float
        Root mean square current, and how long.
    peak_a : float
        Largest current.
    motors : int
        In it.
    profile : tuple of (float, float)
        Until which time it takes which current, where that changes much. [s], [A]
    """

    name: str
    origin: str
    current_a: float
    duration_s: float
    peak_a: float
    motors: int
    profile: tuple[tuple[float, float], ...] = ()


def filled_budget(
    robot: Robot, elevations: tuple[float, float] | None = None
) -> tuple[Budget, tuple[Taken, ...]]:
    """Fill in consumers that take what a sprint, a push, a turn or a slew takes.

    Parameters
    ----------
    robot : Robot
        The robot.
    elevations : (float, float), optional
        Lowest and highest that the launcher is tilted between. [rad]

    Returns
    -------
    Budget
        Complete.
    tuple of Taken
        What was filled in.

    Raises
    ------
    BadInput
        A part that a consumer follows from is missing.

    Notes
    -----
    A sprint is the most frequent one of the mix, its current in ten pieces, each by its root mean square:
    that is what breaker and battery feel. Where the file states a duration, its mean is taken all along.
    """
    part = robot.part("power")
    assert isinstance(part, PowerPart)
    taken = {one.name: _taken(robot, one, elevations) for one in part.taken}
    stated = {one.name: one.own_duration for one in part.taken}
    consumers = []
    for one in part.budget.consumers:
        found = taken.get(one.name)
        if found is not None:
            one = dataclasses.replace(
                one,
                current=found.current_a,
                duration=one.duration if stated[one.name] else found.duration_s,
                motors=one.motors or found.motors,
                profile=() if stated[one.name] else found.profile,
            )
            taken[one.name] = dataclasses.replace(found, duration_s=one.duration)
        consumers.append(one)
    return dataclasses.replace(part.budget, consumers=tuple(consumers)), tuple(taken.values())


def _taken(robot: Robot, one: TakenFrom, elevations: tuple[float, float] | None) -> Taken:
    if one.origin == "tilt":
        if robot.tilt is None:
            raise BadInput("the section [tilt] is missing", field=f"load {one.name!r}, of")
        low, high = elevations or _USUAL
        found = slew(robot.tilt.tilt, low, high)
        return Taken(one.name, one.origin, max(found.motor_a, 0.0), found.time_s, found.motor_a, 1)
    if robot.drive_base is None:
        raise BadInput("the section [drive-base] is missing", field=f"load {one.name!r}, of")
    return _driven(robot.drive_base, one)


def _driven(part: DrivePart, one: TakenFrom) -> Taken:
    base, other = part.base, part.base.supply.other_current
    if one.origin == "sprint":
        far = max(part.mix.sprints, key=lambda s: s[1])[0]
        run = run_sprint(base, far, start=part.start)
        whole = [amps - other for amps in run.battery_a]
        pieces = [run.time_s * (k + 1) / _PIECES for k in range(_PIECES)]
        means = [_mean_square(run.times_s, whole, end - run.time_s / _PIECES, end) for end in pieces]
        profile = tuple((end, math.sqrt(square)) for end, square in zip(pieces, means, strict=True))
        amps = math.sqrt(sum(means) / _PIECES)
        return Taken(one.name, one.origin, amps, run.time_s, max(whole), base.motors, profile)
    if one.origin == "turn":
        turn = turning(base)
        amps = turn.start_battery_a - other
        return Taken(one.name, one.origin, amps, turn.quarter_turn_s, amps, base.motors)
    needed = min(part.mix.push_force, base.traction)
    held = push(base, wanted=needed)
    amps = stall_battery_current(base, held.motor_a) - other
    return Taken(one.name, one.origin, amps, part.mix.push_time or 1.0, amps, base.motors)


def _mean_square(times: Sequence[float], values: Sequence[float], begin: float, end: float) -> float:
    """Mean square of straight lines between points, from a time to another."""
    total = 0.0
    for a, b, i, k in zip(times, times[1:], values, values[1:], strict=False):
        low, high = max(a, begin), min(b, end)
        if high > low:
            x = i + (k - i) * (low - a) / (b - a)
            y = i + (k - i) * (high - a) / (b - a)
            total += (high - low) * (x * x + x * y + y * y) / 3
    return total / (end - begin)


def motors_of(robot: Robot, launcher: int | None = None) -> MotorCount:
    """Count the motors of all parts.

    Parameters
    ----------
    robot : Robot
        The robot.
    launcher : int, optional
        Motors of the launcher, where the robot file doesn't state them.

    Returns
    -------
    MotorCount
        Against the event's limit. Loads that follow from another part are counted there.
    """
    parts: dict[str, int] = {}
    if robot.drive_base is not None:
        parts["drive base"] = robot.drive_base.base.motors
    if robot.tilt is not None:
        parts["tilt"] = 1
    of_launcher = robot.launcher_motors if robot.launcher_motors is not None else launcher
    if robot.power is not None:
        follows = {one.name for one in robot.power.taken}
        for one in robot.power.budget.consumers:
            if one.motors and one.name not in follows:
                parts[one.name] = one.motors
        parts |= robot.power.motors
    if of_launcher is not None and not any("launcher" in name for name in parts):
        parts["launcher"] = of_launcher
    return count_motors(parts, robot.most_motors)
