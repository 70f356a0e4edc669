"""A spring piston: it pushes a ball along its stroke, or flies free and strikes it at the end.

All functions take numbers or arrays that broadcast against each other, SI, angles in radians. The spring is
compressed by `preload` when the piston stands at its front stop, and by `preload` + `stroke` when cocked.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.launcher.spring import RAYLEIGH

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PistonShot:
    """One shot of a spring piston, with the books of its energy. Every field is an array of one shape.

    `usable` = `ball` + `piston` + `friction` + `lifting` + `impact` + `held`, to rounding.

    Parameters
    ----------
    speed : ndarray
        Of the ball along the barrel as it leaves. [m/s]
    piston_speed : ndarray
        Of the piston at the same moment; negative when it bounces back. [m/s]
    stored : ndarray
        Energy in the cocked spring: the figure for safety. [J]
    usable : ndarray
        What the spring gives over the stroke. [J]
    ball : ndarray
        Kinetic energy of the ball, without spin. [J]
    piston : ndarray
        Kinetic energy of piston and spring when the ball has left; the stop takes it. [J]
    friction, lifting, impact : ndarray
        Lost to friction; put into height; lost in the strike. [J]
    held : ndarray
        Left in the spring above its preload where the ball parts before the stop, or where it never left. [J]
    fires : ndarray of bool
        False where spring and stroke can't bring the ball out: its speed is 0.
    """

    speed: FloatArray
    piston_speed: FloatArray
    stored: FloatArray
    usable: FloatArray
    ball: FloatArray
    piston: FloatArray
    friction: FloatArray
    lifting: FloatArray
    impact: FloatArray
    held: FloatArray
    fires: NDArray[np.bool_]


def push(
    stiffness: ArrayLike,
    preload: ArrayLike,
    stroke: ArrayLike,
    piston_mass: ArrayLike,
    spring_mass: ArrayLike,
    ball_mass: ArrayLike,
    *,
    friction: ArrayLike = 0.0,
    elevation: ArrayLike = 0.0,
    gap: ArrayLike = 0.0,
    spring_share: ArrayLike = RAYLEIGH,
) -> PistonShot:
    r"""Push a ball that lies against the piston, or a little ahead of it, along the stroke.

    .. math:: \tfrac12 (m_p + p\,m_s + m_b) v^2 = \tfrac12 k (x_1^2 - x^2) - (F_f + W) (x_1 - x)

    with W = (m_p + m_b + m_s/2) g sin(theta): the spring's weight acts over half the stroke, its inertia is a
    third. The contact force on the ball is proportional to k x - F_f, so the ball parts at x = F_f/k where
    that comes before the stop; from there its own weight alone slows it. Over a gap the piston runs free,
    then takes the ball along without a bounce, which costs M m_b u^2/(2 (M + m_b)).

    Parameters
    ----------
    stiffness : float or ndarray
        k. [N/m]
    preload, stroke : float or ndarray
        Compression at the front stop; travel of the piston. [m]
    piston_mass, spring_mass, ball_mass : float or ndarray
        [kg]
    friction : float or ndarray
        Of the piston in its guide, constant. [N]
    elevation : float or ndarray
        Of the barrel above the horizontal. [rad]
    gap : float or ndarray
        How far ahead of the cocked piston the ball lies; less than the stroke. [m]
    spring_share : float or ndarray
        Share p of the spring's mass that moves with the piston; a third by Rayleigh's rule. [-]

    Returns
    -------
    PistonShot
        Speeds and energies.

    Notes
    -----
    The ball is pushed through its centre and leaves without spin. Against a spring cut into 600 pieces the
    rule of a third is within 1 % in speed while the spring weighs up to half of what it drives, and 7 % too
    fast where both weigh the same. :func:`shotwright.launcher.spring.spring_share` gives the share
    of the exact frequency.

    Examples
    --------
    >>> round(float(push(900, 0.04, 0.09, 0.18, 0.06, 0.14).speed), 4)
    6.364
    """
    k, x0, s, mp, ms, mb, force, theta, g, share = _arrays(
        stiffness,
        preload,
        stroke,
        piston_mass,
        spring_mass,
        ball_mass,
        friction,
        elevation,
        gap,
        spring_share,
    )
    x1, hammer, up = x0 + s, mp + share * ms, STANDARD_GRAVITY * np.sin(theta)
    meets_at = np.maximum(x1 - g, x0)
    parts_at = np.minimum(np.maximum(force / k, x0), meets_at)
    alone, together = x1 - meets_at, meets_at - parts_at
    weight_alone, weight = (mp + ms / 2) * up, (mp + ms / 2 + mb) * up
    free = 0.5 * k * (x1**2 - meets_at**2) - (force + weight_alone) * alone
    kept = hammer / (hammer + mb)
    rest = free * kept + 0.5 * k * (meets_at**2 - parts_at**2) - (force + weight) * together
    square = 2 * np.maximum(rest, 0.0) / (hammer + mb)
    coasting = 2 * up * (parts_at - x0)
    starts = k * x1 > force + np.where(alone > 0, weight_alone, weight)
    fires = starts & (free >= 0) & (square > np.maximum(coasting, 0.0))
    speed = np.where(fires, np.sqrt(np.maximum(square - coasting, 0.0)), 0.0)
    piston_speed = np.where(fires, np.sqrt(square), 0.0)
    usable = 0.5 * k * (x1**2 - x0**2)
    lifting = weight_alone * alone + weight * together + mb * up * (parts_at - x0)
    return PistonShot(
        speed=speed,
        piston_speed=piston_speed,
        stored=0.5 * k * x1**2,
        usable=usable,
        ball=0.5 * mb * speed**2,
        piston=0.5 * hammer * piston_speed**2,
        friction=np.where(fires, force * (alone + together), 0.0),
        lifting=np.where(fires, lifting, 0.0),
        impact=np.where(fires, free * (1 - kept), 0.0),
        held=np.where(fires, 0.5 * k * (parts_at**2 - x0**2), usable),
        fires=fires,
    )


def strike(
    stiffness: ArrayLike,
    preload: ArrayLike,
    stroke: ArrayLike,
    piston_mass: ArrayLike,
    spring_mass: ArrayLike,
    ball_mass: ArrayLike,
    *,
    restitution: ArrayLike,
    friction: ArrayLike = 0.0,
    elevation: ArrayLike = 0.0,
    spring_share: ArrayLike = RAYLEIGH,
) -> PistonShot:
    r"""Let the piston fly free and strike, through the centre, a ball that waits at the front stop.

    .. math:: v = \frac{(1 + e) M u}{M + m_b}, \qquad u' = \frac{(M - e\,m_b) u}{M + m_b}

    with u the piston's speed at the stop, M = m_p + p m_s.

    Parameters
    ----------
    stiffness, preload, stroke, piston_mass, spring_mass, ball_mass, friction, elevation, spring_share
        As for :func:`push`.
    restitution : float or ndarray
        Coefficient of restitution e between piston and ball, 0 to 1. [-]

    Returns
    -------
    PistonShot
        Speeds and energies.

    Notes
    -----
    In a short strike the far coils don't take part: the true M lies between m_p and m_p + m_s/3. Best
    efficiency is (1 + e)^2/4, at M = m_b. A push is better than a strike where m_b/M > (1 + e)^2 - 1.

    Examples
    --------
    >>> round(float(strike(900, 0.04, 0.09, 0.18, 0.06, 0.14, restitution=0.5).speed), 4)
    7.3214
    """
    free = free_piston(
        stiffness,
        preload,
        stroke,
        piston_mass,
        spring_mass,
        friction=friction,
        elevation=elevation,
        spring_share=spring_share,
    )
    u, mp, ms, mb, share, e = _arrays(
        free.piston_speed, piston_mass, spring_mass, ball_mass, spring_share, restitution
    )
    hammer = mp + share * ms
    speed = (1 + e) * hammer * u / (hammer + mb)
    after = (hammer - e * mb) * u / (hammer + mb)
    return PistonShot(
        speed=speed,
        piston_speed=after,
        stored=free.stored + 0 * u,
        usable=free.usable + 0 * u,
        ball=0.5 * mb * speed**2,
        piston=0.5 * hammer * after**2,
        friction=free.friction + 0 * u,
        lifting=free.lifting + 0 * u,
        impact=0.5 * (1 - e**2) * hammer * mb / (hammer + mb) * u**2,
        held=free.held + 0 * u,
        fires=free.fires & (u > 0),
    )


def free_piston(
    stiffness: ArrayLike,
    preload: ArrayLike,
    stroke: ArrayLike,
    piston_mass: ArrayLike,
    spring_mass: ArrayLike,
    *,
    friction: ArrayLike = 0.0,
    elevation: ArrayLike = 0.0,
    spring_share: ArrayLike = RAYLEIGH,
) -> PistonShot:
    """Fire without a ball: the start of a strike, and a dry fire.

    Parameters
    ----------
    stiffness, preload, stroke, piston_mass, spring_mass, friction, elevation, spring_share
        As for :func:`push`.

    Returns
    -------
    PistonShot
        Of a ball without mass; `piston` is what the stop must take.

    Examples
    --------
    >>> round(float(free_piston(900, 0.04, 0.09, 0.18, 0.06).piston_speed), 4)
    8.2976
    """
    k, x0, s, mp, ms, friction_force, theta, share = _arrays(
        stiffness, preload, stroke, piston_mass, spring_mass, friction, elevation, spring_share
    )
    x1 = x0 + s
    usable = 0.5 * k * (x1**2 - x0**2)
    moving = mp + share * ms
    weight = (mp + ms / 2) * STANDARD_GRAVITY * np.sin(theta)
    rest = usable - (friction_force + weight) * s
    fires = (k * x1 > friction_force + weight) & (rest > 0)
    speed = np.where(fires, np.sqrt(2 * np.maximum(rest, 0.0) / moving), 0.0)
    nothing = np.zeros_like(usable)
    return PistonShot(
        speed=nothing,
        piston_speed=speed,
        stored=0.5 * k * x1**2,
        usable=usable,
        ball=nothing,
        piston=np.where(fires, rest, 0.0),
        friction=np.where(fires, friction_force * s, 0.0),
        lifting=np.where(fires, weight * s, 0.0),
        impact=nothing,
        held=np.where(fires, 0.0, usable),
        fires=fires,
    )


def stroke_time(
    stiffness: ArrayLike, preload: ArrayLike, stroke: ArrayLike, moving_mass: ArrayLike
) -> FloatArray:
    """Time from the latch to the front stop, without friction and weight: arccos(x_0/x_1) sqrt(M/k).

    Parameters
    ----------
    stiffness : float or ndarray
        k. [N/m]
    preload, stroke : float or ndarray
        x_0, and x_1 - x_0 > 0. [m]
    moving_mass : float or ndarray
        M: piston, its share of the spring, and a ball that is pushed. [kg]

    Returns
    -------
    ndarray
        [s]

    Examples
    --------
    >>> round(float(stroke_time(900, 0.04, 0.09, 0.34)), 6)
    0.024452
    """
    k, x0, s, mass = _arrays(stiffness, preload, stroke, moving_mass)
    return np.asarray(np.arccos(x0 / (x0 + s)) * np.sqrt(mass / k))


def mean_stop_force(energy: ArrayLike, depth: ArrayLike) -> FloatArray:
    """Mean force on a front stop that brings a piston to rest.

    Parameters
    ----------
    energy : float or ndarray
        Kinetic energy of the piston. [J]
    depth : float or ndarray
        Way in which the stop gives. [m]

    Returns
    -------
    ndarray
        [N]

    Examples
    --------
    >>> float(mean_stop_force(6.885, 0.003))
    2295.0
    """
    return np.asarray(np.asarray(energy, dtype=float) / depth)


def push_beats_strike_above(restitution: ArrayLike) -> FloatArray:
    """Ratio of ball mass to piston mass above which a push gives more speed than a strike.

    Parameters
    ----------
    restitution : float or ndarray
        e, 0 to 1. [-]

    Returns
    -------
    ndarray
        m_b/M = (1 + e)^2 - 1. [-]

    Examples
    --------
    >>> float(push_beats_strike_above(0.5))
    1.25
    """
    return np.asarray((1 + np.asarray(restitution, dtype=float)) ** 2 - 1)


def _arrays(*values: ArrayLike) -> list[FloatArray]:
    return [np.asarray(v) for v in np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in values))]
