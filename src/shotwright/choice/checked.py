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
FLOWN_DRAWS = 30
FLOWN_BALLS = 1500
_FIRST_BALLS = 2000
_GROUPS = 4
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
        error = self._error(scatter, order, rng)
        if error <= GOOD_TO:
            return quick, "linearised" if self.quick.scoring is None else "integrated", error
        # The gap is smooth in the draw: fly a part of the draws and carry the gap over to all.
        flown = np.linspace(0, len(order) - 1, min(FLOWN_DRAWS, len(order))).astype(int)
        normals = rng.standard_normal((FLOWN_BALLS, COLUMNS))
        some = [np.mean(self._gaps(scatter.at(int(i)), normals)) for i in order[flown]]
        smooth = np.convolve(np.pad(some, 3, mode="edge"), np.ones(7) / 7, mode="valid")
        gap = np.empty_like(quick)
        gap[order] = np.interp(np.arange(len(order)), flown, smooth)
        return np.clip(quick + gap, 0.0, 1.0), "flown", error

    def _error(self, scatter: Scatter, order: NDArray[np.intp], rng: np.random.Generator) -> float:
        """Fly one ball for each of some draws, and more until it is clear whether the short cut is off."""
        gaps: FloatArray = np.empty((0, _GROUPS))
        wanted = _FIRST_BALLS
        while True:
            more = (wanted - gaps.size) // _GROUPS
            # a column for each quarter of the draws, from the least to the greatest chance
            rank = (np.arange(_GROUPS) + rng.uniform(size=(more, _GROUPS))) / _GROUPS * len(order)
            draws = order[np.minimum(rank.astype(int), len(order) - 1)].ravel()
            normals = rng.standard_normal((len(draws), COLUMNS))
            gaps = np.vstack([gaps, self._gaps(scatter_of_rows(scatter, draws), normals).reshape(more, -1)])
            off, doubt = abs(float(gaps.mean())), 2 * float(gaps.std()) / math.sqrt(gaps.size)
            by_group = np.abs(gaps.mean(axis=0)) - 2 * gaps.std(axis=0) / math.sqrt(len(gaps))
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
