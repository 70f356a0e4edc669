"""How the balls of a trial must have left the launcher, so that they landed where they did."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.flight.chance import AZIMUTH, DIAMETER, ELEVATION, MASS, SPEED, SPIN
from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.sensitivity import crossing_sensitivities, plane_axes
from shotwright.game.records import Ball
from shotwright.trials.dispersion import marked_shots, marks_of
from shotwright.trials.records import Prototype, Shot, Trial
from shotwright.trials.spread import TrialEvidence

FloatArray = NDArray[np.float64]

_FASTEST = 80.0  # m/s, above any throw
_LADDER = 60


@dataclass(frozen=True, slots=True)
class MeanLaunch:
    """The launch whose flight ends at the mean mark of a trial.

    Parameters
    ----------
    speed, elevation : float
        [m/s], [rad]
    spin : float
        Backspin. [rad/s]
    solved_for : {"speed", "elevation"}
        Which of the two the mark gave; the other was set or measured.
    first, cross : ndarray, shape (8,)
        Derivatives of the mark's first axis (along, or height) and of cross, in the flight room's column
        order; spin follows the speed in the speed column.
    per_spin_parameter : ndarray, shape (2,)
        Derivatives of (first, cross) with respect to S. [m]
    """

    speed: float
    elevation: float
    spin: float
    solved_for: str
    first: FloatArray
    cross: FloatArray
    per_spin_parameter: FloatArray


def counted(shots: Sequence[Shot]) -> list[Shot]:
    """Return the shots that are not set aside."""
    return [s for s in shots if s.set_aside is None]


def _plane(trial: Trial, radius: float) -> tuple[FloatArray, FloatArray]:
    """Point and normal of the surface that the marks were read on, for the ball's centre."""
    if trial.surface == "floor":
        return np.array([0.0, 0.0, trial.surface_at + radius]), np.array([0.0, 0.0, 1.0])
    return np.array([trial.surface_at, 0.0, 0.0]), np.array([-1.0, 0.0, 0.0])


def mean_launch(model: FlightModel, prototype: Prototype, trial: Trial, shots: Sequence[Shot]) -> MeanLaunch:
    """Solve the mean launch of a trial from its mean mark.

    With the elevation set (or measured) the mark gives the speed; with measured speeds and no elevation it
    gives the elevation, the flatter of the two. Fired along +x from over the origin.

    Parameters
    ----------
    model : FlightModel
        Ball and air, without wind unless the trial had it.
    prototype : Prototype
        Gives release height and spin unless the trial does.
    trial : Trial
        The trial.
    shots : sequence of Shot
        Its shots.

    Returns
    -------
    MeanLaunch
        Speed, elevation, spin and the derivatives of the mark.

    Raises
    ------
    NoAnswer
        No marks, neither elevation nor speed known, or no launch reaches the mean mark.
    """
    points, with_mark = marks_of(trial, shots), marked_shots(trial, shots)
    if len(points) == 0:
        raise NoAnswer(f"trial {trial.name!r} has no shot with a mark")
    if trial.surface == "plane" and trial.surface_at <= 0:
        raise NoAnswer(
            f"trial {trial.name!r} does not say how far its plane stood from the launcher; set surface_at"
        )
    first = float(points[:, 0].mean())
    height = trial.release_height if trial.release_height is not None else prototype.release_height
    ratio = trial.spin_parameter if trial.spin_parameter is not None else prototype.spin_parameter
    elevations = [s.elevation for s in with_mark if s.elevation is not None]
    speeds = [s.speed for s in with_mark if s.speed is not None]
    spins = [s.spin for s in with_mark if s.spin is not None]
    elevation = trial.elevation if not elevations else float(np.mean(elevations))
    solver = _Solver(model, trial, height, ratio, float(np.mean(spins)) if spins else None)
    if elevation is not None:
        return solver.at(solver.speed(first, elevation), elevation, "speed")
    if speeds:
        speed = float(np.mean(speeds))
        return solver.at(speed, solver.elevation(first, speed), "elevation")
    raise NoAnswer(
        f"trial {trial.name!r} has neither an elevation nor measured speeds; "
        "set the trial's elevation (a protractor on the hood will do)"
    )


