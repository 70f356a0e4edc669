"""A hit probability with its check: integrated over what scores, or through straight lines, or flown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.choice.linear import linear_hits
from shotwright.flight.chance import COLUMNS, LinearShot, Scatter, Surroundings, flown_hits, scatter_of_rows
from shotwright.flight.crossing import fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.scoring_chance import ScoringChance
from shotwright.game.records import Ball, Obstacle, Target

FloatArray = NDArray[np.float64]

GOOD_TO = 0.002
CHECK_BALLS = 8000
FLOWN_GROUPS = 30
FLOWN_BALLS = 1500  # in each group
_FIRST_BALLS = 2000
_GROUPS = 4
_INTEGRALS = 100  # draws whose integral is done in a second way
_SURE = 3.0  # standard errors; with four groups, looked at up to three times, two would often mislead
_FARTHEST_SCATTER = 6.0  # standard deviations of the crossing point; no ball strays farther on its way


@dataclass(frozen=True, slots=True)
class ShotChance:
    """Hit probability of one aim without flying: over the scoring launches where they are known.

    Parameters
    ----------
    shot : LinearShot
        The aim with the flight around it as a straight line.
    around : Surroundings
        Placement and balls.
    scoring : ScoringChance, optional
        What scores from here; None: the straight line is used.
    """

    shot: LinearShot
    around: Surroundings
    scoring: ScoringChance | None

    def of(self, scatter: Scatter) -> FloatArray:
        """Return the hit probability of each draw, shape (m,)."""
        if self.scoring is None:
            return self.shot.chance(scatter, self.around)
        return np.asarray(self.scoring.of([self.shot.aim], scatter)[0])

    def hits(self, scatter: Scatter, normals: FloatArray) -> NDArray[np.bool_]:
        """Judge the same balls as `flown_hits`."""
        if self.scoring is None:
            return linear_hits(self.shot, scatter, self.around, normals)
        return self.scoring.hits(self.shot.aim, scatter, normals)


@dataclass(frozen=True, slots=True)
class CheckedChance:
    """One aim's hit probability for arrays of draws, checked by flown balls and replaced where they disagree.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        Mean diameter and mass.
    target : Target
        The opening.
    quick : ShotChance
        The short cut.
    obstacles : tuple of Obstacle
        Those that a scattered ball may touch.
    """

    model: FlightModel
    ball: Ball
    target: Target
    quick: ShotChance
    obstacles: tuple[Obstacle, ...]

    def of(self, scatter: Scatter, rng: np.random.Generator) -> tuple[FloatArray, str, float]:
        """Find the hit probability of each draw.

        Parameters
        ----------
        scatter : Scatter
            Of m draws.
        rng : numpy.random.Generator
            Draws the balls that are flown.

        Returns
        -------
        chance : ndarray, shape (m,)
            Hit probabilities. [-]
        method : str
            ``"integrated"``, ``"linearised"`` or ``"flown"``.
        error : float
            How far the short cut was off: over all draws, or in the quarter of them where it is surely worse.
        """
        quick = self.quick.of(scatter)
        order = np.argsort(quick, kind="stable")
        error = max(self._error(scatter, order, rng), self._integral_error(scatter, quick, rng))
        if error <= GOOD_TO:
            return quick, "linearised" if self.quick.scoring is None else "integrated", error
        # The gap is smooth in the draw: measure it in groups of like draws, and carry it over to all.
        draws = _spread_over(order, FLOWN_GROUPS, FLOWN_BALLS, rng)
        gaps = self._gaps(scatter_of_rows(scatter, draws), rng.standard_normal((len(draws), COLUMNS)))
        some = gaps.reshape(FLOWN_BALLS, FLOWN_GROUPS).mean(axis=0)
        smooth = np.convolve(np.pad(some, 1, mode="edge"), np.array([0.25, 0.5, 0.25]), mode="valid")
        gap = np.empty_like(quick)
        middles = (np.arange(FLOWN_GROUPS) + 0.5) / FLOWN_GROUPS * len(order)
        gap[order] = np.interp(np.arange(len(order)) + 0.5, middles, smooth)
        return np.clip(quick + gap, 0.0, 1.0), "flown", error

    def _integral_error(self, scatter: Scatter, quick: FloatArray, rng: np.random.Generator) -> float:
        """Mean difference from a second, finer way to the integral, over some of the draws."""
        if self.quick.scoring is None:
            return 0.0
        some = rng.integers(len(quick), size=_INTEGRALS)
        again = self.quick.scoring.of([self.quick.shot.aim], scatter_of_rows(scatter, some), sliced=True)[0]
        return float(np.mean(np.abs(again - quick[some])))

    def _error(self, scatter: Scatter, order: NDArray[np.intp], rng: np.random.Generator) -> float:
        """Fly one ball for each of some draws, and more until it is clear whether the short cut is off."""
        gaps: FloatArray = np.empty((0, _GROUPS))
        wanted = _FIRST_BALLS
        while True:
            more = (wanted - gaps.size) // _GROUPS
            draws = _spread_over(order, _GROUPS, more, rng)
            normals = rng.standard_normal((len(draws), COLUMNS))
            gaps = np.vstack([gaps, self._gaps(scatter_of_rows(scatter, draws), normals).reshape(more, -1)])
            off, doubt = abs(float(gaps.mean())), 2 * float(gaps.std()) / math.sqrt(gaps.size)
            by_group = np.abs(gaps.mean(axis=0)) - _SURE * gaps.std(axis=0) / math.sqrt(len(gaps))
            worst = max(off, float(by_group.max()))
            settled = off + doubt <= GOOD_TO or off - doubt > GOOD_TO or float(by_group.max()) > GOOD_TO
            if settled or gaps.size >= CHECK_BALLS:
                return worst
            wanted = min(2 * gaps.size, CHECK_BALLS)

    def _gaps(self, scatter: Scatter, normals: FloatArray) -> FloatArray:
        """Flown minus judged by the short cut, of the same balls."""
        flown = flown_hits(
            self.model,
            self.target,
            self.quick.shot.aim,
            scatter,
            self.quick.around,
            normals,
            ball=self.ball,
            obstacles=self.obstacles,
        )
        gaps: FloatArray = flown.astype(float) - self.quick.hits(scatter, normals)
        return gaps


def _spread_over(
    order: NDArray[np.intp], groups: int, each: int, rng: np.random.Generator
) -> NDArray[np.intp]:
    """Pick draws from every part of an order: `each` rows of one draw from each group, row after row."""
    rank = (np.arange(groups) + rng.uniform(size=(each, groups))) / groups * len(order)
    return np.asarray(order[np.minimum(rank.astype(int), len(order) - 1)].ravel())


def obstacles_in_reach(
    model: FlightModel,
    target: Target,
    shot: LinearShot,
    scatter: Scatter,
    around: Surroundings,
    obstacles: Sequence[Obstacle],
) -> tuple[Obstacle, ...]:
    """Keep the obstacles that a scattered ball may touch: the others cost time and change nothing.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    shot : LinearShot
        The aim, and the flight around it.
    scatter : Scatter
        Of m draws.
    around : Surroundings
        Placement and balls.
    obstacles : sequence of Obstacle
        All of them.

    Returns
    -------
    tuple of Obstacle
        Those nearer to the aimed path than six standard deviations of the crossing point.
    """
    _, covariance = shot.crossing_scatter(scatter, around)
    widest = np.sqrt(np.quantile(np.trace(covariance, axis1=1, axis2=2), 0.99))
    aim = shot.aim
    velocity, spin = launch_vectors(aim.speed, aim.elevation, aim.azimuth, aim.spin(model.radius))
    _, _, normal = target.axes()
    centre = np.asarray(target.centre)
    kept = []
    for obstacle in obstacles:
        flown = fly_to_plane(
            model, aim.point, velocity, spin, centre, normal, obstacles=[obstacle], plain=False
        )
        if flown.clearance[0] < _FARTHEST_SCATTER * widest:
            kept.append(obstacle)
    return tuple(kept)
