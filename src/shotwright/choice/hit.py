"""Hit probability of a prototype at a firing position, with its interval. See docs/hit-probability.md."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.choice.bouncing import with_bounces
from shotwright.choice.counting import carried_marks, fired_hits
from shotwright.choice.linear import linear_hits
from shotwright.choice.records import (
    ChosenSetting,
    CountedMarks,
    DoubtShares,
    HitDraws,
    HitProbability,
    SpreadSummary,
)
from shotwright.choice.setting import best_setting
from shotwright.choice.wording import hit_words
from shotwright.flight.chance import (
    COLUMNS,
    Aim,
    LinearShot,
    Scatter,
    Surroundings,
    flown_hits,
    surroundings,
)
from shotwright.flight.crossing import fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.game.records import FiringPosition, Game, Obstacle, Target
from shotwright.trials.launch import trial_evidence
from shotwright.trials.records import Prototype, Shot, Trial
from shotwright.trials.spread import LaunchSpread, TrialEvidence, draw_launch_spread

FloatArray = NDArray[np.float64]

DRAWS = 2000
FLOWN_DRAWS = 30
LINEAR_GOOD_TO = 0.002
_SEARCH_DRAWS = 120
_CHECK_DRAWS = 6
_CHECK_BALLS = 3000
_FLOWN_BALLS = 1500
_SHARE_BINS = 20
_FARTHEST_SCATTER = 6.0  # standard deviations of the crossing point; no ball strays farther on its way


@dataclass(frozen=True, slots=True)
class Launcher:
    """A prototype with what its trials say.

    Parameters
    ----------
    prototype : Prototype
        Settings and limits.
    trials : tuple of (Trial, tuple of Shot)
        All its trials.
    evidence : tuple of TrialEvidence
        Of the trials that carry any.
    spread : LaunchSpread
        Posterior draws.
    extremes : tuple of LaunchSpread
        The same with all of the along spread from elevation, and all from speed.
    flagged : int
        Shots flagged as outliers.
    """

    prototype: Prototype
    trials: tuple[tuple[Trial, tuple[Shot, ...]], ...]
    evidence: tuple[TrialEvidence, ...]
    spread: LaunchSpread
    extremes: tuple[LaunchSpread, LaunchSpread]
    flagged: int = 0

    @property
    def origin(self) -> str:
        """``"simulated"`` if any trial is."""
        return "simulated" if any(t.origin == "simulated" for t, _ in self.trials) else "measured"


def launcher_from_trials(
    model: FlightModel,
    game: Game,
    prototype: Prototype,
    trials: Sequence[tuple[Trial, Sequence[Shot]]],
    rng: np.random.Generator,
    *,
    flagged: int = 0,
    draws: int = DRAWS,
) -> Launcher:
    """Draw a prototype's launch spread from its trials.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    game : Game
        For the ball's spread.
    prototype : Prototype
        The launcher.
    trials : sequence of (Trial, shots)
        Its trials.
    rng : numpy.random.Generator
        Source of the draws.
    flagged : int
        Shots flagged as outliers by the dispersion figures.
    draws : int
        Posterior draws.

    Returns
    -------
    Launcher
        Ready for any position.

    Raises
    ------
    NoAnswer
        No trial of it has enough shots, or none could be traced back to a launch.
    """
    evidence, reasons = [], []
    for trial, shots in trials:
        try:
            evidence.append(trial_evidence(model, game.ball, prototype, trial, shots))
        except NoAnswer as reason:
            reasons.append(str(reason))
    if not evidence:
        raise NoAnswer("; ".join(reasons) if reasons else f"prototype {prototype.name!r} has no trial")
    return Launcher(
        prototype=prototype,
        trials=tuple((t, tuple(s)) for t, s in trials),
        evidence=tuple(evidence),
        spread=draw_launch_spread(evidence, rng, draws=draws),
        extremes=(
            draw_launch_spread(evidence, rng, draws=draws // 2, speed_share=0.0),
            draw_launch_spread(evidence, rng, draws=draws // 2, speed_share=1.0),
        ),
        flagged=flagged,
    )


def spread_summary(launcher: Launcher) -> SpreadSummary:
    """Summarise the launch spread of one prototype with 95 % intervals."""
    spread = launcher.spread
    return SpreadSummary(
        prototype=launcher.prototype.name,
        speed_percent=_interval(100 * spread.speed),
        elevation_deg=_interval(np.degrees(spread.elevation)),
        azimuth_deg=_interval(np.degrees(spread.azimuth)),
        speed_share=_interval(spread.speed_share),
        shots=spread.shots,
        trials=spread.trials,
    )


def _interval(draws: FloatArray, weights: FloatArray | None = None) -> Estimate:
    """Posterior mean with the central 95 % interval."""
    low, high = _quantiles(draws, weights, (0.025, 0.975))
    return Estimate(
        float(np.average(draws, weights=weights)), low, high, method="posterior mean and central interval"
    )


def _quantiles(draws: FloatArray, weights: FloatArray | None, levels: Sequence[float]) -> tuple[float, ...]:
    if weights is None:
        return tuple(float(q) for q in np.quantile(draws, levels))
    order = np.argsort(draws)
    cumulative = np.cumsum(weights[order]) / np.sum(weights)
    return tuple(
        float(draws[order][min(int(np.searchsorted(cumulative, q)), len(draws) - 1)]) for q in levels
    )


def as_scatter(spread: LaunchSpread) -> Scatter:
    """Turn posterior draws into the flight room's scatter of arrays."""
    return Scatter(
        speed=spread.speed,
        elevation=spread.elevation,
        azimuth=spread.azimuth,
        speed_offset=spread.speed_offset,
        elevation_offset=spread.elevation_offset,
        azimuth_offset=spread.azimuth_offset,
    )


