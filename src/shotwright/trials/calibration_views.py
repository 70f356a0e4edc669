"""A calibrated model beside its trials, at other settings, and as a curve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.game.records import Ball
from shotwright.launcher.description import Described
from shotwright.launcher.shots import drawn_inputs, varying
from shotwright.statistics.bayes_fit import Fit
from shotwright.statistics.intervals import mean_interval, sd_interval
from shotwright.trials.calibration_records import (
    CalibrationCurve,
    CurvePoint,
    MeasuredPoint,
    MeasuredRow,
    SettingPrediction,
    TrialFit,
)
from shotwright.trials.learned_model import LearnedModel
from shotwright.trials.records import Trial
from shotwright.trials.trial_data import TrialData

FloatArray = NDArray[np.float64]

_POINTS = 25  # of a curve
_SAME = 0.02  # share of a setting's range within which two settings count as the same
# name of the row, unit, and what one SI unit is in it
_SHOWN = {
    "speed": ("speed", "m/s", 1.0),
    "elevation": ("elevation", "°", 180 / np.pi),
    "spin": ("backspin", "rev/s", 1 / (2 * np.pi)),
}


def estimate_of(values: FloatArray, method: str) -> Estimate:
    """Median and 95 % interval of draws.

    Parameters
    ----------
    values : ndarray, shape (m,)
        Draws. [any]
    method : str
        What they are.

    Returns
    -------
    Estimate
        In the draws' unit.
    """
    low, middle, high = np.quantile(values, [0.025, 0.5, 0.975])
    return Estimate(float(middle), float(low), float(high), method=method)


def _estimated(values: FloatArray, method: str, why: str) -> Estimated:
    """Median and interval of draws, unless more than 2.5 % of them don't exist."""
    there = np.isfinite(values)
    return estimate_of(values[there], method) if there.mean() > 0.975 else NotEstimated(why)


def shown_settings(
    described: Described, ball: Ball, settings: Mapping[str, float]
) -> tuple[tuple[str, str], ...]:
    """Write settings in the crew's units.

    Parameters
    ----------
    described : Described
        Gives the units.
    ball : Ball
        The ball.
    settings : mapping of str to float
        By name. [SI]

    Returns
    -------
    tuple of (str, str)
        Label and value.
    """
    units = {one.name: one for one in described.settings}
    known = {one.name: one.unit for one in described.inputs(ball)}
    said = []
    for name, value in settings.items():
        if name in units:
            words = units[name].shown(value)
        elif known[name] == "rad":
            words = f"{np.degrees(value):.4g}°"
        else:
            words = f"{1e3 * value:.4g} mm" if known[name] == "m" else f"{value:.4g} {known[name]}".rstrip()
        said.append((name.replace("_", " "), words))
    return tuple(said)


def trial_fit(
    learned: LearnedModel,
    data: TrialData,
    before: FloatArray,
    after: FloatArray,
    found: Fit,
    rng: np.random.Generator,
) -> TrialFit:
    """Set one trial beside the model.

    Parameters
    ----------
    learned : LearnedModel
        Launcher and flight.
    data : TrialData
        The trial.
    before, after : ndarray, shape (m, rows)
        Its rows as predicted by the priors, and by the posterior. [SI]
    found : Fit
        The posterior.
    rng : numpy.random.Generator
        For the predicted scatter.

    Returns
    -------
    TrialFit
        Measured and predicted.
    """
    rows = []
    for i, row in enumerate(data.rows):
        mark = "height" if data.trial.surface == "plane" else "reach"
        what, unit, scale = (mark, "m", 1.0) if row == "mark" else _SHOWN[row]
        value = float(data.group.mean[i])
        own = float(data.group.covariance[i, i]) / data.group.size
        measured = mean_interval(data.readings[i])
        spread = np.sqrt(own + np.var(after[:, i]))
        there = before[np.isfinite(before[:, i]), i]
        rows.append(
            MeasuredRow(
                what=what,
                unit=unit,
                measured=_scaled(measured, scale),
                on_paper=estimate_of(scale * there, "prior predictive"),
                calibrated=estimate_of(scale * after[:, i], "posterior predictive"),
                off_by=float((value - after[:, i].mean()) / spread),
            )
        )
    return TrialFit(
        trial=data.trial.name,
        origin=data.trial.origin,
        shots=data.group.size,
        settings=shown_settings(learned.described, learned.model.ball, data.settings),
        rows=tuple(rows),
        scatter_measured_m=sd_interval(data.marks),
        scatter_predicted_m=_scatter(learned, data, found, rng),
        set_values=dict(data.settings),
    )


def _scaled(one: Estimated, scale: float) -> Estimate:
    assert isinstance(one, Estimate)  # at least three shots
    return Estimate(scale * one.value, scale * one.low, scale * one.high, one.confidence, one.method)


def _scatter(
    learned: LearnedModel, data: TrialData, found: Fit, rng: np.random.Generator, n: int = 400
) -> float | None:
    """Spread of marks that the launcher's stated spreads give; None when it states none."""
    if not varying(learned.described, learned.model.ball):
        return None
    typical = np.broadcast_to(np.median(found.draws, axis=0), (n, found.draws.shape[1]))
    values = learned.values(np.asarray(typical))
    inputs = _shot_inputs(learned, values, data.settings, rng, n)
    out = learned.release(values, inputs, n)
    marks = learned.marks(out, values, data.trial)
    return float(np.hypot(np.nanstd(marks), data.trial.mark_sd))


