"""Verb about models and trials together: ``calibrate``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from shotwright.cli.evidence import SEED
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import Column, blocks, cell, table_of

if TYPE_CHECKING:
    from shotwright.bench.calibrating import Calibration, SettingPrediction, TrialFit

PARAMETERS = (
    Column("parameter", "name"),
    Column("before", "before"),
    Column("after the trials", "after"),
    Column("doubt taken away", "learned"),
)
ROWS = (
    Column("trial", "trial"),
    Column("shots", "shots"),
    Column("set to", "settings"),
    Column("", "what"),
    Column("MEASURED", "measured"),
    Column("predicted on paper", "on_paper"),
    Column("predicted after calibration", "calibrated"),
)
PREDICTED = (
    Column("set to", "settings"),
    Column("fired", "fired"),
    Column("speed", "speed_m_s"),
    Column("elevation", "elevation_deg"),
    Column("range", "range_m"),
    Column("range of the next shot", "next_shot_m"),
)


@click.command()
@click.argument("prototype")
@click.option(
    "--trial", "trials", metavar="NAME", multiple=True, help="One trial; repeat for more; all when left out."
)
@click.option(
    "--at",
    metavar="SETTING",
    multiple=True,
    help="A setting to predict, e.g. 'stroke 95 mm, elevation 58 deg'; repeat for more.",
)
@SEED
@project_option
@json_option
def calibrate(
    project: Path, prototype: str, trials: tuple[str, ...], at: tuple[str, ...], seed: int, as_json: bool
) -> None:
    """Correct the model of PROTOTYPE by its own trials, and predict settings that were not fired.

    The trials' settings are read from their words: a setting "rim speed 18 m/s, gap 158 mm" gives both.
    What the model says is marked as predicted, before and after.
    """
    from shotwright.bench.calibrating import calibrate as find

    with progress_bar("calibrating") as progress:
        found = find(project, prototype, trials=trials, at=at, seed=seed, progress=progress)
    show(found, as_json, calibration_text)


def calibration_text(found: Calibration) -> str:
    """Write the verdict, parameters, trials beside the model, and predictions."""
    width = text_width()
    return section(
        f"{found.prototype} ({found.kind}), calibrated by its trials",
        paragraphs(found.words, width),
        _parameters(found),
        table_of([row for trial in found.trials for row in _rows(trial)], ROWS),
        blocks("PREDICTED by the calibrated model, not measured:", *_predicted(found.predictions)),
        paragraphs([f"Caution: {words}" for words in found.cautions], width),
    )


class ParameterRow(NamedTuple):
    """One parameter as a row of the table."""

    name: str
    before: str
    after: str
    learned: str


def _parameters(found: Calibration) -> str:
    rows = [
        ParameterRow(
            one.label,
            cell(one.before, (one.unit, 1.0)),
            cell(one.after, (one.unit, 1.0)),
            f"{100 * one.learned:.0f} %",
        )
        for one in found.parameters
    ]
    return table_of(rows, PARAMETERS)


class TrialRow(NamedTuple):
    """One measured mean as a row of the table."""

    trial: str
    shots: str
    settings: str
    what: str
    measured: str
    on_paper: str
    calibrated: str


def _rows(trial: TrialFit) -> list[TrialRow]:
    mark = " SIMULATED" if trial.origin == "simulated" else ""
    said = ", ".join(f"{name} {value}" for name, value in trial.settings)
    return [
        TrialRow(
            f"{trial.trial}{mark}" if i == 0 else "",
            str(trial.shots) if i == 0 else "",
            said if i == 0 else "",
            row.what,
            *(cell(one, (row.unit, 1.0)) for one in (row.measured, row.on_paper, row.calibrated)),
        )
        for i, row in enumerate(trial.rows)
    ]


class PredictedRow(NamedTuple):
    """One predicted setting as a row of the table."""

    settings: str
    fired: str
    speed_m_s: str
    elevation_deg: str
    range_m: str
    next_shot_m: str


def _predicted(found: tuple[SettingPrediction, ...]) -> list[str]:
    if not found:
        return ["No setting was asked for; try --at 'SETTING'."]
    rows = [
        PredictedRow(
            ", ".join(f"{name} {value}" for name, value in one.settings),
            "yes" if one.fired else "no",
            cell(one.speed_m_s, ("m/s", 1.0)),
            cell(one.elevation_deg, ("°", 1.0)),
            cell(one.range_m, ("m", 1.0)),
            cell(one.next_shot_m, ("m", 1.0)),
        )
        for one in found
    ]
    said = [f"{words[0].upper()}{words[1:]}." for one in found for words in one.words]
    return [table_of(rows, PREDICTED), paragraphs(said, text_width())]
