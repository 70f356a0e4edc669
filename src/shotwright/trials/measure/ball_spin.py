r"""Spin of a ball with a dot or a stripe, from how the mark goes round on the disc.

The camera looks along the axis of backspin, so a mark goes round the middle of the disc. With the grey value
I at angle phi on the disc, the sum of :math:`I e^{-i m \phi}` turns by m times the ball's turn: m = 1 for a
dot, and m = 2 for a stripe, which looks the same after half a turn. Shade that stays where it is adds a
constant. The rate is the frequency at which a turning term and a constant explain these sums best.

A clip of even rate f can't tell rates that differ by f/m turns a second: the wheel that seems to stand still.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate
from shotwright.base.plain import Result

FloatArray = NDArray[np.float64]

FOLDS = {"dot": 1, "stripe": 2}
LEAST_FRAMES = 8
_LEAST_SHARE = 0.5  # of the sums' variance that turning must explain
_RIM = 0.82  # of the radius; beyond it blur and background mix in


@dataclass(frozen=True, slots=True)
class SpinFromMark(Result):
    """Rate of turning.

    Parameters
    ----------
    spin_rev_s : Estimate
        Backspin positive.
    slowest_told_rev_s, fastest_told_rev_s : float
        Rates outside can't be told from one inside; infinite when frame times are uneven enough.
    others_rev_s : tuple of float
        Nearest rates that would look the same.
    explained : float
        Share of what the mark does that one steady turn explains, 0 to 1.
    frames : int
        Frames used.
    """

    spin_rev_s: Estimate
    slowest_told_rev_s: float
    fastest_told_rev_s: float
    others_rev_s: tuple[float, ...]
    explained: float
    frames: int


def turning_sum(grey: FloatArray, x: float, y: float, radius: float, fold: int) -> complex:
    r"""Sum of I exp(-i m phi) over the disc, divided by the sum of I.

    Parameters
    ----------
    grey : ndarray, shape (h, w)
        Part of a frame around the ball. [of 255]
    x, y : float
        The ball's centre in it. [px]
    radius : float
        [px]
    fold : int
        m.

    Returns
    -------
    complex
        Its angle is -m times that of the mark, anticlockwise positive. [-]
    """
    rows, columns = np.mgrid[0 : grey.shape[0], 0 : grey.shape[1]]
    across, up = columns - x, y - rows
    out = np.hypot(across, up)
    inside = (out < _RIM * radius) & (out > 0.12 * radius)
    angle = np.arctan2(up[inside], across[inside])
    values = grey[inside]
    # the same number of pixels on opposite sides: a centre off by half a pixel must not look like a mark
    weight = values - values.mean()
    return complex(np.sum(weight * np.exp(-1j * fold * angle)) / max(float(values.sum()), 1e-9))


def spin_of(
    times: FloatArray, sums: Sequence[complex], fold: int, *, to_the_right: bool, near: float | None = None
) -> SpinFromMark:
    """Find the rate at which the mark goes round.

    Parameters
    ----------
    times : ndarray, shape (k,)
        Of the frames. [s]
    sums : sequence of complex
        As :func:`turning_sum` gives them. [-]
    fold : int
        1 for a dot, 2 for a stripe.
    to_the_right : bool
        Which way the ball flies in the picture.
    near : float, optional
        Where the spin is expected: then the rate nearest to it is taken of those that look the same.
        [rad/s]

    Returns
    -------
    SpinFromMark
        Rate, interval, and what it can be mistaken for.

    Raises
    ------
    NoAnswer
        Too few frames, or no steady turn to be seen.
    """
    z = np.asarray(sums, dtype=complex)
    if len(z) < LEAST_FRAMES:
        raise NoAnswer(f"the mark is seen in {len(z)} frames; at least {LEAST_FRAMES} are needed")
    t = times - times.mean()
    steps = np.diff(times)
    reach = math.pi / (fold * float(np.median(steps)))  # rad/s
    # frames that are missing leave steps of two or three; those of an uneven clip are no whole number
    counted = steps / float(np.median(steps))
    uneven = float(np.sqrt(np.mean((counted - np.round(counted)) ** 2))) > 0.05
    middle = 0.0 if near is None else (near if to_the_right else -near)
    wide = 3.0 * reach if uneven else reach
    grid = middle + np.arange(-wide, wide, 0.2 * math.pi / (fold * float(np.ptp(times))))
    left = np.array([_left(t, z, fold * rate) for rate in grid])
    best = int(np.argmin(left))
    close = np.flatnonzero(np.abs(grid - middle) <= reach)
    nearest = int(close[np.argmin(left[close])])
    if left[nearest] < 1.5 * left[best]:
        best = nearest  # uneven times must speak clearly before a faster turn is believed
    rate, sd = _refined(t, z, fold, float(grid[best]), float(grid[1] - grid[0]))
    explained = 1.0 - _left(t, z, fold * rate) / max(float(np.sum(np.abs(z - z.mean()) ** 2)), 1e-300)
    if explained < _LEAST_SHARE:
        raise NoAnswer(
            f"one steady turn explains {100 * explained:.0f} % of what the mark does; paint a larger, darker "
            "mark, film nearer or with a shorter exposure"
        )
    return _told(rate, sd, reach, fold, explained, len(z), middle, to_the_right=to_the_right, uneven=uneven)


def _left(t: FloatArray, z: NDArray[np.complex128], rate: float) -> float:
    """Sum of squares that a constant and a term turning with `rate` leave; the sums turn clockwise."""
    turn = np.exp(-1j * rate * t)
    a, b = turn.mean(), z.mean()
    c = np.mean((z - b) * np.conj(turn - a)) / max(float(np.mean(np.abs(turn - a) ** 2)), 1e-9)
    return float(np.sum(np.abs(z - b - c * (turn - a)) ** 2))


def _refined(
    t: FloatArray, z: NDArray[np.complex128], fold: int, start: float, step: float
) -> tuple[float, float]:
    """Least of the sum of squares near a grid point, and the standard deviation there."""
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(
        lambda rate: _left(t, z, fold * rate), bounds=(start - step, start + step), method="bounded",
        options={"xatol": 1e-6 * step},
    )  # fmt: skip
    rate, least = float(found.x), float(found.fun)
    h = 0.05 * step
    bend = (_left(t, z, fold * (rate + h)) + _left(t, z, fold * (rate - h)) - 2.0 * least) / (h * h)
    noise = least / max(2 * len(z) - 5, 1)
    return rate, math.sqrt(2.0 * noise / bend) if bend > 0 else math.inf


def _told(
    rate: float,
    sd: float,
    reach: float,
    fold: int,
    explained: float,
    frames: int,
    middle: float,
    *,
    to_the_right: bool,
    uneven: bool,
) -> SpinFromMark:
    from scipy.special import stdtrit

    sign, turn = (1.0 if to_the_right else -1.0), 1.0 / (2.0 * math.pi)
    half = float(stdtrit(max(2 * frames - 5, 1), 0.975)) * sd * turn
    value = sign * rate * turn
    method = f"least squares, steady turn of a mark of {fold} fold{'s' if fold > 1 else ''}"
    alike = () if uneven else tuple(sign * (rate + k * 2.0 * reach) * turn for k in (-2, -1, 1, 2))
    ends = sorted(sign * (middle + s * reach) * turn for s in (-1.0, 1.0))
    return SpinFromMark(
        Estimate(value, value - half, value + half, 0.95, method),
        -math.inf if uneven else ends[0],
        math.inf if uneven else ends[1],
        alike,
        explained,
        frames,
    )
