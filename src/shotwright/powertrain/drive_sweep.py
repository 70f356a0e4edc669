"""Every drive that could be built, each followed over its whole match."""

from __future__ import annotations

import math
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.powertrain import match_kernel as match
from shotwright.powertrain import wheel_steps as at
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.supply import Supply
from shotwright.powertrain.train import Train
from shotwright.powertrain.wheel_duty import Drive, Duty, Wheel
from shotwright.powertrain.wheel_match import battery_table, build_row

FloatArray = NDArray[np.float64]
_CHUNK = 256  # matches between two looks at the progress


@dataclass(frozen=True, slots=True)
class Choices(Result):
    """What could be built.

    Parameters
    ----------
    motors : tuple of Motor
        Kinds.
    counts : tuple of int
        How many of one kind.
    trains : tuple of Train
        Ratios that can be built.
    inertias : tuple of float
        Of the wheel. [kg m^2]
    friction : float
        Of the wheel. [N m]
    """

    motors: tuple[Motor, ...]
    counts: tuple[int, ...]
    trains: tuple[Train, ...]
    inertias: tuple[float, ...]
    friction: float = 0.0

    def __post_init__(self) -> None:
        for name in ("motors", "counts", "trains", "inertias"):
            if not getattr(self, name):
                raise BadInput("nothing to choose from; give at least one", field=name)


@dataclass(frozen=True, slots=True)
class Swept:
    """Rows of a search: what was built, and what each match gave; see :func:`sweep_drives`."""

    motor: NDArray[np.intp]
    train: NDArray[np.intp]
    rows: FloatArray
    reached: NDArray[np.bool_]
    states: FloatArray
    recovery: FloatArray
    ready_after: FloatArray
    unfired: NDArray[np.bool_]


def sweep_drives(
    choices: Choices, supply: Supply, duty: Duty, workers: int | None = None, progress: Progress = silent
) -> Swept:
    """Follow the match of every combination that can reach the speed at all.

    Parameters
    ----------
    choices : Choices
        What could be built.
    supply : Supply
        What feeds it.
    duty : Duty
        What the match asks.
    workers : int, optional
        Threads; one for each core when left out.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Swept
        One row for each combination: motors, counts, trains, inertias, the last changing fastest.
    """
    rows, kinds, trains = _rows(choices, supply, duty)
    reached = _reaches(rows, supply)
    chosen = np.flatnonzero(reached)
    states, books = np.zeros((len(rows), at.STATE)), np.zeros((len(chosen), at.BOOKS))
    told = np.zeros((len(chosen), len(duty.bursts), match.BURST_WIDTH))
    bursts = np.array([[one.start, one.shots] for one in duty.bursts], dtype=float)
    table, some, here = battery_table(supply), rows[chosen], np.zeros((len(chosen), at.STATE))
    follow = match.many_matches()
    edges = range(0, len(chosen), _CHUNK)

    def chunk(start: int) -> int:
        part = slice(start, start + _CHUNK)
        follow(some[part], table, bursts, here[part], books[part], told[part])
        return start

    pool = ThreadPoolExecutor(workers or os.cpu_count() or 1)
    try:
        for start in pool.map(chunk, edges):
            progress((start + _CHUNK) / max(len(chosen), 1), "following matches")
    finally:
        pool.shutdown(cancel_futures=True)  # whoever stops it does not wait for what was not begun
    states[chosen] = here
    recovery, ready, unfired = (np.full(len(rows), math.nan) for _ in range(3))
    wanted = np.array([one.shots for one in duty.bursts])
    if len(chosen):
        recovery[chosen] = _largest(told[:, :, match.BURST_WORST])
        ready[chosen] = _largest(told[:, :, match.BURST_READY])
        unfired[chosen] = (np.nan_to_num(told[:, :, match.BURST_FIRED]) < wanted).any(axis=1)
    return Swept(kinds, trains, rows, reached, states, recovery, ready, np.nan_to_num(unfired) > 0)


def _largest(values: FloatArray) -> FloatArray:
    """Largest of each row, NaN where there is none."""
    largest = np.where(np.isnan(values), -math.inf, values).max(axis=1)
    return np.where(np.isneginf(largest), math.nan, largest)


def _rows(
    choices: Choices, supply: Supply, duty: Duty
) -> tuple[FloatArray, NDArray[np.intp], NDArray[np.intp]]:
    kinds, counts, trains, wheels = (
        one.ravel()
        for one in np.meshgrid(
            np.arange(len(choices.motors)),
            np.asarray(choices.counts, float),
            np.arange(len(choices.trains)),
            np.asarray(choices.inertias, float),
            indexing="ij",
        )
    )
    wheel = Wheel(min(choices.inertias), choices.friction)
    free = Train()
    base = np.array(
        [build_row(Drive(one, 1, free, supply, wheel), duty, cuts=False) for one in choices.motors]
    )
    geared = duty.stop in ("brake", "coast")
    if geared and any(one.back_efficiency <= 0 for one in choices.trains):
        raise NoAnswer("a self-locking train lets no wheel coast or brake through it; leave such trains out")
    of_train = np.array([[one.ratio, one.efficiency, one.back_efficiency] for one in choices.trains])
    rows = base[kinds]
    rows[:, at.MOTORS], rows[:, at.INERTIA] = counts, wheels
    rows[:, [at.RATIO, at.ETA, at.BACK]] = of_train[trains]
    return rows, kinds, trains


def _reaches(rows: FloatArray, supply: Supply) -> NDArray[np.bool_]:
    """Tell which drives reach readiness, cold and with the battery as it starts."""
    ohms = supply.battery.resistance_at(supply.level)
    volts = supply.battery.voltage_at(supply.level) - ohms * supply.other_current
    n, g, k = rows[:, at.MOTORS], rows[:, at.RATIO], rows[:, at.CON]
    need = rows[:, at.IDLE] + rows[:, at.DRAG] / (rows[:, at.ETA] * g * n * k)
    loop = rows[:, at.RES] + rows[:, at.WIRE] + rows[:, at.PTC] + n * ohms
    final = (volts - need * loop) / (k * g)
    return np.asarray((final > rows[:, at.READY] * rows[:, at.SPEED]) & (need < rows[:, at.LIMIT]))
