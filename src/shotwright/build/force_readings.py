"""A spring from the crew's own readings of force against travel: rate, energy, loss, with intervals."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.base.plain import Result
from shotwright.build.force_curve import ForceCurve, curve_through, polynomial_force

FloatArray = NDArray[np.float64]
_MOST_DEGREE = 3
_SPARE = 2  # readings beyond the numbers fitted, at least


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """Readings one way: while loading, or while unloading.

    Parameters
    ----------
    travel : ndarray, shape (n,)
        As measured, from any mark. [m]
    force : ndarray, shape (n,)
        [N]
    """

    travel: FloatArray
    force: FloatArray

    def __init__(self, travel: ArrayLike, force: ArrayLike) -> None:
        x, f = np.asarray(travel, dtype=float).ravel(), np.asarray(force, dtype=float).ravel()
        if len(x) != len(f):
            raise BadInput(f"{len(x)} travels and {len(f)} forces; each reading needs both")
        if not (np.isfinite(x).all() and np.isfinite(f).all()):
            raise BadInput("a travel or a force is not a number")
        object.__setattr__(self, "travel", x)
        object.__setattr__(self, "force", f)


@dataclass(frozen=True, slots=True, eq=False)
class SmoothFit:
    """Polynomial through one branch, with the covariance of its coefficients.

    Parameters
    ----------
    middle, half : float
        The polynomial's variable is u = (x - middle)/half. [m]
    coefficients : ndarray, shape (p,)
        Lowest power of u first. [N]
    covariance : ndarray, shape (p, p)
        [N^2]
    free : int
        Degrees of freedom.
    misfit : float
        Standard deviation of the readings about the curve. [N]
    """

    middle: float
    half: float
    coefficients: FloatArray
    covariance: FloatArray
    free: int
    misfit: float

    @property
    def degree(self) -> int:
        """Of the polynomial."""
        return len(self.coefficients) - 1

    def force_row(self, x: float) -> FloatArray:
        """Row that gives the force at x from the coefficients."""
        return np.asarray(((x - self.middle) / self.half) ** np.arange(self.degree + 1))

    def work_row(self, low: float, high: float) -> FloatArray:
        """Row that gives the work between two travels from the coefficients. [m]."""
        power = np.arange(1, self.degree + 2)
        a, b = (low - self.middle) / self.half, (high - self.middle) / self.half
        return np.asarray(self.half * (b**power - a**power) / power)

    def estimate(self, row: FloatArray) -> Estimated:
        """Value of a row times the coefficients, with Student's interval."""
        from scipy import stats

        value = float(row @ self.coefficients)
        if self.free < 1:
            return NotEstimated("no reading to spare beyond the numbers fitted; take more readings")
        variance = max(float(row @ self.covariance @ row), 0.0)
        half = float(stats.t.ppf(0.975, self.free)) * variance**0.5
        method = f"least squares, Student t with {self.free} degrees of freedom"
        return Estimate(value, value - half, value + half, method=method)

    def curve(self, front: float, stroke: float, origin: str) -> ForceCurve:
        """Force curve from `front` in the readings' own travel."""
        ahead = np.polynomial.Polynomial(self.coefficients)(
            np.polynomial.Polynomial([(front - self.middle) / self.half, 1 / self.half])
        )
        return polynomial_force([float(c) for c in ahead.coef], stroke, origin)


def smooth_fit(branch: Branch, degree: int | None = None) -> SmoothFit:
    """Fit force against travel by a polynomial of degree 1 to 3.

    Parameters
    ----------
    branch : Branch
        Readings one way.
    degree : int, optional
        Of the polynomial. Left out: the highest whose last term differs from zero (t test, 5 %), as far as
        there are two readings more than numbers to fit; a straight line else.

    Returns
    -------
    SmoothFit
        Least squares.

    Raises
    ------
    BadInput
        Fewer than two different travels.

    References
    ----------
    N. R. Draper and H. Smith, Applied Regression Analysis, on polynomials (from memory).
    """
    n, apart = len(branch.travel), len(np.unique(branch.travel))
    if apart < 2:
        raise BadInput(f"readings at {apart} travel; at least two different ones are needed")
    if degree is not None:
        return _fit(branch, degree)
    most = min(_MOST_DEGREE, apart - 1, n - 1 - _SPARE)
    for d in range(most, 1, -1):
        with contextlib.suppress(BadInput):  # travels too uneven for this degree: a lower one will do
            fit = _fit(branch, d)
            if _bends(fit):
                return fit
    return _fit(branch, 1)


