"""From the scatter of marks to the spread of the launcher itself: speed, elevation, azimuth.

A trial's marks show two spreads, along and across. The launcher behind them has three: of speed, of
elevation, of azimuth. Across is azimuth alone; along is speed and elevation together, so their shares stay
open unless trials at several settings, or measured launch values, tell them apart. Everything here is drawn
from one posterior distribution, so that what is open stays open in every later figure.

The model and its prior are described in ``docs/hit-probability.md`` with the coverage that they reach.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer

FloatArray = NDArray[np.float64]

SHOTS_NEEDED = 3
# Exponent a of the prior density T^-a of a total standard deviation T. With a = 1 (Jeffreys) the intervals of
# five shots miss five times as often above as below and the mean is 4 points low; with 3/2 both tails hold
# 2.5 %. Found by simulated crews: benchmarks/coverage_study.py.
SPREAD_PRIOR_EXPONENT = 1.5
# Beta prior of the speed share. Speed and elevation spread come from different parts of a launcher; when each
# may be of any size, one of them mostly rules, and the share lies near 0 or 1 more often than near 1/2. A
# uniform prior forgets that and covered 90 to 92 % of simulated crews where 95 % is promised.
SHARE_PRIOR = (0.5, 0.5)
# Beyond these a launcher is not one that a crew would bring to a trial; the prior fades out there so that an
# elevation spread that a trial can't see does not grow without bound. Common practice, no source.
LARGEST_SPEED_SPREAD = 0.15  # of the speed
LARGEST_ELEVATION_SPREAD = 0.07  # rad, 4 degrees
_GUARD_POWER = 8
_TOTAL_CELLS, _SHARE_CELLS = 120, 60


@dataclass(frozen=True, slots=True)
class TrialEvidence:
    """What one trial says of the launch spread, with the geometry that carries it.

    Rows of the in-plane block are, in this order: the first axis of the mark (along or height), then measured
    speed and elevation when their reading spread is known.

    Parameters
    ----------
    trial : str
        Name.
    shots : int
        Number of shots n behind the covariances.
    speed : float
        Mean launch speed. [m/s]
    elevation : float
        Mean launch elevation. [rad]
    in_plane : ndarray, shape (k, 2)
        Derivatives of the in-plane rows with respect to speed and elevation. [row's unit per m/s, per rad]
    in_plane_covariance, in_plane_known : ndarray, shape (k, k)
        Sample covariance (divisor n - 1), and the part that is not the launcher's: reading, balls, spin.
    cross : float
        Derivative of the cross mark with respect to azimuth. [m/rad]
    cross_variance, cross_known : float
        The same two for the cross axis. [m^2]
    solved_for : {"speed", "elevation"}
        Which launch value the mean mark was solved for; its error is carried on.
    """

    trial: str
    shots: int
    speed: float
    elevation: float
    in_plane: FloatArray
    in_plane_covariance: FloatArray
    in_plane_known: FloatArray
    cross: float
    cross_variance: float
    cross_known: float
    solved_for: str = "speed"


@dataclass(frozen=True, slots=True)
class LaunchSpread:
    """Posterior draws of a launcher's spread and of the error of its calibration. Arrays of shape (m,).

    Parameters
    ----------
    speed : ndarray
        Standard deviation of speed as a fraction of speed, the same at all speeds. [-]
    elevation, azimuth : ndarray
        Standard deviations. [rad]
    speed_share : ndarray
        Share of the launcher's along variance that comes from speed, at the trials' setting. [-]
    speed_offset : ndarray
        True mean speed over the calibrated one, less one. [-]
    elevation_offset, azimuth_offset : ndarray
        True mean less the calibrated one. [rad]
    shots : int
        Number of shots behind the draws.
    trials : tuple of str
        Their trials.
    """

    speed: FloatArray
    elevation: FloatArray
    azimuth: FloatArray
    speed_share: FloatArray
    speed_offset: FloatArray
    elevation_offset: FloatArray
    azimuth_offset: FloatArray
    shots: int
    trials: tuple[str, ...]

    def __len__(self) -> int:
        """Return the number of draws."""
        return len(self.speed)


def _log_likelihood(evidence: TrialEvidence, speed_sd: FloatArray, elevation_sd: FloatArray) -> FloatArray:
    """Log density of the in-plane sums of squares (Wishart, n - 1 df) at arrays of launch spreads.

    Parameters
    ----------
    evidence : TrialEvidence
        One trial.
    speed_sd : ndarray, shape (...)
        As a fraction of speed. [-]
    elevation_sd : ndarray, shape (...)
        [rad]

    Returns
    -------
    ndarray, shape (...)
        Up to a constant.
    """
    d_speed = evidence.in_plane[:, 0] * evidence.speed
    d_elevation = evidence.in_plane[:, 1]
    model = (
        np.multiply.outer(speed_sd**2, np.outer(d_speed, d_speed))
        + np.multiply.outer(elevation_sd**2, np.outer(d_elevation, d_elevation))
        + evidence.in_plane_known
    )
    return _log_wishart(model, evidence.in_plane_covariance, evidence.shots - 1)


def _log_wishart(model: FloatArray, sample: FloatArray, df: int) -> FloatArray:
    """Log density of a sample covariance given the model's, up to what does not depend on the model."""
    if sample.shape == (1, 1):
        variance = model[..., 0, 0]
        return np.asarray(-0.5 * df * (np.log(variance) + sample[0, 0] / variance))
    _, log_det = np.linalg.slogdet(model)
    traces = np.trace(np.linalg.solve(model, np.broadcast_to(sample, model.shape)), axis1=-2, axis2=-1)
    return np.asarray(-0.5 * df * (log_det + traces))


def _guard(speed_sd: FloatArray, elevation_sd: FloatArray) -> FloatArray:
    """Log prior that fades out spreads no crew would bring to a trial."""
    return np.asarray(
        -np.log1p((speed_sd / LARGEST_SPEED_SPREAD) ** _GUARD_POWER)
        - np.log1p((elevation_sd / LARGEST_ELEVATION_SPREAD) ** _GUARD_POWER)
    )


def _draw_in_plane(
    evidence: Sequence[TrialEvidence], rng: np.random.Generator, draws: int, share: float | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Draw (speed spread, elevation spread, speed share) on a grid of total spread and share."""
    weights = np.array([e.shots for e in evidence], dtype=float) / sum(e.shots for e in evidence)
    per_speed = float(
        sum(w * (e.in_plane[0, 0] * e.speed) ** 2 for w, e in zip(weights, evidence, strict=True))
    )
    per_elevation = float(sum(w * e.in_plane[0, 1] ** 2 for w, e in zip(weights, evidence, strict=True)))
    known = float(sum(w * e.in_plane_known[0, 0] for w, e in zip(weights, evidence, strict=True)))
    seen = float(sum(w * e.in_plane_covariance[0, 0] for w, e in zip(weights, evidence, strict=True)))

    # The grid covers every total spread that the shots allow at all: chi-square with few degrees of freedom.
    centre = 0.5 * np.log(max(seen, known, 1e-12))
    low, high = max(centre - 2.0, 0.5 * np.log(max(known, 1e-300))), centre + 3.0
    edge_total, step_total = np.linspace(low, high, _TOTAL_CELLS + 1, retstep=True)
    log_total = edge_total[:-1] + step_total / 2
    cells = (np.arange(_SHARE_CELLS) + 0.5) / _SHARE_CELLS
    shares = scipy.special.betaincinv(*SHARE_PRIOR, cells) if share is None else np.array([share])

    launcher = np.exp(2 * log_total)[:, None] - known
    speed_sd = np.sqrt(shares * launcher / per_speed)
    elevation_sd = np.sqrt((1 - shares) * launcher / per_elevation)
    log_weight = (1 - SPREAD_PRIOR_EXPONENT) * log_total[:, None] + _guard(speed_sd, elevation_sd)
    for e in evidence:
        log_weight = log_weight + _log_likelihood(e, speed_sd, elevation_sd)

    weight = np.exp(log_weight - log_weight.max()).ravel()
    cell = rng.choice(weight.size, draws, p=weight / weight.sum())
    row, column = np.divmod(cell, shares.size)
    total = np.exp(log_total[row] + step_total * rng.uniform(-0.5, 0.5, draws))
    drawn_share = shares[column]
    if share is None:
        drawn_share = scipy.special.betaincinv(
            *SHARE_PRIOR, cells[column] + rng.uniform(-0.5, 0.5, draws) / _SHARE_CELLS
        )
    launcher_variance = np.maximum(total**2 - known, 0.0)
    return (
        np.sqrt(drawn_share * launcher_variance / per_speed),
        np.sqrt((1 - drawn_share) * launcher_variance / per_elevation),
        drawn_share,
    )


def _draw_cross(evidence: Sequence[TrialEvidence], rng: np.random.Generator, draws: int) -> FloatArray:
    """Draw the azimuth spread from the cross scatter of all trials."""
    weights = np.array([e.shots for e in evidence], dtype=float) / sum(e.shots for e in evidence)
    per_azimuth = float(sum(w * e.cross**2 for w, e in zip(weights, evidence, strict=True)))
    known = float(sum(w * e.cross_known for w, e in zip(weights, evidence, strict=True)))
    seen = float(sum(w * e.cross_variance for w, e in zip(weights, evidence, strict=True)))
    centre = 0.5 * np.log(max(seen, known, 1e-12))
    low, high = max(centre - 2.0, 0.5 * np.log(max(known, 1e-300))), centre + 3.0
    edges, step = np.linspace(low, high, 20 * _TOTAL_CELLS + 1, retstep=True)
    log_total = edges[:-1] + step / 2
    azimuth_variance = np.maximum(np.exp(2 * log_total) - known, 0.0) / per_azimuth
    log_weight = (1 - SPREAD_PRIOR_EXPONENT) * log_total
    for e in evidence:
        variance = azimuth_variance * e.cross**2 + e.cross_known
        log_weight = log_weight - 0.5 * (e.shots - 1) * (np.log(variance) + e.cross_variance / variance)
    weight = np.exp(log_weight - log_weight.max())
    cell = rng.choice(weight.size, draws, p=weight / weight.sum())
    total = np.exp(log_total[cell] + step * rng.uniform(-0.5, 0.5, draws))
    return np.asarray(np.sqrt(np.maximum(total**2 - known, 0.0) / per_azimuth))


def _calibration_sd(
    evidence: Sequence[TrialEvidence], speed_sd: FloatArray, elevation_sd: FloatArray, azimuth_sd: FloatArray
) -> tuple[dict[str, FloatArray], FloatArray]:
    """Standard deviation of the mean launch value that each kind of trial leaves, and of the mean azimuth."""
    precision: dict[str, FloatArray] = {}
    cross_precision = np.zeros_like(azimuth_sd)
    for e in evidence:
        d_speed, d_elevation = e.in_plane[0, 0] * e.speed, e.in_plane[0, 1]
        variance = (
            (d_speed * speed_sd) ** 2 + (d_elevation * elevation_sd) ** 2 + e.in_plane_known[0, 0]
        ) / e.shots
        slope = d_speed if e.solved_for == "speed" else d_elevation
        precision[e.solved_for] = precision.get(e.solved_for, np.zeros_like(speed_sd)) + slope**2 / variance
        cross_variance = ((e.cross * azimuth_sd) ** 2 + e.cross_known) / e.shots
        cross_precision += e.cross**2 / cross_variance
    return {name: 1 / np.sqrt(p) for name, p in precision.items()}, 1 / np.sqrt(cross_precision)


def draw_launch_spread(
    evidence: Sequence[TrialEvidence],
    rng: np.random.Generator,
    *,
    draws: int = 2000,
    speed_share: float | None = None,
) -> LaunchSpread:
    r"""Draw the launch spread of one prototype from the posterior that its trials leave.

    Shot i of trial k leaves with :math:`(v, \theta, \phi)` normal around the trial's mean with standard
    deviations :math:`(v c_v, s_\theta, s_\phi)`, the same :math:`c_v, s_\theta, s_\phi` in all trials. Its
    mark is :math:`J_k` times the deviation, plus what is known to come from reading, balls and spin.

    The prior of the total spread T of each axis is :math:`T^{-3/2}`, limited below by the known part, so that
    a known variance is never subtracted below zero. The share of the along variance that comes from speed is
    Beta(1/2, 1/2). The mean of each trial has a flat prior.

    Parameters
    ----------
    evidence : sequence of TrialEvidence
        Trials of one prototype.
    rng : numpy.random.Generator
        Source of the draws.
    draws : int
        Number of draws m.
    speed_share : float, optional
        Fixes the share instead of drawing it: 0 and 1 are the two extremes. [-]

    Returns
    -------
    LaunchSpread
        Draws.

    Raises
    ------
    NoAnswer
        No trial has at least three shots.

    References
    ----------
    The density of a sample covariance is Wishart's (J. Wishart, Biometrika 20A, 1928, 32-52). The prior's
    exponent was chosen by simulated crews, see ``docs/hit-probability.md``.
    """
    usable = [e for e in evidence if e.shots >= SHOTS_NEEDED]
    if not usable:
        most = max((e.shots for e in evidence), default=0)
        raise NoAnswer(f"{most} shots with a mark in one trial, at least {SHOTS_NEEDED} needed")
    speed_sd, elevation_sd, share = _draw_in_plane(usable, rng, draws, speed_share)
    azimuth_sd = _draw_cross(usable, rng, draws)
    offsets, azimuth_offset_sd = _calibration_sd(usable, speed_sd, elevation_sd, azimuth_sd)
    zero = np.zeros(draws)
    return LaunchSpread(
        speed=speed_sd,
        elevation=elevation_sd,
        azimuth=azimuth_sd,
        speed_share=share,
        speed_offset=offsets.get("speed", zero) * rng.normal(size=draws),
        elevation_offset=offsets.get("elevation", zero) * rng.normal(size=draws),
        azimuth_offset=azimuth_offset_sd * rng.normal(size=draws),
        shots=sum(e.shots for e in usable),
        trials=tuple(e.trial for e in usable),
    )
