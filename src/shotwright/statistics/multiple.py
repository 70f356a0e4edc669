"""Several comparisons at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def holm(p_values: ArrayLike) -> FloatArray:
    """Adjust p values for their number by Holm's step-down method; NaN stays NaN and is not counted.

    Parameters
    ----------
    p_values : array_like, shape (k,)
        Unadjusted. [-]

    Returns
    -------
    ndarray, shape (k,)
        Adjusted, in the same order. [-]

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03]).tolist()
    [0.03, 0.06, 0.06]

    References
    ----------
    S. Holm (1979), A simple sequentially rejective multiple test procedure, Scand. J. Statist. 6, 65.
    """
    p = np.asarray(p_values, dtype=float)
    adjusted = np.full(p.shape, np.nan)
    known = np.flatnonzero(~np.isnan(p))
    order = known[np.argsort(p[known], kind="stable")]
    steps = p[order] * np.arange(len(order), 0, -1)
    adjusted[order] = np.minimum(np.maximum.accumulate(steps), 1.0)
    return adjusted
