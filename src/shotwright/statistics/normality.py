"""Whether marks look normal: a remark, not a verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike

from shotwright.base.estimate import NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.intervals import as_values, no_spread, too_few


@dataclass(frozen=True, slots=True)
class NormalityRemark(Result):
    """Shapiro and Wilk's W, its p, and what to make of it."""

    w: float
    p: float
    words: str


# The test's own approximation of p is made for at most this many readings.
_MOST = 5000


def normality_remark(values: ArrayLike) -> NormalityRemark | NotEstimated:
    """Test readings of one axis for normality and say in plain words what that is worth.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings, 3 or more; above 5 000 evenly spaced ones of the sorted readings are used. [any]

    Returns
    -------
    NormalityRemark or NotEstimated
        A remark.

    References
    ----------
    S. S. Shapiro, M. B. Wilk (1965), An analysis of variance test for normality, Biometrika 52, 591.
    """
    x = as_values(values)
    n = len(x)
    if n < 3:
        return too_few(n, 3, "reading")
    if no_spread(x):
        return NotEstimated(f"all {n} readings are the same")
    if n > _MOST:
        x = np.sort(x)[np.linspace(0, n - 1, _MOST).round().astype(int)]
    test = scipy.stats.shapiro(x - x.mean())
    p = float(test.pvalue)
    if p >= 0.05:
        words = (
            f"nothing speaks against a bell shape, but {n} shots would show only a gross departure"
            if n < 20
            else "nothing speaks against a bell shape"
        )
    else:
        words = "the marks don't look bell-shaped: trust counts of hits more than figures that assume it"
    return NormalityRemark(float(test.statistic), p, words)
