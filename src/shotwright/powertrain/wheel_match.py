"""A wheel followed over a match, step by step: where the energy goes, and what it warms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.plain import Result
from shotwright.powertrain import match_kernel as match
from shotwright.powertrain import wheel_steps as at
from shotwright.powertrain.supply import Breaker, Supply
from shotwright.powertrain.wheel_duty import STOPS, Burst, Drive, Duty

FloatArray = NDArray[np.float64]
COARSE, FINE = 1.0, 0.1  # s, longest step of a wheel that holds or rests, and of one that changes speed
ENERGY_PARTS = (
    *("inside the battery", "everything else", "wires", "brake resistor", "windings", "motor friction"),
    *("train", "wheel friction", "shots"),
)
GUARDS = ("main breaker", "motor breaker", "motor protection")


@dataclass(frozen=True, slots=True)
class BurstRun(Result):
    """What happened in one burst; a time is None when it did not come to pass.

    Parameters
    ----------
    start_s : float
        When it was commanded.
    ready_after_s : float, optional
        From the command to the first shot.
    fired : int
        Shots.
    last_shot_after_s : float, optional
        From the command to the last shot of all those wanted.
    worst_recovery_s : float, optional
        Longest wait of the wheel between two shots.
    at_rest_after_s : float, optional
        From the command until the wheel stood still.
    winding_heat_j : float, optional
        In each motor, from the command to the last shot.
    winding_k : float, optional
        Temperature at the last shot.
    """

    start_s: float
    ready_after_s: float | None
    fired: int
    last_shot_after_s: float | None
    worst_recovery_s: float | None
    at_rest_after_s: float | None
    winding_heat_j: float | None
    winding_k: float | None


@dataclass(frozen=True, slots=True)
class MatchRun(Result):
    """What a match did to a drive.

    Parameters
    ----------
    bursts : tuple of BurstRun
        In their order.
    winding_k, case_k, peak_winding_k : float
        Temperatures at the end, and the highest.
    level : float
        State of charge at the end. [-]
    peak_motor_a, peak_battery_a, lowest_v : float
        Current of a motor and of the battery, and the battery's voltage.
    energy_j : dict
        Where the battery's energy went; `ENERGY_PARTS`, and what still turns.
    from_battery_j : float
        All of it.
    heat_to_air_j : float
        Of all motors.
    balance, heat_balance : float
        What is missing in both books, as a share. [-]
    used : dict
        Largest share that was used of each: of a breaker's current, of a protection's and the winding's
        warmth above the air. [-]
    breaks : dict
        What gave way and when it first did: main breaker, motor breaker, protection, winding limit. [s]
    open_s : dict
        How long each breaker or protection that tripped was open; empty when they are only watched. [s]
    """

    bursts: tuple[BurstRun, ...]
    winding_k: float
    case_k: float
    peak_winding_k: float
    level: float
    peak_motor_a: float
    peak_battery_a: float
    lowest_v: float
    energy_j: dict[str, float]
    from_battery_j: float
    heat_to_air_j: float
    balance: float
    heat_balance: float
    used: dict[str, float]
    breaks: dict[str, float]
    open_s: dict[str, float]


@dataclass(frozen=True, slots=True)
class Trace(Result):
    """A match against time, two rows for each step.

    Parameters
    ----------
    time_s, speed_rad_s, motor_a, battery_a, battery_v, winding_k, case_k, level : ndarray, shape (n,)
        Currents below zero brake.
    """

    time_s: FloatArray
    speed_rad_s: FloatArray
    motor_a: FloatArray
    battery_a: FloatArray
    battery_v: FloatArray
    winding_k: FloatArray
    case_k: FloatArray
    level: FloatArray


def build_row(
    drive: Drive, duty: Duty, fine: float = FINE, coarse: float = COARSE, cuts: bool = True
) -> FloatArray:
    """Numbers that the steps of a match read, in their order.

    Parameters
    ----------
    drive : Drive
        Motors, train, supply and wheel.
    duty : Duty
        What the match asks.
    fine, coarse : float
        Longest steps. [s]
    cuts : bool
        Whether breakers and protections cut when they trip, or are only watched.

    Returns
    -------
    ndarray, shape (WIDTH,)
        SI.

    Raises
    ------
    NoAnswer
        A self-locking train asked to coast or brake.
    """
    motor, supply, train, warm = drive.motor, drive.supply, drive.train, drive.motor.thermal
    if duty.stop in ("brake", "coast") and train.back_efficiency <= 0:
        raise NoAnswer(
            "a self-locking stage lets no wheel coast or brake through it; keep running, or a clutch"
        )
    p = np.zeros(at.WIDTH)
    p[: at.HOT + 1] = (
        *(motor.resistance, motor.constant, motor.free_current, motor.rotor_inertia),
        *(motor.copper_coefficient, motor.magnet_coefficient, warm.winding_capacity, warm.case_capacity),
        *(warm.winding_to_case, warm.case_to_air, motor.limit),
    )
    p[at.MOTORS : at.DRAG + 1] = (
        *(drive.motors, train.ratio, train.efficiency, train.back_efficiency),
        *(drive.wheel.inertia, drive.wheel.friction),
    )
    p[at.CHARGE : at.OTHER + 1] = (
        *(supply.battery.charge, supply.wiring, supply.current_limit, supply.other_current),
    )
    p[at.MAIN : at.EACH_TAU + 1] = (*_guard(supply.main_breaker), *_guard(supply.motor_breaker))
    p[at.PTC : at.PTC_RISE + 1] = (0.0, 1.0, 0.0, math.inf)
    if motor.protection is not None:
        ptc = motor.protection
        p[at.PTC : at.PTC_RISE + 1] = (
            *(ptc.resistance, ptc.time_constant, ptc.resistance * ptc.thermal_resistance),
            ptc.switch_temperature - duty.air,
        )
    p[at.SPEED : at.END + 1] = (
        *(duty.speed, duty.ready, duty.ball_inertia, duty.feed, STOPS.index(duty.stop)),
        *(duty.brake_resistance, duty.air, coarse, fine, duty.match),
    )
    guarded = supply.main_breaker or supply.motor_breaker or motor.protection
    p[at.CUTS] = float(cuts and guarded is not None)
    p[at.MAIN_BACK], p[at.EACH_BACK] = _closing(supply.main_breaker), _closing(supply.motor_breaker)
    if motor.protection is not None:
        p[at.PTC_BACK] = max(motor.protection.closes_below - duty.air, 0.0)
    return p


def _closing(breaker: Breaker | None) -> float:
    return 0.0 if breaker is None else breaker.closes_at * (breaker.factor * breaker.rating) ** 2


def _guard(breaker: Breaker | None) -> tuple[float, float]:
    if breaker is None:
        return math.inf, 1.0
    return (breaker.factor * breaker.rating) ** 2, breaker.time_constant


def battery_table(supply: Supply) -> FloatArray:
    """Battery as the steps read it: states of charge, voltages, resistances, charge at the start."""
    battery = supply.battery
    start = [supply.level] * len(battery.levels)
    return np.array([battery.levels, battery.voltages, battery.resistances, start], dtype=float)


def run_match(
    drive: Drive, duty: Duty, fine: float = FINE, coarse: float = COARSE, cuts: bool = True
) -> MatchRun:
    """Follow a match as :func:`trace_match` does, without the record.

    Parameters
    ----------
    drive : Drive
        Motors, train, supply and wheel.
    duty : Duty
        What the match asks.
    fine, coarse : float
        Longest steps. [s]
    cuts : bool
        Whether breakers and protections cut when they trip, or are only watched.

    Returns
    -------
    MatchRun
        What happened.
    """
    return _follow(drive, duty, fine, coarse, 0, cuts)[0]


def trace_match(
    drive: Drive,
    duty: Duty,
    fine: float = FINE,
    coarse: float = COARSE,
    rows: int = 200_000,
    cuts: bool = True,
) -> tuple[MatchRun, Trace]:
    """Follow a match step by step, each step the exact solution at fixed temperatures and charge.

    Parameters
    ----------
    drive : Drive
        Motors, train, supply and wheel.
    duty : Duty
        What the match asks.
    fine, coarse : float
        Longest step while the speed changes, and while it holds or rests; the error from warmth and charge
        that stand still within a step falls with it. [s]
    rows : int
        Room for the record.
    cuts : bool
        Whether breakers and protections cut when they trip, or are only watched.

    Returns
    -------
    MatchRun, Trace
        What happened, and the record.

    Raises
    ------
    NoAnswer
        A self-locking train asked to coast.

    Notes
    -----
    The controller gives full voltage below the set point and holds it exactly above; a shot takes no time.
    A breaker or protection that trips cuts: the wheel coasts until it closes again, if it does. A breaker's
    image follows the mean square of the current in each step.
    The free current I0 keeps its value when warm. A train loses the same share whichever way power flows
    through it, unless its back efficiency says otherwise.
    """
    return _follow(drive, duty, fine, coarse, rows, cuts)


def _follow(
    drive: Drive, duty: Duty, fine: float, coarse: float, rows: int, cuts: bool
) -> tuple[MatchRun, Trace]:
    bursts = np.array([[one.start, one.shots] for one in duty.bursts], dtype=float)
    state, books = np.zeros(at.STATE), np.zeros(at.BOOKS)
    told = np.zeros((len(bursts), match.BURST_WIDTH))
    trace = np.empty((rows, match.TRACE_WIDTH))
    row = build_row(drive, duty, fine, coarse, cuts)
    kept = match.run_match(row, battery_table(drive.supply), bursts, state, books, told, trace)
    return run_of(row, duty.bursts, state, books, told, drive.supply.level), Trace(*trace[:kept].T.copy())


def run_of(
    p: FloatArray, bursts: Sequence[Burst], s: FloatArray, e: FloatArray, told: FloatArray, level: float
) -> MatchRun:
    """Name what the steps of a match left in their arrays.

    Parameters
    ----------
    p, s, e, told : ndarray
        As `match_kernel.run_match` takes and fills them. SI.
    bursts : sequence of Burst
        Of the duty.
    level : float
        State of charge at the start. [-]

    Returns
    -------
    MatchRun
        The same with names.
    """
    parts = dict(zip(ENERGY_PARTS, e[at.IN_BATTERY : at.SHOTS + 1].tolist(), strict=True))
    parts["wires"] += float(e[at.IN_PTC])
    rotors = p[at.MOTORS] * p[at.ROTOR] * p[at.RATIO] ** 2
    parts["still turning"] = float(0.5 * (p[at.INERTIA] * s[at.W] ** 2 + rotors * s[at.Q] ** 2))
    drawn, heat = float(e[at.BATTERY]), float(e[at.IN_WINDING] + e[at.FRICTION])
    kept = p[at.MOTORS] * (p[at.CW] * s[at.WARM] + p[at.CC] * s[at.CASE])
    broke = {
        "main breaker": s[at.AT_MAIN],
        "motor breaker": s[at.AT_EACH],
        "motor protection": s[at.AT_PTC],
        "winding limit": s[at.AT_HOT],
    }
    return MatchRun(
        bursts=tuple(_burst(one, row) for one, row in zip(bursts, told, strict=True)),
        winding_k=float(p[at.AIR] + s[at.WARM]),
        case_k=float(p[at.AIR] + s[at.CASE]),
        peak_winding_k=float(p[at.AIR] + s[at.PEAK_WARM]),
        level=float(level - s[at.DRAWN] / p[at.CHARGE]),
        peak_motor_a=float(s[at.PEAK_I]),
        peak_battery_a=float(s[at.PEAK_B]),
        lowest_v=float(s[at.LOW_V]),
        energy_j=parts,
        from_battery_j=drawn,
        heat_to_air_j=float(e[at.TO_AIR]),
        balance=(drawn - sum(parts.values())) / drawn if drawn > 0 else 0.0,
        heat_balance=(heat - kept - float(e[at.TO_AIR])) / heat if heat > 0 else 0.0,
        used={
            "main breaker": math.sqrt(s[at.USED]),
            "motor breaker": math.sqrt(s[at.USED + 1]),
            "motor protection": float(s[at.USED + 2]),
            "winding limit": float(s[at.PEAK_WARM] / max(p[at.HOT] - p[at.AIR], 1e-9)),
        },
        breaks={name: float(when) for name, when in broke.items() if when < math.inf},
        open_s={name: float(s[at.OFF + i]) for i, name in enumerate(GUARDS) if s[at.OFF + i] > 0.0},
    )


def _burst(one: Burst, row: FloatArray) -> BurstRun:
    ready, fired, end, rest, worst, heat, warm = (
        None if math.isnan(value) else float(value) for value in row
    )
    return BurstRun(one.start, ready, int(fired or 0), end, worst, rest, heat, warm)
