"""Feeding balls: speed, interval, capacity, traction of the belt on the ball, and whether a channel jams."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.game.records import Ball

Carrier = Literal["two belts", "belt and rail", "wheels on both sides", "wheels and rail"]
CARRIERS: tuple[Carrier, ...] = ("two belts", "belt and rail", "wheels on both sides", "wheels and rail")
_WIDE = 2.0  # standard deviations of the diameter that the channel has to take


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed(Result):
    """What carries balls from the storage to the launcher.

    Parameters
    ----------
    carrier : {"two belts", "belt and rail", "wheels on both sides", "wheels and rail"}
        What touches the ball on its two sides.
    surface_speed : float
        Of belts or wheels. [m/s]
    pitch : float
        From one ball to the next. [m]
    length : float
        Of the channel that holds balls. [m]
    width : float
        Clear width across the channel. [m]
    friction : float
        Of belts and rails on the ball. [-]
    squeeze : float
        Force of each side on a ball. [N]
    slope : float
        Upwards. [rad]
    acceleration : float
        While it starts. [m/s^2]
    wall_friction : float
        Of the channel's walls on the ball, for jams. [-]
    recovery : float, optional
        Time that the launcher needs between balls; None where it is not known. [s]
    collect_every : float, optional
        Mean time between balls that the robot collects. [s]
    """

    carrier: Carrier
    surface_speed: float
    pitch: float
    length: float
    width: float
    friction: float
    squeeze: float
    slope: float = 0.0
    acceleration: float = 0.0
    wall_friction: float = 0.4
    recovery: float | None = None
    collect_every: float | None = None

    def __post_init__(self) -> None:
        for name in ("surface_speed", "pitch", "length", "width", "friction", "wall_friction"):
            if not getattr(self, name) > 0:
                raise BadInput(
                    f"{getattr(self, name):g} is not allowed; it must be greater than zero",
                    field=name.replace("_", " "),
                )

    @property
    def rolls(self) -> bool:
        """Whether the ball rolls along a rail: then it moves at half the speed of the surface."""
        return self.carrier in ("belt and rail", "wheels and rail")

    @property
    def ball_speed(self) -> float:
        """Of the ball's centre. [m/s]."""
        return self.surface_speed * (0.5 if self.rolls else 1.0)

    @property
    def feed_interval(self) -> float:
        """Between balls, as far as the feed is concerned. [s]."""
        return self.pitch / self.ball_speed


@dataclass(frozen=True, slots=True)
class Traction(Result):
    """Whether the sides hold the ball.

    Parameters
    ----------
    carried_n, guided_n : float
        Friction force that the driven side, and the other, have to give.
    needed_squeeze_n : float
        Least force of each side on the ball.
    margin : float
        Squeeze over what is needed; above 1 it does not slip. [-]
    """

    carried_n: float
    guided_n: float
    needed_squeeze_n: float
    margin: float


def traction(feed: Feed, mass: float, inertia_factor: float = 0.4) -> Traction:
    """Friction that carries a ball up the slope: rolling, F1 - F2 = alpha m a; both, F1 + F2 = m (a + g sin).

    Parameters
    ----------
    feed : Feed
        The feed.
    mass : float
        Of the ball. [kg]
    inertia_factor : float
        alpha in I = alpha m r^2. [-]

    Returns
    -------
    Traction
        Forces and margin. Both sides push with the same force, since nothing else holds the ball.
    """
    whole = mass * (feed.acceleration + STANDARD_GRAVITY * math.sin(feed.slope))
    turned = inertia_factor * mass * feed.acceleration if feed.rolls else 0.0
    carried, guided = 0.5 * (whole + turned), 0.5 * (whole - turned)
    needed = max(abs(carried), abs(guided)) / feed.friction
    return Traction(carried, guided, needed, feed.squeeze / needed if needed > 0 else math.inf)


@dataclass(frozen=True, slots=True)
class JamMargin(Result):
    """Balls that stand zigzag in a channel wider than they are.

    Parameters
    ----------
    stagger_deg : float
        Angle of the line between two balls' middles, from the channel.
    push_per_ball : float
        Force behind a ball over that before it. [-]
    push_of_all : float
        From the first to the last ball of a full channel. [-]
    lock_margin : float
        1/(mu tan gamma): at 1 and below the balls lock and no force moves them. [-]
    locks_at_width_m : float
        Width at which the mean ball locks.
    too_wide : float
        Share of the balls that are wider than the channel. [-]
    locking_balls : float
        Share that is small enough to lock. [-]
    """

    stagger_deg: float
    push_per_ball: float
    push_of_all: float
    lock_margin: float
    locks_at_width_m: float
    too_wide: float
    locking_balls: float


def jam_factor(diameter: float, width: float, friction: float) -> tuple[float, float]:
    """Stagger and growth of force: sin gamma = (W - D)/D, factor (1 + mu tan gamma)/(1 - mu tan gamma).

    Parameters
    ----------
    diameter, width : float
        Of the balls and of the channel. [m]
    friction : float
        Of the walls. [-]

    Returns
    -------
    stagger : float
        gamma; 0 where the channel is no wider than the ball. [rad]
    factor : float
        Per ball; infinite where they lock. [-]

    Notes
    -----
    Own derivation: each wall pushes with (P_i + P_(i+1)) tan gamma; friction between balls is left out.
    """
    sine = max(width - diameter, 0.0) / diameter
    if sine >= 1:
        return math.pi / 2, math.inf
    stagger = math.asin(sine)
    wedge = friction * math.tan(stagger)
    return stagger, (1 + wedge) / (1 - wedge) if wedge < 1 else math.inf


