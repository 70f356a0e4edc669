"""Shots from a moving robot against closed forms without air, and an independent computation with it."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np

from shotwright.flight.chance import Scatter, Surroundings
from shotwright.flight.model import FlightModel, flight_model
from shotwright.flight.moving import Motion, MovingAim
from shotwright.flight.moving_aims import aims_at_elevation, aims_at_speed
from shotwright.flight.moving_chance import MotionErrors, moving_shot
from shotwright.flight.moving_family import shot_family
from shotwright.game.records import Ball, CoefficientLaw, Target, Weather
from shotwright.published.table import Check, Kind

_BALL = Ball("foam ball", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))
_START = np.array([0.0, 0.0, 0.6])
_POINT = (4.0, 0.0, 2.0)
_RING = Target("ring", _POINT, math.pi, math.pi / 2, radius=0.4)
_AT_ELEVATION = (
    "closed form: u = (D/T - V, h/T + g T/2); at a fixed elevation a quartic in 1/T (along the line to the "
    "target a quadratic in T), D = 4 m, h = 1.4 m, g = 9.80665 m/s^2"
)
_AT_SPEED = "closed form: |(D/T - V, h/T + g T/2)| = u, a quartic in T; D = 4 m, h = 1.4 m, g = 9.80665 m/s^2"
_GALILEO = (
    "computed by scipy's fsolve over its DOP853 in the robot's frame: standing launcher, wind -V, target "
    "moving at -V; C_D = 0.47, C_L = S/(2.32 S + 0.4) after Cross, 1.2 kg/m^3"
)
_SLOT = (
    "closed form: P = 1 - 2 Q(half width/sd), sd^2 = place^2 + (V x time error)^2 + (velocity error x T)^2; "
    "upright slot, half width less the ball's radius"
)
# robot velocity (x, y) [m/s], speed [m/s], azimuth [deg] at 60 deg
_BY_ELEVATION = (
    ((0.0, 0.0), 7.534307249008, 0.0),
    ((2.0, 0.0), 6.446789411162, 0.0),
    ((-2.0, 0.0), 9.433802050399, 0.0),
    ((0.0, 2.0), 7.966595146149, -30.138804352793),
    ((1.5, -1.0), 6.714940662016, 17.328111905948),
)
# robot velocity (x, y) [m/s], number of the answer, elevation [deg], azimuth [deg] at 8.5 m/s
_BY_SPEED = (
    ((2.0, 0.0), 0, 38.530192270413, 0.0),
    ((2.0, 0.0), 1, 86.020597266327, 0.0),
    ((0.0, 2.0), 0, 38.701044133645, -17.547548354868),
    ((0.0, 2.0), 1, 65.351374710667, -34.345627900452),
    ((-1.0, 0.0), 1, 61.385237680074, 0.0),
)
# robot velocity (x, y) [m/s], speed [m/s], azimuth [deg] at 60 deg, in air
_IN_AIR = (
    ((1.0, 1.5), 7.841716520539, -24.409145300065),
    ((-1.5, 0.5), 10.526072641891, -6.127195165501),
)
# half width [m], error of the velocity [m/s], chance
_SLOTS = (
    (0.5, 0.2, 0.9065444254538836),
    (0.2, 0.0, 0.8447440977043545),
)


@functools.cache
def _model(density: float) -> FlightModel:
    return flight_model(_BALL, Weather(), density=density, buoyancy=False)


@functools.cache
def _at_elevation(density: float, velocity: tuple[float, float]) -> MovingAim:
    family = shot_family(_model(density), _RING, _START, Motion(velocity), 0.2)
    return aims_at_elevation(family, math.radians(60))[0]


@functools.cache
def _at_speed(velocity: tuple[float, float]) -> tuple[MovingAim, ...]:
    return aims_at_speed(shot_family(_model(0.0), _RING, _START, Motion(velocity), 0.2), 8.5)


def _chance(half: float, error: float) -> float:
    slot = Target("slot", _POINT, math.pi, 0.0, corners=((-half, -9), (half, -9), (half, 9), (-half, 9)))
    shot = moving_shot(_model(0.0), slot, _at_elevation(0.0, (0.0, 2.0)))
    errors = MotionErrors(velocity=error, release_time=0.03)
    return float(shot.chance(Scatter(0.0, 0.0, 0.0), Surroundings(place_sd=0.05), errors)[0])


def _said(velocity: tuple[float, float]) -> str:
    return f"robot at ({velocity[0]:g}, {velocity[1]:g}) m/s, target 4 m ahead and 1.4 m up"


def _check(
    what: str, source: str, kind: Kind, expected: float, tolerance: float, compute: Callable[[], float]
) -> Check:
    return Check(what=what, source=source, kind=kind, expected=expected, tolerance=tolerance, compute=compute)


def _settings(
    rows: tuple[tuple[tuple[float, float], float, float], ...], density: float, source: str, kind: Kind
) -> list[Check]:
    where, tolerance = ("no air", 1e-9) if density == 0.0 else ("in air", 1e-6)
    checks = []
    for velocity, speed, azimuth in rows:
        what = f"{_said(velocity)}, {where}, elevation 60 deg"
        at = functools.partial(_at_elevation, density, velocity)
        checks += [
            _check(
                f"launch speed, {what} [m/s]", source, kind, speed, tolerance, functools.partial(_speed, at)
            ),
            _check(
                f"azimuth, {what} [deg]",
                source,
                kind,
                azimuth,
                60 * tolerance,
                functools.partial(_angle, at, "azimuth"),
            ),
        ]
    return checks


def _answers() -> list[Check]:
    checks = []
    for velocity, number, elevation, azimuth in _BY_SPEED:
        what = f"{_said(velocity)}, no air, 8.5 m/s, {('flat', 'steep')[number]} answer"
        at = functools.partial(_answer, velocity, number)
        checks += [
            _check(
                f"{name}, {what} [deg]",
                _AT_SPEED,
                "identity",
                value,
                1e-7,
                functools.partial(_angle, at, name),
            )
            for name, value in (("elevation", elevation), ("azimuth", azimuth))
        ]
    return checks


def _answer(velocity: tuple[float, float], number: int) -> MovingAim:
    return _at_speed(velocity)[number]


def _speed(at: Callable[[], MovingAim]) -> float:
    return at().aim.speed


def _angle(at: Callable[[], MovingAim], name: str) -> float:
    return math.degrees(getattr(at().aim, name))


CHECKS: tuple[Check, ...] = (
    *_settings(_BY_ELEVATION, 0.0, _AT_ELEVATION, "identity"),
    *_answers(),
    *_settings(_IN_AIR, 1.2, _GALILEO, "computed"),
    *(
        _check(
            f"chance through a {2 * half:g} m slot from a robot at 2 m/s across; not known: place 0.05 m, "
            f"release time 0.03 s, velocity {error:g} m/s",
            _SLOT,
            "identity",
            chance,
            1e-6,
            functools.partial(_chance, half, error),
        )
        for half, error, chance in _SLOTS
    ),
)
