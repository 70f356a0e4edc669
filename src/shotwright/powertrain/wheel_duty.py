"""A wheel and what a match asks of it, with the closed forms of spin-up, shot and recovery."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.pieces import square_sum, time_between
from shotwright.powertrain.supply import Supply
from shotwright.powertrain.train import Train, reflected_inertia

Stop = Literal["keep running", "brake", "coast", "clutch"]
STOPS: tuple[Stop, ...] = ("keep running", "brake", "coast", "clutch")


@dataclass(frozen=True, slots=True)
class Wheel(Result):
    """All wheels that turn on one shaft, seen as one.

    Parameters
    ----------
    inertia : float
        Without the motors' rotors. [kg m^2]
    friction : float
        Constant torque of bearings and air at the wheel. [N m]
    """

    inertia: float
    friction: float = 0.0

    def __post_init__(self) -> None:
        if not (self.inertia > 0 and self.friction >= 0 and math.isfinite(self.inertia + self.friction)):
            raise BadInput("inertia must be above zero and friction not below it", field="wheel")


@dataclass(frozen=True, slots=True)
class Drive(Result):
    """What turns a wheel.

    Parameters
    ----------
    motor : Motor
        One of them.
    motors : int
        How many on the shaft.
    train : Train
        Between motor and wheel.
    supply : Supply
        What feeds them.
    wheel : Wheel
        What they turn.
    """

    motor: Motor
    motors: int
    train: Train
    supply: Supply
    wheel: Wheel

    def __post_init__(self) -> None:
        if self.motors < 1:
            raise BadInput(f"{self.motors} motors; at least one is needed", field="motors")


@dataclass(frozen=True, slots=True)
class Burst(Result):
    """Shots in a row.

    Parameters
    ----------
    start : float
        When it is commanded. [s]
    shots : int
        How many.
    """

    start: float
    shots: int


@dataclass(frozen=True, slots=True)
class Duty(Result):
    """What a match asks of the wheel.

    Parameters
    ----------
    speed : float
        Set point. [rad/s]
    ball_inertia : float
        m_eq R^2: what a ball adds to the wheel's inertia for the jolt of a shot; see :func:`ball_inertia`.
        [kg m^2]
    bursts : tuple of Burst
        In their order.
    match : float
        Length. [s]
    feed : float
        Shortest time between two balls that the feed allows. [s]
    ready : float
        Share of the set point at which a ball may go. [-]
    stop : {"keep running", "brake", "coast", "clutch"}
        After a burst: held at speed; shorted through the motors; coasting with the motors turning; coasting
        on a one-way clutch.
    brake_resistance : float
        Added to the loop while braking. [ohm]
    air : float
        Temperature. [K]
    """

    speed: float
    ball_inertia: float
    bursts: tuple[Burst, ...]
    match: float = 150.0
    feed: float = 0.0
    ready: float = 0.98
    stop: Stop = "keep running"
    brake_resistance: float = 0.0
    air: float = CELSIUS_ZERO + 20.0

    def __post_init__(self) -> None:
        if not (self.speed > 0 and self.match > 0 and self.ball_inertia >= 0 and self.feed >= 0):
            raise BadInput("speed and match must be above zero, ball and feed not below it", field="duty")
        if not 0 < self.ready < 1:
            raise BadInput(
                f"{self.ready:g} is not allowed; it must be between 0 and 1, e.g. 0.98", field="ready"
            )
        if self.stop not in STOPS:
            raise BadInput(f"{self.stop!r} is not one of {', '.join(STOPS)}", field="stop")
        starts = [one.start for one in self.bursts]
        if not starts or starts != sorted(set(starts)) or starts[0] < 0 or starts[-1] >= self.match:
            raise BadInput(
                "at least one burst is needed, each later than the one before, in the match", field="bursts"
            )
        if min(one.shots for one in self.bursts) < 1:
            raise BadInput("a burst has at least one shot", field="bursts")


def ball_inertia(speed_before: float, speed_after: float, inertia: float) -> float:
    """What a ball adds for the jolt of a shot, from the speed drop of a launcher model: J (u0/u1 - 1).

    Parameters
    ----------
    speed_before, speed_after : float
        Of the rim; a launcher's releases hold them. [m/s]
    inertia : float
        Of the wheel in that model, all wheels together. [kg m^2]

    Returns
    -------
    float
        m_eq R^2. [kg m^2]

    Raises
    ------
    BadInput
        The wheel is not slower after the shot.
    """
    if not 0 < speed_after <= speed_before:
        raise BadInput(f"{speed_after:g} m/s after {speed_before:g} m/s is no drop", field="speed after")
    return inertia * (speed_before / speed_after - 1)


@dataclass(frozen=True, slots=True)
class SpinUp(Result):
    """Closed form of a wheel's way from one speed to another, at fixed temperatures.

    Parameters
    ----------
    final_speed_rad_s : float
        That it would reach.
    time_constant_s : float
        Of the exponential at full voltage.
    time_s : float
        From start to end.
    winding_heat_j : float
        In the winding of each motor.
    first_current_a, last_current_a : float
        Of each motor.
    inertia_kg_m2 : float
        At the wheel, with rotors.
    """

    final_speed_rad_s: float
    time_constant_s: float
    time_s: float
    winding_heat_j: float
    first_current_a: float
    last_current_a: float
    inertia_kg_m2: float


def spin_up(drive: Drive, end: float, start: float = 0.0, warm: float | None = None) -> SpinUp:
    """Time, current and heat from one speed to another: constant torque at the limit, then exponential.

    w(t) = w_inf - (w_inf - w0) e^(-t/tau), w_inf = (V - I R_t)/(K G), tau = J R_t/(eta G^2 N K^2),
    R_t = R + R_w + N R_b, I = I0 + T_friction/(eta G N K).

    Parameters
    ----------
    drive : Drive
        Motors, train, supply and wheel.
    end, start : float
        [rad/s]
    warm : float, optional
        Temperature of the motors; 20 degC when left out. [K]

    Returns
    -------
    SpinUp
        Time infinite when the speed is not reached.
    """
    motor = drive.motor if warm is None else drive.motor.at(warm)
    supply, n, g, eta = drive.supply, drive.motors, drive.train.ratio, drive.train.efficiency
    ohms = supply.battery.resistance_at(supply.level)
    volts = supply.battery.voltage_at(supply.level) - ohms * supply.other_current
    extra = 0.0 if motor.protection is None else motor.protection.resistance
    loop = motor.resistance + supply.wiring + extra + n * ohms
    k, push = motor.constant, eta * g * n * motor.constant
    need = motor.free_current + drive.wheel.friction / push
    inertia = reflected_inertia(drive.wheel.inertia, drive.train, motor.rotor_inertia, n)
    final, tau = (volts - need * loop) / (k * g), inertia * loop / (push * k * g)
    limit = supply.current_limit
    switch = min(max((volts - limit * loop) / (k * g), start), end)
    time, heat = 0.0, 0.0
    if switch > start:
        gain = push * (limit - need) / inertia
        time = (switch - start) / gain if gain > 0 else math.inf
        heat = motor.resistance * limit**2 * time
    later = time_between(switch, end, final, tau)
    amps = (volts - k * g * switch) / loop
    if math.isfinite(later) and later > 0:
        heat += motor.resistance * square_sum(amps, need, later, tau)
    elif later > 0:
        heat = math.inf
    return SpinUp(
        final_speed_rad_s=final,
        time_constant_s=tau,
        time_s=time + later,
        winding_heat_j=heat,
        first_current_a=min((volts - k * g * start) / loop, limit),
        last_current_a=min((volts - k * g * end) / loop, limit),
        inertia_kg_m2=inertia,
    )


def speed_after_shot(drive: Drive, ball: float, speed: float) -> float:
    """Wheel speed after a shot: w J/(J + m_eq R^2), J with the rotors.

    Parameters
    ----------
    drive : Drive
        Gives J.
    ball : float
        m_eq R^2. [kg m^2]
    speed : float
        Before. [rad/s]

    Returns
    -------
    float
        [rad/s]
    """
    inertia = reflected_inertia(drive.wheel.inertia, drive.train, drive.motor.rotor_inertia, drive.motors)
    return speed * inertia / (inertia + ball)


def recovery_time(drive: Drive, duty: Duty, warm: float | None = None) -> float:
    """Time from a shot at the set point until the wheel is ready again. [s], infinite: never.

    Parameters
    ----------
    drive : Drive
        Motors, train, supply and wheel.
    duty : Duty
        Gives set point, ready share and ball.
    warm : float, optional
        Temperature of the motors. [K]

    Returns
    -------
    float
        [s]
    """
    after = speed_after_shot(drive, duty.ball_inertia, duty.speed)
    ready = duty.ready * duty.speed
    return spin_up(drive, ready, after, warm).time_s if after < ready else 0.0
