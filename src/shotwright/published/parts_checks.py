"""What coil springs, snail cams, teeth and turning discs must give: published examples and closed forms."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator

import numpy as np

from shotwright.base.estimate import NotEstimated
from shotwright.build.cam_outline import Drop, cam_outline
from shotwright.build.cam_rolling import outline_torque, roll
from shotwright.build.coil_spring import (
    WIRES,
    Coil,
    Wire,
    bergstraesser_factor,
    coil_stress,
    wahl_factor,
)
from shotwright.build.force_curve import ForceCurve, linear_force, polynomial_force
from shotwright.build.rotor_stress import rim_stress, ring_stress, solid_disc_stress
from shotwright.build.snail_cam import (
    EvenTorque,
    Follower,
    Pitch,
    PlainSnail,
    fall_time,
    least_prime_radius,
    pitch_curve,
    plain_peak_ratio,
)
from shotwright.build.strength import lewis_factor, speed_factor, tooth_stress
from shotwright.published.table import Check, Kind

_INCH, _POUND, _FOOT = 0.0254, 4.4482216152605, 0.3048  # m, N, m: exact by definition
_KPSI = 1e3 * _POUND / _INCH**2
_RPM = 2 * math.pi / 60

_EXAMPLE = "Shigley's Mechanical Engineering Design, 10th ed., Example 10-1, p. 519"
_LEWIS = "Shigley's Mechanical Engineering Design, Table 14-2"
_TEETH = "from memory: Shigley's Mechanical Engineering Design, Example 14-1"
_WAHL = "closed form: Wahl, K_w = (4C - 1)/(4C - 4) + 0.615/C"
_BERG = "closed form: Bergstraesser, K_B = (4C + 2)/(4C - 3)"
_COIL = "closed form: round-wire coil spring (as in Shigley, chapter 10)"
_CAM = "closed form: T dtheta = F dx for a linear spring; pitch curve of a sliding roller follower"
_CURVE = "closed form: T dtheta = F dx, F = 30 + 900 x + 4000 x^2 N"
_DISC = "closed form: turning disc of even thickness (Timoshenko, Strength of Materials, part II)"


def _of(
    what: str, source: str, expected: float, compute: Callable[[], float], tolerance: float | None = None
) -> Check:
    kind: Kind = "authority"
    if source.startswith("closed form"):
        kind = "identity"
    elif source.startswith("from memory"):
        kind = "memory"
    return Check(what, source, kind, expected, tolerance or abs(expected) * 1e-9, compute)


def _example() -> Coil:
    return Coil("compression", 0.037 * _INCH, 0.4 * _INCH, 12.5, 2.06 * _INCH, WIRES["music wire"], "squared")


def _yield_force() -> float:
    force = _example().yield_force()
    return math.nan if isinstance(force, NotEstimated) else force


def _springs() -> Iterator[Check]:
    told = "music wire 0.037 in, D 0.400 in, squared ends, 12.5 turns"
    coil = _example()
    rows: tuple[tuple[str, float, float, Callable[[], float]], ...] = (
        ("spring index [-]", 10.8, 0.05, lambda: coil.index),
        ("active turns [-]", 10.5, 1e-9, lambda: coil.active_turns),
        ("Bergstraesser factor [-]", 1.124, 0.0005, lambda: float(bergstraesser_factor(coil.index))),
        ("torsional yield [kpsi]", 146, 0.5, lambda: (coil.material.torsional_yield(coil.wire) or 0) / _KPSI),
        ("force at yield [lbf]", 6.46, 0.003 * 6.46, lambda: _yield_force() / _POUND),
        ("rate [lbf/in]", 4.13, 0.005, lambda: coil.rate * _INCH / _POUND),
        ("deflection at yield [in]", 1.56, 0.005, lambda: _yield_force() / coil.rate / _INCH),
        ("solid length [in]", 0.500, 0.001, lambda: coil.solid_length / _INCH),
        (
            "free length that yields when solid [in]",
            2.06,
            0.005,
            lambda: (_yield_force() / coil.rate + coil.solid_length) / _INCH,
        ),
    )
    for what, expected, tolerance, compute in rows:
        yield _of(f"{told}: {what}", _EXAMPLE, expected, compute, tolerance)
    for index, wahl, other in (
        (4, 1.40375, 1.38461538462),
        (6, 1.2525, 1.2380952381),
        (8, 1.18401785714, 1.1724137931),
        (10, 1.14483333333, 1.13513513514),
        (12, 1.11943181818, 1.11111111111),
    ):
        yield _of(f"Wahl factor at C {index} [-]", _WAHL, wahl, functools.partial(_first, wahl_factor, index))
        yield _of(
            f"Bergstraesser factor at C {index} [-]", _BERG, other,
            functools.partial(_first, bergstraesser_factor, index),
        )  # fmt: skip
    given = Wire("given", 80e9, 206e9, 7850.0, None, "given")
    metric = Coil("compression", 0.004, 0.030, 20, 0.25, given, "squared ground")
    told = "d 4 mm, D 30 mm, 18 active turns, ground ends, G 80 GPa"
    force = 474.074074074
    for what, expected, compute in (
        ("solid length [mm]", 80.0, lambda: 1e3 * metric.solid_length),
        ("stress at 474.074 N, Wahl [MPa]", 677.581085585, lambda: metric.stress(force) / 1e6),
        (
            "stress at 474.074 N without correction [MPa]",
            565.884242105,
            lambda: float(coil_stress(force, 0.004, 0.030, 1.0)) / 1e6,
        ),
        ("mass of the active turns [kg]", 0.167349012225, lambda: metric.active_mass),
        ("surge [Hz]", 88.7074868885, lambda: metric.surge),
        ("stable free length, E 206 GPa, a 0.5 [m]", 0.156408679974, lambda: metric.stable_length(0.5)),
    ):  # fmt: skip
        yield _of(f"coil spring {told}: {what}", _COIL, expected, compute)


def _first(function: Callable[[float], object], given: float) -> float:
    return float(np.asarray(function(given)))


def _cam() -> tuple[EvenTorque, Follower]:
    return EvenTorque(linear_force(900, 0.04, 0.09), math.radians(320)), Follower(0.008, 0.035)


def _path(degrees: float, offset: float = 0.0) -> Pitch:
    law, follower = _cam()
    return pitch_curve(law, Follower(follower.roller, follower.prime, offset), np.radians([degrees]))


def _cams() -> Iterator[Check]:
    told = "snail cam, k 900 N/m, preload 40 mm, stroke 90 mm, rise 320 deg"
    yield _of(f"{told}: torque [N m]", _CAM, 1.232754506086, lambda: _cam()[0].torque)
    yield _of(f"{told}: least torque of a plain snail [N m]", _CAM, 0.58011976757, lambda: _plain_torque(0.0))
    yield _of(f"{told}: peak torque of a plain snail [N m]", _CAM, 1.885389244602, lambda: _plain_torque(1.0))
    told += ", prime radius 35 mm, roller 16 mm"
    table = (
        (0, 0.0, 44.37378925584, 25.54252423024, 29.81134183023),
        (40, 19.26634795565, 23.06856930098, 45.5778078156, 47.01068086037),
        (80, 33.65459931328, 15.15614760808, 62.8305010425, 60.96875226729),
        (160, 56.17692030836, 8.87780778589, 88.19079968873, 83.28191448052),
        (240, 74.34596626029, 6.251795140036, 107.506109941, 101.3972854304),
        (320, 90.0, 4.818123873385, 123.7310433838, 117.0301983224),
    )
    for at, lift, phi, rho, edge in table:
        place = f"{told}, at {at} deg"
        yield _of(
            f"{place}: lift [mm]", _CAM, lift,
            functools.partial(lambda t: 1e3 * float(_cam()[0].lift(math.radians(t))[0]), at), 1e-7,
        )  # fmt: skip
        for what, expected, read in (
            ("pressure angle [deg]", phi, lambda p: math.degrees(p.pressure_angle[0])),
            ("curvature of the pitch curve [mm]", rho, lambda p: 1e3 * float(p.radius[0])),
            ("distance of the edge from the axis [mm]", edge, lambda p: 1e3 * math.hypot(*p.contact[0])),
        ):
            yield _of(
                f"{place}: {what}",
                _CAM,
                expected,
                functools.partial(lambda t, r: float(r(_path(t))), at, read),
            )
    for at, phi in ((0, 35.85910208517), (160, 2.706853044829), (320, 0.2487526844661)):
        yield _of(
            f"{told}, follower 10 mm off the axis, at {at} deg: pressure angle [deg]", _CAM, phi,
            functools.partial(lambda t: math.degrees(_path(t, 0.010).pressure_angle[0]), at),
        )  # fmt: skip
    yield from _more_cams(told)


def _plain_torque(share: float) -> float:
    plain = PlainSnail(linear_force(900, 0.04, 0.09), math.radians(320))
    return float(plain.torque_at(share * plain.rise))


def _more_cams(told: str) -> Iterator[Check]:
    law, follower = _cam()

    def lost() -> float:
        sink = cam_outline(law, follower, Drop(), coarse=True).sink
        return law.curve.total_work - float(law.curve.work(law.curve.stroke - sink))

    def curve() -> ForceCurve:
        return polynomial_force([30, 900, 4000], 0.09)

    for what, expected, compute, tolerance in (
        (
            "least prime radius for 30 deg at the start [mm]",
            59.3109288278,
            lambda: 1e3 * least_prime_radius(law, 0.008),
            2e-4,
        ),
        (
            "sink of the roller over the nose [mm]",
            8.24355555529,
            lambda: 1e3 * cam_outline(law, follower, Drop(), coarse=True).sink,
            None,
        ),
        ("work lost over the nose at most [J]", 0.933915706282, lost, None),
        ("fall time of 0.34 kg [s]", 0.02445170036064, lambda: fall_time(law.curve, 0.34), None),
        (
            "torque at 200 deg, the roller rolled on the drawn edge [N m]",
            1.232754506086,
            lambda: _rolled_torque(200.0),
            0.01 * 1.2328,
        ),
    ):
        yield _of(f"{told}: {what}", _CAM, expected, compute, tolerance)
    told = "snail cam of a curved spring, stroke 90 mm, rise 320 deg"
    for what, expected, compute in (
        ("work [J]", 7.317, lambda: curve().total_work),
        ("torque [N m]", 1.310103808429, lambda: EvenTorque(curve(), math.radians(320)).torque),
        (
            "lift at 160 deg [mm]",
            59.49516585225,
            lambda: 1e3 * float(EvenTorque(curve(), math.radians(320)).lift(math.radians(160))[0]),
        ),
        ("peak of a plain snail over it [-]", 1.763837638376, lambda: plain_peak_ratio(curve())),
    ):
        yield _of(f"{told}: {what}", _CURVE, expected, compute)
    for share, ratio in ((0.0, 2.0), (0.25, 5 / 3), (1.0, 4 / 3), (4.0, 10 / 9)):
        yield _of(
            f"peak of a plain snail over constant torque, preload {share:g} of the stroke [-]",
            "closed form: 2 x1/(x1 + x0)", ratio,
            functools.partial(lambda x: plain_peak_ratio(linear_force(900, 0.09 * x, 0.09)), share),
        )  # fmt: skip


def _rolled_torque(degrees: float) -> float:
    law, follower = _cam()
    edge = cam_outline(law, follower, Drop())
    rolled = roll(edge.points, follower, np.radians([degrees, degrees + 0.5]))
    return float(outline_torque(rolled, law.curve).torque[0])


def _teeth() -> Iterator[Check]:
    for teeth, factor in (
        (12, 0.245),
        (16, 0.296),
        (20, 0.322),
        (30, 0.359),
        (100, 0.447),
        (math.inf, 0.485),
    ):
        name = "a rack" if math.isinf(teeth) else f"{teeth:g} teeth"
        yield _of(
            f"Lewis form factor of {name} [-]", _LEWIS, factor,
            functools.partial(_first, lewis_factor, teeth), 1e-9,
        )  # fmt: skip
    speed = math.pi * 2 * 1200 / 12 * _FOOT / 60
    told = "16 teeth, P 8, face 1.5 in, 1200 rpm, 10 kpsi"
    stress = tooth_stress(1.0, _INCH / 8, 1.5 * _INCH, 16) * speed_factor(speed)
    yield _of(f"{told}: speed factor [-]", _TEETH, 1.52, lambda: float(speed_factor(speed)), 0.005)
    yield _of(f"{told}: load [lbf]", _TEETH, 365, lambda: 10 * _KPSI / float(stress) / _POUND, 1.0)
    for what, teeth, expected in (("16 teeth", 16, 37.53753753754), ("a rack", math.inf, 22.90950744559)):
        yield _of(
            f"bending stress of {what}, 100 N, module 1.5 mm, 6 mm thick [MPa]",
            "closed form: Lewis, F/(b m Y)", expected,
            functools.partial(lambda z: float(tooth_stress(100, 0.0015, 0.006, z)) / 1e6, teeth),
        )  # fmt: skip


def _discs() -> Iterator[Check]:
    a, b, w = 0.00635, 0.0508, 6000 * _RPM
    for name, rho, nu, rim, solid, hole, radial in (
        ("acrylic", 1190, 0.37, 1.21236704, 0.510709618, 1.02440279, 0.391012051),
        ("polycarbonate", 1200, 0.37, 1.222555, 0.515001295, 1.03301122, 0.394297867),
        ("PLA", 1240, 0.35, 1.26330684, 0.529009738, 1.06122709, 0.405023081),
        ("aluminium", 2700, 0.33, 2.75074876, 1.14499917, 2.29719757, 0.87663999),
    ):
        told = f"{name} disc 101.6 mm, hole 12.7 mm, 6000 rpm"
        ring = functools.partial(ring_stress, rho, nu, a, b, w)
        thin = functools.partial(rim_stress, rho, b * w)
        full = functools.partial(solid_disc_stress, rho, b * w, nu)
        for what, expected, compute in (
            ("thin rim [MPa]", rim, functools.partial(lambda f: float(f()) / 1e6, thin)),
            ("without the hole [MPa]", solid, functools.partial(lambda f: float(f()) / 1e6, full)),
            ("hoop stress at the hole [MPa]", hole, functools.partial(lambda f: f().at_hole_pa / 1e6, ring)),
            ("largest radial stress [MPa]", radial, functools.partial(lambda f: f().radial_pa / 1e6, ring)),
        ):
            yield _of(f"{told}: {what}", _DISC, expected, compute, 5e-9 * expected)
    steel = functools.partial(ring_stress, 7850, 0.3, 0.05, 0.25, 3000 * _RPM)
    told = "steel disc 500 mm, hole 100 mm, 3000 rpm"
    yield _of(
        f"{told}: hoop stress at the hole [MPa]", _DISC, 40.2877251652, lambda: steel().at_hole_pa / 1e6
    )
    yield _of(f"{told}: hoop stress at the rim [MPa]", _DISC, 10.0719312913, lambda: steel().at_rim_pa / 1e6)
    yield _of(f"{told}: largest radial stress [MPa]", _DISC, 12.7836051005, lambda: steel().radial_pa / 1e6)
    yield _of(
        "polycarbonate disc 101.6 mm, hole 12.7 mm, 6000 rpm: mean hoop stress [MPa]", _DISC, 0.464825600205,
        lambda: ring_stress(1200, 0.37, a, b, w).mean_pa / 1e6,
    )  # fmt: skip


CHECKS: tuple[Check, ...] = (*_springs(), *_cams(), *_teeth(), *_discs())