def _subset(scatter: Scatter, pick: NDArray[np.intp]) -> Scatter:
    return Scatter(**{f.name: np.ravel(getattr(scatter, f.name))[pick] for f in fields(scatter)})


def hit_probability(
    model: FlightModel,
    game: Game,
    launcher: Launcher,
    position: FiringPosition,
    target: Target,
    seed: int,
    *,
    defended: bool = False,
) -> tuple[HitProbability, HitDraws | None]:
    """Find the best setting for a position and the hit probability there.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    game : Game
        Obstacles, defenders, ball.
    launcher : Launcher
        The prototype with its posterior draws.
    position : FiringPosition
        Where from.
    target : Target
        The opening.
    seed : int
        Seed of the balls that are flown; the same seed gives the same numbers.
    defended : bool
        Put the defenders in the way.

    Returns
    -------
    tuple of HitProbability and HitDraws
        The result, and its draws for ranking (None when there is no answer).
    """
    obstacles: tuple[Obstacle, ...] = game.obstacles
    if defended:
        obstacles += tuple(d.solid for d in game.defenders)
    around = surroundings(position, game.ball, launcher.prototype.spin_parameter_sd)
    rng = np.random.default_rng([seed, 1])
    normals = rng.standard_normal((_CHECK_BALLS, COLUMNS))
    scatter = as_scatter(launcher.spread)
    search = _subset(scatter, rng.permutation(len(launcher.spread))[:_SEARCH_DRAWS])
    try:
        best = best_setting(
            model, game.ball, launcher.prototype, position, target, search, around, obstacles, normals
        )
    except NoAnswer as reason:
        return _no_answer(launcher, position, target, defended, str(reason), seed), None

    near = _in_reach(model, target, best.shot, scatter, around, obstacles)
    solver = _Chance(model, game, target, best.shot, around, near, normals)
    direct, method, error = solver.of(scatter)
    chance = with_bounces(model, game, target, best.shot.aim, scatter, around, obstacles, direct, seed)
    fired = fired_hits(launcher.trials, position, target)
    weights = None
    if fired is not None:
        weights = chance**fired.hits * (1 - chance) ** (fired.shots - fired.hits)
        weights = weights / weights.sum() if weights.sum() > 0 else None
    model_says = _interval(chance, weights)
    shift = float(np.mean(chance - best.shot.chance(scatter, around)))
    extremes = [
        _interval(np.clip(best.shot.chance(as_scatter(s), around) + shift, 0.0, 1.0))
        for s in launcher.extremes
    ]
    counted = fired or carried_marks(launcher.evidence, launcher.trials, launcher.spread, best.shot, around)
    # Marks that were carried over tell of direct hits only.
    comparable = counted if chance is direct or fired is not None else None
    leads = _which_leads(model_says, comparable, launcher.flagged)
    result = HitProbability(
        prototype=launcher.prototype.name,
        position=position.name,
        target=target.name,
        defended=defended,
        points=target.points,
        origin=launcher.origin,
        probability=counted.interval if leads == "count" and counted is not None else model_says,
        leads=leads,
        model=model_says,
        counted=counted,
        setting=_describe(model, target, best.shot.aim, best.beyond),
        all_speed=extremes[1],
        all_elevation=extremes[0],
        doubt=_doubt(chance, launcher.spread.speed_share),
        method=method,
        linearisation_error=error,
        shots=launcher.spread.shots,
        trials=launcher.spread.trials,
        seed=seed,
        words=(),
        bounces=game.bounces,
        direct=_interval(direct, weights) if game.bounces else None,
    )
    draws = HitDraws(launcher.prototype.name, position.name, target.name, target.points, chance)
    if weights is not None:
        picked = np.random.default_rng([seed, 2]).choice(len(chance), len(chance), p=weights)
        draws = replace(draws, chance=chance[picked])
    return replace(result, words=hit_words(result, launcher.prototype, launcher.evidence)), draws


