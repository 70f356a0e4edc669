"""What the flight must give: closed forms, reference flights, the free throw and the least speed in air."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator

import numpy as np

from shotwright.flight.crossing import NO_FLOOR, Crossings, fly_to_floor, fly_to_plane
from shotwright.flight.model import FlightModel, flight_model, launch_vectors
from shotwright.flight.opening import edge_clearance
from shotwright.flight.sensitivity import crossing_sensitivities
from shotwright.game.records import Ball, CoefficientLaw, Target, Weather
from shotwright.published.reference_flights import ROWS, SOURCE, fly_row
from shotwright.published.table import Check, Kind

_NONE = CoefficientLaw("none")
_CROSS = CoefficientLaw("cross")
_SPHERE = CoefficientLaw("haider-levenspiel")
_UP = (0.0, 0.0, 1.0)
_RING = Target("ring", (4.191, 0.0, 3.048), 0.0, math.pi / 2, radius=0.2286)
_RELEASE = 2.1336  # m, 7 ft
_BALL_RADIUS = 0.12  # m


def _constant(diameter: float, mass: float, drag: float, lift: CoefficientLaw = _NONE) -> Ball:
    return Ball("ball", diameter, mass, CoefficientLaw("constant", drag), lift)


def _still(
    ball: Ball, density: float = 1.225, *, buoyancy: bool = False, gravity: float = 9.80665
) -> FlightModel:
    return flight_model(
        ball, Weather(), gravity=gravity, density=density, viscosity=1.7894e-5, buoyancy=buoyancy
    )


def _fall_through(
    model: FlightModel, speed: float, elevation: float, rise: float, spin: float = 0.0
) -> Crossings:
    """Fly to the fall through a height `rise` above the release."""
    velocity, axis = launch_vectors(speed, math.radians(elevation), 0.0, spin)
    return fly_to_plane(model, (0.0, 0.0, 0.0), velocity, axis, (0.0, 0.0, rise), _UP, floor=NO_FLOOR)


def _distance(flight: Crossings) -> float:
    return float(flight.position[0, 0])


def _time(flight: Crossings) -> float:
    return float(flight.time[0])


def _entry(flight: Crossings) -> float:
    """Angle below the horizontal. [deg]."""
    x, _, z = flight.velocity[0]
    return math.degrees(math.atan2(-z, x))


_VACUUM = _still(_constant(0.24, 0.6, 0.5), 0.0)

# ---------------------------------------------------------------- no air

_PARABOLA = "closed form: flight without air; minimum speed as in Brancazio, Am. J. Phys. 49, 356 (1981)"


def _vacuum() -> Iterator[Check]:
    for length, rise, angle, speed, entry in (
        (4.191, 0.9144, 51.154007908714, 7.143790187582, 38.845992091286),
        (5.0, 1.5, 53.349622116997, 8.118016439550, 36.650377883003),
        (10.0, 1.0, 47.855296568750, 10.409719629263, 42.144703431250),
        (3.0, 2.0, 61.845033762990, 7.4142888678233, 28.154966237010),
        (8.0, -0.5, 43.211832812501, 8.5850424902965, 46.788167187499),
        (15.0, 1.8, 48.421386706315, 12.876608737638, 41.578613293685),
    ):
        flight = functools.partial(_fall_through, _VACUUM, speed, angle, rise)
        yield _of(
            f"minimum-speed shot {length:g} m out, {rise:g} m up: distance [m]",
            _PARABOLA,
            length,
            1e-9,
            flight,
            _distance,
        )
        yield _of(
            f"minimum-speed shot {length:g} m out, {rise:g} m up: entry angle [deg]",
            _PARABOLA,
            entry,
            1e-8,
            flight,
            _entry,
        )
    for _, rise, speed, angle, time in (
        (4.191, 0.9144, 8.0, 34.755210831868, 0.63763160571005),
        (4.191, 0.9144, 8.0, 67.55280498556, 1.3720046246885),
        (15.0, 1.8, 14.0, 33.323286209386, 1.2822509393702),
        (15.0, 1.8, 14.0, 63.519487203245, 2.4028805027339),
    ):
        flight = functools.partial(_fall_through, _VACUUM, speed, angle, rise)
        yield _of(
            f"{speed:g} m/s at {angle:.3f} deg without air: flight time [s]",
            _PARABOLA,
            time,
            1e-9,
            flight,
            _time,
        )
    for what, upright, column, value in (
        ("height at 4.191 m by speed [s]", True, 0, 1.24544596723),
        ("height at 4.191 m by elevation [m/rad]", True, 1, -0.334150931457),
        ("distance at 0.9144 m by speed [s]", False, 0, 1.47638508044),
        ("distance at 0.9144 m by elevation [m/deg]", False, 1, -0.00691344959372),
    ):
        yield Check(
            f"7.1458 m/s at 52 deg without air: {what}",
            "closed form: derivative of the flight without air",
            "identity",
            value,
            1e-8,
            functools.partial(_derivative, upright, column),
        )


def _derivative(upright: bool, column: int) -> float:
    normal = (-1.0, 0.0, 0.0) if upright else _UP
    found = crossing_sensitivities(
        _VACUUM, (0, 0, 0), 7.1457702664119, math.radians(52), 0.0, 0.0, (4.191, 0, 0.9144), normal
    )
    # on a level plane w points back to the launcher
    value = float(found.jacobian[0, 1, column]) * (1.0 if upright else -1.0)
    return value * math.radians(1.0) if column == 1 and not upright else value


def _of(
    what: str,
    source: str,
    expected: float,
    tolerance: float,
    flight: Callable[[], Crossings],
    read: Callable[[Crossings], float],
) -> Check:
    return Check(what, source, _kind(source), expected, tolerance, lambda: read(flight()))


def _kind(source: str) -> Kind:
    return "computed" if source.startswith("computed by") else "identity"


# ---------------------------------------------------------------- quadratic drag, exact cases

_VERTICAL = "closed form: vertical flight with quadratic drag"
_CIRCLE = "closed form: constant drag and lift without gravity, a circle"


def _exact_drag() -> Iterator[Check]:
    for name, ball, speed, height, back in (
        ("foam ball", _constant(0.178, 0.140, 0.47), 10.0, 4.1028745452894, 8.1063333467829),
        ("foam ball", _constant(0.178, 0.140, 0.47), 20.0, 11.014852365588, 11.382928774872),
        ("tennis ball", _constant(0.067, 0.0577, 0.55), 10.0, 4.6282615534265, 9.0912859664381),
        ("table tennis ball", _constant(0.040, 0.0027, 0.40), 10.0, 3.3824400393412, 6.7997892482713),
        ("basketball", _constant(0.240, 0.600, 0.50), 10.0, 4.5785327113862, 8.9967512525048),
    ):
        flight = functools.partial(
            fly_to_floor, _still(ball), (0.0, 0.0, 0.0), (0.0, 0.0, speed), (0.0, 0.0, 0.0), floor=0.0
        )
        yield _of(
            f"{name} straight up at {speed:g} m/s: height [m]",
            _VERTICAL,
            height,
            1e-8,
            flight,
            lambda c: float(c.apex_height[0]),
        )
        yield _of(
            f"{name} straight up at {speed:g} m/s: speed on return [m/s]",
            _VERTICAL,
            back,
            1e-7,
            flight,
            lambda c: -float(c.velocity[0, 2]),
        )
    ball = _constant(0.178, 0.140, 0.47, CoefficientLaw("constant", 0.20))
    for time, x, y in (
        (0.25, 2.7891695127146, 0.084773237426701),
        (1.0, 9.2913442162373, 0.94968301536181),
    ):
        flight = functools.partial(
            fly_to_floor,
            _still(ball, gravity=0.0),
            (0.0, 0.0, 0.0),
            (12.0, 0.0, 0.0),
            (0.0, 0.0, 1.0),
            floor=NO_FLOOR,
            time_limit=time,
        )
        yield _of(
            f"drag and lift without gravity after {time:g} s: x [m]", _CIRCLE, x, 1e-7, flight, _distance
        )
        yield _of(
            f"drag and lift without gravity after {time:g} s: y [m]",
            _CIRCLE,
            y,
            1e-7,
            flight,
            lambda c: float(c.position[0, 1]),
        )


# ---------------------------------------------------------------- reference flights

_FLUIDS = (
    "computed by fluids 1.3.1 (v_terminal, integrate_drag_sphere) and by a second method, agreeing to 1e-10"
)


def _reference() -> Iterator[Check]:
    for row in ROWS:
        if row.at == "fall":
            yield _of(
                f"reference flight {row.flight}: x at the fall through {row.place[2]:g} m [m]",
                SOURCE,
                row.place[0],
                1e-6,
                functools.partial(fly_row, row),
                _distance,
            )
    apex = next(row for row in ROWS if row.at == "apex" and row.flight == "D2")
    yield _of(
        "reference flight D2: apex [m]",
        SOURCE,
        apex.place[2],
        1e-6,
        functools.partial(fly_row, apex),
        lambda c: float(c.apex_height[0]),
    )
    across = next(row for row in ROWS if row.at == "fall" and row.flight == "D11")
    yield _of(
        "reference flight D11: y at the fall through 2 m [m]",
        SOURCE,
        across.place[1],
        1e-6,
        functools.partial(fly_row, across),
        lambda c: float(c.position[0, 1]),
    )
    for name, diameter, mass, terminal, speed, fallen in (
        ("foam ball", 0.178, 0.140, 13.6674577987, 8.24979314, 4.43279115),
        ("table tennis ball", 0.040, 0.0027, 8.6492249864, 7.03044939, 4.09811147),
    ):
        model = _still(Ball(name, diameter, mass, _SPHERE, _NONE), buoyancy=True)
        drop = functools.partial(fly_to_floor, model, (0, 0, 0), (0, 0, 0), (0, 0, 0), floor=NO_FLOOR)
        yield _of(
            f"{name}, haider-levenspiel: terminal speed [m/s]",
            _FLUIDS,
            terminal,
            1e-7,
            functools.partial(drop, time_limit=60.0),
            lambda c: -float(c.velocity[0, 2]),
        )
        yield _of(
            f"{name}, haider-levenspiel: speed 1 s after release [m/s]",
            _FLUIDS,
            speed,
            1e-6,
            functools.partial(drop, time_limit=1.0),
            lambda c: -float(c.velocity[0, 2]),
        )
        yield _of(
            f"{name}, haider-levenspiel: fall in 1 s [m]",
            _FLUIDS,
            fallen,
            1e-6,
            functools.partial(drop, time_limit=1.0),
            lambda c: -float(c.position[0, 2]),
        )


# ---------------------------------------------------------------- free throw

_SWISH = (
    "closed form: closest point of a parabola to the ring in the plane of the flight, by the roots of a "
    "cubic and by bounded minimisation"
)
_SWISH_AIR = "computed by scipy's DOP853 with root finding on the distance from the ring"
_EDGE_TOLERANCE = 1e-7  # m/s


def _free_throw_model(density: float, lift: CoefficientLaw) -> FlightModel:
    return _still(_constant(0.24, 0.6, 0.5 if density else 0.0, lift), density)


def _swish_edge(
    density: float, lift: CoefficientLaw, angle: float, spin: float, low: float, high: float
) -> float:
    """Speed between `low` and `high` at which the ball just touches the ring, by 12-fold sections."""
    model = _free_throw_model(density, lift)
    for _ in range(9):
        speeds = np.linspace(low, high, 14)
        velocity, axis = launch_vectors(speeds, math.radians(angle), 0.0, spin)
        flights = fly_to_plane(model, (0, 0, _RELEASE), velocity, axis, _RING.centre, _UP, snap=True)
        clear = edge_clearance(_RING, flights, _BALL_RADIUS) >= 0
        change = int(np.argmax(clear != clear[0]))
        low, high = float(speeds[change - 1]), float(speeds[change])
    return 0.5 * (low + high)


def _free_throw() -> Iterator[Check]:
    windows: tuple[tuple[str, float, CoefficientLaw, float, float, float, float, float, str], ...] = (
        ("without air", 0.0, _NONE, 0.0, 48.0, 7.171434318, 7.16761422, 7.18465747, _SWISH),
        ("without air", 0.0, _NONE, 0.0, 52.0, 7.145770266, 7.12003283, 7.17705793, _SWISH),
        ("without air", 0.0, _NONE, 0.0, 60.0, 7.368685477, 7.31154739, 7.42730070, _SWISH),
        ("no spin", 1.225, _NONE, 0.0, 52.0, 7.4596416423, 7.42215463, 7.50268800, _SWISH_AIR),
        (
            "3 turns a second",
            1.225,
            _CROSS,
            6 * math.pi,
            48.0,
            7.3892967996,
            7.37099684,
            7.41585505,
            _SWISH_AIR,
        ),
        (
            "3 turns a second",
            1.225,
            _CROSS,
            6 * math.pi,
            52.0,
            7.4093200613,
            7.36928897,
            7.45421214,
            _SWISH_AIR,
        ),
        (
            "3 turns a second",
            1.225,
            _CROSS,
            6 * math.pi,
            56.0,
            7.5298231694,
            7.47184865,
            7.59051133,
            _SWISH_AIR,
        ),
        (
            "3 turns a second, 1609 m high",
            1.046619077,
            _CROSS,
            6 * math.pi,
            52.0,
            7.3680251984,
            7.33021951,
            7.41078137,
            _SWISH_AIR,
        ),
    )
    for how, density, lift, spin, angle, centre, low, high, source in windows:
        edge = functools.partial(_swish_edge, density, lift, angle, spin)
        what = f"free throw at {angle:g} deg, {how}"
        yield Check(
            f"{what}: slowest clean speed [m/s]",
            source,
            _kind(source),
            low,
            _EDGE_TOLERANCE,
            functools.partial(edge, centre - 0.15, centre),
        )
        yield Check(
            f"{what}: fastest clean speed [m/s]",
            source,
            _kind(source),
            high,
            _EDGE_TOLERANCE,
            functools.partial(edge, centre, centre + 0.15),
        )
        flight = functools.partial(
            _fall_through, _free_throw_model(density, lift), centre, angle, 3.048 - _RELEASE, spin
        )
        yield _of(f"{what}: distance of the ring's centre [m]", source, 4.191, 1e-8, flight, _distance)
    yield Check(
        "free throw at 52 deg, 3 turns a second, aimed 58 mm long: top of the ball at the apex [m]",
        "from memory: board top at 13 ft; Tran, Silverberg, J. Sports Sci. 26, 1147 (2008), as quoted in the "
        "press: less than 2 in below it. Middle of that band; air, drag and lift are assumed",
        "memory",
        3.937,
        0.085,
        _apex_of_long_shot,
    )


def _apex_of_long_shot() -> float:
    model = _free_throw_model(1.225, _CROSS)
    speeds = np.linspace(7.40, 7.50, 101)
    velocity, axis = launch_vectors(speeds, math.radians(52), 0.0, 6 * math.pi)
    flights = fly_to_plane(model, (0, 0, _RELEASE), velocity, axis, _RING.centre, _UP)
    apex = np.interp(4.191 + 0.058, flights.position[:, 0], flights.apex_height)
    return float(apex) + _BALL_RADIUS


# ---------------------------------------------------------------- least speed in air

_LEAST = "computed by bounded minimisation over scipy's DOP853"


def _least_speed() -> Iterator[Check]:
    foam, spinning = _constant(0.178, 0.140, 0.47), _constant(0.178, 0.140, 0.47, _CROSS)
    for what, ball, spin, length, rise, angle, speed in (
        ("foam ball, no spin", foam, 0.0, 5.0, 1.5, 51.4079, 9.15588989),
        ("foam ball, 50 rad/s", spinning, 50.0, 5.0, 1.5, 46.9600, 8.91007128),
        ("foam ball, no spin", foam, 0.0, 10.0, 1.0, 44.2180, 13.10067140),
        ("tennis ball", _constant(0.067, 0.0577, 0.55), 0.0, 10.0, 1.0, 46.4625, 11.35832874),
    ):
        flight = functools.partial(_fall_through, _still(ball), speed, angle, rise, spin)
        yield _of(
            f"{what}: minimum-speed shot {length:g} m out, {rise:g} m up in air, distance [m]",
            _LEAST,
            length,
            1e-7,
            flight,
            _distance,
        )
    for angle, time in ((35.7569391596, 0.7894276587), (57.7308128943, 1.3653747589)):
        flight = functools.partial(_fall_through, _still(spinning), 9.5, angle, 1.5, 50.0)
        yield _of(
            f"foam ball, 50 rad/s, 9.5 m/s at {angle:.3f} deg in air: flight time to 5 m [s]",
            "computed by root finding over scipy's DOP853",
            time,
            1e-8,
            flight,
            _time,
        )


CHECKS: tuple[Check, ...] = (
    *_vacuum(),
    *_exact_drag(),
    *_reference(),
    *_free_throw(),
    *_least_speed(),
)
