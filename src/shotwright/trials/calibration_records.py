"""What a calibration hands on: parameters before and after, each trial beside the model, predictions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotwright.base.estimate import Estimate, Estimated
from shotwright.base.plain import Result
from shotwright.trials.records import Origin


@dataclass(frozen=True, slots=True)
class LearnedParameter(Result):
    """A parameter of the model, as it was thought to be and as the trials leave it.

    Parameters
    ----------
    name : str
        ``"wheel_grip"``, ``"energy_share"``, ``"elevation_offset"``, ``"drag_scale"``, ...
    unit : str
        Of the numbers.
    before, after : Estimate
        Median with 95 % interval.
    learned : float
        Share of the doubt that the trials took away: 0 nothing, 1 all of it. [-]
    """

    name: str
    unit: str
    before: Estimate
    after: Estimate
    learned: float

    @property
    def label(self) -> str:
        """The name as people write it."""
        return self.name.replace("_", " ")


@dataclass(frozen=True, slots=True)
class MeasuredRow(Result):
    """One measured mean of a trial beside what the model says.

    Parameters
    ----------
    what : str
        ``"reach"``, ``"height"``, ``"speed"``, ``"elevation"`` or ``"backspin"``.
    unit : str
        Of the numbers.
    measured : Estimate
        Mean of the shots with its 95 % interval.
    on_paper : Estimate
        What the model says from its file and the priors alone: predicted.
    calibrated : Estimate
        What it says after all trials: predicted.
    off_by : float
        Measured less calibrated, in standard deviations of their difference. [-]
    """

    what: str
    unit: str
    measured: Estimate
    on_paper: Estimate
    calibrated: Estimate
    off_by: float


@dataclass(frozen=True, slots=True)
class TrialFit(Result):
    """One trial beside the calibrated model.

    Parameters
    ----------
    trial : str
        Name.
    origin : {"measured", "simulated"}
        Of its shots.
    shots : int
        That counted.
    settings : tuple of (str, str)
        What was set, in the crew's units.
    rows : tuple of MeasuredRow
        Mark first, then measured launch values.
    scatter_measured_m : Estimate or NotEstimated
        Standard deviation of the first axis of the marks.
    scatter_predicted_m : float, optional
        What the launcher's stated spreads give there.
    set_values : dict of str to float
        The settings as numbers. [SI]
    """

    trial: str
    origin: Origin
    shots: int
    settings: tuple[tuple[str, str], ...]
    rows: tuple[MeasuredRow, ...]
    scatter_measured_m: Estimated
    scatter_predicted_m: float | None
    set_values: dict[str, float]


@dataclass(frozen=True, slots=True)
class SettingPrediction(Result):
    """What the calibrated model says of one setting. Never a measurement.

    Parameters
    ----------
    settings : tuple of (str, str)
        What is set, in the crew's units.
    fired : bool
        Whether a trial had this setting; the numbers are the model's even then.
    speed_m_s, elevation_deg, backspin_rev_s, range_m : Estimate or NotEstimated
        Mean release and where it meets the floor, with 95 % interval.
    next_shot_m : Estimate or NotEstimated
        Range of one shot, the launcher's stated spreads included.
    words : tuple of str
        What to know.
    origin : {"predicted"}
        Always.
    """

    settings: tuple[tuple[str, str], ...]
    fired: bool
    speed_m_s: Estimated
    elevation_deg: Estimated
    backspin_rev_s: Estimated
    range_m: Estimated
    next_shot_m: Estimated
    words: tuple[str, ...] = ()
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class CurvePoint(Result):
    """The model at one value of the setting that the trials varied.

    Parameters
    ----------
    value : float
        In the setting's unit.
    on_paper, calibrated : Estimate or NotEstimated
        Range on the floor, with 95 % interval. [m]
    """

    value: float
    on_paper: Estimated
    calibrated: Estimated


@dataclass(frozen=True, slots=True)
class MeasuredPoint(Result):
    """A trial as a point of the curve.

    Parameters
    ----------
    trial : str
        Name.
    origin : {"measured", "simulated"}
        Of its shots.
    value : float
        In the setting's unit.
    reach : Estimate
        Mean mark with its 95 % interval. [m]
    """

    trial: str
    origin: Origin
    value: float
    reach: Estimate


@dataclass(frozen=True, slots=True)
class CalibrationCurve(Result):
    """Range over one setting: predicted band, measured points.

    Parameters
    ----------
    setting, unit : str
        What is varied; all else as in the file.
    points : tuple of CurvePoint
        Predicted.
    measured : tuple of MeasuredPoint
        Trials on the floor whose other settings are near the file's.
    """

    setting: str
    unit: str
    points: tuple[CurvePoint, ...]
    measured: tuple[MeasuredPoint, ...]


@dataclass(frozen=True, slots=True)
class Calibration(Result):
    """What the trials of one prototype teach its model.

    Parameters
    ----------
    prototype, kind : str
        Name and mechanism.
    parameters : tuple of LearnedParameter
        Before and after.
    alike : tuple of (str, str)
        Pairs that these trials can't tell apart.
    trials : tuple of TrialFit
        Those used.
    left_out : tuple of (str, str)
        Trials that were not used, with the reason.
    fit_probability : float
        Chance of data at least as far from the model, were the model right (posterior predictive). [-]
    fits : bool
        False when that chance is below 5 %.
    curve : CalibrationCurve, optional
        Over the setting that the trials varied most, or the first one.
    predictions : tuple of SettingPrediction
        Settings asked for.
    effective_draws : float
        Independent draws that the weights are worth.
    words, cautions : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Of everything but the measured rows and points.
    """

    prototype: str
    kind: str
    parameters: tuple[LearnedParameter, ...]
    alike: tuple[tuple[str, str], ...]
    trials: tuple[TrialFit, ...]
    left_out: tuple[tuple[str, str], ...]
    fit_probability: float
    fits: bool
    curve: CalibrationCurve | None
    predictions: tuple[SettingPrediction, ...]
    effective_draws: float
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"
