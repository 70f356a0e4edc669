"""How many shots to fire, before firing them."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate
from shotwright.base.plain import Result
from shotwright.statistics.sample_size import (
    chance_of_picking_tighter,
    hit_rate_interval,
    ratio_shown,
    shots_for_hit_rate,
    shots_for_spread_ratio,
    shots_to_pick_tighter,
    shots_without_a_miss,
    spread_power,
)

# The permutation test needs about this many more shots than F, measured: docs/statistics.md.
PERMUTATION_EXTRA = 1.15


@dataclass(frozen=True, slots=True)
class ShotPlan(Result):
    """Shots that questions need; None where nothing was asked.

    Parameters
    ----------
    current : int
        Shots of each prototype fired already. [-]
    power : float
        Wanted chance to show a true difference. [-]
    ratio : float, optional
        Spread ratio thought possible. [-]
    comparisons : int
        Pairs of prototypes compared. [-]
    shots_for_ratio, more_for_ratio : int, optional
        Shots of each prototype that show the ratio by the F test, and how many more than now. [-]
    shots_for_ratio_permutation : int, optional
        The same for the permutation test, which holds for scatter of any shape. [-]
    power_now : float, optional
        Chance to show the ratio with the current shots. [-]
    ratio_shown_now : float, optional
        Ratio that the current shots show with the wanted power. [-]
    pick_now : float, optional
        Chance that the tighter prototype also shows the smaller spread with the current shots. [-]
    pick_chance, shots_to_pick : optional
        Wanted chance of that, and shots of each prototype for it. [-]
    hit_rate, half_width, shots_for_width : optional
        Hit rate expected, wanted half-width of its 95 % interval, and shots for it. [-]
    hit_rate_now : Estimate, optional
        Interval that the current shots would give. [-]
    demonstrate, shots_without_a_miss : optional
        Hit rate to show with 95 % confidence, and shots that must all hit. [-]
    words : tuple of str
        All this in plain sentences.
    """

    current: int
    power: float
    ratio: float | None
    comparisons: int
    shots_for_ratio: int | None
    more_for_ratio: int | None
    shots_for_ratio_permutation: int | None
    power_now: float | None
    ratio_shown_now: float | None
    pick_now: float | None
    pick_chance: float
    shots_to_pick: int | None
    hit_rate: float | None
    half_width: float
    shots_for_width: int | None
    hit_rate_now: Estimate | None
    demonstrate: float | None
    shots_without_a_miss: int | None
    words: tuple[str, ...]


def plan_shots(
    *,
    ratio: float | None = None,
    power: float = 0.8,
    current: int = 0,
    comparisons: int = 1,
    pick_chance: float = 0.9,
    hit_rate: float | None = None,
    half_width: float = 0.1,
    demonstrate: float | None = None,
) -> ShotPlan:
    """Tell how many shots a comparison or a hit rate needs.

    Parameters
    ----------
    ratio : float, optional
        Spread ratio thought possible, wider over tighter: 1.5. [-]
    power : float
        Wanted chance to show it if it is true, at the two-sided 5 % level. [-]
    current : int
        Shots of each prototype fired already. [-]
    comparisons : int
        Pairs of prototypes to compare: 3 for three prototypes. [-]
    pick_chance : float
        Wanted chance that the truly tighter one shows the smaller spread. [-]
    hit_rate : float, optional
        Hit rate expected. [-]
    half_width : float
        Wanted half-width of its 95 % interval. [-]
    demonstrate : float, optional
        Hit rate to show, with 95 % confidence, by shots that all hit. [-]

    Returns
    -------
    ShotPlan
        Numbers and words.

    Raises
    ------
    BadInput
        A number that makes no sense, or no question at all.
    NoAnswer
        More than a million shots.

    Notes
    -----
    The spread figures are exact for round, bell-shaped scatter read in both axes.

    Examples
    --------
    >>> plan = plan_shots(ratio=1.5, current=7)
    >>> plan.shots_for_ratio, plan.more_for_ratio, plan.shots_for_ratio_permutation
    (26, 19, 30)
    """
    if ratio is None and hit_rate is None and demonstrate is None and current < 2:
        raise BadInput(
            "nothing to plan for; give a spread ratio such as 1.5, or a hit rate such as 0.8", field="ratio"
        )
    if current < 0 or comparisons < 1:
        raise BadInput("shots fired must be 0 or more, comparisons 1 or more", field="current")
    needed = None if ratio is None else shots_for_spread_ratio(ratio, power=power, comparisons=comparisons)
    alpha = 0.05 / comparisons
    fired = current >= 2
    plan = ShotPlan(
        current=current,
        power=power,
        ratio=None if ratio is None else max(ratio, 1 / ratio),
        comparisons=comparisons,
        shots_for_ratio=needed,
        more_for_ratio=None if needed is None else max(needed - current, 0),
        shots_for_ratio_permutation=None if needed is None else for_permutation(needed),
        power_now=spread_power(ratio, current, alpha=alpha) if ratio is not None and fired else None,
        ratio_shown_now=ratio_shown(current, power=power, alpha=alpha) if fired else None,
        pick_now=chance_of_picking_tighter(ratio, current) if ratio is not None and fired else None,
        pick_chance=pick_chance,
        shots_to_pick=None if ratio is None else shots_to_pick_tighter(ratio, chance=pick_chance),
        hit_rate=hit_rate,
        half_width=half_width,
        shots_for_width=None if hit_rate is None else shots_for_hit_rate(hit_rate, half_width),
        hit_rate_now=hit_rate_interval(hit_rate, current) if hit_rate is not None and current else None,
        demonstrate=demonstrate,
        shots_without_a_miss=None if demonstrate is None else shots_without_a_miss(demonstrate),
        words=(),
    )
    return _with_words(plan)


def for_permutation(shots: int) -> int:
    """Shots that the permutation test needs where F needs `shots`. [-]."""
    return math.ceil(round((shots - 1) * PERMUTATION_EXTRA, 6)) + 1


def _with_words(plan: ShotPlan) -> ShotPlan:
    words: list[str] = []
    if plan.ratio is not None and plan.shots_for_ratio is not None:
        among = "" if plan.comparisons == 1 else f", {plan.comparisons} pairs being compared"
        words.append(
            f"If one prototype scatters {plan.ratio:.3g} times as wide as the other, {plan.shots_for_ratio} "
            f"shots of each show it in {100 * plan.power:.0f} of 100 such comparisons{among} (F test, round "
            f"bell-shaped scatter); about {plan.shots_for_ratio_permutation} by the permutation test, which "
            "needs no shape."
        )
        if plan.current:
            words.append(
                f"With {plan.current} fired of each, that is {plan.more_for_ratio} more of each."
                if plan.more_for_ratio
                else f"The {plan.current} fired of each are enough."
            )
        words.append(
            f"To pick the tighter one with a chance of {100 * plan.pick_chance:.0f} %, without proving it, "
            f"{plan.shots_to_pick} of each are enough."
        )
    if plan.ratio_shown_now is not None:
        words.append(
            f"{plan.current} shots of each reliably show only a ratio of {plan.ratio_shown_now:.2g} or more."
        )
    if plan.hit_rate is not None:
        words.append(
            f"A hit rate near {100 * plan.hit_rate:.0f} % is known to within {100 * plan.half_width:.0f} "
            f"points after {plan.shots_for_width} shots."
        )
    if plan.demonstrate is not None:
        words.append(
            f"{plan.shots_without_a_miss} hits in a row, no miss, show a hit rate of at least "
            f"{100 * plan.demonstrate:.0f} % with 95 % confidence."
        )
    return dataclasses.replace(plan, words=tuple(words))
