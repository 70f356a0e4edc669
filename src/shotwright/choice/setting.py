"""The best setting of a prototype for one firing position: aim is part of the decision."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.choice.checked import obstacles_in_reach
from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import (
    Aim,
    LinearShot,
    Scatter,
    Surroundings,
    flown_hits,
    linear_shots,
    scatter_of_rows,
)
from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.scoring_chance import ScoringChance, scoring_chance
from shotwright.flight.scoring_launches import HIGHEST, LOWEST, STEP, aims_near, scoring_launches
from shotwright.game.records import Ball, FiringPosition, Obstacle, Target
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]

_ELEVATIONS = 13
_OFFSETS = np.linspace(-0.6, 0.6, 5)  # in units of half the opening's depth
_REFINED = 5
_STRAY = 4.0  # standard deviations of elevation that are followed beyond the prototype's range
_LEAST_MARGIN, _MOST_MARGIN = math.radians(6.0), math.radians(20.0)


@dataclass(frozen=True, slots=True)
class Candidate:
    """One aim with its mean chance over the posterior, and what scores from its place."""

    shot: LinearShot
    beyond: float
    chance: float
    scoring: ScoringChance | None = None


def release_point(prototype: Prototype, position: FiringPosition) -> FloatArray:
    """Return where the ball's centre leaves the launcher, shape (3,). [m]."""
    return np.array([position.x, position.y, prototype.release_height])


def best_setting(
    model: FlightModel,
    ball: Ball,
    prototype: Prototype,
    position: FiringPosition,
    target: Target,
    scatter: Scatter,
    around: Surroundings,
    obstacles: Sequence[Obstacle],
    normals: FloatArray,
) -> Candidate:
    """Search the elevation and the aim that give the largest mean hit probability.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        The ball.
    prototype : Prototype
        Its speeds and elevations bound the search.
    position : FiringPosition
        Where from.
    target : Target
        The opening.
    scatter : Scatter
        A few hundred posterior draws at most; the search averages over them.
    around : Surroundings
        Placement and balls.
    obstacles : sequence of Obstacle
        What stands in the way; a blocked aim is no candidate.
    normals : ndarray, shape (n, 8)
        Standard normal draws that are flown to settle between the best candidates near an obstacle. [-]

    Returns
    -------
    Candidate
        The best.

    Raises
    ------
    NoAnswer
        No aim reaches the opening within the prototype's settings, or every one is blocked or does not fit.
    """
    search = _Search(model, prototype, target, release_point(prototype, position), scatter, around, obstacles)
    span = (prototype.elevation_low, prototype.elevation_high)
    fixed = span[1] - span[0] < 1e-9
    elevations = np.array([span[0]]) if fixed else np.linspace(*span, _ELEVATIONS)
    depth = _half_depth(target)
    scoring = search.scoring()
    first = search.tried(scoring, elevations, depth * _OFFSETS)
    top = max(first, key=lambda t: t.chance)
    near = np.array([top.aim.elevation])
    if not fixed:
        step = (span[1] - span[0]) / (_ELEVATIONS - 1)
        near = np.unique(np.clip(np.linspace(-1, 1, _REFINED) * step + top.aim.elevation, *span))
    offsets = top.beyond + np.linspace(-1, 1, _REFINED) * depth * (_OFFSETS[1] - _OFFSETS[0])
    both = sorted([*first, *search.tried(scoring, near, offsets)], key=lambda t: -t.chance)
    chosen = search.settle(ball, both, normals) if obstacles else both[0]
    return search.candidate(chosen, scoring)


