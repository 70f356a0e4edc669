"""One step of a wheel with its motors: driven, catching up, held, braked or coasting; exact at fixed warmth.

All functions work on three arrays, so that the compiler can read them: `p` what is built (indices below),
`s` the state, `e` the books of energy. Speeds are those of the wheel; the rotor's is its own over the ratio.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.powertrain.pieces import (
    catch_up_time,
    one_node,
    speed_after,
    square_sum,
    time_between,
    two_nodes,
    way,
)

FloatArray = NDArray[np.float64]

# what is built
(
    RES, CON, IDLE, ROTOR, COPPER, MAGNET, CW, CC, RWC, RCA, HOT,
    MOTORS, RATIO, ETA, BACK, INERTIA, DRAG,
    CHARGE, WIRE, LIMIT, OTHER, MAIN, MAIN_TAU, EACH, EACH_TAU, PTC, PTC_TAU, PTC_HEAT, PTC_RISE,
    SPEED, READY, BALL, FEED, STOP, BRAKE, AIR, COARSE, FINE, END,
    CUTS, MAIN_BACK, EACH_BACK, PTC_BACK,
) = range(43)  # fmt: skip
WIDTH = 43
HOLD, BRAKED, GEARED, CLUTCH = 0.0, 1.0, 2.0, 3.0  # what STOP holds

# the state
T, W, Q, WARM, CASE, DRAWN, X_MAIN, X_EACH, X_PTC = range(9)
# the most and the least so far, and when something first gave way (infinite: never)
PEAK_WARM, PEAK_I, PEAK_B, LOW_V, AT_MAIN, AT_EACH, AT_PTC, AT_HOT = range(9, 17)
NOW_I, NOW_B, NOW_V = 17, 18, 19  # at the start of the last step, for the record
END_I, END_B, END_V = 20, 21, 22
USED = 23  # and the two behind it: largest share of main breaker, motor breaker, protection
OPEN = 26  # and the two behind it: whether each of these is open
OFF = 29  # and the two behind it: how long each was open so far
STATE = 32

# the books
(
    BATTERY, IN_BATTERY, OTHERS, IN_WIRES, IN_BRAKE, IN_WINDING, FRICTION, IN_TRAIN, IN_BEARING, SHOTS,
    TO_AIR, IN_PTC,
) = range(12)  # fmt: skip
BOOKS = 12

# Gauss-Legendre on 0 to 1, five points: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4
_X = (0.04691007703066802, 0.23076534494715845, 0.5, 0.7692346550528415, 0.9530899229693319)
_WEIGHT = (
    0.11846344252809454,
    0.23931433524968324,
    0.28444444444444444,
    0.23931433524968324,
    0.11846344252809454,
)

ROOM_ABOVE_ZERO = 293.15  # K, at which RES and CON hold


def warm_motor(p: FloatArray, s: FloatArray) -> tuple[float, float]:
    """Resistance and constant at the present temperatures.

    Parameters
    ----------
    p, s : ndarray
        What is built, and the state. SI.

    Returns
    -------
    resistance, constant : float
        [ohm], [V s/rad]
    """
    r = p[RES] * (1 + p[COPPER] * (p[AIR] + s[WARM] - ROOM_ABOVE_ZERO))
    k = p[CON] * (1 + p[MAGNET] * (p[AIR] + s[CASE] - ROOM_ABOVE_ZERO))
    return r, max(k, 1e-3 * p[CON])


def battery_now(p: FloatArray, table: FloatArray, s: FloatArray) -> tuple[float, float]:
    """Open-circuit voltage and resistance of the battery at its present charge.

    Parameters
    ----------
    p, table, s : ndarray
        What is built, the battery, and the state. SI.

    Returns
    -------
    voltage, resistance : float
        [V], [ohm]
    """
    level = table[3, 0] - s[DRAWN] / p[CHARGE]
    last = table.shape[1] - 1
    if level <= table[0, 0]:
        return table[1, 0], table[2, 0]
    for i in range(last):
        if level <= table[0, i + 1]:
            share = (level - table[0, i]) / (table[0, i + 1] - table[0, i])
            return (
                table[1, i] + share * (table[1, i + 1] - table[1, i]),
                table[2, i] + share * (table[2, i + 1] - table[2, i]),
            )
    return table[1, last], table[2, last]


def others(p: FloatArray, s: FloatArray) -> float:
    """Current of everything else that runs; none while the main breaker is open. [A]."""
    return 0.0 if s[OPEN] > 0.0 else p[OTHER]


def _book(
    p: FloatArray,
    s: FloatArray,
    e: FloatArray,
    time: float,
    volts: float,
    ohms: float,
    r: float,
    k: float,
    turns: float,
    motor_square: float,
    battery_sum: float,
    battery_square: float,
) -> None:
    """Write down a step: energy, heat, charge, and whether something gives way.

    `turns` is the rotor's angle over the ratio [rad], the squares and the sum are integrals over the step
    of the motor's current [A^2 s] and of what all motors draw [A s], [A^2 s].
    """
    n, other = p[MOTORS], others(p, s)
    whole = battery_sum + other * time
    whole_square = battery_square + 2 * other * battery_sum + other * other * time
    e[BATTERY] += volts * whole
    e[IN_BATTERY] += ohms * whole_square
    e[OTHERS] += other * (volts * time - ohms * whole)
    e[IN_WINDING] += n * r * motor_square
    e[IN_WIRES] += n * p[WIRE] * motor_square
    e[IN_PTC] += n * p[PTC] * motor_square
    rubbing = k * p[IDLE] * p[RATIO] * turns
    e[FRICTION] += n * rubbing
    s[DRAWN] += whole
    if time <= 0.0:
        return
    s[WARM], s[CASE], given = two_nodes(
        s[WARM],
        s[CASE],
        r * motor_square / time,
        rubbing / time,
        time,
        p[CW],
        p[CC],
        p[RWC],
        p[RCA],
    )
    e[TO_AIR] += n * given
    _guard(s, X_MAIN, AT_MAIN, whole_square / time, p[MAIN], time, p[MAIN_TAU])
    _guard(s, X_EACH, AT_EACH, battery_square / (n * n) / time, p[EACH], time, p[EACH_TAU])
    _guard(s, X_PTC, AT_PTC, p[PTC_HEAT] * motor_square / time, p[PTC_RISE], time, p[PTC_TAU])
    s[T] += time
    s[PEAK_WARM] = max(s[PEAK_WARM], s[WARM])
    if s[WARM] > p[HOT] - p[AIR] and s[AT_HOT] == math.inf:
        s[AT_HOT] = s[T]


def _guard(s: FloatArray, state: int, when: int, into: float, limit: float, time: float, tau: float) -> None:
    """Follow a protection of one time constant, and note when it first trips."""
    if limit == math.inf:
        return
    before = s[state]
    s[state] = one_node(before, into, time, tau)
    s[USED + state - X_MAIN] = max(s[USED + state - X_MAIN], s[state] / limit)
    if s[when] == math.inf and s[state] >= limit:
        late = tau * math.log((into - before) / (into - limit)) if into > limit > before else 0.0
        s[when] = s[T] + late


def _note_ends(
    s: FloatArray, first_i: float, first_b: float, first_v: float, last_i: float, last_b: float, last_v: float
) -> None:
    """Keep current of a motor, of the battery, and its voltage at both ends of a step, and their extremes."""
    s[NOW_I], s[NOW_B], s[NOW_V] = first_i, first_b, first_v
    s[END_I], s[END_B], s[END_V] = last_i, last_b, last_v
    s[PEAK_I] = max(s[PEAK_I], first_i, last_i)
    s[PEAK_B] = max(s[PEAK_B], first_b, last_b)
    s[LOW_V] = min(s[LOW_V], first_v, last_v)


def _throttled(
    p: FloatArray,
    s: FloatArray,
    e: FloatArray,
    time: float,
    volts: float,
    ohms: float,
    r: float,
    k: float,
    current: float,
    speed: float,
    gain: float,
) -> None:
    """Book a step at constant motor current below full voltage: the controller takes just the power it needs.

    The speed is `speed` + `gain` t; the battery's current is the smaller root of I (V - R_b I) = P.
    """
    n, left = p[MOTORS], volts - ohms * p[OTHER]
    loop = r + p[WIRE] + p[PTC]
    total, square, first, last = 0.0, 0.0, 0.0, 0.0
    for i in range(7):
        share = 0.0 if i == 0 else (1.0 if i == 6 else _X[i - 1])
        power = n * current * (current * loop + k * p[RATIO] * (speed + gain * share * time))
        drawn = 2 * power / (left + math.sqrt(max(left * left - 4 * ohms * power, 0.0)))
        if i == 0:
            first = drawn
        elif i == 6:
            last = drawn
        else:
            total += _WEIGHT[i - 1] * drawn * time
            square += _WEIGHT[i - 1] * drawn * drawn * time
    other = p[OTHER]
    _note_ends(
        s,
        current,
        first + other,
        left - ohms * first,
        current,
        last + other,
        left - ohms * last,
    )
    turns = (speed + 0.5 * gain * time) * time
    _book(p, s, e, time, volts, ohms, r, k, turns, current * current * time, total, square)


def drive(p: FloatArray, table: FloatArray, s: FloatArray, e: FloatArray, goal: float, most: float) -> None:
    """Step the driven wheel towards `goal`, for `most` seconds at most; a rotor behind catches up first.

    Parameters
    ----------
    p, table, s, e : ndarray
        What is built, the battery, the state, the books. SI.
    goal : float
        Speed of the wheel. [rad/s]
    most : float
        Longest time. [s]
    """
    r, k = warm_motor(p, s)
    volts, ohms = battery_now(p, table, s)
    n, g, start = p[MOTORS], p[RATIO], s[Q]
    free = start < s[W]  # the rotor runs behind a one-way clutch, and carries no load
    rotor = g * g * n * p[ROTOR]
    inertia = rotor if free else p[INERTIA] + p[ETA] * rotor
    push = g * n * k if free else p[ETA] * g * n * k  # torque at the wheel for each ampere
    need = p[IDLE] if free else p[IDLE] + p[DRAG] / push
    left = volts - ohms * p[OTHER]
    loop = r + p[WIRE] + p[PTC] + n * ohms
    full = (left - k * g * start) / loop
    final = (left - need * loop) / (k * g)
    slowing = p[DRAG] / p[INERTIA] if free else 0.0
    if slowing > 0.0:
        most = min(most, s[W] / slowing)
    target = s[W] if free else goal
    if not free and start >= goal and final >= goal and need <= p[LIMIT]:
        _throttled(p, s, e, most, volts, ohms, r, k, need, start, 0.0)
        time, end, turns = most, start, start * most
    elif full > p[LIMIT] * (1 + 1e-12) or (start <= 0.0 and final <= 0.0):
        current = min(full, p[LIMIT])
        gain = push * (current - need) / inertia
        if start <= 0.0 and gain <= 0.0:
            gain = 0.0  # it does not break loose
        switch = (left - p[LIMIT] * loop) / (k * g)
        time, end = _even_time(start, target, switch, gain, slowing, most)
        _throttled(p, s, e, time, volts, ohms, r, k, current, start, gain)
        turns = 0.5 * (start + end) * time
    else:
        tau = inertia * loop / (push * k * g)
        if free:
            time = min(most, catch_up_time(start, target, final, tau, slowing))
        else:
            time = min(most, time_between(start, target if final > start else 0.0, final, tau))
        end = speed_after(start, final, time, tau)
        if not free and time < most:
            end = target if final > start else 0.0
        turns = way(start, final, time, tau)
        _at_full_voltage(p, s, e, time, volts, ohms, r, k, full, need, tau, turns)
    rubbed = p[DRAG] * turns
    if free:
        fall = slowing * time
        rubbed = 0.5 * p[INERTIA] * fall * (2 * s[W] - fall)
        s[W] = max(s[W] - fall, 0.0)
        s[Q] = s[W] if end >= s[W] * (1 - 1e-12) else end
    else:
        e[IN_TRAIN] += (1 / p[ETA] - 1) * (0.5 * p[INERTIA] * (end * end - start * start) + rubbed)
        s[W] = s[Q] = end
    e[IN_BEARING] += rubbed


def _even_time(
    start: float, target: float, switch: float, gain: float, slowing: float, most: float
) -> tuple[float, float]:
    """Time and end of a step at constant torque: until the target, full voltage, rest, or `most`."""
    time, end = most, start + gain * most
    if target > start and gain + slowing > 0.0 and (target - start) / (gain + slowing) < time:
        time = (target - start) / (gain + slowing)
        end = target - slowing * time
    if gain > 0.0 and switch > start and (switch - start) / gain < time:
        time, end = (switch - start) / gain, switch
    if gain < 0.0 and start / -gain < time:
        time, end = start / -gain, 0.0
    return time, end


def _at_full_voltage(
    p: FloatArray,
    s: FloatArray,
    e: FloatArray,
    time: float,
    volts: float,
    ohms: float,
    r: float,
    k: float,
    first: float,
    steady: float,
    tau: float,
    turns: float,
) -> None:
    """Book a step at full voltage: the current of each motor goes from `first` to `steady`."""
    n, other = p[MOTORS], p[OTHER]
    charge, square = way(first, steady, time, tau), square_sum(first, steady, time, tau)
    last = speed_after(first, steady, time, tau)
    whole, after = n * first + other, n * last + other
    _note_ends(s, first, whole, volts - ohms * whole, last, after, volts - ohms * after)
    _book(p, s, e, time, volts, ohms, r, k, turns, square, n * charge, n * n * square)


def slow_down(
    p: FloatArray, table: FloatArray, s: FloatArray, e: FloatArray, stop: float, most: float
) -> None:
    """Step a wheel that is not driven: shorted through its motors, coasting with them, or on its own.

    Parameters
    ----------
    p, table, s, e : ndarray
        What is built, the battery, the state, the books. SI.
    stop : float
        BRAKED, GEARED or CLUTCH; HOLD for a wheel that stands.
    most : float
        Longest time. [s]
    """
    r, k = warm_motor(p, s)
    volts, ohms = battery_now(p, table, s)
    n, g, start = p[MOTORS], p[RATIO], s[W]
    loop = r + p[WIRE] + p[PTC] + p[BRAKE]
    rate = k * g / loop if stop == BRAKED else 0.0  # amperes for each rad/s of the wheel
    turn = p[ROTOR] * g * p[DRAG] / p[INERTIA] - k * p[IDLE]  # K I at which the rotor starts to help
    if start <= 0.0 or (stop == CLUTCH and (s[Q] < start or turn < 0.0)):
        run_free(p, table, s, e, most)
        return
    back = k * rate * start > turn
    share = 1 / p[BACK] if back else p[ETA]
    inertia = p[INERTIA] + share * g * g * n * p[ROTOR]
    slope = share * g * n * k * rate / inertia
    even = (share * g * n * k * p[IDLE] + p[DRAG]) / inertia
    end_at = turn / (k * rate) if back and rate > 0.0 and turn > 0.0 else 0.0
    if slope > 0.0:
        tau = 1 / slope
        final = -even * tau
        time = min(most, time_between(start, end_at, final, tau))
        end = speed_after(start, final, time, tau)
        turns = way(start, final, time, tau)
        square = rate * rate * square_sum(start, final, time, tau)
    else:
        time = min(most, (start - end_at) / even) if even > 0.0 else most
        end = start - even * time
        turns, square = 0.5 * (start + end) * time, 0.0
    if time < most:
        end = end_at
    other = others(p, s)
    v = volts - ohms * other
    _note_ends(s, -rate * start, other, v, -rate * end, other, v)
    s[PEAK_I] = max(s[PEAK_I], rate * start)
    _book(p, s, e, time, volts, ohms, r, k, turns, square, 0.0, 0.0)
    e[IN_BRAKE] += n * p[BRAKE] * square
    taken = n * (loop * square + k * p[IDLE] * g * turns)
    taken -= 0.5 * g * g * n * p[ROTOR] * (start * start - end * end)
    e[IN_TRAIN] += (share - 1) * taken if back else (p[ETA] - 1) * taken
    e[IN_BEARING] += p[DRAG] * turns
    s[W] = s[Q] = end


def run_free(p: FloatArray, table: FloatArray, s: FloatArray, e: FloatArray, most: float) -> None:
    """Step a wheel on its own, its motors off; a rotor behind a one-way clutch runs down by itself.

    Parameters
    ----------
    p, table, s, e : ndarray
        What is built, the battery, the state, the books. SI.
    most : float
        Longest time. [s]
    """
    r, k = warm_motor(p, s)
    volts, ohms = battery_now(p, table, s)
    slowing = p[DRAG] / p[INERTIA]
    rotor_slowing = k * p[IDLE] / (p[ROTOR] * p[RATIO])
    time = most
    if s[W] > 0.0 and slowing > 0.0:
        time = min(time, s[W] / slowing)
    if s[Q] > 0.0 and rotor_slowing > 0.0:
        time = min(time, s[Q] / rotor_slowing)
    if s[Q] < s[W] and slowing > rotor_slowing:
        time = min(time, (s[W] - s[Q]) / (slowing - rotor_slowing))
    wheel = max(s[W] - slowing * time, 0.0)
    behind = max(s[Q] - rotor_slowing * time, 0.0)
    other = others(p, s)
    v = volts - ohms * other
    _note_ends(s, 0.0, other, v, 0.0, other, v)
    e[IN_BEARING] += 0.5 * p[INERTIA] * (s[W] * s[W] - wheel * wheel)
    _book(p, s, e, time, volts, ohms, r, k, 0.5 * (s[Q] + behind) * time, 0.0, 0.0, 0.0)
    s[W], s[Q] = wheel, min(behind, wheel)


def fire(p: FloatArray, s: FloatArray, e: FloatArray) -> None:
    """Let a ball through: the shaft's inertia J takes the jolt, w1 = w0 J/(J + J_ball).

    Parameters
    ----------
    p, s, e : ndarray
        What is built, the state, the books. SI.
    """
    rotor = p[RATIO] * p[RATIO] * p[MOTORS] * p[ROTOR]
    inertia = p[INERTIA] + p[ETA] * rotor
    after = s[W] * inertia / (inertia + p[BALL])
    given = 0.5 * (s[W] * s[W] - after * after)
    e[SHOTS] += inertia * given
    e[IN_TRAIN] += (1 - p[ETA]) * rotor * given
    s[W] = s[Q] = after
