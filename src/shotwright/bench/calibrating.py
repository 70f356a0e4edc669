"""Launcher models corrected by the crew's own trials."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.bench.launchers import described_of
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.flight.model import flight_model
from shotwright.trials.calibration import calibrate_model
from shotwright.trials.calibration_records import (
    Calibration,
    CalibrationCurve,
    LearnedParameter,
    MeasuredRow,
    SettingPrediction,
    TrialFit,
)
from shotwright.trials.set_amounts import read_amounts

__all__ = [
    "Calibration",
    "CalibrationCurve",
    "LearnedParameter",
    "MeasuredRow",
    "SettingPrediction",
    "TrialFit",
    "calibrate",
    "calibration_of",
]

SEED = 1


def calibrate(
    project: Path,
    prototype: str,
    *,
    trials: tuple[str, ...] = (),
    at: tuple[str, ...] = (),
    seed: int = SEED,
    progress: Progress = silent,
) -> Calibration:
    """Correct the model of one prototype by its trials, and predict settings that were not fired.

    Parameters
    ----------
    project : Path
        The project file.
    prototype : str
        One that a launcher file describes.
    trials : tuple of str
        Only these; all of the prototype's when empty.
    at : tuple of str
        Settings to predict, as typed: ``"stroke 95 mm, elevation 58 deg"``.
    seed : int
        The same seed gives the same numbers.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Calibration
        Parameters before and after, trials beside the model, check of the fit, predictions.

    Raises
    ------
    BadInput
        No launcher file, an unknown trial, a setting that can't be read.
    NoAnswer
        No trial that can be used.
    """
    return calibration_of(
        read_workbook(project), prototype, trials=trials, at=at, seed=seed, progress=progress
    )


def calibration_of(
    book: Workbook,
    prototype: str,
    *,
    trials: tuple[str, ...] = (),
    at: tuple[str, ...] = (),
    seed: int = SEED,
    progress: Progress = silent,
) -> Calibration:
    """Do the work of :func:`calibrate` on a loaded project; parameters as there, and the project.

    Parameters
    ----------
    book : Workbook
        The loaded project; must hold a game.
    prototype, trials, at, seed, progress
        As for :func:`calibrate`.

    Returns
    -------
    Calibration
        As :func:`calibrate`.
    """
    game = book.needed_game()
    described = described_of(book, prototype)
    wanted = book.some_trials(trials)
    strange = [t.name for t, _ in wanted if trials and t.prototype != described.prototype]
    if strange:
        own = ", ".join(t.name for t, _ in book.trials_of(described.prototype)) or "none yet"
        raise BadInput(
            f"{strange[0]!r} is no trial of {described.prototype!r}; its trials: {own}", field="trial"
        )
    progress(0.1, f"fitting {described.prototype}")
    asked = [read_amounts(text, described, game.ball, "at", strict=True) for text in at]
    for text, amounts in zip(at, asked, strict=True):
        if not amounts:
            known = ", ".join(one.label for one in described.settings) or "none"
            raise BadInput(f"{text!r} names no amount of the launcher; its settings: {known}", field="at")
    found = calibrate_model(
        flight_model(game.ball, game.weather),
        described,
        [(t, s) for t, s in wanted if t.prototype == described.prototype],
        np.random.default_rng(seed),
        predict_at=asked,
    )
    progress(1.0, "done")
    return found