@dataclass(frozen=True, slots=True)
class _Chance:
    """One aim's hit probability for arrays of draws, linearised or flown, whichever is good enough."""

    model: FlightModel
    game: Game
    target: Target
    shot: LinearShot
    around: Surroundings
    obstacles: tuple[Obstacle, ...]
    normals: FloatArray

    def of(self, scatter: Scatter) -> tuple[FloatArray, str, float]:
        """Return (chance of each draw, method, largest difference between the two methods)."""
        linear = self.shot.chance(scatter, self.around)
        order = np.argsort(linear)
        picks = order[(np.linspace(0.02, 0.98, _CHECK_DRAWS) * (len(order) - 1)).astype(int)]
        gaps = np.array([self._gap(scatter.at(int(i)), self.normals) for i in picks])
        error = float(np.max(np.maximum(np.abs(gaps[:, 0]) - 2 * gaps[:, 1], 0.0)))
        if error <= LINEAR_GOOD_TO:
            return linear, "linearised", float(np.max(np.abs(gaps[:, 0])))
        # The gap between the two ways is smooth in the draw: fly a part of the draws and carry the gap over.
        flown = np.linspace(0, len(order) - 1, min(FLOWN_DRAWS, len(order))).astype(int)
        some = [self._gap(scatter.at(int(i)), self.normals[:_FLOWN_BALLS])[0] for i in order[flown]]
        smooth = np.convolve(np.pad(some, 3, mode="edge"), np.ones(7) / 7, mode="valid")
        gap = np.empty_like(linear)
        gap[order] = np.interp(np.arange(len(order)), flown, smooth)
        return np.clip(linear + gap, 0.0, 1.0), "flown", float(np.max(np.abs(gaps[:, 0])))

    def _gap(self, one: Scatter, normals: FloatArray) -> tuple[float, float]:
        """Flown minus linearised hit rate on the same balls, and its standard error."""
        flown = flown_hits(
            self.model,
            self.target,
            self.shot.aim,
            one,
            self.around,
            normals,
            ball=self.game.ball,
            obstacles=self.obstacles,
        )
        linear = linear_hits(self.shot, one, self.around, normals)
        difference = flown.astype(float) - linear.astype(float)
        return float(difference.mean()), float(difference.std() / math.sqrt(len(normals)))


