"""What the statistics must give: published values, closed forms, and values recalled.

The samples A, B, C are invented, in centimetres; figures for them were computed by general libraries or by
enumeration, as each row says.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeVar

import numpy as np

from shotwright.base.estimate import NotEstimated
from shotwright.published.table import Check, Kind
from shotwright.statistics.circular import chance_in_offset_circle, radius_containing, rayleigh_sigma
from shotwright.statistics.drift import mann_kendall, upper_tails
from shotwright.statistics.ellipse import (
    centre_test,
    covariance,
    ellipse_of,
    next_shot_factor,
    two_centre_test,
)
from shotwright.statistics.elliptical import chance_in_circle, elliptical_radius, mean_radius
from shotwright.statistics.extreme_spread import extreme_spread
from shotwright.statistics.intervals import c4, sd_factors
from shotwright.statistics.multiple import holm
from shotwright.statistics.outliers import grubbs, grubbs_cutoff, stand_offs, wilks_cutoff
from shotwright.statistics.permutation import PermutationTest, spread_test
from shotwright.statistics.polygon import normal_in_polygon, student_t_in_polygon
from shotwright.statistics.proportions import clopper_pearson, jeffreys, wilson
from shotwright.statistics.ranking import acceptability
from shotwright.statistics.sample_size import (
    chance_of_picking_tighter,
    ratio_shown,
    shots_for_hit_rate,
    shots_for_spread_ratio,
    shots_without_a_miss,
    spread_power,
)
from shotwright.statistics.spread_ratio import spread_ratio
from shotwright.statistics.tolerance import one_sided_factor, two_sided_factor
from shotwright.statistics.variance_components import mls_interval, one_way

A = ((12.1, -3.4), (5.6, 8.9), (-7.2, 1.5), (3.3, -10.8), (9.4, 4.2), (-1.9, 6.1), (2.7, -5.5))
B = ((21.4, -11.2), (-14.6, 9.9), (8.2, 23.5), (-19.3, -12.8), (15.4, 4.6), (-3.9, -24.1), (2.7, 16.5))
C = ((9.8, -6.1), (-11.4, 3.2), (4.4, 12.9), (-2.1, -14.2), (13.0, 6.6), (-8.7, -1.9), (1.1, 8.0))
FAR_LAST_SHOT = (*A[:6], (62.7, -45.5))
SAME_BALL = (2.31, 2.36, 2.28, 2.34, 2.30, 2.37, 2.33)
OTHER_BALLS = (2.22, 2.41, 2.35, 2.17, 2.46, 2.30, 2.38)
SLOWING = (3.12, 3.10, 3.11, 3.06, 3.07, 3.03, 3.01)
WAFERS = (199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57)
LABORATORY = (5.363, 5.352, 5.345, 5.359, 5.347, 5.328, 5.418, 5.334, 5.361, 5.316)
FROST_DAYS = (9, 12, 4, 3, 0, 4, 2, 1, 4, 2, 9, 7)
SULPHUR = {
    "1": (0.71, 0.71, 0.70, 0.71),
    "2": (0.69, 0.67, 0.68),
    "3": (0.66, 0.65, 0.69),
    "4": (0.67, 0.65, 0.66),
    "5": (0.70, 0.69, 0.66, 0.71, 0.69),
    "6": (0.73, 0.74, 0.73),
    "7": (0.71, 0.71, 0.69),
    "8": (0.70, 0.65, 0.68),
}
HARTER = "computed by mpmath: integral of H. L. Harter (1960), J. Amer. Statist. Assoc. 55, 723"
RICE = "computed by mpmath: Bessel-function integral of the Rice distribution (1945)"
BERTHOUEX = "P. M. Berthouex, L. C. Brown, Statistics for Environmental Engineers, table 21.1"
F_EXACT = "computed by scipy: F distribution on 2 (n - 1) degrees of freedom"


T = TypeVar("T")
Row = tuple[str, float, Callable[[], float]]


def _known(found: T | NotEstimated) -> T:
    assert not isinstance(found, NotEstimated)
    return found


def _rows(kind: Kind, source: str, tolerance: float, *rows: Row) -> tuple[Check, ...]:
    return tuple(Check(what, source, kind, expected, tolerance, compute) for what, expected, compute in rows)


def _permutation(first: tuple[tuple[float, float], ...], second: tuple[tuple[float, float], ...]) -> float:
    found = spread_test([first, second], np.random.default_rng(0))
    assert isinstance(found, PermutationTest)
    assert found.exact
    return float(found.extreme)


def _hexagon(radius: float) -> list[tuple[float, float]]:
    return [(radius * math.cos(k * math.pi / 3), radius * math.sin(k * math.pi / 3)) for k in range(6)]


def _predictive(points: tuple[tuple[float, float], ...], radius: float) -> float:
    """Chance of the next shot in a circle about the aim, prior |Sigma|^-5/2: Student t with n degrees."""
    n = len(points)
    corners = _circle(radius)
    scale = (1 + 1 / n) * (n - 1) * covariance(points) / n
    return float(student_t_in_polygon([np.mean(points, axis=0)], scale, corners, n)[0])


def _circle(radius: float, corners: int = 4000) -> list[tuple[float, float]]:
    """Regular polygon of the circle's area."""
    turn = 2 * math.pi / corners
    reach = radius * math.sqrt(turn / math.sin(turn))
    return [(reach * math.cos(k * turn), reach * math.sin(k * turn)) for k in range(corners)]


