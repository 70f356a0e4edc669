"""The chance that a ball scores, for one aim and a given scatter of the launcher.

Two ways that check each other: through the flight's sensitivities and the exact integral of a normal over the
scoring region (microseconds), and by flying every ball (exact, with obstacles and the ball's real path past
the edge).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.launches import launch_arrays
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.opening import scoring_region
from shotwright.flight.scored import scored
from shotwright.flight.sensitivity import crossing_sensitivities
from shotwright.game.records import Ball, FiringPosition, Obstacle, Target
from shotwright.statistics.polygon import normal_in_polygon

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

# Columns of a flight's sensitivities, and of the standard normal draws behind flown scatter.
SPEED, ELEVATION, AZIMUTH, SPIN, PLACE_X, PLACE_Y, MASS, DIAMETER = range(8)
COLUMNS = 8


@dataclass(frozen=True, slots=True)
class Aim:
    """One way to fire: where from, how fast, where to.

    Parameters
    ----------
    point : ndarray, shape (3,)
        Release point of the ball's centre. [m]
    speed : float
        [m/s]
    elevation, azimuth : float
        [rad]
    spin_parameter : float
        S = r omega / v, backspin positive; the spin follows the speed. [-]
    """

    point: FloatArray
    speed: float
    elevation: float
    azimuth: float
    spin_parameter: float

    def spin(self, radius: float) -> float:
        """Backspin at the aimed speed. [rad/s]."""
        return self.spin_parameter * self.speed / radius


@dataclass(frozen=True, slots=True)
class Scatter:
    """Standard deviations of what varies from shot to shot, and the mean's error. Scalars or (m,) arrays.

    Parameters
    ----------
    speed : float or ndarray
        As a fraction of the speed. [-]
    elevation, azimuth : float or ndarray
        [rad]
    speed_offset : float or ndarray
        Mean speed over the aimed one, less one. [-]
    elevation_offset, azimuth_offset : float or ndarray
        Mean less the aimed value. [rad]
    """

    speed: float | FloatArray
    elevation: float | FloatArray
    azimuth: float | FloatArray
    speed_offset: float | FloatArray = 0.0
    elevation_offset: float | FloatArray = 0.0
    azimuth_offset: float | FloatArray = 0.0

    def at(self, draw: int) -> Scatter:
        """Return draw number `draw` as a scatter of scalars."""
        return Scatter(**{f.name: float(np.ravel(getattr(self, f.name))[draw]) for f in fields(self)})


def scatter_of_rows(scatter: Scatter, rows: NDArray[np.intp]) -> Scatter:
    """Pick draws of a scatter of arrays.

    Parameters
    ----------
    scatter : Scatter
        Of m draws; a scalar stands for all of them.
    rows : ndarray of int, shape (k,)
        Which; may repeat. [-]

    Returns
    -------
    Scatter
        Of k draws.
    """
    picked = {}
    for f in fields(scatter):
        value = np.ravel(getattr(scatter, f.name))
        picked[f.name] = np.full(len(rows), value[0]) if len(value) == 1 else value[rows]
    return Scatter(**picked)


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What adds to the launcher's scatter at a firing position.

    Parameters
    ----------
    place_sd : float
        Of the release point, in x and in y. [m]
    heading_sd : float
        Of the robot's heading, which turns the aim. [rad]
    mass_sd, diameter_sd : float
        From ball to ball. [kg], [m]
    spin_parameter_sd : float
        Of S. [-]
    """

    place_sd: float = 0.0
    heading_sd: float = 0.0
    mass_sd: float = 0.0
    diameter_sd: float = 0.0
    spin_parameter_sd: float = 0.0


def surroundings(position: FiringPosition, ball: Ball, spin_parameter_sd: float = 0.0) -> Surroundings:
    """Collect what adds to the launcher's scatter when `ball` is fired from `position`.

    Parameters
    ----------
    position : FiringPosition
        Its spreads of place and heading.
    ball : Ball
        Its spreads of mass and diameter.
    spin_parameter_sd : float
        Standard deviation of S = radius x spin / speed from shot to shot. [-]

    Returns
    -------
    Surroundings
        All of them.
    """
    return Surroundings(
        place_sd=position.place_sd,
        heading_sd=position.heading_sd,
        mass_sd=ball.mass_sd,
        diameter_sd=ball.diameter_sd,
        spin_parameter_sd=spin_parameter_sd,
    )


