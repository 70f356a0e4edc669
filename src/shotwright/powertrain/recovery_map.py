"""Recovery time over gear ratio and wheel inertia."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.powertrain.train import Train
from shotwright.powertrain.wheel_duty import Drive, Duty, Wheel, recovery_time, spin_up

FloatArray = NDArray[np.float64]


def recovery_map(
    drive: Drive, duty: Duty, ratios: Sequence[float], inertias: Sequence[float], warm: float | None = None
) -> FloatArray:
    """Recovery time over ratio and wheel inertia, by its closed form.

    Parameters
    ----------
    drive : Drive
        Motors, supply, and the train whose efficiencies are kept.
    duty : Duty
        Gives set point, ready share and ball.
    ratios : sequence of float
        [-]
    inertias : sequence of float
        Of the wheel. [kg m^2]
    warm : float, optional
        Temperature of the motors. [K]

    Returns
    -------
    ndarray, shape (ratios, inertias)
        [s]; infinite where the speed is not reached.
    """
    found = np.empty((len(ratios), len(inertias)))
    for i, ratio in enumerate(ratios):
        train = with_ratio(drive.train, ratio)
        for j, inertia in enumerate(inertias):
            wheel = Wheel(inertia, drive.wheel.friction)
            built = dataclasses.replace(drive, train=train, wheel=wheel)
            reached = math.isfinite(spin_up(built, duty.ready * duty.speed, warm=warm).time_s)
            found[i, j] = recovery_time(built, duty, warm) if reached else math.inf
    return found


def with_ratio(train: Train, ratio: float) -> Train:
    """Return the train with the ratio of its last stage changed so that the whole becomes `ratio`. [-]."""
    if not train.stages:
        raise BadInput("the train has no stage whose ratio could change", field="ratio")
    last = train.stages[-1]
    changed = dataclasses.replace(last, ratio=last.ratio * ratio / train.ratio, teeth=())
    return Train((*train.stages[:-1], changed))
