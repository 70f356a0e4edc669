"""Roll the follower's roller on a drawn cam: where it touches, how high it stands, what torque that asks for.

Nothing here knows the law that the cam was drawn from; only its corners are used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.build.force_curve import ForceCurve
from shotwright.build.snail_cam import Follower

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Rolled:
    """What the roller does on the outline.

    Parameters
    ----------
    turn : ndarray, shape (n,)
        Of the cam. [rad]
    lift : ndarray, shape (n,)
        Height of the roller above its lowest point; negative where the cam is clear of it. [m]
    rate : ndarray, shape (n,)
        d lift/d turn from the place of contact and the direction of the common normal. [m/rad]
    contact : ndarray, shape (n, 2)
        Place of contact in the follower's frame: along its line, to its left. [m]
    """

    turn: FloatArray
    lift: FloatArray
    rate: FloatArray
    contact: FloatArray


def roll(points: FloatArray, follower: Follower, turn: FloatArray) -> Rolled:
    """Set the roller down on the outline at each angle of the cam.

    The roller's centre comes down its line until the roller touches a corner or a side. With the contact at
    (p_a, p_l), along and left, and the common normal (m_a, m_l), rolling gives dy/dtheta = p_l - p_a m_l/m_a.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Closed outline in the cam's frame. [m]
    follower : Follower
        Roller, prime radius, offset.
    turn : ndarray, shape (k,)
        The cam turns clockwise by these. [rad]

    Returns
    -------
    Rolled
        At these angles; NaN where the line passes the cam by.
    """
    found = [_set_down(points, follower, float(angle)) for angle in np.asarray(turn, dtype=float)]
    rows = np.array(found).reshape(-1, 4)
    height, p_a, p_l, slope = rows.T
    return Rolled(
        turn=np.asarray(turn, dtype=float),
        lift=height - follower.low,
        rate=p_l - p_a * slope,
        contact=np.column_stack([p_a, p_l]),
    )


def _set_down(points: FloatArray, follower: Follower, angle: float) -> tuple[float, float, float, float]:
    """Height of the roller's centre, place of contact, and m_l/m_a, at one angle."""
    r, line = follower.roller, follower.offset
    c, s = np.cos(angle), np.sin(angle)
    along, left = points[:, 0] * c + points[:, 1] * s, points[:, 1] * c - points[:, 0] * s
    off = left - line
    # Only sides that come within a roller's radius of the line on the follower's side can touch.
    last_off, last_along = np.roll(off, 1), np.roll(along, 1)
    near = (np.minimum(off, last_off) <= r) & (np.maximum(off, last_off) >= -r) & (along > 0)
    if not near.any():
        return np.nan, np.nan, np.nan, np.nan
    a1, l1, a0, l0 = along[near], off[near], last_along[near], last_off[near]
    best = (-np.inf, np.nan, np.nan, np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        corner = a1 + np.sqrt(r**2 - l1**2)
        k = int(np.argmax(np.where(np.isfinite(corner), corner, -np.inf)))
        if np.isfinite(corner[k]):
            best = (float(corner[k]), float(a1[k]), float(l1[k]), float(-l1[k] / (corner[k] - a1[k])))
        da, dl = a1 - a0, l1 - l0
        size = np.hypot(da, dl)
        facing = np.where(dl < 0, -1.0, 1.0)
        m_a, m_l = facing * dl / size, -facing * da / size  # normal of the side, on the follower's side
        share = (-r * m_l - l0) / dl  # where along the side the roller touches
        side = np.where((share >= 0) & (share <= 1), a0 + share * da + r * m_a, -np.inf)
        k = int(np.argmax(side))
    if side[k] > best[0]:
        touch = (float(a0[k] + share[k] * da[k]), float(l0[k] + share[k] * dl[k]))
        best = (float(side[k]), *touch, float(m_l[k] / m_a[k]))
    return best[0], best[1], best[2] + line, best[3]


@dataclass(frozen=True, slots=True, eq=False)
class OutlineTorque:
    """Torque that the drawn cam asks for.

    Parameters
    ----------
    turn : ndarray, shape (n,)
        [rad]
    torque : ndarray, shape (n,)
        F dy/dtheta at the place of contact, without friction; 0 where the spring rests on its stop. [N m]
    mean : ndarray, shape (n - 1,)
        Work done between neighbouring angles over the turn between them. [N m]
    lift : ndarray, shape (n,)
        Of the spring, never below 0. [m]
    """

    turn: FloatArray
    torque: FloatArray
    mean: FloatArray
    lift: FloatArray


def outline_torque(rolled: Rolled, curve: ForceCurve) -> OutlineTorque:
    """Torque over the turn from the rolled outline and the spring's force.

    Parameters
    ----------
    rolled : Rolled
        From :func:`roll`.
    curve : ForceCurve
        Of the spring.

    Returns
    -------
    OutlineTorque
        At the same angles.
    """
    # Rounding of the outline must not ask for forces beyond the ends of the curve.
    lift = np.clip(np.nan_to_num(rolled.lift, nan=0.0), 0.0, curve.stroke)
    resting = ~(rolled.lift > 0)
    torque = np.where(resting, 0.0, curve.force(lift) * np.nan_to_num(rolled.rate))
    mean = np.diff(curve.work(lift)) / np.diff(rolled.turn)
    return OutlineTorque(rolled.turn, torque, mean, lift)
