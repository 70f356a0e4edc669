"""Probability that a bivariate normal, or Student t, point falls inside a polygon: exact, no sampling."""

from __future__ import annotations

import functools
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput

FloatArray = NDArray[np.float64]
EdgeIntegral = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]

# (longest edge in standard deviations, Gauss-Legendre nodes): each keeps one edge's error below 2e-11.
_SHORT_EDGES = ((0.6, 4), (1.7, 6), (3.0, 8))
# A spread thinner than this share of the polygon's size is widened to it: a line and a point have no density.
_THINNEST = 1e-8
# Edges handled at once: keeps the work arrays inside the processor's cache.
_EDGES_AT_ONCE = 24_000
# Positions from which on loading the compiled kernel pays.
_MANY = 4_000


def normal_in_polygon(mean: ArrayLike, covariance: ArrayLike, corners: ArrayLike) -> FloatArray:
    r"""Probability that a bivariate normal point falls inside a polygon, for many normals at once.

    Each normal is whitened to unit circular spread and the density is turned into an integral along the
    edges by Green's theorem, (x, y) and (x', y') being the ends of an edge seen from the mean:

    .. math:: P = \sum_{edges} \frac{x y' - y x'}{2\pi} \int_0^1 \frac{1 - e^{-r^2/2}}{r^2}\,du        (1)

    Edges of up to 3 standard deviations are integrated by Gauss-Legendre, longer ones by Owen's T.

    Parameters
    ----------
    mean : array_like, shape (m, 2)
        Means. [m]
    covariance : array_like, shape (m, 2, 2) or (2, 2)
        Covariances; may be singular (a line or a point). [m^2]
    corners : array_like, shape (k, 2) or (m, k, 2)
        Corners in order, either way round, of one polygon for all or of each its own; a polygon may be
        non-convex but must not cross itself. Fewer than 3 corners enclose nothing. [m]

    Returns
    -------
    ndarray, shape (m,)
        Probabilities. [-]

    Raises
    ------
    BadInput
        A covariance that is not symmetric and positive semidefinite, or a number that is not finite.

    Notes
    -----
    Largest error about 1e-10. Thousands of positions are handed to a compiled kernel, which cuts long edges
    into pieces instead; the two agree to 1e-10, not to the last bit. A spread thinner than 1e-8 of the
    polygon's size is widened to that.
    A point mass on an edge counts one half.

    Examples
    --------
    >>> square = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    >>> round(float(normal_in_polygon([[0.0, 0.0]], np.eye(2), square)[0]), 10)
    0.4660649427

    References
    ----------
    D. B. Owen (1956), Tables for computing bivariate normal probabilities, Ann. Math. Statist. 27.
    """
    return _sum_over_edges(mean, covariance, corners, _normal_edges, np.inf)


def student_t_in_polygon(
    mean: ArrayLike, scale: ArrayLike, corners: ArrayLike, degrees_of_freedom: float
) -> FloatArray:
    r"""Probability that a bivariate Student t point falls inside a polygon, for many at once.

    As `normal_in_polygon`, with :math:`1 - (1 + r^2/\nu)^{-\nu/2}` in place of :math:`1 - e^{-r^2/2}`.

    Parameters
    ----------
    mean : array_like, shape (m, 2)
        Locations. [m]
    scale : array_like, shape (m, 2, 2) or (2, 2)
        Scale matrices: the covariance is nu / (nu - 2) times this. [m^2]
    corners : array_like, shape (k, 2) or (m, k, 2)
        As in `normal_in_polygon`. [m]
    degrees_of_freedom : float
        nu, 1 or more. [-]

    Returns
    -------
    ndarray, shape (m,)
        Probabilities. [-]

    Raises
    ------
    BadInput
        As `normal_in_polygon`, or nu below 1.

    Notes
    -----
    Largest error about 1e-10 for whole nu. For other nu, and edges that run 100 scales and more past the
    middle, 1e-8.

    Examples
    --------
    >>> square = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    >>> t = student_t_in_polygon([[0.0, 0.0]], np.eye(2), square, 1e6)
    >>> round(float(t[0]), 5)
    0.46606
    """
    nu = float(degrees_of_freedom)
    if not nu >= 1 or not np.isfinite(nu):
        raise BadInput(f"{nu:g} degrees of freedom; must be 1 or more", field="degrees_of_freedom")

    def edges(signed: FloatArray, start: FloatArray, length: FloatArray) -> FloatArray:
        return _student_t_edges(signed, start, length, nu)

    return _sum_over_edges(mean, scale, corners, edges, nu)


