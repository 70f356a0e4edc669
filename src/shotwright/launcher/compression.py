"""Force against squeeze of a ball between two plates, and what comes back of it."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

FloatArray = NDArray[np.float64]


class Compression(Protocol):
    """Force of a ball squeezed between two flat plates."""

    @property
    def loss(self) -> float:
        """Share of the work of squeezing that does not come back. [-]."""

    @property
    def origin(self) -> str:
        """``"measured"`` or ``"assumed"``."""

    def force(self, squeeze: ArrayLike) -> FloatArray:
        """Return the force while closing, for the total squeeze of both sides. [N]."""

    def force_back(self, squeeze: ArrayLike, peak: float) -> FloatArray:
        """Return the force while opening after a squeeze of `peak`. [N]."""

    def work(self, squeeze: ArrayLike) -> FloatArray:
        """Return the work of closing. [J]."""

    @property
    def reach(self) -> float:
        """Squeeze up to which the law is known. [m]."""


@dataclass(frozen=True, slots=True)
class Hertz(Result):
    """Hertz's law: F = K Delta^1.5, for small squeezes of a solid elastic ball between two plates.

    Parameters
    ----------
    stiffness : float
        K. [N/m^1.5]
    loss : float
        Share of the work that does not come back, at any squeeze. [-]
    origin : {"measured", "assumed"}
        Where the stiffness comes from.
    reach : float
        Largest squeeze for which it is meant. [m]

    References
    ----------
    K. L. Johnson, Contact Mechanics (1985), chapter 4.
    """

    stiffness: float
    loss: float = 0.0
    origin: Literal["measured", "assumed"] = "assumed"
    reach: float = math.inf

    def __post_init__(self) -> None:
        """Refuse what is no law."""
        if not (math.isfinite(self.stiffness) and self.stiffness > 0):
            raise BadInput(
                f"{self.stiffness:g} N/m^1.5 must be greater than zero", field="compression.stiffness"
            )
        if not 0 <= self.loss < 1:
            raise BadInput(f"{self.loss:g} must be from 0 to below 1", field="compression.loss")

    def force(self, squeeze: ArrayLike) -> FloatArray:
        """Return the force while closing. [N]."""
        return np.asarray(self.stiffness * np.maximum(np.asarray(squeeze, float), 0.0) ** 1.5)

    def force_back(self, squeeze: ArrayLike, peak: float) -> FloatArray:  # noqa: ARG002  # Hertz forgets its peak
        """Return the force while opening: the same law, less the share that is lost. [N]."""
        return np.asarray((1 - self.loss) * self.force(squeeze))

    def work(self, squeeze: ArrayLike) -> FloatArray:
        """Return the work of closing, (2/5) F Delta. [J]."""
        return np.asarray(0.4 * self.force(squeeze) * np.maximum(np.asarray(squeeze, float), 0.0))


def hertz_from_modulus(radius: float, modulus: float, poisson: float, loss: float = 0.0) -> Hertz:
    """Hertz's law of a ball between two plates from its material.

    One side: F = (4/3) E/(1 - nu^2) sqrt(R) d^1.5, and d = Delta/2 on each side.

    Parameters
    ----------
    radius : float
        Of the ball. [m]
    modulus : float
        E. [Pa]
    poisson : float
        nu. [-]
    loss : float
        Share of the work that does not come back. [-]

    Returns
    -------
    Hertz
        Marked as assumed: small strains, d/R below about 0.1.

    Examples
    --------
    >>> float(hertz_from_modulus(0.089, 0.3e6, 0.2).force(0.02).round(6))
    124.303616
    """
    return Hertz(4 / 3 * modulus / (1 - poisson**2) * math.sqrt(radius) / 2**1.5, loss)


@dataclass(frozen=True, slots=True)
class Readings(Result):
    """What a crew read from a kitchen scale while pressing a ball.

    Parameters
    ----------
    closing : tuple of (float, float)
        Squeeze of both sides together [m] and force [N], while pressing harder.
    opening : tuple of (float, float)
        The same on the way back from the largest squeeze; empty when nobody read it.
    assumed_loss : float, optional
        Share of the work that does not come back, used when `opening` is empty. [-]
    """

    closing: tuple[tuple[float, float], ...]
    opening: tuple[tuple[float, float], ...] = ()
    assumed_loss: float = 0.0


@dataclass(frozen=True, slots=True)
class MeasuredCompression(Result):
    """A rising curve through readings, from (0, 0); beyond the last one it goes straight on.

    Parameters
    ----------
    squeeze : tuple of float
        Knots. [m]
    closing, opening : tuple of float
        Force at the knots, pressing and going back. [N]
    closing_slope, opening_slope : tuple of float
        Their slopes at the knots. [N/m]
    loss : float
        Share of the work up to the last knot that does not come back. [-]
    origin : {"measured", "assumed"}
        Of the curve while closing.
    loss_origin : {"measured", "assumed"}
        Of the share lost.
    misfit : float
        Root mean square of reading less curve, closing. [N]
    """

    squeeze: tuple[float, ...]
    closing: tuple[float, ...]
    opening: tuple[float, ...]
    closing_slope: tuple[float, ...]
    opening_slope: tuple[float, ...]
    loss: float
    origin: Literal["measured", "assumed"] = "measured"
    loss_origin: Literal["measured", "assumed"] = "measured"
    misfit: float = 0.0

    @property
    def reach(self) -> float:
        """Largest squeeze that was read. [m]."""
        return self.squeeze[-1]

    def force(self, squeeze: ArrayLike) -> FloatArray:
        """Return the force while closing. [N]."""
        return _cubic(self.squeeze, self.closing, self.closing_slope, squeeze)

    def force_back(self, squeeze: ArrayLike, peak: float) -> FloatArray:
        """Return the force while opening: the curve read from the largest squeeze, scaled to `peak`. [N]."""
        if peak <= 0:
            return np.zeros(np.shape(squeeze))
        stretched = np.asarray(squeeze, float) * (self.reach / peak)
        height = float(self.force(peak)) / self.closing[-1]
        return np.asarray(_cubic(self.squeeze, self.opening, self.opening_slope, stretched) * height)

    def work(self, squeeze: ArrayLike) -> FloatArray:
        """Return the work of closing. [J]."""
        x = np.maximum(np.asarray(squeeze, float), 0.0)[..., None]
        low = np.asarray(self.squeeze)
        high = np.maximum(np.minimum(x, np.append(low[1:], np.inf)), low)
        # a cubic between knots: two Gauss points are exact
        half, root = (high - low) / 2, 1 / math.sqrt(3)
        middle = (low + high) / 2
        return np.asarray(
            (half * (self.force(middle - root * half) + self.force(middle + root * half))).sum(-1)
        )


def _cubic(
    knots: tuple[float, ...], values: tuple[float, ...], slopes: tuple[float, ...], at: ArrayLike
) -> FloatArray:
    """Cubic Hermite curve; zero below its first knot, straight on beyond its last."""
    x, y, d = np.asarray(knots), np.asarray(values), np.asarray(slopes)
    q = np.maximum(np.asarray(at, float), 0.0)
    i = np.clip(np.searchsorted(x, q, side="right") - 1, 0, len(x) - 2)
    h = x[i + 1] - x[i]
    t = np.minimum((q - x[i]) / h, 1.0)
    curve = (
        y[i] * (1 + 2 * t) * (1 - t) ** 2
        + d[i] * h * t * (1 - t) ** 2
        + y[i + 1] * t * t * (3 - 2 * t)
        - d[i + 1] * h * t * t * (1 - t)
    )
    return np.asarray(curve + np.maximum(q - x[-1], 0.0) * d[-1])


def fit_compression(readings: Readings) -> MeasuredCompression:
    """Put rising curves through readings of a scale.

    The nearest rising sequence in least squares (isotonic regression) takes out readings that fall; a
    monotone cubic through it keeps rising in between. Both curves start at (0, 0) and meet at the largest
    squeeze; the way back never lies above the way in.

    Parameters
    ----------
    readings : Readings
        At least two readings while closing, with different squeezes.

    Returns
    -------
    MeasuredCompression
        The law.

    Raises
    ------
    BadInput
        Too few readings, negative or not finite ones.

    References
    ----------
    R. E. Barlow et al., Statistical Inference under Order Restrictions (1972): pool adjacent violators.
    F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300: the monotone cubic.
    """
    from scipy.interpolate import PchipInterpolator

    x, y = _rising(readings.closing, "closing", 2)
    curve = PchipInterpolator(x, y)
    read = np.array(readings.closing, float)
    loss, loss_origin = readings.assumed_loss, "assumed"
    if not 0 <= loss < 1:
        raise BadInput(f"{loss:g} must be from 0 to below 1", field="compression.loss")
    knots = x
    if readings.opening:
        xb, yb = _rising(readings.opening, "opening", 1)
        inside = xb < x[-1]
        back = PchipInterpolator(np.append(xb[inside], x[-1]), np.append(yb[inside], y[-1]))
        knots = np.unique(np.concatenate([x, xb[inside], np.linspace(0, x[-1], 25)]))
    closing, slope = curve(knots), curve.derivative()(knots)
    opening, back_slope = (1 - loss) * closing, (1 - loss) * slope
    if readings.opening:
        opening = np.minimum(back(knots), closing)
        way_back = PchipInterpolator(knots, opening)
        back_slope = way_back.derivative()(knots)
        area, back_area = float(curve.integrate(0, x[-1])), float(way_back.integrate(0, x[-1]))
        loss, loss_origin = max(0.0, 1 - back_area / area), "measured"
    return MeasuredCompression(
        squeeze=tuple(knots.tolist()),
        closing=tuple(closing.tolist()),
        opening=tuple(opening.tolist()),
        closing_slope=tuple(slope.tolist()),
        opening_slope=tuple(back_slope.tolist()),
        loss=loss,
        loss_origin="measured" if loss_origin == "measured" else "assumed",
        misfit=float(np.sqrt(np.mean((curve(read[:, 0]) - read[:, 1]) ** 2))),
    )


def _rising(pairs: tuple[tuple[float, float], ...], which: str, least: int) -> tuple[FloatArray, FloatArray]:
    """Sorted, rising readings with (0, 0) before them; readings that were pooled become one."""
    from scipy.optimize import isotonic_regression

    field = f"compression.{which}"
    rows = np.array(pairs, float).reshape(-1, 2)
    if not np.isfinite(rows).all() or (rows < 0).any():
        raise BadInput("squeezes and forces must be finite and not negative", field=field)
    rows = rows[rows[:, 0] > 0]
    xs = np.unique(rows[:, 0])
    if len(xs) < least:
        raise BadInput(
            f"{len(xs)} squeezes above zero are not enough for a curve; read at least {least}, better 6",
            field=field,
        )
    counts = np.array([(rows[:, 0] == x).sum() for x in xs])
    means = np.array([rows[rows[:, 0] == x, 1].mean() for x in xs])
    fit = isotonic_regression(means, weights=counts)
    blocks = fit.blocks
    x = np.array([np.average(xs[a:b], weights=counts[a:b]) for a, b in itertools.pairwise(blocks)])
    y = np.array([fit.x[a] for a in blocks[:-1]])
    if y[-1] <= 0:
        raise BadInput("no force was read at any squeeze", field=field)
    return np.insert(x, 0, 0.0), np.insert(y, 0, 0.0)
