"""A strike above or below the ball's centre: what the tip and the ball are free to do decides what it gives.

A ball in a guide, or a tip that can give sideways, trades speed for spin. A rigid tip on a free ball mostly
turns the ball's direction. Height is measured from the ball's centre, up positive; spin is backspin positive,
so a strike above the centre gives negative spin. Numbers or arrays, SI.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TipShot:
    """A ball after a strike off its centre. Every field is an array of one shape.

    Parameters
    ----------
    speed : ndarray
        Of the ball's centre. [m/s]
    direction : ndarray
        Of the ball against the piston's line, up positive. [rad]
    spin : ndarray
        Backspin positive. [rad/s]
    hammer_speed : ndarray
        Of the piston afterwards. [m/s]
    loss : ndarray
        Energy lost in the strike. [J]
    slips : ndarray of bool
        Whether the tip slides on the ball.
    """

    speed: FloatArray
    direction: FloatArray
    spin: FloatArray
    hammer_speed: FloatArray
    loss: FloatArray
    slips: NDArray[np.bool_]


def guided_strike(
    hammer_speed: ArrayLike,
    hammer_mass: ArrayLike,
    ball_mass: ArrayLike,
    radius: ArrayLike,
    inertia_factor: ArrayLike,
    height: ArrayLike,
    *,
    restitution: ArrayLike,
    grip: ArrayLike = np.inf,
) -> TipShot:
    r"""Strike a ball in a guide, or with a tip that can give sideways: the force keeps the piston's line.

    .. math:: v = \frac{(1 + e) u}{1 + m/M + h^2/(\alpha r^2)}, \qquad \omega = -\frac{h v}{\alpha r^2}

    Parameters
    ----------
    hammer_speed : float or ndarray
        u before the strike. [m/s]
    hammer_mass, ball_mass : float or ndarray
        M, m. [kg]
    radius : float or ndarray
        r. [m]
    inertia_factor : float or ndarray
        alpha in I = alpha m r^2. [-]
    height : float or ndarray
        h of the tip above the ball's centre. [m]
    restitution : float or ndarray
        e, at the contact along the piston's line. [-]
    grip : float or ndarray
        Friction coefficient mu between tip and ball. [-]

    Returns
    -------
    TipShot
        Direction is 0.

    Notes
    -----
    Needs |h|/r <= sin(atan mu). Beyond that the tip slides; then the force's arm about the centre is
    r sin(atan mu), which is used in place of h.

    Examples
    --------
    >>> shot = guided_strike(12, 0.2, 0.14, 0.0335, 0.4, 0.4 * 0.0335, restitution=0.6)
    >>> round(float(shot.speed), 6), round(float(shot.spin * 0.0335), 6)
    (9.142857, -9.142857)

    References
    ----------
    Coriolis, Théorie mathématique des effets du jeu de billard (1835).
    """
    u, M, m, r, alpha, h, e, mu = _arrays(
        hammer_speed, hammer_mass, ball_mass, radius, inertia_factor, height, restitution, grip
    )
    limit = r * np.sin(np.arctan(mu))
    slips = np.abs(h) > limit
    arm = np.clip(h, -limit, limit)
    speed = (1 + e) * u / (1 + m / M + arm**2 / (alpha * r**2))
    spin = -arm * speed / (alpha * r**2)
    after = u - m * speed / M
    kept = 0.5 * m * speed**2 + 0.5 * alpha * m * r**2 * spin**2 + 0.5 * M * after**2
    return TipShot(speed, np.zeros_like(speed), spin, after, 0.5 * M * u**2 - kept, slips)


def free_strike(
    hammer_speed: ArrayLike,
    hammer_mass: ArrayLike,
    ball_mass: ArrayLike,
    radius: ArrayLike,
    inertia_factor: ArrayLike,
    height: ArrayLike,
    *,
    restitution: ArrayLike,
    grip: ArrayLike,
) -> TipShot:
    r"""Strike a ball that nothing guides with a rigid rounded tip that touches it at sin(psi) = h/r.

    Impulses J_n along the line through the ball's centre and J_t across it follow from the coefficient of
    restitution along that line and no slip across it, or J_t = mu J_n where the tip slides:

    .. math::
        (1/m + \cos^2\psi/M) J_n + (\cos\psi \sin\psi/M) J_t &= (1 + e) u \cos\psi \\
        (\cos\psi \sin\psi/M) J_n + ((1 + 1/\alpha)/m + \sin^2\psi/M) J_t &= u \sin\psi

    Parameters
    ----------
    hammer_speed, hammer_mass, ball_mass, radius, inertia_factor, height
        As for :func:`guided_strike`; |h| < r.
    restitution : float or ndarray
        e along the line through the ball's centre. [-]
    grip : float or ndarray
        Friction coefficient mu between tip and ball. [-]

    Returns
    -------
    TipShot
        A strike above the centre sends the ball down.

    Notes
    -----
    The tip's own radius does not enter: h is where it touches the ball. Own derivation from momentum,
    angular momentum and the two conditions at the contact. With e above 0.5, far off the centre and a piston
    lighter than the ball, these conditions can give more energy than there was: `loss` is then negative, and
    the result is not to be used.

    Examples
    --------
    >>> import math
    >>> h = 0.0335 * math.sin(math.radians(20))
    >>> shot = free_strike(12, 0.2, 0.14, 0.0335, 0.4, h, restitution=0.6, grip=0.5)
    >>> round(float(np.degrees(shot.direction)), 4)
    -17.6788
    """
    u, M, m, r, alpha, h, e, mu = _arrays(
        hammer_speed, hammer_mass, ball_mass, radius, inertia_factor, height, restitution, grip
    )
    sin = np.clip(h / r, -1.0, 1.0)
    cos, side = np.sqrt(1 - sin**2), np.sign(sin)
    a, b, d = 1 / m + cos**2 / M, cos * sin / M, (1 + 1 / alpha) / m + sin**2 / M
    f, g = (1 + e) * u * cos, u * sin
    determinant = a * d - b**2
    normal, across = (f * d - b * g) / determinant, (a * g - b * f) / determinant
    slips = np.abs(across) > mu * normal
    # Where the grip is endless nothing slides, and its product with 0 must not spoil the branch not taken.
    finite = np.where(np.isfinite(mu), mu, 0.0)
    sliding = f / (1 / m + cos * (cos + finite * np.abs(sin)) / M)
    normal = np.where(slips, sliding, normal)
    across = np.where(slips, side * finite * sliding, across)
    forward, up = (normal * cos + across * sin) / m, (-normal * sin + across * cos) / m
    after = u - m * forward / M
    spin = -across / (alpha * m * r)
    speed = np.hypot(forward, up)
    kept = 0.5 * m * speed**2 + 0.5 * alpha * m * r**2 * spin**2 + 0.5 * M * after**2
    return TipShot(speed, np.arctan2(up, forward), spin, after, 0.5 * M * u**2 - kept, slips)


def greatest_height(radius: ArrayLike, grip: ArrayLike) -> FloatArray:
    """Greatest distance from the ball's centre at which a tip grips, r sin(atan mu).

    Parameters
    ----------
    radius : float or ndarray
        [m]
    grip : float or ndarray
        Friction coefficient mu. [-]

    Returns
    -------
    ndarray
        [m]

    Examples
    --------
    >>> round(float(greatest_height(1.0, 0.5)), 10)
    0.4472135955
    """
    return np.asarray(np.asarray(radius, dtype=float) * np.sin(np.arctan(grip)))


def _arrays(*values: ArrayLike) -> list[FloatArray]:
    return [np.asarray(v) for v in np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in values))]