def _plug_in(points: tuple[tuple[float, float], ...], radius: float) -> float:
    return float(normal_in_polygon([np.mean(points, axis=0)], covariance(points), _circle(radius))[0])


def _variance(values: tuple[float, ...]) -> float:
    return float(np.var(values, ddof=1))


def _radial(points: tuple[tuple[float, float], ...]) -> float:
    return float(np.trace(covariance(points))) / 2


def _ratio_a_b() -> float:
    return spread_ratio(_radial(A), _radial(B), 12, 12).ratio.value


def _first_rank(design: int) -> float:
    scores = [[0.9, 0.3, 0.5], [0.4, 0.8, 0.6], [0.6, 0.6, 0.7]]
    found = acceptability(scores, np.random.default_rng(1), samples=200_000)
    return float(found.ranks[design, 0])


def _sulphur(part: str) -> float:
    labels = [name for name, readings in SULPHUR.items() for _ in readings]
    found = _known(one_way([x for readings in SULPHUR.values() for x in readings], labels))
    return found.total_sd if part == "total" else _known(found.repeat_sd).value


_ROUND = _rows(
    "identity",
    "closed form: Rayleigh distribution, sqrt(-2 ln(1 - p)) and sqrt(pi/2)",
    1e-9,
    ("circular error probable over sigma, round scatter", 1.1774100225, lambda: radius_containing(0.5)),
    ("radius of 90 % over sigma, round scatter", 2.1459660263, lambda: radius_containing(0.9)),
    ("radius of 95 % over sigma, round scatter", 2.4477468307, lambda: radius_containing(0.95)),
    ("radius of 99.9 % over sigma, round scatter", 3.7169221889, lambda: radius_containing(0.999)),
    ("mean radius over sigma, round scatter", 1.2533141373, lambda: float(mean_radius(1.0, 1.0))),
)
_BOWDITCH = _rows(
    "authority",
    "Bowditch (1977), American Practical Navigator, appendix Q, table Q6c, as quoted on a navigation mailing "
    "list, 2007-03-16",
    5e-3,
    ("radius of 66.67 % over sigma, two decimals", 1.48, lambda: radius_containing(2 / 3)),
    ("radius of 75 % over sigma, two decimals", 1.67, lambda: radius_containing(0.75)),
    ("radius of 90 % over sigma, two decimals", 2.15, lambda: radius_containing(0.9)),
    ("radius of 99.9 % over sigma, two decimals", 3.72, lambda: radius_containing(0.999)),
)
_ELLIPTICAL = _rows(
    "computed",
    HARTER,
    5e-6,
    ("CEP of a line, over its sigma", 0.67449, lambda: float(elliptical_radius(0.5, 1.0, 0.0))),
    ("CEP at sigma ratio 0.2", 0.70585, lambda: float(elliptical_radius(0.5, 1.0, 0.2))),
    ("CEP at sigma ratio 0.5", 0.87042, lambda: float(elliptical_radius(0.5, 1.0, 0.5))),
    ("radius of 95 % at sigma ratio 0.5", 2.03586, lambda: float(elliptical_radius(0.95, 1.0, 0.5))),
    ("chance within 1 sigma, ratio 0.5", 0.590095329405, lambda: float(chance_in_circle(1.0, 1.0, 0.5))),
    ("chance within 2 sigma, ratio 0.25", 0.95270607, lambda: float(chance_in_circle(2.0, 1.0, 0.25))),
)
_CIRCLES = _rows(
    "computed",
    RICE,
    1e-9,
    ("circle of 1 sigma, 0.5 off", 0.357285769727, lambda: float(chance_in_offset_circle(1.0, 0.5))),
    ("circle of 2 sigma, 1 off", 0.730987939964, lambda: float(chance_in_offset_circle(2.0, 1.0))),
    ("circle of 5 sigma, 4 off", 0.812595283281, lambda: float(chance_in_offset_circle(5.0, 4.0))),
    ("circle of 10 sigma, 10 off", 0.480027810350, lambda: float(chance_in_offset_circle(10.0, 10.0))),
)
_POLYGONS = _rows(
    "computed",
    "computed by two methods that agree: Owen's T wedges, and vertical slicing",
    2e-10,
    (
        "normal over a regular hexagon of corner radius 1",
        0.3382367389,
        lambda: float(normal_in_polygon([(0, 0)], np.eye(2), _hexagon(1))[0]),
    ),
    (
        "correlated normal over the same hexagon, off centre",
        0.6718070709,
        lambda: float(normal_in_polygon([(0.3, -0.2)], [[0.36, 0.1], [0.1, 0.25]], _hexagon(1))[0]),
    ),
    (
        "correlated normal over a trapezoid",
        0.7997971153,
        lambda: float(
            normal_in_polygon([(3, 10)], [[100, -20], [-20, 64]], [(-20, 0), (20, 0), (12, 30), (-12, 30)])[0]
        ),
    ),
)
_SAMPLE_A = _rows(
    "computed",
    "computed by numpy and scipy from 7 invented shots",
    1e-6,
    ("sample A: unbiased sigma, cm", 6.925519, lambda: _known(rayleigh_sigma(A)).value),
    ("sample A: lower 95 % limit of sigma, cm", 4.863917, lambda: _known(rayleigh_sigma(A)).low),
    ("sample A: upper 95 % limit of sigma, cm", 11.196758, lambda: _known(rayleigh_sigma(A)).high),
    ("sample A: extreme spread, cm", 19.912308, lambda: extreme_spread(A)),
    ("sample A: long semi-axis, cm", 7.185077, lambda: ellipse_of((0, 0), covariance(A)).semi_long_m),
    ("sample A: angle of the ellipse, deg", -61.717067, lambda: ellipse_of((0, 0), covariance(A)).angle_deg),
    ("sample A: p that the aim is off", 0.493887, lambda: _known(centre_test(A)).p),
    ("samples A, B: p that mean points differ", 0.943233, lambda: _known(two_centre_test(A, B)).p),
    ("samples A, B: spread ratio", 2.394095, _ratio_a_b),
    ("samples A, B: p of F", 0.005048407, lambda: spread_ratio(_radial(A), _radial(B), 12, 12).f_p),
    (
        "samples A, C: chance that A is the tighter",
        0.844160601,
        lambda: spread_ratio(_radial(A), _radial(C), 12, 12).first_tighter,
    ),
    ("sample A, circle of 15 cm: plug-in chance", 0.8860598880, lambda: _plug_in(A, 15.0)),
    ("sample A, circle of 15 cm: predictive chance, nu = n + 1", 0.8263191, lambda: _predictive(A, 15.0)),
)
_SMALL = _rows(
    "computed",
    "computed by scipy: chi, chi-square, beta and F distributions",
    5e-5,
    ("c4 of 2 n - 1, n = 7", 0.979406, lambda: c4(13)),
    ("lower 95 % factor of sigma, n = 7", 0.7171, lambda: sd_factors(12)[0]),
    ("upper 95 % factor of sigma, n = 5", 1.9158, lambda: sd_factors(8)[1]),
    ("next-shot ellipse factor, n = 7, 95 %", 3.983785, lambda: next_shot_factor(7, 0.95)),
    ("Wilks' cut-off, n = 7, 5 %", 4.7082, lambda: wilks_cutoff(7)),
    ("Wilks' distance of a shot far off", 4.8543, lambda: _known(stand_offs(FAR_LAST_SHOT))[0].distance2),
)
_PERMUTATIONS = _rows(
    "identity",
    "closed form: enumeration of all 3 432 splits of 7 against 7",
    1e-9,
    ("samples A, B: splits as extreme", 2, lambda: _permutation(A, B)),
    ("samples A, C: splits as extreme", 194, lambda: _permutation(A, C)),
)
_HOLM = _rows(
    "identity",
    "closed form: Holm's step-down rule, agrees with statsmodels",
    1e-12,
    ("Holm of .01, .04, .03: second", 0.06, lambda: float(holm([0.01, 0.04, 0.03])[1])),
)
_POWER = _rows(
    "computed",
    F_EXACT,
    1e-3,
    ("shots each for a ratio of 1.5, 80 % power", 26, lambda: shots_for_spread_ratio(1.5)),
    ("shots each for a ratio of 2, 80 % power", 10, lambda: shots_for_spread_ratio(2.0)),
    ("shots each for a ratio of 1.25, 90 % power", 108, lambda: shots_for_spread_ratio(1.25, power=0.9)),
    ("power of 7 against 7 at a ratio of 2", 0.632, lambda: spread_power(2.0, 7)),
    ("ratio that 7 each show with 80 % power", 2.323, lambda: ratio_shown(7)),
    ("chance to pick the tighter, ratio 1.5, 7 each", 0.9127, lambda: chance_of_picking_tighter(1.5, 7)),
    ("shots for a hit rate of 80 % to within 10 points", 60, lambda: shots_for_hit_rate(0.8, 0.10)),
)
_PROPORTIONS = _rows(
    "computed",
    "computed by statsmodels; R agrees",
    1e-5,
    ("7 of 7: Wilson, lower 95 %", 0.64567, lambda: _known(wilson(7, 7)).low),
    ("7 of 7: Clopper-Pearson, lower 95 %", 0.59038, lambda: _known(clopper_pearson(7, 7)).low),
    ("6 of 7: Jeffreys, upper 90 %", 0.97424, lambda: _known(jeffreys(6, 7, 0.9)).high),
)
_PROPORTIONS_RECALLED = _rows(
    "memory",
    "from memory: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.2 (R gives .071353884, .401028117)",
    1e-6,
    ("4 of 20: Clopper-Pearson, lower 90 %", 0.071354, lambda: _known(clopper_pearson(4, 20, 0.9)).low),
    ("4 of 20: Clopper-Pearson, upper 90 %", 0.401029, lambda: _known(clopper_pearson(4, 20, 0.9)).high),
)
_DEMONSTRATION = _rows(
    "memory",
    "from memory: classic numbers of hits without a miss, ln(1 - c)/ln p; recomputed",
    1e-9,
    ("hits without a miss for 90 % at 95 %", 29, lambda: shots_without_a_miss(0.9)),
    ("hits without a miss for 95 % at 95 %", 59, lambda: shots_without_a_miss(0.95)),
)
_TOLERANCE = _rows(
    "authority",
    BERTHOUEX,
    5e-3,
    ("two-sided tolerance factor, n = 7, 95 % at 95 %", 4.02, lambda: two_sided_factor(7, 0.95)),
    ("two-sided tolerance factor, n = 10, 90 % at 95 %", 2.86, lambda: two_sided_factor(10, 0.90)),
    ("two-sided tolerance factor, n = 20, 99 % at 95 %", 3.62, lambda: two_sided_factor(20, 0.99)),
)
_ONE_SIDED = _rows(
    "computed",
    "computed by scipy: noncentral t",
    1e-4,
    ("one-sided tolerance factor, n = 7, 95 % at 95 %", 3.3995, lambda: one_sided_factor(7, 0.95)),
)
_GRUBBS = _rows(
    "authority",
    "a laboratory report's Grubbs table and example of ten readings, looked up; its title is not recorded",
    5e-4,
    ("Grubbs' one-sided 5 % value, n = 6", 1.822, lambda: grubbs_cutoff(6, two_sided=False)),
    ("Grubbs' one-sided 5 % value, n = 10", 2.176, lambda: grubbs_cutoff(10, two_sided=False)),
    ("Grubbs' G of ten readings", 2.37692529, lambda: math.sqrt(_known(grubbs(LABORATORY)).distance2)),
)
_GRUBBS_RECALLED = _rows(
    "memory",
    "from memory: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1; recomputed",
    5e-4,
    (
        "Grubbs' G of eight readings, the last far off",
        2.4687,
        lambda: math.sqrt(_known(grubbs(WAFERS)).distance2),
    ),
    ("Grubbs' one-sided 5 % value, n = 8", 2.032, lambda: grubbs_cutoff(8, two_sided=False)),
)
_DRIFT = _rows(
    "identity",
    "closed form: Mann-Kendall S counted over all orders",
    5e-7,
    ("P(S >= 15), 7 shots", 0.015079, lambda: float(upper_tails(7)[15])),
    ("slowing shots: two-sided p", 0.0107143, lambda: _known(mann_kendall(SLOWING)).p),
    (
        "slowing shots: Sen's slope, m/s a shot",
        -0.0183333,
        lambda: _known(mann_kendall(SLOWING)).slope_per_shot,
    ),
)
_FROST = _rows(
    "computed",
    "computed by scipy and pymannkendall from twelve frost-day counts (Schönwiese 1992)",
    5e-6,
    ("frost days: Mann-Kendall p with ties", 0.676657, lambda: _known(mann_kendall(FROST_DAYS)).p),
    ("frost days: von Neumann's ratio", 1.131448, lambda: _known(mann_kendall(FROST_DAYS)).von_neumann),
)
_MLS = _rows(
    "computed",
    "computed by scipy: modified-large-sample limits from chi-square and F quantiles",
    1e-4,
    ("Dyestuff: lower 95 % limit between", 306.4192, lambda: mls_interval(11271.5, 2451.25, 5, 24, 5)[0]),
    ("Dyestuff: upper 95 % limit between", 13045.9784, lambda: mls_interval(11271.5, 2451.25, 5, 24, 5)[1]),
    (
        "same and other balls: upper 95 % limit between, m^2",
        0.05119672,
        lambda: mls_interval(_variance(OTHER_BALLS), _variance(SAME_BALL), 6, 6, 1)[1],
    ),
)
_SULPHUR = _rows(
    "memory",
    "from memory: ISO 5725-2, sulphur in coal, level 1, data and results; recomputed",
    5e-4,
    ("sulphur in coal: repeatability sd", 0.015, lambda: _sulphur("repeat")),
    ("sulphur in coal: reproducibility sd", 0.026, lambda: _sulphur("total")),
)
_RANKS = _rows(
    "identity",
    "closed form: areas of polygons in the triangle of weights; found here by 200 000 random weights",
    5e-3,
    ("three designs: share of weights that rank the first first", 3 / 10, lambda: _first_rank(0)),
    ("three designs: share of weights that rank the third first", 11 / 30, lambda: _first_rank(2)),
)

CHECKS: tuple[Check, ...] = (
    *_ROUND,
    *_BOWDITCH,
    *_ELLIPTICAL,
    *_CIRCLES,
    *_POLYGONS,
    *_SAMPLE_A,
    *_SMALL,
    *_PERMUTATIONS,
    *_HOLM,
    *_POWER,
    *_PROPORTIONS,
    *_PROPORTIONS_RECALLED,
    *_DEMONSTRATION,
    *_TOLERANCE,
    *_ONE_SIDED,
    *_GRUBBS,
    *_GRUBBS_RECALLED,
    *_DRIFT,
    *_FROST,
    *_MLS,
    *_SULPHUR,
    *_RANKS,
)