@dataclass(frozen=True, slots=True)
class LinearShot:
    """The flight around one aim, as far as a straight line goes.

    Parameters
    ----------
    aim : Aim
        The aim.
    crossing : ndarray, shape (2,)
        Where the ball's centre crosses the opening's plane, (u, w). [m]
    jacobian : ndarray, shape (2, 8)
        Derivatives of the crossing; the speed column includes the spin that follows the speed.
    spin_parameter_effect : ndarray, shape (2,)
        Derivative with respect to S. [m]
    region : ndarray, shape (k, 2)
        Scoring region of the ball's centre. [m]
    """

    aim: Aim
    crossing: FloatArray
    jacobian: FloatArray
    spin_parameter_effect: FloatArray
    region: FloatArray

    def crossing_scatter(self, scatter: Scatter, around: Surroundings) -> tuple[FloatArray, FloatArray]:
        """Return mean (m, 2) and covariance (m, 2, 2) of the crossing point. [m], [m^2]."""
        j, speed = self.jacobian, self.aim.speed
        one = np.ones(
            np.broadcast(scatter.speed, scatter.elevation, scatter.azimuth, scatter.speed_offset).shape
        )
        columns = (
            (j[:, SPEED], one * scatter.speed * speed),
            (j[:, ELEVATION], one * scatter.elevation),
            (j[:, AZIMUTH], one * np.hypot(scatter.azimuth, around.heading_sd)),
            (self.spin_parameter_effect, one * around.spin_parameter_sd),
            (j[:, PLACE_X], one * around.place_sd),
            (j[:, PLACE_Y], one * around.place_sd),
            (j[:, MASS], one * around.mass_sd),
            (j[:, DIAMETER], one * around.diameter_sd),
        )
        covariance = sum(np.multiply.outer(np.atleast_1d(sd) ** 2, np.outer(d, d)) for d, sd in columns)
        shifts = (
            (j[:, SPEED], one * scatter.speed_offset * speed),
            (j[:, ELEVATION], one * scatter.elevation_offset),
            (j[:, AZIMUTH], one * scatter.azimuth_offset),
        )
        mean = self.crossing + sum(np.multiply.outer(np.atleast_1d(shift), d) for d, shift in shifts)
        return np.asarray(mean), np.asarray(covariance)

    def chance(self, scatter: Scatter, around: Surroundings) -> FloatArray:
        """Return the hit probability of each draw, shape (m,), by the exact integral over the region."""
        mean, covariance = self.crossing_scatter(scatter, around)
        if len(self.region) == 0:
            return np.zeros(len(mean))
        return normal_in_polygon(mean, covariance, self.region)


def linear_chances(shots: Sequence[LinearShot | None], scatter: Scatter, around: Surroundings) -> FloatArray:
    """Hit probability of many shots by one scatter, each by the exact integral over its region.

    Parameters
    ----------
    shots : sequence of LinearShot or None
        n shots, as from `linear_shots`.
    scatter : Scatter
        Of scalars.
    around : Surroundings
        What adds to it.

    Returns
    -------
    ndarray, shape (n,)
        0 where there is no shot. [-]
    """
    found = np.zeros(len(shots))
    able = [(i, shot) for i, shot in enumerate(shots) if shot is not None and len(shot.region)]
    if not able:
        return found
    scatters = [shot.crossing_scatter(scatter, around) for _, shot in able]
    most = max(len(shot.region) for _, shot in able)
    # a corner that is repeated adds a side of no length
    regions = [np.pad(shot.region, ((0, most - len(shot.region)), (0, 0)), mode="edge") for _, shot in able]
    mean, covariance = (np.concatenate(parts) for parts in zip(*scatters, strict=True))
    found[[i for i, _ in able]] = normal_in_polygon(mean, covariance, np.array(regions))
    return found


def linear_shots(model: FlightModel, target: Target, aims: Sequence[Aim]) -> list[LinearShot | None]:
    """Linearise the flight around each aim, all in one batch.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    aims : sequence of Aim
        n aims.

    Returns
    -------
    list of LinearShot or None
        None where the ball does not cross the plane from the front.
    """
    if not aims:
        return []
    _, _, normal = target.axes()
    centre = np.asarray(target.centre)
    point = np.array([a.point for a in aims])
    speed, elevation, azimuth, spin = np.array(
        [(a.speed, a.elevation, a.azimuth, a.spin(model.radius)) for a in aims]
    ).T
    found = crossing_sensitivities(model, point, speed, elevation, azimuth, spin, centre, normal)
    velocity = found.crossings.velocity
    shots: list[LinearShot | None] = []
    for i, aim in enumerate(aims):
        jacobian = np.array(found.jacobian[i])
        if not np.all(np.isfinite(jacobian)):
            shots.append(None)
            continue
        per_spin = jacobian[:, SPIN].copy()
        jacobian[:, SPEED] += per_spin * aim.spin_parameter / model.radius
        direction = velocity[i] / np.linalg.norm(velocity[i])
        shots.append(
            LinearShot(
                aim=aim,
                crossing=np.array(found.crossing[i]),
                jacobian=jacobian,
                spin_parameter_effect=per_spin * aim.speed / model.radius,
                region=scoring_region(target, direction, model.radius),
            )
        )
    return shots