def _bends(fit: SmoothFit) -> bool:
    """Whether the last term differs from zero; readings carry at least rounding of a millionth."""
    from scipy import stats

    last = abs(float(fit.coefficients[-1]))
    floor = 1e-6 * float(np.abs(fit.coefficients).max())
    doubt = max(float(fit.covariance[-1, -1]) ** 0.5, floor)
    return bool(last > float(stats.t.ppf(0.975, fit.free)) * doubt)


def _fit(branch: Branch, degree: int) -> SmoothFit:
    low, high = float(branch.travel.min()), float(branch.travel.max())
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    rows = np.vander((branch.travel - middle) / half, degree + 1, increasing=True)
    found, _, rank, _ = np.linalg.lstsq(rows, branch.force, rcond=1e-9)
    if rank <= degree:
        raise BadInput(
            f"the travels stand too unevenly for a curve of degree {degree}; spread the readings over "
            "the stroke"
        )
    miss = branch.force - rows @ found
    free = len(branch.force) - degree - 1
    variance = float(miss @ miss) / free if free > 0 else 0.0
    inverse = np.linalg.pinv(rows)
    covariance = inverse @ inverse.T * variance
    return SmoothFit(
        middle, half, np.asarray(found, float), np.asarray(covariance, float), free, variance**0.5
    )


@dataclass(frozen=True, slots=True)
class MeasuredSpring(Result):
    """What readings say of a spring over a stroke.

    Parameters
    ----------
    readings : int
        How many, both ways.
    degree : int
        Of the polynomial through the loading branch.
    rate_n_m : Estimate or NotEstimated
        Slope of the straight line through the loading branch.
    front_n, wound_n : Estimate or NotEstimated
        Force at the front stop and wound, loading.
    energy_in_j : Estimate or NotEstimated
        Work to wind it.
    energy_back_j : Estimate or NotEstimated
        Work it gives back: what drives the ball.
    loss : Estimate or NotEstimated
        Share that does not come back.
    misfit_n : float
        Standard deviation of the loading readings about the curve.
    from_m, to_m : float
        The stroke in the readings' own travel.
    """

    readings: int
    degree: int
    rate_n_m: Estimated
    front_n: Estimated
    wound_n: Estimated
    energy_in_j: Estimated
    energy_back_j: Estimated
    loss: Estimated
    misfit_n: float
    from_m: float
    to_m: float


def measured_spring(
    loading: Branch,
    unloading: Branch | None = None,
    *,
    front: float | None = None,
    stroke: float | None = None,
) -> MeasuredSpring:
    """Rate, energy and loss of a spring from readings.

    Parameters
    ----------
    loading : Branch
        Force while winding.
    unloading : Branch, optional
        Force while it is let back.
    front : float, optional
        Travel of the front stop, in the readings' own; the least one read when left out. [m]
    stroke : float, optional
        Up to the largest one read when left out. [m]

    Returns
    -------
    MeasuredSpring
        With 95 % intervals.

    Raises
    ------
    BadInput
        A stroke beyond the readings.

    Notes
    -----
    The interval holds what scatters from reading to reading; a scale that reads wrong, a spring that sets or
    softens with use, and heat do not show in it.
    """
    low, high = stroke_within(loading, front, stroke)
    fit, line = smooth_fit(loading), smooth_fit(loading, 1)
    back = None if unloading is None else smooth_fit(unloading)
    if unloading is not None:
        stroke_within(unloading, low, high - low)
    into = fit.estimate(fit.work_row(low, high))
    missing = NotEstimated("no readings while unloading; let it back and read the force at the same travels")
    return MeasuredSpring(
        readings=len(loading.travel) + (0 if unloading is None else len(unloading.travel)),
        degree=fit.degree,
        rate_n_m=line.estimate(np.array([0.0, 1 / line.half])),
        front_n=fit.estimate(fit.force_row(low)),
        wound_n=fit.estimate(fit.force_row(high)),
        energy_in_j=into,
        energy_back_j=missing if back is None else back.estimate(back.work_row(low, high)),
        loss=missing if back is None else _loss(fit, back, low, high),
        misfit_n=fit.misfit,
        from_m=low,
        to_m=high,
    )


