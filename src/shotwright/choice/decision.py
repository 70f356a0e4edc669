"""Which prototype to build: hard gates first, then criteria under every weighting, over posterior draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.choice.records import HitDraws, HitProbability
from shotwright.choice.worth_of_testing import WorthOfTesting, contenders_of, worth_of_testing
from shotwright.game.records import Game, Limits
from shotwright.statistics.ranking import acceptability, chance_dominated, chance_of_rank
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]

# Criteria that a crew may weigh. The first two come from the posterior draws, the others are plain figures.
CRITERIA = {
    "points": "mean points of one ball over all firing positions, needed or not",
    "worst": "points of one ball from the worst needed position",
    "motors": "motors used (fewer is better)",
    "mass": "mass (lighter is better)",
    "energy": "stored energy (less is better)",
}
_LIMITED = ("motors", "stored_energy", "mass", "length", "width", "height")
_UNITS = {"motors": "", "stored_energy": " J", "mass": " kg", "length": " m", "width": " m", "height": " m"}
_CLEAR_LEAD = 0.95


@dataclass(frozen=True, slots=True)
class Gate(Result):
    """One hard condition on one prototype; `passed` is None when it can't be judged."""

    prototype: str
    gate: str
    passed: bool | None
    words: str


@dataclass(frozen=True, slots=True)
class CriterionValue(Result):
    """One prototype's mean value on one criterion, in the criterion's unit."""

    prototype: str
    criterion: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Chance(Result):
    """A chance that belongs to a prototype."""

    prototype: str
    chance: float


@dataclass(frozen=True, slots=True)
class RankShares(Result):
    """Share of draws and weightings in which a prototype takes each rank, best first."""

    prototype: str
    ranks: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class RecordedChoice(Result):
    """A choice as it was recorded, with the evidence it rested on.

    Parameters
    ----------
    date : str
        ISO 8601 day.
    prototype : str
        The one chosen.
    reason : str
        The crew's words.
    evidence : dict
        Trials with their number of shots, hit probabilities, chance to rank first, seed.
    """

    date: str
    prototype: str
    reason: str
    evidence: dict[str, object]


@dataclass(frozen=True, slots=True)
class Decision(Result):
    """The ranking of the prototypes and what was chosen.

    Parameters
    ----------
    prototypes : tuple of str
        Those with hit probabilities.
    admitted : tuple of str
        Those that pass every gate, best first.
    gates : tuple of Gate
        Every gate of every prototype.
    criteria : tuple of CriterionValue
        Mean values.
    weights : dict, optional
        The crew's own weights; None: all weightings alike.
    first_chance : tuple of Chance
        Chance to rank first over draws and weights.
    first_by_points : tuple of Chance
        Chance to bring the most points, whatever else.
    acceptability : tuple of RankShares
        Over draws and weightings: all alike, or near the crew's own when `weights` are given.
    dominated : tuple of Chance
        Chance that another is at least as good on everything and better on something.
    recorded : RecordedChoice, optional
        The last choice on record.
    seed : int
        Seed of the draws.
    words : tuple of str
        The same in plain sentences.
    testing : WorthOfTesting, optional
        What more shots would be worth before choosing by hit probability; None when one prototype is left.
    """

    prototypes: tuple[str, ...]
    admitted: tuple[str, ...]
    gates: tuple[Gate, ...]
    criteria: tuple[CriterionValue, ...]
    weights: dict[str, float] | None
    first_chance: tuple[Chance, ...]
    first_by_points: tuple[Chance, ...]
    acceptability: tuple[RankShares, ...]
    dominated: tuple[Chance, ...]
    recorded: RecordedChoice | None
    seed: int
    words: tuple[str, ...]
    testing: WorthOfTesting | None = None


def gates_of(prototype: Prototype, limits: Limits, hits: Sequence[HitProbability], game: Game) -> list[Gate]:
    """Judge one prototype by every hard condition.

    Parameters
    ----------
    prototype : Prototype
        The launcher.
    limits : Limits
        What the event allows.
    hits : sequence of HitProbability
        Its hit probabilities.
    game : Game
        Tells which positions are needed.

    Returns
    -------
    list of Gate
        One for each limit stated, and one for each needed position.
    """
    found = []
    for name in _LIMITED:
        allowed, has = getattr(limits, name), getattr(prototype, name)
        if allowed is None:
            continue
        title, unit = name.replace("_", " "), _UNITS[name]
        if has is None:
            words = f"{title} not stated; the limit is {allowed:g}{unit}"
            found.append(Gate(prototype.name, title, None, words))
        else:
            within = has <= allowed
            words = f"{title} {has:g}{unit}, {'within' if within else 'over'} the limit of {allowed:g}{unit}"
            found.append(Gate(prototype.name, title, within, words))
    for position in game.positions:
        here = [h for h in hits if h.position == position.name]
        if not position.needed or not here:
            continue
        reached = [h.target for h in here if h.setting is not None]
        words = (
            f"reaches {' and '.join(reached)} from {position.name}"
            if reached
            else f"can't score from {position.name}: {'; '.join(sorted({_reason(h) for h in here}))}"
        )
        found.append(Gate(prototype.name, f"reaches {position.name}", bool(reached), words))
    return found


