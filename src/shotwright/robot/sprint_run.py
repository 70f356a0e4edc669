"""A sprint followed in steps: sag, heat, wheels that spin, and where every joule goes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from shotwright.base.errors import NoAnswer
from shotwright.base.plain import Result
from shotwright.powertrain.pieces import speed_after, square_sum, two_nodes, way
from shotwright.robot.drive_base import DriveBase

Start = Literal["eased", "full voltage"]
STARTS: tuple[Start, ...] = ("eased", "full voltage")
STEP = 0.005  # s
_LONGEST = 60.0  # s; what takes longer is no sprint
_AIR = 293.15  # K

# Gauss-Legendre on 0 to 1, five points: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4
_NODES = (
    (0.04691007703066802, 0.11846344252809454),
    (0.23076534494715845, 0.23931433524968324),
    (0.5, 0.28444444444444444),
    (0.7692346550528415, 0.23931433524968324),
    (0.9530899229693319, 0.11846344252809454),
)


@dataclass(frozen=True, slots=True)
class SprintRun(Result):
    """A sprint as it was followed.

    Parameters
    ----------
    distance_m, time_s, end_speed_m_s : float
        How far, how long, how fast at the end.
    start : {"eased", "full voltage"}
        Whether the driver keeps the wheels from slipping.
    spun_s : float
        How long the wheels spun.
    peak_motor_a, peak_battery_a, lowest_v : float
        Extremes.
    winding_k : float
        Temperature of the windings at the end.
    charge_c : float
        Drawn from the battery.
    from_battery_j : float
        Chemical energy.
    energy_j : dict
        Where it went; the parts add up to it.
    times_s, ways_m, speeds_m_s, wheels_m_s, motor_a, battery_a, voltage_v : tuple of float
        The record, at the end of each step.
    """

    distance_m: float
    time_s: float
    end_speed_m_s: float
    start: str
    spun_s: float
    peak_motor_a: float
    peak_battery_a: float
    lowest_v: float
    winding_k: float
    charge_c: float
    from_battery_j: float
    energy_j: dict[str, float]
    times_s: tuple[float, ...]
    ways_m: tuple[float, ...]
    speeds_m_s: tuple[float, ...]
    wheels_m_s: tuple[float, ...]
    motor_a: tuple[float, ...]
    battery_a: tuple[float, ...]
    voltage_v: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Course:
    """A speed within a step: even, or on its way to another with a time constant."""

    start: float
    gain: float = 0.0
    final: float = 0.0
    tau: float = math.inf

    def speed(self, time: float) -> float:
        if math.isinf(self.tau):
            return self.start + self.gain * time
        return speed_after(self.start, self.final, time, self.tau)

    def way(self, time: float) -> float:
        if math.isinf(self.tau):
            return (self.start + 0.5 * self.gain * time) * time
        return way(self.start, self.final, time, self.tau)


@dataclass(slots=True)
class _Now:
    """State of a run; speeds of the robot and of the wheels' rim."""

    time: float = 0.0
    way: float = 0.0
    robot: float = 0.0
    wheels: float = 0.0
    spinning: bool = False
    spun: float = 0.0
    warm: float = 0.0
    case: float = 0.0
    drawn: float = 0.0
    books: dict[str, float] = field(default_factory=dict)
    rows: list[tuple[float, ...]] = field(default_factory=list)

    def add(self, name: str, joules: float) -> None:
        self.books[name] = self.books.get(name, 0.0) + joules


@dataclass(frozen=True, slots=True)
class _Fixed:
    """What stands still within a step."""

    r: float  # winding [ohm]
    k: float
    volts: float
    ohms: float
    left: float  # volts left by all else that runs
    own: float  # winding, wires and protection of one motor [ohm]
    loop: float
    push: float  # N/A
    back: float  # V s/m
    rotors: float  # kg, times efficiency