@dataclass(frozen=True, slots=True)
class _Solver:
    """One trial's geometry, asked for the launch that ends at a given mark."""

    model: FlightModel
    trial: Trial
    release_height: float
    spin_parameter: float
    measured_spin: float | None

    def spin(self, speed: FloatArray | float) -> FloatArray:
        """Backspin at each speed. [rad/s]."""
        if self.measured_spin is not None:
            return np.full(np.shape(speed), self.measured_spin)
        return np.asarray(self.spin_parameter * np.asarray(speed) / self.model.radius)

    def mark(self, speed: FloatArray, elevation: FloatArray) -> FloatArray:
        """First axis of the mark of each launch; NaN where it never gets to the surface."""
        point, normal = _plane(self.trial, self.model.radius)
        velocity, spin = launch_vectors(speed, elevation, np.zeros_like(speed), self.spin(speed))
        start = np.array([0.0, 0.0, self.release_height])
        found = fly_to_plane(self.model, start, velocity, spin, point, normal, floor=self._ground())
        axis = 0 if self.trial.surface == "floor" else 2
        return np.where(found.status == Status.CROSSED, found.position[:, axis], np.nan)

    def _ground(self) -> float | None:
        # A mark on the floor is the crossing itself; a floor there too would only compete with it.
        return NO_FLOOR if self.trial.surface == "floor" else None

    def speed(self, first: float, elevation: float) -> float:
        """Slowest speed whose mark is at `first`."""
        ladder = np.geomspace(0.3, _FASTEST, _LADDER)
        miss = self.mark(ladder, np.full(_LADDER, elevation)) - first
        # Too slow to get to an upright plane at all counts as below the mark.
        return self._bisect(np.nan_to_num(miss, nan=-np.inf), ladder, first, elevation=elevation)

    def elevation(self, first: float, speed: float) -> float:
        """Flattest elevation whose mark is at `first`."""
        ladder = np.radians(np.linspace(-20.0, 80.0, 2 * _LADDER))
        miss = self.mark(np.full(len(ladder), speed), ladder) - first
        return self._bisect(np.nan_to_num(miss, nan=-np.inf), ladder, first, speed=speed)

    def _bisect(
        self,
        miss: FloatArray,
        ladder: FloatArray,
        first: float,
        *,
        speed: float | None = None,
        elevation: float | None = None,
    ) -> float:
        from scipy.optimize import brentq

        rising = np.flatnonzero((miss[:-1] < 0) & (miss[1:] >= 0))
        if len(rising) == 0:
            raise NoAnswer(
                f"no launch ends at the mean mark of trial {self.trial.name!r} ({first:.2f} m); "
                "check its elevation, release height and units"
            )

        def residual(x: float) -> float:
            v = np.array([x if speed is None else speed])
            e = np.array([x if elevation is None else elevation])
            value = float(self.mark(v, e)[0]) - first
            return value if math.isfinite(value) else -1e3

        k = int(rising[0])
        return float(brentq(residual, ladder[k], ladder[k + 1], xtol=1e-12))

    def at(self, speed: float, elevation: float, solved_for: str) -> MeanLaunch:
        """Return the launch with the derivatives of its mark."""
        point, normal = _plane(self.trial, self.model.radius)
        spin = float(self.spin(speed))
        one = np.ones(1)
        found = crossing_sensitivities(
            self.model,
            np.array([[0.0, 0.0, self.release_height]]),
            speed * one,
            elevation * one,
            0.0 * one,
            spin * one,
            point,
            normal,
        )
        u, w, _ = plane_axes(normal)
        in_space = np.outer(u, found.jacobian[0][0]) + np.outer(w, found.jacobian[0][1])
        first = in_space[0 if self.trial.surface == "floor" else 2].copy()
        cross = in_space[1].copy()
        per_spin = np.array([first[SPIN], cross[SPIN]])
        if self.measured_spin is None:
            first[SPEED] += first[SPIN] * self.spin_parameter / self.model.radius
            cross[SPEED] += cross[SPIN] * self.spin_parameter / self.model.radius
        return MeanLaunch(
            speed, elevation, spin, solved_for, first, cross, per_spin * speed / self.model.radius
        )


def trial_evidence(
    model: FlightModel, ball: Ball, prototype: Prototype, trial: Trial, shots: Sequence[Shot]
) -> TrialEvidence:
    """Put a trial's scatter and geometry into the form that the launch spread is drawn from.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        Its spread from ball to ball is not the launcher's.
    prototype : Prototype
        The launcher.
    trial : Trial
        The trial.
    shots : sequence of Shot
        Its shots.

    Returns
    -------
    TrialEvidence
        Covariances with their geometry.

    Raises
    ------
    NoAnswer
        As `mean_launch`.
    """
    launch = mean_launch(model, prototype, trial, shots)
    points, with_mark = marks_of(trial, shots), marked_shots(trial, shots)
    shared = np.array(
        [
            0.0 if trial.same_ball else ball.mass_sd,
            0.0 if trial.same_ball else ball.diameter_sd,
            prototype.spin_parameter_sd,
        ]
    )
    effects = np.array(
        [
            [launch.first[MASS], launch.first[DIAMETER], launch.per_spin_parameter[0]],
            [launch.cross[MASS], launch.cross[DIAMETER], launch.per_spin_parameter[1]],
        ]
    )
    known = trial.mark_sd**2 + (effects * shared) ** 2 @ np.ones(3)
    rows = [np.array([launch.first[SPEED], launch.first[ELEVATION]])]
    columns, known_in_plane = [points[:, 0]], [float(known[0])]
    for value, sd, unit_row in (
        ([s.speed for s in with_mark], trial.speed_sd, [1.0, 0.0]),
        ([s.elevation for s in with_mark], trial.elevation_sd, [0.0, 1.0]),
    ):
        if sd is not None and with_mark and all(v is not None for v in value):
            rows.append(np.array(unit_row))
            columns.append(np.array(value, dtype=float))
            known_in_plane.append(sd**2)
    n = len(points)
    sample = np.atleast_2d(np.cov(np.array(columns), ddof=1)) if n > 1 else np.zeros((len(rows), len(rows)))
    return TrialEvidence(
        trial=trial.name,
        shots=n,
        speed=launch.speed,
        elevation=launch.elevation,
        in_plane=np.array(rows),
        in_plane_covariance=sample,
        in_plane_known=np.diag(known_in_plane),
        cross=float(launch.cross[AZIMUTH]),
        cross_variance=float(np.var(points[:, 1], ddof=1)) if n > 1 else 0.0,
        cross_known=float(known[1]),
        solved_for=launch.solved_for,
    )
