"""What drive bases, worms, feeds, brakes and batteries must give: closed forms and published examples."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Callable, Iterator

from shotwright.powertrain.motor import Motor, generic_motors
from shotwright.powertrain.supply import Battery, Supply, peukert_time
from shotwright.powertrain.train import Train, stage
from shotwright.published.table import Check, Kind
from shotwright.robot import air, brake, drive_base, feed, power_run, slewing, sprint, tilt, turning

_SPRINT = "closed form: linear motor with traction limit, Lambert's W"
_BEST = "closed form: z - 3 + e^-z (3 + 2 z) = 0, best ratio of a sprint without traction limit and rotors"
_LIMIT = "computed by a search over the ratio with mpmath, sprint by Lambert's W"
_PUSH = "closed form: traction mu phi m g; I = I0 + mu phi m g r/(eta G N K)"
_MOTORS = "closed form: eta G N K (I - I0)/r"
_SCRUB = "closed form: Coulomb friction of four wheels in a turn on the spot"
_WORM = "closed form: worm, e = (cos p - f tan l)/(cos p + f cot l)"
_LOCK = "closed form: worm locks at tan l = f/cos p"
_MOTT = "Mott, Machine Elements in Mechanical Design, p. 343: 3 threads, 52 teeth, P_d 6, worm of 2 in"
_TORQUE = "closed form: m g a cos(elevation), and worm torques T/(i e), -(T/i) e_b"
_SLEW = "closed form: theta/omega + omega/a, short 2 sqrt(theta/a)"
_UNIFORM = "closed form: standard deviation of a uniform distribution, b/sqrt(12)"
_BELT = "closed form: Euler and Eytelwein, T1/T2 = exp(mu beta)"
_CARRY = "closed form: belt and rail, F1 - F2 = alpha m a, F1 + F2 = m (a + g sin)"
_JAM = "closed form: sin gamma = (W - D)/D, (1 + mu tan gamma)/(1 - mu tan gamma)"
_DEAD = "from memory: random arrivals with dead time, lam/(1 + lam t)"
_QUEUE = "from memory: queue with random arrivals and even service (M/D/1)"
_FORCE = "closed form: pressure times area"
_BOYLE = "closed form: Boyle, (p_r - p_w) V_r/(p_w V)"
_FAST = "closed form: adiabatic tank, 1 - (p_w/p_r)^(1/1.4)"
_EMPTY = "closed form: p_0 (V_r/(V_r + V_s))^n"
_TANK = "from memory: energy of compressed gas by Brode, isentropic, isothermal, and available (Baker)"
_PADS = "closed form: mu_p F + mu_w (W - F) while F <= W, mu_p W above"
_PEUKERT = "closed form: Peukert, t = H (C/(I H))^k"
_BATTERY = "closed form: V = V_oc - I R_b, with powers V^2 - (V_oc - R I) V + R P = 0"

_BASE = "15 kg on 4 motors 12 V 0.15 ohm 0.006 V s/rad, 0.02 ohm battery, r 50 mm, eta 0.85, mu 0.9,"


def _row(
    what: str, source: str, expected: float, compute: Callable[[], float], tolerance: float | None = None
) -> Check:
    kind: Kind = "authority"
    for opening, named in (
        ("closed form", "identity"),
        ("from memory", "memory"),
        ("computed by", "computed"),
    ):
        if source.startswith(opening):
            kind = named  # type: ignore[assignment]  # one of the words of Kind
    return Check(
        what, source, kind, expected, abs(expected) * 1e-9 if tolerance is None else tolerance, compute
    )


@functools.cache
def _motor(rotor: float = 1.5e-5) -> Motor:
    return dataclasses.replace(
        generic_motors()[1], copper_coefficient=0.0, magnet_coefficient=0.0, rotor_inertia=rotor
    )


def _base(ratio: float, grip: float = 0.9, rotor: float = 1.5e-5) -> drive_base.DriveBase:
    supply = Supply(Battery("bench", 64800.0, (1.0,), (12.0,), (0.02,)), wiring=0.01)
    return drive_base.DriveBase(
        mass=15.0,
        wheel_radius=0.05,
        grip=grip,
        motor=_motor(rotor),
        motors=4,
        train=Train((stage("spur", ratio, 0.85),)),
        supply=supply,
    )


def _sprints() -> Iterator[Check]:
    for ratio, time, end, switch in (
        (10.0, 0.8713229541931, 6.085952404285, 2.227706647059),
        (15.0, 0.8948222206341, 5.468851418396, 2.633092676471),
        (20.0, 0.9583350490622, 4.586061993709, 2.294977786765),
        (25.0, 1.050862741752, 3.79826675991, 1.919050323529),
    ):
        told = f"{_BASE} G {ratio:g}: 3 m from rest,"
        run = functools.cache(functools.partial(lambda g: sprint.sprint(_base(g), 3.0), ratio))
        yield _row(f"{told} time [s]", _SPRINT, time, functools.partial(lambda r: r().time_s, run))
        yield _row(f"{told} speed [m/s]", _SPRINT, end, functools.partial(lambda r: r().end_speed_m_s, run))
        yield _row(
            f"{told} grip limits up to [m/s]",
            _SPRINT,
            switch,
            functools.partial(lambda r: r().limited_speed_m_s, run),
        )
    yield _row(
        f"{_BASE} G 15, mu 10: 3 m from rest [s]",
        _SPRINT,
        0.8352497868008,
        lambda: sprint.sprint(_base(15.0, 10.0), 3.0).time_s,
    )
    yield _row(
        f"{_BASE} best ratio for 3 m: time [s]",
        _LIMIT,
        0.8709749547659,
        lambda: sprint.best_sprint_ratio(_base(15.0), 3.0)[1],
    )
    yield _row(
        f"{_BASE} no traction limit, no rotors: best ratio for 3 m [-]",
        _BEST,
        14.38738847036,
        lambda: sprint.best_sprint_ratio(_base(15.0, 1e6, 1e-15), 3.0)[0],
        1e-5,  # the optimum is flat: a search finds the ratio to the root of the rounding
    )
    yield _row(
        "no traction limit, no rotors: speed at the end over free speed at the best ratio [-]",
        _BEST,
        0.8834139672,
        _share_at_best,
        1e-6,
    )


def _share_at_best() -> float:
    base = _base(15.0, 1e6, 1e-15)
    found = sprint.sprint(base.geared(sprint.best_sprint_ratio(base, 3.0)[0]), 3.0)
    return found.end_speed_m_s / found.top_speed_m_s


def _pushes() -> Iterator[Check]:
    yield _row("traction of 15 kg at mu 0.9 [N]", _PUSH, 132.389775, lambda: _base(15.0).traction)
    for ratio, amps, force in (
        (10.0, 34.44847426471, 114.24),
        (15.0, 23.63231617647, 171.36),
        (20.0, 18.22423713235, 228.48),
        (25.0, 14.97938970588, 285.6),
    ):
        yield _row(
            f"{_BASE} G {ratio:g}: current at which the wheels slip [A]",
            _PUSH,
            amps,
            functools.partial(lambda g: drive_base.push(_base(g)).slip_a, ratio),
        )
        yield _row(
            f"{_BASE} G {ratio:g}: force of the motors at 30 A [N]",
            _MOTORS,
            force,
            functools.partial(_force_at_30, ratio),
        )
    yield _row(
        "traction 100 N, wheelbase 0.3 m, track 0.4 m: force along the wheels in a turn [N]",
        _SCRUB,
        60.0,
        lambda: turning.scrub(100.0, 0.3, 0.4)[0],
    )


def _force_at_30(ratio: float) -> float:
    base = _base(ratio)
    limited = dataclasses.replace(base, supply=dataclasses.replace(base.supply, current_limit=30.0))
    return drive_base.force_line(limited).limit_force_n


def _worm_drive(lead: float = 0.0, friction: float = 0.08, pressure: float = 20.0) -> tilt.WormDrive:
    diameter = 0.016 if lead == 0 else 0.001 / math.tan(math.radians(lead))
    return tilt.WormDrive(
        threads=1, teeth=30, module=0.001, diameter=diameter,
        friction=friction, static_friction=friction, pressure=math.radians(pressure),
    )  # fmt: skip


def _tilts() -> Iterator[Check]:
    for lead, ahead in ((2.5, 44.967057), (7.5, 70.717992), (10.0, 76.098194), (30.0, 88.748846)):
        yield _row(
            f"worm, lead {lead:g} deg, friction 0.05, pressure angle 20 deg: efficiency [%]",
            _WORM,
            ahead,
            functools.partial(lambda a: 100 * _worm_drive(a, 0.05).stage.efficiency, lead),
            5e-7,
        )
    for friction, pressure, lead in (
        (0.03, 14.5, 1.77485693235),
        (0.05, 20.0, 3.04577253494),
        (0.10, 20.0, 6.07442789647),
        (0.15, 14.5, 8.80709872011),
    ):
        yield _row(
            f"worm, friction {friction:g}, pressure angle {pressure:g} deg: largest lead that locks [deg]",
            _LOCK,
            lead,
            functools.partial(_critical, friction, pressure),
        )
    named = "worm 1 thread, 30 teeth, module 1 mm, d 16 mm, f 0.08, p 20 deg:"
    worm = _worm_drive()
    yield _row(f"{named} lead [deg]", _LOCK, 3.576334375, lambda: tilt.locking(worm).lead_deg)
    yield _row(f"{named} efficiency [-]", _WORM, 0.421091015951, lambda: tilt.locking(worm).efficiency)
    yield _row(f"{named} backwards [-]", _WORM, -0.360230800714, lambda: tilt.locking(worm).back_efficiency)
    yield _row(f"{named} locking margin [-]", _LOCK, 1.36214754877, lambda: tilt.locking(worm).margin)
    mott = tilt.WormDrive(
        threads=3, teeth=52, module=0.0254 / 6, diameter=0.0508, friction=0.05, static_friction=0.05
    )
    yield _row("worm of the example: lead angle [deg]", _MOTT, 14.04, lambda: math.degrees(mott.lead), 0.005)
    yield _row("worm of the example: ratio [-]", _MOTT, 17.333, lambda: mott.ratio, 0.0005)
    yield _row("worm of the example: output at 1750 rpm [rpm]", _MOTT, 101.0, lambda: 1750 / mott.ratio, 0.5)
    for elevation, torque in ((0.0, 7.060788), (30.0, 6.11482177874), (60.0, 3.530394)):
        yield _row(
            f"launcher of 4 kg at 0.18 m, {elevation:g} deg: torque of its weight [N m]",
            _TORQUE,
            torque,
            functools.partial(lambda e: tilt.holding_torque(4.0, 0.18, math.radians(e)), elevation),
        )
    up_down = functools.partial(tilt.worm_torques, worm, 7.060788)
    yield _row("that launcher level: worm torque up [N m]", _TORQUE, 0.558928096503, lambda: up_down()[0])
    yield _row("that launcher level: worm torque down [N m]", _TORQUE, 0.0847837771637, lambda: up_down()[1])
    run = functools.cache(lambda: slewing.running(_tilting(), 7.060788))
    told = "that launcher by a 7.2 V class motor, 12:1 at 0.95 and the worm:"
    yield _row(f"{told} motor torque [N m]", _TORQUE, 0.049028780395, lambda: run().motor_torque_n_m)
    yield _row(f"{told} current [A]", _TORQUE, 11.4952845322, lambda: run().motor_a)
    yield _row(f"{told} rate [deg/s]", _TORQUE, 132.67915191, lambda: run().rate_deg_s)
    for angle, time in ((35.0, 0.883333333333), (10.0, 0.4472135955)):
        yield _row(
            f"slew of {angle:g} deg at 60 deg/s and 200 deg/s^2 [s]",
            _SLEW,
            time,
            functools.partial(_slewed, angle),
        )
    yield _row("backlash of 1.2 deg: elevation spread [deg]", _UNIFORM, 0.3464101615137755,
               lambda: tilt.backlash_sd(1.2))  # fmt: skip


def _critical(friction: float, pressure: float) -> float:
    return math.degrees(tilt.critical_lead(friction, math.radians(pressure)))


def _slewed(angle: float) -> float:
    return slewing.slew_time(math.radians(angle), math.radians(60), math.radians(200))


def _tilting() -> tilt.Tilt:
    return tilt.Tilt(
        mass=4.0,
        arm=0.18,
        inertia=0.15,
        worm=_worm_drive(),
        train=Train((stage("spur", 12, 0.95),)),
        motor=generic_motors()[0],
        supply=Supply(Battery("bench", 64800.0, (1.0,), (7.2,), (0.0,))),
    )


def _feed(acceleration: float = 0.0) -> feed.Feed:
    return feed.Feed(
        carrier="belt and rail", surface_speed=0.8, pitch=0.2, length=0.8, width=0.19, friction=0.5,
        squeeze=3.0, slope=math.radians(60), acceleration=acceleration, recovery=0.3,
    )  # fmt: skip


def _feeds() -> Iterator[Check]:
    belts = dataclasses.replace(_feed(), carrier="two belts")
    yield _row("belt 0.8 m/s, pitch 0.2 m, two belts: interval [s]", "closed form: pitch/speed", 0.25,
               lambda: belts.feed_interval)  # fmt: skip
    yield _row("belt 0.8 m/s, pitch 0.2 m, belt and rail: interval [s]",
               "closed form: a ball that rolls between belt and rail moves at half the belt's speed", 0.5,
               lambda: _feed().feed_interval)  # fmt: skip
    yield _row("two belts, launcher recovers in 0.3 s: rate [1/s]", "closed form: 1/max(interval, recovery)",
               3.3333333333, lambda: feed.fire_rate(belts, 0.178).burst_rate_s, 1e-9)  # fmt: skip
    yield _row(
        "ball 0.14 kg up 60 deg between belt and rail, mu 0.5: force of each side at least [N]",
        _CARRY,
        1.18899312364,
        lambda: feed.traction(_feed(), 0.14).needed_squeeze_n,
    )
    for name, force in (("carried_n", 0.888496561822), ("guided_n", 0.720496561822)):
        yield _row(
            f"the same at 3 m/s^2, alpha 0.4: {'belt' if name == 'carried_n' else 'rail'} [N]",
            _CARRY,
            force,
            functools.partial(lambda n: getattr(feed.traction(_feed(3.0), 0.14), n), name),
        )
    for mu, wrap, groove, ratio in (
        (0.3, 180.0, None, 2.56633239521),
        (0.5, 180.0, None, 4.81047738097),
        (0.5, 90.0, None, 2.19328005074),
        (0.3, 180.0, 38.0, 18.08116811),
    ):
        words = "" if groove is None else f" in a groove of {groove:g} deg"
        yield _row(
            f"belt on a pulley{words}, mu {mu:g}, {wrap:g} deg: tension ratio [-]",
            _BELT,
            ratio,
            functools.partial(_tension_ratio, mu, wrap, groove),
            1e-8,
        )
    yield _row("belt at 60 N, mu 0.5, 180 deg: pull [N]", _BELT, 47.527225419,
               lambda: feed.belt_pull(60, 0.5, math.pi), 1e-8)  # fmt: skip
    yield _row("the same with 0.05 kg/m at 15 m/s: pull [N]", _BELT, 38.6158706529,
               lambda: feed.belt_pull(60, 0.5, math.pi, line_mass=0.05, speed=15))  # fmt: skip
    for width, stagger, factor in (
        (0.18, 0.643786349985, 1.00902991796),
        (0.19, 3.86556869191, 1.05555714865),
        (0.21, 10.3566708311, 1.15773262171),
        (0.26, 27.4306182005, 1.52401464347),
    ):
        told = f"balls of 178 mm in a channel of {1000 * width:g} mm, mu 0.4:"
        found = functools.partial(feed.jam_factor, 0.178, width, 0.4)
        yield _row(f"{told} stagger [deg]", _JAM, stagger,
                   functools.partial(lambda f: math.degrees(f()[0]), found))  # fmt: skip
        yield _row(f"{told} force per ball [-]", _JAM, factor, functools.partial(lambda f: f()[1], found))
    yield _row("2 balls a second at random, each blocks for 0.3 s: rate [1/s]", _DEAD, 1.25,
               lambda: feed.dead_time_rate(2.0, 0.3))  # fmt: skip
    yield _row("the same with room to wait: mean wait [s]", _QUEUE, 0.225,
               lambda: feed.mean_wait(2.0, 0.3) or math.nan)  # fmt: skip


def _tension_ratio(friction: float, wrap: float, groove: float | None) -> float:
    pull = feed.belt_pull(
        1.0, friction, math.radians(wrap), groove=None if groove is None else math.radians(groove)
    )
    return 1 / (1 - pull)


def _brakes() -> Iterator[Check]:
    small = air.Cylinder(bore=0.02, rod=0.008, stroke=0.05)
    both = dataclasses.replace(small, action="double")
    yield _row("cylinder of 20 mm at 600 kPa: out [N]", _FORCE, 188.495559215, lambda: small.push(6e5))
    yield _row("the same, rod 8 mm: back [N]", _FORCE, 158.336269741, lambda: both.pull(6e5))
    yield _row("cylinder of 32 mm at 600 kPa: out [N]", _FORCE, 482.548631591,
               lambda: air.Cylinder(bore=0.032, stroke=0.05).push(6e5))  # fmt: skip
    told = "1 L from 800 to 400 kPa gauge, bore 20, stroke 50 mm:"
    yield _row(f"{told} strokes, slowly [-]", _BOYLE, 50.9295817894,
               lambda: air.strokes_isothermal(9e5, 5e5, 1e-3, small.cycle_volume))  # fmt: skip
    yield _row(f"{told} double acting, rod 8 mm [-]", _BOYLE, 27.6791205377,
               lambda: air.strokes_isothermal(9e5, 5e5, 1e-3, both.cycle_volume))  # fmt: skip
    fast = functools.partial(air.strokes_adiabatic, 9e5, 5e5, 1e-3, small.cycle_volume)
    yield _row(f"{told} strokes, fast [-]", _FAST, 39.2880655517, lambda: fast().strokes)
    yield _row(f"{told} fast: tank [K]", _FAST, 247.830582166, lambda: fast().tank_k)
    yield _row(f"{told} fast: rewarmed [Pa]", _FAST, 591432.254723, lambda: fast().rewarmed_pa)
    yield _row(f"{told} unregulated, after 10 strokes [Pa]", _EMPTY, 770112.079638,
               lambda: air.unregulated_pressure(9e5, 1e-3, small.cycle_volume, 10))  # fmt: skip
    for volume, gauge, values in (
        (1e-3, 690e3, (1725.0, 878.66019666, 1626.47008336, 936.470083361)),
        (0.5e-3, 827370.875, (1034.21359375, 544.442979968, 1028.73877657, 615.053339067)),
    ):
        names = ("brode_j", "isentropic_j", "isothermal_j", "available_j")
        for name, joules in zip(names, values, strict=True):
            yield _row(
                f"tank of {1000 * volume:g} L at {gauge / 1000:g} kPa: energy, {name.split('_')[0]} [J]",
                _TANK,
                joules,
                functools.partial(lambda g, v, n: getattr(air.tank_energy(g, v), n), gauge, volume, name),
            )
    stand = brake.Stand(mass=15.0, wheel_grip=0.9, pad_grip=1.1)
    for force, held in ((0.0, 132.389775), (50.0, 142.389775), (100.0, 152.389775), (200.0, 161.809725)):
        yield _row(f"15 kg, wheels 0.9, pads 1.1 pressed with {force:g} N: held [N]", _PADS, held,
                   functools.partial(brake.holding_force, stand, force))  # fmt: skip


def _batteries() -> Iterator[Check]:
    for hours, amps, capacity, exponent, lasts in (
        (20.0, 60.0, 18.0, 1.2, 0.129520796513),
        (1.0, 36.0, 3.0, 1.05, 0.0735969288075),
    ):
        yield _row(
            f"{capacity:g} Ah in {hours:g} h, exponent {exponent:g}: at {amps:g} A, for a robot [h]",
            _PEUKERT,
            lasts,
            functools.partial(peukert_time, capacity, hours, amps, exponent),
        )
    for amps, volts in ((20.0, 12.3), (120.0, 9.8)):
        yield _row(f"12.8 V, 0.025 ohm: robot takes {amps:g} A [V]", _BATTERY, volts,
                   functools.partial(lambda i: power_run.solve(12.8, 0.025, i, 0.0)[0], amps))  # fmt: skip
    yield _row("12.8 V, 0.025 ohm: robot takes 500 W [A]", _BATTERY, 42.6083413064,
               lambda: power_run.solve(12.8, 0.025, 0.0, 500.0)[1])  # fmt: skip


CHECKS: tuple[Check, ...] = (
    *_sprints(),
    *_pushes(),
    *_tilts(),
    *_feeds(),
    *_brakes(),
    *_batteries(),
)
