r"""Launch values from a track: a flight with drag and lift fitted to what the camera saw.

The unknowns are the place and the velocity at release, a factor on the ball's drag law, the spin that its
lift law would need for the lift seen, and what calibration leaves in doubt: the scale and the vertical. The
last four have priors, so that a short clip still has an answer and says what it could not tell. Residuals are
taken in pixels, where the error is the same everywhere. A first fit is robust (soft L1); what lies beyond
four standard deviations of it is left out, and the second is plain least squares, so that its covariance
means what it says.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.flight.laws import CONSTANT
from shotwright.flight.lift import NONE
from shotwright.flight.model import FlightModel
from shotwright.trials.measure.ball_tracks import Track
from shotwright.trials.measure.flight_plane import FlightPlane
from shotwright.trials.measure.quick_path import quick_path

FloatArray = NDArray[np.float64]

NAMES = ("x", "z", "speed", "elevation", "drag", "lift", "tilt", "scale", "gravity")
X, Z, SPEED, ELEVATION, DRAG, LIFT, TILT, SCALE, GRAVITY = range(9)
DRAG_SD = 0.5  # of the factor on the ball's drag law
LIFT_SD = (
    0.4  # of S = r omega / v; launchers with one wheel throw with about 0.3 (common practice, no source)
)
# m/s^2; from 9.780 at the equator to 9.832 at the poles, sea level (WGS 84, from memory)
GRAVITY_SD = 0.02
FREE_GRAVITY_SD = 100.0
_FIXED = 1e-9
# Shade on the ball and what is behind it move its centre by a little that changes slowly along the path, as
# simulated clips show: share of the radius, pixels besides, and the share of the flight that it stays alike.
_WANDER, _WANDER_PX, _WANDER_SPAN = 0.006, 0.02, 0.12
_LEAST_SIGMA = 0.04  # px; codecs move edges by that much however still the noise


@dataclass(frozen=True, slots=True)
class Priors:
    """What is known before the clip, as mean and standard deviation; 0 keeps a value as it is.

    Parameters
    ----------
    drag, drag_sd : float
        Factor on the ball's drag law. [-]
    lift, lift_sd : float
        Effective spin parameter S = r omega / v at release, positive for backspin; for a ball whose game
        file gives it no lift, the lift coefficient itself. [-]
    gravity_sd : float
        Of gravity where the clip was taken. [m/s^2]
    """

    drag: float = 1.0
    drag_sd: float = DRAG_SD
    lift: float = 0.0
    lift_sd: float = LIFT_SD
    gravity_sd: float = GRAVITY_SD


@dataclass(frozen=True, slots=True)
class FittedFlight:
    """A flight that goes through a track.

    Parameters
    ----------
    values : ndarray, shape (9,)
        In the order of `NAMES`, at `start`. [SI]
    covariance : ndarray, shape (9, 9)
        Zero in the rows of what was kept fixed.
    start : float
        Time of the release on the clip's clock. [s]
    right : bool
        Whether the ball flies to the right.
    sigma : float
        Standard deviation of a centre, each axis. [px]
    freedom : float
        Degrees of freedom that sigma rests on.
    kept : ndarray of bool, shape (k,)
        Points that count; the others lie too far off.
    residuals : ndarray, shape (k, 2)
        Seen less computed, x and y. [px]
    """

    values: FloatArray
    covariance: FloatArray
    start: float
    right: bool
    sigma: float
    freedom: float
    kept: NDArray[np.bool_]
    residuals: FloatArray

    def sd(self, which: int) -> float:
        """Standard deviation of one of the values. [SI]."""
        return math.sqrt(max(float(self.covariance[which, which]), 0.0))


@dataclass(frozen=True, slots=True)
class _Problem:
    """Everything that stays the same while the unknowns move."""

    model: FlightModel
    plane: FlightPlane
    pixels: FloatArray
    since: FloatArray
    pivot: FloatArray
    sign: float
    mean: FloatArray
    spread: FloatArray
    last: dict[bytes, FloatArray] = field(default_factory=dict)

    def computed(self, values: FloatArray) -> FloatArray:
        """Pixels of the ball at the times seen."""
        places = (values[[X, Z]] + self._flight(values)) * np.array([self.sign, 1.0])
        c, s = math.cos(values[TILT]), math.sin(values[TILT])
        turned = (places - self.pivot) @ np.array([[c, -s], [s, c]]) / math.exp(values[SCALE]) + self.pivot
        return self.plane.to_pixels(turned)

    def _flight(self, values: FloatArray) -> FloatArray:
        """Way from the release point; place, tilt and scale don't change it, so the last one is kept."""
        key = values[[SPEED, ELEVATION, DRAG, LIFT, GRAVITY]].tobytes()
        if key in self.last:
            return self.last[key]
        model = replace(
            self.model,
            gravity=float(values[GRAVITY]),
            drag=self.model.drag._replace(scale=self.model.drag.scale * max(float(values[DRAG]), 0.0)),
        )
        v, e = float(values[SPEED]), float(values[ELEVATION])
        spin = float(values[LIFT]) * v / self.model.radius
        if self.model.lift.code == NONE:
            lift = self.model.lift._replace(code=CONSTANT, scale=1.0, constant=float(values[LIFT]))
            model, spin = replace(model, lift=lift), 1.0
        velocity = np.array([v * math.cos(e), 0.0, v * math.sin(e)])
        way = quick_path(model, velocity, np.array([0.0, -spin, 0.0]), self.since)[:, [0, 2]]
        if len(self.last) > 8:
            self.last.clear()
        self.last[key] = way
        return way