def _in_reach(
    model: FlightModel,
    target: Target,
    shot: LinearShot,
    scatter: Scatter,
    around: Surroundings,
    obstacles: Sequence[Obstacle],
) -> tuple[Obstacle, ...]:
    """Keep the obstacles that a scattered ball may touch: the others cost time and change nothing."""
    _, covariance = shot.crossing_scatter(scatter, around)
    widest = np.sqrt(np.quantile(np.trace(covariance, axis1=1, axis2=2), 0.99))
    aim = shot.aim
    velocity, spin = launch_vectors(aim.speed, aim.elevation, aim.azimuth, aim.spin(model.radius))
    _, _, normal = target.axes()
    centre = np.asarray(target.centre)
    kept = []
    for obstacle in obstacles:
        flown = fly_to_plane(model, aim.point, velocity, spin, centre, normal, obstacles=[obstacle])
        if flown.clearance[0] < _FARTHEST_SCATTER * widest:
            kept.append(obstacle)
    return tuple(kept)


def _doubt(chance: FloatArray, share: FloatArray) -> DoubtShares:
    """Split the posterior variance: what the speed share explains, and the rest."""
    total = float(np.var(chance))
    if total <= 0:
        return DoubtShares(few_shots=1.0, speed_or_elevation=0.0)
    order = np.argsort(share)
    groups = np.array_split(chance[order], _SHARE_BINS)
    within = sum(float(np.var(g, ddof=1)) * len(g) for g in groups) / len(chance)
    explained = min(max(1 - within / total, 0.0), 1.0)
    return DoubtShares(few_shots=1 - explained, speed_or_elevation=explained)


def _which_leads(model_says: Estimate, counted: CountedMarks | None, flagged: int) -> str:
    if counted is None:
        return "model"
    apart = counted.interval.low > model_says.high or counted.interval.high < model_says.low
    return "count" if apart or flagged else "model"


def _describe(model: FlightModel, target: Target, aim: Aim, beyond: float) -> ChosenSetting:
    """Fly the aim once and describe it."""
    spin = aim.spin(model.radius)
    one = np.ones(1)
    velocity, spins = launch_vectors(aim.speed * one, aim.elevation * one, aim.azimuth * one, spin * one)
    _, _, normal = target.axes()
    flown = fly_to_plane(model, aim.point, velocity, spins, np.asarray(target.centre), normal)
    vx, vy, vz = flown.velocity[0]
    return ChosenSetting(
        speed_m_s=aim.speed,
        elevation_deg=math.degrees(aim.elevation),
        azimuth_deg=math.degrees(aim.azimuth),
        spin_rev_s=spin / (2 * math.pi),
        entry_angle_deg=math.degrees(math.atan2(-vz, math.hypot(vx, vy))),
        apex_m=float(flown.apex_height[0]),
        flight_time_s=float(flown.time[0]),
        aimed_beyond_m=beyond,
    )


def _no_answer(
    launcher: Launcher, position: FiringPosition, target: Target, defended: bool, reason: str, seed: int
) -> HitProbability:
    none: Estimated = NotEstimated(reason)
    return HitProbability(
        prototype=launcher.prototype.name,
        position=position.name,
        target=target.name,
        defended=defended,
        points=target.points,
        origin=launcher.origin,
        probability=none,
        leads="model",
        model=none,
        counted=None,
        setting=None,
        all_speed=None,
        all_elevation=None,
        doubt=None,
        method="none",
        linearisation_error=0.0,
        shots=launcher.spread.shots,
        trials=launcher.spread.trials,
        seed=seed,
        words=(f"{launcher.prototype.name} from {position.name} at {target.name}: {reason}.",),
    )
