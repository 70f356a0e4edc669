"""The hit probability along a line of firing places, for any setting at any distance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.choice.setting import clearances, release_point, scoring_of
from shotwright.flight.aiming import aim_point
from shotwright.flight.chance import COLUMNS, Aim, Scatter, flown_hits, scatter_of_rows, surroundings
from shotwright.flight.model import FlightModel
from shotwright.flight.scoring_chance import ScoringChance
from shotwright.flight.scoring_launches import aims_near
from shotwright.game.records import Ball, FiringPosition, Game, Obstacle, Target
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]

_REACH = 0.7  # of half the opening's depth, to either side of its middle, that is aimed at
_OFFSETS = 9
_ROUNDS = 3
_BALLS = 8000  # flown at each row


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """One place of the line.

    Parameters
    ----------
    distance : float
        Over the floor, from the release point to the middle of the opening. [m]
    scoring : ScoringChance
        What scores from there.
    """

    distance: float
    scoring: ScoringChance


@dataclass(frozen=True, slots=True, eq=False)
class FiringLine:
    """A straight line over the floor to the middle of an opening.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        With its spread.
    prototype : Prototype
        The launcher.
    target : Target
        The opening.
    obstacles : sequence of Obstacle
        A setting whose path hits one scores nothing.
    places : tuple of Place
        By rising distance.
    flown_at, gap, lost : ndarray, shape (r,)
        Distances at which balls were flown [m]; what the integral is off by there, and the share of the hits
        that obstacles take [-]. Empty: none were flown.
    """

    model: FlightModel
    ball: Ball
    prototype: Prototype
    target: Target
    obstacles: Sequence[Obstacle]
    places: tuple[Place, ...]
    flown_at: FloatArray = field(default_factory=lambda: np.zeros(0))
    gap: FloatArray = field(default_factory=lambda: np.zeros(0))
    lost: FloatArray = field(default_factory=lambda: np.zeros(0))

    @property
    def speeds(self) -> tuple[float, float]:
        """Least and greatest speed that can be set. [m/s]."""
        return self.prototype.speed_low or 0.0, self.prototype.speed_high or math.inf

    @property
    def distances(self) -> FloatArray:
        """Of the places. [m]."""
        return np.array([place.distance for place in self.places])

    def chances(self, place: Place, speed: FloatArray, elevation: float, scatter: Scatter) -> FloatArray:
        """Hit probability of several speeds at one elevation from one place, shape (k, m).

        Parameters
        ----------
        place : Place
            One of the line.
        speed : ndarray, shape (k,)
            [m/s]
        elevation : float
            [rad]
        scatter : Scatter
            m draws.

        Returns
        -------
        ndarray, shape (k, m)
            0 where the path hits an obstacle, or the speed is out of the prototype's range. [-]
        """
        launches = place.scoring.launches
        azimuth = float(aims_near(launches, np.array([elevation]), np.zeros(1))[0, 1])
        found = np.zeros((len(speed), len(np.ravel(scatter.speed))))
        if not math.isfinite(azimuth):
            return found
        low, high = self.speeds
        able = np.flatnonzero((speed >= low - 1e-9) & (speed <= high + 1e-9))
        aims = [
            Aim(launches.point, float(v), elevation, azimuth, launches.spin_parameter) for v in speed[able]
        ]
        clear = clearances(self.model, self.target, aims, self.obstacles) > 0
        aims, able = [aim for aim, ok in zip(aims, clear, strict=True) if ok], able[clear]
        if aims:
            found[able] = place.scoring.of(aims, scatter)
            if len(self.flown_at):
                gap, lost = (
                    float(np.interp(place.distance, self.flown_at, v)) for v in (self.gap, self.lost)
                )
                found[able] = np.clip(found[able] + gap, 0.0, 1.0) * (1.0 - lost)
        return found

    def fly(self, place: Place, speed: float, elevation: float, scatter: Scatter) -> tuple[float, float]:
        """Fly balls, and judge the same ones by the integral's curves.

        Parameters
        ----------
        place : Place
            One of the line.
        speed, elevation : float
            [m/s], [rad]
        scatter : Scatter
            Draws; each ball has one.

        Returns
        -------
        tuple of float
            Share of the balls by which the integral is short; share of the hits that obstacles take. [-]
        """
        launches = place.scoring.launches
        azimuth = float(aims_near(launches, np.array([elevation]), np.zeros(1))[0, 1])
        aim = Aim(launches.point, speed, elevation, azimuth, launches.spin_parameter)
        normals = np.random.default_rng(_BALLS).standard_normal((_BALLS, COLUMNS))
        spread = scatter_of_rows(scatter, np.arange(_BALLS) % len(np.ravel(scatter.speed)))
        judged = int(place.scoring.hits(aim, spread, normals).sum())

        def flown(solids: Sequence[Obstacle]) -> int:
            found = flown_hits(
                self.model,
                self.target,
                aim,
                spread,
                place.scoring.around,
                normals,
                ball=self.ball,
                obstacles=solids,
            )
            return int(found.sum())

        free = flown(())
        hits = flown(self.obstacles) if self.obstacles else free
        return (free - judged) / _BALLS, 1.0 - hits / free if free else 0.0

    def with_flown(self, distances: FloatArray, gap: FloatArray, lost: FloatArray) -> FiringLine:
        """Return the line corrected by flown balls at some distances; straight between them."""
        return replace(self, flown_at=distances, gap=gap, lost=lost)

    def best_speed(self, place: Place, elevation: float, scatter: Scatter) -> tuple[float, float]:
        """Find the speed with the largest mean hit probability at one elevation.

        Parameters
        ----------
        place : Place
            One of the line.
        elevation : float
            [rad]
        scatter : Scatter
            Draws.

        Returns
        -------
        tuple of float
            Speed [m/s], NaN where none scores; mean hit probability [-].
        """
        target = self.target
        depth = target.radius or (max(w for _, w in target.corners) - min(w for _, w in target.corners)) / 2
        ends = aims_near(place.scoring.launches, np.full(2, elevation), np.array([-_REACH, _REACH]) * depth)[
            :, 0
        ]
        if not np.isfinite(ends).all():
            return math.nan, 0.0
        low, high = float(ends.min()), float(ends.max())
        best, most = math.nan, 0.0
        for _ in range(_ROUNDS):
            speeds = np.linspace(low, high, _OFFSETS)
            means = self.chances(place, speeds, elevation, scatter).mean(axis=1)
            top = int(np.argmax(means))
            if means[top] <= 0.0:
                return math.nan, 0.0
            best, most = float(speeds[top]), float(means[top])
            step = float(speeds[1] - speeds[0])
            if 0 < top < _OFFSETS - 1:
                # the top of the parabola through the three highest points
                bend = means[top - 1] - 2 * means[top] + means[top + 1]
                if bend < 0:
                    best += float(0.5 * (means[top - 1] - means[top + 1]) / bend) * float(
                        speeds[1] - speeds[0]
                    )
            step = float(speeds[1] - speeds[0])
            low, high = best - step, best + step
        return float(np.clip(best, *self.speeds)), most


def firing_line(
    model: FlightModel,
    game: Game,
    prototype: Prototype,
    position: FiringPosition,
    target: Target,
    distances: FloatArray,
    scatter: Scatter,
    obstacles: Sequence[Obstacle] = (),
) -> FiringLine:
    """Lay a line of firing places from the middle of an opening through a firing position.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    game : Game
        For the ball's spread.
    prototype : Prototype
        The launcher.
    position : FiringPosition
        Gives the direction, and the spread of place and heading.
    target : Target
        The opening.
    distances : ndarray, shape (n,)
        Over the floor. [m]
    scatter : Scatter
        Draws of the launch spread.
    obstacles : sequence of Obstacle
        What stands in the way.

    Returns
    -------
    FiringLine
        Without the places from which nothing scores.

    Raises
    ------
    NoAnswer
        No place from which anything scores.
    """
    middle = aim_point(target)[:2]
    way = np.array([position.x, position.y]) - middle
    length = float(np.linalg.norm(way))
    if length < 1e-6:
        raise NoAnswer(f"{position.name} stands under the middle of {target.name}; name another position")
    around = surroundings(position, game.ball, prototype.spin_parameter_sd)
    places = []
    for distance in distances:
        x, y = middle + way / length * distance
        there = replace(position, x=float(x), y=float(y))
        scoring = scoring_of(model, prototype, target, release_point(prototype, there), scatter, around)
        if scoring is not None:
            places.append(Place(float(distance), scoring))
    if not places:
        raise NoAnswer(f"nothing that {prototype.name} throws along this line passes {target.name}")
    return FiringLine(model, game.ball, prototype, target, tuple(obstacles), tuple(places))
