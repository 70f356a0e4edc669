"""Hit probabilities in plain sentences. Every number in them is computed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from shotwright.base.estimate import Estimate, NotEstimated, round_to_doubt
from shotwright.choice.records import HitProbability
from shotwright.trials.records import Prototype
from shotwright.trials.spread import TrialEvidence

_WORTH_SAYING = 0.15  # of the doubt


def percent(estimate: Estimate) -> str:
    """Write a probability as ``"71 % (52 to 85 %)"``."""
    return f"{100 * estimate.value:.0f} % ({100 * estimate.low:.0f} to {100 * estimate.high:.0f} %)"


def share_in_words(share: float) -> str:
    """Name a share of a whole in words a person would use.

    Parameters
    ----------
    share : float
        Part of a whole, 0 to 1. [-]

    Returns
    -------
    str
        Such as ``"half"``.
    """
    names = ((0.9, "nearly all"), (0.7, "three quarters"), (0.58, "two thirds"), (0.42, "half"))
    for at_least, name in names:
        if share >= at_least:
            return name
    return "a third" if share >= 0.29 else "a quarter" if share >= 0.2 else f"{100 * share:.0f} %"


def hit_words(
    result: HitProbability, prototype: Prototype, evidence: Sequence[TrialEvidence]
) -> tuple[str, ...]:
    """Say what a hit probability means, where its doubt comes from, and what would narrow it.

    Parameters
    ----------
    result : HitProbability
        The numbers.
    prototype : Prototype
        Its settings tell which further trial is possible.
    evidence : sequence of TrialEvidence
        The trials behind it.

    Returns
    -------
    tuple of str
        Sentences.
    """
    if isinstance(result.probability, NotEstimated) or isinstance(result.model, NotEstimated):
        return ()
    where = (
        f"from {result.position} at {result.target}{' with the defenders there' if result.defended else ''}"
    )
    words = [f"{result.prototype} {where} scores {percent(result.probability)}."]
    if isinstance(result.direct, Estimate):
        times = "one bounce" if result.bounces == 1 else f"up to {result.bounces} bounces"
        words.append(f"Directly it scores {percent(result.direct)}; the rest goes in with {times}.")
    if result.counted is not None:
        kind = "fired here" if result.counted.fired_here else "marks carried over"
        count, directly = result.counted, " directly" if result.bounces else ""
        words.append(
            f"Counted without assuming a shape ({kind}): {count.hits:.1f} of {count.shots} would score"
            f"{directly}, {percent(count.interval)}."
            if not count.fired_here
            else f"Counted at the target: {count.hits:.0f} of {count.shots} scored, "
            f"{percent(count.interval)}."
        )
        if result.leads == "count":
            words.append(
                f"The count leads because the marks don't fit the bell shape or a shot is flagged; the model "
                f"alone would say {percent(result.model)}."
            )
    if result.doubt is not None:
        few, open_share = result.doubt.few_shots, result.doubt.speed_or_elevation
        if open_share > _WORTH_SAYING and result.all_speed and result.all_elevation:
            words.append(
                f"{share_in_words(few).capitalize()} of the doubt is the small number of shots "
                f"({result.shots}); {share_in_words(open_share)} is not knowing speed spread from elevation "
                f"spread: it would be {percent(result.all_speed)} if all were speed, "
                f"{percent(result.all_elevation)} if all were elevation. "
                f"{_what_would_tell(prototype, evidence)}"
            )
        else:
            words.append(
                f"The doubt is the small number of shots ({result.shots}); more shots would narrow it."
            )
    if result.method == "flown":
        words.append(
            f"Balls were flown: the integral without obstacles would have been off by "
            f"{100 * result.shortcut_error:.1f} points."
        )
    return tuple(words)


def _what_would_tell(prototype: Prototype, evidence: Sequence[TrialEvidence]) -> str:
    """Which further shots would tell speed spread from elevation spread."""
    tried = [e.elevation for e in evidence]
    low, high = prototype.elevation_low, prototype.elevation_high
    if high - low < math.radians(5):
        return "Measuring the speed of each shot would tell them apart."
    farthest = max((low, high), key=lambda angle: float(np.min(np.abs(np.array(tried) - angle))))
    return f"5 shots at {round_to_doubt(math.degrees(farthest), 10.0)}° would help to tell them apart."
