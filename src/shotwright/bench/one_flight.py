"""Fly one ball: quick to start, so nothing is loaded here that one flight does not need."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.quantities import check_positive, parse_quantity
from shotwright.flight.crossing import Status, fly_to_floor, fly_to_plane
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Game, Weather


@dataclass(frozen=True, slots=True)
class FlightResult(Result):
    """One flight.

    Parameters
    ----------
    ended : str
        ``"at the distance asked for"`` or ``"on the floor"``.
    distance_m, cross_m, height_m : float
        Ball's centre at the end, from the floor under the release point.
    time_s, speed_m_s, entry_angle_deg : float
        At the end; the angle is below the horizontal.
    apex_m, apex_time_s : float
        Greatest height of the ball's centre, and when.
    air_density_kg_m3 : float
        Of the air flown through.
    drag, lift : str
        Laws used.
    words : tuple of str
        The same in plain sentences.
    """

    ended: str
    distance_m: float
    cross_m: float
    height_m: float
    time_s: float
    speed_m_s: float
    entry_angle_deg: float
    apex_m: float
    apex_time_s: float
    air_density_kg_m3: float
    drag: str
    lift: str
    words: tuple[str, ...]


def _game_of(project: Path) -> Game:
    from shotwright.bench.workbook import read_workbook

    return read_workbook(project).needed_game()


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
    project : Path, optional
        Whose ball and air to use.

    Returns
    -------
    FlightResult
        Where it ends.
    """
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