def stroke_within(branch: Branch, front: float | None, stroke: float | None) -> tuple[float, float]:
    """Ends of the stroke in the readings' own travel; refuse what was not read.

    Parameters
    ----------
    branch : Branch
        The readings.
    front, stroke : float, optional
        As for :func:`measured_spring`. [m]

    Returns
    -------
    tuple of float
        Front stop, wound end. [m]

    Raises
    ------
    BadInput
        The stroke leaves the readings by more than 2 % of their span.
    """
    least, most = float(branch.travel.min()), float(branch.travel.max())
    low = least if front is None else front
    high = most if stroke is None else low + stroke
    slack = 0.02 * (most - least)
    if low < least - slack or high > most + slack or not high > low:
        raise BadInput(
            f"the stroke from {1e3 * low:.4g} to {1e3 * high:.4g} mm is not within the readings "
            f"({1e3 * least:.4g} to {1e3 * most:.4g} mm); read the force over the whole stroke",
            field="stroke",
        )
    return low, high


def _loss(there: SmoothFit, back: SmoothFit, low: float, high: float) -> Estimated:
    """1 - W_back/W_in; interval by the delta method, with the smaller of both degrees of freedom."""
    from scipy import stats

    free = min(there.free, back.free)
    if free < 1:
        return NotEstimated("no reading to spare beyond the numbers fitted; take more readings")
    row_in, row_back = there.work_row(low, high), back.work_row(low, high)
    work_in, work_back = float(row_in @ there.coefficients), float(row_back @ back.coefficients)
    if not work_in > 0:
        return NotEstimated("winding takes no work by these readings; check signs")
    share = work_back / work_in
    variance = (
        float(row_back @ back.covariance @ row_back) + share**2 * float(row_in @ there.covariance @ row_in)
    ) / work_in**2
    half = float(stats.t.ppf(0.975, free)) * max(variance, 0.0) ** 0.5
    method = f"least squares each way, delta method, Student t with {free} degrees of freedom"
    return Estimate(1 - share, 1 - share - half, 1 - share + half, method=method)


def measured_curve(
    branch: Branch, *, front: float | None = None, stroke: float | None = None, through: bool = False
) -> ForceCurve:
    """Force curve of a stroke from readings: smooth, or through every reading.

    Parameters
    ----------
    branch : Branch
        Loading, for a cam; unloading, for the shot.
    front, stroke : float, optional
        As for :func:`measured_spring`. [m]
    through : bool
        Pass through the readings (their mean at one travel) instead of smoothing them.

    Returns
    -------
    ForceCurve
        Travel counts from the front stop.
    """
    low, high = stroke_within(branch, front, stroke)
    origin = f"measured, {len(branch.travel)} readings"
    if not through:
        return smooth_fit(branch).curve(low, high - low, f"{origin}, smoothed")
    # Readings just outside still shape the ends; the curve itself runs from 0 to the stroke.
    whole = curve_through(branch.travel - branch.travel.min(), branch.force, origin)
    inside = np.unique(branch.travel[(branch.travel > low) & (branch.travel < high)])
    travel = np.concatenate([[low], inside, [high]])
    return curve_through(travel - low, whole.force(travel - branch.travel.min()), origin)