@dataclass(frozen=True, slots=True)
class Settled:
    """What a first, robust fit with gravity free says of a track's points.

    Parameters
    ----------
    kept : ndarray of bool, shape (k,)
        Points on one path.
    sigma : float
        Standard deviation of a centre, each axis. [px]
    gravity, gravity_sd : float
        What gravity comes to. [m/s^2]
    values : ndarray, shape (9,)
        At the first point, in the order of `NAMES`. [SI]
    """

    kept: NDArray[np.bool_]
    sigma: float
    gravity: float
    gravity_sd: float
    values: FloatArray


def settle(track: Track, plane: FlightPlane, model: FlightModel, priors: Priors | None = None) -> Settled:
    """Find the points that lie on one path, whatever the clip's clock and scale, and the gravity it shows.

    Parameters
    ----------
    track, plane, model, priors
        As :func:`fit_flight`.

    Returns
    -------
    Settled
        Standard gravity is 9.80665 m/s^2; another one shows that clock or scale are wrong.
    """
    problem, weight = _problem(
        track, plane, model, replace(priors or Priors(), gravity_sd=FREE_GRAVITY_SD), None
    )
    kept = np.ones(len(weight), dtype=bool)
    values = problem.mean.copy()
    # as wide as the first guess is wrong, or the first steps are small ones
    sigma = max(float(np.median(np.hypot(*(problem.pixels - problem.computed(values)).T))), 0.5)
    for _ in range(3):
        values = _optimum(problem, values, sigma, weight, kept, robust=True)[0]
        away = np.hypot(*((problem.pixels - problem.computed(values)) * weight[:, None]).T)
        # the median of a Rayleigh is 1.177 sigma; five values were fitted to 2 n numbers
        used = math.sqrt(2 * len(away) / max(2 * len(away) - 5, 1))
        sigma = max(used * float(np.median(away)) / 1.177, _LEAST_SIGMA)
    kept = away < 4.0 * sigma
    values, jacobian, free = _optimum(problem, values, sigma, weight, kept, robust=False)
    spread = np.linalg.pinv(jacobian.T @ jacobian)[free.index(GRAVITY), free.index(GRAVITY)]
    gravity = float(values[GRAVITY]) * STANDARD_GRAVITY / model.gravity
    return Settled(kept, sigma, gravity, math.sqrt(float(spread)), values)


