"""A prototype on paper: its launcher with dimensions and spreads, what can be set, and what drives it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.plain import Result
from shotwright.game.records import Ball
from shotwright.launcher.protocol import Amount, Input, Launcher
from shotwright.launcher.release import Releases

FloatArray = NDArray[np.float64]

VOLTAGE = "battery_voltage"


@dataclass(frozen=True, slots=True)
class Setting(Result):
    """One thing that the crew can turn between shots.

    Parameters
    ----------
    name : str
        Name of the amount.
    low, high : float
        Range, SI.
    unit : str
        As the crew typed it, for people: ``"mm"``.
    scale : float
        SI value of one such unit.
    """

    name: str
    low: float
    high: float
    unit: str
    scale: float

    @property
    def label(self) -> str:
        """The name as people write it."""
        return self.name.replace("_", " ")

    def shown(self, value: float) -> str:
        """Write a value in the crew's unit.

        Examples
        --------
        >>> Setting("stroke", 0.04, 0.1, "mm", 0.001).shown(0.0853)
        '85.3 mm'
        """
        number = f"{value / self.scale:.4g}"
        return number + (self.unit if self.unit in ("°", "%") else f" {self.unit}").rstrip()


@dataclass(frozen=True, slots=True)
class Battery(Result):
    """What the battery does to amounts that it drives.

    Parameters
    ----------
    voltage : Amount
        At which the amounts were stated, with its spread over a match. [V]
    drives : tuple of str
        Names of the amounts.
    follows : float
        How far they follow the voltage: 1 where nothing regulates them, 0 with perfect regulation. [-]
    """

    voltage: Amount
    drives: tuple[str, ...]
    follows: float


@dataclass(frozen=True, slots=True)
class Described:
    """A launcher as a file describes it.

    Parameters
    ----------
    prototype : str
        Which prototype it is.
    launcher : Launcher
        Dimensions with their spreads.
    settings : tuple of Setting
        What can be turned, with its range.
    battery : Battery, optional
        None where nothing depends on it.
    percent_spreads : tuple of str
        Amounts whose spread was stated in percent, so that it follows their value.
    """

    prototype: str
    launcher: Launcher
    settings: tuple[Setting, ...] = ()
    battery: Battery | None = None
    percent_spreads: tuple[str, ...] = ()

    def setting(self, name: str) -> Setting:
        """Return the setting of that name; KeyError when there is none."""
        return {one.name: one for one in self.settings}[name]

    def inputs(self, ball: Ball) -> tuple[Input, ...]:
        """Return every number that a release depends on: the launcher's, the ball's, the battery's."""
        inputs = self.launcher.inputs(ball)
        if self.battery is None:
            return inputs
        volts = self.battery.voltage
        words = "voltage of the battery"
        return (*inputs, Input(VOLTAGE, "V", volts.value, volts.sd, 0.0, origin=volts.origin, words=words))

    def means(self, ball: Ball) -> dict[str, float]:
        """Return every input at its mean."""
        return {one.name: one.value for one in self.inputs(ball)}

    def release(self, inputs: Mapping[str, ArrayLike]) -> Releases:
        """Return the releases for numbers or arrays of inputs (n,), with what the battery does to them."""
        columns = np.broadcast_arrays(
            np.zeros(1), *(np.asarray(column, dtype=float) for column in inputs.values())
        )
        given: dict[str, ArrayLike] = dict(zip(inputs, columns[1:], strict=True))
        if self.battery is None:
            return self.launcher.release(given)
        volts = np.asarray(given.pop(VOLTAGE, self.battery.voltage.value), dtype=float)
        share = 1 + self.battery.follows * (volts / self.battery.voltage.value - 1)
        for name in self.battery.drives:
            given[name] = np.asarray(given[name], dtype=float) * share
        return self.launcher.release(given)