def _sum_over_edges(
    mean: ArrayLike, covariance: ArrayLike, corners: ArrayLike, edge_integral: EdgeIntegral, nu: float
) -> FloatArray:
    means = np.atleast_2d(np.asarray(mean, dtype=float))
    covariances = np.asarray(covariance, dtype=float).reshape(-1, 2, 2)
    polygons = np.asarray(corners, dtype=float)
    polygons = polygons.reshape(-1, 2)[None] if polygons.ndim < 3 else polygons
    n = len(means)
    if not {len(covariances), len(polygons)} <= {1, n}:
        raise BadInput(
            f"{len(covariances)} covariances and {len(polygons)} polygons do not fit {n} means; "
            "give one for all or one for each",
            field="polygon",
        )
    if not (np.isfinite(means).all() and np.isfinite(covariances).all() and np.isfinite(polygons).all()):
        raise BadInput("a mean, covariance or corner is not a finite number", field="polygon")
    if n == 0 or polygons.shape[1] < 3:
        return np.zeros(n)
    area, size = _area_and_size(polygons)
    if (area < 0).any():
        polygons = np.where((area < 0)[:, None, None], polygons[:, ::-1], polygons)
    factors = _cholesky(covariances, size)
    if n >= _MANY:
        from shotwright.statistics.polygon_kernel import sum_over_edges  # loads the compiler

        return np.clip(sum_over_edges(means, factors, polygons.transpose(1, 2, 0), nu), 0.0, 1.0)
    probability = np.empty(n)
    step = max(1, _EDGES_AT_ONCE // polygons.shape[1])
    for first in range(0, n, step):
        part = slice(first, first + step)
        some = (one if len(one) == 1 else one[part] for one in (factors, polygons))
        signed, start, length = _whitened_edges(means[part], *some)
        probability[part] = edge_integral(signed, start, length).sum(axis=1)
    return np.clip(probability, 0.0, 1.0)


def _area_and_size(polygons: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Signed area and greatest extent of each polygon."""
    by_corner = np.ascontiguousarray(polygons.transpose(1, 2, 0))  # long rows: sums over corners are quick
    size = (by_corner.max(axis=0) - by_corner.min(axis=0)).max(axis=0)
    x, y = (by_corner - by_corner[0]).transpose(1, 0, 2)
    area = np.asarray((np.roll(x, 1, axis=0) * y - np.roll(y, 1, axis=0) * x).sum(axis=0) / 2)
    return area, size


def _cholesky(covariance: FloatArray, size: FloatArray) -> FloatArray:
    """Lower triangle (l11, l21, l22) of each covariance, shape (m, 3), thin ones widened."""
    xx, yy, xy = covariance[:, 0, 0], covariance[:, 1, 1], covariance[:, 0, 1]
    trace = xx + yy
    rounding = 1e-9 * trace
    lopsided = np.abs(xy - covariance[:, 1, 0]) > rounding
    if np.any(lopsided | (xx < -rounding) | (yy < -rounding) | (xx * yy - xy**2 < -rounding * trace)):
        raise BadInput("not a covariance: must be symmetric, with no negative variance", field="covariance")
    least = (_THINNEST * size) ** 2 + 4 * np.finfo(float).eps * trace
    l11 = np.sqrt(np.maximum(xx, 0.0) + least)
    l21 = xy / l11
    return np.stack(np.broadcast_arrays(l11, l21, np.sqrt(np.maximum(yy + least - l21**2, least))), axis=1)


def _whitened_edges(
    mean: FloatArray, factors: FloatArray, polygons: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Signed distance of each edge's line, where on it the edge starts (from the foot), and its length.

    Each of shape (m, k), in standard deviations; the distance is positive when the mean is on the left.
    """
    l11, l21, l22 = factors.T[..., None]
    side = np.roll(polygons, -1, axis=1) - polygons
    dx, dy = polygons[..., 0] - mean[:, :1], polygons[..., 1] - mean[:, 1:]
    # The cross product is taken before whitening: a thin spread would lose its digits.
    cross = (dx * side[..., 1] - dy * side[..., 0]) / (l11 * l22)
    ex = side[..., 0] / l11
    ey = (side[..., 1] - l21 * ex) / l22
    ax = dx / l11
    ay = (dy - l21 * ax) / l22
    length = np.hypot(ex, ey)
    divisor = np.where(length > 0, length, 1.0)
    signed = cross / divisor
    return signed, (ax * ex + ay * ey) / divisor, np.broadcast_to(length, signed.shape)


def _normal_edges(signed: FloatArray, start: FloatArray, length: FloatArray) -> FloatArray:
    integral = np.empty_like(signed)
    shorter = 0.0
    for longest, nodes in _SHORT_EDGES:
        chosen = (length >= shorter) & (length < longest)
        if chosen.all():
            return _normal_short(signed, start, length, nodes)
        if chosen.any():
            integral[chosen] = _normal_short(signed[chosen], start[chosen], length[chosen], nodes)
        shorter = longest
    chosen = length >= shorter
    if chosen.any():
        integral[chosen] = _normal_long(signed[chosen], start[chosen], length[chosen])
    return integral


@functools.cache
def _gauss(nodes: int) -> tuple[tuple[float, float], ...]:
    """Points and weights of Gauss and Legendre from 0 to 1."""
    points, weights = np.polynomial.legendre.leggauss(nodes)
    return tuple(zip(((points + 1) / 2).tolist(), (weights / 2).tolist(), strict=True))


def _normal_short(signed: FloatArray, start: FloatArray, length: FloatArray, nodes: int) -> FloatArray:
    distance2 = signed**2
    total = np.zeros_like(signed)
    for point, weight in _gauss(nodes):
        half_r2 = 0.5 * (distance2 + (start + point * length) ** 2) + 1e-300
        total -= weight * np.expm1(-half_r2) / half_r2
    return signed * length * total / (4 * np.pi)


def _normal_long(signed: FloatArray, start: FloatArray, length: FloatArray) -> FloatArray:
    from scipy.special import owens_t  # a quarter of a second, which a single flight does not pay

    distance = np.abs(signed)
    safe = np.where(distance > 0, distance, 1.0)

    def from_foot(along: FloatArray) -> FloatArray:
        with np.errstate(over="ignore"):
            slope = along / safe
        wedge: FloatArray = np.arctan2(along, safe) / (2 * np.pi) - owens_t(safe, slope)
        return wedge

    return np.sign(signed) * (from_foot(start + length) - from_foot(start))


def _student_t_edges(signed: FloatArray, start: FloatArray, length: FloatArray, nu: float) -> FloatArray:
    # s = sqrt(nu + h^2) tan(angle) maps the whole line to a bounded range on which all is smooth.
    width = np.sqrt(nu + signed**2)
    low, high = np.arctan2(start, width), np.arctan2(start + length, width)
    panels = np.ceil((high - low) / min(0.4, 2.5 / np.sqrt(nu))).astype(int).clip(1)
    integral = np.empty_like(signed)
    for count in np.unique(panels):
        chosen = panels == count
        integral[chosen] = _student_t_panels(
            signed[chosen], width[chosen], low[chosen], high[chosen], nu, int(count)
        )
    return integral


def _student_t_panels(
    signed: FloatArray, width: FloatArray, low: FloatArray, high: FloatArray, nu: float, count: int
) -> FloatArray:
    span = (high - low) / count
    total = np.zeros_like(signed)
    for panel in range(count):
        for point, weight in _gauss(10):
            angle = low + (panel + point) * span
            # (1 - (1 + r^2/nu)^(-nu/2)) / r^2, both divided by the square of the angle's cosine
            part = signed**2 + nu * np.sin(angle) ** 2 + 1e-300
            share = np.minimum(part / width**2, 1 - 1e-16)
            total -= weight * np.expm1(nu / 2 * np.log1p(-share)) / part
    return signed * width * span * total / (2 * np.pi)
