"""Phrases that recur in captions and tables."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Sequence

from shotwright.base.estimate import Estimate, Estimated, in_words
from shotwright.notebook.evidence import TrialPage

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def orders_in_words(orders: Iterable[int]) -> str:
    """Write shot numbers with runs drawn together.

    Examples
    --------
    >>> orders_in_words([1, 2, 3, 5, 8, 9])
    '1–3, 5, 8, 9'
    """
    runs: list[list[int]] = []
    for order in sorted(orders):
        if runs and order == runs[-1][-1] + 1:
            runs[-1].append(order)
        else:
            runs.append([order])
    parts = [f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return ", ".join(parts)


def shots_in_words(page: TrialPage) -> str:
    """Write which shots of a trial stand behind a figure.

    Parameters
    ----------
    page : TrialPage
        The trial with all its shots.

    Returns
    -------
    str
        ``"shots 1–4, 6, 7 (6 counted; 5 set aside)"``.
    """
    counted = [shot.order for shot in page.shots if shot.set_aside is None]
    aside = [shot.order for shot in page.shots if shot.set_aside is not None]
    said = f"{'shot' if len(counted) == 1 else 'shots'} {orders_in_words(counted)}" if counted else "no shot"
    tail = f"; {orders_in_words(aside)} set aside" if aside else ""
    return f"{said} ({len(counted)} counted{tail})"


def listed(names: Sequence[str]) -> str:
    """Join names as a sentence does.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else "none"


def day(date: datetime.date) -> str:
    """Write a date so that nobody can take the day for the month.

    Examples
    --------
    >>> day(datetime.date(2031, 3, 4))
    '4 March 2031'
    """
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"


def fixed(value: float | None, decimals: int) -> str:
    """Write a number with that many decimals and a real minus sign; a dash where there is none.

    Examples
    --------
    >>> fixed(-0.5, 1), fixed(None, 1)
    ('−0.5', '–')
    """
    return "–" if value is None else f"{value:.{decimals}f}".replace("-", "−")


def percent(share: float) -> str:
    """Write a probability in whole percent.

    Examples
    --------
    >>> percent(0.714)
    '71 %'
    """
    return f"{100 * share:.0f} %"


def estimate_words(estimate: Estimated, unit: str = "", scale: float = 1.0) -> str:
    """Write an estimate with its interval, with a real minus.

    Parameters
    ----------
    estimate : Estimate or NotEstimated
        What to write.
    unit : str
        Printed behind the numbers.
    scale : float
        Multiplies every number first (100 for percent).

    Returns
    -------
    str
        One phrase.

    Examples
    --------
    >>> estimate_words(Estimate(0.71, 0.52, 0.85), "%", 100.0)
    '71 % (52 to 85 %)'
    """
    words = in_words(estimate, unit, scale)
    if not isinstance(estimate, Estimate):
        return words
    return re.sub(r"(?<![\w.])-(?=\d)", "−", words)


def unbroken(words: str) -> str:
    """Keep a percent sign on the line of its number."""
    return words.replace(" %", "\u00a0%")
