"""One flight with its bounces: off the floor, or at a target with rim, board and obstacles."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.bench.flight_result import BounceRow, FlightResult
from shotwright.flight.crossing import NO_FLOOR, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.rebound import Bounce, Ending, Rebound, follow_one
from shotwright.game.records import FiringPosition, Game, Surface, Target

FloatArray = NDArray[np.float64]


class Throw(NamedTuple):
    """What a person typed of one launch, in SI.

    Parameters
    ----------
    speed, elevation, spin, height, wind : float
        [m/s], [rad], [rad/s], [m], [m/s] along the flight
    bounces : int, optional
        Most bounces; None: what the game allows.
    floor : Surface, optional
        None: the game's.
    target, position : str, optional
        Names; without a target only the floor is met.
    """

    speed: float
    elevation: float
    spin: float
    height: float
    wind: float
    bounces: int | None
    floor: Surface | None
    target: str | None
    position: str | None


class _Frame(NamedTuple):
    """The frame of the throw: from the floor under the release point, along the aim line, left, up."""

    origin: FloatArray
    azimuth: float

    def place(self, x: FloatArray) -> tuple[float, float, float]:
        along, left = self.level(x - self.origin)
        return _tidy(along), _tidy(left), _tidy(float(x[2]))

    def level(self, v: FloatArray) -> tuple[float, float]:
        sin, cos = math.sin(self.azimuth), math.cos(self.azimuth)
        return float(v[0] * cos + v[1] * sin), float(v[1] * cos - v[0] * sin)

    def backspin(self, w: FloatArray) -> float:
        return float(w[0] * math.sin(self.azimuth) - w[1] * math.cos(self.azimuth)) / math.tau


def fly_with_bounces(model: FlightModel, throw: Throw, game: Game | None) -> FlightResult:
    """Follow one ball through its bounces.

    Parameters
    ----------
    model : FlightModel
        Ball and air; its wind is replaced by the throw's.
    throw : Throw
        The launch.
    game : Game, optional
        Its floor, obstacles and targets.

    Returns
    -------
    FlightResult
        The end, and each bounce.

    Raises
    ------
    BadInput
        No floor to bounce off, no such target or position.
    """
    target, spot = _aimed(throw, game)
    bounces = throw.bounces if throw.bounces is not None else game.bounces if game else 0
    floor = throw.floor or (game.floor if game else None)
    if floor is None and target is None:
        raise BadInput(
            "say how the ball bounces off the floor: --restitution 0.7 --friction 0.5, or give the game's "
            "[field] a floor",
            field="restitution",
        )
    origin = np.array([spot.x, spot.y, 0.0]) if spot else np.zeros(3)
    ahead = np.asarray(target.centre) - origin if target else np.array([1.0, 0.0, 0.0])
    frame = _Frame(origin, math.atan2(ahead[1], ahead[0]))
    wind = (throw.wind * math.cos(frame.azimuth), throw.wind * math.sin(frame.azimuth), 0.0)
    model = replace(model, weather=replace(model.weather, wind=wind))
    velocity, spin = launch_vectors(throw.speed, throw.elevation, frame.azimuth, throw.spin)
    start = origin + np.array([0.0, 0.0, throw.height])
    found = follow_one(
        model,
        target,
        start,
        velocity,
        spin,
        bounces=bounces,
        obstacles=game.obstacles if game and target else (),
        floor=floor,
        floor_height=min(0.0, throw.height - model.radius),
    )
    return _result(model, frame, found, target, (start, velocity[0], spin[0]))


def _aimed(throw: Throw, game: Game | None) -> tuple[Target | None, FiringPosition | None]:
    if throw.target is None:
        if throw.position is not None:
            raise BadInput("a position goes with a target: --target NAME", field="position")
        return None, None
    if game is None:
        raise BadInput("a target is one of a project's game: --project FILE", field="target")
    targets = {one.name.casefold(): one for one in game.targets}
    target = targets.get(throw.target.casefold())
    if target is None:
        known = ", ".join(one.name for one in game.targets)
        raise BadInput(f"there is no target {throw.target!r}; there is: {known}", field="target")
    spots = [p for p, t in game.shots_wanted() if t.name == target.name]
    if throw.position is None:
        if not spots:
            raise BadInput(f"no position fires at {target.name}; name one: --position NAME", field="position")
        return target, spots[0]
    for spot in game.positions:
        if spot.name.casefold() == throw.position.casefold():
            return target, spot
    known = ", ".join(one.name for one in game.positions)
    raise BadInput(f"there is no position {throw.position!r}; there is: {known}", field="position")


def _result(
    model: FlightModel,
    frame: _Frame,
    found: Rebound,
    target: Target | None,
    start: tuple[FloatArray, FloatArray, FloatArray],
) -> FlightResult:
    x, y, z = frame.place(found.position)
    speed = float(np.linalg.norm(found.velocity))
    below = math.degrees(math.atan2(-found.velocity[2], math.hypot(*found.velocity[:2])))
    apex, at = _apex(model, found, start)
    rows = tuple(_row(frame, bounce) for bounce in found.bounces)
    ended = _ended(found, target)
    return FlightResult(
        ended=ended,
        distance_m=x,
        cross_m=y,
        height_m=z,
        time_s=found.time,
        speed_m_s=speed,
        entry_angle_deg=below,
        apex_m=apex,
        apex_time_s=at,
        air_density_kg_m3=float(model.density),
        drag=model.ball.drag.name,
        lift=model.ball.lift.name,
        words=_words(rows, ended, (x, z), found.time, speed, apex),
        bounces=rows,
    )


def _row(frame: _Frame, bounce: Bounce) -> BounceRow:
    x, y, z = frame.place(bounce.position)
    after = bounce.velocity_after
    return BounceRow(
        off=bounce.off,
        time_s=bounce.time,
        distance_m=x,
        cross_m=y,
        height_m=z,
        speed_before_m_s=float(np.linalg.norm(bounce.velocity_before)),
        speed_after_m_s=float(np.linalg.norm(after)),
        elevation_after_deg=math.degrees(math.atan2(after[2], math.hypot(after[0], after[1]))),
        backspin_before_rev_s=frame.backspin(bounce.spin_before),
        backspin_after_rev_s=frame.backspin(bounce.spin_after),
        slid=bounce.slid,
    )


def _apex(
    model: FlightModel, found: Rebound, start: tuple[FloatArray, FloatArray, FloatArray]
) -> tuple[float, float]:
    """Greatest height of the ball's centre over all arcs, and when."""
    best, when, began = float(start[0][2]), 0.0, 0.0
    arcs = [start, *((b.position, b.velocity_after, b.spin_after) for b in found.bounces)]
    ends = [*(b.time for b in found.bounces), found.time]
    for (place, velocity, spin), end in zip(arcs, ends, strict=True):
        arc = fly_to_plane(
            model, place, velocity, spin, (0, 0, -1e9), (0, 0, 1), floor=NO_FLOOR, time_limit=end - began
        )
        if arc.apex_height[0] > best:
            best, when = float(arc.apex_height[0]), began + float(arc.apex_time[0])
        began = end
    return best, when


