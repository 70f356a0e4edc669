"""A calibration as parts of a prototype's page: verdict, predicted against measured, parameters."""

from __future__ import annotations

from functools import partial

from shotwright.base.estimate import Estimated
from shotwright.notebook.blocks import Block, Bullets, Caution, Column, Heading, Picture, Table
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.calibration_curve import calibration_curve
from shotwright.notebook.wording import estimate_words
from shotwright.trials.calibration_records import Calibration, CalibrationCurve


def calibration_blocks(found: Calibration, number: int) -> tuple[Block, ...]:
    """Turn a calibration into the parts of a page.

    Parameters
    ----------
    found : Calibration
        The calibration.
    number : int
        Of the page, for keys.

    Returns
    -------
    tuple of Block
        Heading, sentences, curve, two tables, cautions.
    """
    blocks: list[Block] = [Heading("Predicted against measured")]
    if not found.fits:
        blocks.append(Caution(next(w for w in found.words if w.startswith("LACK OF FIT"))))
    blocks.append(Bullets(tuple(w for w in found.words if not w.startswith("LACK OF FIT"))))
    if found.curve is not None:
        blocks.append(
            Picture(
                f"calibration-{number}",
                f"Range of {found.prototype} over {found.curve.setting}. Bands and lines are predicted: grey "
                "from the file alone, blue after the trials have corrected the model; dashed where nobody "
                f"fired. Marks are the trials: {_trials(found)}.",
                partial(_curve, found.curve, found.prototype),
            )
        )
    blocks += [_rows(found), _parameters(found)]
    blocks += [Bullets(found.cautions)] if found.cautions else []
    return tuple(blocks)


def _curve(curve: CalibrationCurve, prototype: str, key: str, width: float) -> Drawing:
    return calibration_curve(curve, prototype, key=key, width=width)


def _trials(found: Calibration) -> str:
    said = [
        f"{one.trial} ({one.shots} shots{', SIMULATED' if one.origin == 'simulated' else ''})"
        for one in found.trials
    ]
    return ", ".join(said)


def _words(value: Estimated, unit: str) -> str:
    return estimate_words(value, unit, 1.0)


def _rows(found: Calibration) -> Table:
    columns = (
        Column("trial", share=1.2),
        Column("set to", share=1.6),
        Column("mean", share=0.7),
        Column("measured", share=1.4),
        Column("predicted on paper", share=1.4),
        Column("predicted after calibration", share=1.4),
    )
    rows = tuple(
        (
            trial.trial + (" SIMULATED" if trial.origin == "simulated" else ""),
            ", ".join(f"{name} {value}" for name, value in trial.settings),
            row.what,
            _words(row.measured, row.unit),
            _words(row.on_paper, row.unit),
            _words(row.calibrated, row.unit),
        )
        for trial in found.trials
        for row in trial.rows
    )
    return Table(
        f"Trials of {found.prototype} beside its model. Intervals are 95 %; only one column was measured.",
        columns,
        rows,
    )


def _parameters(found: Calibration) -> Table:
    columns = (
        Column("parameter", share=1.2),
        Column("before", share=1.5),
        Column("after the trials", share=1.5),
        Column("doubt taken away", True, 0.8),
    )
    rows = tuple(
        (
            one.label,
            _words(one.before, one.unit),
            _words(one.after, one.unit),
            f"{100 * one.learned:.0f} %",
        )
        for one in found.parameters
    )
    return Table(f"What the trials taught the model of {found.prototype}.", columns, rows)
