r"""A shot from a robot that drives and turns: what leaves it, and which setting still hits.

The launcher throws relative to the robot. Over the floor the ball leaves with

.. math:: \vec v = \vec u + \vec V + \Omega\,\hat z \times \vec r                                   (1)

u the launcher's own velocity, V that of the turning centre, Omega the turn rate (anticlockwise), r from the
turning centre to the release point. The launcher gives the ball its spin relative to itself; a ball that is
held until release turns with the robot, so Omega is added to the spin about the vertical. Left out: the
sideways push on the ball while the launcher turns under it (2 Omega u for the few hundredths of a second
of the stroke), which the guide takes up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.chance import Aim
from shotwright.flight.model import launch_vectors

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Motion:
    """How the robot moves at the moment of release.

    Parameters
    ----------
    velocity : tuple of float
        Of the turning centre over the floor, (x, y) in the field frame. [m/s]
    turn_rate : float
        Anticlockwise seen from above. [rad/s]
    offset : tuple of float
        From the turning centre to the release point, (x, y) in the field frame. [m]
    ball_turns : bool
        Whether the ball turns with the robot until release; False for one that rolls free in its guide.
    """

    velocity: tuple[float, float] = (0.0, 0.0)
    turn_rate: float = 0.0
    offset: tuple[float, float] = (0.0, 0.0)
    ball_turns: bool = True

    def __post_init__(self) -> None:
        if not np.isfinite([*self.velocity, self.turn_rate, *self.offset]).all():
            raise BadInput(f"{self.velocity}, {self.turn_rate}, {self.offset} is no motion", field="motion")

    @property
    def release_velocity(self) -> FloatArray:
        """Velocity of the release point over the floor, shape (3,). [m/s]."""
        (vx, vy), (rx, ry) = self.velocity, self.offset
        return np.array([vx - self.turn_rate * ry, vy + self.turn_rate * rx, 0.0])

    @property
    def added_spin(self) -> FloatArray:
        """Spin that the ball has from the turning robot, shape (3,). [rad/s]."""
        return np.array([0.0, 0.0, self.turn_rate if self.ball_turns else 0.0])


STANDING = Motion()


@dataclass(frozen=True, slots=True)
class MovingAim:
    """A setting of the launcher, the motion it is fired from, and the ball that leaves.

    Parameters
    ----------
    aim : Aim
        Relative to the robot: what the launcher is set to, and where it points.
    motion : Motion
        Of the robot.
    time : float
        From release to the point aimed at. [s]
    """

    aim: Aim
    motion: Motion
    time: float

    def ball(self, radius: float) -> tuple[FloatArray, FloatArray]:
        """Velocity [m/s] and spin [rad/s] of the ball over the floor, each of shape (3,)."""
        velocity, spin = moving_launch(
            self.aim.speed, self.aim.elevation, self.aim.azimuth, self.aim.spin(radius), self.motion
        )
        return velocity[0], spin[0]


def moving_launch(
    speed: ArrayLike, elevation: ArrayLike, azimuth: ArrayLike, spin: ArrayLike, motion: Motion
) -> tuple[FloatArray, FloatArray]:
    """Velocity and spin over the floor of balls thrown by a launcher that moves: equation (1).

    Parameters
    ----------
    speed : float or ndarray
        Relative to the robot. [m/s]
    elevation, azimuth : float or ndarray
        Of the launcher's own throw, in the field frame. [rad]
    spin : float or ndarray
        Backspin that the launcher gives. [rad/s]
    motion : Motion
        Of the robot at release.

    Returns
    -------
    velocity : ndarray, shape (n, 3)
        [m/s]
    spin : ndarray, shape (n, 3)
        [rad/s]

    Examples
    --------
    At 2 m/s to the left, turning at 3 rad/s about a point 0.1 m behind the release point:

    >>> v, w = moving_launch(5.0, 0.0, 0.0, 0.0, Motion((0.0, 2.0), 3.0, (0.1, 0.0)))
    >>> v.round(12).tolist(), w.tolist()
    ([[5.0, 2.3, 0.0]], [[0.0, 0.0, 3.0]])
    """
    velocity, axis = launch_vectors(speed, elevation, azimuth, spin)
    return velocity + motion.release_velocity, axis + motion.added_spin


def setting_of(
    velocity: FloatArray,
    motion: Motion,
    point: FloatArray,
    spin_parameter: float,
    spin: float | None,
    radius: float,
) -> Aim:
    """Setting of the launcher that gives a wanted velocity over the floor: equation (1) turned round.

    Parameters
    ----------
    velocity : ndarray, shape (3,)
        Wanted. [m/s]
    motion : Motion
        Of the robot.
    point : ndarray, shape (3,)
        Release point. [m]
    spin_parameter : float
        S = r omega / u, u the speed relative to the robot. [-]
    spin : float or None
        Fixed backspin in place of `spin_parameter`. [rad/s]
    radius : float
        Of the ball. [m]

    Returns
    -------
    Aim
        Relative to the robot.
    """
    own = velocity - motion.release_velocity
    speed = float(np.linalg.norm(own))
    return Aim(
        np.asarray(point, dtype=float),
        speed,
        math.atan2(own[2], math.hypot(own[0], own[1])),
        math.atan2(own[1], own[0]),
        spin_parameter if spin is None else spin * radius / max(speed, 1e-12),
    )
