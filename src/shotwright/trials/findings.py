"""The figures of one trial as records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotwright.base.estimate import Estimated, NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.dispersion import DispersionFigures
from shotwright.statistics.drift import Drift
from shotwright.statistics.ellipse import Ellipse
from shotwright.statistics.normality import NormalityRemark
from shotwright.statistics.variance_components import VarianceComponents
from shotwright.trials.records import Origin, Surface


@dataclass(frozen=True, slots=True)
class Outlier(Result):
    """A shot that stands off the others. It counts until a person sets it aside with a reason.

    Parameters
    ----------
    order : int
        Its place in the trial.
    uid : str
        The shot.
    distance2 : float
        Squared Mahalanobis distance from the mean point. [-]
    p_adjusted : float
        Chance that a clean trial of as many shots holds one that far off (Wilks, Bonferroni). [-]
    """

    order: int
    uid: str
    distance2: float
    p_adjusted: float


@dataclass(frozen=True, slots=True)
class TrialDispersion(Result):
    """The figures of one trial. First axis: along on a floor, height on an upright plane.

    Parameters
    ----------
    trial, prototype : str
        Names.
    origin : {"measured", "simulated"}
        As the trial says.
    surface : {"floor", "plane"}
        What was marked.
    first_axis : {"along", "height"}
        Name of the first axis.
    shots_used, shots_set_aside, shots_without_mark : int
        How many count, were set aside, have no mark in both axes.
    mean_point_m : tuple of float, optional
        Mean point of impact; None without shots. [m]
    mean_first_m, mean_cross_m : Estimate or NotEstimated
        The same with intervals. [m]
    sd_first_m, sd_cross_m : Estimate or NotEstimated
        Standard deviations, divisor n - 1. [m]
    covariance_m2 : tuple of tuple of float, optional
        Sample covariance, (first, cross). [m^2]
    ellipse : Ellipse, optional
        One standard deviation.
    next_shot_ellipse : Ellipse, optional
        Holds the next shot with a chance of 95 % (Hotelling).
    sigma_m, cep_m, r95_m, mean_radius_m, extreme_spread_m : Estimate or NotEstimated
        See `shotwright.statistics.dispersion.DispersionFigures`. [m]
    outliers : tuple of Outlier
        Flagged shots, farthest first.
    without_outliers : DispersionFigures, optional
        The same figures without them, beside, never instead.
    drift_first, drift_cross : Drift or NotEstimated
        Trend with shot order.
    balls_first, balls_cross : VarianceComponents or NotEstimated
        Between-ball and repeat spread.
    normality_first, normality_cross : NormalityRemark or NotEstimated
        A remark.
    mark_sd_m : float
        Standard deviation of reading a mark. [m]
    mark_share : float, optional
        Its share of the mean variance of both axes. [-]
    same_ball : bool
        All shots with one ball: match scatter is understated.
    words : tuple of str
        All this in plain sentences.
    """

    trial: str
    prototype: str
    origin: Origin
    surface: Surface
    first_axis: Literal["along", "height"]
    shots_used: int
    shots_set_aside: int
    shots_without_mark: int
    mean_point_m: tuple[float, float] | None
    mean_first_m: Estimated
    mean_cross_m: Estimated
    sd_first_m: Estimated
    sd_cross_m: Estimated
    covariance_m2: tuple[tuple[float, float], tuple[float, float]] | None
    ellipse: Ellipse | None
    next_shot_ellipse: Ellipse | None
    sigma_m: Estimated
    cep_m: Estimated
    r95_m: Estimated
    mean_radius_m: Estimated
    extreme_spread_m: Estimated
    outliers: tuple[Outlier, ...]
    without_outliers: DispersionFigures | None
    drift_first: Drift | NotEstimated
    drift_cross: Drift | NotEstimated
    balls_first: VarianceComponents | NotEstimated
    balls_cross: VarianceComponents | NotEstimated
    normality_first: NormalityRemark | NotEstimated
    normality_cross: NormalityRemark | NotEstimated
    mark_sd_m: float
    mark_share: float | None
    same_ball: bool
    words: tuple[str, ...] = ()
