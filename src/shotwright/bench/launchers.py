"""What prototypes on paper throw: release, reach, hit probability and variance shares, all predicted."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.choice.predicted import DRAWS as SHOTS
from shotwright.choice.predicted import Situation, hit_shares, hits_if_halved, predict_hit
from shotwright.choice.predicted_records import PredictedHit
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import FiringPosition, Obstacle, Target
from shotwright.launcher.description import Described
from shotwright.launcher.prediction import ReleasePrediction, predict_release
from shotwright.launcher.shares import VarianceShares
from shotwright.trials.records import Prototype

SEED = 1
DRAWS = 2048  # of the variance shares; times inputs plus two
_AXES = {"along": "in distance", "cross": "to the sides"}
_WORTH = 0.005  # a gain in hit probability below this is not worth a sentence


@dataclass(frozen=True, slots=True)
class ShotShares(Result):
    """Where the scatter of one shot comes from.

    Parameters
    ----------
    position, target : str
        Which shot.
    shares : tuple of VarianceShares
        Of speed, along, cross and hit.
    halved_input : str, optional
        Input whose spread counts most for the hits; None where nothing can be told.
    probability, probability_if_halved : float, optional
        Predicted hit probability as it is, and with half that input's spread. [-]
    """

    position: str
    target: str
    shares: tuple[VarianceShares, ...]
    halved_input: str | None
    probability: float | None
    probability_if_halved: float | None


@dataclass(frozen=True, slots=True)
class PrototypePrediction(Result):
    """What one prototype on paper throws, reaches and hits.

    Parameters
    ----------
    prototype, kind : str
        Name and mechanism.
    release : ReleasePrediction
        At the settings stated in its file.
    hits : tuple of PredictedHit
        One for each firing position and target.
    sources : tuple of ShotShares
        Variance shares of those shots that are in reach.
    words : tuple of str
        In plain sentences: the release, reach and hits.
    source_words : tuple of str
        In plain sentences: which spread costs most.
    origin : {"predicted"}
        Always.
    """

    prototype: str
    kind: str
    release: ReleasePrediction
    hits: tuple[PredictedHit, ...]
    sources: tuple[ShotShares, ...]
    words: tuple[str, ...]
    source_words: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class Predictions(Result):
    """Predictions of several prototypes.

    Parameters
    ----------
    prototypes : tuple of PrototypePrediction
        Those that a launcher file describes.
    not_described : tuple of str
        Those that none does.
    seed : int
        Of all draws.
    words : tuple of str
        What to know before reading them.
    """

    prototypes: tuple[PrototypePrediction, ...]
    not_described: tuple[str, ...]
    seed: int
    words: tuple[str, ...]


def predict(
    project: Path,
    *,
    prototypes: tuple[str, ...] = (),
    position: str | None = None,
    target: str | None = None,
    defended: bool = False,
    draws: int = DRAWS,
    seed: int = SEED,
    progress: Progress = silent,
) -> Predictions:
    """Predict what prototypes on paper throw.

    Parameters
    ----------
    project : Path
        The project file.
    prototypes : tuple of str
        Names; empty: all that a launcher file describes.
    position, target : str, optional
        Only this one.
    defended : bool
        With the defenders in the way.
    draws : int
        Of the variance shares, a power of two; 0 leaves them out.
    seed : int
        The same seed gives the same numbers.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Predictions
        One for each prototype.
    """
    return predictions_of(
        read_workbook(project),
        prototypes=prototypes,
        position=position,
        target=target,
        defended=defended,
        draws=draws,
        seed=seed,
        progress=progress,
    )


def predictions_of(
    book: Workbook,
    *,
    prototypes: tuple[str, ...] = (),
    position: str | None = None,
    target: str | None = None,
    defended: bool = False,
    draws: int = DRAWS,
    shots: int = SHOTS,
    seed: int = SEED,
    progress: Progress = silent,
) -> Predictions:
    """Do the work of :func:`predict` on a loaded project; parameters as there, and the project.

    Parameters
    ----------
    book : Workbook
        The loaded project; must hold a game.
    prototypes, position, target, defended, draws, seed, progress
        As for :func:`predict`.
    shots : int
        Flown for each hit probability.

    Returns
    -------
    Predictions
        One for each prototype.
    """
    game = book.needed_game()
    model = flight_model(game.ball, game.weather)
    wanted = [p for p in book.some_prototypes(prototypes) if prototypes or book.launcher_of(p.name)]
    described = [(p, described_of(book, p.name)) for p in wanted]
    if not described:
        raise BadInput(
            "no launcher file yet; describe a prototype and bring it in: shotwright import launchers.toml"
        )
    solids = (*game.obstacles, *(d.solid for d in game.defenders)) if defended else game.obstacles
    pairs = book.pairs(position, target)
    found = []
    for number, (prototype, one) in enumerate(described):

        def part(fraction: float, what: str = "", number: int = number) -> None:
            progress((number + fraction) / len(described), what)

        found.append(_prediction(model, prototype, one, pairs, solids, (draws, shots), seed, part))
    progress(1.0, "done")
    rest = tuple(p.name for p in book.prototypes if book.launcher_of(p.name) is None)
    words = ["Predicted from launcher files. Nothing here was measured."]
    if rest and not prototypes:
        words.append(f"No launcher file describes {', '.join(rest)}.")
    return Predictions(tuple(found), rest, seed, tuple(words))


def described_of(book: Workbook, prototype: str) -> Described:
    """Return the launcher of a prototype, or say how to describe it."""
    name = book.some_prototypes((prototype,))[0].name
    described = book.launcher_of(name)
    if described is None:
        raise BadInput(
            f"no launcher file describes {name!r}; write one (docs/launchers.md) and bring it in: "
            "shotwright import launchers.toml",
            field="prototype",
        )
    return described


def _prediction(
    model: FlightModel,
    prototype: Prototype,
    described: Described,
    pairs: tuple[tuple[FiringPosition, Target], ...],
    solids: tuple[Obstacle, ...],
    counts: tuple[int, int],
    seed: int,
    progress: Progress,
) -> PrototypePrediction:
    draws, shots = counts
    release = predict_release(model, described, np.random.default_rng([seed, 0]))
    hits: list[PredictedHit] = []
    sources: list[ShotShares] = []
    for k, (place, opening) in enumerate(pairs):
        progress(k / len(pairs), f"{described.prototype} from {place.name} at {opening.name}")
        situation = Situation(model, described, place, opening, solids)
        hit, settings = predict_hit(situation, seed, shots)
        hits.append(hit)
        if settings is not None and draws:
            progress((k + 0.5) / len(pairs), f"variance shares of {described.prototype} from {place.name}")
            sources.append(_sources(situation, settings, hit, counts, seed))
    words = (
        *release_words(release),
        *_mismatches(prototype, described, release),
        *(w for h in hits for w in h.words),
    )
    sentences = tuple(sentence for one in sources for sentence in _source_words(one))
    return PrototypePrediction(
        described.prototype, described.launcher.kind, release, tuple(hits), tuple(sources), words, sentences
    )


def _sources(
    situation: Situation, settings: dict[str, float], hit: PredictedHit, counts: tuple[int, int], seed: int
) -> ShotShares:
    shares = hit_shares(situation, settings, draws=counts[0], seed=seed)
    lead = next((one.shares[0] for one in reversed(shares) if one.shares and one.output == "hit"), None)
    known = lead is not None and lead.total.low > 0
    return ShotShares(
        position=situation.position.name,
        target=situation.target.name,
        shares=shares,
        halved_input=lead.input if lead and known else None,
        probability=getattr(hit.probability, "value", None),
        probability_if_halved=hits_if_halved(situation, settings, lead.input, seed=seed, draws=counts[1])
        if lead and known
        else None,
    )


def release_words(release: ReleasePrediction) -> tuple[str, ...]:
    """Say what a launcher on paper throws, and where the energy goes."""
    at = ", ".join(f"{name} {shown}" for name, shown in release.settings) or "its one setting"
    speed, elevation, spin, reach = (
        release.speed_m_s,
        release.elevation_deg,
        release.backspin_rev_s,
        release.range_m,
    )
    thrown = (
        f"At {at} it throws {speed.mean:.2f} m/s (sd {speed.sd:.2f}) at {elevation.mean:.1f}° "
        f"(sd {elevation.sd:.2f}°), backspin {spin.mean:.1f} rev/s (sd {spin.sd:.1f}), and meets the floor "
        f"{reach.mean:.2f} m out (sd {reach.sd:.2f})."
    )
    energy = (
        f"Of {release.energy_taken_j:.3g} J a shot takes from the store the ball gets "
        f"{release.ball_energy_j:.3g} J; {release.stored_energy_j:.3g} J are stored before it."
    )
    return thrown, energy


def _mismatches(prototype: Prototype, described: Described, release: ReleasePrediction) -> tuple[str, ...]:
    """What the launcher file and prototypes.toml say differently."""
    words = []
    stated = getattr(described.launcher, "release_height").value  # noqa: B009 - every record has it, the protocol not
    if abs(stated - prototype.release_height) > 1e-3:
        told = f"{stated:.3g} m, prototypes.toml says {prototype.release_height:.3g} m"
        words.append(f"The launcher file releases at {told}: mend one of them.")
    joules = prototype.stored_energy
    if joules is not None and release.stored_energy_j > 1.05 * joules:
        words.append(
            f"It stores {release.stored_energy_j:.3g} J at this setting, prototypes.toml says {joules:.3g}; "
            "a gate of the event may hang on it."
        )
    return tuple(words)


def _source_words(one: ShotShares) -> tuple[str, ...]:
    where = f"From {one.position} at {one.target}"
    words = []
    for shares in one.shares:
        if shares.output in _AXES and shares.shares:
            lead = shares.shares[0]
            half = 100 * (lead.first.high - lead.first.value)
            share = f"{100 * lead.first.value:.0f} % (± {half:.0f}) of the variance"
            words.append(
                f"{where}, {share} {_AXES[shares.output]} comes from {lead.input.replace('_', ' ')}."
            )
    before, after = one.probability, one.probability_if_halved
    if one.halved_input and before is not None and after is not None and after - before > _WORTH:
        words.append(
            f"{where}, half the spread of {one.halved_input.replace('_', ' ')} is predicted to raise the hit "
            f"probability from {100 * before:.0f} to {100 * after:.0f} %: fix that first."
        )
    return tuple(words)
