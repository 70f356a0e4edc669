"""Hits counted from the marks themselves: the answer that assumes no shape of the scatter."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimate
from shotwright.choice.records import CountedMarks
from shotwright.flight.chance import AZIMUTH, ELEVATION, SPEED, LinearShot, Scatter, Surroundings
from shotwright.game.records import FiringPosition, Target
from shotwright.statistics.polygon import normal_in_polygon
from shotwright.statistics.proportions import jeffreys
from shotwright.trials.dispersion import marks_of
from shotwright.trials.launch import counted
from shotwright.trials.records import Shot, Trial
from shotwright.trials.spread import LaunchSpread, TrialEvidence

FloatArray = NDArray[np.float64]


def _rate(hits: float, shots: int) -> Estimate:
    """Hit rate with its Jeffreys interval, closed at 0 and 1; there is at least one shot."""
    # A sum of chances may pass the number of shots by a rounding.
    found = jeffreys(min(max(hits, 0.0), float(shots)), shots, closed_ends=True)
    assert isinstance(found, Estimate)
    return found


def fired_hits(
    trials: Sequence[tuple[Trial, Sequence[Shot]]], position: FiringPosition, target: Target
) -> CountedMarks | None:
    """Count hits and misses that were seen at this very position and target; None when there are none.

    Parameters
    ----------
    trials : sequence of (Trial, sequence of Shot)
        One prototype's trials with their shots; those set aside don't count.
    position : FiringPosition
        Where from.
    target : Target
        The opening.

    Returns
    -------
    CountedMarks or None
        Hits, misses and the shots they come from.
    """
    seen = [
        s.hit
        for trial, shots in trials
        if trial.position == position.name and trial.target == target.name
        for s in counted(shots)
        if s.hit is not None
    ]
    if not seen:
        return None
    return CountedMarks(float(sum(seen)), len(seen), _rate(float(sum(seen)), len(seen)), fired_here=True)


def carried_marks(
    evidence: Sequence[TrialEvidence],
    trials: Sequence[tuple[Trial, Sequence[Shot]]],
    spread: LaunchSpread,
    shot: LinearShot,
    around: Surroundings,
) -> CountedMarks | None:
    """Carry each mark's distance from its trial's centre over to the opening, and count what would score.

    A mark's distance along the trial's axes is scaled by the ratio of the launcher's spread there and here
    (at the posterior mean of the launch spread), so the marks keep their own shape. The position's placement
    and the balls' spread are added as a normal around each mark.

    Parameters
    ----------
    evidence : sequence of TrialEvidence
        Geometry of the trials.
    trials : sequence of (Trial, shots)
        The marks.
    spread : LaunchSpread
        Gives the ratio of speed to elevation spread.
    shot : LinearShot
        The flight at the position.
    around : Surroundings
        Placement and balls at the position.

    Returns
    -------
    CountedMarks or None
        None when there are no marks.
    """
    by_name = {trial.name: (trial, shots) for trial, shots in trials}
    speed_sd, elevation_sd = float(np.median(spread.speed)), float(np.median(spread.elevation))
    here = shot.jacobian
    along_here = np.array([here[:, SPEED] * speed_sd * shot.aim.speed, here[:, ELEVATION] * elevation_sd])
    axis = along_here[int(np.argmax(np.linalg.norm(along_here, axis=1)))]
    size_here = float(np.sqrt(np.sum(along_here**2)))
    direction = axis / max(float(np.linalg.norm(axis)), 1e-300)
    landing = []
    for e in evidence:
        points = marks_of(*by_name[e.trial])
        residual = (points - points.mean(axis=0)) * np.sqrt(e.shots / max(e.shots - 1, 1))
        size_there = float(np.hypot(e.in_plane[0, 0] * e.speed * speed_sd, e.in_plane[0, 1] * elevation_sd))
        ratio = size_here / size_there if size_there > 0 else 0.0
        landing.append(
            shot.crossing
            + np.multiply.outer(residual[:, 0] * ratio, direction)
            + np.multiply.outer(residual[:, 1] / e.cross, here[:, AZIMUTH])
        )
    if not landing or len(shot.region) == 0:
        return None
    mean = np.concatenate(landing)
    still = Scatter(speed=0.0, elevation=0.0, azimuth=0.0)
    _, covariance = shot.crossing_scatter(still, around)
    hits = float(
        np.sum(normal_in_polygon(mean, np.broadcast_to(covariance[0], (len(mean), 2, 2)), shot.region))
    )
    return CountedMarks(hits, len(mean), _rate(hits, len(mean)))
