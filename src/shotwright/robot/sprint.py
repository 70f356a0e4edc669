"""Sprint of a drive base in closed form: at the floor's or the controllers' limit first, then on the line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.robot.drive_base import DriveBase, ForceLine, force_line

FloatArray = NDArray[np.float64]

_GOLDEN = (math.sqrt(5.0) - 1) / 2


@dataclass(frozen=True, slots=True)
class Sprint(Result):
    """From rest over a distance, eased off where the wheels would slip.

    Parameters
    ----------
    distance_m, time_s, end_speed_m_s : float
        How far, how long, how fast at the end.
    top_speed_m_s : float
        Where the line ends, rolling resistance included.
    limited_by : {"grip", "current limit", "nothing"}
        What holds the force at first.
    limited_until_s, limited_distance_m, limited_speed_m_s : float
        Where that ends.
    acceleration_m_s2 : float
        At the start.
    """

    distance_m: float
    time_s: float
    end_speed_m_s: float
    top_speed_m_s: float
    limited_by: str
    limited_until_s: float
    limited_distance_m: float
    limited_speed_m_s: float
    acceleration_m_s2: float


def sprint(base: DriveBase, distance: float) -> Sprint:
    """Time from rest to a distance: x = v_inf (t - tau (1 - e^(-t/tau))), solved by Lambert's W.

    While the motors exceed what floor and controllers take, the acceleration is constant: a = mu phi g
    without rolling resistance. From the speed v_s where they no longer do, z = t/tau follows from z = X + b
    + W0(-b e^(-(X + b))), X = (D - x_s)/(v_inf tau), b = 1 - v_s/v_inf.

    Parameters
    ----------
    base : DriveBase
        The base; its battery as it starts, motors at 20 degC.
    distance : float
        D, from rest. [m]

    Returns
    -------
    Sprint
        Time, speed at the end, and where the first phase ends.

    Raises
    ------
    BadInput
        No distance.
    NoAnswer
        The motors don't move the robot.

    Notes
    -----
    The battery's charge and the motors' temperature stand still; `sprint_run` follows both.

    References
    ----------
    Corless, Gonnet, Hare, Jeffrey, Knuth (1996), On the Lambert W function, for W0 (from memory).
    """
    if not (distance > 0 and math.isfinite(distance)):
        raise BadInput(f"{distance:g} m is no distance; it must be above zero", field="distance")
    line = force_line(base)
    start, limited_by = _first_force(base, line)
    even = (start - base.drag) / line.effective_mass_kg
    if even <= 0:
        raise NoAnswer(f"{start:.3g} N do not overcome the rolling resistance, {base.drag:.3g} N")
    top = line.free_speed_m_s * (1 - base.drag / line.stall_force_n)
    speed = 0.0
    if limited_by != "nothing":
        speed = line.free_speed_m_s * (1 - start / line.stall_force_n)
    until, way = speed / even, 0.5 * speed**2 / even
    if way >= distance:
        time = math.sqrt(2 * distance / even)
        ends = (time, even * time)
        until, way, speed = time, distance, even * time
    else:
        ends = _on_the_line(line, top, speed, distance - way, until)
    return Sprint(distance, *ends, top, limited_by, until, way, speed, even)


def _first_force(base: DriveBase, line: ForceLine) -> tuple[float, str]:
    """Force of the motors at the start, and what holds it."""
    most = line.effective_mass_kg / base.mass * (base.traction - base.drag) + base.drag
    ways = {"nothing": line.stall_force_n, "current limit": line.limit_force_n, "grip": most}
    limited_by = min(ways, key=lambda name: ways[name])
    return ways[limited_by], limited_by


def _on_the_line(
    line: ForceLine, top: float, speed: float, distance: float, before: float
) -> tuple[float, float]:
    """Time and speed at the end, from a speed on the line."""
    from scipy.special import lambertw

    tau = line.effective_mass_kg * line.free_speed_m_s / line.stall_force_n
    share = 1 - speed / top
    far = distance / (top * tau)
    sum_ = far + share
    z = sum_ + float(lambertw(-share * math.exp(-sum_)).real)
    z = _polished(z, far, share)
    return before + tau * z, top * (1 - share * math.exp(-z))


def _polished(z: float, far: float, share: float) -> float:
    """One Newton step on z - b (1 - e^(-z)) = X, where W0 loses digits near its branch point."""
    slope = 1 - share * math.exp(-z)
    return z - (z + share * math.expm1(-z) - far) / slope if slope > 1e-12 else z


def sprint_times(base: DriveBase, ratios: Sequence[float], distance: float) -> FloatArray:
    """Sprint time for each of many ratios.

    Parameters
    ----------
    base : DriveBase
        The base; its ratio is replaced.
    ratios : sequence of float
        [-]
    distance : float
        [m]

    Returns
    -------
    ndarray, shape (n,)
        [s]; infinite where the robot does not move.
    """
    times = []
    for ratio in ratios:
        try:
            times.append(sprint(base.geared(ratio), distance).time_s)
        except NoAnswer:
            times.append(math.inf)
    return np.array(times)


def best_sprint_ratio(
    base: DriveBase, distance: float, low: float = 1.0, high: float = 200.0
) -> tuple[float, float]:
    """Ratio of the fastest sprint over a distance, by golden section on its logarithm.

    Parameters
    ----------
    base : DriveBase
        The base; its ratio is replaced.
    distance : float
        [m]
    low, high : float
        Range of ratios. [-]

    Returns
    -------
    ratio, time : float
        [-], [s]. The optimum is flat: 1 % in the ratio costs far less in time.

    Notes
    -----
    Without traction limit and rotor inertia the best ratio is universal: the robot reaches 88.34 % of its
    free speed at the end of the sprint.
    """
    a, b = math.log(low), math.log(high)

    def took(x: float) -> float:
        return float(sprint_times(base, [math.exp(x)], distance)[0])

    c, d = b - _GOLDEN * (b - a), a + _GOLDEN * (b - a)
    at_c, at_d = took(c), took(d)
    while b - a > 1e-9:
        if at_c <= at_d:
            b, d, at_d = d, c, at_c
            c = b - _GOLDEN * (b - a)
            at_c = took(c)
        else:
            a, c, at_c = c, d, at_d
            d = a + _GOLDEN * (b - a)
            at_d = took(d)
    best = math.exp(0.5 * (a + b))
    return best, took(math.log(best))
