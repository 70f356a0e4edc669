"""How many shots a question needs, before they are fired."""

from __future__ import annotations

import math
from collections.abc import Callable

import scipy  # its parts load when they are first used

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import Estimate
from shotwright.statistics.proportions import wilson

# Nobody fires more in one trial; a search that passes this says so.
MOST_SHOTS = 1_000_000


def _check_ratio(ratio: float) -> float:
    """Spread ratio as wider over tighter."""
    if not ratio > 0 or not math.isfinite(ratio):
        raise BadInput(f"{ratio:g} is not a spread ratio; type e.g. 1.5", field="ratio")
    return max(ratio, 1 / ratio)


def _check_share(value: float, field: str) -> None:
    if not 0 < value < 1:
        raise BadInput(f"{value:g} must lie between 0 and 1, e.g. 0.8", field=field)


def smallest(enough: Callable[[int], bool], first: int, what: str) -> int:
    """Smallest n from `first` on for which `enough` holds, a condition that stays true once it is.

    Parameters
    ----------
    enough : callable
        Condition on n.
    first : int
        Smallest n to try. [-]
    what : str
        For the message.

    Returns
    -------
    int
        n. [-]

    Raises
    ------
    NoAnswer
        Not even a million is enough.
    """
    if enough(first):
        return first
    low, high = first, 2 * first
    while not enough(high):
        if high > MOST_SHOTS:
            raise NoAnswer(f"more than {MOST_SHOTS} shots would be needed {what}")
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def spread_power(ratio: float, shots: int, *, alpha: float = 0.05, axes: int = 2) -> float:
    """Chance that the two-sided F test shows a true spread ratio, with `shots` each. Exact for round scatter.

    Parameters
    ----------
    ratio : float
        True ratio of standard deviations. [-]
    shots : int
        Of each prototype, 2 or more. [-]
    alpha : float
        Two-sided level. [-]
    axes : int
        1, or 2 for round scatter read in both axes. [-]

    Returns
    -------
    float
        Power. [-]

    Examples
    --------
    >>> round(spread_power(1.5, 7), 3)
    0.263
    """
    wider = _check_ratio(ratio)
    nu = axes * (shots - 1)
    critical = float(scipy.stats.f.isf(alpha / 2, nu, nu))
    above, below = critical / wider**2, 1 / critical / wider**2
    return float(scipy.stats.f.sf(above, nu, nu) + scipy.stats.f.cdf(below, nu, nu))


def shots_for_spread_ratio(
    ratio: float, *, power: float = 0.8, alpha: float = 0.05, axes: int = 2, comparisons: int = 1
) -> int:
    """Shots of each prototype that show a true spread ratio with the wanted power.

    Parameters
    ----------
    ratio : float
        True ratio of standard deviations, not 1. [-]
    power : float
        Wanted. [-]
    alpha : float
        Two-sided level of all comparisons together. [-]
    axes : int
        1, or 2 for round scatter read in both axes. [-]
    comparisons : int
        Pairs compared; the level is shared evenly among them. [-]

    Returns
    -------
    int
        Shots each. [-]

    Raises
    ------
    BadInput
        A power that is not a share, or a ratio of 1.
    NoAnswer
        More than a million.

    Notes
    -----
    The permutation test needs a few more than F: 30 instead of 26 at a ratio of 1.5 (simulation).

    Examples
    --------
    >>> shots_for_spread_ratio(1.5), shots_for_spread_ratio(2.0)
    (26, 10)
    """
    _check_share(power, "power")
    wider = _check_ratio(ratio)
    if wider < 1.001:
        raise BadInput("equal spreads never show a difference; type a ratio such as 1.5", field="ratio")
    level = alpha / comparisons
    return smallest(
        lambda n: spread_power(wider, n, alpha=level, axes=axes) >= power,
        2,
        f"to show a ratio of {wider:.3g}",
    )


def ratio_shown(shots: int, *, power: float = 0.8, alpha: float = 0.05, axes: int = 2) -> float:
    """Spread ratio that `shots` of each prototype show with the wanted power.

    Parameters
    ----------
    shots : int
        Of each prototype, 2 or more. [-]
    power, alpha : float
        Wanted power, and two-sided level. [-]
    axes : int
        1, or 2 for round scatter read in both axes. [-]

    Returns
    -------
    float
        Ratio. [-]

    Examples
    --------
    >>> round(ratio_shown(7), 3)
    2.323
    """
    _check_share(power, "power")
    low, high = 1.0, 2.0
    while spread_power(high, shots, alpha=alpha, axes=axes) < power:
        low, high = high, high * 2
    for _ in range(60):
        middle = (low + high) / 2
        shown = spread_power(middle, shots, alpha=alpha, axes=axes) >= power
        low, high = (low, middle) if shown else (middle, high)
    return high


