"""Inputs of a launcher as columns of one length."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.launcher.protocol import BALL_INPUTS, Mounted, amounts_of

FloatArray = NDArray[np.float64]


def columns_of(launcher: Mounted, inputs: Mapping[str, ArrayLike]) -> dict[str, FloatArray]:
    """Spread the inputs of a launcher and its ball to arrays of one shape (n,).

    Parameters
    ----------
    launcher : Mounted
        The launcher's record; the mean stands in for an amount of it that is not given.
    inputs : mapping of str to array_like
        Numbers or arrays (n,); those of the ball must be among them.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Every amount of the launcher, then those of the ball.
    """
    given = {one.name: inputs.get(one.name, one.value) for one in amounts_of(launcher)}
    given |= {name: inputs[name] for name in BALL_INPUTS}
    spread = np.broadcast_arrays(np.zeros(1), *(np.asarray(one, dtype=float) for one in given.values()))[1:]
    return dict(zip(given, spread, strict=True))
