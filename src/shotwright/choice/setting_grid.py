"""Hit counts of prototypes at firing positions over a grid of settings, in independent pieces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from shotwright.choice.setting import release_point
from shotwright.flight.aiming import aim_point, aims_through
from shotwright.flight.chance import (
    COLUMNS,
    Aim,
    Launches,
    Scatter,
    hits_of,
    scattered_launches,
    surroundings,
)
from shotwright.flight.model import FlightModel
from shotwright.game.records import FiringPosition, Obstacle, Target
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]

FLIGHTS = 200_000  # in a piece: some tenths of a second


@dataclass(frozen=True, slots=True)
class GridLauncher:
    """A prototype with the draws of its launch spread and the settings to try.

    Parameters
    ----------
    prototype : Prototype
        The prototype.
    scatter : Scatter
        Of arrays, one value for each draw.
    speeds, elevations : tuple of float
        Settings. [m/s], [rad]
    """

    prototype: Prototype
    scatter: Scatter
    speeds: tuple[float, ...]
    elevations: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class GridPiece:
    """Some elevations of one launcher from one position, and how many balls to fly at each setting.

    Parameters
    ----------
    launcher, pair : int
        Numbers in the task.
    first, last : int
        Elevations from `first` up to but without `last`.
    balls : int
        At each setting.
    """

    launcher: int
    pair: int
    first: int
    last: int
    balls: int


@dataclass(frozen=True, slots=True)
class GridTask:
    """What all pieces share.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    launchers : tuple of GridLauncher
        The prototypes.
    pairs : tuple of (FiringPosition, Target)
        Where from, where to.
    obstacles : tuple of Obstacle
        What may be in the way.
    """

    model: FlightModel
    launchers: tuple[GridLauncher, ...]
    pairs: tuple[tuple[FiringPosition, Target], ...]
    obstacles: tuple[Obstacle, ...]

    def pieces(self, balls: int) -> tuple[GridPiece, ...]:
        """Cut the work; the cut depends on the work alone, not on who does it."""
        found = []
        for number, launcher in enumerate(self.launchers):
            block = max(1, min(balls, FLIGHTS // len(launcher.speeds)))
            rows = max(1, FLIGHTS // (len(launcher.speeds) * block))
            for pair in range(len(self.pairs)):
                for first in range(0, len(launcher.elevations), rows):
                    last = min(first + rows, len(launcher.elevations))
                    found += [
                        GridPiece(number, pair, first, last, min(block, balls - done))
                        for done in range(0, balls, block)
                    ]
        return tuple(found)

    def count(self, piece: GridPiece, rng: np.random.Generator) -> NDArray[np.int64]:
        """Fly the balls of one piece and count hits, shape (elevations of the piece, speeds).

        One set of standard normal draws serves all settings of the piece, so that the counts change smoothly
        from one setting to the next. Each ball takes one draw of the launch spread at random.
        """
        launcher, (place, target) = self.launchers[piece.launcher], self.pairs[piece.pair]
        prototype, ball = launcher.prototype, self.model.ball
        around = surroundings(place, ball, prototype.spin_parameter_sd)
        normals = rng.standard_normal((piece.balls, COLUMNS))
        many = np.size(launcher.scatter.speed)
        drawn = rng.integers(0, many, piece.balls)
        each = Scatter(
            **{f.name: np.resize(getattr(launcher.scatter, f.name), many)[drawn] for f in fields(Scatter)}
        )
        elevations = launcher.elevations[piece.first : piece.last]
        point = release_point(prototype, place)
        azimuths = self._azimuths(point, target, elevations, prototype.spin_parameter)
        found = np.zeros((len(elevations), len(launcher.speeds)), dtype=np.int64)
        for row, (elevation, azimuth) in enumerate(zip(elevations, azimuths, strict=True)):
            blocks = [
                scattered_launches(
                    self.model,
                    Aim(point, speed, elevation, azimuth, prototype.spin_parameter),
                    each,
                    around,
                    normals,
                    ball=ball,
                )
                for speed in launcher.speeds
            ]
            together = Launches(*(np.concatenate(one) for one in zip(*blocks, strict=True)))
            hits = hits_of(self.model, target, together, obstacles=self.obstacles)
            found[row] = hits.reshape(len(launcher.speeds), -1).sum(axis=1)
        return found

    def _azimuths(
        self, point: FloatArray, target: Target, elevations: Sequence[float], spin_parameter: float
    ) -> list[float]:
        """Where to point at each elevation: at the middle of the opening, the side wind allowed for."""
        flat = aim_point(target)[:2] - point[:2]
        bearing = math.atan2(flat[1], flat[0])
        aims = aims_through(self.model, target, point, np.array(elevations), spin_parameter)
        return [bearing if aim is None else aim.azimuth for aim in aims]
