"""Turning on the spot with wheels that are steered by their speed: scrub, current, rate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.errors import NoAnswer
from shotwright.base.plain import Result
from shotwright.robot.drive_base import DriveBase, force_line, stall_battery_current


@dataclass(frozen=True, slots=True)
class Turning(Result):
    """A turn on the spot, steady, every wheel scrubbing sideways.

    Parameters
    ----------
    rate_deg_s : float
        At full voltage, or at the current limit.
    quarter_turn_s : float
        Time for 90 degrees at that rate, without getting up to it.
    force_n : float
        Of all wheels along their own direction.
    share_of_traction : float
        Force over traction: L/sqrt(L^2 + B^2). [-]
    motor_a : float
        Of each motor in the turn.
    start_battery_a : float
        Of the battery at the start of the turn, all else that runs included.
    scrub_w : float
        Power that the floor takes.
    can_turn : bool
        Whether the motors overcome the scrub.
    """

    rate_deg_s: float
    quarter_turn_s: float
    force_n: float
    share_of_traction: float
    motor_a: float
    start_battery_a: float
    scrub_w: float
    can_turn: bool


def scrub(traction: float, wheelbase: float, track: float) -> tuple[float, float]:
    """Force along the wheels that keeps a four-wheeled robot turning, and its rim speed for each rad/s.

    Friction of each wheel points against its slip: sideways omega L/2, along (u - omega B/2). Equilibrium of
    the moments about the middle gives F = mu m g L/sqrt(L^2 + B^2) and u = omega (B^2 + L^2)/(2 B).

    Parameters
    ----------
    traction : float
        mu m g, evenly on four driven wheels. [N]
    wheelbase, track : float
        L and B. [m]

    Returns
    -------
    force : float
        Of all wheels along their own direction. [N]
    lever : float
        u/omega; a wheel that does not scrub has B/2. [m]

    Notes
    -----
    Own derivation: weight even on four wheels, the same friction in all directions, wheels as points, no
    acceleration. Omnidirectional wheels at the corners scrub far less, a long wheelbase far more.

    Examples
    --------
    >>> force, lever = scrub(100.0, 0.3, 0.4)
    >>> round(force, 6), round(lever, 6)
    (60.0, 0.3125)
    """
    diagonal = math.hypot(wheelbase, track)
    return traction * wheelbase / diagonal, diagonal**2 / (2 * track)


def turning(base: DriveBase) -> Turning:
    """Turn on the spot at full voltage, cold, with the battery as it starts.

    Parameters
    ----------
    base : DriveBase
        With wheelbase and track; all its wheels are driven.

    Returns
    -------
    Turning
        Rate, current, scrub.

    Raises
    ------
    NoAnswer
        Wheelbase or track is not known, or some wheels are not driven.
    """
    if base.wheelbase is None or base.track is None:
        raise NoAnswer("turning needs wheelbase and track")
    if base.driven_share < 1:
        raise NoAnswer("turning is worked out for robots whose wheels are all driven")
    line = force_line(base)
    force, lever = scrub(base.traction, base.wheelbase, base.track)
    need = force + base.drag
    current = base.motor.free_current + need / line.newtons_per_ampere
    moves = need < min(line.stall_force_n, line.limit_force_n)
    rim = line.free_speed_m_s * (1 - need / line.stall_force_n) if moves else 0.0
    rate = rim / lever
    return Turning(
        rate_deg_s=math.degrees(rate),
        quarter_turn_s=0.5 * math.pi / rate if rate > 0 else math.inf,
        force_n=need,
        share_of_traction=force / base.traction,
        motor_a=current,
        start_battery_a=stall_battery_current(base, current) if moves else math.nan,
        scrub_w=force * rim,
        can_turn=moves,
    )