def run_sprint(
    base: DriveBase, distance: float, *, start: Start = "eased", step: float = STEP, air: float = _AIR
) -> SprintRun:
    """Follow a sprint from rest, each step the exact solution at fixed temperatures and charge.

    Parameters
    ----------
    base : DriveBase
        The base.
    distance : float
        [m]
    start : {"eased", "full voltage"}
        The driver (or the controller) keeps the wheels at the limit of their grip, or gives all there is and
        lets them spin; spinning wheels have the same grip.
    step : float
        Longest step; the error from warmth and charge that stand still within one falls with it. [s]
    air : float
        Temperature of everything at the start. [K]

    Returns
    -------
    SprintRun
        Time, extremes, energy books.

    Raises
    ------
    NoAnswer
        The robot does not get there.

    Notes
    -----
    Wheels that spin let go when the floor would have to give more than traction, and grip again when their
    rim is as slow as the robot. Breakers and protections do not cut here; a sprint is short.
    """
    now = _Now()
    while now.time < _LONGEST:
        if now.way >= distance * (1 - 1e-13):
            return _told(base, distance, start, now, air)
        before = now.way + now.time
        _step(base, _fixed(base, now, air), now, distance - now.way, start, step)
        if now.way + now.time <= before:
            raise NoAnswer(f"the robot stands still after {now.way:.3g} of {distance:.3g} m")
    raise NoAnswer(f"after {_LONGEST:g} s the robot is {now.way:.3g} of {distance:.3g} m far")


def _fixed(base: DriveBase, now: _Now, air: float) -> _Fixed:
    motor, supply = base.motor.at(air + now.warm, air + now.case), base.supply
    level = supply.level - now.drawn / supply.battery.charge
    volts, ohms = supply.battery.voltage_at(level), supply.battery.resistance_at(level)
    protection = 0.0 if motor.protection is None else motor.protection.resistance
    own = motor.resistance + supply.wiring + protection
    geared = base.train.ratio / base.wheel_radius
    return _Fixed(
        r=motor.resistance,
        k=motor.constant,
        volts=volts,
        ohms=ohms,
        left=volts - ohms * supply.other_current,
        own=own,
        loop=own + base.motors * ohms,
        push=base.train.efficiency * geared * base.motors * motor.constant,
        back=motor.constant * geared,
        rotors=base.train.efficiency * base.motors * motor.rotor_inertia * geared**2,
    )


def _step(base: DriveBase, f: _Fixed, now: _Now, left: float, start: Start, most: float) -> None:
    idle, limit = base.motor.free_current, base.supply.current_limit
    drag, wheels = base.drag, base.wheel_inertia / base.wheel_radius**2
    whole = base.mass + wheels + f.rotors
    grip = idle + (whole * (base.traction - drag) / base.mass + drag) / f.push
    full = (f.left - f.back * now.wheels) / f.loop
    if not now.spinning and start == "full voltage" and min(full, limit) > grip * (1 + 1e-12):
        now.spinning = True
    if now.spinning:
        inertia, load, most_amps = wheels + f.rotors, base.traction, limit
    else:
        inertia, load = whole, drag
        most_amps = min(limit, grip) if start == "eased" else limit
    need = idle + load / f.push
    throttled = full > most_amps * (1 + 1e-12)
    if throttled:
        rim = _Course(now.wheels, f.push * (most_amps - need) / inertia)
        switch = (f.left - f.back * now.wheels - most_amps * f.loop) / f.back
        if rim.gain > 0:
            most = min(most, switch / rim.gain)
    else:
        final, tau = (f.left - need * f.loop) / f.back, inertia * f.loop / (f.push * f.back)
        rim = _Course(now.wheels, final=final, tau=tau)
    if rim.speed(most) <= 0 and rim.start <= 0:
        return  # it does not break loose
    robot = _Course(now.robot, (base.traction - drag) / base.mass) if now.spinning else rim
    if robot.way(most) > left:
        most = _found(lambda t: robot.way(t) - left, most)
    gripped = now.spinning and rim.speed(most) < robot.speed(most)
    if gripped:
        most = _found(lambda t: robot.speed(t) - rim.speed(t), most)
    currents = (most_amps, most_amps) if throttled else (full, need)
    _book(base, f, now, most, rim, robot, currents, throttled)
    if gripped:
        now.spinning, now.wheels = False, now.robot


def _found(rises: Callable[[float], float], high: float) -> float:
    """Time at which what is below zero at 0 and above it at `high` passes zero, by bisection."""
    low = 0.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if rises(middle) < 0 else (low, middle)
    return high