def chance_of_picking_tighter(ratio: float, shots: int, *, axes: int = 2) -> float:
    """Chance that the truly tighter prototype also shows the smaller spread, with `shots` each.

    Parameters
    ----------
    ratio : float
        True ratio of standard deviations. [-]
    shots : int
        Of each prototype, 2 or more. [-]
    axes : int
        1, or 2 for round scatter read in both axes. [-]

    Returns
    -------
    float
        Chance. [-]

    Examples
    --------
    >>> round(chance_of_picking_tighter(1.5, 7), 4)
    0.9127
    """
    nu = axes * (shots - 1)
    return float(scipy.stats.f.cdf(_check_ratio(ratio) ** 2, nu, nu))


def shots_to_pick_tighter(ratio: float, *, chance: float = 0.9, axes: int = 2) -> int:
    """Shots of each prototype after which the tighter one shows the smaller spread with a wanted chance.

    Parameters
    ----------
    ratio : float
        True ratio of standard deviations, not 1. [-]
    chance : float
        Wanted. [-]
    axes : int
        1, or 2 for round scatter read in both axes. [-]

    Returns
    -------
    int
        Shots each. [-]

    Examples
    --------
    >>> shots_to_pick_tighter(1.5, chance=0.9)
    7
    """
    _check_share(chance, "chance")
    if _check_ratio(ratio) < 1.001:
        raise BadInput("of equal spreads none is the tighter; type a ratio such as 1.5", field="ratio")
    return smallest(
        lambda n: chance_of_picking_tighter(ratio, n, axes=axes) >= chance, 2, "to pick the tighter one"
    )


def shots_for_hit_rate(rate: float, half_width: float, *, confidence: float = 0.95) -> int:
    """Shots after which Wilson's interval of an expected hit rate is no wider than plus or minus half_width.

    Parameters
    ----------
    rate : float
        Hit rate expected. [-]
    half_width : float
        Wanted. [-]
    confidence : float
        What the interval covers. [-]

    Returns
    -------
    int
        Shots. [-]

    Examples
    --------
    >>> shots_for_hit_rate(0.8, 0.10), shots_for_hit_rate(0.5, 0.20)
    (60, 21)
    """
    if not 0 <= rate <= 1:
        raise BadInput(f"{rate:g} is not a hit rate; must be 0 to 1", field="hit_rate")
    if not 0 < half_width < 0.5:
        raise BadInput(f"{half_width:g} is not a half-width; must lie between 0 and 0.5", field="half_width")
    z2 = float(scipy.special.ndtri((1 + confidence) / 2)) ** 2
    variance = rate * (1 - rate)

    def narrow(n: int) -> bool:
        half = math.sqrt(z2) / (1 + z2 / n) * math.sqrt(variance / n + z2 / (4 * n * n))
        return half <= half_width

    return smallest(narrow, 1, "for that width")


def hit_rate_interval(rate: float, shots: int, *, confidence: float = 0.95) -> Estimate:
    """Wilson's interval that the nearest whole number of hits would give. [-].

    Parameters
    ----------
    rate : float
        Hit rate expected, 0 to 1. [-]
    shots : int
        How many are fired.
    confidence : float
        What the interval covers, 0 to 1. [-]

    Returns
    -------
    Estimate
        Hit rate and interval. [-]
    """
    found = wilson(round(rate * shots), shots, confidence)
    if not isinstance(found, Estimate):
        raise NoAnswer(found.reason)
    return found


def shots_without_a_miss(rate: float, *, confidence: float = 0.95) -> int:
    """Shots in a row, all hits, that show a hit rate of at least `rate`: n = ceil(ln(1 - c) / ln rate).

    Parameters
    ----------
    rate : float
        Hit rate to show. [-]
    confidence : float
        One-sided. [-]

    Returns
    -------
    int
        Shots. [-]

    Examples
    --------
    >>> shots_without_a_miss(0.9), shots_without_a_miss(0.95)
    (29, 59)
    """
    _check_share(rate, "hit_rate")
    _check_share(confidence, "confidence")
    return math.ceil(round(math.log(1 - confidence) / math.log(rate), 9))
