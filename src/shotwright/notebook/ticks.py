"""Axis ticks in round numbers."""

from __future__ import annotations

import math

STEPS = (1.0, 2.0, 5.0, 10.0)


def round_step(span: float, at_most: int) -> float:
    """Return the smallest round step that cuts `span` into `at_most` parts or fewer.

    Round steps are 1, 2 and 5 times a power of ten.

    Parameters
    ----------
    span : float
        Length to be cut, positive.
    at_most : int
        Largest number of parts, at least 1.

    Returns
    -------
    float
        The step, same unit as `span`.

    Examples
    --------
    >>> round_step(13.0, 6)
    5.0
    """
    rough = span / max(at_most, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in STEPS if step * power >= rough * (1 - 1e-9))


def ticks(low: float, high: float, at_most: int = 6) -> list[float]:
    """Return round numbers within [low, high], evenly spaced.

    Parameters
    ----------
    low, high : float
        Ends of the axis, low < high.
    at_most : int
        Largest number of steps that they span.

    Returns
    -------
    list of float
        The tick positions, rising.

    Examples
    --------
    >>> ticks(-0.13, 0.52, 5)
    [0.0, 0.2, 0.4]
    """
    step = round_step(high - low, at_most)
    slack = 1e-9 * step
    first = math.ceil((low - slack) / step)
    last = math.floor((high + slack) / step)
    return [_clean(k * step, step) for k in range(first, last + 1)]


def _clean(value: float, step: float) -> float:
    return round(value, places(step)) + 0.0  # + 0.0 turns -0.0 into 0.0


def places(step: float) -> int:
    """Return how many decimals labels at this step need."""
    return max(0, -math.floor(math.log10(step) + 1e-9))


def label(value: float, step: float) -> str:
    """Write a tick with the decimals of its step and a real minus sign.

    Parameters
    ----------
    value, step : float
        Tick and distance between ticks.

    Returns
    -------
    str
        The label.

    Examples
    --------
    >>> label(-0.2, 0.1), label(5.0, 5.0)
    ('−0.2', '5')
    """
    return f"{value:.{places(step)}f}".replace("-", "−")


def rounded_out(low: float, high: float, at_most: int = 6) -> tuple[float, float]:
    """Widen a range to whole ticks.

    Parameters
    ----------
    low, high : float
        Range of the data; a range of no length is given one.
    at_most : int
        Largest number of steps.

    Returns
    -------
    tuple of float
        Ends of the axis.

    Examples
    --------
    >>> rounded_out(0.3, 9.2)
    (0.0, 10.0)
    """
    if high - low <= 1e-12 * max(abs(low), abs(high), 1.0):
        reach = max(abs(low) * 0.05, 0.5)
        low, high = low - reach, high + reach
    step = round_step(high - low, at_most)
    return (
        _clean(math.floor(low / step + 1e-9) * step, step),
        _clean(math.ceil(high / step - 1e-9) * step, step),
    )