def _book(
    base: DriveBase,
    f: _Fixed,
    now: _Now,
    time: float,
    rim: _Course,
    robot: _Course,
    currents: tuple[float, float],
    throttled: bool,
) -> None:
    """Write a step down: the motors' current goes from the first towards the second, or is held."""
    n, supply = base.motors, base.supply
    first, steady = currents
    if throttled:
        square, last = first * first * time, first
        powers = [n * first * (first * f.own + f.back * rim.speed(x * time)) for x, _ in _NODES]
        drawn = [2 * p / (f.left + math.sqrt(max(f.left**2 - 4 * f.ohms * p, 0.0))) for p in powers]
        battery = time * sum(weight * amps for (_, weight), amps in zip(_NODES, drawn, strict=True))
        battery_square = time * sum(weight * amps**2 for (_, weight), amps in zip(_NODES, drawn, strict=True))
        end = n * first * (first * f.own + f.back * rim.speed(time))
        end_battery = 2 * end / (f.left + math.sqrt(max(f.left**2 - 4 * f.ohms * end, 0.0)))
    else:
        square, battery = square_sum(first, steady, time, rim.tau), n * way(first, steady, time, rim.tau)
        battery_square = n * n * square
        last = speed_after(first, steady, time, rim.tau)
        end_battery = n * last
    other = supply.other_current
    all_drawn = battery + other * time
    rubbed = n * f.k * base.motor.free_current * base.train.ratio / base.wheel_radius * rim.way(time)
    now.add("battery", f.volts * all_drawn)
    now.add("battery's resistance", f.ohms * (battery_square + 2 * other * battery + other**2 * time))
    now.add("everything else that runs", other * (f.volts * time - f.ohms * all_drawn))
    now.add("windings", n * f.r * square)
    now.add("wires and protections", n * (f.own - f.r) * square)
    now.add("friction of the motors", rubbed)
    _book_motion(base, now, time, rim, robot)
    if time > 0:
        warm = base.motor.thermal
        now.warm, now.case, _ = two_nodes(
            now.warm, now.case, f.r * square / time, rubbed / n / time, time,
            warm.winding_capacity, warm.case_capacity, warm.winding_to_case, warm.case_to_air,
        )  # fmt: skip
    now.drawn += all_drawn
    now.rows.append(
        (now.time, now.way, now.robot, now.wheels, last, end_battery + other, f.left - f.ohms * end_battery)
    )
    if len(now.rows) == 1:
        held = 2 * n * first * first * f.own
        begun = (
            held / (f.left + math.sqrt(max(f.left**2 - 2 * f.ohms * held, 0.0))) if throttled else n * first
        )
        now.rows.insert(0, (0.0, 0.0, 0.0, 0.0, first, begun + other, f.left - f.ohms * begun))


def _book_motion(base: DriveBase, now: _Now, time: float, rim: _Course, robot: _Course) -> None:
    """Book what leaves the train, and move on."""
    far, turned = robot.way(time), rim.way(time)
    wheels = 0.5 * base.wheel_inertia / base.wheel_radius**2 * (rim.speed(time) ** 2 - now.wheels**2)
    rolled = base.drag * far
    if now.spinning:
        out = base.traction * turned + wheels
        now.add("wheels that spin", base.traction * (turned - far))
        now.spun += time
    else:
        out = 0.5 * base.mass * (robot.speed(time) ** 2 - now.robot**2) + rolled + wheels
    now.add("train", (1 / base.train.efficiency - 1) * out)
    now.add("rolling", rolled)
    now.time, now.way = now.time + time, now.way + far
    now.robot, now.wheels = robot.speed(time), rim.speed(time)


def _told(base: DriveBase, distance: float, start: str, now: _Now, air: float) -> SprintRun:
    geared = base.train.ratio / base.wheel_radius
    now.books["motion of the robot"] = 0.5 * base.mass * now.robot**2
    now.books["wheels and rotors"] = (
        0.5 * (base.wheel_inertia / base.wheel_radius**2 + base.motors * base.motor.rotor_inertia * geared**2)
        * now.wheels**2
    )  # fmt: skip
    battery = now.books.pop("battery")
    columns = tuple(zip(*now.rows, strict=True))
    return SprintRun(
        distance, now.time, now.robot, start, now.spun,
        max(columns[4]), max(columns[5]), min(columns[6]), air + now.warm, now.drawn, battery,
        {name: joules for name, joules in now.books.items() if joules != 0.0}, *columns,
    )  # fmt: skip