def _shot_inputs(
    learned: LearnedModel,
    values: Mapping[str, FloatArray],
    settings: Mapping[str, float],
    rng: np.random.Generator,
    n: int,
) -> dict[str, FloatArray]:
    """Inputs of single shots: stated spreads around the learned means."""
    described, ball = learned.described, learned.model.ball
    normals = rng.standard_normal((n, len(varying(described, ball))))
    drawn = drawn_inputs(described, ball, settings, normals)
    means = {one.name: one for one in described.inputs(ball)}
    for name, value in values.items():
        if name in drawn and name not in settings:
            one = means[name]
            drawn[name] = np.clip(drawn[name] * value / one.value, one.low, one.high)
    return drawn


def predicted_setting(
    learned: LearnedModel,
    settings: dict[str, float],
    found: Fit,
    data: Sequence[TrialData],
    rng: np.random.Generator,
) -> SettingPrediction:
    """Predict a setting from the calibrated model.

    Parameters
    ----------
    learned : LearnedModel
        Launcher and flight.
    settings : dict of str to float
        What is set; all else as in the file. [SI]
    found : Fit
        The posterior.
    data : sequence of TrialData
        Trials, to say whether the setting was fired and how far it lies from those that were.
    rng : numpy.random.Generator
        For the shot after this one.

    Returns
    -------
    SettingPrediction
        Marked as predicted.
    """
    values, n = learned.values(found.draws), len(found.draws)
    out = learned.release(values, settings, n)
    reach = learned.ranges(out, values)
    single = learned.release(values, _shot_inputs(learned, values, settings, rng, n), n)
    next_shot = learned.ranges(single, values)
    none = "it does not meet the floor within the flight's time, or is not thrown"
    full = {
        **{
            one.name: learned.described.means(learned.model.ball)[one.name]
            for one in learned.described.settings
        },
        **settings,
    }
    return SettingPrediction(
        settings=shown_settings(learned.described, learned.model.ball, full),
        fired=any(_near(learned.described, full, one.settings) for one in data),
        speed_m_s=_estimated(out.speed, "posterior predictive", none),
        elevation_deg=_estimated(np.degrees(out.elevation), "posterior predictive", none),
        backspin_rev_s=_estimated(out.backspin / (2 * np.pi), "posterior predictive", none),
        range_m=_estimated(reach, "posterior predictive", none),
        next_shot_m=_estimated(next_shot, "posterior predictive", none),
        words=_distance_words(learned.described, full, data),
    )


def _near(described: Described, wanted: Mapping[str, float], fired: Mapping[str, float]) -> bool:
    """Whether a trial had these settings; what it does not state is as in the file."""
    stated = {**wanted, **fired}
    return all(
        abs(stated[one.name] - wanted[one.name]) <= _SAME * (one.high - one.low)
        for one in described.settings
        if one.name in wanted
    )


def _distance_words(
    described: Described, wanted: Mapping[str, float], data: Sequence[TrialData]
) -> tuple[str, ...]:
    words = []
    for one in described.settings:
        fired = [d.settings[one.name] for d in data if one.name in d.settings]
        if not fired or one.name not in wanted:
            continue
        beyond = max(wanted[one.name] - max(fired), min(fired) - wanted[one.name])
        if beyond > _SAME * (one.high - one.low):
            words.append(
                f"{one.label} {one.shown(wanted[one.name])} lies outside the trials "
                f"({one.shown(min(fired))} to {one.shown(max(fired))}): the model is stretched there"
            )
    return tuple(words)


def curve_of(
    learned: LearnedModel, before: FloatArray, found: Fit, data: Sequence[TrialData]
) -> CalibrationCurve | None:
    """Range over the setting that the trials varied most.

    Parameters
    ----------
    learned : LearnedModel
        Launcher and flight.
    before : ndarray, shape (m, p)
        Draws of the priors, as coordinates. [-]
    found : Fit
        The posterior.
    data : sequence of TrialData
        Trials.

    Returns
    -------
    CalibrationCurve or None
        None when the launcher has no setting.
    """
    settings = learned.described.settings
    if not settings:
        return None

    def varied(name: str) -> float:
        fired = [d.settings[name] for d in data if name in d.settings]
        return float(np.ptp(fired)) if fired else 0.0

    lead = max(settings, key=lambda one: varied(one.name) / (one.high - one.low))
    others = {
        name: float(np.mean([d.settings[name] for d in data if name in d.settings]))
        for name in {n for d in data for n in d.settings} - {lead.name}
    }
    trial = Trial("curve", learned.described.prototype)
    points = []
    thin = slice(None, None, max(1, len(found.draws) // 200))
    for value in np.linspace(lead.low, lead.high, _POINTS):
        both: list[Estimated] = []
        for z, method in ((before[thin], "prior predictive"), (found.draws[thin], "posterior predictive")):
            values = learned.values(z)
            out = learned.release(values, {**others, lead.name: float(value)}, len(z))
            both.append(_estimated(learned.marks(out, values, trial), method, "not thrown that far"))
        points.append(CurvePoint(float(value / lead.scale), *both))
    stated = learned.described.means(learned.model.ball)[lead.name]
    measured = tuple(
        MeasuredPoint(
            d.trial.name,
            d.trial.origin,
            float(d.settings.get(lead.name, stated) / lead.scale),
            _scaled(mean_interval(d.marks), 1.0),
        )
        for d in data
        if d.trial.surface == "floor" and d.trial.surface_at == 0
    )
    return CalibrationCurve(lead.label, lead.unit, tuple(points), measured)
