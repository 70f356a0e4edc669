"""All settings that carry the ball to a point out of one motion, by time of flight."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.flight.aiming import aim_point
from shotwright.flight.chance import Aim
from shotwright.flight.crossing import trace
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.moving import Motion, setting_of
from shotwright.game.records import Target

FloatArray = NDArray[np.float64]

FASTEST = 25.0  # m/s that a launcher is taken to reach when nobody says
_RATIO = 1.15  # of one time of flight to the next
_FLIGHTS = 60  # that one solution may take
_CLOSE = 1e-7  # m


@dataclass(frozen=True, slots=True)
class ShotFamily:
    """All settings that carry the ball from one point to another out of one motion, by time of flight.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    point, goal : ndarray, shape (3,)
        Where the ball's centre leaves, and where it shall pass. [m]
    motion : Motion
        Of the robot.
    spin_parameter : float
        S = r omega / u. [-]
    spin : float or None
        Fixed backspin in place of `spin_parameter`. [rad/s]
    fastest : float
        Largest speed of the launcher that is of interest. [m/s]
    times : ndarray, shape (k,)
        Times of flight, growing. [s]
    velocities : ndarray, shape (k, 3)
        Of the ball over the floor. [m/s]
    """

    model: FlightModel
    point: FloatArray
    goal: FloatArray
    motion: Motion
    spin_parameter: float
    spin: float | None
    fastest: float
    times: FloatArray
    velocities: FloatArray

    def setting(self, velocity: FloatArray) -> Aim:
        """Setting of the launcher for a velocity over the floor."""
        return setting_of(
            velocity, self.motion, self.point, self.spin_parameter, self.spin, self.model.radius
        )

    def miss(self, velocity: FloatArray, time: float) -> FloatArray:
        """Place of the ball after `time`, less the goal, shape (3,). [m]."""
        aim = self.setting(velocity)
        _, spin = launch_vectors(0.0, 0.0, aim.azimuth, aim.spin(self.model.radius))
        end = trace(self.model, self.point, velocity, spin[0] + self.motion.added_spin, [time])
        return np.asarray(end[0] - self.goal)

    def velocity(self, time: float, guess: FloatArray) -> FloatArray | None:
        """Velocity over the floor that is at the goal after `time`; None where the search finds none."""
        return solved(lambda x: self.miss(x, time), guess)

    def near(self, time: float) -> FloatArray:
        """Velocity at a time between those of the family, between theirs."""
        return np.array([np.interp(time, self.times, one) for one in self.velocities.T])


def shot_family(
    model: FlightModel,
    target: Target,
    point: FloatArray,
    motion: Motion,
    spin_parameter: float,
    *,
    spin: float | None = None,
    goal: FloatArray | None = None,
    fastest: float = FASTEST,
) -> ShotFamily:
    """Find the settings that carry the ball to a target out of a motion, by time of flight.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    point : ndarray, shape (3,)
        Release point. [m]
    motion : Motion
        Of the robot at release.
    spin_parameter : float
        S = r omega / u, u the speed relative to the robot. [-]
    spin : float, optional
        Fixed backspin in place of `spin_parameter`. [rad/s]
    goal : ndarray, shape (3,), optional
        Point to pass; the middle of the opening by default. [m]
    fastest : float
        Largest speed of the launcher that is of interest. [m/s]

    Returns
    -------
    ShotFamily
        At least two members.

    Raises
    ------
    NoAnswer
        No speed up to `fastest` gets there.
    BadInput
        The release point is at the goal, or `fastest` is not a speed.
    """
    start = np.asarray(point, dtype=float)
    end = aim_point(target) if goal is None else np.asarray(goal, dtype=float)
    gap = end - start
    distance = float(np.linalg.norm(gap))
    if distance < 0.01:
        raise BadInput("the release point is at the point aimed at", field="position")
    if not (math.isfinite(fastest) and fastest > 0):
        raise BadInput(f"{fastest:g} m/s is not a largest speed", field="fastest")
    carried = motion.release_velocity
    first = distance / (fastest + float(np.linalg.norm(carried)) + float(np.linalg.norm(model.wind)))
    last = 2.5 * fastest / model.gravity + distance / fastest
    family = ShotFamily(
        model, start, end, motion, spin_parameter, spin, fastest, np.empty(0), np.empty((0, 3))
    )
    pull = np.array([0.0, 0.0, model.gravity / 2])
    times: list[float] = []
    velocities: list[FloatArray] = []
    before, own, time = math.inf, math.inf, first
    while time < last:
        guess = gap / time + pull * time
        if times:  # the last one, and what a longer flight changes without air
            guess += velocities[-1] - (gap / times[-1] + pull * times[-1])
        found = family.velocity(time, guess)
        if found is not None:
            before, own = own, float(np.linalg.norm(found - carried))
            times.append(time)
            velocities.append(found)
        if (found is None and times) or (len(times) > 1 and own > max(1.3 * fastest, before)):
            break
        time *= _RATIO
    speeds = np.linalg.norm(np.array(velocities).reshape(-1, 3) - carried, axis=1)
    if len(times) < 2 or speeds.min() > 1.1 * fastest:
        raise NoAnswer(f"no launch speed up to {fastest:.1f} m/s reaches the point aimed at")
    return replace(family, times=np.array(times), velocities=np.array(velocities))


def solved(residual: Callable[[FloatArray], FloatArray], guess: FloatArray) -> FloatArray | None:
    """Root near a guess, by Powell's hybrid rule; None when what remains is more than 1e-7.

    Parameters
    ----------
    residual : callable
        Takes and returns an array of k numbers.
    guess : ndarray, shape (k,)
        Near the root. [m/s, s]

    Returns
    -------
    ndarray or None, shape (k,)
        The root.
    """
    from scipy.optimize import fsolve

    # steps of 1e-4 in the first differences: the flights are good to 1e-9 m
    found, *_ = fsolve(residual, guess, epsfcn=1e-8, xtol=1e-11, maxfev=_FLIGHTS, full_output=True)
    x = np.asarray(found, dtype=float)
    return x if np.all(np.isfinite(x)) and np.max(np.abs(residual(x))) < _CLOSE else None
