"""What is set for a launch speed: by the calibrated model, by trials at several settings, or nothing."""

from __future__ import annotations

import dataclasses

import numpy as np

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import Estimate
from shotwright.bench.workbook import Workbook
from shotwright.choice.hit import Launcher
from shotwright.flight.model import FlightModel
from shotwright.launcher.description import Described, Setting
from shotwright.trials.calibration import calibrate_model
from shotwright.trials.records import Prototype
from shotwright.trials.set_amounts import read_amounts
from shotwright.tuning.records import MeasuredSetting
from shotwright.tuning.speed_setting import (
    SpeedSetting,
    from_predictions,
    from_trials,
    measured_settings,
    named_settings,
    speed_itself,
)

_GRID = 12  # settings at which the calibrated model is asked


class SpeedSource:
    """Turns speeds into settings: by the calibrated model, by trials at several settings, or not at all.

    Parameters
    ----------
    book : Workbook
        The project.
    model : FlightModel
        Ball and air.
    prototype : Prototype
        The launcher.
    launcher : Launcher
        Its trials.
    wanted : str, optional
        Setting asked for; ``"speed"``: the launch speed itself.
    seed : int
        Of the draws.
    """

    def __init__(
        self,
        book: Workbook,
        model: FlightModel,
        prototype: Prototype,
        launcher: Launcher,
        wanted: str | None,
        seed: int,
    ) -> None:
        self.book, self.model, self.prototype, self.launcher = book, model, prototype, launcher
        self.wanted, self.seed = wanted, seed
        self.described = book.launcher_of(prototype.name)
        self.knob = self._knob()
        name, unit, values = named_settings([t for t, _ in launcher.trials])
        self.named = (name, unit)
        self.measured: tuple[MeasuredSetting, ...] = measured_settings(
            model, prototype, launcher.trials, self._set(values)
        )

    def _knob(self) -> Setting | None:
        """Setting of the launcher file that is turned for the speed; None: none."""
        able = [one for one in self.described.settings if one.name != "elevation"] if self.described else []
        if self.wanted is None:
            return able[0] if able else None
        if self.wanted == "speed":
            return None
        for one in able:
            if self.wanted.casefold() in (one.name.casefold(), one.label.casefold()):
                return one
        known = ", ".join([one.label for one in able] + ["speed"])
        raise BadInput(
            f"{self.wanted!r} is no setting of {self.prototype.name}; there is: {known}", field="setting"
        )

    def _set(self, values: dict[str, float]) -> dict[str, float]:
        """What each trial was set to, in the table's unit."""
        if self.knob is None or self.described is None:
            return values if self.wanted is None else {}
        found = {}
        for trial, _ in self.launcher.trials:
            amounts = read_amounts(trial.setting, self.described, self.model.ball, trial.name)
            if self.knob.name in amounts:
                found[trial.name] = amounts[self.knob.name] / self.knob.scale
        return found

    def make(self, ends: tuple[float, float]) -> SpeedSetting:
        """Make the curve of speed over setting for elevations between two ends."""
        if self.knob is not None and self.described is not None:
            return self._calibrated(self.described, self.knob, ends)
        settings = {m.setting for m in self.measured if m.setting is not None}
        if self.wanted is None and len(settings) > 1:
            return from_trials(*self.named, self.measured, np.random.default_rng([self.seed, 5]))
        # one setting fired makes no curve, and its number is no speed
        self.measured = tuple(dataclasses.replace(one, setting=None) for one in self.measured)
        low, high = self.prototype.speed_low or 0.0, self.prototype.speed_high or 60.0
        return speed_itself(low, high)

    def _calibrated(self, described: Described, knob: Setting, ends: tuple[float, float]) -> SpeedSetting:
        values = np.linspace(knob.low, knob.high, _GRID)
        angles = np.array([ends[0]]) if ends[1] - ends[0] < 1e-9 else np.linspace(*ends, 3)
        tilts = any(one.name == "elevation" for one in described.inputs(self.model.ball))
        asked = [
            {knob.name: float(v)} | ({"elevation": float(e)} if tilts else {}) for e in angles for v in values
        ]
        try:
            learned = calibrate_model(
                self.model,
                described,
                self.launcher.trials,
                np.random.default_rng([self.seed, 4]),
                predict_at=asked,
            )
        except NoAnswer as reason:
            raise NoAnswer(
                f"the model of {described.prototype} can't be calibrated ({reason}); ask for --setting speed"
            ) from None
        speeds = {
            divmod(n, _GRID): one.speed_m_s
            for n, one in enumerate(learned.predictions)
            if isinstance(one.speed_m_s, Estimate)
        }
        source = f"the launcher's model, calibrated by {len(learned.trials)} trials"
        return from_predictions(knob.label, knob.unit, source, values / knob.scale, angles, speeds)
