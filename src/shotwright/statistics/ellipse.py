"""Covariance ellipses, and what Hotelling's T^2 makes of them with few shots."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

from shotwright.base.estimate import NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.circular import as_points
from shotwright.statistics.intervals import too_few

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ellipse(Result):
    """An ellipse about a point.

    Parameters
    ----------
    centre_m : tuple of float
        Centre, first and second axis. [m]
    semi_long_m, semi_short_m : float
        Semi-axes. [m]
    angle_deg : float
        Direction of the long axis, from the first axis towards the second, above -90 and up to 90. [deg]
    """

    centre_m: tuple[float, float]
    semi_long_m: float
    semi_short_m: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class CentreTest(Result):
    """Hotelling's test that a mean point, or a difference of two, is zero."""

    t2: float
    f: float
    degrees_of_freedom: tuple[int, int]
    p: float


def covariance(points: ArrayLike) -> FloatArray:
    """Sample covariance of marks, divisor n - 1; shape (2, 2). [m^2]."""
    found = as_points(points)
    centred = found - found.mean(axis=0)
    return np.asarray(centred.T @ centred / (len(found) - 1))


def principal_sds(covariances: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Standard deviations along the principal axes, longer first.

    Parameters
    ----------
    covariances : array_like, shape (..., 2, 2)
        Covariance matrices. [m^2]

    Returns
    -------
    tuple of ndarray, shape (...)
        Longer and shorter. [m]
    """
    c = np.asarray(covariances, dtype=float)
    mean = (c[..., 0, 0] + c[..., 1, 1]) / 2
    half_gap = np.hypot((c[..., 0, 0] - c[..., 1, 1]) / 2, c[..., 0, 1])
    return np.sqrt(mean + half_gap), np.sqrt(np.maximum(mean - half_gap, 0.0))


def ellipse_of(centre: ArrayLike, matrix: ArrayLike, factor: float = 1.0) -> Ellipse:
    """Ellipse of `factor` standard deviations; angle = atan2(2 Sxy, Sxx - Syy)/2.

    Parameters
    ----------
    centre : array_like, shape (2,)
        Centre. [m]
    matrix : array_like, shape (2, 2)
        Covariance. [m^2]
    factor : float
        Standard deviations: 1, or one of the factors below. [-]

    Returns
    -------
    Ellipse
        The ellipse.

    Examples
    --------
    >>> e = ellipse_of((0, 0), [[42.912381, -4.688095], [-4.688095, 49.102857]])
    >>> round(e.semi_long_m, 4), round(e.semi_short_m, 4), round(e.angle_deg, 3)
    (7.1851, 6.3553, -61.717)
    """
    c, s = np.asarray(centre, dtype=float), np.asarray(matrix, dtype=float)
    longer, shorter = principal_sds(s)
    angle = math.degrees(0.5 * math.atan2(2 * s[0, 1], s[0, 0] - s[1, 1]))
    return Ellipse((float(c[0]), float(c[1])), factor * float(longer), factor * float(shorter), angle)


def known_factor(share: float) -> float:
    """Factor k of the ellipse that holds `share` of normal scatter whose parameters are known. [-]."""
    return math.sqrt(-2 * math.log1p(-share))


def next_shot_factor(n: int, share: float) -> float:
    """Factor k of the ellipse that holds the next shot with chance `share`, from n shots.

    k^2 = 2 (n - 1)(n + 1) / (n (n - 2)) F(share; 2, n - 2).

    Parameters
    ----------
    n : int
        Shots seen, 3 or more. [-]
    share : float
        Chance. [-]

    Returns
    -------
    float
        Factor on the covariance ellipse. [-]

    Examples
    --------
    >>> round(next_shot_factor(7, 0.95), 6)
    3.983785
    """
    return math.sqrt((n + 1) * 2 * (n - 1) / (n * (n - 2)) * float(scipy.stats.f.ppf(share, 2, n - 2)))


def mean_point_factor(n: int, confidence: float) -> float:
    """Factor k of the ellipse that covers the true mean point: k^2 = 2 (n - 1)/(n (n - 2)) F(c; 2, n - 2).

    Parameters
    ----------
    n : int
        Shots seen, 3 or more. [-]
    confidence : float
        What it covers. [-]

    Returns
    -------
    float
        Factor on the covariance ellipse. [-]
    """
    return math.sqrt(2 * (n - 1) / (n * (n - 2)) * float(scipy.stats.f.ppf(confidence, 2, n - 2)))


def centre_test(points: ArrayLike, aim: ArrayLike = (0.0, 0.0)) -> CentreTest | NotEstimated:
    """Test whether the mean point is off the aim: T^2 = n (m - a)' S^-1 (m - a).

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Marks. [m]
    aim : array_like, shape (2,)
        Where the mean should be. [m]

    Returns
    -------
    CentreTest or NotEstimated
        (n - 2)/(2 (n - 1)) T^2 is F(2, n - 2).

    References
    ----------
    H. Hotelling (1931), The generalization of Student's ratio, Ann. Math. Statist. 2.
    """
    found = as_points(points)
    n = len(found)
    if n < 3:
        return too_few(n, 3)
    return _hotelling(found.mean(axis=0) - np.asarray(aim, float), covariance(found), float(n), n - 1)


def two_centre_test(first: ArrayLike, second: ArrayLike) -> CentreTest | NotEstimated:
    """Test whether two groups have one mean point, their covariance taken as equal (pooled).

    Parameters
    ----------
    first, second : array_like, shape (n, 2)
        Marks. [m]

    Returns
    -------
    CentreTest or NotEstimated
        Two-sample T^2 and its F(2, nA + nB - 3).
    """
    a, b = as_points(first), as_points(second)
    if len(a) < 2 or len(b) < 2:
        return too_few(min(len(a), len(b)), 2, "shot in one group")
    df = len(a) + len(b) - 2
    if df < 2:
        return NotEstimated("2 shots in each group, at least 3 needed in one")
    pooled = ((len(a) - 1) * covariance(a) + (len(b) - 1) * covariance(b)) / df
    weight = len(a) * len(b) / (len(a) + len(b))
    return _hotelling(a.mean(axis=0) - b.mean(axis=0), pooled, weight, df)


def _hotelling(shift: FloatArray, matrix: FloatArray, weight: float, df: int) -> CentreTest | NotEstimated:
    if np.linalg.det(matrix) <= 1e-14 * np.trace(matrix) ** 2:
        return NotEstimated("the marks lie on one line or one point: no ellipse to test against")
    t2 = float(weight * shift @ np.linalg.solve(matrix, shift))
    f = (df - 1) / (2 * df) * t2
    return CentreTest(t2, f, (2, df - 1), float(scipy.stats.f.sf(f, 2, df - 1)))


def effective_freedom(matrix: ArrayLike, degrees_of_freedom: float) -> float:
    """Degrees of freedom of the mean variance of both axes: nu (tr S)^2 / tr(S^2), from nu to 2 nu.

    Parameters
    ----------
    matrix : array_like, shape (2, 2)
        Covariance. [m^2]
    degrees_of_freedom : float
        nu of each axis, n - 1. [-]

    Returns
    -------
    float
        2 nu for round scatter, nu for scatter along a line. [-]

    References
    ----------
    F. E. Satterthwaite (1946), An approximate distribution of estimates of variance components, Biometrics
    Bull. 2, 110.
    """
    s = np.asarray(matrix, dtype=float)
    return degrees_of_freedom * float(np.trace(s)) ** 2 / float(np.sum(s**2))
