"""Hit probability of a prototype at a firing position, with its interval. See docs/hit-probability.md."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.choice.bouncing import with_bounces
from shotwright.choice.checked import CheckedChance, ShotChance, obstacles_in_reach
from shotwright.choice.counting import carried_marks, fired_hits
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
    Scatter,
    scatter_of_rows,
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
_SEARCH_DRAWS = 80
_SETTLING_BALLS = 600
_SHARE_BINS = 20


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
    normals = rng.standard_normal((_SETTLING_BALLS, COLUMNS))
    scatter = as_scatter(launcher.spread)
    search = scatter_of_rows(scatter, rng.permutation(len(launcher.spread))[:_SEARCH_DRAWS])
    try:
        best = best_setting(
            model, game.ball, launcher.prototype, position, target, search, around, obstacles, normals
        )
    except NoAnswer as reason:
        return _no_answer(launcher, position, target, defended, str(reason), seed), None

    near = obstacles_in_reach(model, target, best.shot, scatter, around, obstacles)
    quick = ShotChance(best.shot, around, best.scoring)
    direct, method, error = CheckedChance(model, game.ball, target, quick, near).of(scatter, rng)
    chance = with_bounces(model, game, target, best.shot.aim, scatter, around, obstacles, direct, seed)
    fired = fired_hits(launcher.trials, position, target)
    weights = None
    if fired is not None:
        weights = chance**fired.hits * (1 - chance) ** (fired.shots - fired.hits)
        weights = weights / weights.sum() if weights.sum() > 0 else None
    model_says = _interval(chance, weights)
    shift = float(np.mean(chance - quick.of(scatter)))
    extremes = [_interval(np.clip(quick.of(as_scatter(s)) + shift, 0.0, 1.0)) for s in launcher.extremes]
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
        shortcut_error=error,
        shots=launcher.spread.shots,
        trials=launcher.spread.trials,
        seed=seed,
        words=(),
        bounces=game.bounces,
        direct=_interval(direct, weights) if game.bounces else None,
    )
    draws = HitDraws(
        prototype=launcher.prototype.name,
        position=position.name,
        target=target.name,
        points=target.points,
        chance=chance,
        by_marks=chance,
        spread=launcher.spread,
        evidence=launcher.evidence,
    )
    if weights is not None:
        picked = np.random.default_rng([seed, 2]).choice(len(chance), len(chance), p=weights)
        draws = replace(draws, chance=chance[picked])
    return replace(result, words=hit_words(result, launcher.prototype, launcher.evidence)), draws


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
    flown = fly_to_plane(model, aim.point, velocity, spins, np.asarray(target.centre), normal, plain=False)
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
        shortcut_error=0.0,
        shots=launcher.spread.shots,
        trials=launcher.spread.trials,
        seed=seed,
        words=(f"{launcher.prototype.name} from {position.name} at {target.name}: {reason}.",),
    )
