"""Fly one ball; find what each firing position needs."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import check_positive, parse_quantity
from shotwright.bench.results import FlightResult, WindowsResult
from shotwright.bench.workbook import read_workbook
from shotwright.flight.crossing import Status, fly_to_floor, fly_to_plane
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.shared_settings import settings_in_common
from shotwright.flight.windows import ShotWindow, shot_window
from shotwright.game.records import Ball, CoefficientLaw, Weather


def _law(text: str, field: str) -> CoefficientLaw:
    """Read a coefficient, or the name of a law."""
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
    game = read_workbook(project).needed_game() if project is not None else None
    base = game.ball if game else None
    if base is None and (diameter is None or mass is None):
        raise BadInput("say which ball: --diameter 180 mm --mass 140 g, or name a project", field="ball")
    d = parse_quantity(diameter, "length", "diameter") if diameter else base.diameter if base else 0.0
    m = parse_quantity(mass, "mass", "mass") if mass else base.mass if base else 0.0
    ball = Ball(
        name="ball",
        diameter=check_positive(d, "diameter", diameter, "diameter"),
        mass=check_positive(m, "mass", mass, "mass"),
        drag=_law(drag, "drag") if drag else base.drag if base else CoefficientLaw("constant", 0.5),
        lift=_law(lift, "lift") if lift else base.lift if base else CoefficientLaw("cross"),
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


def windows(
    project: Path,
    *,
    position: str | None = None,
    target: str | None = None,
    prototype: str | None = None,
    spin_parameter: str | None = None,
    release_height: str | None = None,
    slowest: str | None = None,
    fastest: str | None = None,
    defended: bool = False,
    progress: Progress = silent,
) -> WindowsResult:
    """Find which speeds and elevations score from each firing position.

    Parameters
    ----------
    project : Path
        The project file.
    position, target : str, optional
        Only these.
    prototype : str, optional
        Whose release height, spin, speeds and elevations to use; the first of the project by default.
    spin_parameter, release_height, slowest, fastest : str, optional
        As typed; override the prototype's.
    defended : bool
        With the defenders in the way.
    progress : Progress
        Told how far it is.

    Returns
    -------
    WindowsResult
        One window for each position and target.
    """
    book = read_workbook(project)
    game = book.needed_game()
    model = flight_model(game.ball, game.weather)
    chosen = book.some_prototypes((prototype,) if prototype else ())
    launcher = chosen[0] if chosen else None
    if launcher is None and release_height is None:
        raise BadInput("there is no prototype yet; say how high the ball leaves: --release-height '50 cm'")
    height = (
        parse_quantity(release_height, "length", "release_height")
        if release_height is not None
        else launcher.release_height
        if launcher
        else 0.0
    )
    ratio = (
        parse_quantity(spin_parameter, "fraction", "spin_parameter")
        if spin_parameter is not None
        else launcher.spin_parameter
        if launcher
        else 0.0
    )
    low = parse_quantity(slowest, "speed", "slowest") if slowest else launcher.speed_low if launcher else None
    high = (
        parse_quantity(fastest, "speed", "fastest") if fastest else launcher.speed_high if launcher else None
    )
    speeds = (low or 1.0, high or 25.0)
    pairs = book.pairs(position, target)
    found: list[ShotWindow] = []
    for i, (place, opening) in enumerate(pairs):
        progress(i / len(pairs), f"{place.name} to {opening.name}")
        options = {
            "release_height": height,
            "spin_parameter": ratio,
            "speed_range": speeds,
            "defended": defended,
        }
        found.append(shot_window(model, game, place, opening, **options))  # type: ignore[arg-type]
    progress(1.0, "done")
    common = settings_in_common(found) if len(found) > 1 else None
    return WindowsResult(tuple(found), common, common.words if common else ())
