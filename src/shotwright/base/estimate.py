"""A number with its doubt, or the reason why there is none; and how both are written for people."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class Estimate(Result):
    """A value with its interval.

    Parameters
    ----------
    value : float
        Point estimate, in the unit that the field's name carries.
    low, high : float
        Ends of the interval, same unit.
    confidence : float
        What the interval covers, 0 to 1.
    method : str
        How the interval was found.
    """

    value: float
    low: float
    high: float
    confidence: float = 0.95
    method: str = ""


@dataclass(frozen=True, slots=True)
class NotEstimated(Result):
    """The honest alternative to a number.

    Parameters
    ----------
    reason : str
        Plain words: ``"2 shots, at least 3 needed"``.
    """

    reason: str


Estimated = Estimate | NotEstimated


def round_to_doubt(value: float, doubt: float) -> str:
    """Write `value` with two significant digits of its `doubt`.

    The rounding rule is that of the GUM (JCGM 100:2008, 7.2.6): "it usually suffices to quote the
    uncertainty to at most two significant digits", and the value to the same place.

    Parameters
    ----------
    value : float
        The number.
    doubt : float
        Its standard uncertainty or half-width, same unit; 0 or not finite prints four digits.

    Returns
    -------
    str
        The rounded number.

    Examples
    --------
    >>> round_to_doubt(7.14379, 0.0321)
    '7.144'
    >>> round_to_doubt(7143.79, 320.0)
    '7140'
    """
    if not math.isfinite(value):
        return "not known"
    if not math.isfinite(doubt) or doubt <= 0:
        return f"{value:.4g}"
    place = 1 - math.floor(math.log10(doubt))
    return f"{round(value, place):.{max(place, 0)}f}"


def in_words(estimate: Estimated, unit: str = "", scale: float = 1.0) -> str:
    """Write an estimate for people: ``"0.21 m (0.14 to 0.40 m)"``, or its reason.

    Parameters
    ----------
    estimate : Estimate or NotEstimated
        What to write.
    unit : str
        Printed behind the numbers.
    scale : float
        Multiplies every number first (100 for percent, 1000 for millimetres).

    Returns
    -------
    str
        One phrase.

    Examples
    --------
    >>> in_words(Estimate(0.2123, 0.1412, 0.4), "m")
    '0.21 m (0.14 to 0.40 m)'
    >>> in_words(Estimate(0.71, 0.52, 0.85), "%", 100.0), in_words(Estimate(0.8, 0.55, 1.4), "°")
    ('71 % (52 to 85 %)', '0.80° (0.55 to 1.40°)')
    >>> in_words(NotEstimated("1 shot, at least 2 needed"))
    'not estimated: 1 shot, at least 2 needed'
    """
    if isinstance(estimate, NotEstimated):
        return f"not estimated: {estimate.reason}"
    doubt = scale * (estimate.high - estimate.low) / 2
    value, low, high = (
        round_to_doubt(scale * v, doubt) for v in (estimate.value, estimate.low, estimate.high)
    )
    # A space before the unit and before %, none before °: SI Brochure, 9th edition (2019), 5.4.3 and 5.4.7.
    tail = unit if unit in ("", "°") else f" {unit}"
    return f"{value}{tail} ({low} to {high}{tail})"
