"""What wheel launchers must give: no-slip ratios, the contact system, slip to grip, squeeze."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from shotwright.launcher import rolling
from shotwright.launcher.compression import Hertz, hertz_from_modulus
from shotwright.launcher.impulse import GrippedState, gripped_state, rolling_state
from shotwright.launcher.slipping import Passage, SlipRun, Surface, run
from shotwright.published.table import Check, Kind

_R = 0.089  # m
_EPICYCLE = "closed form: epicyclic gear with the wheel as sun, the hood as ring, the ball as planet (Willis)"
_RAILS = "closed form: no slip on a wheel and on two rails at an angle"
_IMPULSE = "closed form: momentum, angular momentum and no slip in the end; solved with mpmath to 40 digits"
_MEAN = "closed form: no slip on two opposed wheels"
_SPACED = "closed form: no slip on one wheel and a spaced pair"
_CROWN = "closed form: rolling radius on the shoulder of a crowned wheel, no slip"
_THREE = "closed form: no slip on three wheels 120° apart"
_FOUR = "closed form: least squares of the slips of four wheels that contradict each other"
_SLIDE = "closed form: friction ratio and no slip at the wheel alone"
_LENGTH = "closed form: work of friction up to grip"
_PHASES = "closed form: motion under constant friction, phase by phase"
_CURVED = "closed form: motion on a curved path, phase by phase"
_BY_RAMP = "computed by DOP853, Radau and RK4 with events, agreeing to 1e-8"
_BY_PAIR = "computed by DOP853 and Radau with events, agreeing to 1e-11"
_HERTZ = "closed form: Hertz's sphere between two plates"

Row = tuple[str, str, float, Callable[[], float]]


def _check(row: Row, relative: float) -> Check:
    what, source, expected, compute = row
    kind: Kind = "identity" if source.startswith("closed form") else "computed"
    return Check(what, source, kind, expected, max(abs(expected), 1e-2) * relative, compute)


def _rolls(*contacts: tuple[float, float, float]) -> tuple[float, float]:
    """Speed and backspin [rad/s] from (place above the centre, across, surface speed)."""
    state = rolling_state([[0, y, z] for z, y, _ in contacts], [[u, 0, 0] for *_, u in contacts])
    return state.speed, -float(state.spin[1])


def _newtons(law: Hertz, squeeze: float) -> float:
    return float(law.force(squeeze))


def _field(call: Callable[[], object], name: str, i: int = 0) -> Callable[[], float]:
    return lambda: float(np.ravel(getattr(call(), name))[i])


def _item(call: Callable[[], Sequence[float]], i: int) -> Callable[[], float]:
    return lambda: float(call()[i])


def _kinematics() -> Iterator[Row]:
    for name, (wheel, hood, u), (v, omega) in (
        ("wheel and hood, rim 20 m/s, r 89 mm", (_R, _R, 20.0), (10.0, 112.3595505618)),
        ("wheel and hood, contacts at 80 and 85 mm", (0.080, 0.085, 20.0), (10.30303030303, 121.2121212121)),
        ("wheel and hood, rim 30 m/s, r 33.5 mm", (0.0335, 0.0335, 30.0), (15.0, 447.7611940299)),
    ):
        both = functools.partial(_rolls, (-wheel, 0.0, u), (hood, 0.0, 0.0))
        yield f"{name}: speed [m/s]", _EPICYCLE, v, _item(both, 0)
        yield f"{name}: backspin [rad/s]", _EPICYCLE, omega, _item(both, 1)
    for angle, v, omega in (
        (20, 9.689087958742, 115.8529442838),
        (30, 9.282032302755, 120.4266033398),
        (45, 8.284271247462, 131.6374017139),
    ):
        phi = math.radians(angle)
        place = (_R * math.cos(phi), _R * math.sin(phi))
        rails = functools.partial(
            _rolls, (-_R, 0.0, 20.0), (place[0], place[1], 0.0), (place[0], -place[1], 0.0)
        )
        yield f"hood of two rails at {angle}°: speed [m/s]", _RAILS, v, _item(rails, 0)
        yield (
            f"hood of two rails at {angle}°: backspin [rad/s]",
            _RAILS,
            omega,
            _item(rails, 1),
        )
    carrier = functools.partial(_rolls, (-_R, 0.0, 20.0), (_R, 0.0, 0.0))
    yield (
        "wheel and hood, R 0.1 m, 200 rad/s: turning of the centre [rad/s]",
        _EPICYCLE,
        52.91005291005,
        lambda: carrier()[0] / (0.1 + _R),
    )


def _one(mass: float, start: tuple[float, float] = (0.0, 0.0), alpha: float = 0.4) -> GrippedState:
    """Find the end of a 140 g ball between one wheel at 20 m/s and a hood."""
    return gripped_state(0.14, alpha, [(1, 0), (-1, 0)], [20.0, 0.0], [mass, np.inf], (*start, 0.0))


def _pair(upper: float, lower: float, mass: float) -> GrippedState:
    return gripped_state(0.14, 0.4, [(-1, 0), (1, 0)], [upper, lower], [mass, mass])


def _three(pair: float, single: float, cos: float, mass: float) -> GrippedState:
    sin = math.sqrt(1 - cos * cos)
    return gripped_state(0.14, 0.4, [(1, 0), (-cos, -sin), (-cos, sin)], [single, pair, pair], [mass] * 3)


_NARROW = math.sqrt(1 - (0.1 / 0.178) ** 2)  # cos phi of contacts 100 mm apart


def _impulses() -> Iterator[Row]:
    told = "140 g ball, wheel and hood, rim 20 m/s"
    heavy, light = functools.partial(_one, np.inf), functools.partial(_one, 0.2)
    fed = functools.partial(_one, 0.2, (1.0, 0.0))
    shell = functools.partial(_one, 0.5, alpha=2 / 3)
    yield f"{told}, heavy wheel: heat of slip [J]", _IMPULSE, 9.8, _field(heavy, "slip_loss")
    yield (
        f"{told}, heavy wheel: hood's impulse, forward [N s]",
        _IMPULSE,
        0.42,
        _field(heavy, "impulses", 1),
    )
    for name, call, v, u, heat in (
        ("wheel of 0.2 kg", light, 8.032128514056, 16.06425702811, 7.871485943775),
        ("wheel of 0.2 kg, fed at 1 m/s", fed, 8.172690763052, 16.3453815261, 6.807148594378),
        ("shell, wheel of 0.5 kg", shell, 8.955223880597, 17.91044776119, 10.44776119403),
    ):
        yield f"{told}, {name}: speed [m/s]", _IMPULSE, v, _field(call, "speed")
        yield (
            f"{told}, {name}: rim speed after [m/s]",
            _IMPULSE,
            u,
            _field(call, "rim_speeds"),
        )
        yield f"{told}, {name}: heat of slip [J]", _IMPULSE, heat, _field(call, "slip_loss")
    for alpha, v, w in ((0.4, 5.714285714286, 14.28571428571), (2 / 3, 8.0, 12.0)):
        free = functools.partial(gripped_state, 0.14, alpha, [(1, 0)], [20.0], [np.inf])
        name = f"hood without friction, alpha {alpha:.3g}, rim 20 m/s"
        yield f"{name}: speed [m/s]", _IMPULSE, v, _field(free, "speed")
        yield f"{name}: r omega [m/s]", _IMPULSE, w, _field(free, "backspin")
    for alpha, q, ratio, s in ((0.4, 0.25, 0.4, 1.5), (2 / 3, 0.1, 0.4489795918367, 1.227272727273)):
        part = functools.partial(rolling.hood_speed_ratio, alpha, q)
        name = f"ball slides on the hood, friction share {q}, alpha {alpha:.3g}"
        yield f"{name}: v/u [-]", _SLIDE, ratio, _item(part, 0)
        yield f"{name}: spin parameter [-]", _SLIDE, s, _item(part, 1)


def _wheels() -> Iterator[Row]:
    quick = functools.partial(_pair, 18, 22, np.inf)
    uneven = functools.partial(_rolls, (0.085, 0.0, 18.0), (-0.080, 0.0, 22.0))
    yield (
        "opposed wheels 18 and 22 m/s: speed [m/s]",
        _MEAN,
        20.0,
        _field(quick, "speed"),
    )
    yield (
        "opposed wheels 18 and 22 m/s: heat of slip [J]",
        _IMPULSE,
        28.112,
        _field(quick, "slip_loss"),
    )
    yield (
        "opposed wheels, contacts at 85 and 80 mm: backspin [rad/s]",
        _MEAN,
        24.24242424242,
        _item(uneven, 1),
    )
    yield "opposed wheels, contacts at 85 and 80 mm: speed [m/s]", _MEAN, 20.06060606061, _item(uneven, 0)
    for upper, v, w, heat in (
        (20, 14.81481481481, 0.0, 20.74074074074),
        (18, 14.81481481481, 1.754385964912, 20.83898635478),
    ):
        both = functools.partial(_pair, upper, 40 - upper, 0.2)
        name = f"opposed wheels of 0.2 kg, {upper} and {40 - upper} m/s"
        yield f"{name}: speed [m/s]", _IMPULSE, v, _field(both, "speed")
        yield f"{name}: r omega [m/s]", _IMPULSE, w, _field(both, "backspin")
        yield f"{name}: heat of slip [J]", _IMPULSE, heat, _field(both, "slip_loss")
    for name, cos, u, v, w in (
        ("100 mm apart, 18/22 m/s", _NARROW, (18.0, 22.0), 19.81094753244, 2.18905246756),
        ("together, 18/22 m/s", 1.0, (18.0, 22.0), 20.0, 2.0),
        ("at 60°, 18/22 m/s", 0.5, (18.0, 22.0), 19.33333333333, 2.666666666667),
        ("at 30°, 16/20 m/s", math.sqrt(0.75), (16.0, 20.0), 17.85640646055, 2.143593539449),
        ("at 30°, rails", math.sqrt(0.75), (0.0, 20.0), 9.282032302755, 10.71796769724),
        ("100 mm apart, 20/20 m/s", _NARROW, (20.0, 20.0), 20.0, 0.0),
    ):
        trio = functools.partial(_three, *u, cos, np.inf)
        yield f"upper pair {name}: speed [m/s]", _SPACED, v, _field(trio, "speed")
        yield f"upper pair {name}: r omega [m/s]", _SPACED, w, _field(trio, "backspin")
    for upper, lower, v, w, heat in (
        (18, 22, 15.84878445219, 0.9785398074246, 22.03853870592),
        (20, 20, 16.04324311046, -0.9777728951949, 22.46054035464),
    ):
        trio = functools.partial(_three, upper, lower, _NARROW, 0.2)
        name = f"three wheels of 0.2 kg, upper {upper} 100 mm apart, lower {lower} m/s"
        yield f"{name}: speed [m/s]", _IMPULSE, v, _field(trio, "speed")
        yield f"{name}: r omega [m/s]", _IMPULSE, w, _field(trio, "backspin")
        yield f"{name}: heat of slip [J]", _IMPULSE, heat, _field(trio, "slip_loss")


def _around(psi: list[float], speeds: list[float]) -> list[float]:
    places = [[0, _R * math.cos(math.radians(a)), _R * math.sin(math.radians(a))] for a in psi]
    state = rolling_state(places, [[u, 0, 0] for u in speeds])
    return [state.speed, *(_R * state.spin[1:]).tolist(), float(np.abs(state.slip[:, 0]).max())]


def _many() -> Iterator[Row]:
    three = functools.partial(_around, [-90.0, 30.0, 150.0], [22.0, 18.0, 17.0])
    yield "three wheels 120° apart, 22, 18, 17 m/s: speed [m/s]", _THREE, 19.0, _item(three, 0)
    yield "three wheels 120° apart: r omega about y [m/s]", _THREE, -3.0, _item(three, 1)
    yield (
        "three wheels 120° apart, the left one faster: r omega about z [m/s]",
        _THREE,
        -0.5773502691896,
        _item(three, 2),
    )
    four = functools.partial(_around, [-90.0, 0.0, 90.0, 180.0], [21.0, 20.0, 18.0, 19.5])
    for name, i, value in (
        ("speed", 0, 19.625),
        ("r omega about y", 1, -1.5),
        ("r omega about z", 2, -0.25),
        ("slip left", 3, 0.125),
    ):
        yield f"four wheels: {name} [m/s]", _FOUR, value, _item(four, i)
    for crown, phi, v, w in (
        (0.02, math.acos(_NARROW), 19.62189506488, 0.3781049351194),
        (0.01, math.pi / 6, 19.85640646055, 0.143593539449),
    ):
        upper = rolling.crowned_rim_speed(200.0, 0.1, crown, phi)
        trio = functools.partial(_three, upper, 20.0, math.cos(phi), np.inf)
        name = f"upper wheels crowned {1e3 * crown:g} mm at {math.degrees(phi):.4g}°"
        yield f"{name}: speed [m/s]", _CROWN, v, _field(trio, "speed")
        yield f"{name}: r omega [m/s]", _CROWN, w, _field(trio, "backspin")


def _lengths() -> Iterator[Row]:
    hood, opposed = rolling.hood_contact_needed, rolling.opposed_contact_needed
    first, second = (0.14, 0.4, 20.0, 0.6 * 150), (0.0577, 0.55, 30.0, 0.7 * 80, 1.0)
    yield "length to grip, hood, 140 g, F 90 N [m]", _LENGTH, 0.0544444444444, lambda: hood(*first)
    yield (
        "length to grip, hood, 140 g, F 60 N [m]",
        _LENGTH,
        0.0816666666667,
        lambda: hood(0.14, 0.4, 20.0, 60),
    )
    yield "length to grip, hood, 57.7 g, F 56 N [m]", _LENGTH, 0.089435, lambda: hood(*second)
    yield "length to grip, opposed, 140 g, F 90 N [m]", _LENGTH, 0.155555555556, lambda: opposed(0.14, 20, 90)
    yield "length to grip, opposed, 140 g, F 60 N [m]", _LENGTH, 0.233333333333, lambda: opposed(0.14, 20, 60)
    yield (
        "length to grip, opposed, 57.7 g, F 56 N [m]",
        _LENGTH,
        0.231572767857,
        lambda: opposed(0.0577, 30, 56, 1),
    )
    yield (
        "bite of a 178 mm ball between wheels of 100 mm radius, gap 150 mm [°]",
        "closed form: triangle of axes and ball",
        22.1916065663,
        lambda: math.degrees(rolling.bite_angle(0.1, _R, 0.15)),
    )
    yield (
        "preload that holds a 140 g ball to a wheel up to 10 m/s, path 189 mm: that speed [m/s]",
        "closed form: centripetal force",
        10.0,
        lambda: rolling.lift_off_speed(0.14, 37.037037037037, 0.189),
    )


def _hood_run(
    grips: tuple[float, float],
    force: float,
    speed: float,
    wrap: float,
    *,
    curved: bool = False,
    entry: float = 0.0,
    torque: float = 0.0,
) -> SlipRun:
    """Send a 140 g ball, fed at 1 m/s, between a wheel (R 0.1 m, 0.2 kg) and a hood, path radius 0.189 m."""
    share = 0.5 if curved else 0.0
    wheel = Surface("wheel", 1.0, 0.0, grips[0], speed, 0.2, torque / 0.1, force, -share)
    hood = Surface("hood", -1.0, 0.0, grips[1], normal_force=force, curve_share=share)
    path = Passage(0.14, _R, 0.4, 1.0, 0.0, 0.189 * math.radians(wrap), 0.189, entry)
    return run(path, (wheel, hood), tolerance=1e-13)


def _pair_run(gap: float, stiffness: float, grip: float, push: float = 0.0) -> SlipRun:
    """Send a 140 g ball, fed at 2 m/s, past two wheels (R 0.1 m, 0.5 kg) at 20 m/s."""
    axis = 0.1 + gap / 2
    half = math.sqrt((0.1 + _R) ** 2 - axis**2)
    both = [
        Surface(name, arm, 0.0, grip, 20.0, 0.5, push, wheel_radius=0.1, axis_distance=axis)
        for name, arm in (("upper", -1.0), ("lower", 1.0))
    ]
    return run(Passage(0.14, _R, 0.4, 2.0, -half, half), both, Hertz(stiffness / 2**1.5), tolerance=1e-13)


def _slips() -> Iterator[Row]:
    a1 = functools.partial(_hood_run, (0.6, 0.6), 150.0, 20.0, 90.0)
    a2 = functools.partial(_hood_run, (0.4, 0.4), 60.0, 25.0, 60.0)
    a3 = functools.partial(_hood_run, (0.6, 0.6), 120.0, 20.0, 90.0, curved=True)
    a3b = functools.partial(_hood_run, (0.6, 0.6), 30.0, 24.0, 120.0, curved=True)
    a4 = functools.partial(_hood_run, (0.6, 0.6), 130.0, 20.0, 90.0, entry=0.04, torque=0.4)
    a5 = functools.partial(_hood_run, (0.6, 0.15), 150.0, 20.0, 90.0)
    rows: tuple[tuple[str, str, Callable[[], SlipRun], str, int, float], ...] = (
        ("grips on the way", _PHASES, a1, "speed", 0, 8.17269076305),
        ("grips on the way", _PHASES, a1, "heats", 0, 6.79314859438),
        ("grips on the way", _PHASES, a1, "heats", 1, 0.014),
        ("grips on the way", _PHASES, a1, "grip_place", 0, 0.0361316760124),
        ("grips on the way", _PHASES, a1, "time", 0, 0.0400262680514),
        ("leaves slipping", _PHASES, a2, "speed", 0, 9.86758049064),
        ("leaves slipping", _PHASES, a2, "rim_speeds", 0, 20.5148855596),
        ("leaves slipping", _PHASES, a2, "slips", 0, 0.779724578296),
        ("leaves slipping", _PHASES, a2, "heats", 0, 10.9277708633),
        ("on a curved path", _CURVED, a3, "speed", 0, 8.17269076305),
        ("on a curved path", _CURVED, a3, "grip_place", 0, 0.0506132742054),
        ("on a curved path", _CURVED, a3, "heats", 0, 6.79312272166),
        ("on a curved path, lightly pressed", _CURVED, a3b, "speed", 0, 8.22297966482),
        ("on a curved path, lightly pressed", _CURVED, a3b, "slips", 0, 3.87478063460),
        ("squeeze builds up, motor pulls", _BY_RAMP, a4, "speed", 0, 8.60065954781),
        ("squeeze builds up, motor pulls", _BY_RAMP, a4, "motor_work", 0, 3.87234107127),
        ("squeeze builds up, motor pulls", _BY_RAMP, a4, "grip_place", 0, 0.0678890459292),
        ("slippery hood", _BY_RAMP, a5, "speed", 0, 8.17269076305),
        ("slippery hood", _BY_RAMP, a5, "grip_place", 0, 0.0292658602776),
        ("slippery hood", _BY_RAMP, a5, "grip_place", 1, 0.0733853241808),
        ("slippery hood", _BY_RAMP, a5, "heats", 1, 0.409088014652),
    )
    for name, source, call, field, i, value in rows:
        which = f" {i + 1}" if field in ("heats", "grip_place") else ""
        yield (
            f"140 g ball on wheel and hood, {name}: {field.replace('_', ' ')}{which}",
            source,
            value,
            _field(call, field, i),
        )
    b1, b1s = functools.partial(_pair_run, 0.15, 4e4, 0.7), functools.partial(_pair_run, 0.15, 1.5e4, 0.5)
    b2, b2m = functools.partial(_pair_run, 0.14, 8e4, 0.8), functools.partial(_pair_run, 0.14, 8e4, 0.8, 20.0)
    for name, call, field, value in (
        ("slips throughout", b1, "speed", 10.6266135027),
        ("slips throughout", b1, "rim_speeds", 18.6297659168),
        ("slips throughout", b1, "time", 0.0297928591509),
        ("softer", b1s, "speed", 5.75988857477),
        ("softer", b1s, "rim_speeds", 19.4061863422),
        ("squeezed hard, leaves faster than the wheels", b2, "speed", 18.6976993481),
        ("squeezed hard, leaves faster than the wheels", b2, "rim_speeds", 17.1664014613),
        ("squeezed hard, motors pull", b2m, "speed", 19.5078929103),
        ("squeezed hard, motors pull", b2m, "motor_work", 17.84244407),
    ):
        yield (
            f"140 g ball between opposed wheels, {name}: {field.replace('_', ' ')}",
            _BY_PAIR,
            value,
            _field(call, field),
        )


def _squeezes() -> Iterator[Row]:
    foam = hertz_from_modulus(_R, 0.3e6, 0.2)
    for mm, force in ((10, 43.9479648119), (20, 124.303615751), (30, 228.360323831)):
        yield (
            f"178 mm ball, E 0.30 MPa, squeezed {mm} mm: force [N]",
            _HERTZ,
            force,
            functools.partial(_newtons, foam, mm / 1e3),
        )
    yield (
        "178 mm ball, E 0.30 MPa, squeezed 20 mm: work [J]",
        _HERTZ,
        0.994428926,
        lambda: float(foam.work(0.02)),
    )


# the digits that are printed: 1e-10 for closed forms, 1e-8 for motion followed
CHECKS: tuple[Check, ...] = (
    *(_check(row, 1e-10) for row in (*_kinematics(), *_impulses(), *_wheels(), *_many(), *_lengths())),
    *(_check(row, 1e-8) for row in (*_slips(), *_squeezes())),
)
