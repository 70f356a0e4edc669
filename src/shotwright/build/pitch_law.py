r"""Pitch radius of a gear that winds a spring through a rack, as a law of the rack's travel.

The pinion turns about a fixed axis, the rack slides along x. The pitch point lies on the line through the
axis square to the travel, at the distance r: there both have the same velocity, so dx = r dtheta. Without
friction T = F(x) r(x), so constant torque asks for r = T/F(x).

Every law here is r = T g(x) with a shape g [1/N]; the torque's scale T follows from the angle of the turn,
T Theta = integral of dx/g over the stroke.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.build.force_curve import ForceCurve

FloatArray = NDArray[np.float64]
_DENSE = 2001
_LOOKS = 14  # each five times closer


class RadiusLaw(Protocol):
    """Shape of the pitch radius over the travel."""

    @property
    def curve(self) -> ForceCurve:
        """The spring."""

    @property
    def corners(self) -> FloatArray:
        """Travels where a derivative of the shape may jump. [m]"""

    def shape(self, travel: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return g, dg/dx, d2g/dx2; beyond the stroke it goes on smoothly. [1/N, 1/(N m), 1/(N m^2)]"""


@dataclass(frozen=True, slots=True, eq=False)
class EvenTorque:
    r"""Constant torque: g = 1/F(x); after a soft start, if one is asked for.

    Over the soft start b the radius is a parabola that begins level and meets 1/F with its slope:

    .. math:: g(x) = g_b + g_b' (x^2 - b^2)/(2 b), \quad x < b

    The torque there is below T (for a spring that stiffens in the usual way: 1/F bends upwards) and rises to
    it. Beyond its ends the stroke goes on with the same relative slope.

    Parameters
    ----------
    curve : ForceCurve
        Of the spring.
    soft_start : float
        b. [m]
    """

    curve: ForceCurve
    soft_start: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what can't be built."""
        if not 0 <= self.soft_start < self.curve.stroke:
            raise BadInput(
                f"{1e3 * self.soft_start:.4g} mm must be at least 0 and less than the stroke, "
                f"{1e3 * self.curve.stroke:.4g} mm",
                field="soft_start",
            )
        start, end = self.curve.force(self.soft_start), self.curve.force(self.curve.stroke)
        if not float(start) > 1e-2 * float(end):
            raise NoAnswer(
                "without preload a constant torque would need an endless pitch radius at the start; give the "
                "spring a preload, or a soft start of e.g. a quarter of the stroke"
            )

    @property
    def corners(self) -> FloatArray:
        """Travels where a derivative of the shape may jump. [m]"""
        return np.union1d(self.curve.knots, [self.soft_start])

    def _inverse(self, travel: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        force, slope = self.curve.force(travel), self.curve.slope(travel)
        bend = self.curve.bend(travel)
        return 1 / force, -slope / force**2, (2 * slope**2 / force - bend) / force**2

    def shape(self, travel: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return g, dg/dx, d2g/dx2 at travels inside and beyond the stroke."""
        x = np.asarray(travel, dtype=float)
        b, end = self.soft_start, self.curve.stroke
        g, first, second = self._inverse(np.clip(x, b, end))
        if b > 0:
            in_start, u = x < b, np.clip(x, 0.0, b)
            g = np.where(in_start, g + first * (u**2 - b**2) / (2 * b), g)
            second = np.where(in_start, first / b, second)
            first = np.where(in_start, first * u / b, first)
        over = x - np.clip(x, 0.0, end)
        rate = first / g
        grown = np.exp(rate * over)
        outside = over != 0
        second = np.where(outside, g * rate**2 * grown, second)
        return g * grown, first * grown, second


@dataclass(frozen=True, slots=True, eq=False)
class StraightRack:
    """A straight rack, tilted to its travel: g = a + b x, a logarithmic spiral for the gear.

    Parameters
    ----------
    curve : ForceCurve
        Of the spring.
    start : float
        a. [1/N]
    slope : float
        b. [1/(N m)]
    """

    curve: ForceCurve
    start: float
    slope: float

    @property
    def corners(self) -> FloatArray:
        """Travels where a derivative of the shape may jump: only the ends. [m]"""
        return np.array([0.0, self.curve.stroke])

    def shape(self, travel: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return g, dg/dx, d2g/dx2."""
        x = np.asarray(travel, dtype=float)
        g = self.start + self.slope * x
        return g, np.full_like(x, self.slope), np.zeros_like(x)


def best_straight(curve: ForceCurve) -> StraightRack:
    """Tilted straight rack whose torque ripples least: the smallest ratio of highest to lowest torque.

    For a linear spring the torque is a parabola in the travel, equal at both ends, and the ratio is
    (x0 + x1)^2/(4 x0 x1) with the spring's bend x0 at the front stop and x1 at the wound end.

    Parameters
    ----------
    curve : ForceCurve
        Of the spring.

    Returns
    -------
    StraightRack
        Scaled so that the mean of F g over the turn is 1.

    Raises
    ------
    NoAnswer
        No preload.
    """
    x = np.linspace(0.0, curve.stroke, _DENSE)
    force = curve.force(x)
    if not force[0] > 0:
        raise NoAnswer("a straight rack needs a preload; without one the torque starts from nothing")

    log_end, wide = 0.0, float(np.log(force.max() / force.min())) + 1.0
    # The spread of log torque falls to one lowest place and rises again: look closer and closer around it.
    for _ in range(_LOOKS):
        tried = log_end + wide * np.linspace(-1.0, 1.0, 21)
        torque = force * (1 + (np.exp(tried)[:, None] - 1) * x / curve.stroke)
        log_end = float(tried[np.argmin(torque.max(axis=1) / torque.min(axis=1))])
        wide *= 0.2
    end = float(np.exp(log_end))
    # mean torque over the turn = work / angle, angle = integral of dx/g
    share = np.log(end) / (end - 1) if abs(end - 1) > 1e-9 else 1.0
    start = curve.stroke * float(share) / curve.total_work
    return StraightRack(curve, start, start * (end - 1) / curve.stroke)
