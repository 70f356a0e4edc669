"""How long a push can be held before a winding is too hot or a protection trips."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.errors import NoAnswer
from shotwright.base.plain import Result
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.pieces import one_node, two_nodes
from shotwright.robot.drive_base import DriveBase, push

LONGEST = 600.0  # s; no match is longer
_AIR = 293.15  # K


@dataclass(frozen=True, slots=True)
class HeldPush(Result):
    """A push against something that does not move.

    Parameters
    ----------
    force_n : float
        Asked for.
    held_s : float
        Until the first thing gave way, or the longest time that was followed.
    ended_by : str
        What gave way; "nothing" when it can be held on.
    ends_s : dict
        When each would have given way by itself; only what does.
    motor_a, battery_a : float
        Currents at the start.
    last_motor_a, last_force_n : float
        At the end; warm magnets take more current, and motors at their limit give less force.
    winding_k, case_k : float
        Temperatures at the end.
    from_battery_j : float
        Chemical energy.
    energy_j : dict
        Where it went: all of it heat.
    """

    force_n: float
    held_s: float
    ended_by: str
    ends_s: dict[str, float]
    motor_a: float
    battery_a: float
    last_motor_a: float
    last_force_n: float
    winding_k: float
    case_k: float
    from_battery_j: float
    energy_j: dict[str, float]


def held_push(
    base: DriveBase,
    force: float = math.inf,
    *,
    longest: float = LONGEST,
    step: float = 0.1,
    air: float = _AIR,
    warm: float | None = None,
    yields: bool = False,
) -> HeldPush:
    """Hold a push until something gives way, each step exact at fixed temperatures.

    Parameters
    ----------
    base : DriveBase
        The base.
    force : float
        Wanted; the most that it can, when it can't do that. [N]
    longest : float
        Follow it no longer. [s]
    step : float
        [s]
    air, warm : float
        Temperature of the air, and of the motors at the start. [K]
    yields : bool
        Push on with what warm motors still give, instead of ending where that is less than was asked for.

    Returns
    -------
    HeldPush
        Time, what ended it, energy books.

    Notes
    -----
    The motors stand, so all power becomes heat. The main breaker sees the battery's current, a motor's
    breaker the part of it that its controller takes, a self-resetting protection the motor's own.
    """
    wanted = push(base, wanted=force).force_n
    motor, supply = base.motor, base.supply
    winding = case = (air if warm is None else warm) - air
    drawn, time, books = 0.0, 0.0, dict.fromkeys(_BOOKS, 0.0)
    guards = _guards(base, air)
    ends: dict[str, float] = {}
    first: tuple[float, float] = (0.0, 0.0)
    current, last = 0.0, wanted
    while time < longest - 1e-12 and not ends:
        now = motor.at(air + winding, air + case)
        e = _electric(base, now, supply.level - drawn / supply.battery.charge, wanted)
        if e.force < wanted * (1 - 1e-9) and not yields:
            ends["force of the warm motors"] = time
            break
        current, last = e.motor, e.force
        first = (e.motor, e.battery + supply.other_current) if time == 0.0 else first
        span = min(step, longest - time)
        ends |= _trips(guards, time, span, e.motor, e.battery, base.motors, supply.other_current)
        hot, warm_case, _ = _warmed(base, winding, case, e.winding * e.motor**2, span)
        if air + hot >= motor.limit:
            # the winding warms almost evenly within one step
            reached = span * (motor.limit - air - winding) / (hot - winding) if hot > winding else 0.0
            ends["winding"] = time + max(reached, 0.0)
        if ends:
            span = min(ends.values()) - time
            hot, warm_case, _ = _warmed(base, winding, case, e.winding * e.motor**2, span)
        _book(books, e, base.motors, supply.other_current, span)
        winding, case, time = hot, warm_case, time + span
        drawn += (e.battery + supply.other_current) * span
    battery = books.pop("battery")
    ended = min(ends, key=lambda name: ends[name]) if ends else "nothing"
    return HeldPush(
        wanted, time, ended, ends, *first, current, last, air + winding, air + case, battery,
        {name: joules for name, joules in books.items() if joules},
    )  # fmt: skip


_BOOKS = (
    "battery",
    "battery's resistance",
    "everything else that runs",
    "windings",
    "wires and protections",
)


@dataclass(frozen=True, slots=True)
class _Electric:
    """Currents of a step, and what they flow through."""

    force: float  # that is reached [N]
    motor: float  # of each [A]
    battery: float  # of all motors together, at the battery [A]
    volts: float  # of the battery, open
    ohms: float  # of the battery
    winding: float  # [ohm]
    loop: float  # winding, wires and protection of one motor [ohm]


def _electric(base: DriveBase, motor: Motor, level: float, force: float) -> _Electric:
    """Currents that hold a force with motors as warm as they are, or the most that they still give."""
    supply = base.supply
    volts, ohms = supply.battery.voltage_at(level), supply.battery.resistance_at(level)
    own = 0.0 if motor.protection is None else motor.protection.resistance
    loop = motor.resistance + supply.wiring + own
    per = base.train.efficiency * base.train.ratio * base.motors * motor.constant / base.wheel_radius
    left = volts - ohms * supply.other_current
    most = min(supply.current_limit, left / (loop + base.motors * ohms))
    current = min(motor.free_current + force / per, most)
    heat = base.motors * current**2 * loop
    battery = 2 * heat / (left + math.sqrt(max(left**2 - 4 * ohms * heat, 0.0)))
    reached = per * (current - motor.free_current)
    return _Electric(reached, current, battery, volts, ohms, motor.resistance, loop)


def _warmed(base: DriveBase, winding: float, case: float, heat: float, time: float) -> tuple[float, ...]:
    part = base.motor.thermal
    return two_nodes(
        winding, case, heat, 0.0, time,
        part.winding_capacity, part.case_capacity, part.winding_to_case, part.case_to_air,
    )  # fmt: skip


def _guards(base: DriveBase, air: float) -> dict[str, list[float]]:
    """State, limit and time constant of each protection that there is."""
    found: dict[str, list[float]] = {}
    for name, one in (
        ("main breaker", base.supply.main_breaker),
        ("motor breaker", base.supply.motor_breaker),
    ):
        if one is not None:
            found[name] = [0.0, (one.factor * one.rating) ** 2, one.time_constant]
    ptc = base.motor.protection
    if ptc is not None:
        found["self-resetting protection"] = [0.0, ptc.hold_current(air) ** 2, ptc.time_constant]
    return found


def _trips(
    guards: dict[str, list[float]],
    time: float,
    span: float,
    motor: float,
    battery: float,
    motors: int,
    other: float,
) -> dict[str, float]:
    """Warm the protections for a step; say when those that trip within it do."""
    into = {
        "main breaker": (battery + other) ** 2,
        "motor breaker": (battery / motors) ** 2,
        "self-resetting protection": motor**2,
    }
    found = {}
    for name, guard in guards.items():
        state, limit, tau = guard
        guard[0] = one_node(state, into[name], span, tau)
        if guard[0] >= limit > state:
            found[name] = time + tau * math.log((into[name] - state) / (into[name] - limit))
    return found


def _book(books: dict[str, float], e: _Electric, motors: int, other: float, time: float) -> None:
    whole = e.battery + other
    books["battery"] += e.volts * whole * time
    books["battery's resistance"] += e.ohms * whole**2 * time
    books["everything else that runs"] += other * (e.volts - e.ohms * whole) * time
    books["windings"] += motors * e.winding * e.motor**2 * time
    books["wires and protections"] += motors * (e.loop - e.winding) * e.motor**2 * time


def hold_times(base: DriveBase, forces: tuple[float, ...], *, longest: float = LONGEST) -> tuple[float, ...]:
    """Time for which each of many forces can be held.

    Parameters
    ----------
    base : DriveBase
        The base.
    forces : tuple of float
        [N]
    longest : float
        Follow none longer. [s]

    Returns
    -------
    tuple of float
        [s]; 0 for a force that the base does not reach.
    """
    found = []
    for force in forces:
        try:
            enough = push(base).force_n >= force * (1 - 1e-9)
            found.append(held_push(base, force, longest=longest, step=0.25).held_s if enough else 0.0)
        except NoAnswer:
            found.append(0.0)
    return tuple(found)


def force_held_for(base: DriveBase, time: float, *, digits: int = 20) -> float:
    """Largest push that can be held for a time: the motors at their heat limit, or whatever gives way first.

    Parameters
    ----------
    base : DriveBase
        The base.
    time : float
        [s]
    digits : int
        Halvings of the search.

    Returns
    -------
    float
        The whole pushing force where nothing gives way in time. [N]
    """

    def holds(force: float) -> bool:
        return held_push(base, force, longest=time, step=0.25).ended_by == "nothing"

    low, high = 0.0, push(base).force_n
    if holds(high):
        return high
    for _ in range(digits):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
