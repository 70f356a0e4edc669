"""What spring pistons, tips, arms and springs must give: closed forms, and one published spring."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator

import numpy as np

from shotwright.launcher import arm, piston, spring, tip
from shotwright.published.table import Check, Kind

_SHOT = (900.0, 0.04, 0.09, 0.18, 0.06, 0.14)  # N/m, m, m, kg, kg, kg
_TOLD = "k 900 N/m, preload 40 mm, stroke 90 mm, piston 180 g, spring 60 g, ball 140 g"
_ENERGY = "closed form: energy of a preloaded spring, a third of the spring's mass moving (Rayleigh)"
_BOUNCE = "closed form: momentum and coefficient of restitution"
_HEAVY = "closed form: beta tan(beta) = m_s/M, solved with mpmath"
_LINE = (
    "closed form: momentum, angular momentum and restitution along the line of action (after Coriolis 1835)"
)
_RIGID = "closed form: momentum, angular momentum, restitution along and no slip across the contact normal"
_ARM = "closed form: energy of an extension spring between two levers"
_RUBBER = "closed form: neo-Hookean rubber (Treloar, The Physics of Rubber Elasticity)"
_EXAMPLE = (
    "Shigley's Mechanical Engineering Design, 10th ed., Example 10-1, p. 519: d 0.037 in, D 0.400 in, "
    "10.5 active turns, G 11.85 Mpsi"
)
_INCH, _POUND_FORCE = 0.0254, 4.4482216152605  # m, N: exact by definition


def _of(
    what: str, source: str, expected: float, compute: Callable[[], float], tolerance: float | None = None
) -> Check:
    kind: Kind = "identity" if source.startswith("closed form") else "authority"
    return Check(what, source, kind, expected, tolerance or abs(expected) * 1e-10, compute)


def _field(call: Callable[..., object], name: str, scale: float, *given: object, **more: object) -> float:
    return scale * float(np.asarray(getattr(call(*given, **more), name)))


def _pistons() -> Iterator[Check]:
    push = functools.partial(_field, piston.push)
    strike = functools.partial(_field, piston.strike)
    free = functools.partial(_field, piston.free_piston)
    slope = {"friction": 12.0, "elevation": math.radians(50)}
    rows: tuple[tuple[str, str, float, Callable[[], float]], ...] = (
        ("usable energy [J]", _ENERGY, 6.885, lambda: push("usable", 1.0, *_SHOT)),
        ("stored energy [J]", _ENERGY, 7.605, lambda: push("stored", 1.0, *_SHOT)),
        ("pushed, speed [m/s]", _ENERGY, 6.363961030679, lambda: push("speed", 1.0, *_SHOT)),
        (
            "pushed, stroke time [s]",
            _ENERGY,
            0.02445170036064,
            lambda: float(piston.stroke_time(900, 0.04, 0.09, 0.34)),
        ),
        (
            "pushed, ball energy over usable [-]",
            _ENERGY,
            0.4117647058824,
            lambda: push("ball", 1 / 6.885, *_SHOT),
        ),
        (
            "pushed at 50 deg with 12 N of friction, speed [m/s]",
            _ENERGY,
            5.723204374582,
            lambda: push("speed", 1.0, *_SHOT, **slope),
        ),
        (
            "pushed at 50 deg with 12 N of friction, energy left [J]",
            _ENERGY,
            5.568361613249,
            lambda: sum(push(part, 1.0, *_SHOT, **slope) for part in ("ball", "piston")),
        ),
        (
            "dry fire, piston speed [m/s]",
            _ENERGY,
            8.297590011564,
            lambda: free("piston_speed", 1.0, *_SHOT[:5]),
        ),
        (
            "dry fire, stroke time [s]",
            _ENERGY,
            0.0187535980944,
            lambda: float(piston.stroke_time(900, 0.04, 0.09, 0.2)),
        ),
        (
            "dry fire, mean force in a 3 mm stop [N]",
            _ENERGY,
            2295.0,
            lambda: float(piston.mean_stop_force(free("piston", 1.0, *_SHOT[:5]), 0.003)),
        ),
        (
            "struck, e 0.5: speed [m/s]",
            _BOUNCE,
            7.32140295138,
            lambda: strike("speed", 1.0, *_SHOT, restitution=0.5),
        ),
        (
            "struck, e 0.5: piston afterwards [m/s]",
            _BOUNCE,
            3.172607945598,
            lambda: strike("piston_speed", 1.0, *_SHOT, restitution=0.5),
        ),
        (
            "struck, e 0.5: ball energy over usable [-]",
            _BOUNCE,
            0.5449826989619,
            lambda: strike("ball", 1 / 6.885, *_SHOT, restitution=0.5),
        ),
        ("struck, e 0.5: loss [J]", _BOUNCE, 2.12625, lambda: strike("impact", 1.0, *_SHOT, restitution=0.5)),
        (
            "struck, e 0.7: speed [m/s]",
            _BOUNCE,
            8.297590011564,
            lambda: strike("speed", 1.0, *_SHOT, restitution=0.7),
        ),
        (
            "struck, e 1: speed [m/s]",
            _BOUNCE,
            9.76187060184,
            lambda: strike("speed", 1.0, *_SHOT, restitution=1.0),
        ),
        (
            "struck, e 0: speed [m/s]",
            _BOUNCE,
            4.88093530092,
            lambda: strike("speed", 1.0, *_SHOT, restitution=0.0),
        ),
    )
    for what, source, expected, compute in rows:
        yield _of(f"spring piston ({_TOLD}) {what}", source, expected, compute)
    for bounce, ratio in ((0.5, 1.25), (0.7, 1.89)):
        yield _of(
            f"ball over piston mass above which a push beats a strike, e {bounce} [-]",
            _BOUNCE,
            ratio,
            functools.partial(lambda e: float(piston.push_beats_strike_above(e)), bounce),
        )


def _springs() -> Iterator[Check]:
    for ratio, root in (
        (0.1, 0.3110528482003),
        (0.5, 0.6532711870944),
        (1.0, 0.8603335890194),
        (2.0, 1.076873986312),
        (10.0, 1.428870011214),
    ):
        yield _of(
            f"heavy spring with a mass at its end, m_s/M {ratio:g}: beta [rad]",
            _HEAVY,
            root,
            functools.partial(lambda r: float(spring.end_mass_root(r)), ratio),
        )
    yield Check(
        "share of a bare spring's mass that moves [-]",
        "closed form: 4/pi^2, the limit of a spring without end mass",
        "identity",
        4 / math.pi**2,
        1e-6,
        lambda: float(spring.spring_share(1.0, 1e-9)),
    )
    stiffness = functools.partial(
        spring.coil_stiffness, 0.037 * _INCH, 0.400 * _INCH, 10.5, 11.85e6 * _POUND_FORCE / _INCH**2
    )
    yield _of(
        "stiffness of a coil spring [lbf/in]",
        _EXAMPLE,
        4.13,
        lambda: float(stiffness()) * _INCH / _POUND_FORCE,
        0.005,
    )
    yield _of(
        "stiffness of a coil spring, d 4 mm, D 30 mm, 18 turns, G 80 GPa [N/m]",
        "closed form: k = G d^4/(8 D^3 n)",
        5267.48971193,
        lambda: float(spring.coil_stiffness(0.004, 0.030, 18, 80e9)),
        1e-7,
    )
    area = math.pi / 4 * (0.010**2 - 0.006**2)
    for stretch, force, energy in (
        (1.5, 21.2232037043, 1.46607657168),
        (2.0, 35.1858377202, 5.02654824574),
        (3.0, 58.0845575064, 16.7551608191),
    ):
        given = (0.25 * stretch, 0.25, area, 0.4e6)
        told = f"rubber tube 10/6 mm, 250 mm long, G 0.4 MPa, stretched {stretch:g} times"
        yield _of(f"{told}: pull [N]", _RUBBER, force, functools.partial(_float, spring.rubber_force, given))
        yield _of(
            f"{told}: energy [J]", _RUBBER, energy, functools.partial(_float, spring.rubber_energy, given)
        )


def _float(function: Callable[..., object], given: tuple[float, ...]) -> float:
    return float(np.asarray(function(*given)))


def _tips() -> Iterator[Check]:
    radius, told = 0.0335, "12 m/s, 200 g on a solid 140 g ball, e 0.6"
    for part, speed, topspin, after, loss in (
        (0.0, 11.29411764706, 0.0, 4.094117647059, 3.794823529412),
        (0.1, 11.13043478261, 2.782608695652, 4.208695652174, 3.739826086957),
        (0.2, 10.66666666667, 5.333333333333, 4.533333333333, 3.584),
        (0.4, 9.142857142857, 9.142857142857, 5.6, 3.072),
        (0.5, 8.258064516129, 10.32258064516, 6.21935483871, 2.774709677419),
        (-0.4, 9.142857142857, -9.142857142857, 5.6, 3.072),
    ):
        strike = functools.partial(
            _field, tip.guided_strike, hammer_speed=12.0, hammer_mass=0.2, ball_mass=0.14, radius=radius,
            inertia_factor=0.4, height=part * radius, restitution=0.6,
        )  # fmt: skip
        for name, field, scale, expected in (
            ("speed [m/s]", "speed", 1.0, speed),
            ("topspin r omega [m/s]", "spin", -radius, topspin),
            ("piston afterwards [m/s]", "hammer_speed", 1.0, after),
            ("loss [J]", "loss", 1.0, loss),
        ):
            what = f"guided strike ({told}) {part:g} r above the centre: {name}"
            yield _of(what, _LINE, expected, functools.partial(strike, field, scale), 1e-10 * 12)
    for grip, part in ((0.5, 0.4472135955), (0.6, 0.5144957554)):
        yield _of(
            f"greatest height of a strike that grips, mu {grip}: h/r [-]",
            "closed form: sin(atan mu)",
            part,
            functools.partial(lambda mu: float(tip.greatest_height(1.0, mu)), grip),
        )
    for degrees, grip, forward, up, topspin, direction in (
        (10, 0.5, 11.11293009444, -1.746861644308, 0.5235429217113, -8.93332752322),
        (20, 0.5, 10.57263225872, -3.369850181966, 1.123574628277, -17.6788134289),
        (30, 0.5, 9.687074829932, -4.731915675644, 1.863945578231, -26.0344567684),
        (30, 0.05, 9.619608362316, -4.930569770163, 1.349513762663, -27.1375947739),
    ):
        strike = functools.partial(
            _field, tip.free_strike, hammer_speed=12.0, hammer_mass=0.2, ball_mass=0.14, radius=radius,
            inertia_factor=0.4, height=radius * math.sin(math.radians(degrees)), restitution=0.6, grip=grip,
        )  # fmt: skip
        for name, field, scale, expected in (
            ("speed [m/s]", "speed", 1.0, math.hypot(forward, up)),
            ("topspin r omega [m/s]", "spin", -radius, topspin),
            ("direction [deg]", "direction", 180 / math.pi, direction),
        ):
            what = f"rigid tip on a free ball ({told}), contact {degrees} deg up, mu {grip}: {name}"
            yield _of(what, _RIGID, expected, functools.partial(strike, field, scale))


def _arms() -> Iterator[Check]:
    lever, anchor, k, rest = 0.08, 0.20, 1200.0, 0.12
    wide, narrow = math.radians(150), math.radians(60)

    def length(angle: float) -> float:
        return float(arm.drive_length(lever, anchor, angle))

    def given() -> float:
        return float(arm.spring_energy(k, rest, length(wide)) - arm.spring_energy(k, rest, length(narrow)))

    def torque() -> float:
        return float(arm.drive_torque(k * (length(wide) - rest), lever, anchor, wide))

    def thrown(field: str, scale: float = 1.0, **more: float) -> float:
        return _field(arm.throw, field, scale, given(), 0.012, 0.35, 0.14, **more)

    heavy = {
        "arm_mass": 0.3,
        "arm_centre": 0.15,
        "start": math.radians(-20),
        "stop": math.radians(70),
    }
    rows: tuple[tuple[str, float, Callable[[], float]], ...] = (
        ("length at 150 deg [m]", 0.2722366854799, lambda: length(wide)),
        ("length at 60 deg [m]", 0.1743559577416, lambda: length(narrow)),
        ("energy given [J]", 12.13286295834, given),
        ("torque at the start [N m]", 5.368388092262, torque),
        ("turning at the stop [rad/s]", 28.85209572412, lambda: thrown("turning")),
        ("speed [m/s]", 10.09823350344, lambda: thrown("speed")),
        ("ball energy over energy given [-]", 0.5883361921098, lambda: thrown("ball", 1 / given())),
        ("speed of a 300 g arm from -20 to 70 deg [m/s]", 9.593952230499, lambda: thrown("speed", **heavy)),
        (
            "energy of a 300 g arm from -20 to 70 deg [J]",
            10.9513479614,
            lambda: thrown("ball", **heavy) + thrown("arm", **heavy),
        ),
    )
    for what, expected, compute in rows:
        yield _of(f"throwing arm, spring 80 mm and 200 mm from the pivot: {what}", _ARM, expected, compute)


CHECKS: tuple[Check, ...] = (*_pistons(), *_springs(), *_tips(), *_arms())
