"""What a calibration shows, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

from shotwright.base.estimate import Estimate, in_words, round_to_doubt
from shotwright.launcher.description import Described
from shotwright.trials.calibration_records import LearnedParameter, TrialFit
from shotwright.trials.trial_data import TrialData

_LEARNED, _UNTOUCHED = 0.3, 0.08  # shares of the doubt taken away
_FAR = 2.5  # standard deviations at which a trial is called out


def calibration_words(
    parameters: Sequence[LearnedParameter],
    alike: Sequence[tuple[str, str]],
    trials: Sequence[TrialFit],
    left_out: Sequence[tuple[str, str]],
    fits: bool,
    chance: float,
) -> tuple[str, ...]:
    """Say what the trials taught, and whether the model fits them.

    Parameters
    ----------
    parameters : sequence of LearnedParameter
        Before and after.
    alike : sequence of (str, str)
        Pairs not told apart.
    trials : sequence of TrialFit
        Trials used.
    left_out : sequence of (str, str)
        Trials not used, and why.
    fits : bool
        Verdict of the predictive check.
    chance : float
        Its probability. [-]

    Returns
    -------
    tuple of str
        The verdict first.
    """
    shots = sum(one.shots for one in trials)
    fake = sum(t.shots for t in trials if t.origin == "simulated")
    simulated = (
        "" if not fake else " All of them are SIMULATED." if fake == shots else f" {fake} are SIMULATED."
    )
    trials_said = "one trial" if len(trials) == 1 else f"{len(trials)} trials"
    words = [f"Corrected by {trials_said} with {shots} shots.{simulated}"]
    if fits:
        words.append(
            "The corrected model fits these trials: data as far from it as these come up in "
            f"{100 * chance:.0f} % of repeats."
        )
    else:
        words.append(
            "LACK OF FIT: even corrected, the model does not give these trials (data this far off come up in "
            f"{100 * chance:.1g} % of repeats). Don't trust its predictions; look for what changed "
            "between the trials, or what the model leaves out."
        )
    words += [_far_words(trial) for trial in trials if any(abs(r.off_by) > _FAR for r in trial.rows)]
    for one in sorted(parameters, key=lambda p: -p.learned):
        if one.learned >= _LEARNED:
            words.append(
                f"{one.label}: {in_words(one.after, one.unit)} now, was {in_words(one.before, one.unit)}."
            )
    silent = [one.label for one in parameters if one.learned < _UNTOUCHED]
    if silent:
        words.append(f"These trials say next to nothing about {', '.join(silent)}.")
    for first, second in alike:
        words.append(
            f"They can't tell {first.replace('_', ' ')} from {second.replace('_', ' ')}: only both together "
            "are known well. Trials at other settings, or measured speeds, would part them."
        )
    words += [sentence for trial in trials for sentence in _scatter_words(trial)]
    words += [f"Left out: trial {name}, {why}." for name, why in left_out]
    return tuple(words)


def _far_words(trial: TrialFit) -> str:
    row = max(trial.rows, key=lambda r: abs(r.off_by))
    gap = row.measured.value - row.calibrated.value
    side = "more" if gap > 0 else "less"
    doubt = (row.measured.high - row.measured.low) / 2
    return (
        f"Trial {trial.trial}: {row.what} measured {round_to_doubt(row.measured.value, doubt)} {row.unit}, "
        f"{round_to_doubt(abs(gap), doubt)} {row.unit} {side} than the corrected model says."
    )


def _scatter_words(trial: TrialFit) -> list[str]:
    seen, said = trial.scatter_measured_m, trial.scatter_predicted_m
    if not isinstance(seen, Estimate) or said is None or seen.low <= said <= seen.high:
        return []
    side = "less" if said < seen.low else "more"
    words = (
        f"Trial {trial.trial}: the spreads in the launcher file give {side} scatter ({1e3 * said:.0f} mm) "
    )
    return [f"{words}than was measured ({in_words(seen, 'mm', 1e3)}): mend them."]


def calibration_cautions(
    data: Sequence[TrialData], described: Described, effective: float, draws: int
) -> tuple[str, ...]:
    """Say what to beware of when using a calibration.

    Parameters
    ----------
    data : sequence of TrialData
        Trials used.
    described : Described
        The launcher.
    effective : float
        Independent draws that the weights are worth. [-]
    draws : int
        Draws asked for.

    Returns
    -------
    tuple of str
        One sentence each; empty when there is nothing.
    """
    cautions = []
    for one in described.settings:
        fired = {round(d.settings[one.name], 9) for d in data if one.name in d.settings}
        if len(fired) < 2:
            stated = "was stated for no trial" if not fired else "was the same in all trials"
            example = f"{one.label} {one.shown((one.low + one.high) / 2)}"
            cautions.append(
                f"{one.label} {stated}: how the throw changes with it rests on the model alone. Write it "
                f"into the trial's setting, e.g. '{example}', and fire a second value."
            )
    if effective < 0.25 * draws:
        cautions.append(
            f"The random draws are worth only {effective:.0f} independent ones; intervals are rough. "
            "The trials and the priors disagree, or leave a wide ridge open."
        )
    return tuple(cautions)
