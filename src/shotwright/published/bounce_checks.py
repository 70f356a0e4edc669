"""Impacts of a spinning ball, drop tests and the free throw with bounces against values from outside."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from shotwright.flight.bounce import Impacts, impact
from shotwright.flight.crossing import fly_to_plane
from shotwright.flight.drop_test import drop_restitution
from shotwright.flight.model import FlightModel, flight_model, launch_vectors
from shotwright.flight.rebound import follow_bounces, follow_one
from shotwright.game.records import Ball, Board, CoefficientLaw, Rim, Surface, Target, Weather
from shotwright.published.table import Check

_RADIUS = 0.12  # m
_NONE = CoefficientLaw("none")

_GARWIN = (
    "closed form of Garwin, Kinematics of an ultraelastic rough ball, Am. J. Phys. 37, 88 (1969): "
    "e_n = e_t = 1, grip"
)
_CROSS = (
    "closed form of grip and slide after Cross, Grip-slip behavior of a bouncing ball, Am. J. Phys. 70, 1093 "
    "(2002), DOI 10.1119/1.1507792"
)

# case, v_x, v_z, r omega of topspin; e_n, e_t, mu, alpha; v_x', v_z', r omega', energy after over before
_FLOOR = (
    ("superball", _GARWIN, (5, -5, 0), (1, 1, 10, 0.4), (2.14285714286, 5, 7.14285714286, 1.0)),
    (
        "superball dropped with spin",
        _GARWIN,
        (0, -5, 5),
        (1, 1, 10, 0.4),
        (2.85714285714, 5, -2.14285714286, 1.0),
    ),
    (
        "shallow impact that slides",
        _CROSS,
        (20, -5, 0),
        (0.75, 0, 0.5, 0.55),
        (15.625, 3.75, 7.95454545455, 0.689421791444),
    ),
    (
        "steep impact that grips",
        _CROSS,
        (5, -8, 0),
        (0.75, 0.2, 0.6, 0.55),
        (2.87096774194, 6, 3.87096774194, 0.589706415368),
    ),
    (
        "backspin",
        _CROSS,
        (5, -8, -6),
        (0.75, 0.2, 0.6, 0.55),
        (0.316129032258, 6, 2.51612903226, 0.36380455408),
    ),
    (
        "thin shell that leaves rolling",
        _CROSS,
        (4, -6, 0),
        (0.76, 0, 0.6, 2 / 3),
        (2.4, 4.56, 2.4, 0.584492307692),
    ),
    (
        "basketball with 3 Hz of backspin",
        _CROSS,
        (3.7, -8, -2.261946710584651),
        (0.76, 0.1, 0.6, 0.62),
        (1.19009403912, 6.08, 1.78628871018, 0.499133734315),
    ),
    (
        "more topspin than rolling",
        _CROSS,
        (5, -8, 12),
        (0.75, 0.2, 0.6, 0.55),
        (7.98064516129, 6, 6.58064516129, 0.734294810326),
    ),
    ("no friction", _CROSS, (5, -4, 3), (0.6, 0.5, 0, 0.4), (5, 2.4, 3, 0.770403587444)),
)
# upright board, ball moving towards +x: v_x, v_z, r omega of backspin; surface; v_x', v_z', r omega'
_BOARD = (
    (
        "board, 3 Hz of backspin",
        (4, -2, 2.261946710584651),
        (0.70, 0.1, 0.5, 0.62),
        (-2.8, -2.11027633125, 2.08408166019),
    ),
    ("board, no spin", (4, -2, 0), (0.70, 0.1, 0.5, 0.62), (-2.8, -1.15802469136, 1.35802469136)),
    (
        "board, rising ball",
        (6, 1, 4.45),
        (0.6, 0.2, 0.4, 0.4),
        (-3.6, -0.868571428571, -0.221428571429),
    ),
    ("board, ball that slides up it", (4, 3, 4.45), (0.6, 0.2, 0.15, 0.4), (-2.4, 2.04, 2.05)),
)
# place of the ball's centre from the touching point of the rim; v_x', v_z', omega' of backspin
_RIM = (
    ("back of the rim", (-0.08, 0.0894427191), (-2.30571890118, 1.53183534244, 3.55950830768)),
    ("back of the rim, higher", (-0.072, 0.096), (-1.93491242302, 1.86131568273, 0.957882147654)),
    ("front of the rim, sliding", (0.072, 0.096), (4.086, -2.677, 12.5995559215)),
)


@functools.cache
def _impact(
    v_x: float, v_z: float, backspin: float, surface: tuple[float, ...], normal: tuple[float, float]
) -> Impacts:
    """Impact in the x-z plane; backspin of a ball that flies along +x. [rad/s]."""
    e_n, e_t, mu, alpha = surface
    return impact(
        (v_x, 0.0, v_z),
        (0.0, -backspin, 0.0),
        (normal[0], 0.0, normal[1]),
        _RADIUS,
        alpha,
        Surface(e_n, e_t, mu),
    )


_Inputs = tuple[float, float, float, tuple[float, ...], tuple[float, float]]


def _after(inputs: _Inputs, what: str) -> Callable[[], float]:
    def value() -> float:
        found = _impact(*inputs)
        return {
            "x": float(found.velocity[0, 0]),
            "z": float(found.velocity[0, 2]),
            "backspin": float(-found.spin[0, 1]),
            "energy": float(found.energy_kept[0]),
        }[what]

    return value


def _impact_checks() -> list[Check]:
    found = []

    def row(what: str, source: str, expected: float, tolerance: float, compute: Callable[[], float]) -> None:
        found.append(Check(what, source, "identity", expected, tolerance, compute))

    for case, source, (v_x, v_z, top), surface, (out_x, out_z, out_top, energy) in _FLOOR:
        inputs: _Inputs = (v_x, v_z, -top / _RADIUS, surface, (0.0, 1.0))
        row(f"{case}: speed along the floor [m/s]", source, out_x, 1e-11, _after(inputs, "x"))
        row(f"{case}: speed off the floor [m/s]", source, out_z, 1e-11, _after(inputs, "z"))
        row(f"{case}: backspin [rad/s]", source, -out_top / _RADIUS, 1e-10, _after(inputs, "backspin"))
        row(f"{case}: energy kept [-]", source, energy, 1e-11, _after(inputs, "energy"))
    for case, (v_x, v_z, back), surface, (out_x, out_z, out_back) in _BOARD:
        inputs = (v_x, v_z, back / _RADIUS, surface, (-1.0, 0.0))
        row(f"{case}: speed away from it [m/s]", _CROSS, out_x, 1e-11, _after(inputs, "x"))
        row(f"{case}: speed up it [m/s]", _CROSS, out_z, 1e-11, _after(inputs, "z"))
        row(f"{case}: backspin [rad/s]", _CROSS, out_back / _RADIUS, 1e-10, _after(inputs, "backspin"))
    for case, normal, (out_x, out_z, spin) in _RIM:
        inputs = (3.9, -3.7, 18.849555921538759, (0.5, 0.1, 0.5, 0.62), normal)
        row(f"{case}: speed to the back [m/s]", _CROSS, out_x, 1e-10, _after(inputs, "x"))
        row(f"{case}: speed up [m/s]", _CROSS, out_z, 1e-10, _after(inputs, "z"))
        row(f"{case}: backspin [rad/s]", _CROSS, spin, 1e-9, _after(inputs, "backspin"))
    return found


_NAIVE = "closed form: e = sqrt(h/H), both heights of the same point of the ball"
_WITH_AIR = (
    "closed form of quadratic drag: v_T sqrt(exp(2 g h / v_T^2) - 1) over v_T sqrt(1 - exp(-2 g H / v_T^2))"
)
_ITF = "ITF's rule for tennis balls, as quoted on a public page"
_FIFA = "FIFA's test of footballs on steel, as quoted on a public page"
_ITTF = "ITTF's test (brackets from memory)"
# what, heights after, D [m], m [kg], C_D, density, drop, rebound [m], e, tolerance
_DROPS = (
    ("lowest rebound of a tennis ball", _ITF, (0.067, 0.0577, 0.55, 0.0, 2.54, 1.35), 0.729037765, 5e-10),
    ("highest rebound of a tennis ball", _ITF, (0.067, 0.0577, 0.55, 0.0, 2.54, 1.47), 0.760749734, 5e-10),
    ("lowest rebound of a football", _FIFA, (0.22, 0.43, 0.2, 0.0, 2.0, 1.35), 0.821583836, 5e-10),
    ("highest rebound of a football", _FIFA, (0.22, 0.43, 0.2, 0.0, 2.0, 1.55), 0.880340843, 5e-10),
    ("table tennis ball in air", _ITTF, (0.040, 0.0027, 0.45, 1.225, 0.305, 0.25), 0.938127778828, 1e-9),
    ("tennis ball in air", _ITF, (0.067, 0.0577, 0.55, 1.225, 2.54, 1.41), 0.775853845878, 1e-9),
    ("foam ball in air", "invented", (0.178, 0.140, 0.47, 1.225, 1.5, 0.6), 0.667089982101, 1e-9),
)


def _model(diameter: float, mass: float, drag: float, density: float, alpha: float = 0.4) -> FlightModel:
    ball = Ball("ball", diameter, mass, CoefficientLaw("constant", drag), _NONE, inertia_factor=alpha)
    return flight_model(ball, Weather(), density=density, buoyancy=False)


def _restitution(
    diameter: float, mass: float, drag: float, density: float, dropped: float, rebounded: float
) -> float:
    return float(drop_restitution(_model(diameter, mass, drag, density), dropped, rebounded)[0])


def _drop_checks() -> list[Check]:
    found = []
    for what, after, inputs, expected, tolerance in _DROPS:
        dropped, rebounded = inputs[4:]
        source = f"{_WITH_AIR if inputs[3] else _NAIVE}; heights: {after}"
        title = f"restitution, {what}, {dropped:g} m down and {rebounded:g} m up [-]"
        compute = functools.partial(_restitution, *inputs)
        found.append(Check(title, source, "identity", expected, tolerance, compute))
    return found


_RING = Target("ring", (4.191, 0.0, 3.048), 0.0, math.pi / 2, radius=0.2286)
_CLEAN = (
    "closed form: parabola, least distance from the two rim points by the roots of a cubic and, separately, "
    "by bounded minimisation; ring 0.4572 m wide (rule, from memory)"
)
# elevation [deg], slowest and fastest clean speed [m/s]
_CLEAN_SPEEDS = (
    (48, 7.16761422, 7.18465747),
    (50, 7.13194703, 7.17026540),
    (52, 7.12003283, 7.17705793),
    (56, 7.16660895, 7.25542652),
    (60, 7.31154739, 7.42730070),
)


def _clean_edge(elevation: float, within: float, beyond: float) -> float:
    """Speed at which a free throw that may touch nothing begins to touch, by halving. [m/s]."""
    model = _model(2 * _RADIUS, 0.6, 0.5, 0.0)
    for _ in range(34):
        middle = 0.5 * (within + beyond)
        velocity, spin = launch_vectors(middle, math.radians(elevation), 0.0, 0.0)
        if follow_bounces(model, _RING, (0.0, 0.0, 2.1336), velocity, spin, bounces=0).scored()[0]:
            within = middle
        else:
            beyond = middle
    return 0.5 * (within + beyond)


def _bouncing_time() -> float:
    """Time at which a ball dropped 1 m has bounced 20 times, plus the rest of the series. [s]."""
    model = _model(2 * _RADIUS, 0.6, 0.5, 0.0)
    still = np.zeros(3)
    floor = Surface(0.75, 0.0, 0.5)
    found = follow_one(model, None, (0.0, 0.0, 1.0 + _RADIUS), still, still, bounces=20, floor=floor)
    last = found.bounces[-1]
    return last.time + 2 * float(last.velocity_after[2]) / model.gravity / (1 - floor.restitution)


def _flight_checks() -> list[Check]:
    found = [
        Check(
            "time until a ball dropped 1 m without air, e_n = 0.75, has bounced itself to rest [s]",
            "closed form: geometric series, sqrt(2 H / g) (1 + e) / (1 - e)",
            "identity",
            3.16120529026,
            1e-9,
            _bouncing_time,
        )
    ]
    for elevation, *ends in _CLEAN_SPEEDS:
        middle = sum(ends) / 2
        for end, name in zip(ends, ("slowest", "fastest"), strict=True):
            compute = functools.partial(_clean_edge, elevation, middle, 2 * end - middle)
            what = f"{name} free throw at {elevation} deg that touches nothing, bounces followed [m/s]"
            found.append(Check(what, _CLEAN, "identity", end, 1e-7, compute))
    return found


_RIM_AND_BOARD = replace(
    _RING,
    rim=Rim(0.009, Surface(0.5, 0.1, 0.5)),
    board=Board((4.572, 0.0, 3.4), math.pi, 0.0, 1.8, 1.05, 0.03, Surface(0.7, 0.1, 0.5)),
)
_THREE_HERTZ = 18.849555921538759  # rad/s
_THROWS = 6000
_SILVERBERG = (
    "Tran and Silverberg, J. Sports Sci. 26, 1147 (2008), as told by the press; surfaces and spreads are "
    "assumed: e_n 0.5 and 0.7, e_t 0.1, mu 0.5 (from memory), 1 % of speed, 1.5 deg and 1 deg"
)


@functools.cache
def _free_throws(elevation: float, beyond: float) -> float:
    """Share of free throws with 3 Hz of backspin that go in, bounces allowed; aimed `beyond` the centre."""
    ball = Ball(
        "basketball", 2 * _RADIUS, 0.6, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"), 0, 0, 0.642
    )
    model = flight_model(ball, Weather(), density=1.225, buoyancy=False)
    start, angle = (0.0, 0.0, 2.1336), math.radians(elevation)
    slow, fast = 6.9, 8.5
    for _ in range(40):  # the range grows with the speed there
        middle = 0.5 * (slow + fast)
        velocity, spin = launch_vectors(middle, angle, 0.0, _THREE_HERTZ)
        falls = fly_to_plane(model, start, velocity, spin, (0, 0, 3.048), (0, 0, 1)).position[0, 0]
        slow, fast = (middle, fast) if falls < 4.191 + beyond else (slow, middle)
    draws = np.random.default_rng(1).standard_normal((3, _THROWS))
    velocity, spin = launch_vectors(
        slow * (1 + 0.01 * draws[0]),
        angle + math.radians(1.5) * draws[1],
        math.radians(1.0) * draws[2],
        _THREE_HERTZ,
    )
    return float(follow_bounces(model, _RIM_AND_BOARD, start, velocity, spin, bounces=8).scored().mean())


def _best_elevation() -> float:
    """Of 46, 49, ... 58 deg, each aimed 5.8 cm beyond the centre. [deg]."""
    return max((46.0, 49.0, 52.0, 55.0, 58.0), key=lambda elevation: _free_throws(elevation, 0.058))


def _throw_checks() -> list[Check]:
    return [
        Check(
            "free throw at 52 deg, bounces allowed: what aiming at the ring's centre costs against 5.8 cm "
            "beyond it [-]",
            _SILVERBERG,
            "authority",
            0.03,
            0.02,
            lambda: _free_throws(52.0, 0.058) - _free_throws(52.0, 0.0),
        ),
        Check(
            "free throw with 3 Hz of backspin, bounces allowed: best elevation [deg]",
            _SILVERBERG,
            "authority",
            52.0,
            3.0,
            _best_elevation,
        ),
    ]


CHECKS: tuple[Check, ...] = (*_impact_checks(), *_drop_checks(), *_flight_checks(), *_throw_checks())
