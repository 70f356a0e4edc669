"""Which settings of a launcher on a moving robot carry the ball through a wanted point.

For each time of flight there is one velocity over the floor that brings the ball to the point at that time,
and with it one setting of the launcher. All settings that hit form a curve over the time of flight; a fixed
elevation or a fixed speed picks points of it, and there may be none, one or several.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.chance import Aim
from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.model import launch_vectors
from shotwright.flight.moving import MovingAim
from shotwright.flight.moving_family import ShotFamily, solved
from shotwright.game.records import Obstacle, Target

FloatArray = NDArray[np.float64]

_FAR = 1e-5  # m, between the point aimed at and the crossing that is flown as a check


@dataclass(frozen=True, slots=True)
class Limits:
    """What a launcher can be set to. None: no limit.

    Parameters
    ----------
    speed_low, speed_high : float, optional
        [m/s]
    elevation_low, elevation_high : float, optional
        [rad]
    """

    speed_low: float | None = None
    speed_high: float | None = None
    elevation_low: float | None = None
    elevation_high: float | None = None

    def allow(self, aim: Aim) -> bool:
        """Whether a setting is within them, to a part in a million."""
        return all(
            (low is None or value >= low - 1e-6) and (high is None or value <= high + 1e-6)
            for value, low, high in (
                (aim.speed, self.speed_low, self.speed_high),
                (aim.elevation, self.elevation_low, self.elevation_high),
            )
        )


def aims_at_elevation(family: ShotFamily, elevation: float) -> tuple[MovingAim, ...]:
    """Settings at a fixed elevation of the launcher: speed and azimuth follow.

    Parameters
    ----------
    family : ShotFamily
        All settings that hit.
    elevation : float
        Of the launcher's own throw. [rad]

    Returns
    -------
    tuple of MovingAim
        By time of flight; empty when none hits.
    """
    return _where(family, lambda aim: aim.elevation - elevation)


def aims_at_speed(family: ShotFamily, speed: float) -> tuple[MovingAim, ...]:
    """Settings at a fixed speed of the launcher: elevation and azimuth follow.

    Parameters
    ----------
    family : ShotFamily
        All settings that hit.
    speed : float
        Relative to the robot. [m/s]

    Returns
    -------
    tuple of MovingAim
        By time of flight: the flat shot first; empty when the speed is not enough.
    """
    return _where(family, lambda aim: aim.speed - speed)


def slowest_aim(family: ShotFamily) -> MovingAim:
    """Setting with the least speed of the launcher.

    Parameters
    ----------
    family : ShotFamily
        All settings that hit.

    Returns
    -------
    MovingAim
        The slowest.
    """
    return _least(family, lambda aim: aim.speed)


def nearest_aim(family: ShotFamily, standing: Aim, limits: Limits) -> MovingAim | None:
    """Setting that changes the launcher's own throw least from a standing one.

    The change is the length of the difference of the two velocities relative to the robot.

    Parameters
    ----------
    family : ShotFamily
        All settings that hit.
    standing : Aim
        What the launcher would be set to without motion.
    limits : Limits
        What it can be set to.

    Returns
    -------
    MovingAim or None
        None when nothing within the limits hits.
    """

    def change(aim: Aim) -> float:
        return setting_change(aim, standing)

    found = [_least(family, change)]
    for bound in (limits.elevation_low, limits.elevation_high):
        found += aims_at_elevation(family, bound) if bound is not None else ()
    for bound in (limits.speed_low, limits.speed_high):
        found += aims_at_speed(family, bound) if bound is not None else ()
    allowed = [one for one in found if limits.allow(one.aim)]
    return min(allowed, key=lambda one: change(one.aim), default=None)


def setting_change(aim: Aim, other: Aim) -> float:
    """Length of the difference of two launch velocities relative to the robot. [m/s]."""
    speed, elevation, azimuth = np.array([[a.speed, a.elevation, a.azimuth] for a in (aim, other)]).T
    velocity, _ = launch_vectors(speed, elevation, azimuth, 0.0)
    return float(np.linalg.norm(velocity[0] - velocity[1]))


def arrives(
    family: ShotFamily, target: Target, moving: MovingAim, obstacles: Sequence[Obstacle] = ()
) -> bool:
    """Whether a setting's ball passes the goal from the front of the opening, with nothing in the way before.

    Parameters
    ----------
    family : ShotFamily
        That the setting is of.
    target : Target
        The opening.
    moving : MovingAim
        The setting.
    obstacles : sequence of Obstacle
        What may be in the way.

    Returns
    -------
    bool
        False also for a ball that comes from behind, or meets the floor first.
    """
    velocity, spin = moving.ball(family.model.radius)
    _, _, normal = target.axes()
    flown = fly_to_plane(
        family.model, family.point, velocity, spin, np.asarray(target.centre), normal, obstacles=obstacles
    )
    return bool(flown.status[0] == Status.CROSSED and np.linalg.norm(flown.position[0] - family.goal) < _FAR)


def _where(family: ShotFamily, measure: Callable[[Aim], float]) -> tuple[MovingAim, ...]:
    """Members at which `measure` is zero."""
    times, values = family.times, _measured(family, measure)
    # Two zeros may hide beside a value that is nearly zero.
    for k in range(1, len(family.times) - 1):
        around = values[k - 1 : k + 2] * (1.0 if values[k] > 0 else -1.0)
        if around[1] == around.min() > 0:
            hidden = _beyond_zero(family, measure, k)
            if hidden is not None:
                times = np.append(times, hidden.time)
                values = np.append(values, measure(hidden.aim))
    order = np.argsort(times)
    times, values = times[order], values[order]
    found: list[MovingAim] = []
    for k in np.flatnonzero(values[:-1] * values[1:] <= 0).tolist():
        one = _between(family, measure, (times[k], times[k + 1]), (values[k], values[k + 1]))
        if one is None or one.aim.speed > family.fastest or any(abs(one.time - o.time) < 1e-9 for o in found):
            continue
        found.append(one)
    return tuple(found)


def _between(
    family: ShotFamily,
    measure: Callable[[Aim], float],
    times: tuple[float, float],
    values: tuple[float, float],
) -> MovingAim | None:
    """Member between two times with values of opposite sign."""
    low, high = times
    share = values[0] / (values[0] - values[1]) if values[0] != values[1] else 0.0
    time = low + share * (high - low)
    one = follow(family, family.near(time), time, measure)
    if one is not None and low <= one.time <= high:
        return one
    from scipy.optimize import brentq

    # led away to a neighbour; close in step by step instead
    def value(time: float) -> float:
        velocity = family.velocity(time, family.near(time))
        return math.nan if velocity is None else measure(family.setting(velocity))

    ends = value(low), value(high)
    if not ends[0] * ends[1] <= 0:
        return None
    time = float(brentq(value, low, high, xtol=1e-12))
    velocity = family.velocity(time, family.near(time))
    return None if velocity is None else MovingAim(family.setting(velocity), family.motion, time)


def _beyond_zero(family: ShotFamily, measure: Callable[[Aim], float], k: int) -> MovingAim | None:
    """Member beside number `k` at which `measure` has the other sign."""
    sign = 1.0 if measure(family.setting(family.velocities[k])) > 0 else -1.0
    best = _bottom(family, lambda aim: sign * measure(aim), family.times[k - 1], family.times[k + 1])
    return best if best is not None and sign * measure(best.aim) < 0 else None


def _measured(family: ShotFamily, measure: Callable[[Aim], float]) -> FloatArray:
    return np.array([measure(family.setting(velocity)) for velocity in family.velocities])


def _least(family: ShotFamily, measure: Callable[[Aim], float]) -> MovingAim:
    """Member at which `measure` is least."""
    k = int(np.argmin(_measured(family, measure)))
    low, high = family.times[max(k - 1, 0)], family.times[min(k + 1, len(family.times) - 1)]
    best = _bottom(family, measure, low, high)
    here = MovingAim(family.setting(family.velocities[k]), family.motion, float(family.times[k]))
    return here if best is None or measure(best.aim) > measure(here.aim) else best


def _bottom(family: ShotFamily, measure: Callable[[Aim], float], low: float, high: float) -> MovingAim | None:
    """Member between two times at which `measure` is least."""
    from scipy.optimize import minimize_scalar

    def value(time: float) -> float:
        velocity = family.velocity(time, family.near(time))
        return math.inf if velocity is None else measure(family.setting(velocity))

    time = float(minimize_scalar(value, bounds=(low, high), method="bounded", options={"xatol": 1e-6}).x)
    velocity = family.velocity(time, family.near(time))
    return None if velocity is None else MovingAim(family.setting(velocity), family.motion, time)


def follow(
    family: ShotFamily, velocity: FloatArray, time: float, measure: Callable[[Aim], float]
) -> MovingAim | None:
    """Solve for a setting from a guess nearby, as for a motion that has changed a little.

    Parameters
    ----------
    family : ShotFamily
        Point, goal and motion; its times are not used.
    velocity : ndarray, shape (3,)
        Of the ball over the floor, about. [m/s]
    time : float
        Of flight, about. [s]
    measure : callable
        Takes an aim; zero at the one wanted.

    Returns
    -------
    MovingAim or None
        None when the search leads nowhere.
    """

    def residual(x: FloatArray) -> FloatArray:
        if x[3] <= 0:
            return np.full(4, 1e3)
        return np.append(family.miss(x[:3], float(x[3])), measure(family.setting(x[:3])))

    found = solved(residual, np.append(velocity, time))
    if found is None:
        return None
    return MovingAim(family.setting(found[:3]), family.motion, float(found[3]))
