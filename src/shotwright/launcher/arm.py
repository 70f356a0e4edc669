"""A throwing arm: a spring or rubber turns it about a pivot until a stop lets the ball go.

The arm lies behind the pivot and swings up and over, towards the front. Its angle is measured from the level
behind the pivot, up positive: at 45 degrees the ball leaves at 45 degrees of elevation, at 90 degrees level.
Numbers or arrays, SI, angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.constants import STANDARD_GRAVITY

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ArmShot:
    """One throw. Every field is an array of one shape. `given` = `ball` + `arm` + `lifting`, to rounding.

    Parameters
    ----------
    speed : ndarray
        Of the ball as it leaves, across the arm. [m/s]
    turning : ndarray
        Of the arm at the stop. [rad/s]
    given : ndarray
        What the spring or rubber gives between start and stop. [J]
    ball : ndarray
        Kinetic energy of the ball, its turning with the arm included. [J]
    arm : ndarray
        Kinetic energy of the arm, which the stop takes. [J]
    lifting : ndarray
        Put into height. [J]
    fires : ndarray of bool
        False where the drive can't lift the arm to the stop: speed is 0.
    """

    speed: FloatArray
    turning: FloatArray
    given: FloatArray
    ball: FloatArray
    arm: FloatArray
    lifting: FloatArray
    fires: NDArray[np.bool_]


def drive_length(lever: ArrayLike, anchor: ArrayLike, angle: ArrayLike) -> FloatArray:
    r"""Length of a spring from a point on the arm to a fixed anchor, sqrt(a^2 + b^2 - 2 a b cos(gamma)).

    Parameters
    ----------
    lever, anchor : float or ndarray
        Distances a and b of its two ends from the pivot. [m]
    angle : float or ndarray
        Angle gamma between them at the pivot. [rad]

    Returns
    -------
    ndarray
        [m]

    Examples
    --------
    >>> round(float(drive_length(0.08, 0.20, np.radians(150))), 9)
    0.272236685
    """
    a, b, gamma = (np.asarray(v, dtype=float) for v in (lever, anchor, angle))
    return np.asarray(np.sqrt(a**2 + b**2 - 2 * a * b * np.cos(gamma)))


def drive_torque(force: ArrayLike, lever: ArrayLike, anchor: ArrayLike, angle: ArrayLike) -> FloatArray:
    """Torque about the pivot of a spring that pulls with `force`, F a b sin(gamma)/l.

    Parameters
    ----------
    force : float or ndarray
        Pull of the spring. [N]
    lever, anchor, angle : float or ndarray
        As for :func:`drive_length`. [m], [m], [rad]

    Returns
    -------
    ndarray
        Towards smaller angles. [N m]
    """
    a, b, gamma = (np.asarray(v, dtype=float) for v in (lever, anchor, angle))
    return np.asarray(np.asarray(force, dtype=float) * a * b * np.sin(gamma) / drive_length(a, b, gamma))


def spring_energy(stiffness: ArrayLike, rest_length: ArrayLike, length: ArrayLike) -> FloatArray:
    """Energy of an extension spring, k (l - l_0)^2/2; 0 when slack.

    Parameters
    ----------
    stiffness : float or ndarray
        k. [N/m]
    rest_length, length : float or ndarray
        Unstretched and stretched. [m]

    Returns
    -------
    ndarray
        [J]
    """
    stretch = np.maximum(np.asarray(length, dtype=float) - rest_length, 0.0)
    return np.asarray(0.5 * np.asarray(stiffness, dtype=float) * stretch**2)


def throw(
    given: ArrayLike,
    arm_inertia: ArrayLike,
    arm_length: ArrayLike,
    ball_mass: ArrayLike,
    *,
    arm_mass: ArrayLike = 0.0,
    arm_centre: ArrayLike = 0.0,
    start: ArrayLike = 0.0,
    stop: ArrayLike = 0.0,
    radius: ArrayLike = 0.0,
    inertia_factor: ArrayLike = 0.4,
) -> ArmShot:
    r"""Throw a ball that lies in the arm's cup until the stop.

    .. math:: \tfrac12 (I_a + m_b L^2 + \alpha m_b r^2) \omega^2
        = \Delta U - (m_a c + m_b L) g (\sin\varphi_1 - \sin\varphi_0), \qquad v = \omega L

    Parameters
    ----------
    given : float or ndarray
        Energy that the drive gives between start and stop. [J]
    arm_inertia : float or ndarray
        Of the arm about the pivot, without ball. [kg m^2]
    arm_length : float or ndarray
        Pivot to the ball's centre L. [m]
    ball_mass : float or ndarray
        [kg]
    arm_mass, arm_centre : float or ndarray
        Arm's mass, and the distance of its centre of mass from the pivot. [kg], [m]
    start, stop : float or ndarray
        Angle of the arm at the latch and at the stop, from the level behind the pivot. [rad]
    radius, inertia_factor : float or ndarray
        Of the ball, which turns with the arm; radius 0 for a point. [m], [-]

    Returns
    -------
    ArmShot
        Speeds and energies.

    Notes
    -----
    The ball leaves across the arm, at elevation pi/2 - `stop`, and goes on turning as the arm did: topspin
    S = r/L. Rolling out over the lip of a cup is left out. Friction of the pivot is left out: measure the
    energy that comes back from the drive and give that.

    Examples
    --------
    >>> round(float(throw(12.13286295834, 0.012, 0.35, 0.14).speed), 6)
    10.098234
    """
    dU, inertia, L, m, ma, c, phi0, phi1, r, alpha = (
        np.asarray(v)
        for v in np.broadcast_arrays(
            *(
                np.asarray(v, dtype=float)
                for v in (
                    given,
                    arm_inertia,
                    arm_length,
                    ball_mass,
                    arm_mass,
                    arm_centre,
                    start,
                    stop,
                    radius,
                    inertia_factor,
                )
            )
        )
    )
    lifting = (ma * c + m * L) * STANDARD_GRAVITY * (np.sin(phi1) - np.sin(phi0))
    of_ball = m * (L**2 + alpha * r**2)
    rest = dU - lifting
    fires = rest > 0
    turning = np.where(fires, np.sqrt(2 * np.maximum(rest, 0.0) / (inertia + of_ball)), 0.0)
    return ArmShot(
        speed=turning * L,
        turning=turning,
        given=dU,
        ball=0.5 * of_ball * turning**2,
        arm=0.5 * inertia * turning**2,
        lifting=np.where(fires, lifting, 0.0),
        fires=fires,
    )
