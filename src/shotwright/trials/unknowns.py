"""Which parameters of a launcher model the trials may correct, and how well each is known before."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.game.records import Ball
from shotwright.launcher.description import Described
from shotwright.launcher.protocol import Input

FloatArray = NDArray[np.float64]

ENERGY_SHARE, ELEVATION_OFFSET, DRAG_SCALE, LIFT_SCALE = (
    "energy_share",
    "elevation_offset",
    "drag_scale",
    "lift_scale",
)
# How well a crew knows a number that it did not measure itself: standard deviation of its logarithm. Common
# practice, no source; what the launcher file states as `doubt` stands above it.
DOUBTS: Mapping[str, float] = {
    "grip": 0.25,
    "tip_grip": 0.25,
    "stiffness": 0.08,
    "friction": 0.5,
    "restitution": 0.15,
    "returned": 0.08,
    "shear_modulus": 0.3,
    "wheel_inertia": 0.15,
}
_MEASURED = 0.4  # of the doubt, where the crew measured
# A ball gets less than a model without rubbing, air and bending says: median and log-sd of its share of the
# energy; the release is off the set elevation by a degree or so. Common practice, no source.
_SHARE, _SHARE_DOUBT = 0.95, 0.12
_OFFSET_DOUBT = math.radians(1.5)
_DRAG_DOUBT = {"measured": 0.05, "published": 0.1, "assumed": 0.2}
_LIFT_DOUBT = {"measured": 0.1, "published": 0.2, "assumed": 0.4}


@dataclass(frozen=True, slots=True)
class Unknown:
    """One parameter to be learned.

    Parameters
    ----------
    name : str
        An input of the launcher, or one of the four names at the top of this file.
    unit : str
        SI unit.
    middle : float
        Median of the prior. [unit]
    doubt : float
        Standard deviation of the prior: of the logarithm, or of the number itself when `additive`.
    additive : bool
        The prior is normal in the number itself.
    low, high : float
        Bounds of the model. [unit]
    """

    name: str
    unit: str
    middle: float
    doubt: float
    additive: bool = False
    low: float = -math.inf
    high: float = math.inf

    def values(self, coordinates: FloatArray) -> FloatArray:
        """Turn coordinates (logarithm, or the number itself) into values, kept within the bounds. [unit]."""
        raw = coordinates if self.additive else np.exp(coordinates)
        return np.clip(raw, self.low, self.high)

    @property
    def coordinate(self) -> float:
        """Median of the prior as a coordinate."""
        return self.middle if self.additive else math.log(self.middle)


def unknowns_of(described: Described, ball: Ball) -> tuple[Unknown, ...]:
    """Return the parameters of a launcher's model that its trials may correct.

    Parameters
    ----------
    described : Described
        The launcher.
    ball : Ball
        Its drag and lift are scaled; a law ``"none"`` is left alone.

    Returns
    -------
    tuple of Unknown
        Friction, grip, stiffness and the like with a value above zero; whatever states a doubt; and the
        ball's share of the energy, the offset of the elevation, and the scales of drag and lift.
    """
    found = [one for one in map(_of_input, described.inputs(ball)) if one is not None]
    found.append(Unknown(ENERGY_SHARE, "", _SHARE, _SHARE_DOUBT, low=0.02, high=1.5))
    found.append(Unknown(ELEVATION_OFFSET, "rad", 0.0, _OFFSET_DOUBT, additive=True, low=-0.5, high=0.5))
    if ball.drag.name != "none":
        found.append(Unknown(DRAG_SCALE, "", 1.0, _DRAG_DOUBT.get(ball.drag.origin, 0.2)))
    if ball.lift.name != "none":
        found.append(Unknown(LIFT_SCALE, "", 1.0, _LIFT_DOUBT.get(ball.lift.origin, 0.4)))
    return tuple(found)


def _of_input(one: Input) -> Unknown | None:
    if one.role == "ball" or one.value <= 0:
        return None
    doubt = one.doubt / one.value if one.doubt is not None else None
    if doubt is None:
        doubt = next(
            (d for name, d in DOUBTS.items() if one.name == name or one.name.endswith(f"_{name}")), None
        )
        if doubt is not None and one.origin in ("measured", "calibrated"):
            doubt *= _MEASURED
    if not doubt:
        return None
    return Unknown(one.name, one.unit, one.value, doubt, low=max(one.low, 1e-12), high=one.high)


def prior_of(unknowns: Sequence[Unknown]) -> tuple[FloatArray, FloatArray]:
    """Return mean and standard deviation of the priors in coordinates, each of shape (p,).

    Parameters
    ----------
    unknowns : sequence of Unknown
        The parameters.

    Returns
    -------
    mean, sd : ndarray, shape (p,)
        Of the logarithms, or of the numbers where additive.
    """
    return np.array([one.coordinate for one in unknowns]), np.array([one.doubt for one in unknowns])
