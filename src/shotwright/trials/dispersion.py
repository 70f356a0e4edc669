"""What one trial shows: mean point, spreads, outliers, drift, balls; intervals hold at five shots."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import NotEstimated
from shotwright.statistics.dispersion import dispersion_figures
from shotwright.statistics.drift import mann_kendall
from shotwright.statistics.ellipse import covariance, ellipse_of, next_shot_factor
from shotwright.statistics.intervals import mean_interval, sd_interval, too_few
from shotwright.statistics.normality import normality_remark
from shotwright.statistics.outliers import stand_offs
from shotwright.statistics.variance_components import VarianceComponents, one_way
from shotwright.trials.dispersion_words import dispersion_words
from shotwright.trials.findings import Outlier, TrialDispersion
from shotwright.trials.records import Shot, Trial

__all__ = ["FLAG_BELOW", "Outlier", "TrialDispersion", "marked_shots", "marks_of", "trial_dispersion"]

FloatArray = NDArray[np.float64]

FLAG_BELOW = 0.05  # adjusted p under which a shot is flagged


def marked_shots(trial: Trial, shots: Sequence[Shot]) -> tuple[Shot, ...]:
    """Shots of a trial that count and have a mark, in order of firing.

    Parameters
    ----------
    trial : Trial
        Says whether the first axis is along or height.
    shots : sequence of Shot
        Shots of this or other trials.

    Returns
    -------
    tuple of Shot
        Not set aside, marked in both axes.
    """
    kept = [s for s in shots if s.trial == trial.name and s.set_aside is None and _mark(trial, s) is not None]
    return tuple(sorted(kept, key=lambda s: s.order))


def marks_of(trial: Trial, shots: Sequence[Shot]) -> FloatArray:
    """Marks of `marked_shots`, shape (n, 2): (along or height, cross). [m]."""
    marks = [_mark(trial, s) for s in marked_shots(trial, shots)]
    return np.array(marks, dtype=float).reshape(-1, 2)


def _mark(trial: Trial, shot: Shot) -> tuple[float, float] | None:
    first = shot.height if trial.surface == "plane" else shot.along
    return None if first is None or shot.cross is None else (first, shot.cross)


def trial_dispersion(trial: Trial, shots: Sequence[Shot], *, rng: np.random.Generator) -> TrialDispersion:
    """Work out what a trial shows.

    Parameters
    ----------
    trial : Trial
        The trial.
    shots : sequence of Shot
        Its shots; those set aside are counted and left out of every figure.
    rng : numpy.random.Generator
        Source of randomness of the simulated intervals.

    Returns
    -------
    TrialDispersion
        What can't be estimated from so few shots says why.

    References
    ----------
    docs/statistics.md names the source of each figure.
    """
    own = [s for s in shots if s.trial == trial.name]
    kept = marked_shots(trial, own)
    points = marks_of(trial, own)
    n = len(points)
    figures = dispersion_figures(points, rng)
    matrix = covariance(points) if n >= 2 else None
    outliers = _outliers(kept, points)
    flagged = {o.uid for o in outliers}
    clean = points[[s.uid not in flagged for s in kept]] if outliers else points
    set_aside = sum(s.set_aside is not None for s in own)
    balls = {s.ball for s in kept}
    centre = points.mean(axis=0) if n else None
    found = TrialDispersion(
        trial=trial.name,
        prototype=trial.prototype,
        origin=trial.origin,
        surface=trial.surface,
        first_axis="height" if trial.surface == "plane" else "along",
        shots_used=n,
        shots_set_aside=set_aside,
        shots_without_mark=len(own) - n - set_aside,
        mean_point_m=None if centre is None else (float(centre[0]), float(centre[1])),
        mean_first_m=mean_interval(points[:, 0]),
        mean_cross_m=mean_interval(points[:, 1]),
        sd_first_m=sd_interval(points[:, 0]),
        sd_cross_m=sd_interval(points[:, 1]),
        covariance_m2=None if matrix is None else _pairs(matrix),
        ellipse=None if matrix is None or centre is None else ellipse_of(centre, matrix),
        next_shot_ellipse=(
            ellipse_of(centre, matrix, next_shot_factor(n, 0.95))
            if matrix is not None and centre is not None and n >= 3
            else None
        ),
        sigma_m=figures.sigma_m,
        cep_m=figures.cep_m,
        r95_m=figures.r95_m,
        mean_radius_m=figures.mean_radius_m,
        extreme_spread_m=figures.extreme_spread_m,
        outliers=outliers,
        without_outliers=dispersion_figures(clean, rng) if outliers else None,
        drift_first=mann_kendall(points[:, 0]),
        drift_cross=mann_kendall(points[:, 1]),
        balls_first=_balls(kept, points[:, 0]),
        balls_cross=_balls(kept, points[:, 1]),
        normality_first=normality_remark(points[:, 0]),
        normality_cross=normality_remark(points[:, 1]),
        mark_sd_m=trial.mark_sd,
        mark_share=_mark_share(trial.mark_sd, matrix),
        same_ball=trial.same_ball or (n > 1 and len(balls) == 1 and None not in balls),
    )
    return dispersion_words(found)


def _pairs(matrix: FloatArray) -> tuple[tuple[float, float], tuple[float, float]]:
    (a, b), (c, d) = matrix.tolist()
    return (a, b), (c, d)


def _outliers(kept: Sequence[Shot], points: FloatArray) -> tuple[Outlier, ...]:
    found = stand_offs(points)
    if isinstance(found, NotEstimated):
        return ()
    return tuple(
        Outlier(kept[far.index].order, kept[far.index].uid, far.distance2, far.p)
        for far in found
        if far.p < FLAG_BELOW
    )


def _balls(kept: Sequence[Shot], values: FloatArray) -> VarianceComponents | NotEstimated:
    known = [i for i, s in enumerate(kept) if s.ball is not None]
    if not known:
        return NotEstimated("no ball was identified") if kept else too_few(0, 1)
    return one_way(values[known], [kept[i].ball or "" for i in known])


def _mark_share(mark_sd: float, matrix: FloatArray | None) -> float | None:
    mean_variance = 0.0 if matrix is None else float(np.trace(matrix)) / 2
    return mark_sd**2 / mean_variance if mean_variance > 0 else None
