"""Shots of a described launcher: the values of its settings, and draws from its spreads."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.game.records import Ball
from shotwright.launcher.description import Described
from shotwright.launcher.protocol import Input

FloatArray = NDArray[np.float64]


def varying(described: Described, ball: Ball) -> tuple[Input, ...]:
    """Return the inputs that vary from shot to shot, in the launcher's order."""
    return tuple(one for one in described.inputs(ball) if one.sd > 0)


def drawn_inputs(
    described: Described, ball: Ball, settings: Mapping[str, ArrayLike], normals: FloatArray
) -> dict[str, FloatArray]:
    """Inputs of shots drawn about one or many settings from the launcher's own spreads.

    Parameters
    ----------
    described : Described
        The launcher.
    ball : Ball
        The set of balls.
    settings : mapping of str to float or ndarray, shape (k, 1)
        What is set; all else at its mean. [SI]
    normals : ndarray, shape (n, d)
        Standard normal draws, a column for each input of :func:`varying`. The same draws at every setting
        make differences between settings smooth. [-]

    Returns
    -------
    dict of str to ndarray, shape (n,) or (k, n)
        Every input. A spread that was stated in percent follows the setting's value.
    """
    columns = {one.name: normals[:, i] for i, one in enumerate(varying(described, ball))}
    found = {}
    for one in described.inputs(ball):
        value = np.asarray(settings.get(one.name, one.value), dtype=float)
        if one.name in columns:
            value = value + spread_at(described, one, value) * columns[one.name]
            value = np.clip(value, one.low, one.high)
        found[one.name] = value
    shape = np.broadcast_shapes((len(normals),), *(column.shape for column in found.values()))
    # copies: what is only spread over one place in memory may not be written to, nor handed to the kernel
    return {name: np.array(np.broadcast_to(column, shape)) for name, column in found.items()}


def spread_at(described: Described, one: Input, value: ArrayLike) -> FloatArray:
    """Standard deviation of an input when it is set to `value`.

    Parameters
    ----------
    described : Described
        The launcher.
    one : Input
        The input.
    value : float or ndarray
        What it is set to. [SI]

    Returns
    -------
    ndarray
        The stated one, or in proportion to the value where it was stated in percent. [SI]
    """
    if one.name in described.percent_spreads and one.value != 0:
        return np.asarray(one.sd * np.abs(np.asarray(value, dtype=float) / one.value))
    return np.asarray(one.sd + 0.0 * np.asarray(value, dtype=float))


def with_spread(described: Described, name: str, factor: float) -> Described:
    """Return the launcher with the spread of one of its amounts multiplied.

    Parameters
    ----------
    described : Described
        The launcher.
    name : str
        An amount of the launcher, or the battery's voltage.
    factor : float
        1 leaves it alone. [-]

    Returns
    -------
    Described
        The changed launcher.
    """
    if described.battery is not None and name == "battery_voltage":
        volts = dataclasses.replace(described.battery.voltage, sd=factor * described.battery.voltage.sd)
        return dataclasses.replace(described, battery=dataclasses.replace(described.battery, voltage=volts))
    held = described.launcher.amount(name)
    changed = dataclasses.replace(held, sd=factor * held.sd)
    return dataclasses.replace(described, launcher=described.launcher.with_amounts({name: changed}))


def grid_of(described: Described, counts: Sequence[int]) -> dict[str, FloatArray]:
    """Every combination of the settings, flattened; the last setting runs fastest.

    Parameters
    ----------
    described : Described
        The launcher.
    counts : sequence of int
        How many values of each setting, ends included; 1 takes the middle.

    Returns
    -------
    dict of str to ndarray, shape (k,)
        [SI]
    """
    lines = [
        np.linspace(one.low, one.high, count) if count > 1 else np.array([0.5 * (one.low + one.high)])
        for one, count in zip(described.settings, counts, strict=True)
    ]
    return {
        one.name: field.ravel()
        for one, field in zip(described.settings, np.meshgrid(*lines, indexing="ij"), strict=True)
    }
