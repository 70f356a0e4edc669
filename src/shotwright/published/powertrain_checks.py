"""What motors, trains, supplies and their heat must give: closed forms, standards, a published example."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Callable, Iterator

from shotwright.powertrain import (
    motor,
    motor_fit,
    pieces,
    supply,
    train,
    wheel_duty,
    wheel_match,
    winding_duty,
)
from shotwright.published.table import Check, Kind

_ZERO = 273.15
_LINE = "closed form: linear motor, V = I R + K omega, T = K (I - I0)"
_SPIN = "closed form: exponential spin-up, tau = J R/(eta G^2 N K^2)"
_MIXED = "closed form: the exponential pieces of spin-up and shots, put together"
_SHOT = "closed form: angular momentum of wheel and ball, w1 = w0 J/(J + m_eq R^2)"
_BRAKE = "closed form: a shorted motor turns all kinetic energy into heat of its loop"
_NODES = "closed form: two bodies that share heat, exponential of a 2 x 2 matrix"
_ONE = "closed form: one body that warms, IEC 60034-1 duty type "
_METHOD = "IEC 60034-1, resistance method, k = 235, example of a resistance meter's manual: 200 to 210 mOhm"
_COPPER = "IEC 60028: annealed copper, 0.00393 per kelvin at 20 degC"
_PTC = "closed form: one body that warms from its own I^2 R to its switching temperature"
_IMAGE = "closed form: thermal image of one time constant, the equation of IEC 60255-149"
_PEUKERT = "closed form: Peukert, t = H (C/(I H))^k"
_CELL = "closed form: voltage behind a resistance"
_WORM = "closed form: worm on a wedge, e = (cos p - f tan l)/(cos p + f cot l)"
_TABLE = "from memory: Shigley's Mechanical Engineering Design, Table 13-6, f 0.05"
_SPRINT = "closed form: sprint of a linear motor by Lambert's W, z = 1 + X + W0(-exp(-(1 + X)))"

_GENERIC = "12 V, 0.15 ohm, 0.006 V s/rad, 2 A"
_CHECK = f"two motors of {_GENERIC}, 6:1 at 0.9, wheel 0.002 kg m^2, 0.02 ohm battery, 0.01 ohm wires:"


@functools.cache
def _motor() -> motor.Motor:
    middle = motor.generic_motors()[1]
    return dataclasses.replace(middle, copper_coefficient=0.0, magnet_coefficient=0.0)


def _supply(ohms: float = 0.02, wires: float = 0.01, limit: float = math.inf) -> supply.Supply:
    battery = supply.Battery("bench", 64800.0, (1.0,), (12.0,), (ohms,))
    return supply.Supply(battery, wiring=wires, current_limit=limit)


def _drive(limit: float = math.inf) -> wheel_duty.Drive:
    stages = (train.stage("spur", 6, 0.9),)
    return wheel_duty.Drive(_motor(), 2, train.Train(stages), _supply(limit=limit), wheel_duty.Wheel(0.002))


def _ideal(start_inertia: float = 0.002) -> wheel_duty.Drive:
    still = dataclasses.replace(_motor(), free_current=0.0)
    return dataclasses.replace(
        _drive(),
        motor=still,
        train=train.Train((train.stage("spur", 6, 1.0),)),
        wheel=wheel_duty.Wheel(start_inertia),
    )


def _row(
    what: str, source: str, expected: float, compute: Callable[[], float], tolerance: float | None = None
) -> Check:
    kind: Kind = "authority"
    for opening, named in (("closed form", "identity"), ("from memory", "memory")):
        if source.startswith(opening):
            kind = named  # type: ignore[assignment]  # one of the words of Kind
    return Check(
        what, source, kind, expected, abs(expected) * 1e-9 if tolerance is None else tolerance, compute
    )


def _motors() -> Iterator[Check]:
    curve = functools.cache(lambda: motor.motor_curve(_motor(), 12.0))
    for name, words, expected in (
        ("free_speed_rad_s", "free speed [rad/s]", 1950.0),
        ("stall_torque_n_m", "stall torque [N m]", 0.468),
        ("peak_power_w", "largest power [W]", 228.15),
        ("peak_power_current_a", "current at largest power [A]", 41.0),
        ("best_efficiency", "largest efficiency [-]", 0.7087722339832),
        ("best_current_a", "current at largest efficiency [A]", 12.64911064067),
        ("best_speed_rad_s", "speed at largest efficiency [rad/s]", 1683.772233983),
        ("best_power_w", "power at largest efficiency [W]", 107.5840608803),
    ):
        yield _row(
            f"motor {_GENERIC}: {words}",
            _LINE,
            expected,
            functools.partial(lambda n: getattr(curve(), n), name),
        )
    warm = functools.cache(lambda: motor.motor_curve(motor.generic_motors()[1].at(_ZERO + 80), 12.0))
    hot = f"motor {_GENERIC}, 60 K warmer, magnets -0.2 %/K:"
    yield _row(f"{hot} stall torque [N m]", _LINE, 0.331242880725, lambda: warm().stall_torque_n_m)
    yield _row(f"{hot} largest power [W]", _LINE, 182.3915522301, lambda: warm().peak_power_w)
    for n, torque in ((2, 0.696), (8, 1.704)):
        yield _row(
            f"{n} such motors on a 0.02 ohm battery, 0.01 ohm wires: stall torque of all [N m]",
            _LINE,
            torque,
            functools.partial(
                lambda n: n * motor.motor_curve(_motor(), 12.0, 0.01 + n * 0.02).stall_torque_n_m, n
            ),
        )
    for field, words, value in (
        ("resistance_ohm", "resistance [ohm]", 0.15),
        ("constant_v_s", "constant [V s/rad]", 0.006),
        ("free_current_a", "free current [A]", 2.0),
    ):
        yield _row(
            f"fit of 5 A 1875 rad/s 0.018 N m; 20 A 1500 0.108; 40 A 1000 0.228 at 12 V: {words}",
            _LINE,
            value,
            functools.partial(lambda f: getattr(_fit(), f).value, field),
        )
    yield _row("copper at 80 degC over 20 degC [-]", _COPPER, 1.2358, lambda: _copper(80.0), 1e-12)
    yield _row("copper at 130 degC over 20 degC [-]", _COPPER, 1.4323, lambda: _copper(130.0), 1e-12)
    yield _row(
        "winding 5 % more resistant than at 20 degC, air 25 degC: above the air [K]",
        _METHOD,
        7.75,
        lambda: motor.winding_temperature(1.05, _ZERO + 20) - _ZERO - 25,
        0.005,
    )


@functools.cache
def _fit() -> motor_fit.MotorFit:
    rows = ((5.0, 1875.0, 0.018), (20.0, 1500.0, 0.108), (40.0, 1000.0, 0.228))
    return motor_fit.fit_motor([motor_fit.Reading(12.0, *row) for row in rows])


def _copper(celsius: float) -> float:
    one = motor.generic_motors()[1]
    return one.at(_ZERO + celsius).resistance / one.resistance


def _wheels() -> Iterator[Check]:
    up = functools.cache(lambda: wheel_duty.spin_up(_drive(), 200.0))
    duty = wheel_duty.Duty(200.0, 0.00049, (wheel_duty.Burst(0.0, 6),), ready=0.99)
    yield _row(f"{_CHECK} 0 to 200 rad/s [s]", _SPIN, 0.2470043257856, lambda: up().time_s)
    yield _row(f"{_CHECK} final speed [rad/s]", _SPIN, 322.2222222222, lambda: up().final_speed_rad_s)
    yield _row(
        f"{_CHECK} 0 to 95 % of the final speed [s]",
        _SPIN,
        0.7633158707993,
        lambda: wheel_duty.spin_up(_drive(), 0.95 * 2900 / 9).time_s,
    )
    yield _row(f"{_CHECK} both motors at 200 rad/s [A]", _SPIN, 48.0, lambda: 2 * up().last_current_a)
    yield _row(
        f"{_CHECK} heat per winding, 0 to 200 rad/s [J]", _SPIN, 60.68894333621, lambda: up().winding_heat_j
    )
    yield _row(
        f"{_CHECK} 0 to 200 rad/s with 40 A for each motor [s]",
        _SPIN,
        0.2733657768897,
        lambda: wheel_duty.spin_up(_drive(40.0), 200.0).time_s,
    )
    yield _row(
        f"{_CHECK} after a shot of 0.00049 kg m^2 at 200 rad/s [rad/s]",
        _SHOT,
        171.6926632005,
        lambda: wheel_duty.speed_after_shot(_drive(), 0.00049, 200.0),
    )
    yield _row(
        f"{_CHECK} recovery to 198 rad/s [s]",
        _SPIN,
        0.04894407878294,
        lambda: wheel_duty.recovery_time(_drive(), duty),
    )
    yield _row(
        f"{_CHECK} six shots without pause, last shot [s]", _MIXED, 0.5124033510994, lambda: _burst("last")
    )
    yield _row(f"{_CHECK} six shots, heat per winding [J]", _MIXED, 88.64560954862, lambda: _burst("heat"))
    yield _row(f"{_CHECK} six shots, from the battery [J]", _MIXED, 400.5387033865, lambda: _burst("battery"))
    yield _row(f"{_CHECK} six shots, in all resistances [J]", _MIXED, 236.3882921297, lambda: _burst("ohms"))
    yield _row(f"{_CHECK} six shots, motor friction [J]", _MIXED, 11.24407073989, lambda: _burst("friction"))
    yield _row(
        "ideal motor to 62 % of its free speed, heat over J w_free^2/2 [-]", _SPIN, 0.8556, _heat_of_a_start
    )
    yield _row("shorted from 200 rad/s, after 0.4224248701468 s [rad/s]", _BRAKE, 20.0, _braked, 1e-6)
    yield _row("reversed from free speed until it stands, heat over J w^2/2 [-]", _BRAKE, 3.0, _reversed)
    yield _row(
        "rotors of the same motors catch up a wheel of 185 rad/s through a one-way clutch [s]",
        _SPIN,
        0.07113664724271,
        lambda: pieces.catch_up_time(0.0, 185.0, 2900 / 9, 1 / 12, 0.0),
    )
    for words, torque_row, expected in (
        ("current [A]", 0, 2.856079518115),
        ("a turn [s]", 1, 0.977370909012),
    ):
        yield _row(
            f"one motor {_GENERIC} winds a cam of 1.232754506086 N m by 300:1 at 0.8: {words}",
            "closed form: steady torque, I = I0 + T/(eta G K)",
            expected,
            functools.partial(lambda k: _wound()[k], torque_row),
            expected * 1e-8,
        )
    for what, ratio, inertia, expected in (
        ("15:1, rotors 1.5e-5 kg m^2", 15.0, 1.5e-5, 0.8352497868008),
        ("14.38738847036:1, rotors without inertia", 14.38738847036, 1e-30, 0.7634120124381),
    ):
        yield _row(
            f"robot of 15 kg, four motors {_GENERIC}, wheels 50 mm, {what}, no slip: 3 m from rest [s]",
            _SPRINT,
            expected,
            functools.partial(_sprint, ratio, inertia),
        )


@functools.cache
def _six_shots() -> wheel_match.MatchRun:
    almost = 1 - 1e-13
    duty = wheel_duty.Duty(200.0, 0.00049, (wheel_duty.Burst(0.0, 6),), match=0.5124033510995, ready=almost)
    return wheel_match.run_match(_drive(), duty)


def _burst(what: str) -> float:
    run = _six_shots()
    found = {
        "last": run.bursts[0].last_shot_after_s or math.nan,
        "heat": run.bursts[0].winding_heat_j or math.nan,
        "battery": run.from_battery_j,
        "ohms": sum(run.energy_j[name] for name in ("windings", "wires", "inside the battery")),
        "friction": run.energy_j["motor friction"],
    }
    return found[what]


def _heat_of_a_start() -> float:
    drive = dataclasses.replace(_ideal(), supply=_supply(0.0, 0.0))
    free = wheel_duty.spin_up(drive, 1.0).final_speed_rad_s
    up = wheel_duty.spin_up(drive, 0.62 * free)
    return 2 * up.winding_heat_j / (0.5 * up.inertia_kg_m2 * free**2)


def _braked() -> float:
    drive = _ideal(0.002972 - 2 * 36 * 1.5e-5)
    up = wheel_duty.spin_up(drive, 200.0)
    burst = (wheel_duty.Burst(0.0, 1),)
    duty = wheel_duty.Duty(
        200.0, 0.0, burst, match=up.time_s + 0.4224248701468, ready=1 - 1e-13, stop="brake"
    )
    left = wheel_match.run_match(drive, duty).energy_j["still turning"]
    return math.sqrt(2 * left / up.inertia_kg_m2)


def _reversed() -> float:
    time = pieces.time_between(1.0, 0.0, -1.0, 1.0)
    return pieces.square_sum(2.0, 0.0, time, 1.0) / 0.5


@functools.cache
def _wound() -> tuple[float, float]:
    stages = (train.stage("spur", 300, 0.8),)
    shaft = wheel_duty.Wheel(1e-4)
    drive = wheel_duty.Drive(_motor(), 1, train.Train(stages), _supply(0.0, 0.0), shaft)
    turn = winding_duty.even_turn(1.232754506086)
    run = winding_duty.run_winding(drive, turn, (wheel_duty.Burst(0.0, 6),), 20.0)
    return run.record.motor_a[-1], run.last_turn_s


def _sprint(ratio: float, rotor: float) -> float:
    stages = (train.stage("spur", ratio, 0.85),)
    one = dataclasses.replace(_motor(), rotor_inertia=rotor)
    robot = wheel_duty.Wheel(15.0 * 0.05**2)
    up = wheel_duty.spin_up(wheel_duty.Drive(one, 4, train.Train(stages), _supply(), robot), 1.0)
    return pieces.time_for_angle(0.0, up.final_speed_rad_s, up.time_constant_s, 3.0 / 0.05)


def _heat() -> Iterator[Check]:
    for seconds, winding, case in (
        (10.0, 6.145421666288, 0.08654818355),
        (150.0, 41.82879485599, 9.083291903758),
        (600.0, 76.80160450685, 40.38246874445),
    ):
        for index, words, expected in ((0, "winding", winding), (1, "case", case)):
            yield _row(
                f"10 W into 15 J/K, 4 K/W to 90 J/K, 10 K/W to the air, after {seconds:g} s: {words} [K]",
                _NODES,
                expected,
                functools.partial(
                    lambda t, i: pieces.two_nodes(0, 0, 10, 0, t, 15, 90, 4, 10)[i], seconds, index
                ),
                1e-9,
            )
    yield _row(
        "30 W, 4 K/W, 60 s: 20 s on, 60 s off for ever, hottest [K]", f"{_ONE}S3", 46.19243690078, _periodic
    )
    yield _row(
        "on for half a time constant: power allowed over continuous power [-]",
        f"{_ONE}S2",
        2.541494082537,
        lambda: 1 / pieces.one_node(0.0, 1.0, 0.5, 1.0),
    )
    ptc = motor.SelfResetting(0.02, 40.0, 0.9, _ZERO + 125)
    named = "self-resetting protection 0.02 ohm, 40 K/W, 0.9 J/K, 125 degC:"
    yield _row(f"{named} holds at 40 degC [A]", _PTC, 10.30776406404, lambda: ptc.hold_current(_ZERO + 40))
    yield _row(
        f"{named} trips at 20 A, 20 degC [s]", _PTC, 14.31658683598, lambda: ptc.trip_time(20, _ZERO + 20)
    )
    yield _row(
        f"{named} trips at 60 A, 20 degC [s]", _PTC, 1.33702369018, lambda: ptc.trip_time(60, _ZERO + 20)
    )
    breaker = supply.Breaker(20.0, 30.0, 1.05)
    named = "breaker 20 A, k 1.05, 30 s:"
    yield _row(f"{named} trips at 40 A, cold [s]", _IMAGE, 9.673381946644, lambda: breaker.trip_time(40.0))
    yield _row(
        f"{named} trips at 60 A, from 15 A [s]", _IMAGE, 1.984194075136, lambda: breaker.trip_time(60, 15)
    )


def _cuts() -> Iterator[Check]:
    """What trips in a simulated match, and when it closes."""
    resetting = supply.Breaker(20.0, 30.0, 1.05, 0.6)
    yield _row(
        "breaker 20 A, k 1.05, 30 s, closes at 60 % of its tripping warmth: open [s]",
        _IMAGE,
        15.3247687129797,
        lambda: resetting.open_time,
    )
    named = "a match with steady 60 A through a main breaker of 40 A, k 1, 30 s,"
    yield _row(f"{named} simulated: cuts after [s]", _IMAGE, 17.6335999470636, lambda: _cut()[0], 1e-6)
    yield _row(
        f"{named} closing at half its warmth: open in the first 40 s [s]",
        _IMAGE,
        20.7944154167984,
        lambda: _cut()[1],
        1e-6,
    )
    for shape, radii in (("evenly", (1.0, 1.0)), ("by a spiral gear to half its radius", (4 / 3, 2 / 3))):
        yield _row(
            f"spring 900 N/m from 50 mm by 115 mm in 330 deg, {shape}, slide 5 N: work of a turn [J]",
            "closed form: work of a spring, k/2 (b^2 - a^2), and of friction",
            11.70125,
            functools.partial(_pulled, radii),
        )


@functools.cache
def _cut() -> tuple[float, float]:
    battery = supply.Battery("bench", 1e9, (1.0,), (12.0,), (0.02,))
    breaker = supply.Breaker(40.0, 30.0, 1.0, 0.5)
    one = dataclasses.replace(
        _drive(), supply=supply.Supply(battery, other_current=60.0, main_breaker=breaker)
    )
    duty = wheel_duty.Duty(200.0, 0.0, (wheel_duty.Burst(39.99, 1),), match=40.0)
    run = wheel_match.run_match(one, duty)
    return run.breaks["main breaker"], run.open_s["main breaker"]


def _pulled(ends: tuple[float, float]) -> float:
    angle = math.radians(330)
    even = 0.115 / angle
    radii = [even * (ends[0] + (ends[1] - ends[0]) * i / 36) for i in range(37)]
    angles = [angle * i / 36 for i in range(37)]
    return winding_duty.spring_turn(900.0, 0.05, radii, angles, 5.0).work


def _periodic() -> float:
    warmth = 0.0
    for _ in range(40):
        warmth = pieces.one_node(pieces.one_node(warmth, 0.0, 60.0, 60.0), 120.0, 20.0, 60.0)
    return warmth


def _supplies() -> Iterator[Check]:
    battery = supply.Battery("bench", 64800.0, (1.0,), (12.8,), (0.025,))
    yield _row("12.8 V, 0.025 ohm at 60 A [V]", _CELL, 11.3, lambda: supply.sag(battery, 1.0, 60.0).voltage_v)
    yield _row(
        "12.8 V, 0.025 ohm: current for 500 W [A]",
        _CELL,
        42.6083413064,
        lambda: supply.current_for_power(battery, 1.0, 500.0).current_a,
    )
    for amps, hours in ((9.0, 1.26191468896), (36.0, 0.239088124948)):
        yield _row(
            f"18 Ah in 20 h, exponent 1.2: at {amps:g} A [h]",
            _PEUKERT,
            hours,
            functools.partial(lambda i: supply.peukert_time(18.0, 20.0, i, 1.2), amps),
        )


def _worms() -> Iterator[Check]:
    for lead, ahead, back in (
        (1.0, 25.237785, -195.69768),
        (5.0, 62.596892, 40.785195),
        (15.0, 82.680237, 79.623962),
    ):
        told = f"worm, lead {lead:g} deg, friction 0.05, pressure angle 14.5 deg:"
        one = train.worm(30.0, math.radians(lead), 0.05, math.radians(14.5))
        yield _row(
            f"{told} efficiency [%]", _WORM, ahead, functools.partial(_percent, one, "efficiency"), 5e-7
        )
        yield _row(
            f"{told} driven backwards [%]",
            _WORM,
            back,
            functools.partial(_percent, one, "back_efficiency"),
            5e-6,
        )
    for lead, pressure, printed in (
        (2.5, 14.5, 45.7),
        (10.0, 14.5, 76.6),
        (20.0, 20.0, 85.6),
        (30.0, 20.0, 88.7),
    ):
        one = train.worm(30.0, math.radians(lead), 0.05, math.radians(pressure))
        yield _row(
            f"worm, lead {lead:g} deg, friction 0.05: efficiency of the table [%]",
            _TABLE,
            printed,
            functools.partial(_percent, one, "efficiency"),
            0.06,
        )


def _percent(one: train.Stage, field: str) -> float:
    return 100 * float(getattr(one, field))


CHECKS: tuple[Check, ...] = (*_motors(), *_wheels(), *_heat(), *_cuts(), *_supplies(), *_worms())