def _ended(found: Rebound, target: Target | None) -> str:
    name = target.name if target else ""
    on = "on" if found.touched == "the floor" else "at"
    return {
        Ending.SCORED: f"in {name}",
        Ending.MISSED: f"past {name}",
        Ending.STOPPED: f"{on} {found.touched}",
        Ending.NO_BOUNCES_LEFT: f"{on} {found.touched}, no bounce left",
        Ending.STAYS: f"{on} {found.touched}, where it stays",
        Ending.TIMED_OUT: "in the air",
    }[found.ending]


def _words(
    rows: tuple[BounceRow, ...],
    ended: str,
    place: tuple[float, float],
    time: float,
    speed: float,
    apex: float,
) -> tuple[str, ...]:
    said = "The ball does not bounce." if not rows else f"The ball bounces off {_listed(rows)}."
    where = f"{place[0]:.3f} m away, {place[1]:.3f} m high"
    return (
        said,
        f"It ends {ended}: {where}, after {time:.3f} s, at {speed:.2f} m/s.",
        f"Its centre rises to {apex:.3f} m.",
    )


def _listed(rows: tuple[BounceRow, ...]) -> str:
    names = [row.off for row in rows]
    if len(set(names)) == 1:
        times = {1: "once", 2: "twice"}.get(len(names), f"{len(names)} times")
        return f"{names[0]} {times}"
    return ", then ".join(names)


def _tidy(value: float) -> float:
    return value + 0.0 if abs(value) > 5e-7 else 0.0
