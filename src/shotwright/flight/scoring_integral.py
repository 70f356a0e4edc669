r"""The integral of a normal over scoring launches, for many scatters at once.

Speed, elevation and azimuth are normal. Speed and elevation are turned so that the first axis t points across
the scoring band and the second, s, along it:

.. math:: P = \int \varphi(s) \; P_2(s) \, ds, \qquad
          P_2 = \frac{1}{2\pi} \oint \frac{1 - e^{-r^2/2}}{r^2} (t \, dq - q \, dt)

where q is the azimuth, less what follows the speed, in its own standard deviations, and the closed curve is
the edge of what scores at one s.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Outer rules. Up to this bend, in standard deviations, a turned Gauss-Hermite rule of so many nodes ...
_TURNED = ((0.01, 1), (0.06, 3), (0.2, 5))
# ... beyond it, even steps of elevation: up to this sharpness of the edge, so many standard deviations each.
_SLICED = ((4.0, 0.5), (8.0, 0.3), (16.0, 0.18), (math.inf, 0.1))
_REACH = 4.0  # standard deviations to each side
TURNED = len(_TURNED)
# The band's slope may change by a thirtieth of its steepness; more is as bad as too large a bend.
FOLD = _TURNED[-1][0] * 30.0
# Longest chord squared, in standard deviations, for each number of Gauss nodes.
LONGEST = (0.3, 1.5, 6.0, 25.0, 100.0, math.inf)
_GAUSS = (2, 3, 4, 8, 16, 40)
NEWTONS = 6
CLOSE_ENOUGH = 3e-3  # standard deviations; what the last step leaves is its square
FAR = 30.0  # standard deviations; an edge beyond is as good as there
EMPTY = 30.0  # squared distance in standard deviations beyond which no density is left


@functools.cache
def outer_rules(sliced: bool) -> tuple[FloatArray, FloatArray, FloatArray, IntArray]:
    """Make the rules of the outer integral.

    Parameters
    ----------
    sliced : bool
        Slice every scatter, in half steps: another way to the same integral, to check it by.

    Returns
    -------
    tuple of ndarray
        Largest bend or sharpness of each rule; nodes and weights of all; where each begins.
    """
    rules, limits = [], []
    for bend, n in _TURNED:
        x, w = np.polynomial.hermite_e.hermegauss(n)
        rules.append((x, w / w.sum()))
        limits.append(-1.0 if sliced else bend)
    for sharp, step in _SLICED:
        x = np.linspace(-_REACH, _REACH, round(2 * _REACH / step * (2 if sliced else 1)) + 1)
        w = np.exp(-(x**2) / 2)
        rules.append((x, w / w.sum()))
        limits.append(sharp)
    first = np.cumsum([0, *(len(x) for x, _ in rules)])
    return (
        np.array(limits),
        np.concatenate([x for x, _ in rules]),
        np.concatenate([w for _, w in rules]),
        first,
    )


@functools.cache
def inner_rules() -> tuple[FloatArray, IntArray]:
    """Make the rules of the inner integral.

    Returns
    -------
    tuple of ndarray
        Nodes and weights (k, 2) of the Gauss-Legendre rules on 0 to 1; where each begins.
    """
    rules = [np.column_stack(np.polynomial.legendre.leggauss(n)) for n in _GAUSS]
    begin = np.cumsum([0, *_GAUSS])
    return (np.concatenate(rules) + np.array([1.0, 0.0])) / 2, begin


def integrate(
    draws: FloatArray,
    table: FloatArray,
    spans: FloatArray,
    band: FloatArray,
    start: float,
    step: float,
    added: FloatArray,
    bends: FloatArray,
    nodes: FloatArray,
    weights: FloatArray,
    first: IntArray,
    gauss: FloatArray,
    begin: IntArray,
    chance: FloatArray,
) -> None:
    """Fill `chance`; the plain form of what `compiled` returns.

    Parameters
    ----------
    draws : ndarray, shape (m, 6)
        Means of speed, elevation, azimuth; standard deviations of speed and elevation; variance of azimuth.
        [m/s], [rad], [rad], [m/s], [rad], [rad^2]
    table, spans, band, start, step
        As `packed` gives them.
    added : ndarray, shape (e, 5)
        Variances added to speed and azimuth, their covariance, shifts of the means of speed and azimuth. [SI]
    bends, nodes, weights, first : ndarray
        Rules of the outer integral. [-]
    gauss, begin : ndarray
        Nodes and weights of the Gauss rules of the inner one, on 0 to 1. [-]
    chance : ndarray, shape (m,)
        Filled. [-]
    """
    cells, places = table.shape[0], table.shape[1]
    edge_at = np.empty((places, 4))
    for i in range(draws.shape[0]):
        v0, e0, a0, v_sd, e_sd, a_var = draws[i]
        # where the band lies and how steep it is at the mean elevation
        x = min(max((e0 - start) / step, 0.0), float(cells))
        j = min(int(x), cells - 1)
        u = x - j
        own = added[j, 0] + u * (added[j + 1, 0] - added[j, 0])
        band0 = band[j, 0] + u * (band[j, 1] + u * (band[j, 2] + u * band[j, 3]))
        steep = (band[j, 1] + u * (2 * band[j, 2] + u * 3 * band[j, 3])) / step
        half0 = band[j, 4] + u * band[j, 5]
        total = max(math.sqrt(v_sd * v_sd + own), 1e-9)
        across = math.hypot(total, steep * e_sd)
        cosine, sine = total / across, steep * e_sd / across
        # how far the band's middle and its width leave a straight line within 2 standard deviations
        bend, width = 0.0, (half0 + abs(v0 - band0)) / across
        for k in range(2):
            side = 4.0 * k - 2.0
            far = e0 + side * cosine * e_sd
            x = min(max((far - start) / step, 0.0), float(cells))
            j = min(int(x), cells - 1)
            u = x - j
            off = band[j, 0] + u * (band[j, 1] + u * (band[j, 2] + u * band[j, 3]))
            off = abs(off - band0 - steep * (far - e0)) + abs(band[j, 4] + u * band[j, 5] - half0)
            # across the band its slope must not change so much that a line could meet an edge twice
            deep = e0 + side / 2 * sine * e_sd * min(width, FAR)
            x = min(max((deep - start) / step, 0.0), float(cells))
            j = min(int(x), cells - 1)
            u = x - j
            turn = (band[j, 1] + u * (2 * band[j, 2] + u * 3 * band[j, 3])) / step - steep
            bend = max(bend, off / across, abs(turn * sine * e_sd) / across * FOLD)
        rule = 0
        while rule < TURNED and bend > bends[rule]:
            rule += 1
        if rule == TURNED:
            # too bent to be turned: slice by elevation, in steps that follow the edge where it is steepest
            steepest = 0.0
            for k in range(2):
                far = e0 + (6.0 * k - 3.0) * e_sd
                x = min(max((far - start) / step, 0.0), float(cells))
                j = min(int(x), cells - 1)
                u = x - j
                steepest = max(steepest, abs(band[j, 1] + u * (2 * band[j, 2] + u * 3 * band[j, 3])) / step)
            sharp = steepest * e_sd / total
            while rule < bends.size - 1 and sharp > bends[rule]:
                rule += 1
            across, cosine, sine = total, 1.0, 0.0
        result = 0.0
        for k in range(first[rule], first[rule + 1]):
            s = nodes[k]
            base = e0 + e_sd * cosine * s
            # what is added depends on the elevation: take it where this line meets the middle of the band
            x = min(max((base - start) / step, 0.0), float(cells))
            if sine != 0.0:
                off = band0 + steep * (base - e0) - v0 - total * sine * s
                x = min(max((base - e_sd * sine * off / across - start) / step, 0.0), float(cells))
            j = min(int(x), cells - 1)
            u = x - j
            speed_var = max(v_sd * v_sd + added[j, 0] + u * (added[j + 1, 0] - added[j, 0]), 1e-18)
            both = added[j, 2] + u * (added[j + 1, 2] - added[j, 2])
            speed_sd = math.sqrt(speed_var)
            follow = both / speed_var
            rest = a_var + added[j, 1] + u * (added[j + 1, 1] - added[j, 1]) - follow * both
            per_a = 1.0 / math.sqrt(max(rest, 1e-18))
            # along the line of this node: x = x0 - x1 t, speed = y0 + y1 t
            x0, x1 = (base - start) / step, e_sd * sine / step
            mean = v0 + added[j, 3] + u * (added[j + 1, 3] - added[j, 3])
            aim_a = a0 + added[j, 4] + u * (added[j + 1, 4] - added[j, 4])
            y0, y1 = mean + speed_sd * sine * s, speed_sd * cosine
            for m in range(places):
                t, gain, lean, u = 0.0, across, 0.0, 0.0
                j = 0
                for _ in range(NEWTONS):
                    x = min(max(x0 - x1 * t, 0.0), float(cells))
                    lean = x1 if 0.0 < x < cells else 0.0
                    j = min(int(x), cells - 1)
                    u = x - j
                    c, d = table[j, m, 2], table[j, m, 3]
                    edge = table[j, m, 0] + u * (table[j, m, 1] + u * (c + u * d))
                    slope = table[j, m, 1] + u * (2 * c + u * 3 * d)
                    gain = max(y1 + lean * slope, 0.2 * across)
                    move = (y0 + y1 * t - edge) / gain
                    t = min(max(t - move, -FAR), FAR)
                    close = CLOSE_ENOUGH if abs(t) < 7.0 else 0.3
                    if abs(move) < close or x1 == 0.0 or abs(t) == FAR:
                        break
                c, d = table[j, m, 6], table[j, m, 7]
                aside = table[j, m, 4] + u * (table[j, m, 5] + u * (c + u * d))
                tilt = lean * (table[j, m, 5] + u * (2 * c + u * 3 * d))
                dt = (table[j, m, 8] + u * table[j, m, 9]) / gain
                edge_at[m, 0] = t
                edge_at[m, 1] = (aside - aim_a - follow * (y0 + y1 * t - mean)) * per_a
                edge_at[m, 2] = dt
                edge_at[m, 3] = (table[j, m, 10] + u * table[j, m, 11] - (tilt + follow * y1) * dt) * per_a
            result += weights[k] * around_edge(edge_at, spans, gauss, begin)
        chance[i] = result / (2.0 * math.pi)


def around_edge(edge: FloatArray, spans: FloatArray, gauss: FloatArray, begin: IntArray) -> float:
    """Integrate (1 - exp(-r^2/2))/r^2 (t dq - q dt) along a closed curve, from place to place.

    Parameters
    ----------
    edge : ndarray, shape (m, 4)
        t, q and their derivatives along the edge. [-]
    spans : ndarray, shape (m,)
        From each place to the next; 0 where a piece ends. [-]
    gauss, begin : ndarray
        Nodes and weights of the Gauss rules, on 0 to 1. [-]

    Returns
    -------
    float
        2 pi times the probability.
    """
    total = 0.0
    for m in range(edge.shape[0]):
        span = spans[m]
        if span == 0.0:
            continue
        t0, q0, t1, q1 = edge[m, 0], edge[m, 1], edge[m + 1, 0], edge[m + 1, 1]
        t_way, q_way = t1 - t0, q1 - q0
        long = t_way * t_way + q_way * q_way
        if long == 0.0:
            continue
        nearest = min(max(-(t0 * t_way + q0 * q_way) / long, 0.0), 1.0)
        near_t, near_q = t0 + nearest * t_way, q0 + nearest * q_way
        if near_t * near_t + near_q * near_q > EMPTY:
            # no density left: the integrand is the angle seen from the middle
            sine, cosine = t0 * q1 - q0 * t1, t0 * t1 + q0 * q1
            if abs(sine) < 0.3 * cosine:
                # the arc tangent's series, good to 2e-6 here, in a tenth of its time
                x = sine / cosine
                z = x * x
                total += x * (1.0 - z * (1.0 / 3.0 - z * (0.2 - z / 7.0)))
            else:
                total += math.atan2(sine, cosine)
            continue
        rule = 0
        while long > LONGEST[rule]:
            rule += 1
        # the cubic through both places with their derivatives, as far as they are of the chord's size
        a_t, a_q, b_t, b_q = (
            edge[m, 2] * span,
            edge[m, 3] * span,
            edge[m + 1, 2] * span,
            edge[m + 1, 3] * span,
        )
        if max(a_t * a_t + a_q * a_q, b_t * b_t + b_q * b_q) > 9.0 * long:
            a_t, a_q, b_t, b_q = t_way, q_way, t_way, q_way
        c_t, d_t = 3 * t_way - 2 * a_t - b_t, a_t + b_t - 2 * t_way
        c_q, d_q = 3 * q_way - 2 * a_q - b_q, a_q + b_q - 2 * q_way
        for g in range(begin[rule], begin[rule + 1]):
            x = gauss[g, 0]
            t = t0 + x * (a_t + x * (c_t + x * d_t))
            q = q0 + x * (a_q + x * (c_q + x * d_q))
            dt = a_t + x * (2 * c_t + x * 3 * d_t)
            dq = a_q + x * (2 * c_q + x * 3 * d_q)
            z = t * t + q * q
            fall = 0.5 - 0.125 * z if z < 1e-4 else (1.0 - math.exp(-0.5 * z)) / z
            total += gauss[g, 1] * fall * (t * dq - q * dt)
    return total


@functools.cache
def compiled() -> Callable[..., None]:
    """Return `integrate` compiled; the first call of a new version compiles for some seconds.

    Returns
    -------
    callable
        Takes what `integrate` takes.
    """
    from shotwright.flight.kernel import compile_plain

    return compile_plain(integrate, cache=True)