def jam_margin(feed: Feed, ball: Ball, balls: int) -> JamMargin:
    """How far a full channel is from jamming, for the ball that staggers most and over the spread of balls.

    Parameters
    ----------
    feed : Feed
        The feed.
    ball : Ball
        The set of balls: diameter and its spread.
    balls : int
        In the channel.

    Returns
    -------
    JamMargin
        At two standard deviations below the mean diameter.
    """
    small = ball.diameter - _WIDE * ball.diameter_sd
    stagger, factor = jam_factor(small, feed.width, feed.wall_friction)
    wedge = feed.wall_friction * math.tan(stagger)
    lock_sine = 1 / math.hypot(1.0, feed.wall_friction)
    return JamMargin(
        stagger_deg=math.degrees(stagger),
        push_per_ball=factor,
        push_of_all=factor ** max(balls - 1, 0),
        lock_margin=1 / wedge if wedge > 0 else math.inf,
        locks_at_width_m=ball.diameter * (1 + lock_sine),
        too_wide=_above(feed.width, ball),
        locking_balls=1 - _above(feed.width / (1 + lock_sine), ball),
    )


def _above(limit: float, ball: Ball) -> float:
    """Share of normally distributed diameters above a limit."""
    if ball.diameter_sd <= 0:
        return float(ball.diameter > limit)
    return 0.5 * math.erfc((limit - ball.diameter) / ball.diameter_sd / math.sqrt(2.0))


@dataclass(frozen=True, slots=True)
class FireRate(Result):
    """How fast balls leave.

    Parameters
    ----------
    capacity : int
        Balls that the channel holds.
    interval_s : float
        Between balls of a burst.
    limited_by : {"launcher", "feed"}
        What sets it.
    burst_rate_s : float
        Balls a second while the storage lasts.
    burst_s : float
        From the first to the last ball of a full channel.
    sustained_rate_s : float, optional
        With balls collected at random and room to store them.
    without_storage_s : float, optional
        The same when a ball that comes too soon is lost.
    mean_wait_s : float, optional
        Of a collected ball for its turn; None where more come than go.
    """

    capacity: int
    interval_s: float
    limited_by: str
    burst_rate_s: float
    burst_s: float
    sustained_rate_s: float | None
    without_storage_s: float | None
    mean_wait_s: float | None


def fire_rate(feed: Feed, diameter: float) -> FireRate:
    """Burst and sustained rate: interval max(pitch/v_ball, recovery).

    Parameters
    ----------
    feed : Feed
        The feed.
    diameter : float
        Of the ball. [m]

    Returns
    -------
    FireRate
        Capacity, interval, rates.

    Raises
    ------
    BadInput
        A pitch smaller than a ball, where belts carry them one by one.
    """
    if feed.pitch < diameter * (1 - 1e-9):
        raise BadInput(
            f"{1000 * feed.pitch:.4g} mm is less than a ball, {1000 * diameter:.4g} mm", field="pitch"
        )
    capacity = max(math.floor((feed.length - diameter) / feed.pitch + 1e-9) + 1, 0)
    recovery = feed.recovery or 0.0
    interval = max(feed.feed_interval, recovery)
    sustained = without = wait = None
    if feed.collect_every is not None:
        rate = 1 / feed.collect_every
        sustained = min(rate, 1 / interval)
        without = dead_time_rate(rate, interval)
        wait = mean_wait(rate, interval)
    return FireRate(
        capacity=capacity,
        interval_s=interval,
        limited_by="launcher" if recovery > feed.feed_interval else "feed",
        burst_rate_s=1 / interval,
        burst_s=max(capacity - 1, 0) * interval,
        sustained_rate_s=sustained,
        without_storage_s=without,
        mean_wait_s=wait,
    )


def dead_time_rate(rate: float, dead_time: float) -> float:
    """Rate that is left of random arrivals when each is followed by a dead time: lam/(1 + lam t).

    Parameters
    ----------
    rate : float
        lam. [1/s]
    dead_time : float
        t; what arrives within it is lost. [s]

    Returns
    -------
    float
        [1/s]
    """
    return rate / (1 + rate * dead_time)


def mean_wait(rate: float, service: float) -> float | None:
    """Mean wait of random arrivals for an even service (M/D/1): rho t/(2 (1 - rho)), rho = lam t.

    Parameters
    ----------
    rate : float
        lam. [1/s]
    service : float
        t. [s]

    Returns
    -------
    float or None
        None where more arrive than go. [s]
    """
    load = rate * service
    return load * service / (2 * (1 - load)) if load < 1 else None


def belt_pull(
    tension: float,
    friction: float,
    wrap: float,
    *,
    groove: float | None = None,
    line_mass: float = 0.0,
    speed: float = 0.0,
) -> float:
    """Largest pull of a belt on its pulley: (T1 - m' v^2)(1 - e^(-mu beta)), Euler and Eytelwein.

    Parameters
    ----------
    tension : float
        T1 of the tight side. [N]
    friction : float
        mu of belt on pulley. [-]
    wrap : float
        beta. [rad]
    groove : float, optional
        Full angle of a V groove, which makes mu/sin(half angle) of the friction. [rad]
    line_mass : float
        Of the belt. [kg/m]
    speed : float
        Of the belt. [m/s]

    Returns
    -------
    float
        [N]
    """
    grip = friction if groove is None else friction / math.sin(groove / 2)
    return (tension - line_mass * speed**2) * -math.expm1(-grip * wrap)
