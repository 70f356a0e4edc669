"""A launcher's model corrected by its own trials: parameters with priors, a check, predictions.

Bayesian least squares: see `statistics.bayes_fit` for the method, `trials.unknowns` for the priors, and
``docs/launchers.md`` for what both were tested on.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.flight.model import FlightModel
from shotwright.game.records import Ball
from shotwright.launcher.description import Described
from shotwright.statistics.bayes_fit import Fit, fit, replicated_misfits
from shotwright.trials.calibration_records import Calibration, LearnedParameter
from shotwright.trials.calibration_views import (
    curve_of,
    estimate_of,
    predicted_setting,
    trial_fit,
)
from shotwright.trials.calibration_words import calibration_cautions, calibration_words
from shotwright.trials.learned_model import LearnedModel
from shotwright.trials.records import Shot, Trial
from shotwright.trials.trial_data import TrialData, trial_data
from shotwright.trials.unknowns import Unknown, prior_of, unknowns_of

FloatArray = NDArray[np.float64]

DRAWS = 800
LACK_OF_FIT = 0.05  # posterior predictive probability below which the model is said not to fit
_NOTHING = 1e-5  # share by which a parameter must change what was measured, to be open at all
_ALIKE = 0.9  # correlation beyond which two parameters are not told apart


def predict_rows(learned: LearnedModel, data: Sequence[TrialData], coordinates: FloatArray) -> FloatArray:
    """Predict the measured means of all trials for many sets of parameters.

    Parameters
    ----------
    learned : LearnedModel
        Launcher and flight.
    data : sequence of TrialData
        Trials.
    coordinates : ndarray, shape (m, p)
        Parameters, as logarithms or numbers; see `unknowns.Unknown`. [-]

    Returns
    -------
    ndarray, shape (m, rows)
        In the order of the trials' rows. [SI]
    """
    values, m = learned.values(coordinates), len(coordinates)
    columns = []
    for one in data:
        out = learned.release(values, one.settings, m)
        for row in one.rows:
            columns.append(
                learned.marks(out, values, one.trial)
                if row == "mark"
                else {"speed": out.speed, "elevation": out.elevation, "spin": out.backspin}[row]
            )
    return np.column_stack(columns)


def calibrate_model(
    model: FlightModel,
    described: Described,
    trials: Sequence[tuple[Trial, Sequence[Shot]]],
    rng: np.random.Generator,
    *,
    predict_at: Sequence[Mapping[str, float]] = (),
    draws: int = DRAWS,
) -> Calibration:
    """Correct a launcher's model by its trials.

    Parameters
    ----------
    model : FlightModel
        Ball and air of the trials.
    described : Described
        The launcher on paper.
    trials : sequence of (Trial, sequence of Shot)
        Its trials; those that can't be used are named with the reason.
    rng : numpy.random.Generator
        Source of the draws.
    predict_at : sequence of mapping of str to float
        Settings to predict. [SI]
    draws : int
        Posterior draws.

    Returns
    -------
    Calibration
        Parameters, trials beside the model, check of the fit, predictions.

    Raises
    ------
    NoAnswer
        No trial can be used, or the model throws nothing to where the marks are.
    """
    data, left_out = _usable(described, model.ball, trials)
    if not data:
        reasons = "; ".join(f"{name}: {why}" for name, why in left_out) or "there are none"
        raise NoAnswer(f"no trial of {described.prototype!r} can be used: {reasons}")
    learned = _open_model(model, described, data)
    unknowns = learned.unknowns
    mean, sd = prior_of(unknowns)
    groups = [one.group for one in data]
    found = fit(lambda z: predict_rows(learned, data, z), groups, mean, sd, rng, draws=draws)
    before = mean + sd * rng.standard_normal((draws, len(mean)))
    rows_before, rows_after = predict_rows(learned, data, before), predict_rows(learned, data, found.draws)
    observed, again = replicated_misfits(groups, rows_after, rng)
    chance = float(np.mean(again.sum(axis=1) >= observed.sum(axis=1)))
    parameters = _parameters(unknowns, before, found)
    fits = [
        trial_fit(learned, one, rows_before[:, a:b], rows_after[:, a:b], found, rng)
        for one, (a, b) in zip(data, _spans(data), strict=True)
    ]
    asked = [predicted_setting(learned, dict(at), found, data, rng) for at in predict_at]
    curve = curve_of(learned, before, found, data)
    alike = _alike(unknowns, found)
    return Calibration(
        prototype=described.prototype,
        kind=described.launcher.kind,
        parameters=parameters,
        alike=alike,
        trials=tuple(fits),
        left_out=left_out,
        fit_probability=chance,
        fits=chance >= LACK_OF_FIT,
        curve=curve,
        predictions=tuple(asked),
        effective_draws=found.effective,
        words=calibration_words(parameters, alike, fits, left_out, chance >= LACK_OF_FIT, chance),
        cautions=calibration_cautions(data, described, found.effective, draws),
    )


def _open_model(model: FlightModel, described: Described, data: Sequence[TrialData]) -> LearnedModel:
    """Return the model with those parameters open that change what these trials measured."""
    learned = LearnedModel(model, described, unknowns_of(described, model.ball))
    mean, sd = prior_of(learned.unknowns)
    rows = predict_rows(learned, data, np.concatenate([mean[None], mean + np.diag(sd), mean - np.diag(sd)]))
    if not np.isfinite(rows[0]).all():
        raise NoAnswer(
            f"{described.prototype!r} as described throws no ball to where the marks are; check its "
            "dimensions and the trials' settings"
        )
    p = len(mean)
    moved = np.maximum(abs(rows[1 : p + 1] - rows[0]), abs(rows[p + 1 :] - rows[0]))
    matters = ~(moved <= _NOTHING * (1 + abs(rows[0]))).all(axis=1)
    kept = tuple(one for one, counts in zip(learned.unknowns, matters, strict=True) if counts)
    return LearnedModel(model, described, kept)


def _usable(
    described: Described, ball: Ball, trials: Sequence[tuple[Trial, Sequence[Shot]]]
) -> tuple[list[TrialData], tuple[tuple[str, str], ...]]:
    data, left_out = [], []
    for trial, shots in trials:
        try:
            data.append(trial_data(described, ball, trial, shots))
        except NoAnswer as reason:
            left_out.append((trial.name, str(reason)))
    return data, tuple(left_out)


def _spans(data: Sequence[TrialData]) -> list[tuple[int, int]]:
    edges = np.cumsum([0, *(one.group.rows for one in data)]).tolist()
    return list(itertools.pairwise(edges))


def _parameters(unknowns: Sequence[Unknown], before: FloatArray, found: Fit) -> tuple[LearnedParameter, ...]:
    said = []
    for i, one in enumerate(unknowns):
        scale, unit = (180 / np.pi, "°") if one.unit == "rad" else (1.0, one.unit)
        after = found.draws[:, i]
        said.append(
            LearnedParameter(
                name=one.name,
                unit=unit,
                before=estimate_of(scale * one.values(before[:, i]), "prior"),
                after=estimate_of(scale * one.values(after), "posterior"),
                learned=float(np.clip(1 - after.std() / one.doubt, 0.0, 1.0)),
            )
        )
    return tuple(said)


def _alike(unknowns: Sequence[Unknown], found: Fit) -> tuple[tuple[str, str], ...]:
    correlation = np.atleast_2d(np.corrcoef(found.draws.T))
    return tuple(
        (unknowns[i].name, unknowns[j].name)
        for i in range(len(unknowns))
        for j in range(i + 1, len(unknowns))
        if abs(correlation[i, j]) > _ALIKE
    )
