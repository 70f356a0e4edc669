"""Shot windows and slowest shots against closed forms and independent computations."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np

from shotwright.flight.line_of_fire import LineOfFire, line_of_fire
from shotwright.flight.model import flight_model
from shotwright.flight.slowest import minimum_speed_aim
from shotwright.flight.windows import ShotWindow, scoring_elevations, shot_window
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Game, Target, Weather
from shotwright.published.table import Check

_RELEASE = 2.1336  # m, 7 ft: press report of Tran and Silverberg (2008)
_RING = Target("ring", (4.191, 0.0, 3.048), 0.0, math.pi / 2, radius=0.2286)
_SPOT = FiringPosition("free-throw line", 0.0, 0.0, 0.0, 0.0)
_THREE_HERTZ = 18.849555921538759  # rad/s

_CLEAN = (
    "closed form: parabola, least distance from the two rim points by the roots of a cubic and, separately, "
    "by bounded minimisation; ring 0.4572 m wide (rule, from memory)"
)
_FLOWN = (
    "computed by scipy's DOP853 at rtol 1e-13 with root finding on the distance from the ring; "
    "C_L = S/(2.32 S + 0.4) after Cross"
)
_SLOWEST = (
    "closed form: theta = 45 deg + atan(h/L)/2, v^2 = g (h + sqrt(h^2 + L^2)); Brancazio, Physics of "
    "basketball, Am. J. Phys. 49, 356 (1981), formula numbers from memory"
)
_SLOWEST_IN_AIR = "computed by bounded minimisation over scipy's DOP853"

# elevation [deg], slowest and fastest clean speed [m/s]
_VACUUM = (
    (48, 7.16761422, 7.18465747),
    (50, 7.13194703, 7.17026540),
    (52, 7.12003283, 7.17705793),
    (56, 7.16660895, 7.25542652),
    (60, 7.31154739, 7.42730070),
)
# speed [m/s], lowest and highest clean elevation [deg]
_ANGLES = (
    (7.15, 48.82372254, 55.21604596),
    (7.30, 57.28918992, 59.76282849),
    (8.00, 66.87639383, 68.22083800),
)
_AIR_TOLERANCE = 1e-7  # m/s
# backspin [rad/s], density [kg/m^3], elevation [deg], slowest and fastest clean speed [m/s]
_AIR = (
    (0.0, 1.225, 48, 7.45601376, 7.49505829),
    (0.0, 1.225, 52, 7.42215463, 7.50268800),
    (_THREE_HERTZ, 1.225, 48, 7.37099684, 7.41585505),
    (_THREE_HERTZ, 1.225, 52, 7.36928897, 7.45421214),
    (_THREE_HERTZ, 1.225, 56, 7.47184865, 7.59051133),
    (_THREE_HERTZ, 1.046619077, 52, 7.33021951, 7.41078137),
)
# L, h [m], elevation [deg], speed [m/s], entry angle [deg]
_LEAST = (
    (4.191, 0.9144, 51.154007908714, 7.143790187582, 38.845992091286),
    (5.0, 1.5, 53.349622116997, 8.118016439550, 36.650377883003),
    (10.0, 1.0, 47.855296568750, 10.409719629263, 42.144703431250),
    (3.0, 2.0, 61.845033762990, 7.4142888678233, 28.154966237010),
    (8.0, -0.5, 43.211832812501, 8.5850424902965, 46.788167187499),
    (15.0, 1.8, 48.421386706315, 12.876608737638, 41.578613293685),
)
_FOAM = Ball("foam ball", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))
_TENNIS = Ball("tennis ball", 0.067, 0.0577, CoefficientLaw("constant", 0.55), CoefficientLaw("cross"))
_THROWN = Ball("basketball", 0.240, 0.600, CoefficientLaw("constant", 0.50), CoefficientLaw("cross"))
# ball, backspin [rad/s], L, h [m], elevation [deg], speed [m/s]
_LEAST_IN_AIR = (
    (_FOAM, 0.0, 5.0, 1.5, 51.4079, 9.15588989),
    (_FOAM, 50.0, 5.0, 1.5, 46.9600, 8.91007128),
    (_FOAM, 0.0, 10.0, 1.0, 44.2180, 13.10067140),
    (_TENNIS, 0.0, 10.0, 1.0, 46.4625, 11.35832874),
    (_THROWN, _THREE_HERTZ, 4.191, 0.9144, 49.1756, 7.38513569),
)


@functools.cache
def _free_throw(spin: float, density: float) -> ShotWindow:
    """Window of a free throw at 48, 50, ... 60 deg; the basketball is 0.24 m wide."""
    ball = _THROWN
    game = Game("free throw", 9.0, 9.0, ball, (_RING,), (_SPOT,))
    model = flight_model(ball, Weather(), density=density, buoyancy=False)
    return shot_window(
        model,
        game,
        _SPOT,
        _RING,
        release_height=_RELEASE,
        spin=spin,
        elevation_range=(math.radians(48), math.radians(60)),
        elevation_steps=7,
    )


def _clean_speed(spin: float, density: float, elevation: int, end: int) -> float:
    return _free_throw(spin, density).intervals_m_s[(elevation - 48) // 2][0][end]


@functools.cache
def _clean_elevations(speed: float) -> tuple[float, float]:
    model = flight_model(_THROWN, Weather(), density=0.0)
    line = line_of_fire(model, _RING, _SPOT, _RELEASE)
    low, high = scoring_elevations(line, np.array([speed]))[0][-1]
    return math.degrees(low), math.degrees(high)


@functools.cache
def _least(ball: Ball, spin: float, density: float, length: float, height: float) -> tuple[float, ...]:
    """Elevation [deg], speed [m/s] and entry angle [deg] of the slowest shot through the centre."""
    release = 1.0
    opening = Target("opening", (length, 0.0, release + height), 0.0, math.pi / 2, radius=1.0)
    model = flight_model(ball, Weather(), density=density, buoyancy=False)
    line = line_of_fire(model, opening, _SPOT, release, spin=spin)
    elevations = np.radians(np.linspace(30.0, 75.0, 46))
    aim = minimum_speed_aim(line, line.centre_aims(elevations), elevations)
    assert aim is not None
    return math.degrees(aim.elevation), aim.speed, _entry(line, aim.speed, aim.elevation)


def _entry(line: LineOfFire, speed: float, elevation: float) -> float:
    velocity = line.fly(np.array([speed]), np.array([elevation]), np.array([0.0])).velocity[0]
    return math.degrees(math.atan2(-velocity[2], velocity[0]))


def _call(function: Callable[..., float], *inputs: object) -> Callable[[], float]:
    return functools.partial(function, *inputs)


def _nth(
    function: Callable[..., tuple[float, ...]], inputs: tuple[object, ...], n: int
) -> Callable[[], float]:
    return lambda: function(*inputs)[n]


def _window_checks() -> list[Check]:
    found = []
    for elevation, *ends in _VACUUM:
        for end, name in enumerate(("slowest", "fastest")):
            what = f"{name} clean free throw without air at {elevation} deg [m/s]"
            compute = _call(_clean_speed, 0.0, 0.0, elevation, end)
            found.append(Check(what, _CLEAN, "identity", ends[end], 1e-7, compute))
    for speed, *ends in _ANGLES:
        for end, name in enumerate(("lowest", "highest")):
            what = f"{name} clean free throw without air at {speed:.2f} m/s, upper branch [deg]"
            found.append(
                Check(what, _CLEAN, "identity", ends[end], 1e-7, _nth(_clean_elevations, (speed,), end))
            )
    for spin, density, elevation, *ends in _AIR:
        for end, name in enumerate(("slowest", "fastest")):
            what = (
                f"{name} clean free throw in air of {density:.4g} kg/m^3, {spin / math.tau:.0f} rev/s "
                f"backspin, at {elevation} deg [m/s]"
            )
            compute = _call(_clean_speed, spin, density, elevation, end)
            found.append(Check(what, _FLOWN, "computed", ends[end], _AIR_TOLERANCE, compute))
    return found


def _least_checks() -> list[Check]:
    found = []
    for length, height, *expected in _LEAST:
        inputs = (_THROWN, 0.0, 0.0, length, height)
        place = f"without air, {length:g} m away and {height:g} m up"
        for n, (name, tolerance) in enumerate(
            (
                ("elevation of the slowest shot [deg]", 1e-5),
                ("least speed [m/s]", 1e-8),
                ("its entry angle [deg]", 1e-5),
            )
        ):
            found.append(
                Check(
                    f"{name}, {place}", _SLOWEST, "identity", expected[n], tolerance, _nth(_least, inputs, n)
                )
            )
    for ball, spin, length, height, *expected in _LEAST_IN_AIR:
        inputs = (ball, spin, 1.225, length, height)
        place = f"{ball.name} in air, {spin:.3g} rad/s backspin, {length:g} m away and {height:g} m up"
        for n, (name, tolerance) in enumerate(
            (("elevation of the slowest shot [deg]", 1e-4), ("least speed [m/s]", 1e-8))
        ):
            found.append(
                Check(
                    f"{name}, {place}",
                    _SLOWEST_IN_AIR,
                    "computed",
                    expected[n],
                    tolerance,
                    _nth(_least, inputs, n),
                )
            )
    return found


CHECKS: tuple[Check, ...] = (*_window_checks(), *_least_checks())
