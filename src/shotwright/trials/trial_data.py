"""Trials made ready for a calibration: what was set, and what was measured with its error."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.game.records import Ball
from shotwright.launcher.description import Described
from shotwright.statistics.bayes_fit import Group
from shotwright.trials.dispersion import marked_shots
from shotwright.trials.records import Shot, Trial
from shotwright.trials.set_amounts import set_amounts

FloatArray = NDArray[np.float64]

_ROWS = ("speed", "elevation", "spin")


@dataclass(frozen=True, slots=True)
class TrialData:
    """One trial made ready: what was set, and what was measured.

    Parameters
    ----------
    trial : Trial
        The trial.
    settings : dict of str to float
        What was set. [SI]
    group : Group
        Mark's first axis, then measured launch values. [SI]
    rows : tuple of str
        Names of the rows: ``"mark"``, ``"speed"``, ``"elevation"``, ``"spin"``.
    readings : ndarray, shape (rows, n)
        The same of each shot. [SI]
    """

    trial: Trial
    settings: dict[str, float]
    group: Group
    rows: tuple[str, ...]
    readings: FloatArray

    @property
    def marks(self) -> FloatArray:
        """First axis of the marks, shape (n,). [m]."""
        return np.asarray(self.readings[0])


def trial_data(described: Described, ball: Ball, trial: Trial, shots: Sequence[Shot]) -> TrialData:
    """Put a trial into the form that a calibration takes.

    Parameters
    ----------
    described : Described
        The launcher.
    ball : Ball
        The ball.
    trial : Trial
        The trial.
    shots : sequence of Shot
        Its shots.

    Returns
    -------
    TrialData
        Means with the shots' own covariance. Launch values count when every shot with a mark has them.

    Raises
    ------
    BadInput
        A setting that can't be read.
    NoAnswer
        Too few shots to tell the error of their mean.
    """
    settings = set_amounts(trial, described, ball)
    marked = marked_shots(trial, shots)
    n = len(marked)
    if n < 3:
        raise NoAnswer(f"{n} shots with a mark; at least 3 are needed to tell the error of their mean")
    if trial.surface == "plane" and trial.surface_at <= 0:
        raise NoAnswer("it does not say how far its plane stood from the launcher; set surface_at")
    marks = np.array([s.height if trial.surface == "plane" else s.along for s in marked], dtype=float)
    columns, rows = [marks], ["mark"]
    for name in _ROWS:
        values = [getattr(s, name) for s in marked]
        # one row of freedom must be left for the covariance
        if all(v is not None for v in values) and len(columns) + 2 < n:
            columns.append(np.array(values, dtype=float))
            rows.append(name)
    table = np.array(columns)
    covariance = np.atleast_2d(np.cov(table, ddof=1))
    # marks read to the same millimetre still have the error of reading
    least = np.array([trial.mark_sd, trial.speed_sd or 0.01, trial.elevation_sd or 1e-3, 0.1])[
        [("mark", *_ROWS).index(row) for row in rows]
    ]
    short = np.maximum(0.05 * least**2 - np.diag(covariance), 0.0)
    group = Group(table.mean(axis=1), covariance + np.diag(short + 1e-12), n)
    return TrialData(trial, settings, group, tuple(rows), table)
