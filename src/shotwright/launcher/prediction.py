"""What a launcher on paper throws at its stated settings: release, range, energy, with their spread."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shotwright.base.plain import Result
from shotwright.flight.model import FlightModel
from shotwright.launcher.description import Described
from shotwright.launcher.protocol import Input
from shotwright.launcher.reaching import floor_range
from shotwright.launcher.release import LIMIT_WORDS, Limit, Releases
from shotwright.launcher.shots import drawn_inputs, varying

FloatArray = NDArray[np.float64]

_RULES = (
    "Event rules, workshop rules, and what a responsible adult or licensed engineer says stand above these "
    "figures; they are no proof that a mechanism is safe."
)


@dataclass(frozen=True, slots=True)
class Predicted(Result):
    """A number that a model gives, with its spread from shot to shot. Not a measurement.

    Parameters
    ----------
    mean, sd : float
        In the unit that the field's name carries.
    """

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class ReleasePrediction(Result):
    """What a launcher on paper throws at its stated settings.

    Parameters
    ----------
    prototype, kind : str
        Name, and the trade's word for the mechanism.
    settings : tuple of (str, str)
        What is set, in the crew's units.
    speed_m_s, elevation_deg, azimuth_deg, backspin_rev_s, spin_parameter : Predicted
        Of the release.
    range_m : Predicted
        From below the release point to the floor.
    ball_energy_j, energy_taken_j : float
        What the ball gets, and what the store gives, for each shot.
    stored_energy_j : float
        Held before a shot, all of it.
    energy_by_part : dict of str to float
        Where the energy of a shot goes. [J]
    limits : tuple of (str, float)
        What set the release, in words, and the share of the shots.
    cautions, notes : tuple of str
        What to beware of; what to know about the figures.
    draws : int
        Shots drawn from the spreads.
    origin : {"predicted"}
        Always.
    """

    prototype: str
    kind: str
    settings: tuple[tuple[str, str], ...]
    speed_m_s: Predicted
    elevation_deg: Predicted
    azimuth_deg: Predicted
    backspin_rev_s: Predicted
    spin_parameter: Predicted
    range_m: Predicted
    ball_energy_j: float
    energy_taken_j: float
    stored_energy_j: float
    energy_by_part: dict[str, float]
    limits: tuple[tuple[str, float], ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    draws: int
    origin: Literal["predicted"] = "predicted"


def predict_release(
    model: FlightModel, described: Described, rng: np.random.Generator, draws: int = 2000
) -> ReleasePrediction:
    """Predict what a launcher throws at its stated settings.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    described : Described
        The launcher.
    rng : numpy.random.Generator
        Source of the draws.
    draws : int
        Shots drawn.

    Returns
    -------
    ReleasePrediction
        Means, spreads, energies, cautions.
    """
    ball = model.ball
    normals = rng.standard_normal((draws, len(varying(described, ball))))
    shots = described.release(drawn_inputs(described, ball, {}, normals))
    mean = described.release(described.means(ball))
    turns = shots.backspin / (2 * math.pi)
    with np.errstate(divide="ignore", invalid="ignore"):
        parameter = np.where(shots.speed > 0, shots.backspin * ball.radius / shots.speed, 0.0)
    parts = {"ball": mean.ball_energy, **mean.losses}
    return ReleasePrediction(
        prototype=described.prototype,
        kind=described.launcher.kind,
        settings=tuple((one.label, one.shown(described.means(ball)[one.name])) for one in described.settings),
        speed_m_s=_of(shots.speed),
        elevation_deg=_of(np.degrees(shots.elevation)),
        azimuth_deg=_of(np.degrees(shots.azimuth)),
        backspin_rev_s=_of(turns),
        spin_parameter=_of(parameter),
        range_m=_of(floor_range(model, shots)),
        ball_energy_j=float(mean.ball_energy[0]),
        energy_taken_j=float(mean.energy_taken[0]),
        stored_energy_j=float(mean.stored_energy[0]),
        energy_by_part={name: float(part[0]) for name, part in parts.items()},
        limits=_limits(shots),
        cautions=(*described.launcher.cautions(ball), _RULES),
        notes=_notes(described, mean, shots, model),
        draws=draws,
    )


def _of(values: FloatArray) -> Predicted:
    return Predicted(float(np.mean(values)), float(np.std(values)))


def _limits(shots: Releases) -> tuple[tuple[str, float], ...]:
    counted = Counter(shots.limit.tolist()).most_common()
    return tuple((LIMIT_WORDS[Limit(code)], count / len(shots)) for code, count in counted)


def _notes(described: Described, mean: Releases, shots: Releases, model: FlightModel) -> tuple[str, ...]:
    inputs = [one for one in described.inputs(model.ball) if _matters(described, one, model)]
    assumed = [one.label for one in inputs if one.origin == "assumed"]
    still = [one.label for one in inputs if one.role != "ball" and one.sd == 0]
    words = list(dict.fromkeys((*mean.notes, *shots.notes)))
    if assumed:
        words.append(f"Assumed, nobody measured it: {', '.join(assumed)}.")
    if still:
        words.append(f"Taken to be the same for every shot: {', '.join(still)}.")
    return tuple(words)


def _matters(described: Described, one: Input, model: FlightModel) -> bool:
    """Whether a small change of an input changes the release at all."""
    step = 0.01 * abs(one.value) or one.sd
    means = described.means(model.ball)
    two = described.release(means | {one.name: np.array([one.value, min(one.value + step, one.high)])})
    release = np.column_stack([two.speed, two.elevation, two.azimuth, two.spin, two.point])
    return bool(np.any(np.abs(release[1] - release[0]) > 1e-12))
