"""Fly one ball: quick to start, so nothing is loaded here that one flight does not need."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.quantities import check_positive, parse_quantity
from shotwright.bench.flight_result import FlightResult
from shotwright.flight.crossing import Status, fly_to_floor, fly_to_plane
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Game, Surface, Weather


def _game_of(project: Path) -> Game:
    from shotwright.bench.workbook import read_workbook

    return read_workbook(project).needed_game()


def _floor_of(restitution: str | None, tangential: str | None, friction: str | None) -> Surface | None:
    """Read how a ball bounces off the floor; None when nothing was typed."""
    if restitution is None and tangential is None and friction is None:
        return None
    if restitution is None or friction is None:
        raise BadInput(
            "a floor needs both --restitution and --friction, e.g. 0.7 and 0.5",
            field="friction" if restitution else "restitution",
        )
    return Surface(
        restitution=parse_quantity(restitution, "fraction", "restitution"),
        tangential=_number(tangential, "tangential") if tangential else 0.0,
        friction=_number(friction, "friction"),
    )


def _number(text: str, field: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise BadInput(f"{text!r} is not a number, e.g. 0.5", field=field) from None


def law_of(text: str, field: str) -> CoefficientLaw:
    """Read a coefficient, or the name of a law.

    Parameters
    ----------
    text : str
        As typed.
    field : str
        Name for the message.

    Returns
    -------
    CoefficientLaw
        The law.
    """
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return CoefficientLaw(text.strip(), origin="published")
    if not math.isfinite(value):
        raise BadInput(f"{text!r} is not a coefficient", field=field)
    return CoefficientLaw("constant", value)


def fly(
    *,
    speed: str,
    elevation: str,
    spin: str = "0 rev/s",
    release_height: str = "0 m",
    diameter: str | None = None,
    mass: str | None = None,
    drag: str | None = None,
    lift: str | None = None,
    temperature: str | None = None,
    pressure: str | None = None,
    humidity: str | None = None,
    wind: str = "0 m/s",
    to_distance: str | None = None,
    bounces: int | None = None,
    restitution: str | None = None,
    tangential: str | None = None,
    friction: str | None = None,
    target: str | None = None,
    position: str | None = None,
    project: Path | None = None,
) -> FlightResult:
    """Fly one ball from given launch values.

    Parameters
    ----------
    speed, elevation, spin, release_height : str
        As typed; backspin is positive.
    diameter, mass, drag, lift : str, optional
        The ball; the project's by default. Drag and lift are a number or the name of a law.
    temperature, pressure, humidity : str, optional
        The air.
    wind : str
        Along the flight; a head wind is negative.
    to_distance : str, optional
        Stop at an upright plane this far away; else fly to the floor.
    bounces : int, optional
        Follow the ball through at most so many bounces; with a target the game's by default.
    restitution, tangential, friction : str, optional
        How it bounces off the floor, as typed; the game's floor by default.
    target, position : str, optional
        Fire from this position at this target of the game, with its rim, board and obstacles.
    project : Path, optional
        Whose ball and air to use.

    Returns
    -------
    FlightResult
        Where it ends.
    """
    if to_distance is not None and (bounces is not None or target is not None):
        raise BadInput("a distance goes with neither bounces nor a target; leave it out", field="to_distance")
    floor = _floor_of(restitution, tangential, friction)
    game = _game_of(project) if project is not None else None
    base = game.ball if game else None
    if base is None and (diameter is None or mass is None):
        raise BadInput("say which ball: --diameter 180 mm --mass 140 g, or name a project", field="ball")
    d = parse_quantity(diameter, "length", "diameter") if diameter else base.diameter if base else 0.0
    m = parse_quantity(mass, "mass", "mass") if mass else base.mass if base else 0.0
    ball = Ball(
        name="ball",
        diameter=check_positive(d, "diameter", diameter, "diameter"),
        mass=check_positive(m, "mass", mass, "mass"),
        drag=law_of(drag, "drag") if drag else base.drag if base else CoefficientLaw("constant", 0.5),
        lift=law_of(lift, "lift") if lift else base.lift if base else CoefficientLaw("cross"),
        inertia_factor=base.inertia_factor if base else 0.4,
        spin_decay=base.spin_decay if base else 0.0,
    )
    usual = game.weather if game else Weather()
    along = parse_quantity(wind, "speed", "wind")
    model = flight_model(
        ball,
        Weather(
            temperature=parse_quantity(temperature, "temperature", "temperature")
            if temperature
            else usual.temperature,
            pressure=parse_quantity(pressure, "pressure", "pressure") if pressure else usual.pressure,
            humidity=parse_quantity(humidity, "fraction", "humidity") if humidity else usual.humidity,
            wind=(along, 0.0, 0.0),
        ),
    )
    v = check_positive(parse_quantity(speed, "speed", "speed"), "speed", speed, "speed")
    angle = parse_quantity(elevation, "angle", "elevation")
    if abs(angle) > math.pi / 2:
        raise BadInput(
            f"{elevation} is outside -90 to 90 deg; it is measured up from the floor", field="elevation"
        )
    one = np.ones(1)
    velocity, spins = launch_vectors(
        v * one, angle * one, 0 * one, parse_quantity(spin, "spin", "spin") * one
    )
    height = parse_quantity(release_height, "length", "release_height")
    if height < 0:
        raise BadInput(f"{release_height} is under the floor", field="release_height")
    if bounces is not None or target is not None or position is not None:
        from shotwright.bench.bounced_flight import Throw, fly_with_bounces

        rate = parse_quantity(spin, "spin", "spin")
        throw = Throw(v, angle, rate, height, along, bounces, floor, target, position)
        return fly_with_bounces(model, throw, game)
    start = np.array([0.0, 0.0, height])
    # A ball released below its own radius over the floor is taken to start on it, not in it.
    ground = min(ball.radius, height)
    if to_distance is not None:
        far = check_positive(
            parse_quantity(to_distance, "length", "to_distance"), "to_distance", to_distance, "distance"
        )
        plane = np.array([far, 0.0, 0.0])
        end = fly_to_plane(model, start, velocity, spins, plane, np.array([-1.0, 0.0, 0.0]), floor=ground)
    else:
        end = fly_to_floor(model, start, velocity, spins, floor=ground)
    ended = "at the distance asked for" if end.status[0] == Status.CROSSED else "on the floor"
    x, y, z = (float(q) + 0.0 if abs(q) > 5e-7 else 0.0 for q in end.position[0])
    vx, vy, vz = (float(q) for q in end.velocity[0])
    entry = math.degrees(math.atan2(-vz, math.hypot(vx, vy)))
    words = (
        (
            f"The ball ends {ended}: {x:.3f} m away, {z:.3f} m high, after {float(end.time[0]):.3f} s, "
            f"at {math.sqrt(vx * vx + vy * vy + vz * vz):.2f} m/s, coming down at {entry:.1f}°."
        ),
        f"Its centre rises to {float(end.apex_height[0]):.3f} m.",
    )
    return FlightResult(
        ended=ended,
        distance_m=x,
        cross_m=y,
        height_m=z,
        time_s=float(end.time[0]),
        speed_m_s=math.sqrt(vx * vx + vy * vy + vz * vz),
        entry_angle_deg=entry,
        apex_m=float(end.apex_height[0]),
        apex_time_s=float(end.apex_time[0]),
        air_density_kg_m3=float(model.density),
        drag=ball.drag.name,
        lift=ball.lift.name,
        words=words,
    )