def _reason(hit: HitProbability) -> str:
    return str(getattr(hit.probability, "reason", ""))


def score_draws(draws: Sequence[HitDraws], game: Game) -> tuple[FloatArray, FloatArray]:
    """Points of one ball: mean over positions, and at the worst needed one. Each of shape (m,).

    At each position the target that brings the most points on average is fired at.
    """
    best: dict[str, FloatArray] = {}
    for d in draws:
        points = d.points * d.chance
        if d.position not in best or points.mean() > best[d.position].mean():
            best[d.position] = points
    size = len(next(iter(best.values())))
    wanted = [p for p in game.positions if any(p is q for q, _ in game.shots_wanted())]
    mean = np.mean([best.get(p.name, np.zeros(size)) for p in wanted], axis=0)
    needed = [best.get(p.name, np.zeros(size)) for p in wanted if p.needed] or list(best.values())
    return mean, np.min(needed, axis=0)


def decide(
    game: Game,
    prototypes: Sequence[Prototype],
    hits: Sequence[HitProbability],
    draws: Sequence[HitDraws],
    rng: np.random.Generator,
    *,
    weights: Mapping[str, float] | None = None,
    recorded: RecordedChoice | None = None,
    seed: int = 0,
) -> Decision:
    """Rank the prototypes.

    Parameters
    ----------
    game : Game
        Limits, positions.
    prototypes : sequence of Prototype
        Those in question.
    hits : sequence of HitProbability
        For every prototype, position and target.
    draws : sequence of HitDraws
        Their draws; draw i of one prototype is independent of draw i of another.
    rng : numpy.random.Generator
        Draws weights.
    weights : mapping of str to float, optional
        The crew's weights by criterion, of `CRITERIA`; None: all weightings alike. [-]
    recorded : RecordedChoice, optional
        The last choice on record.
    seed : int
        Recorded with the result.

    Returns
    -------
    Decision
        The ranking, in numbers and words.

    Raises
    ------
    BadInput
        An unknown criterion or a negative weight.
    """
    gates = [
        g
        for p in prototypes
        for g in gates_of(p, game.limits, [h for h in hits if h.prototype == p.name], game)
    ]
    out = {g.prototype for g in gates if g.passed is False}
    contenders = [p for p in prototypes if p.name not in out and any(d.prototype == p.name for d in draws)]
    names = tuple(p.name for p in prototypes)
    if not contenders:
        return _nobody(names, gates, weights, recorded, seed)
    columns, values = _criteria(contenders, draws, game, weights)
    scores = np.stack([np.stack([columns[c][p.name] for c in columns], axis=1) for p in contenders], axis=1)
    concentration = None
    if weights is not None:
        raw = np.array([weights.get(c, 0.0) for c in columns])
        concentration = 50 * raw / raw.sum()
        concentration = np.maximum(concentration, 1e-3)
    ranking = acceptability(scores, rng, concentration=concentration)
    by_points = chance_of_rank(scores[:, :, 0])[:, 0]
    dominated = chance_dominated(scores)[0]
    order = np.argsort(-ranking.ranks[:, 0], kind="stable")
    admitted = tuple(contenders[i].name for i in order)
    decision = Decision(
        prototypes=names,
        admitted=admitted,
        gates=tuple(gates),
        criteria=tuple(values),
        weights=dict(weights) if weights is not None else None,
        first_chance=tuple(Chance(contenders[i].name, float(ranking.ranks[i, 0])) for i in order),
        first_by_points=tuple(Chance(contenders[i].name, float(by_points[i])) for i in order),
        acceptability=tuple(
            RankShares(contenders[i].name, tuple(float(r) for r in ranking.ranks[i])) for i in order
        ),
        dominated=tuple(Chance(contenders[i].name, float(dominated[i])) for i in order),
        recorded=recorded,
        seed=seed,
        words=(),
    )
    testing = worth_of_testing(contenders_of(admitted, draws, game), rng)
    words = _words(decision, gates)
    return replace(decision, words=(*words, *(testing.words if testing else ())), testing=testing)


