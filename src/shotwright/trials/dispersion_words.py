"""The figures of a trial in plain sentences, every number computed and rounded by its doubt."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from shotwright.base.estimate import Estimate, Estimated, NotEstimated, in_words
from shotwright.statistics.drift import Drift
from shotwright.statistics.multiple import holm
from shotwright.statistics.variance_components import VarianceComponents
from shotwright.trials.findings import TrialDispersion

FEW = 5  # shots under which the words warn that almost everything is open


def dispersion_words(found: TrialDispersion) -> TrialDispersion:
    """Return the figures with `words` filled in.

    Parameters
    ----------
    found : TrialDispersion
        Figures.

    Returns
    -------
    TrialDispersion
        The same, with sentences.
    """
    parts = (_count, _mean, _scatter, _outliers, _drift, _balls, _normality, _marks)
    words = tuple(sentence for part in parts for sentence in part(found))
    return dataclasses.replace(found, words=words)


def length_words(estimate: Estimated) -> str:
    """Write a length in metres, or in centimetres when it is short.

    Examples
    --------
    >>> length_words(Estimate(0.082, 0.058, 0.146))
    '8.2 cm (5.8 to 14.6 cm)'
    >>> length_words(Estimate(3.428, 3.31, 3.55))
    '3.43 m (3.31 to 3.55 m)'
    """
    if isinstance(estimate, Estimate) and abs(estimate.value) < 1 and abs(estimate.high) < 1:
        return in_words(estimate, "cm", 100.0)
    return in_words(estimate, "m")


def p_words(p: float) -> str:
    """Write a p value: ``"p = 0.057"``, ``"p = 0.0006"``, ``"p < 0.0001"``.

    Parameters
    ----------
    p : float
        Probability, 0 to 1. [-]

    Returns
    -------
    str
        The phrase.
    """
    if p < 1e-4:
        return "p < 0.0001"
    return f"p = {p:.1g}" if p < 0.01 else f"p = {p:.2f}" if p >= 0.1 else f"p = {p:.3f}"


def shots_words(n: int) -> str:
    """Write a number of shots: ``"1 shot"``, ``"7 shots"``."""
    return f"{n} shot{'' if n == 1 else 's'}"


def listed(items: Sequence[object]) -> str:
    """Write a list: ``"3"``, ``"3 and 5"``, ``"3, 5 and 6"``."""
    words = [str(item) for item in items]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _count(found: TrialDispersion) -> Iterator[str]:
    if found.origin == "simulated":
        yield "Simulated shots, not measured ones."
    parts = [f"{shots_words(found.shots_used)} used"]
    if found.shots_set_aside:
        parts.append(f"{found.shots_set_aside} set aside")
    if found.shots_without_mark:
        parts.append(f"{found.shots_without_mark} without a mark in both axes")
    yield ", ".join(parts) + "."
    if 0 < found.shots_used < FEW:
        yield f"So few shots leave almost everything open; fire {FEW} or more."


def _mean(found: TrialDispersion) -> Iterator[str]:
    if isinstance(found.mean_first_m, Estimate):
        yield (
            f"Mean point of impact: {length_words(found.mean_first_m)} {found.first_axis}, "
            f"{length_words(found.mean_cross_m)} cross (left positive)."
        )


def _scatter(found: TrialDispersion) -> Iterator[str]:
    if isinstance(found.sigma_m, NotEstimated):
        yield f"Spread not estimated: {found.sigma_m.reason}."
        return
    yield (
        f"Standard deviation {length_words(found.sd_first_m)} {found.first_axis} "
        f"and {length_words(found.sd_cross_m)} cross."
    )
    yield (
        f"Half of such shots land within {length_words(found.cep_m)} of their mean point, "
        f"95 % within {length_words(found.r95_m)}."
    )


def _outliers(found: TrialDispersion) -> Iterator[str]:
    if not found.outliers:
        if found.shots_used >= FEW and isinstance(found.sigma_m, Estimate):
            yield "No shot stands off the others so far that chance is a poor reason."
        return
    orders = listed([o.order for o in found.outliers])
    which = f"Shot {orders} stands" if len(found.outliers) == 1 else f"Shots {orders} stand"
    yield (
        f"{which} off the others ({p_words(max(o.p_adjusted for o in found.outliers))} for a clean trial of "
        f"{found.shots_used}). Look for a cause; flagged shots still count until someone sets them aside "
        "with a reason."
    )
    beside = found.without_outliers
    if beside is not None and isinstance(beside.sigma_m, Estimate) and isinstance(found.sigma_m, Estimate):
        yield f"Sigma is {length_words(found.sigma_m)} with, {length_words(beside.sigma_m)} without."


def _drift(found: TrialDispersion) -> Iterator[str]:
    axes = ((found.first_axis, found.drift_first), ("cross", found.drift_cross))
    known = [(name, drift) for name, drift in axes if isinstance(drift, Drift)]
    if not known or found.shots_used < FEW:
        return
    adjusted = holm([drift.p for _, drift in known])
    shown = [(name, drift, p) for (name, drift), p in zip(known, adjusted, strict=True) if p < 0.05]
    for name, drift, p in shown:
        slope = Estimate(drift.slope_per_shot, drift.slope_low, drift.slope_high)
        yield (
            f"The marks drift with shot order, {name}: {in_words(slope, 'cm', 100.0)} a shot "
            f"({p_words(float(p))}). Look at battery, pressure or a part that wears in."
        )
    if not shown:
        yield (
            f"No drift found; {shots_words(found.shots_used)} would have shown one of about "
            f"{known[0][1].detectable_sds:.2g} standard deviations from first to last."
        )


def _balls(found: TrialDispersion) -> Iterator[str]:
    for name, balls in ((found.first_axis, found.balls_first), ("cross", found.balls_cross)):
        if not isinstance(balls, VarianceComponents):
            continue
        text = (
            f"Between balls {length_words(balls.between_sd)}, same ball again "
            f"{length_words(balls.repeat_sd)}, {name} ({balls.groups} balls, {shots_words(balls.readings)}, "
            f"{p_words(balls.p)} for no effect of the ball)"
        )
        if balls.between_variance_raw < 0:
            text += f"; the raw variance between balls is {balls.between_variance_raw:.2g} m², shown as 0"
        yield text + "."
    if found.same_ball:
        yield (
            "All shots were fired with one ball: a match uses many, so its scatter is larger than this. "
            "Fire 5 balls 3 times each to see by how much."
        )


def _normality(found: TrialDispersion) -> Iterator[str]:
    remarks = [
        remark
        for remark in (found.normality_first, found.normality_cross)
        if not isinstance(remark, NotEstimated)
    ]
    if remarks and found.shots_used >= FEW:
        least = min(remarks, key=lambda remark: remark.p)
        yield f"Shape ({p_words(least.p)}): {least.words}."


def _marks(found: TrialDispersion) -> Iterator[str]:
    if found.mark_share is None:
        return
    reading = f"Reading a mark is good to {1000 * found.mark_sd_m:.3g} mm"
    if found.mark_share >= 1:
        yield f"{reading}, which explains all the spread seen: measure more finely."
    else:
        share = 100 * found.mark_share
        yield f"{reading}: {'less than 1' if share < 1 else f'{share:.0f}'} % of the variance seen."
