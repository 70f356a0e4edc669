"""Exact solutions of the linear pieces: a speed on its way to another, and two places that share heat.

Plain functions of numbers, written so that the compiler can read them too.
"""

from __future__ import annotations

import math


def rise_sums(time: float, tau: float) -> tuple[float, float, float, float]:
    """Integrals from 0 to `time` of e, 1 - e, e (1 - e) and (1 - e)^2, with e = e^(-t/tau).

    Parameters
    ----------
    time, tau : float
        [s]

    Returns
    -------
    old, new, both, new_square : float
        [s]; each to the last digits, also where time is much shorter than tau.
    """
    x = time / tau
    risen = -math.expm1(-x)
    old, both = tau * risen, 0.5 * tau * risen * risen
    if x > 0.1:
        return old, time - old, both, time - old - both
    # sums of (-1)^k x^(k+1)/(k+1)! and of (-1)^k (2^k - 2) x^(k+1)/((k+1) k!), where the closed forms cancel
    term, power, new, square = x, 1.0, 0.0, 0.0
    for k in range(1, 12):
        term *= -x / (k + 1)
        power *= 2.0
        new -= term
        square += (power - 2.0) * term
    return old, tau * new, both, tau * square


def way(start: float, final: float, time: float, tau: float) -> float:
    """Angle covered by a speed on its way from `start` to `final`.

    Parameters
    ----------
    start, final : float
        Speeds. [rad/s]
    time, tau : float
        [s]

    Returns
    -------
    float
        [rad]
    """
    old, new, _, _ = rise_sums(time, tau)
    return start * old + final * new


def speed_after(start: float, final: float, time: float, tau: float) -> float:
    """Speed on its way from `start` to `final` after a time.

    Parameters
    ----------
    start, final : float
        [rad/s]
    time, tau : float
        [s]

    Returns
    -------
    float
        [rad/s]
    """
    return start - (final - start) * math.expm1(-time / tau)


def time_between(start: float, end: float, final: float, tau: float) -> float:
    """Time from one speed to another on the way to a final one: tau ln((w_inf - a)/(w_inf - b)).

    Parameters
    ----------
    start, end, final : float
        Speeds. [rad/s]
    tau : float
        [s]

    Returns
    -------
    float
        [s]; infinite when the end is not reached.
    """
    if start == end:
        return 0.0
    more = (end - start) / (final - end) if final != end else -1.0
    return tau * math.log1p(more) if more > 0.0 else math.inf


def square_sum(start: float, final: float, time: float, tau: float) -> float:
    """Integral of the square of what goes from `start` to `final` exponentially, from 0 to `time`.

    Parameters
    ----------
    start, final : float
        Of a current or a speed.
    time, tau : float
        [s]

    Returns
    -------
    float
        Their unit squared, times seconds.
    """
    old, _, both, new_square = rise_sums(time, tau)
    return start * start * (old - both) + 2 * start * final * both + final * final * new_square


def time_for_angle(start: float, final: float, tau: float, angle: float) -> float:
    """Time to cover an angle on the way from a speed to another, by Newton inside a bracket.

    Parameters
    ----------
    start, final : float
        Speeds; the speed must not pass through zero on the way. [rad/s]
    tau : float
        [s]
    angle : float
        [rad]

    Returns
    -------
    float
        [s]
    """
    low, high = 0.0, tau
    while way(start, final, high, tau) < angle:
        low, high = high, 2 * high
        if high > 1e9 * tau:
            break
    time = 0.5 * (low + high)
    for _ in range(100):
        gap = way(start, final, time, tau) - angle
        low, high = (time, high) if gap < 0 else (low, time)
        speed = speed_after(start, final, time, tau)
        following = time - gap / speed if speed > 0 else low
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - time) <= 1e-15 * time:
            break
        time = following
    return time


def catch_up_time(behind: float, ahead: float, final: float, tau: float, slowing: float) -> float:
    """Time until a speed on its way to `final` meets one that falls evenly.

    Newton on final + (behind - final) e^(-t/tau) = ahead - slowing t from t = 0: the difference is concave,
    so every step stays short of the answer and none overshoots.

    Parameters
    ----------
    behind, ahead, final : float
        Speeds. [rad/s]
    tau : float
        [s]
    slowing : float
        [rad/s^2]

    Returns
    -------
    float
        [s]; infinite when they do not meet.
    """
    if final <= ahead and slowing <= 0.0:
        return math.inf
    time = 0.0
    for _ in range(200):
        left = math.exp(-time / tau)
        gap = ahead - slowing * time - final - (behind - final) * left
        rate = (final - behind) * left / tau + slowing
        if rate <= 0.0:
            return math.inf
        step = gap / rate
        time += step
        if step <= 1e-15 * time:
            break
    return time


def two_nodes(
    winding: float,
    case: float,
    into_winding: float,
    into_case: float,
    time: float,
    winding_capacity: float,
    case_capacity: float,
    between: float,
    to_air: float,
) -> tuple[float, float, float]:
    """Warmth of winding and case after a time of constant heating, by the exponential of a 2 x 2 matrix.

    C_w T_w' = P_w - (T_w - T_c)/R_wc; C_c T_c' = P_c + (T_w - T_c)/R_wc - T_c/R_ca, above the air.

    Parameters
    ----------
    winding, case : float
        Above the air, at the start. [K]
    into_winding, into_case : float
        Heating. [W]
    time : float
        [s]
    winding_capacity, case_capacity : float
        [J/K]
    between, to_air : float
        Thermal resistances. [K/W]

    Returns
    -------
    winding, case : float
        Above the air, at the end. [K]
    given : float
        Heat given to the air meanwhile. [J]
    """
    a11 = -1 / (winding_capacity * between)
    a21 = 1 / (case_capacity * between)
    a22 = -a21 - 1 / (case_capacity * to_air)
    det = a11 * a22 + a11 * a21
    half = 0.5 * (a11 + a22)
    root = math.sqrt(half * half - det)
    fast = half - root
    slow = det / fast
    e_slow, e_fast = math.exp(slow * time), math.exp(fast * time)
    mean, turn = 0.5 * (e_slow + e_fast), 0.5 * (e_slow - e_fast) / root
    case_end = (into_winding + into_case) * to_air
    winding_end = case_end + into_winding * between
    dw, dc = winding - winding_end, case - case_end
    new_w = winding_end + mean * dw + turn * ((a11 - half) * dw - a11 * dc)
    new_c = case_end + mean * dc + turn * (a21 * dw + (a22 - half) * dc)
    area = case_end * time + (a11 * (new_c - case) - a21 * (new_w - winding)) / det
    return new_w, new_c, area / to_air


def one_node(warmth: float, heating: float, time: float, tau: float) -> float:
    """State of a filter of one time constant after a time of constant input.

    Parameters
    ----------
    warmth, heating : float
        Now, and where it ends; any unit.
    time, tau : float
        [s]

    Returns
    -------
    float
        In the same unit.
    """
    return heating + (warmth - heating) * math.exp(-time / tau)
