"""What a spring pulls with along its stroke, the work it takes, and the travel that a given work reaches.

Travel counts from the front stop (0) to the wound end. Numbers or arrays, SI.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput

FloatArray = NDArray[np.float64]
_STEPS = 60  # of Newton held between halvings; it settles in under ten


@dataclass(frozen=True, slots=True, eq=False)
class ForceCurve:
    """Force against travel as cubic pieces.

    Parameters
    ----------
    knots : ndarray, shape (n,)
        Travel where pieces meet, rising from 0 to the stroke. [m]
    pieces : ndarray, shape (4, n - 1)
        Coefficients of each piece in the travel from its own knot, highest power first. [N/m^3 ... N]
    origin : str
        Where it comes from, in words: ``"linear, 900 N/m"``, ``"measured, 12 readings"``.
    """

    knots: FloatArray
    pieces: FloatArray
    origin: str

    def __post_init__(self) -> None:
        """Refuse a curve that does no work somewhere."""
        dense = np.linspace(0.0, self.stroke, 2001)[1:]
        if not (np.isfinite(self.pieces).all() and self.stroke > 0 and (np.diff(self.knots) > 0).all()):
            raise BadInput("the force curve needs a stroke greater than zero and finite forces")
        force = self.force(dense)
        if not (force > 0).all() or self.force(0.0) < 0:
            low = float(dense[np.argmin(force)])
            raise BadInput(
                f"the force is {float(force.min()):.3g} N at {1e3 * low:.3g} mm of travel; it must push all "
                "along the stroke"
            )

    @property
    def stroke(self) -> float:
        """Travel from the front stop to the wound end. [m]."""
        return float(self.knots[-1])

    def _piece(self, travel: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
        i = np.clip(np.searchsorted(self.knots, travel, side="right") - 1, 0, len(self.knots) - 2)
        return i, travel - self.knots[i]

    def force(self, travel: ArrayLike) -> FloatArray:
        """Return the force at a travel. [N]."""
        i, h = self._piece(np.asarray(travel, dtype=float))
        a, b, c, d = self.pieces[:, i]
        return np.asarray(((a * h + b) * h + c) * h + d)

    def slope(self, travel: ArrayLike) -> FloatArray:
        """Return dF/dx, the local stiffness. [N/m]."""
        i, h = self._piece(np.asarray(travel, dtype=float))
        a, b, c, _ = self.pieces[:, i]
        return np.asarray((3 * a * h + 2 * b) * h + c)

    def bend(self, travel: ArrayLike) -> FloatArray:
        """Return d2F/dx2; it jumps at the knots. [N/m^2]."""
        i, h = self._piece(np.asarray(travel, dtype=float))
        a, b, _, _ = self.pieces[:, i]
        return np.asarray(6 * a * h + 2 * b)

    def _work_at_knots(self) -> FloatArray:
        h = np.diff(self.knots)
        a, b, c, d = self.pieces
        return np.concatenate([[0.0], np.cumsum((((a / 4 * h + b / 3) * h + c / 2) * h + d) * h)])

    def work(self, travel: ArrayLike) -> FloatArray:
        """Return the work from the front stop to a travel, the integral of the force. [J]."""
        i, h = self._piece(np.asarray(travel, dtype=float))
        a, b, c, d = self.pieces[:, i]
        return np.asarray(self._work_at_knots()[i] + (((a / 4 * h + b / 3) * h + c / 2) * h + d) * h)

    @property
    def total_work(self) -> float:
        """Work of the whole stroke. [J]."""
        return float(self.work(self.stroke))

    def travel(self, work: ArrayLike) -> FloatArray:
        """Return the travel that a work reaches: the inverse of `work`. [m].

        Newton's steps, each kept within a bracket that halves; good to the last digits.
        """
        wanted = np.clip(np.asarray(work, dtype=float), 0.0, self.total_work)
        at = self._work_at_knots()
        i = np.clip(np.searchsorted(at, wanted, side="right") - 1, 0, len(self.knots) - 2)
        low, high = self.knots[i].copy(), self.knots[i + 1].copy()
        x = low + (high - low) * (wanted - at[i]) / (at[i + 1] - at[i])
        for _ in range(_STEPS):
            miss = self.work(x) - wanted
            low, high = np.where(miss <= 0, x, low), np.where(miss >= 0, x, high)
            with np.errstate(divide="ignore", invalid="ignore"):
                step = x - miss / self.force(x)
            inside = (step >= low) & (step <= high)
            new = np.where(inside, step, 0.5 * (low + high))
            done = bool((np.abs(new - x) <= 4e-16 * self.stroke).all())
            x = new
            if done:
                break
        return np.asarray(x)


def linear_force(stiffness: float, preload: float, stroke: float) -> ForceCurve:
    """Force of a linear spring, F = k (x0 + x).

    Parameters
    ----------
    stiffness : float
        k. [N/m]
    preload : float
        x0, how far it is bent at the front stop. [m]
    stroke : float
        [m]

    Returns
    -------
    ForceCurve
        Exact.

    Raises
    ------
    BadInput
        Nothing to wind.

    Examples
    --------
    >>> round(linear_force(900, 0.04, 0.09).total_work, 9)
    6.885
    """
    if not (stiffness > 0 and preload >= 0):
        raise BadInput(
            f"stiffness {stiffness:g} N/m and preload {preload:g} m: the first must be above zero, the "
            "second zero or more"
        )
    return polynomial_force([stiffness * preload, stiffness], stroke, f"linear, {stiffness:.6g} N/m")


def polynomial_force(coefficients: Sequence[float], stroke: float, origin: str = "polynomial") -> ForceCurve:
    """Force as a polynomial of the travel, F = c0 + c1 x + c2 x^2 + c3 x^3.

    Parameters
    ----------
    coefficients : sequence of float
        c0 and on, at most four. [N, N/m, N/m^2, N/m^3]
    stroke : float
        [m]
    origin : str
        In words.

    Returns
    -------
    ForceCurve
        Exact.

    Examples
    --------
    >>> round(polynomial_force([30, 900, 4000], 0.09).total_work, 9)
    7.317
    """
    if not 1 <= len(coefficients) <= 4:
        raise BadInput(f"{len(coefficients)} coefficients; give one to four")
    pieces = np.zeros((4, 1))
    pieces[4 - len(coefficients) :, 0] = list(coefficients)[::-1]
    return ForceCurve(np.array([0.0, float(stroke)]), pieces, origin)


def curve_through(travel: ArrayLike, force: ArrayLike, origin: str = "measured") -> ForceCurve:
    """Force that passes through measured points, without waves between them.

    Cubic pieces of Fritsch and Carlson: where the points rise, the curve rises. Points at one travel are
    averaged.

    Parameters
    ----------
    travel : array_like, shape (n,)
        Starting at 0, the front stop. [m]
    force : array_like, shape (n,)
        [N]
    origin : str
        In words.

    Returns
    -------
    ForceCurve
        Once smoothly differentiable.

    Raises
    ------
    BadInput
        Fewer than two different travels, or none at the front stop.

    References
    ----------
    F. N. Fritsch and R. E. Carlson, Monotone piecewise cubic interpolation, SIAM J. Numer. Anal. 17
    (1980), 238-246.
    """
    from scipy.interpolate import PchipInterpolator

    x, group = np.unique(np.asarray(travel, dtype=float), return_inverse=True)
    if len(x) < 2 or abs(x[0]) > 1e-9:
        raise BadInput("the points need at least two different travels, the first at 0, the front stop")
    mean = np.bincount(group, np.asarray(force, dtype=float)) / np.bincount(group)
    return ForceCurve(x, np.asarray(PchipInterpolator(x, mean).c, dtype=float), origin)
