"""A comparison in plain sentences."""

from __future__ import annotations

import math

from shotwright.base.estimate import Estimate, NotEstimated, round_to_doubt
from shotwright.statistics.permutation import PermutationTest
from shotwright.statistics.spread_ratio import SpreadRatio
from shotwright.trials.comparison_records import Comparison, PairComparison, Side
from shotwright.trials.dispersion_words import length_words, listed, p_words, shots_words

LEVEL = 0.05
# Reaches that differ by more than this make a comparison of raw scatter unfair. Common practice, no source.
FAR_APART = 1.2
# Needs beyond this are no plan for a crew; the words then say that the spreads may count as equal.
MANY_MORE = 300


def pair_words(pair: PairComparison, first: Side, second: Side, pairs: int) -> str:
    """Say what two sides' shots tell.

    Parameters
    ----------
    pair : PairComparison
        Figures.
    first, second : Side
        The two.
    pairs : int
        Pairs compared, for the adjustment of p. [-]

    Returns
    -------
    str
        Sentences.
    """
    if isinstance(pair.spread, NotEstimated):
        return f"{first.label} and {second.label} can't be compared: {pair.spread.reason}."
    sentences = [_spread_sentence(pair, pair.spread, first, second, pairs)]
    if not _shown(pair.spread_p_adjusted):
        sentences += _plan_sentences(pair, pair.spread, first, second)
    sentences += _centre_sentences(pair, first, second)
    flagged = [side.label for side in (first, second) if side.flagged]
    if flagged:
        sentences.append(
            f"Flagged shots of {listed(flagged)} are counted; with flyers the interval is too narrow."
        )
    sentences += _caveats(first, second)
    return " ".join(sentences)


def _shown(p: float | None) -> bool:
    return p is not None and p < LEVEL


def _of_test(p: float | None, pairs: int) -> str:
    if p is None:
        return ""
    return f"permutation {p_words(p)}" + (f", adjusted for {pairs} pairs" if pairs > 1 else "")


def _shots_each(first: Side, second: Side) -> str:
    if first.shots == second.shots:
        return f"{first.shots} shots each of {first.label} and {second.label}"
    return f"{first.shots} shots of {first.label} and {second.shots} of {second.label}"


def _spread_sentence(pair: PairComparison, spread: SpreadRatio, first: Side, second: Side, pairs: int) -> str:
    wider, tighter = (second, first) if spread.ratio.value >= 1 else (first, second)
    ratio = _wider_over_tighter(spread.ratio)
    doubt = (ratio.high - ratio.low) / 2
    value, low, high = (round_to_doubt(x, doubt) for x in (ratio.value, ratio.low, ratio.high))
    found = f"95 % interval {low} to {high}; {_of_test(pair.spread_p_adjusted, pairs)}"
    if _shown(pair.spread_p_adjusted):
        text = f"{wider.label} scatters {value} times as wide as {tighter.label} ({found})."
        if ratio.low <= 1:
            text += " The interval, which takes scatter as bell-shaped, includes 1: take this as a hint."
        return text
    return (
        f"{_shots_each(first, second)} cannot tell their spreads apart ({wider.label} looks {value} times as "
        f"wide, {found}). The chance that {tighter.label} is the tighter is "
        f"{_percent(spread.first_tighter if tighter is first else 1 - spread.first_tighter)}."
    )


def _wider_over_tighter(ratio: Estimate) -> Estimate:
    if ratio.value >= 1:
        return ratio
    return Estimate(1 / ratio.value, 1 / ratio.high, 1 / ratio.low, ratio.confidence, ratio.method)


def _percent(share: float) -> str:
    return "over 99 %" if share > 0.99 else f"{100 * share:.0f} %"


