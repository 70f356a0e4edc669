"""The best setting of a prototype for one firing position: aim is part of the decision."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import Aim, LinearShot, Scatter, Surroundings, flown_hits, linear_shots
from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.game.records import Ball, FiringPosition, Obstacle, Target
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]

_ELEVATIONS = 13
_OFFSETS = np.linspace(-0.6, 0.6, 5)  # in units of half the opening's depth
_REFINED = 5
_FLOWN_BALLS = 600


@dataclass(frozen=True, slots=True)
class Candidate:
    """One aim with its mean chance over the posterior."""

    shot: LinearShot
    beyond: float
    chance: float


def release_point(prototype: Prototype, position: FiringPosition) -> FloatArray:
    """Return where the ball's centre leaves the launcher, shape (3,). [m]."""
    return np.array([position.x, position.y, prototype.release_height])


def best_setting(
    model: FlightModel,
    ball: Ball,
    prototype: Prototype,
    position: FiringPosition,
    target: Target,
    scatter: Scatter,
    around: Surroundings,
    obstacles: Sequence[Obstacle],
    normals: FloatArray,
) -> Candidate:
    """Search the elevation and the aim that give the largest mean hit probability.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        The ball.
    prototype : Prototype
        Its speeds and elevations bound the search.
    position : FiringPosition
        Where from.
    target : Target
        The opening.
    scatter : Scatter
        A few hundred posterior draws at most; the search averages over them.
    around : Surroundings
        Placement and balls.
    obstacles : sequence of Obstacle
        What stands in the way; a blocked aim is no candidate.
    normals : ndarray, shape (n, 8)
        Standard normal draws that are flown to settle between the best candidates near an obstacle. [-]

    Returns
    -------
    Candidate
        The best.

    Raises
    ------
    NoAnswer
        No aim reaches the opening within the prototype's settings, or every one is blocked or does not fit.
    """
    point = release_point(prototype, position)
    depth = _half_depth(target)
    span = (prototype.elevation_low, prototype.elevation_high)
    fixed = span[1] - span[0] < 1e-9
    elevations = np.array([span[0]]) if fixed else np.linspace(*span, _ELEVATIONS)
    first = _candidates(
        model, prototype, target, point, elevations, depth * _OFFSETS, scatter, around, obstacles
    )
    top = max(first, key=lambda c: c.chance)
    step_elevation = 0.0 if fixed else (span[1] - span[0]) / (_ELEVATIONS - 1)
    around_top = np.array([top.shot.aim.elevation])
    if not fixed:
        around_top = np.clip(
            np.linspace(-1, 1, _REFINED) * step_elevation + top.shot.aim.elevation, span[0], span[1]
        )
    step_offset = depth * (_OFFSETS[1] - _OFFSETS[0])
    offsets = top.beyond + np.linspace(-1, 1, _REFINED) * step_offset
    refined = _candidates(
        model, prototype, target, point, np.unique(around_top), offsets, scatter, around, obstacles
    )
    both = sorted([*first, *refined], key=lambda c: -c.chance)
    if not obstacles:
        return both[0]
    return _settle_by_flying(model, ball, target, both, scatter, around, obstacles, normals)


def _half_depth(target: Target) -> float:
    """Half the extent of the opening along its w axis. [m]."""
    if target.radius is not None:
        return target.radius
    return (max(w for _, w in target.corners) - min(w for _, w in target.corners)) / 2


def _candidates(
    model: FlightModel,
    prototype: Prototype,
    target: Target,
    point: FloatArray,
    elevations: FloatArray,
    offsets: FloatArray,
    scatter: Scatter,
    around: Surroundings,
    obstacles: Sequence[Obstacle],
) -> list[Candidate]:
    """Every aim of a grid that reaches the opening, fits through it and is not blocked."""
    grid_elevation = np.repeat(elevations, len(offsets))
    grid_offset = np.tile(offsets, len(elevations))
    aims = aims_through(model, target, point, grid_elevation, prototype.spin_parameter, long_by=grid_offset)
    reached = [(a, o) for a, o in zip(aims, grid_offset, strict=True) if a is not None]
    if not reached:
        raise NoAnswer("no speed carries the ball to the opening at the elevations that it can be set to")
    allowed = [(a, o) for a, o in reached if _within(a.speed, prototype)]
    if not allowed:
        need = [a.speed for a, _ in reached]
        has = [prototype.speed_low or 0.0, prototype.speed_high or math.inf]
        raise NoAnswer(
            f"out of reach: it needs {min(need):.1f} to {max(need):.1f} m/s, the prototype gives "
            f"{has[0]:.1f} to {has[1]:.1f} m/s"
        )
    clear = _clear(model, target, [a for a, _ in allowed], obstacles)
    free = [pair for pair, ok in zip(allowed, clear, strict=True) if ok]
    if not free:
        raise NoAnswer("blocked: every path that reaches the opening hits an obstacle first")
    shots = linear_shots(model, target, [a for a, _ in free])
    found = [
        Candidate(shot, float(offset), float(np.mean(shot.chance(scatter, around))))
        for shot, (_, offset) in zip(shots, free, strict=True)
        if shot is not None and len(shot.region)
    ]
    if not found:
        raise NoAnswer("the ball does not fit through the opening at any angle that reaches it")
    return found


def _within(speed: float, prototype: Prototype) -> bool:
    low, high = prototype.speed_low, prototype.speed_high
    return (low is None or speed >= low) and (high is None or speed <= high)


def _clear(
    model: FlightModel, target: Target, aims: Sequence[Aim], obstacles: Sequence[Obstacle]
) -> NDArray[np.bool_]:
    """Whether each aim's own path gets past all obstacles."""
    if not obstacles:
        return np.ones(len(aims), dtype=bool)
    values = np.array([(a.speed, a.elevation, a.azimuth, a.spin(model.radius)) for a in aims]).T
    velocity, spin = launch_vectors(*values)
    _, _, normal = target.axes()
    flown = fly_to_plane(
        model,
        np.array([a.point for a in aims]),
        velocity,
        spin,
        np.asarray(target.centre),
        normal,
        obstacles=obstacles,
    )
    return np.asarray(flown.status == Status.CROSSED)


def _settle_by_flying(
    model: FlightModel,
    ball: Ball,
    target: Target,
    ordered: Sequence[Candidate],
    scatter: Scatter,
    around: Surroundings,
    obstacles: Sequence[Obstacle],
    normals: FloatArray,
) -> Candidate:
    """Take the candidate that really scores most with the obstacles there."""
    typical = Scatter(
        speed=float(np.median(scatter.speed)),
        elevation=float(np.median(scatter.elevation)),
        azimuth=float(np.median(scatter.azimuth)),
    )
    # The best offset of every elevation: near an obstacle a steeper path often wins over the best free one.
    chosen: dict[float, Candidate] = {}
    for candidate in ordered:
        chosen.setdefault(round(math.degrees(candidate.shot.aim.elevation), 3), candidate)

    def scored(candidate: Candidate) -> float:
        balls = normals[:_FLOWN_BALLS]
        hits = flown_hits(
            model, target, candidate.shot.aim, typical, around, balls, ball=ball, obstacles=obstacles
        )
        return float(hits.mean())

    return max(chosen.values(), key=scored)