def scoring_of(
    model: FlightModel,
    prototype: Prototype,
    target: Target,
    point: FloatArray,
    scatter: Scatter,
    around: Surroundings,
) -> ScoringChance | None:
    """Find what scores over all elevations of a prototype, and as far beyond as its balls stray.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    prototype : Prototype
        Its elevations and spin.
    target : Target
        The opening.
    point : ndarray, shape (3,)
        Release point. [m]
    scatter : Scatter
        Draws of the launch spread.
    around : Surroundings
        Placement and balls.

    Returns
    -------
    ScoringChance or None
        None where nothing scores, or the opening is of another kind.
    """
    widest = float(np.quantile(np.ravel(scatter.elevation), 0.9))
    margin = min(max(_STRAY * widest, _LEAST_MARGIN), _MOST_MARGIN)
    low = max(prototype.elevation_low - margin, LOWEST)
    high = min(prototype.elevation_high + margin, HIGHEST)
    if high <= low:
        return None
    found = None
    for step in (STEP, STEP / 2):
        elevations = np.linspace(low, high, max(math.ceil((high - low) / step), 2) + 1)
        found = scoring_launches(model, target, point, elevations, prototype.spin_parameter)
        # finer where the limit of reach is near, so that less of what stands before it is lost
        if found is None or not np.isfinite(found.whole).any():
            break
    return None if found is None else scoring_chance(found, around)


@dataclass(frozen=True, slots=True)
class _Tried:
    """One aim with its mean chance when nothing is in the way."""

    aim: Aim
    beyond: float
    chance: float


@dataclass(frozen=True, slots=True)
class _Search:
    """What stays the same while settings are tried."""

    model: FlightModel
    prototype: Prototype
    target: Target
    point: FloatArray
    scatter: Scatter
    around: Surroundings
    obstacles: Sequence[Obstacle]

    def scoring(self) -> ScoringChance | None:
        """Find what scores over all elevations of the prototype, and as far beyond as its balls stray."""
        return scoring_of(self.model, self.prototype, self.target, self.point, self.scatter, self.around)

    def sure(self, scoring: ScoringChance | None, elevation: float) -> bool:
        """Whether the balls of an aim stay among the elevations at which all that scores is known."""
        if scoring is None:
            return False
        low, high = scoring.launches.whole
        strays = np.hypot(self.scatter.elevation, self.scatter.elevation_offset)
        reach = _STRAY * float(np.quantile(np.ravel(strays), 0.9))
        return low + reach <= elevation <= high - reach

    def tried(
        self, scoring: ScoringChance | None, elevations: FloatArray, offsets: FloatArray
    ) -> list[_Tried]:
        """Every aim of a grid that reaches the opening, fits through it and is not blocked."""
        elevation = np.repeat(elevations, len(offsets))
        offset = np.tile(offsets, len(elevations))
        reached = [
            (aim, o)
            for aim, o in zip(self._aims(scoring, elevation, offset), offset, strict=True)
            if aim is not None
        ]
        if not reached:
            raise NoAnswer("no speed carries the ball to the opening at the elevations that it can be set to")
        allowed = [(a, o) for a, o in reached if _within(a.speed, self.prototype)]
        if not allowed:
            need = [a.speed for a, _ in reached]
            has = [self.prototype.speed_low or 0.0, self.prototype.speed_high or math.inf]
            raise NoAnswer(
                f"out of reach: it needs {min(need):.1f} to {max(need):.1f} m/s, the prototype gives "
                f"{has[0]:.1f} to {has[1]:.1f} m/s"
            )
        clear = clearances(self.model, self.target, [a for a, _ in allowed], self.obstacles) > 0.0
        free = [pair for pair, ok in zip(allowed, clear, strict=True) if ok]
        if not free:
            raise NoAnswer("blocked: every path that reaches the opening hits an obstacle first")
        chances = self._chances(scoring, [a for a, _ in free])
        found = [
            _Tried(aim, float(o), float(np.mean(chance)))
            for (aim, o), chance in zip(free, chances, strict=True)
            if chance is not None
        ]
        if not found:
            raise NoAnswer("the ball does not fit through the opening at any angle that reaches it")
        return found

    def _aims(
        self, scoring: ScoringChance | None, elevation: FloatArray, offset: FloatArray
    ) -> list[Aim | None]:
        spin_parameter = self.prototype.spin_parameter
        if scoring is not None:
            launch = aims_near(scoring.launches, elevation, offset)
            known = np.isfinite(launch).all(axis=1) & (launch[:, 0] > 0)
            if known.any():
                return [
                    Aim(self.point, float(v), float(e), float(a), spin_parameter) if ok else None
                    for (v, a), e, ok in zip(launch, elevation, known, strict=True)
                ]
        return aims_through(self.model, self.target, self.point, elevation, spin_parameter, long_by=offset)

    def _chances(self, scoring: ScoringChance | None, aims: list[Aim]) -> list[FloatArray | None]:
        found: list[FloatArray | None] = [None] * len(aims)
        sure = [self.sure(scoring, aim.elevation) for aim in aims]
        if scoring is not None and any(sure):
            known = iter(scoring.of([a for a, ok in zip(aims, sure, strict=True) if ok], self.scatter))
            found = [next(known) if ok else None for ok in sure]
        straight = [k for k, ok in enumerate(sure) if not ok]
        for k, shot in zip(
            straight, linear_shots(self.model, self.target, [aims[k] for k in straight]), strict=True
        ):
            if shot is not None and len(shot.region):
                found[k] = shot.chance(self.scatter, self.around)
        return found

    def settle(self, ball: Ball, ordered: Sequence[_Tried], normals: FloatArray) -> _Tried:
        """Take the aim that really scores most with the obstacles there."""
        top = linear_shots(self.model, self.target, [ordered[0].aim])[0]
        if top is not None and not obstacles_in_reach(
            self.model, self.target, top, self.scatter, self.around, self.obstacles
        ):
            return ordered[0]
        # The best offset of every elevation: near an obstacle a steeper path often beats the best free one.
        chosen: dict[float, _Tried] = {}
        for one in ordered:
            chosen.setdefault(round(math.degrees(one.aim.elevation), 3), one)
        draws = np.arange(len(normals)) % len(np.ravel(self.scatter.speed))
        spread = scatter_of_rows(self.scatter, draws)
        best, most = ordered[0], -1.0
        for one in chosen.values():
            # no obstacle adds hits: the others can't win any more
            if one.chance + 2 * math.sqrt(one.chance * (1 - one.chance) / len(normals)) < most:
                break
            hits = flown_hits(
                self.model,
                self.target,
                one.aim,
                spread,
                self.around,
                normals,
                ball=ball,
                obstacles=self.obstacles,
            )
            if hits.mean() > most:
                best, most = one, float(hits.mean())
        return best

    def candidate(self, tried: _Tried, scoring: ScoringChance | None) -> Candidate:
        """Close in on the chosen aim and look at the flight around it."""
        aim = aims_through(
            self.model,
            self.target,
            self.point,
            np.array([tried.aim.elevation]),
            self.prototype.spin_parameter,
            long_by=tried.beyond,
            near=np.array([tried.aim.speed]),
        )[0]
        shot = linear_shots(self.model, self.target, [aim or tried.aim])[0]
        if shot is None:
            raise NoAnswer("no speed carries the ball to the opening at the elevations that it can be set to")
        known = scoring if self.sure(scoring, shot.aim.elevation) else None
        return Candidate(shot, tried.beyond, tried.chance, known)


