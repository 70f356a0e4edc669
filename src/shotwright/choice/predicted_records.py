"""What is predicted of a launcher on paper, as records that the shells print. Never a measurement."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotwright.base.estimate import Estimated
from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class SetTo(Result):
    """What one setting is set to.

    Parameters
    ----------
    name : str
        The setting.
    value : float
        SI.
    shown : str
        In the crew's unit.
    """

    name: str
    value: float
    shown: str


@dataclass(frozen=True, slots=True)
class PredictedHit(Result):
    """What a launcher on paper would do from one firing position at one opening.

    Parameters
    ----------
    prototype, position, target : str
        Names.
    reaches : bool
        Whether some setting's mean shot scores.
    reach : tuple of (str, str, str)
        Each setting and the range of it over the settings whose mean shot scores.
    setting : tuple of SetTo
        The setting with the best predicted hit probability.
    speed_m_s, elevation_deg, azimuth_deg, backspin_rev_s : float or None
        Mean release at that setting; azimuth in the field.
    probability : Estimate or NotEstimated
        Predicted hit probability; its interval is the Monte Carlo error only, and says nothing of what the
        model leaves out. [-]
    along_sd_m, cross_sd_m : float or None
        Predicted scatter in the opening's plane: away from the launcher (up, on an upright one), sideways.
    draws : int
        Shots flown.
    seed : int
        Of the draws.
    words : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    prototype: str
    position: str
    target: str
    reaches: bool
    reach: tuple[tuple[str, str, str], ...]
    setting: tuple[SetTo, ...]
    speed_m_s: float | None
    elevation_deg: float | None
    azimuth_deg: float | None
    backspin_rev_s: float | None
    probability: Estimated
    along_sd_m: float | None
    cross_sd_m: float | None
    draws: int
    seed: int
    words: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"
