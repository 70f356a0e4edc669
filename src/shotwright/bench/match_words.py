"""Plans of a match in plain sentences."""

from __future__ import annotations

from shotwright.base.estimate import in_words
from shotwright.match.records import Plan
from shotwright.match.results import MatchPlans

_LISTED = 4  # entries of the to-do list that are told in words
_WORTH = 0.05  # points; less is not worth a sentence


def plan_words(found: MatchPlans, first: Plan) -> tuple[str, ...]:
    """Say which plan scores most, what bounds it, and what to work on.

    Parameters
    ----------
    found : MatchPlans
        The result, its words still empty.
    first : Plan
        The plan that scores most.

    Returns
    -------
    tuple of str
        Sentences.
    """
    best = found.plans[0]
    q = best.quantiles
    words = [
        f"PREDICTED from {found.matches} simulated matches of each plan, all with the same chances.",
    ]
    words.append(
        f"{best.plan}: {best.mean.value:.1f} points in a match on average, {q[0]:g} to {q[-1]:g} in nine "
        f"matches of ten; {best.shots:.1f} balls fired, {best.hits:.1f} scored."
    )
    if best.most_known - best.least_known > _WORTH:
        words.append(
            f"What is not known of the hit probabilities leaves its mean between {best.least_known:.1f} and "
            f"{best.most_known:.1f} points."
        )
    if found.lead is not None:
        second = found.plans[1].plan
        told = in_words(found.lead, "points")
        words.append(
            f"It leads {second} by {told}."
            if found.lead.low > 0
            else f"{found.matches} matches do not tell it from {second}: {told} apart."
        )
    time = max(best.time_s.items(), key=lambda one: one[1])
    words.append(
        f"Most of its time goes into {time[0]}: {time[1]:.0f} s of {sum(best.time_s.values()):.0f} s."
    )
    if found.second_choices:
        words.append(_second_words(found, first))
    useful = [one for one in found.to_do if one.gain.value > _WORTH and one.gain.low > 0][:_LISTED]
    if useful:
        told = "; ".join(f"{one.what}, {in_words(one.gain, 'points')}" for one in useful)
        words.append(f"What is worth most to {best.plan}: {told}.")
    return tuple(words)


def _second_words(found: MatchPlans, first: Plan) -> str:
    best, *others = found.second_choices
    name = first.positions[0]
    what = f"take {best.what}" if best.what not in ("wait", "fire all the same") else best.what
    words = f"When {name} is blocked: {what}, {best.mean.value:.1f} points in a match"
    told = ", ".join(f"{one.what} {one.mean.value:.1f}" for one in others)
    return f"{words} ({told})." if told else f"{words}."
