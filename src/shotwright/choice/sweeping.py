"""A launcher on paper over a grid of two settings: range, spin, lines of the positions, hit probability."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.choice.predicted import AIM, Situation
from shotwright.flight.model import FlightModel
from shotwright.game.records import FiringPosition, Target
from shotwright.launcher.description import Described
from shotwright.launcher.reaching import bearing, floor_range, flown, misses

FloatArray = NDArray[np.float64]

_BATCH = 32_000  # flights in the air at a time: their arrays stay within the processor's cache


@dataclass(frozen=True, slots=True)
class Grid:
    """Two inputs of a launcher and the values that they take; all else at its mean.

    Parameters
    ----------
    x_name, y_name : str
        Names of the inputs.
    x, y : tuple of float
        Rising values. [SI]
    """

    x_name: str
    y_name: str
    x: tuple[float, ...]
    y: tuple[float, ...]

    @property
    def cells(self) -> int:
        """How many combinations there are."""
        return len(self.x) * len(self.y)

    def settings(self, first: int, last: int) -> dict[str, FloatArray]:
        """Return the values of cells `first` to before `last`, row by row, x fastest. [SI], shape (k,)."""
        cells = np.arange(first, last)
        return {
            self.x_name: np.asarray(self.x)[cells % len(self.x)],
            self.y_name: np.asarray(self.y)[cells // len(self.x)],
        }


@dataclass(frozen=True, slots=True)
class MeanMaps:
    """What the mean shot does at every cell. Arrays of shape (ny, nx).

    Parameters
    ----------
    speed, range, backspin : ndarray
        [m/s], [m], [rad/s]
    beyond : tuple of ndarray
        For each position and target, how far beyond the middle the mean shot crosses; NaN where it does not.
        The line where it is 0 serves the position. [m]
    """

    speed: FloatArray
    range: FloatArray
    backspin: FloatArray
    beyond: tuple[FloatArray, ...]


def mean_maps(
    model: FlightModel,
    described: Described,
    grid: Grid,
    pairs: Sequence[tuple[FiringPosition, Target]],
) -> MeanMaps:
    """Fly the mean shot of every cell.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    described : Described
        The launcher.
    grid : Grid
        The cells.
    pairs : sequence of (FiringPosition, Target)
        Whose lines are wanted.

    Returns
    -------
    MeanMaps
        Obstacles are left out.
    """
    shape = (len(grid.y), len(grid.x))
    values = grid.settings(0, grid.cells)
    inputs = {
        name: np.broadcast_to(values.get(name, mean), (grid.cells,))
        for name, mean in described.means(model.ball).items()
    }
    releases = described.release(inputs)
    beyond = []
    for position, target in pairs:
        crossings = flown(model, releases, position, target, bearing(position, target))
        beyond.append(misses(position, target, crossings)[0].reshape(shape))
    return MeanMaps(
        releases.speed.reshape(shape),
        floor_range(model, releases).reshape(shape),
        releases.backspin.reshape(shape),
        tuple(beyond),
    )


@dataclass(frozen=True, slots=True)
class HitCounts:
    """Counts hits over cells of a grid: the work of one chunk of a sweep. Small, so that it can travel.

    Parameters
    ----------
    situation : Situation
        Launcher, place, opening, obstacles.
    grid : Grid
        The cells.
    draws : int
        Shots at each cell: the same draws at all, so that the map is smooth.
    seed : int
        Of the draws.
    """

    situation: Situation
    grid: Grid
    draws: int
    seed: int

    def count(self, first: int, last: int) -> NDArray[np.int64]:
        """Fly the shots of cells `first` to before `last` and count the hits of each, shape (k,)."""
        normals = np.random.default_rng([self.seed, 3]).standard_normal((self.draws, self.situation.columns))
        aim = bearing(self.situation.position, self.situation.target)
        found = np.empty(last - first, dtype=np.int64)
        step = max(1, _BATCH // self.draws)
        for begin in range(first, last, step):
            end = min(begin + step, last)
            settings: Mapping[str, FloatArray] = {
                name: value[:, None] for name, value in self.grid.settings(begin, end).items()
            }
            hits = self.situation.hits({**settings, AIM: np.array(aim)}, normals)
            found[begin - first : end - first] = hits.reshape(end - begin, self.draws).sum(axis=1)
        return found