def _plan_sentences(pair: PairComparison, spread: SpreadRatio, first: Side, second: Side) -> list[str]:
    possible, seen = pair.more_shots, pair.more_shots_for_ratio_seen
    if_ratio = f"if the ratio is really {pair.more_shots_if_ratio:.3g}"
    words = []
    if possible:
        equal, least = first.shots == second.shots, min(first.shots, second.shots)
        needed = f"{possible} more each" if equal else f"{least + possible} each"
        words.append(f"{needed} would, {if_ratio}.")
    elif possible == 0:
        words.append(f"So many shots would most likely have shown a difference {if_ratio}.")
    if seen is None or seen > MANY_MORE:
        words.append(f"The ratio seen is so near 1 that it would take more than {MANY_MORE} more each.")
    elif seen:
        ratio = _wider_over_tighter(spread.ratio).value
        words.append(f"If the ratio seen, {ratio:.3g}, is the true one: {seen} more each.")
    if _fewest_p(first.shots, second.shots) >= LEVEL:
        words.append("With so few shots no outcome could have shown a difference.")
    return words


def _fewest_p(first: int, second: int) -> float:
    ways = math.comb(first + second, first)
    return (2 if first == second else 1) / ways


def _centre_sentences(pair: PairComparison, first: Side, second: Side) -> list[str]:
    if isinstance(pair.centre_test, NotEstimated) or pair.centre_p_adjusted is None:
        return []
    test = p_words(pair.centre_p_adjusted)
    if not _shown(pair.centre_p_adjusted):
        return [f"Their mean points can't be told apart ({test})."]
    gap = pair.reach_difference_m
    if isinstance(gap, NotEstimated) or gap.low <= 0 <= gap.high:
        return [f"Their mean points differ ({test})."]
    how = ("higher", "lower") if first.first_axis == "height" else ("farther", "shorter")
    ahead = gap.value >= 0
    size = gap if ahead else Estimate(-gap.value, -gap.high, -gap.low, gap.confidence)
    return [
        f"Their mean points differ ({test}).",
        f"{second.label} lands {length_words(size)} {how[0 if ahead else 1]} than {first.label}.",
        "An aim that is off can be set right; spread can't.",
    ]


def _caveats(first: Side, second: Side) -> list[str]:
    a, b = first.reach_m, second.reach_m
    if first.first_axis != "along" or isinstance(a, NotEstimated) or isinstance(b, NotEstimated):
        return []
    near, far = sorted((abs(a.value), abs(b.value)))
    if near > 0 and far / near > FAR_APART:
        farther = first if abs(a.value) > abs(b.value) else second
        return [
            f"{farther.label} was fired {100 * (far / near - 1):.0f} % farther; scatter grows with distance.",
            "Compare hit probabilities at one position before choosing.",
        ]
    return []


def comparison_words(found: Comparison) -> tuple[str, ...]:
    """Say what all sides' shots tell.

    Parameters
    ----------
    found : Comparison
        Figures, with the words of each pair.

    Returns
    -------
    tuple of str
        Sentences.
    """
    words = []
    simulated = [side.label for side in found.sides if side.origin == "simulated"]
    if simulated:
        words.append(f"Simulated shots, not measured ones: {listed(simulated)}.")
    for side in found.sides:
        many = (
            f", {len(side.trials)} trials pooled about their own mean points" if len(side.trials) > 1 else ""
        )
        words.append(
            f"{side.label}: {shots_words(side.shots)}{many}, {_reach_words(side)}"
            f"sigma {length_words(side.sigma_m)}."
        )
    if len(found.sides) > 2 and isinstance(found.spread_omnibus, PermutationTest):
        any_differ = (
            "Spreads differ" if found.spread_omnibus.p < LEVEL else "No difference of spreads is shown"
        )
        words.append(
            f"{any_differ} among the {len(found.sides)} together ({p_words(found.spread_omnibus.p)})."
        )
    ranked = [side for side in found.sides if side.tightest is not None]
    if len(ranked) > 2:
        best = max(ranked, key=lambda side: side.tightest or 0.0)
        words.append(f"{best.label} is the tightest with a chance of {_percent(best.tightest or 0.0)}.")
    # A side without a spread has said so once; its pairs need not say it again.
    bare = {side.label for side in found.sides if isinstance(side.sigma_m, NotEstimated)}
    words += [pair.words for pair in found.pairs if not bare & {pair.first, pair.second}]
    return tuple(words)


def _reach_words(side: Side) -> str:
    if isinstance(side.reach_m, NotEstimated):
        return ""
    return f"{'reach' if side.first_axis == 'along' else 'mean height'} {length_words(side.reach_m)}, "
