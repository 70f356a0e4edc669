"""Closed forms of balls between wheels and hoods: ratios, lengths of contact and shares of friction."""

from __future__ import annotations

import math


def hood_speed_ratio(inertia_factor: float, friction_share: float) -> tuple[float, float]:
    """Speed and spin when the wheel grips while the ball still slides on the hood.

    v/u = alpha (1 + q)/(alpha (1 + q) + 1 - q), S = (1 - q)/(alpha (1 + q)), from rest at constant wheel
    speed. The hood's friction pushes the ball forward: less of it gives a slower ball with more spin.

    Parameters
    ----------
    inertia_factor : float
        alpha. [-]
    friction_share : float
        q = mu_h N_h/(mu_w N_w), at most :func:`hood_share_needed`. [-]

    Returns
    -------
    speed_ratio, spin_parameter : float
        v/u and S = r omega/v. [-]

    Examples
    --------
    >>> hood_speed_ratio(0.4, 0.25)
    (0.4, 1.5)
    """
    a, q = inertia_factor, friction_share
    return a * (1 + q) / (a * (1 + q) + 1 - q), (1 - q) / (a * (1 + q))


def hood_share_needed(inertia_factor: float) -> float:
    """Least share of friction that keeps the ball rolling on the hood.

    q = mu_h N_h/(mu_w N_w) = (1 - alpha)/(1 + alpha).

    Parameters
    ----------
    inertia_factor : float
        alpha: 2/5 solid, 2/3 thin shell. [-]

    Returns
    -------
    float
        [-]
    """
    return (1 - inertia_factor) / (1 + inertia_factor)


def hood_contact_needed(
    mass: float, inertia_factor: float, rim_speed: float, friction: float, feed_speed: float = 0.0
) -> float:
    """Length of contact in which a ball rolling on a hood comes to grip the wheel, at constant rim speed.

    s = (1 + alpha) m (u^2/4 - v0^2)/(4 F); add the short way on which the ball begins to roll.

    Parameters
    ----------
    mass, inertia_factor : float
        Of the ball. [kg], [-]
    rim_speed : float
        [m/s]
    friction : float
        F = mu N at the wheel. [N]
    feed_speed : float
        Of the ball when it meets the wheel. [m/s]

    Returns
    -------
    float
        0 when it already rolls as fast. [m]
    """
    gained = rim_speed**2 / 4 - feed_speed**2
    return max(0.0, (1 + inertia_factor) * mass * gained / (4 * friction))


def opposed_contact_needed(mass: float, rim_speed: float, friction: float, feed_speed: float = 0.0) -> float:
    """Length of contact in which a ball between two equal wheels of constant speed comes to grip.

    s = m (u^2 - v0^2)/(4 F).

    Parameters
    ----------
    mass : float
        [kg]
    rim_speed : float
        [m/s]
    friction : float
        F = mu N at each wheel. [N]
    feed_speed : float
        [m/s]

    Returns
    -------
    float
        [m]
    """
    return max(0.0, mass * (rim_speed**2 - feed_speed**2) / (4 * friction))


def bite_angle(wheel_radius: float, ball_radius: float, gap: float) -> float:
    """Angle at which two opposed wheels first touch the ball.

    cos b = (R + gap/2)/(R + r); they draw the ball in unaided when tan b < grip.

    Parameters
    ----------
    wheel_radius, ball_radius : float
        [m]
    gap : float
        Between the wheels. [m]

    Returns
    -------
    float
        0 when the ball passes without touching. [rad]
    """
    ratio = (wheel_radius + gap / 2) / (wheel_radius + ball_radius)
    return math.acos(min(ratio, 1.0))


def lift_off_speed(mass: float, preload: float, path_radius: float) -> float:
    """Speed at which a ball on a curved path leaves the inner wheel.

    v = sqrt(2 N0 rho/m), with equal springs inside and out.

    Parameters
    ----------
    mass : float
        [kg]
    preload : float
        N0 at rest. [N]
    path_radius : float
        rho, of the ball's centre. [m]

    Returns
    -------
    float
        [m/s]
    """
    return math.sqrt(2 * preload * path_radius / mass)


def spaced_pair(
    spacing: float, ball_radius: float, pair_speed: float, single_speed: float
) -> tuple[float, float]:
    """Speed and backspin of a ball that rolls between one wheel below and two spaced wheels above.

    sin phi = d/(2 r); v = (u_t + u_b cos phi)/(1 + cos phi), r omega = (u_b - u_t)/(1 + cos phi).

    Parameters
    ----------
    spacing : float
        d, across the path, between the places where the pair touches the ball. [m]
    ball_radius : float
        [m]
    pair_speed, single_speed : float
        Rim speeds of the pair above and of the wheel below. [m/s]

    Returns
    -------
    speed, surface_speed : float
        v and r omega. [m/s]
    """
    cos = math.sqrt(1 - (spacing / (2 * ball_radius)) ** 2)
    return (
        (pair_speed + single_speed * cos) / (1 + cos),
        (single_speed - pair_speed) / (1 + cos),
    )


def crowned_rim_speed(
    wheel_speed: float, wheel_radius: float, crown_radius: float, contact_angle: float
) -> float:
    """Surface speed where a ball rides on the shoulder of a crowned wheel: Omega (R - rho_c (1 - cos phi)).

    Parameters
    ----------
    wheel_speed : float
        Omega. [rad/s]
    wheel_radius, crown_radius : float
        R at the middle of the tread, and rho_c of its cross section. [m]
    contact_angle : float
        phi, from the middle plane. [rad]

    Returns
    -------
    float
        [m/s]
    """
    return wheel_speed * (wheel_radius - crown_radius * (1 - math.cos(contact_angle)))