def _half_depth(target: Target) -> float:
    """Half the extent of the opening along its w axis. [m]."""
    if target.radius is not None:
        return target.radius
    return (max(w for _, w in target.corners) - min(w for _, w in target.corners)) / 2


def _within(speed: float, prototype: Prototype) -> bool:
    low, high = prototype.speed_low, prototype.speed_high
    return (low is None or speed >= low) and (high is None or speed <= high)


def clearances(
    model: FlightModel, target: Target, aims: Sequence[Aim], obstacles: Sequence[Obstacle]
) -> FloatArray:
    """Clearance of each aim's own path over all obstacles; negative when it does not get there.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    aims : sequence of Aim
        k of them.
    obstacles : sequence of Obstacle
        What stands in the way.

    Returns
    -------
    ndarray, shape (k,)
        [m]
    """
    if not obstacles or not aims:
        return np.full(len(aims), np.inf)
    values = np.array([(a.speed, a.elevation, a.azimuth, a.spin(model.radius)) for a in aims]).T
    velocity, spin = launch_vectors(*values)
    _, _, normal = target.axes()
    flown = fly_to_plane(
        model,
        np.array([a.point for a in aims]),
        velocity,
        spin,
        np.asarray(target.centre),
        normal,
        obstacles=obstacles,
        plain=False,
    )
    return np.where(flown.status == Status.CROSSED, np.maximum(flown.clearance, 1e-12), -1.0)
