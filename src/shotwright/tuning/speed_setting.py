"""From a launch speed to what is set for it: a knob, a stroke, a rim speed."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate
from shotwright.flight.chance import ELEVATION, SPEED
from shotwright.flight.model import FlightModel
from shotwright.trials.dispersion import marks_of
from shotwright.trials.launch import counted, mean_launch
from shotwright.trials.records import Prototype, Shot, Trial
from shotwright.tuning.monotone import fit_band, monotone_fit
from shotwright.tuning.records import MeasuredSetting

FloatArray = NDArray[np.float64]

_NAMED = re.compile(r"^\s*([A-Za-z][A-Za-z ]*?)\s*[:=]?\s*([-+]?\d+(?:[.,]\d+)?)\s*([^\s,;]*)")
_GRID = 41


@dataclass(frozen=True, slots=True, eq=False)
class SpeedSetting:
    """Launch speed over a setting, with its 95 % band, at one or more elevations.

    Parameters
    ----------
    name, unit : str
        What is set, and the unit of its numbers.
    source : str
        Where the curve comes from.
    values : ndarray, shape (n,)
        Settings, rising.
    elevations : ndarray, shape (e,)
        [rad]
    speed, low, high : ndarray, shape (e, n)
        Mean speed, and its band. [m/s]
    """

    name: str
    unit: str
    source: str
    values: FloatArray
    elevations: FloatArray
    speed: FloatArray
    low: FloatArray
    high: FloatArray

    def of(self, speed: float, elevation: float) -> Estimate:
        """Return the setting that gives a speed at an elevation, with what the trials leave open.

        Parameters
        ----------
        speed : float
            [m/s]
        elevation : float
            [rad]

        Returns
        -------
        Estimate
            In the setting's unit; NaN where the setting's range does not give that speed.
        """
        value, a, b = (
            _inverse(self.values, self._at(one, elevation), speed)
            for one in (self.speed, self.high, self.low)
        )
        if math.isnan(value):
            return Estimate(value, value, value, method="beyond the range of the setting")
        # where the band leaves the range of the setting, the interval ends at its end
        first, last = float(self.values[0]), float(self.values[-1])
        rising = self.speed[0, -1] >= self.speed[0, 0]
        ends = [(first if rising else last) if math.isnan(a) else a]
        ends.append((last if rising else first) if math.isnan(b) else b)
        low, high = min(*ends, value), max(*ends, value)
        return Estimate(value, low, high, method="setting at which the speed's 95 % band takes this value")

    def range_of(self) -> tuple[float, float]:
        """Return the least and the greatest speed that every elevation gives. [m/s]."""
        return float(self.speed.min(axis=1).max()), float(self.speed.max(axis=1).min())

    def _at(self, curves: FloatArray, elevation: float) -> FloatArray:
        if len(self.elevations) == 1:
            return np.asarray(curves[0])
        return np.array([np.interp(elevation, self.elevations, column) for column in curves.T])


def _inverse(values: FloatArray, speed: FloatArray, wanted: float) -> float:
    """Setting at which a monotone curve takes a value; the nearest end beyond it for the band."""
    order = np.argsort(speed)
    if not speed.min() - 1e-6 <= wanted <= speed.max() + 1e-6:
        return math.nan
    return float(np.interp(wanted, speed[order], values[order]))


def speed_itself(low: float, high: float) -> SpeedSetting:
    """Return the setting of a crew that sets the launch speed itself; its calibration is in the hits."""
    ends = np.array([low, high])
    return SpeedSetting("speed", "m/s", "the launch speed itself", ends, np.zeros(1), *[ends[None]] * 3)


def from_predictions(
    name: str,
    unit: str,
    source: str,
    values: FloatArray,
    elevations: FloatArray,
    speeds: Mapping[tuple[int, int], Estimate],
) -> SpeedSetting:
    """Build the curve from a model's predictions on a grid.

    Parameters
    ----------
    name, unit, source : str
        As for :class:`SpeedSetting`.
    values : ndarray, shape (n,)
        Settings, in the crew's unit. [any]
    elevations : ndarray, shape (e,)
        [rad]
    speeds : mapping of (int, int) to Estimate
        By number of elevation and of value; those missing are left out. [m/s]

    Returns
    -------
    SpeedSetting
        Monotone in the setting.

    Raises
    ------
    NoAnswer
        Fewer than three settings that throw at all elevations.
    """
    kept = [n for n in range(len(values)) if all((e, n) in speeds for e in range(len(elevations)))]
    if len(kept) < 3:
        raise NoAnswer(f"the model throws at too few values of {name} to turn a speed into it")
    x = values[kept]
    curves = []
    for part in ("value", "low", "high"):
        rows = [[getattr(speeds[e, n], part) for n in kept] for e in range(len(elevations))]
        curves.append(np.array([monotone_fit(x, np.array(row))(x) for row in rows]))
    return SpeedSetting(name, unit, source, x, elevations, *curves)


def measured_settings(
    model: FlightModel,
    prototype: Prototype,
    trials: Sequence[tuple[Trial, Sequence[Shot]]],
    settings: Mapping[str, float],
) -> tuple[MeasuredSetting, ...]:
    """Find the mean launch speed of each trial, with its interval.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    prototype : Prototype
        The launcher.
    trials : sequence of (Trial, shots)
        Its trials; those that can't be traced back to a launch are passed over.
    settings : mapping of str to float
        What was set, by trial, where known. [any]

    Returns
    -------
    tuple of MeasuredSetting
        In the order of the trials.
    """
    from scipy.special import stdtrit

    found = []
    for trial, shots in trials:
        try:
            launch = mean_launch(model, prototype, trial, shots)
        except NoAnswer:
            continue
        marks = marks_of(trial, counted(shots))[:, 0]
        slope = launch.first[SPEED] if launch.solved_for == "speed" else launch.first[ELEVATION]
        half = math.inf
        if len(marks) > 1 and launch.solved_for == "speed":
            half = float(stdtrit(len(marks) - 1, 0.975) * np.std(marks, ddof=1) / math.sqrt(len(marks)))
            half /= abs(float(slope))
        speed = Estimate(
            launch.speed, launch.speed - half, launch.speed + half, method="mean mark, t interval"
        )
        found.append(MeasuredSetting(trial.name, trial.origin, settings.get(trial.name), speed))
    return tuple(found)


def named_settings(trials: Sequence[Trial]) -> tuple[str, str, dict[str, float]]:
    """Read the first number of each trial's setting: ``"notch 3, hood up"``, ``"stroke 115 mm"``.

    Parameters
    ----------
    trials : sequence of Trial
        Of one prototype.

    Returns
    -------
    tuple of (str, str, dict)
        Name and unit that most trials share, and the value by trial; empty when there are none.
    """
    read = {}
    for trial in trials:
        match = _NAMED.match(trial.setting)
        if match:
            read[trial.name] = (match[1].strip(), match[3], float(match[2].replace(",", ".")))
    kinds = [(name, unit) for name, unit, _ in read.values()]
    if not kinds:
        return "", "", {}
    name, unit = max(sorted(set(kinds)), key=kinds.count)
    return name, unit, {t: value for t, (n, u, value) in read.items() if (n, u) == (name, unit)}


def from_trials(
    name: str, unit: str, measured: Sequence[MeasuredSetting], rng: np.random.Generator
) -> SpeedSetting:
    """Fit speed against setting through trials at several settings.

    Parameters
    ----------
    name, unit : str
        What was set.
    measured : sequence of MeasuredSetting
        Trials; those without a setting or an interval are passed over.
    rng : numpy.random.Generator
        For the band.

    Returns
    -------
    SpeedSetting
        Monotone, with a parametric bootstrap as its band.

    Raises
    ------
    NoAnswer
        Fewer than two settings.
    """
    usable = [m for m in measured if m.setting is not None and math.isfinite(m.speed_m_s.high)]
    x = np.array([m.setting for m in usable], dtype=float)
    if len(np.unique(x)) < 2:
        raise NoAnswer(f"trials at two or more settings are needed; there is {len(np.unique(x))}")
    y = np.array([m.speed_m_s.value for m in usable])
    sd = np.array([(m.speed_m_s.high - m.speed_m_s.low) / (2 * 1.96) for m in usable])
    values = np.linspace(x.min(), x.max(), _GRID)
    middle = monotone_fit(x, y, 1 / np.maximum(sd, 1e-9) ** 2)(values)
    low, high = np.quantile(fit_band(x, y, sd, values, rng), [0.025, 0.975], axis=0)
    source = f"a monotone curve through {len(usable)} trials at {len(np.unique(x))} settings"
    low, high = np.minimum(low, middle), np.maximum(high, middle)
    return SpeedSetting(name, unit, source, values, np.zeros(1), middle[None], low[None], high[None])