def fit_flight(
    track: Track,
    plane: FlightPlane,
    model: FlightModel,
    priors: Priors | None = None,
    start: float | None = None,
    settled: Settled | None = None,
) -> FittedFlight:
    """Fit a flight to a track.

    Parameters
    ----------
    track : Track
        The ball, frame by frame; pixels with the lens straightened.
    plane : FlightPlane
        From pixels to metres.
    model : FlightModel
        Ball and air.
    priors : Priors, optional
        On drag and lift.
    start : float, optional
        Time of the release on the clip's clock, not after the first point; that of the first point by
        default. [s]
    settled : Settled, optional
        Of the same track, when it is known already.

    Returns
    -------
    FittedFlight
        Values, covariance, residuals.

    Notes
    -----
    Not modelled: flight out of the plane, wind across it, spin that changes along the flight.
    """
    settled = settled or settle(track, plane, model, priors)
    problem, weight = _problem(track, plane, model, priors or Priors(), start)
    begin = float(track.points[0].time - problem.since[0])
    guess = problem.mean.copy()
    if begin == track.points[0].time:
        guess[:SCALE] = settled.values[:SCALE]
    wander = _WANDER_PX + (_WANDER * track.radius if math.isfinite(track.radius) else 0.0)
    return _final(problem, guess, settled.sigma, weight, settled.kept, begin, wander)


def _problem(
    track: Track, plane: FlightPlane, model: FlightModel, priors: Priors, start: float | None
) -> tuple[_Problem, FloatArray]:
    """Set the problem up, with a first guess as its mean, and weigh the points."""
    pixels = np.array([[p.x, p.y] for p in track.points])
    times = np.array([p.time for p in track.points])
    since = times - (times[0] if start is None else min(start, float(times[0])))
    weight = np.sqrt(np.maximum(np.array([p.confidence for p in track.points]), 0.01))
    places = plane.to_metres(pixels)
    sign = 1.0 if places[-1, 0] >= places[0, 0] else -1.0
    design = np.column_stack([np.ones_like(since), since])
    fallen = places * np.array([sign, 1.0])
    fallen[:, 1] += 0.5 * model.gravity * since**2
    (x, z), (vx, vz) = np.linalg.lstsq(design, fallen, rcond=None)[0]
    mean = np.array(
        [x, z, math.hypot(vx, vz), math.atan2(vz, vx), priors.drag, priors.lift, 0.0, 0.0, model.gravity]
    )
    free = math.inf
    spread = np.array(
        [
            free,
            free,
            free,
            free,
            priors.drag_sd,
            priors.lift_sd,
            plane.tilt_sd,
            plane.scale_sd,
            priors.gravity_sd,
        ]
    )
    return _Problem(model, plane, pixels, since, places[0], sign, mean, spread), weight


def _optimum(
    problem: _Problem,
    guess: FloatArray,
    sigma: float,
    weight: FloatArray,
    kept: NDArray[np.bool_],
    *,
    robust: bool,
) -> tuple[FloatArray, FloatArray, list[int]]:
    """Return values, Jacobian of the scaled residuals, and which values were free."""
    from scipy.optimize import least_squares

    free = [k for k in range(len(NAMES)) if problem.spread[k] > _FIXED]
    with_prior = [k for k in free if math.isfinite(problem.spread[k])]
    rows = 2 * int(kept.sum())

    def residuals(part: FloatArray) -> FloatArray:
        values = guess.copy()
        values[free] = part
        seen = ((problem.pixels - problem.computed(values)) * weight[:, None] / sigma)[kept]
        prior = (values[with_prior] - problem.mean[with_prior]) / problem.spread[with_prior]
        return np.concatenate([seen.ravel(), prior])

    size = np.array([0.1, 0.1, 1.0, 0.1, 0.3, 0.1, 0.02, 0.01, 5.0])[free]
    close, most = (1e-4, 5) if robust else (1e-6, 400)  # a robust one is done again with a better sigma
    options: dict[str, Any] = {"loss": _soft_data(rows)} if robust else {"method": "lm"}
    found = least_squares(
        residuals, guess[free], x_scale=size, xtol=close, ftol=close, max_nfev=most, **options
    )
    values = guess.copy()
    values[free] = found.x
    return values, np.asarray(found.jac), free


