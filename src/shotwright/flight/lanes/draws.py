"""Launches drawn where they are flown: a counter for each ball, hashed into normal draws.

Draw j of ball k comes from the number 8 k + j, put through the mixing function of SplitMix64 (Steele, Lea,
Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014; constants from memory, checked in the
tests against the published first output). So ball k is the same ball whatever chunk or thread it flies in.
Pairs of uniform numbers become normal ones by the method of Box and Muller (Ann. Math. Statist. 29, 610,
1958).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.lanes.elementary import logarithm, sine_cosine

Numbers = NDArray[np.float64]

MOST = 4096  # balls in one chunk
GAP = MOST + 8  # from one quantity to the next in the chunk's array
COLUMNS = 8  # normal draws a ball: speed, elevation, azimuth, spin, x, y, mass, diameter
# launches, as `driver.fetch` takes them with a step of 1 and a gap of GAP
PLACE, VELOCITY, SPIN, MASS, SIZE = 0, 3 * GAP, 6 * GAP, 9 * GAP, 10 * GAP
DRAWS = 11 * GAP
CHUNK = 19 * GAP

# what launches are made from
(
    SPEED, SPEED_SD, ELEVATION, ELEVATION_SD, AZIMUTH, AZIMUTH_SD, SPIN_S, SPIN_S_SD, SLOWEST, RADIUS, PX, PY,
    PZ, PLACE_SD, MEAN_MASS, MASS_SD, MEAN_SIZE, SIZE_SD,
) = range(18)  # fmt: skip
AIM = 18
_SMALLEST = 0.2  # of the mean mass and diameter

_GOLDEN = 0x9E3779B97F4A7C15
_MIX1 = 0xBF58476D1CE4E5B9
_MIX2 = 0x94D049BB133111EB


def mixed(number: np.uint64) -> np.uint64:
    """Hash a counter: the output function of SplitMix64 at state `number` times the golden gamma.

    Parameters
    ----------
    number : uint64
        The counter.

    Returns
    -------
    uint64
        64 random bits.
    """
    z = number * np.uint64(_GOLDEN)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(_MIX1)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(_MIX2)
    return z ^ (z >> np.uint64(31))


def uniform(seed: np.uint64, number: np.uint64) -> float:
    """Uniform draw between 0 and 1, neither of them reached.

    Parameters
    ----------
    seed, number : uint64
        The stream and the place in it.

    Returns
    -------
    float
        The draw.
    """
    return (np.float64(mixed(number + seed) >> np.uint64(12)) + 0.5) * 2.0**-52


def stream(seed: int) -> np.uint64:
    """Turn a seed into the begin of a stream; neighbouring seeds begin far apart.

    Parameters
    ----------
    seed : int
        0 or more.

    Returns
    -------
    uint64
        The stream.
    """
    rest = (1 << 64) - 1
    z = (seed + 1) * _GOLDEN & rest
    z = (z ^ (z >> 30)) * _MIX1 & rest
    z = (z ^ (z >> 27)) * _MIX2 & rest
    return np.uint64(z ^ (z >> 31))


def draw_pair(chunk: Numbers, first: int, count: int, seed: np.uint64, pair: int) -> None:
    """Draw two columns of normal numbers for `count` balls.

    Parameters
    ----------
    chunk : ndarray
        The chunk's array; columns 2 `pair` and 2 `pair` + 1 of its draws are written. [-]
    first, count : int
        Number of the first ball, and of balls.
    seed : uint64
        The stream.
    pair : int
        0 to 3.
    """
    row = DRAWS + 2 * pair * GAP
    for i in range(count):
        number = np.uint64(first + i) * np.uint64(COLUMNS) + np.uint64(2 * pair + 1)
        far = math.sqrt(-2.0 * logarithm(uniform(seed, number)))
        sine, cosine = sine_cosine(4.0 * uniform(seed, number + np.uint64(1)))
        chunk[row + i] = far * cosine
        chunk[row + GAP + i] = far * sine


def launch(chunk: Numbers, count: int, aim: Numbers) -> None:
    """Make launches from the draws, as `chance.scattered_launches` does.

    Parameters
    ----------
    chunk : ndarray
        The chunk's array. [SI]
    count : int
        Number of balls.
    aim : ndarray, shape (18,)
        Means and standard deviations. [SI, rad]
    """
    for i in range(count):
        v = max(aim[SPEED] + aim[SPEED_SD] * chunk[DRAWS + i], aim[SLOWEST])
        elevation = aim[ELEVATION] + aim[ELEVATION_SD] * chunk[DRAWS + GAP + i]
        azimuth = aim[AZIMUTH] + aim[AZIMUTH_SD] * chunk[DRAWS + 2 * GAP + i]
        up, along = sine_cosine(elevation * (2.0 / math.pi))
        left, ahead = sine_cosine(azimuth * (2.0 / math.pi))
        w = (aim[SPIN_S] + aim[SPIN_S_SD] * chunk[DRAWS + 3 * GAP + i]) * v / aim[RADIUS]
        chunk[PLACE + i] = aim[PX] + aim[PLACE_SD] * chunk[DRAWS + 4 * GAP + i]
        chunk[PLACE + GAP + i] = aim[PY] + aim[PLACE_SD] * chunk[DRAWS + 5 * GAP + i]
        chunk[PLACE + 2 * GAP + i] = aim[PZ]
        chunk[VELOCITY + i] = v * along * ahead
        chunk[VELOCITY + GAP + i] = v * along * left
        chunk[VELOCITY + 2 * GAP + i] = v * up
        chunk[SPIN + i] = w * left
        chunk[SPIN + GAP + i] = -w * ahead
        chunk[SPIN + 2 * GAP + i] = 0.0
        mass = aim[MEAN_MASS] + aim[MASS_SD] * chunk[DRAWS + 6 * GAP + i]
        size = aim[MEAN_SIZE] + aim[SIZE_SD] * chunk[DRAWS + 7 * GAP + i]
        chunk[MASS + i] = max(mass, _SMALLEST * aim[MEAN_MASS])
        chunk[SIZE + i] = max(size, _SMALLEST * aim[MEAN_SIZE])


def draw_launches(chunk: Numbers, first: int, count: int, seed: np.uint64, aim: Numbers) -> None:
    """Draw the launches of balls `first` to `first` + `count`; columns without spread are not drawn.

    Parameters
    ----------
    chunk : ndarray
        `CHUNK` numbers, zeros at first. [SI]
    first, count : int
        Number of the first ball, and of balls, at most `MOST`.
    seed : uint64
        The stream.
    aim : ndarray, shape (18,)
        Means and standard deviations. [SI, rad]
    """
    if aim[SPEED_SD] + aim[ELEVATION_SD] > 0.0:
        draw_pair(chunk, first, count, seed, 0)
    if aim[AZIMUTH_SD] + aim[SPIN_S_SD] > 0.0:
        draw_pair(chunk, first, count, seed, 1)
    if aim[PLACE_SD] > 0.0:
        draw_pair(chunk, first, count, seed, 2)
    if aim[MASS_SD] + aim[SIZE_SD] > 0.0:
        draw_pair(chunk, first, count, seed, 3)
    launch(chunk, count, aim)
