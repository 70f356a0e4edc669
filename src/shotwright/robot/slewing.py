"""Moving the launcher from one elevation to another."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.errors import NoAnswer
from shotwright.base.plain import Result
from shotwright.robot.tilt import Tilt, worm_torques


@dataclass(frozen=True, slots=True)
class Running(Result):
    """The motor while the launcher moves steadily.

    Parameters
    ----------
    torque_n_m : float
        Of the weight at the pivot.
    motor_torque_n_m : float
        Of the motor.
    motor_a : float
        Its current.
    rate_deg_s : float
        Of the launcher.
    """

    torque_n_m: float
    motor_torque_n_m: float
    motor_a: float
    rate_deg_s: float


def running(tilt: Tilt, torque: float, *, raising: bool = True) -> Running:
    """Speed and current while a torque is raised or lowered, full voltage, cold.

    Parameters
    ----------
    tilt : Tilt
        The drive.
    torque : float
        At the pivot. [N m]
    raising : bool
        Or lowering.

    Returns
    -------
    Running
        Torque, current, rate.

    Raises
    ------
    NoAnswer
        The motor is not strong enough.
    """
    up, down = worm_torques(tilt.worm, torque)
    at_worm = up if raising else down
    before = tilt.train
    share = 1 / before.efficiency if at_worm > 0 else before.back_efficiency
    load = at_worm / before.ratio * share
    motor, supply = tilt.motor, tilt.supply
    ohms = supply.battery.resistance_at(supply.level)
    volts = supply.battery.voltage_at(supply.level) - ohms * supply.other_current
    own = 0.0 if motor.protection is None else motor.protection.resistance
    loop = motor.resistance + supply.wiring + own + ohms
    current = motor.free_current + load / motor.constant
    most = min(supply.current_limit, volts / loop)
    if current > most:
        raise NoAnswer(
            f"raising {torque:.3g} N m takes {current:.3g} A, {tilt.motor.name} gets {most:.3g} A at most"
        )
    speed = (volts - max(current, 0.0) * loop) / motor.constant
    ratio = before.ratio * tilt.worm.ratio
    return Running(torque, load, current, math.degrees(speed / ratio))


def slew_time(angle: float, rate: float, acceleration: float) -> float:
    """Time to turn through an angle from rest to rest: theta/omega + omega/a, short 2 sqrt(theta/a).

    Parameters
    ----------
    angle : float
        [rad]
    rate : float
        Highest. [rad/s]
    acceleration : float
        Up and down. [rad/s^2]

    Returns
    -------
    float
        [s]

    Examples
    --------
    >>> round(slew_time(math.radians(35), math.radians(60), math.radians(200)), 6)
    0.883333
    """
    if angle <= rate**2 / acceleration:
        return 2 * math.sqrt(angle / acceleration)
    return angle / rate + rate / acceleration


@dataclass(frozen=True, slots=True)
class Slew(Result):
    """From one elevation to another.

    Parameters
    ----------
    from_deg, to_deg : float
        Elevations.
    time_s : float
        From rest to rest.
    rate_deg_s, acceleration_deg_s2 : float
        At the elevation with the largest weight torque on the way.
    motor_a : float
        While it moves steadily.
    """

    from_deg: float
    to_deg: float
    time_s: float
    rate_deg_s: float
    acceleration_deg_s2: float
    motor_a: float


def slew(tilt: Tilt, start: float, end: float) -> Slew:
    """Time between two elevations, at the speed and acceleration of the hardest place on the way.

    Parameters
    ----------
    tilt : Tilt
        The drive.
    start, end : float
        Elevations. [rad]

    Returns
    -------
    Slew
        Time, rate, current.

    Raises
    ------
    NoAnswer
        The motor can't raise the launcher.

    Notes
    -----
    The acceleration is that of the torque left between running and the current limit, on launcher, worm train
    and rotor; stopping takes as long as starting. On the safe side where the weight torque falls on the way.
    """
    low, high = sorted((start, end))
    hardest = low if abs(low + tilt.lean) < abs(high + tilt.lean) else high
    if low + tilt.lean < 0 < high + tilt.lean:
        hardest = -tilt.lean
    torque, raising = tilt.weight_torque(hardest), end > start
    steady = running(tilt, torque, raising=raising)
    motor, supply = tilt.motor, tilt.supply
    ohms = supply.battery.resistance_at(supply.level)
    own = 0.0 if motor.protection is None else motor.protection.resistance
    most = min(
        supply.current_limit,
        supply.battery.voltage_at(supply.level) / (motor.resistance + supply.wiring + own + ohms),
    )
    efficiency = tilt.train.efficiency * tilt.worm.stage.efficiency
    ratio = tilt.train.ratio * tilt.worm.ratio
    spare = motor.constant * (most - max(steady.motor_a, 0.0)) * ratio * efficiency
    inertia = tilt.inertia + efficiency * motor.rotor_inertia * ratio**2
    # a start on the motor's line lags behind full speed by one time constant, rate/(spare/inertia); an even
    # start at half that acceleration lags as much
    acceleration = 0.5 * spare / inertia
    rate = math.radians(steady.rate_deg_s)
    time = slew_time(high - low, rate, acceleration) if high > low else 0.0
    return Slew(
        math.degrees(start), math.degrees(end), time, steady.rate_deg_s,
        math.degrees(acceleration), steady.motor_a,
    )  # fmt: skip