def _criteria(
    contenders: Sequence[Prototype],
    draws: Sequence[HitDraws],
    game: Game,
    weights: Mapping[str, float] | None,
) -> tuple[dict[str, dict[str, FloatArray]], list[CriterionValue]]:
    """Scores by criterion and prototype on a 0 to 1 scale, more being better, and the plain values."""
    unknown = [c for c in (weights or {}) if c not in CRITERIA]
    if unknown:
        raise BadInput(f"{unknown[0]!r} is not a criterion; there is: {', '.join(CRITERIA)}", field="weights")
    if weights and (min(weights.values()) < 0 or sum(weights.values()) <= 0):
        raise BadInput("weights must be zero or more, and one above zero", field="weights")
    most = max(t.points for t in game.targets) or 1.0
    size = min(len(d.chance) for d in draws)
    plain = {"motors": "motors", "mass": "mass", "energy": "stored_energy"}
    units = {"points": "points", "worst": "points", "motors": "", "mass": "kg", "energy": "J"}
    columns: dict[str, dict[str, FloatArray]] = {"points": {}, "worst": {}}
    values = []
    for p in contenders:
        mean, worst = score_draws([d for d in draws if d.prototype == p.name], game)
        columns["points"][p.name], columns["worst"][p.name] = mean[:size] / most, worst[:size] / most
        values.append(CriterionValue(p.name, "points", float(mean.mean()), "points"))
        values.append(CriterionValue(p.name, "worst", float(worst.mean()), "points"))
    for criterion, field in plain.items():
        figures = [getattr(p, field) for p in contenders]
        if any(f is None for f in figures):
            continue
        limit = getattr(game.limits, field) or max(figures)
        columns[criterion] = {
            p.name: np.full(size, 1 - f / max(limit, 1e-9)) for p, f in zip(contenders, figures, strict=True)
        }
        values += [
            CriterionValue(p.name, criterion, float(f), units[criterion])
            for p, f in zip(contenders, figures, strict=True)
        ]
    missing = [c for c, w in (weights or {}).items() if w > 0 and c not in columns]
    if missing:
        raise BadInput(
            f"{missing[0]!r} can't be weighed: not every prototype states it; add it to prototypes.toml",
            field="weights",
        )
    return columns, values


def _words(decision: Decision, gates: Sequence[Gate]) -> tuple[str, ...]:
    words = [f"{g.prototype} is out: {g.words}." for g in gates if g.passed is False]
    words += [f"{g.prototype}: {g.words}; check it by hand." for g in gates if g.passed is None]
    first = decision.first_chance[0]
    how = "with your weights" if decision.weights else "over all weightings of the criteria alike"
    if len(decision.first_chance) == 1:
        words.append(f"{first.prototype} is the only one that passes every gate.")
    else:
        words.append(f"{first.prototype} ranks first with a chance of {100 * first.chance:.0f} % {how}.")
        points = max(decision.first_by_points, key=lambda c: c.chance)
        words.append(
            f"By points alone {points.prototype} is first with a chance of {100 * points.chance:.0f} %."
        )
        if max(first.chance, points.chance) < _CLEAR_LEAD:
            words.append("That is not settled: more shots, or your own weights, would tell more.")
    words += [
        f"{d.prototype} is dominated with a chance of {100 * d.chance:.0f} %: another is at least as good on "
        "everything."
        for d in decision.dominated
        if d.chance > 0.5
    ]
    words += _on_record(decision.recorded, decision.admitted)
    return tuple(words)


def _on_record(recorded: RecordedChoice | None, admitted: Sequence[str]) -> list[str]:
    """Repeat the choice on record, and say when today's data contradict it."""
    if recorded is None:
        return []
    words = [f"On record: {recorded.prototype}, chosen on {recorded.date}: {recorded.reason}"]
    if recorded.prototype not in admitted:
        words.append(f"Look again: {recorded.prototype} no longer passes every gate.")
    elif recorded.prototype != admitted[0]:
        words.append(f"Look again: by today's data {admitted[0]} ranks first, not {recorded.prototype}.")
    return words


def _nobody(
    names: tuple[str, ...],
    gates: Sequence[Gate],
    weights: Mapping[str, float] | None,
    recorded: RecordedChoice | None,
    seed: int,
) -> Decision:
    words = [f"{g.prototype} is out: {g.words}." for g in gates if g.passed is False]
    return Decision(
        prototypes=names,
        admitted=(),
        gates=tuple(gates),
        criteria=(),
        weights=dict(weights) if weights is not None else None,
        first_chance=(),
        first_by_points=(),
        acceptability=(),
        dominated=(),
        recorded=recorded,
        seed=seed,
        words=(
            *words,
            "No prototype passes every gate and has a hit probability.",
            *_on_record(recorded, ()),
        ),
    )
