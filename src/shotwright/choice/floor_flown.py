"""Flown balls behind a floor map: what the linearised flight is off by, and what solids in the way take."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.choice.aim_table import SPEED
from shotwright.choice.floor_cells import (
    BLOCKED,
    SCORES,
    TAKEN,
    FloorCase,
    Settings,
    best_settings,
    candidates,
    crossing_scatter,
    launch_values,
    middling,
    shots_at,
)
from shotwright.flight.chance import COLUMNS, Launches, Scatter, hits_of
from shotwright.flight.crossing import Crossings, Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.opening import edge_clearance
from shotwright.game.records import Ball, Obstacle, Prism

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_FARTHEST_SCATTER = 6.0  # standard deviations at the opening; no ball strays farther on its way
BEND_TELLS = 0.003  # of the hits: where the bend past the edge takes about as much, balls are flown
_LOST_BALLS = 256  # behind what solids take
_SCREENED = 48  # balls flown past solids at every place near one
_TOO_MANY = 0.05  # of them touch: then the other elevations are looked at
_ON_THE_WAY = 0.5  # of them: what a middling ball has strayed where it passes a solid


@dataclass(frozen=True, slots=True, eq=False)
class Flown:
    """What flying balls for a floor case takes.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        Mean diameter and mass.
    release_height : float
        Of the ball's centre. [m]
    spin_parameter : float
        S = r omega / v. [-]
    solids : tuple of Obstacle
        What stands in the way.
    normals : ndarray, shape (b, 8)
        Standard normal draws in the column order of the sensitivities; ball number i flies with draw number i
        of the spread, round and round. [-]
    """

    model: FlightModel
    ball: Ball
    release_height: float
    spin_parameter: float
    solids: tuple[Obstacle, ...]
    normals: FloatArray

    def launches(self, case: FloorCase, settings: Settings, balls: int) -> Launches:
        """Scatter the settings of n places: `balls` launches of each, place after place."""
        n, a = self.normals[:balls], case.around
        scatter = drawn(case.scatter, balls)
        speed, elevation, azimuth = (one[:, None] for one in launch_values(case, settings))
        speeds = np.maximum(speed * (1 + scatter.speed_offset + scatter.speed * n[:, 0]), 0.01 * speed)
        turned = scatter.azimuth_offset + np.hypot(scatter.azimuth, a.heading_sd) * n[:, 2]
        raised = scatter.elevation_offset + scatter.elevation * n[:, 1]
        spin = (self.spin_parameter + a.spin_parameter_sd * n[:, 3]) * speeds / self.model.radius
        velocity, axis = launch_vectors(
            speeds.ravel(), (elevation + raised).ravel(), (azimuth + turned).ravel(), spin.ravel()
        )
        count = len(settings.place)
        flat = settings.place[:, None] + a.place_sd * n[:, 4:6]
        point = np.column_stack([flat.reshape(-1, 2), np.full(count * balls, self.release_height)])
        mass = np.maximum(self.ball.mass + a.mass_sd * n[:, 6], 0.2 * self.ball.mass)
        diameter = np.maximum(self.ball.diameter + a.diameter_sd * n[:, 7], 0.2 * self.ball.diameter)
        return Launches(point, velocity, axis, np.tile(mass, count), np.tile(diameter, count))

    def mean_paths(self, case: FloorCase, settings: Settings) -> Crossings:
        """Fly the mean shot of each setting among the solids."""
        speed, elevation, azimuth = launch_values(case, settings)
        spin = self.spin_parameter * speed / self.model.radius
        velocity, axis = launch_vectors(speed, elevation, azimuth, spin)
        start = np.column_stack([settings.place, np.full(len(speed), self.release_height)])
        _, _, normal = case.target.axes()
        return fly_to_plane(
            self.model, start, velocity, axis, case.target.centre, normal, obstacles=self.solids, plain=False
        )


def drawn(scatter: Scatter, count: int) -> Scatter:
    """Take one draw for each of `count` balls, round and round.

    Parameters
    ----------
    scatter : Scatter
        m draws.
    count : int
        How many balls.

    Returns
    -------
    Scatter
        Arrays of `count`.
    """
    pick = np.arange(count) % np.size(scatter.speed)
    return Scatter(
        **{
            f.name: np.broadcast_to(getattr(scatter, f.name), np.shape(scatter.speed))[pick]
            for f in fields(scatter)
        }
    )


def linear_gaps(
    case: FloorCase, flown: Flown, settings: Settings, balls: int
) -> tuple[FloatArray, FloatArray]:
    """Flown minus linearised hit rate of the same balls, without solids, and its standard error.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    flown : Flown
        Balls.
    settings : Settings
        Of n places that score.
    balls : int
        At each place.

    Returns
    -------
    tuple of ndarray, each of shape (n,)
        [-]
    """
    count = len(settings.place)
    hits = hits_of(flown.model, case.target, flown.launches(case, settings, balls)).reshape(count, balls)
    shots, n, a = shots_at(case, settings.place, settings.columns), flown.normals[:balls], case.around
    scatter = drawn(case.scatter, balls)
    moved = np.empty((balls, COLUMNS))
    moved[:, 0] = scatter.speed_offset + scatter.speed * n[:, 0]
    moved[:, 1] = scatter.elevation_offset + scatter.elevation * n[:, 1]
    moved[:, 2] = scatter.azimuth_offset + np.hypot(scatter.azimuth, a.heading_sd) * n[:, 2]
    fixed = [a.spin_parameter_sd, a.place_sd, a.place_sd, a.mass_sd, a.diameter_sd]
    moved[:, 3:] = n[:, 3:] * fixed
    jacobian = shots.jacobian.copy()
    jacobian[:, :, 0] *= settings.columns[:, SPEED, None]
    centre = shots.middle + settings.beyond[:, None] * shots.way
    points = centre[:, None] + np.einsum("bc,npc->nbp", moved, jacobian)
    difference = hits.astype(float) - inside(shots.corners, points).astype(float)
    return difference.mean(axis=1), difference.std(axis=1) / math.sqrt(balls)


def inside(corners: FloatArray, points: FloatArray) -> NDArray[np.bool_]:
    """Whether points lie inside polygons, each with its own.

    Parameters
    ----------
    corners : ndarray, shape (n, k, 2)
        [m]
    points : ndarray, shape (n, b, 2)
        [m]

    Returns
    -------
    ndarray of bool, shape (n, b)
        By the number of sides that a ray to the right crosses.
    """
    x, y = points[:, :, 0], points[:, :, 1]
    odd = np.zeros(x.shape, dtype=bool)
    following = np.roll(corners, -1, axis=1)
    for k in range(corners.shape[1]):
        (x1, y1), (x2, y2) = corners[:, k].T[:, :, None], following[:, k].T[:, :, None]
        with np.errstate(invalid="ignore", divide="ignore"):
            right = x < x1 + (y - y1) * (x2 - x1) / (y2 - y1)
        odd ^= ((y1 > y) != (y2 > y)) & right
    return odd


def bend_effect(case: FloorCase, flown: Flown, settings: Settings) -> FloatArray:
    """Estimate what the bend of the path past the edge takes from the hits: where to fly balls, not how many.

    The clearance of the mean path is set against that of a straight path through the same crossing; the
    difference moves the edge of what scores nearer by so much.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    flown : Flown
        Ball and release.
    settings : Settings
        Of n places that score.

    Returns
    -------
    ndarray, shape (n,)
        Size of the change of the chance; 1 where the mean path does not pass. [-]
    """
    from scipy.special import ndtr

    path = replace(flown, solids=()).mean_paths(case, settings)
    none = np.zeros_like(path.jerk)
    straight = replace(path, acceleration=none, jerk=none)
    clear, plain = (edge_clearance(case.target, one, case.radius, plain=False) for one in (path, straight))
    shots = shots_at(case, settings.place, settings.columns)
    _, covariance = crossing_scatter(case, shots, settings.columns[:, SPEED], middling(case.scatter))
    # square to the path the scatter along it is foreshortened
    _, _, normal = case.target.axes()
    steep = np.abs(path.velocity @ normal) / np.linalg.norm(path.velocity, axis=1)
    size = np.sqrt(np.linalg.eigvalsh(covariance[:, 0])[:, 1]) * steep
    with np.errstate(invalid="ignore"):
        effect = np.abs(ndtr(plain / size) - ndtr(clear / size))
    return np.where(path.status == Status.CROSSED, effect, 1.0)


def settings_among(case: FloorCase, flown: Flown, places: FloatArray) -> tuple[Settings, FloatArray]:
    """Choose settings whose paths clear the solids, and say which share of the hits the solids still take.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    flown : Flown
        Balls and solids.
    places : ndarray, shape (n, 2)
        On the floor. [m]

    Returns
    -------
    settings : Settings
        One for each place; `BLOCKED` where every path to the opening touches a solid, `TAKEN` where a solid
        stands.
    lost : ndarray, shape (n,)
        Share of the hits that touch a solid on their way. [-]
    """
    settings = best_settings(case, places)
    lost = np.zeros(len(places))
    if flown.solids:
        settings.code[_covered(flown, places)] = TAKEN
    own = np.flatnonzero(settings.code == SCORES)
    if not len(own):
        return settings, lost
    poor = bend_effect(case, flown, settings.some(own)) > BEND_TELLS
    if flown.solids:
        close = np.flatnonzero(_in_reach(case, flown, settings.some(own)))
        poor[close] |= _touched(case, flown, settings.some(own[close])) > _TOO_MANY
    if poor.any():
        settings.put(own[poor], _better_settings(case, flown, places[own[poor]]))
        own = own[settings.code[own] == SCORES]
    if flown.solids and len(own):
        near = own[_in_reach(case, flown, settings.some(own))]
        near = near[_touched(case, flown, settings.some(near)) > 0.0]
        lost[near] = _lost(case, flown, settings.some(near))
    return settings, lost


def _covered(flown: Flown, places: FloatArray) -> NDArray[np.bool_]:
    """Whether the ball at its release point would touch a solid."""
    still = fly_to_plane(
        flown.model,
        np.column_stack([places, np.full(len(places), flown.release_height)]),
        (1.0, 0.0, 1.0),
        (0.0, 0.0, 0.0),
        (0.0, 0.0, -1e9),
        (0.0, 0.0, 1.0),
        obstacles=flown.solids,
        time_limit=0.0,
        plain=False,
    )
    touched = (still.status == Status.OBSTACLE) | (still.clearance <= 0.0)
    return np.asarray(touched | _under(flown.solids, places, flown.release_height))


def _under(solids: Sequence[Obstacle], places: FloatArray, height: float) -> NDArray[np.bool_]:
    """Whether a place lies in the footprint of a solid that a robot cannot stand under."""
    import shapely

    taken = np.zeros(len(places), dtype=bool)
    for solid in solids:
        if solid.bottom >= height:
            continue
        if isinstance(solid, Prism):
            taken |= shapely.contains_xy(shapely.Polygon(solid.footprint), places[:, 0], places[:, 1])
        else:
            taken |= np.hypot(places[:, 0] - solid.x, places[:, 1] - solid.y) < solid.radius
    return taken


def _spread(case: FloorCase, settings: Settings) -> FloatArray:
    """Size of the middling scatter at the opening. [m]."""
    shots = shots_at(case, settings.place, settings.columns)
    _, covariance = crossing_scatter(case, shots, settings.columns[:, SPEED], middling(case.scatter))
    return np.asarray(np.sqrt(np.trace(covariance[:, 0], axis1=1, axis2=2)))


def _in_reach(case: FloorCase, flown: Flown, settings: Settings) -> NDArray[np.bool_]:
    """Which settings have a solid that a scattered ball may touch."""
    path = flown.mean_paths(case, settings)
    far = _FARTHEST_SCATTER * _ON_THE_WAY * _spread(case, settings)
    return np.asarray((path.status != Status.CROSSED) | (path.clearance < far))


def _touched(case: FloorCase, flown: Flown, settings: Settings) -> FloatArray:
    """Share of a few balls of each setting that touch a solid before they get to the opening."""
    if not len(settings.place):
        return np.zeros(0)
    balls = min(_SCREENED, len(flown.normals))
    launches = flown.launches(case, settings, balls)
    _, _, normal = case.target.axes()
    path = fly_to_plane(
        flown.model,
        launches.point,
        launches.velocity,
        launches.spin,
        case.target.centre,
        normal,
        obstacles=flown.solids,
        mass=launches.mass,
        diameter=launches.diameter,
        plain=False,
    )
    return np.asarray((path.status == Status.OBSTACLE).reshape(-1, balls).mean(axis=1))


def _better_settings(case: FloorCase, flown: Flown, places: FloatArray) -> Settings:
    """Choose again among all elevations, by what is left of the chance past edges and solids."""
    from scipy.special import ndtr

    chance, offsets, rows, _ = candidates(case, places)
    n, j, _ = chance.shape
    known = np.where(np.isnan(chance), -1.0, chance)
    best = np.argmax(known, axis=2)
    values = np.take_along_axis(known, best[:, :, None], axis=2)[:, :, 0]
    place, row = np.nonzero(values >= 0.0)
    options = Settings(
        np.full(len(place), SCORES),
        places[place],
        row.astype(float),
        offsets[best[place, row]],
        values[place, row],
        rows[place, row],
    )
    left = np.maximum(options.chance - bend_effect(case, flown, options), 0.0)
    if flown.solids:
        path = flown.mean_paths(case, options)
        steady = ndtr(path.clearance / (_ON_THE_WAY * _spread(case, options)))
        left = np.where(path.status == Status.CROSSED, left * steady, -1.0)
    score = np.full((n, j), -1.0)
    score[place, row] = left
    option = np.zeros((n, j), dtype=np.intp)
    option[place, row] = np.arange(len(place))
    found = options.some(option[np.arange(n), np.argmax(score, axis=1)])
    none = score.max(axis=1) < 0.0
    found.code[none] = BLOCKED
    found.chance[none] = np.nan
    return found


def _lost(case: FloorCase, flown: Flown, settings: Settings) -> FloatArray:
    """Share of the hits without solids that touch one, for each setting."""
    if not len(settings.place):
        return np.zeros(0)
    balls = min(_LOST_BALLS, len(flown.normals))
    launches = flown.launches(case, settings, balls)
    free, held = (
        hits_of(flown.model, case.target, launches, obstacles=solids).reshape(-1, balls).sum(axis=1)
        for solids in ((), flown.solids)
    )
    return np.asarray(1.0 - held / np.maximum(free, 1))
