"""Permutation tests for spreads and mean points, which need no particular shape of scatter."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.estimate import NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.circular import as_points
from shotwright.statistics.intervals import no_spread, too_few

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

# All splits are tried up to this many: 3 432 for 7 shots against 7, 12 870 for 8 against 8.
_ALL_SPLITS_UP_TO = 20_000
# A split counts as extreme when it reaches the observed statistic up to rounding.
_TIE = 1e-10


@dataclass(frozen=True, slots=True)
class PermutationTest(Result):
    """Outcome of a permutation test.

    Parameters
    ----------
    statistic : float
        Observed. [-]
    p : float
        Share of rearrangements at least as extreme. [-]
    extreme, tried : int
        Counts behind p; for random rearrangements both include the observed one. [-]
    exact : bool
        Whether all rearrangements were tried.
    """

    statistic: float
    p: float
    extreme: int
    tried: int
    exact: bool


def spread_test(
    groups: Sequence[ArrayLike], rng: np.random.Generator, *, random_splits: int = 9999
) -> PermutationTest | NotEstimated:
    """Test whether groups scatter equally wide, by permuting residuals.

    Each group is centred on its own mean point, the residuals are pooled and dealt out anew, and each new
    group is centred again. The statistic is that of the mean distances r from the centre: |ln(r_A / r_B)| for
    two groups, the variance of ln r, weighted by shots, for more.

    Parameters
    ----------
    groups : sequence of array_like, shape (n_i, 2)
        Marks of each group. [m]
    rng : numpy.random.Generator
        Used when there are too many splits to try all. [-]
    random_splits : int
        How many then; fewer above 2 000 shots, at least 999. [-]

    Returns
    -------
    PermutationTest or NotEstimated
        Two-sided.

    Notes
    -----
    Its size was simulated, see docs/statistics.md: 5 to 5.6 % at n = 5 to 20 for round and long normal
    scatter, up to 7.4 % for heavy tails. Residuals of fitted centres are only nearly exchangeable.

    References
    ----------
    M. J. Anderson (2006), Distance-based tests for homogeneity of multivariate dispersions, Biometrics 62,
    245 (the same idea, with distances permuted).
    """
    residuals = [as_points(g) for g in groups]
    sizes = [len(g) for g in residuals]
    if min(sizes) < 3:
        return too_few(min(sizes), 3, "shot in one group")
    # Residuals of small groups are short by sqrt((n - 1)/n): stretch them before they are dealt out.
    residuals = [(g - g.mean(axis=0)) * math.sqrt(len(g) / (len(g) - 1)) for g in residuals]
    if any(no_spread(as_points(g)) for g in groups):
        return NotEstimated("all shots of one group lie on one mark: there is no spread to compare")
    statistic = _log_ratio if len(sizes) == 2 else _variance_of_logs
    return _run(np.concatenate(residuals), sizes, statistic, rng, random_splits)


def centre_permutation_test(
    groups: Sequence[ArrayLike], rng: np.random.Generator, *, random_splits: int = 9999
) -> PermutationTest | NotEstimated:
    """Test whether groups have one mean point, by permuting the marks among them.

    The statistic is Hotelling's: squared distances of group means, weighted by shots, in the metric of the
    pooled covariance within groups; compared through Wilks' determinant ratio |T| / |W|, which orders splits
    alike and needs no inverse.

    Parameters
    ----------
    groups : sequence of array_like, shape (n_i, 2)
        Marks of each group. [m]
    rng : numpy.random.Generator
        Used when there are too many splits to try all. [-]
    random_splits : int
        How many then. [-]

    Returns
    -------
    PermutationTest or NotEstimated
        Exact under equal scatter in all groups.

    References
    ----------
    S. S. Wilks (1932), Certain generalizations in the analysis of variance, Biometrika 24 (from memory).
    """
    found = [as_points(g) for g in groups]
    sizes = [len(g) for g in found]
    if min(sizes) < 2:
        return too_few(min(sizes), 2, "shot in one group")
    pooled = np.concatenate(found)
    pooled = pooled - pooled.mean(axis=0)
    total = pooled.T @ pooled
    if np.linalg.det(total) <= 1e-14 * np.trace(total) ** 2:
        return NotEstimated("the marks lie on one line or one point")
    root = np.linalg.cholesky(np.linalg.inv(total))
    return _run(pooled @ root, sizes, _wilks, rng, random_splits)


Statistic = Callable[[FloatArray, Sequence[int]], FloatArray]


def _parts(dealt: FloatArray, sizes: Sequence[int]) -> list[FloatArray]:
    parts: list[FloatArray] = np.split(dealt, np.cumsum(sizes)[:-1], axis=1)
    return parts


def _mean_radii(dealt: FloatArray, sizes: Sequence[int]) -> FloatArray:
    radii = []
    for part in _parts(dealt, sizes):
        gap = part - part.mean(axis=1, keepdims=True)
        n = part.shape[1]
        radii.append(np.hypot(gap[..., 0], gap[..., 1]).mean(axis=1) * math.sqrt(n / (n - 1)))
    return np.asarray(np.maximum(np.stack(radii), 1e-300))


def _log_ratio(dealt: FloatArray, sizes: Sequence[int]) -> FloatArray:
    first, second = _mean_radii(dealt, sizes)
    return np.asarray(np.abs(np.log(first / second)))


def _variance_of_logs(dealt: FloatArray, sizes: Sequence[int]) -> FloatArray:
    logs = np.log(_mean_radii(dealt, sizes))
    weights = np.asarray(sizes, dtype=float)[:, None] / sum(sizes)
    return np.asarray((weights * (logs - (weights * logs).sum(axis=0)) ** 2).sum(axis=0))


def _wilks(dealt: FloatArray, sizes: Sequence[int]) -> FloatArray:
    """Ln(|T| / |W|) of marks whose total matrix T is the unit matrix."""
    within = np.broadcast_to(np.eye(2), (len(dealt), 2, 2)).copy()
    for part, size in zip(_parts(dealt, sizes), sizes, strict=True):
        mean = part.mean(axis=1)
        within -= size * mean[:, :, None] * mean[:, None, :]
    determinant = within[:, 0, 0] * within[:, 1, 1] - within[:, 0, 1] ** 2
    return np.asarray(-np.log(np.maximum(determinant, 1e-300)))


def _run(
    pooled: FloatArray,
    sizes: Sequence[int],
    statistic: Statistic,
    rng: np.random.Generator,
    random_splits: int,
) -> PermutationTest:
    observed = float(statistic(pooled[None], sizes)[0])
    exact = math.comb(sum(sizes), sizes[0]) <= _ALL_SPLITS_UP_TO and len(sizes) == 2
    splits = _all_splits(*sizes) if exact else None
    tried = len(splits) if splits is not None else min(random_splits, max(999, 20_000_000 // len(pooled)))
    block = max(1, 400_000 // len(pooled))
    extreme = 0
    for first in range(0, tried, block):
        size = min(block, tried - first)
        if splits is not None:
            order = splits[first : first + size]
        else:
            order = rng.permuted(np.tile(np.arange(len(pooled)), (size, 1)), axis=1)
        extreme += int(np.sum(statistic(pooled[order], sizes) >= observed - _TIE * (1 + abs(observed))))
    if not exact:
        # The observed deal is one of the deals: without it p could be 0.
        extreme, tried = extreme + 1, tried + 1
    return PermutationTest(observed, extreme / tried, extreme, tried, exact)


@functools.lru_cache(maxsize=4)
def _all_splits(one: int, other: int) -> IntArray:
    everyone = range(one + other)
    rows = []
    for first in itertools.combinations(everyone, one):
        chosen = set(first)
        rows.append([*first, *(i for i in everyone if i not in chosen)])
    return np.array(rows, dtype=np.intp)