def _soft_data(rows: int) -> Callable[[FloatArray], FloatArray]:
    """Soft L1 on what was seen, plain squares on the priors behind it."""

    def loss(z: FloatArray) -> FloatArray:
        rho = np.empty((3, len(z)))
        root = np.sqrt(1.0 + z)
        rho[0], rho[1], rho[2] = 2.0 * (root - 1.0), 1.0 / root, -0.5 / root**3
        rho[0, rows:], rho[1, rows:], rho[2, rows:] = z[rows:], 1.0, 0.0
        return rho

    return loss


def _final(
    problem: _Problem,
    guess: FloatArray,
    sigma: float,
    weight: FloatArray,
    kept: NDArray[np.bool_],
    start: float,
    wander: float,
) -> FittedFlight:
    covariance = np.zeros((len(NAMES), len(NAMES)))
    values, jacobian, free = _optimum(problem, guess, sigma, weight, kept, robust=False)
    part = np.linalg.pinv(jacobian.T @ jacobian)
    spread = problem.spread[free]
    # a value that the prior alone fixes has taken no freedom from the data
    told = float(np.sum(1.0 - np.minimum(np.diag(part) / np.where(np.isinf(spread), np.inf, spread**2), 1.0)))
    freedom = max(2.0 * float(kept.sum()) - told, 1.0)
    left = ((problem.pixels - problem.computed(values)) * weight[:, None])[kept]
    sigma = max(math.sqrt(float(np.sum(left**2)) / freedom), _LEAST_SIGMA)
    # once more, with the priors weighed against this sigma
    values, jacobian, free = _optimum(problem, values, sigma, weight, kept, robust=False)
    residuals = problem.pixels - problem.computed(values)
    # neighbouring frames share errors of shading, background and codec: fewer of them are of their own
    linked = _linked(residuals * weight[:, None], kept)
    slow = _slow_errors(jacobian, problem.since[kept], weight[kept] * wander / sigma)
    jacobian[: 2 * int(kept.sum())] /= math.sqrt((1.0 + linked) / (1.0 - linked))
    covariance[np.ix_(free, free)] = np.linalg.pinv(jacobian.T @ jacobian) + slow
    return FittedFlight(values, covariance, float(start), problem.sign > 0, sigma, freedom, kept, residuals)


def _slow_errors(jacobian: FloatArray, since: FloatArray, size: FloatArray) -> FloatArray:
    """Covariance that errors of the centre leave which stay alike for a while, each axis on its own."""
    gain = np.linalg.pinv(jacobian.T @ jacobian)
    span = _WANDER_SPAN * float(np.ptp(since))
    alike = np.outer(size, size) * np.exp(-np.abs(since[:, None] - since[None, :]) / max(span, 1e-9))
    seen = jacobian[: 2 * len(since)].reshape(len(since), 2, -1)
    total = sum(seen[:, axis].T @ alike @ seen[:, axis] for axis in (0, 1))
    return np.asarray(gain @ total @ gain)


def _linked(residuals: FloatArray, kept: NDArray[np.bool_]) -> float:
    """Correlation of residuals with those of the frame before, pooled over both axes; 0 to 0.9."""
    both = kept[1:] & kept[:-1]
    if both.sum() < 8:
        return 0.0
    before, after = residuals[:-1][both], residuals[1:][both]
    found = float(np.sum(before * after)) / max(float(np.sqrt(np.sum(before**2) * np.sum(after**2))), 1e-12)
    return min(max(found, 0.0), 0.9)
