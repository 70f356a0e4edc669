"""Lift of a snail (drop) cam that winds a spring with the same torque all the way round.

The cam turns by theta; the follower's lift y is the spring's travel. Without friction T dtheta = F dy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.build.force_curve import ForceCurve

FloatArray = NDArray[np.float64]
LEAST_RISE, LEAST_BLEND = math.radians(20), math.radians(0.5)
MOST_BLEND = 0.9  # of the rise
_DENSE = 1441  # angles at which angle and curvature limits are looked at


class Lift(Protocol):
    """A lift over the turn."""

    @property
    def rise(self) -> float:
        """Angle over which the follower rises. [rad]."""

    def lift(self, turn: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return y, dy/dtheta, d2y/dtheta2 at angles from 0 to the rise. [m, m/rad, m/rad^2]."""


@dataclass(frozen=True, slots=True, eq=False)
class EvenTorque:
    r"""Constant-torque lift: the work of the spring grows evenly with the turn.

    .. math:: W(y(\theta)) = T (\theta - \beta/2), \quad T = W(S)/(\Theta - \beta/2)

    for theta beyond the blend beta; over the blend the torque rises in a straight line from 0, and
    W = T theta^2/(2 beta). For a linear spring without blend
    y + x0 = sqrt(x0^2 + (x1^2 - x0^2) theta/Theta).

    Parameters
    ----------
    curve : ForceCurve
        Of the spring.
    rise : float
        Theta. [rad]
    blend : float
        beta; 0 for full torque from the start. [rad]
    """

    curve: ForceCurve
    rise: float
    blend: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what can't be built."""
        if not LEAST_RISE <= self.rise < 2 * math.pi:
            raise BadInput(
                f"{math.degrees(self.rise):.4g} deg is no rise; it must be between "
                f"{math.degrees(LEAST_RISE):g} and 360 deg, with room for the drop",
                field="rise",
            )
        if self.blend != 0 and not LEAST_BLEND <= self.blend <= MOST_BLEND * self.rise:
            raise BadInput(
                f"{math.degrees(self.blend):.4g} deg must be 0, or from {math.degrees(LEAST_BLEND):g} deg to "
                f"{MOST_BLEND:g} of the rise",
                field="blend",
            )
        if self.blend == 0 and float(self.curve.force(0.0)) < 1e-3 * float(
            self.curve.force(self.curve.stroke)
        ):
            raise NoAnswer(
                "without preload a constant torque would need an infinitely steep start; give the spring a "
                "preload, or let the torque rise over a blend of e.g. 30 deg"
            )

    @property
    def torque(self) -> float:
        """T, the torque beyond the blend, without friction. [N m]."""
        return self.curve.total_work / (self.rise - self.blend / 2)

    def torque_at(self, turn: ArrayLike) -> FloatArray:
        """Return the torque at angles of the rise. [N m]."""
        t = np.asarray(turn, dtype=float)
        share = np.minimum(t / self.blend, 1.0) if self.blend else np.ones_like(t)
        return np.asarray(self.torque * share)

    def lift(self, turn: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return y, y', y'' at angles of the rise: y' = T/F, y'' = (T' - F' y'^2)/F."""
        # Where torque and force both start from nothing their ratio is the one just beside.
        t = np.maximum(np.asarray(turn, dtype=float), 1e-6 * self.rise if self.blend else 0.0)
        b = self.blend
        work = self.torque * np.where(t < b, t**2 / (2 * b) if b else 0.0, t - b / 2)
        y = self.curve.travel(work)
        force = self.curve.force(y)
        first = self.torque_at(t) / force
        rate = np.where(t < b, self.torque / b if b else 0.0, 0.0)
        return y, first, np.asarray((rate - self.curve.slope(y) * first**2) / force)


@dataclass(frozen=True, slots=True, eq=False)
class PlainSnail:
    """Lift that grows evenly with the turn, as a snail drawn by eye or with a string does.

    Parameters
    ----------
    curve : ForceCurve
        Of the spring.
    rise : float
        [rad]
    """

    curve: ForceCurve
    rise: float

    def lift(self, turn: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return y, y', y'' at angles of the rise."""
        t = np.asarray(turn, dtype=float)
        rate = self.curve.stroke / self.rise
        return rate * t, np.full_like(t, rate), np.zeros_like(t)

    def torque_at(self, turn: ArrayLike) -> FloatArray:
        """Return the torque at angles of the rise, F S/Theta. [N m]."""
        y, rate, _ = self.lift(turn)
        return np.asarray(self.curve.force(y) * rate)


@dataclass(frozen=True, slots=True, eq=False)
class HeldLift:
    """A lift looked up once, at angles that stay the same.

    Parameters
    ----------
    rise : float
        [rad]
    height, first, second : ndarray, shape (n,)
        y, y', y'' at those angles. [m, m/rad, m/rad^2]
    """

    rise: float
    height: FloatArray
    first: FloatArray
    second: FloatArray

    def lift(self, turn: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:  # noqa: ARG002  # held
        """Return what is held."""
        return self.height, self.first, self.second


def plain_peak_ratio(curve: ForceCurve) -> float:
    """Peak torque of a plain snail over the constant torque of the same work and rise: F_max S/W(S).

    For a linear spring 2 x1/(x1 + x0).

    Parameters
    ----------
    curve : ForceCurve
        Of the spring.

    Returns
    -------
    float
        At least 1. [-]

    Examples
    --------
    >>> from shotwright.build.force_curve import linear_force
    >>> round(plain_peak_ratio(linear_force(900, 0.04, 0.09)), 9)
    1.529411765
    """
    dense = curve.force(np.linspace(0.0, curve.stroke, 4001))
    return float(dense.max()) * curve.stroke / curve.total_work


@dataclass(frozen=True, slots=True)
class Follower:
    """A roller that slides towards and from the cam on a straight line.

    Parameters
    ----------
    roller : float
        Radius of the roller. [m]
    prime : float
        Distance of the roller's centre from the cam's axis at the lowest point. [m]
    offset : float
        Distance of the follower's line from the axis; positive on the side from which the cam's rise comes
        under the roller. [m]
    """

    roller: float
    prime: float
    offset: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what can't be built."""
        if not self.roller > 0:
            raise BadInput(f"{1e3 * self.roller:.4g} mm is no radius; it must be above zero", field="roller")
        if not self.prime > self.roller:
            raise BadInput(
                f"prime radius {1e3 * self.prime:.4g} mm must exceed the roller's radius "
                f"{1e3 * self.roller:.4g} mm",
                field="prime",
            )
        if not abs(self.offset) < self.prime:
            raise BadInput(
                f"offset {1e3 * self.offset:.4g} mm must be less than the prime radius "
                f"{1e3 * self.prime:.4g} mm",
                field="offset",
            )

    @property
    def base(self) -> float:
        """Radius of the base circle. [m]."""
        return self.prime - self.roller

    @property
    def low(self) -> float:
        """Roller's centre along the follower's line at the lowest point. [m]."""
        return math.sqrt(self.prime**2 - self.offset**2)


@dataclass(frozen=True, slots=True, eq=False)
class Pitch:
    """Path of the roller's centre in the cam's own frame, and the edge that it leaves.

    Parameters
    ----------
    turn : ndarray, shape (n,)
        [rad]
    centre : ndarray, shape (n, 2)
        Of the roller. [m]
    contact : ndarray, shape (n, 2)
        Where it touches: the edge of the cam. [m]
    pressure_angle : ndarray, shape (n,)
        Between the follower's line and the common normal. [rad]
    radius : ndarray, shape (n,)
        Of curvature of the path; negative where it is hollow. [m]
    """

    turn: FloatArray
    centre: FloatArray
    contact: FloatArray
    pressure_angle: FloatArray
    radius: FloatArray


def pitch_curve(lift: Lift, follower: Follower, turn: FloatArray) -> Pitch:
    r"""Pitch curve, working curve, pressure angle and curvature of a cam with a sliding roller follower.

    .. math:: \tan\phi = (y' - \epsilon)/(y + \sqrt{R_p^2 - \epsilon^2})

    .. math:: \rho = (R^2 + y'^2)^{3/2}/(R^2 + 2y'^2 - R y'') \quad (\epsilon = 0, R = R_p + y)

    Axes of the cam: its rise lies anticlockwise, so it winds turning clockwise under a follower that stays.

    Parameters
    ----------
    lift : Lift
        y over the turn.
    follower : Follower
        Roller, prime radius, offset.
    turn : ndarray, shape (n,)
        From 0 to the rise. [rad]

    Returns
    -------
    Pitch
        At these angles.

    References
    ----------
    R. L. Norton, Design of Machinery, chapter 8 (from memory).
    """
    y, first, second = lift.lift(turn)
    along, across = follower.low + y, first - follower.offset
    c, s = np.cos(turn), np.sin(turn)
    up = np.column_stack([c, s])  # the follower's line, seen from the cam
    left = np.column_stack([-s, c])
    centre = along[:, None] * up + follower.offset * left
    size = np.hypot(along, across)
    normal = (along[:, None] * up - across[:, None] * left) / size[:, None]
    bend = across * (first + across) - along * (second - along)
    with np.errstate(divide="ignore"):
        radius = size**3 / bend
    return Pitch(
        turn=turn,
        centre=centre,
        contact=centre - follower.roller * normal,
        pressure_angle=np.arctan2(across, along),
        radius=radius,
    )


def least_prime_radius(
    lift: Lift,
    roller: float,
    *,
    offset: float = 0.0,
    pressure_angle: float = math.radians(30),
    roundness: float = 2.0,
    at_least: float = 0.0,
) -> float:
    """Smallest prime radius that keeps the pressure angle and the curvature within their guides.

    Parameters
    ----------
    lift : Lift
        y over the turn.
    roller : float
        Radius. [m]
    offset : float
        Of the follower's line. [m]
    pressure_angle : float
        Largest allowed. [rad]
    roundness : float
        Least radius of curvature of the pitch curve where it bulges, in roller radii. [-]
    at_least : float
        Where to start, e.g. what the hub needs. [m]

    Returns
    -------
    float
        [m]

    Raises
    ------
    NoAnswer
        No radius up to ten strokes and more does.

    Notes
    -----
    Guides: 30 degrees for a sliding follower (common practice), 2 to 3 roller radii. At the start of a
    centred follower the first is R_p = y'(0)/tan(30 deg).
    """
    turn = np.linspace(0.0, lift.rise, _DENSE)
    held = HeldLift(lift.rise, *lift.lift(turn))

    def good(prime: float) -> bool:
        path = pitch_curve(held, Follower(roller, prime, offset), turn)
        bulging = path.radius[path.radius > 0]
        flat = np.abs(path.pressure_angle).max() <= pressure_angle
        return bool(flat and (bulging.size == 0 or bulging.min() >= roundness * roller))

    low = max(at_least, roller * 1.0001, abs(offset) * 1.0001)
    if good(low):
        return low
    high = 2 * low + 10 * (float(held.height.max()) + float(held.first.max()))
    if not good(high):
        raise NoAnswer(
            f"no cam up to {2e3 * high:.0f} mm across keeps the pressure angle below "
            f"{math.degrees(pressure_angle):.3g} deg with a pitch curve of {roundness:g} roller radii; raise "
            "the rise, the preload or the blend, or take a smaller roller"
        )
    while high - low > 1e-7:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if good(middle) else (middle, high)
    return high


def fall_time(curve: ForceCurve, mass: float) -> float:
    r"""Time in which the spring drives a mass from the wound end to the front stop, from rest.

    .. math:: t = \int_0^S dx/\sqrt{2 (W(S) - W(x))/M}

    Parameters
    ----------
    curve : ForceCurve
        Of the spring.
    mass : float
        What moves, with a third of the spring and the ball where it is pushed. [kg]

    Returns
    -------
    float
        Without friction. [s]

    Examples
    --------
    >>> from shotwright.build.force_curve import linear_force
    >>> round(fall_time(linear_force(900, 0.04, 0.09), 0.34), 10)
    0.0244517004
    """
    if not mass > 0:
        raise BadInput(f"{mass:g} kg is no mass; it must be above zero", field="mass")
    # x = S (1 - u^2) takes the root's pole away; Gauss-Legendre does the rest.
    nodes, weights = np.polynomial.legendre.leggauss(60)
    u, w = 0.5 * (nodes + 1), 0.5 * weights
    left = curve.total_work - curve.work(curve.stroke * (1 - u**2))
    return float(np.sum(w * 2 * curve.stroke * u / np.sqrt(2 * left / mass)))
