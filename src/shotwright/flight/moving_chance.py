"""How the chance of a shot on the move falls with what the robot does not know of its own motion.

Four things add to the scatter of a standing shot: the error of the robot's speed, of its turn rate, of the
moment of release, and that the launcher's own errors act around another throw. A release that comes dt late
moves the release point on by V dt, turns aim and release point by Omega dt, and is easily forgotten.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.flight.chance import Launches, Scatter, Surroundings, hits_of
from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.moving import MovingAim
from shotwright.flight.opening import scoring_region
from shotwright.game.records import Obstacle, Target
from shotwright.statistics.polygon import normal_in_polygon

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

# Columns of departures from an aim: those of a standing shot, then those of the motion.
COLUMNS = (
    "speed", "elevation", "azimuth", "spin parameter", "x", "y", "mass", "diameter",
    "robot velocity x", "robot velocity y", "turn rate", "release time",
)  # fmt: skip
SPEED, ELEVATION, AZIMUTH, SPIN_PARAMETER, X, Y, MASS, DIAMETER, VELOCITY_X, VELOCITY_Y, TURN, TIME = range(
    12
)
_TOLERANCE = 1e-12
_NODES = np.array([-2.0, -1.0, 1.0, 2.0])
_WEIGHTS = np.array([1.0, -8.0, 8.0, -1.0]) / 12.0


@dataclass(frozen=True, slots=True)
class MotionErrors:
    """Standard deviations of what the robot gets wrong about its motion when it fires.

    Parameters
    ----------
    velocity : float
        Of the turning centre's velocity, in x and in y. [m/s]
    turn_rate : float
        [rad/s]
    release_time : float
        Of the moment of release, after its mean delay has been allowed for. [s]
    """

    velocity: float = 0.0
    turn_rate: float = 0.0
    release_time: float = 0.0

    def __post_init__(self) -> None:
        if not all(np.isfinite(sd) and sd >= 0 for sd in (self.velocity, self.turn_rate, self.release_time)):
            raise BadInput(
                f"{self.velocity:g} m/s, {self.turn_rate:g} rad/s, {self.release_time:g} s: "
                "a standard deviation is 0 or more",
                field="motion errors",
            )


def departed_launches(model: FlightModel, moving: MovingAim, departures: FloatArray) -> Launches:
    """Launches that depart from a setting on the move, exactly.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    moving : MovingAim
        The setting and the motion.
    departures : ndarray, shape (n, 12)
        In the order of `COLUMNS`. [m/s, rad, rad, -, m, m, kg, m, m/s, m/s, rad/s, s]

    Returns
    -------
    Launches
        n launches.
    """
    d = np.asarray(departures, dtype=float).T
    aim, motion, ball = moving.aim, moving.motion, model.ball
    rate = motion.turn_rate + d[TURN]
    turned = motion.turn_rate * d[TIME]
    rx = np.cos(turned) * motion.offset[0] - np.sin(turned) * motion.offset[1]
    ry = np.sin(turned) * motion.offset[0] + np.cos(turned) * motion.offset[1]
    vx, vy = motion.velocity[0] + d[VELOCITY_X], motion.velocity[1] + d[VELOCITY_Y]

    speed = np.maximum(aim.speed + d[SPEED], 0.01 * aim.speed)
    spin_parameter = aim.spin_parameter + d[SPIN_PARAMETER]
    velocity, spin = launch_vectors(
        speed,
        aim.elevation + d[ELEVATION],
        aim.azimuth + d[AZIMUTH] + turned,
        spin_parameter * speed / model.radius,
    )
    velocity[:, 0] += vx - rate * ry
    velocity[:, 1] += vy + rate * rx
    if motion.ball_turns:
        spin[:, 2] += rate
    point = np.broadcast_to(aim.point, (len(speed), 3)).copy()
    point[:, 0] += d[X] + motion.velocity[0] * d[TIME] + rx - motion.offset[0]
    point[:, 1] += d[Y] + motion.velocity[1] * d[TIME] + ry - motion.offset[1]
    return Launches(
        point,
        velocity,
        spin,
        np.maximum(ball.mass + d[MASS], 0.2 * ball.mass),
        np.maximum(ball.diameter + d[DIAMETER], 0.2 * ball.diameter),
    )


@dataclass(frozen=True, slots=True)
class MovingShot:
    """The flight around one setting on the move, as far as a straight line goes.

    Parameters
    ----------
    moving : MovingAim
        The setting and the motion.
    crossing : ndarray, shape (2,)
        Where the ball's centre crosses the opening's plane, (u, w). [m]
    jacobian : ndarray, shape (2, 12)
        Its derivatives by each of `COLUMNS`.
    region : ndarray, shape (k, 2)
        Where the ball's centre may cross. [m]
    """

    moving: MovingAim
    crossing: FloatArray
    jacobian: FloatArray
    region: FloatArray

    def deviations(self, scatter: Scatter, around: Surroundings, errors: MotionErrors) -> FloatArray:
        """Standard deviation of each departure, shape (m, 12), in the order of `COLUMNS`."""
        columns = (
            np.asarray(scatter.speed) * self.moving.aim.speed,
            scatter.elevation,
            np.hypot(scatter.azimuth, around.heading_sd),
            around.spin_parameter_sd,
            around.place_sd,
            around.place_sd,
            around.mass_sd,
            around.diameter_sd,
            errors.velocity,
            errors.velocity,
            errors.turn_rate,
            errors.release_time,
        )
        return np.stack([np.atleast_1d(one) for one in np.broadcast_arrays(*columns)], axis=-1)

    def means(self, scatter: Scatter) -> FloatArray:
        """Mean of each departure, shape (m, 12)."""
        offsets = np.broadcast_arrays(
            np.asarray(scatter.speed_offset) * self.moving.aim.speed,
            scatter.elevation_offset,
            scatter.azimuth_offset,
            scatter.speed,
        )
        found = np.zeros((offsets[0].size, len(COLUMNS)))
        for column, one in enumerate(offsets[:3]):
            found[:, column] = np.ravel(one)
        return found

    def chance(self, scatter: Scatter, around: Surroundings, errors: MotionErrors) -> FloatArray:
        """Hit probability of each draw, shape (m,), by the exact integral over the region."""
        sds, means = self.deviations(scatter, around, errors), self.means(scatter)
        if len(self.region) == 0:
            return np.zeros(len(means))
        covariance = np.einsum("ic,mc,jc->mij", self.jacobian, sds**2, self.jacobian)
        return normal_in_polygon(self.crossing + means @ self.jacobian.T, covariance, self.region)

    def shares(self, scatter: Scatter, around: Surroundings, errors: MotionErrors) -> FloatArray:
        """Share of each departure in the variance of the crossing point, shape (12,), mean over draws."""
        sds = self.deviations(scatter, around, errors)
        parts = np.mean(sds**2, axis=0) * np.sum(self.jacobian**2, axis=0)
        total = float(parts.sum())
        return np.asarray(parts / total if total > 0 else parts)


def moving_shot(model: FlightModel, target: Target, moving: MovingAim) -> MovingShot:
    """Linearise the flight around a setting on the move.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    moving : MovingAim
        The setting and the motion.

    Returns
    -------
    MovingShot
        Crossing, derivatives by five-point differences, scoring region.

    Raises
    ------
    NoAnswer
        The ball, or one of its near neighbours, does not cross the plane from the front.
    """
    u, w, normal = target.axes()
    centre = np.asarray(target.centre)
    steps = _steps(model, moving)
    nodes = _NODES[:, None, None] * np.diag(steps)  # (4, 12, 12)
    launches = departed_launches(
        model, moving, np.concatenate([np.zeros((1, len(COLUMNS))), nodes.reshape(-1, len(COLUMNS))])
    )
    flown = fly_to_plane(
        model,
        launches.point,
        launches.velocity,
        launches.spin,
        centre,
        normal,
        floor=NO_FLOOR,
        mass=launches.mass,
        diameter=launches.diameter,
        tolerance=_TOLERANCE,
    )
    if not (flown.status == Status.CROSSED).all():
        raise NoAnswer("the shot grazes the opening's plane; a small error and it does not cross it at all")
    points = (flown.position - centre) @ np.column_stack([u, w])
    around = points[1:].reshape(len(_NODES), len(COLUMNS), 2)
    jacobian = np.einsum("k,kci->ic", _WEIGHTS, around) / steps
    direction = flown.velocity[0] / np.linalg.norm(flown.velocity[0])
    return MovingShot(moving, points[0], jacobian, scoring_region(target, direction, model.radius))


def _steps(model: FlightModel, moving: MovingAim) -> FloatArray:
    """Step of each difference: small beside what bends the flight, large beside its rounding."""
    speed = max(moving.aim.speed, 1.0)
    turn = 1e-3 / max(
        abs(moving.motion.turn_rate), float(np.linalg.norm(moving.motion.release_velocity)), 1.0
    )
    return np.array(
        [
            1e-3 * speed, 1e-3, 1e-3, 3e-4, 1e-3, 1e-3, 1e-3 * model.ball.mass, 1e-3 * model.ball.diameter,
            1e-3 * speed, 1e-3 * speed, 1e-3, turn,
        ]
    )  # fmt: skip


def moving_hits(
    model: FlightModel,
    target: Target,
    moving: MovingAim,
    deviations: FloatArray,
    means: FloatArray,
    normals: FloatArray,
    *,
    obstacles: Sequence[Obstacle] = (),
) -> BoolArray:
    """Fly one ball for each row of standard normal draws and say which score.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    moving : MovingAim
        The setting and the motion.
    deviations, means : ndarray, shape (1, 12) or (n, 12)
        Of the departures, in the order of `COLUMNS`. [m/s, rad, rad, -, m, m, kg, m, m/s, m/s, rad/s, s]
    normals : ndarray, shape (n, 12)
        Standard normal draws. [-]
    obstacles : sequence of Obstacle
        What may be in the way.

    Returns
    -------
    ndarray of bool, shape (n,)
        Which balls score.
    """
    launches = departed_launches(model, moving, means + deviations * normals)
    return hits_of(model, target, launches, obstacles=obstacles)