class Launches(NamedTuple):
    """Launches of n balls, as arrays.

    Parameters
    ----------
    point, velocity, spin : ndarray, shape (n, 3)
        [m], [m/s], [rad/s]
    mass, diameter : ndarray, shape (n,)
        [kg], [m]
    """

    point: FloatArray
    velocity: FloatArray
    spin: FloatArray
    mass: FloatArray
    diameter: FloatArray


def scattered_launches(
    model: FlightModel,
    aim: Aim,
    scatter: Scatter,
    around: Surroundings,
    normals: FloatArray,
    *,
    ball: Ball,
) -> Launches:
    """Scatter one aim: one launch per row of standard normal draws.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    aim : Aim
        The aim.
    scatter : Scatter
        Of scalars.
    around : Surroundings
        Placement, balls.
    normals : ndarray, shape (n, 8)
        In the column order of the sensitivities. [-]
    ball : Ball
        Mean diameter and mass.

    Returns
    -------
    Launches
        n launches.
    """
    speed = aim.speed * (1 + scatter.speed_offset + scatter.speed * normals[:, SPEED])
    speed = np.maximum(speed, 0.01 * aim.speed)
    elevation = aim.elevation + scatter.elevation_offset + scatter.elevation * normals[:, ELEVATION]
    azimuth_sd = np.hypot(scatter.azimuth, around.heading_sd)
    azimuth = aim.azimuth + scatter.azimuth_offset + azimuth_sd * normals[:, AZIMUTH]
    spin_parameter = aim.spin_parameter + around.spin_parameter_sd * normals[:, SPIN]
    point = np.broadcast_to(aim.point, (len(normals), 3)).copy()
    point[:, 0] += around.place_sd * normals[:, PLACE_X]
    point[:, 1] += around.place_sd * normals[:, PLACE_Y]
    mass = np.maximum(ball.mass + around.mass_sd * normals[:, MASS], 0.2 * ball.mass)
    diameter = np.maximum(ball.diameter + around.diameter_sd * normals[:, DIAMETER], 0.2 * ball.diameter)
    velocity, spin = launch_vectors(speed, elevation, azimuth, spin_parameter * speed / model.radius)
    return Launches(point, velocity, spin, mass, diameter)


def hits_of(
    model: FlightModel, target: Target, launches: Launches, *, obstacles: Sequence[Obstacle] = ()
) -> BoolArray:
    """Fly launches and say which score.

    Parameters
    ----------
    model : FlightModel
        Air, drag and lift.
    target : Target
        The opening.
    launches : Launches
        n balls.
    obstacles : sequence of Obstacle
        What may be in the way.

    Returns
    -------
    ndarray of bool, shape (n,)
        Which balls score.
    """
    return scored(model, target, launch_arrays(model, *launches), obstacles=obstacles)


def flown_hits(
    model: FlightModel,
    target: Target,
    aim: Aim,
    scatter: Scatter,
    around: Surroundings,
    normals: FloatArray,
    *,
    ball: Ball,
    obstacles: Sequence[Obstacle] = (),
) -> BoolArray:
    """Fly one ball per row of standard normal draws and say which score.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    aim : Aim
        The aim.
    scatter : Scatter
        Of scalars.
    around : Surroundings
        Placement, balls.
    normals : ndarray, shape (n, 8)
        Standard normal draws in the column order of the sensitivities; the same draws for every scatter
        make differences between scatters smooth. [-]
    ball : Ball
        Mean diameter and mass.
    obstacles : sequence of Obstacle
        What may be in the way.

    Returns
    -------
    ndarray of bool, shape (n,)
        Which balls score.
    """
    launches = scattered_launches(model, aim, scatter, around, normals, ball=ball)
    return hits_of(model, target, launches, obstacles=obstacles)
