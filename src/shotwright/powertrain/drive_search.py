"""The drive to build: those that keep all limits, the best of them, and what breaks first."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.powertrain import wheel_steps as at
from shotwright.powertrain.drive_loads import Limits, Load, loads_of
from shotwright.powertrain.drive_sweep import Choices, Swept, sweep_drives
from shotwright.powertrain.supply import Supply
from shotwright.powertrain.wheel_duty import Drive, Duty, Wheel, recovery_time

FloatArray = NDArray[np.float64]
NEAR = 0.02  # a shot rate that is less than this share below the best counts as good as the best


@dataclass(frozen=True, slots=True)
class Candidate(Result):
    """One drive with what its match gave.

    Parameters
    ----------
    motor : str
        Kind.
    motors : int
        How many.
    ratio : float
        [-]
    train : int
        Which of the trains, from 0.
    wheel_inertia_kg_m2 : float
        Without rotors.
    shot_rate_s : float
        Shots a second in a burst: one over the longer of the feed's time and the worst recovery.
    recovery_s, ready_after_s : float
        Worst of the match.
    winding_k : float
        Highest temperature of a winding.
    motor_a, battery_a : float
        Largest currents.
    lowest_v : float
        Of the battery.
    level : float
        State of charge at the end. [-]
    """

    motor: str
    motors: int
    ratio: float
    train: int
    wheel_inertia_kg_m2: float
    shot_rate_s: float
    recovery_s: float
    ready_after_s: float
    winding_k: float
    motor_a: float
    battery_a: float
    lowest_v: float
    level: float


@dataclass(frozen=True, slots=True)
class DriveSearch(Result):
    """What a search found.

    Parameters
    ----------
    tried, simulated, within_limits : int
        Drives; those that reach the speed; those that keep all limits.
    refused : dict
        How many break each limit; one drive may break several.
    front : tuple of Candidate
        None is better in shot rate, temperature and motors at once; fastest first.
    pick : Candidate
        Of those within 2 % of the best shot rate: fewest motors, then the coolest.
    drive : Drive
        The pick.
    loads : tuple of Load
        Of the pick in its match, the most used first.
    low_battery : tuple of Load
        The same with the battery as the match leaves it.
    low_level : float
        State of charge there. [-]
    """

    tried: int
    simulated: int
    within_limits: int
    refused: dict[str, int]
    front: tuple[Candidate, ...]
    pick: Candidate
    drive: Drive
    loads: tuple[Load, ...]
    low_battery: tuple[Load, ...]
    low_level: float


def search_drives(
    choices: Choices,
    supply: Supply,
    duty: Duty,
    limits: Limits,
    workers: int | None = None,
    progress: Progress = silent,
) -> DriveSearch:
    """Follow every drive over the whole match, keep those within limits, and pick one.

    Parameters
    ----------
    choices : Choices
        What could be built.
    supply : Supply
        What feeds it; its breakers are limits too.
    duty : Duty
        What the match asks.
    limits : Limits
        What has to be kept.
    workers : int, optional
        Threads; one for each core when left out.
    progress : Progress
        Told how far it is.

    Returns
    -------
    DriveSearch
        Front, pick, margins, and what breaks first with the battery at the end of the match.

    Raises
    ------
    NoAnswer
        No drive reaches the speed, or none keeps all limits; says which limit most of them break.
    """
    swept = sweep_drives(choices, supply, duty, workers, progress)
    s, rows = swept.states, swept.rows
    if not swept.reached.any():
        raise NoAnswer(
            f"none of {len(rows)} drives reaches {duty.speed / (2 * math.pi) * 60:.0f} rpm at the wheel; "
            "use a smaller ratio or another motor"
        )
    recovery = _with_single_shots(swept, choices, supply, duty)
    broken = {
        "speed not reached": ~swept.reached,
        "shots left over": swept.reached & swept.unfired,
        "recovery": recovery > limits.recovery,
        "ready after a command": swept.ready_after > limits.ready_after,
        "number of motors": rows[:, at.MOTORS] > limits.motors,
        "motor current": s[:, at.PEAK_I] > limits.motor_current,
        "battery current": s[:, at.PEAK_B] > limits.battery_current,
        "battery voltage": swept.reached & (s[:, at.LOW_V] < limits.lowest_voltage),
        "main breaker": swept.reached & (s[:, at.AT_MAIN] < math.inf),
        "motor breaker": swept.reached & (s[:, at.AT_EACH] < math.inf),
        "motor protection": swept.reached & (s[:, at.AT_PTC] < math.inf),
        "winding temperature": swept.reached & (s[:, at.AT_HOT] < math.inf),
    }
    good = ~np.any(list(broken.values()), axis=0)
    refused = {name: int(wrong.sum()) for name, wrong in broken.items() if wrong.any()}
    if not good.any():
        worst = max(refused, key=lambda name: refused[name])
        told = ", ".join(f"{name} {count}" for name, count in sorted(refused.items(), key=lambda x: -x[1]))
        raise NoAnswer(f"no drive of {len(rows)} keeps all limits; most break the {worst} (broken: {told})")
    rate = 1 / np.maximum(np.maximum(recovery, duty.feed), 1e-3)
    warm = duty.air + s[:, at.PEAK_WARM]
    front = pareto_front(rate, warm, rows[:, at.MOTORS], np.flatnonzero(good))
    told_of = [_candidate(swept, choices, i, rate, recovery, warm, supply.level) for i in front]
    near = [c for c in told_of if c.shot_rate_s >= (1 - NEAR) * told_of[0].shot_rate_s]
    pick = min(near, key=lambda c: (c.motors, c.winding_k, -c.shot_rate_s))
    kinds = {one.name: one for one in choices.motors}
    wheel = Wheel(pick.wheel_inertia_kg_m2, choices.friction)
    drive = Drive(kinds[pick.motor], pick.motors, choices.trains[pick.train], supply, wheel)
    low = dataclasses.replace(drive, supply=dataclasses.replace(supply, level=max(pick.level, 0.0)))
    return DriveSearch(
        tried=len(rows),
        simulated=int(swept.reached.sum()),
        within_limits=int(good.sum()),
        refused=refused,
        front=tuple(told_of),
        pick=pick,
        drive=drive,
        loads=loads_of(drive, duty, limits),
        low_battery=loads_of(low, duty, limits),
        low_level=low.supply.level,
    )


def _with_single_shots(swept: Swept, choices: Choices, supply: Supply, duty: Duty) -> FloatArray:
    """Recovery where no burst has two shots: the closed form at the temperature of the end."""
    recovery = swept.recovery.copy()
    for i in np.flatnonzero(swept.reached & np.isnan(recovery)):
        row = swept.rows[i]
        drive = Drive(
            choices.motors[swept.motor[i]],
            int(row[at.MOTORS]),
            choices.trains[swept.train[i]],
            supply,
            Wheel(row[at.INERTIA], choices.friction),
        )
        recovery[i] = recovery_time(drive, duty, duty.air + swept.states[i, at.WARM])
    return recovery


def pareto_front(
    rate: FloatArray, warm: FloatArray, motors: FloatArray, among: NDArray[np.intp]
) -> list[int]:
    """Rows of which none is better in all three: shot rate high, temperature low, motors few.

    Parameters
    ----------
    rate, warm, motors : ndarray, shape (n,)
        The three.
    among : ndarray of int
        Rows that count.

    Returns
    -------
    list of int
        Fastest first; of equal ones only the first.
    """
    order = among[np.lexsort((warm[among], -rate[among], motors[among]))]
    kept: list[int] = []
    for i in order.tolist():
        # whoever comes later in this order has no fewer motors than those kept
        if not any(rate[k] >= rate[i] and warm[k] <= warm[i] for k in kept):
            kept.append(i)
    return sorted(kept, key=lambda k: (-rate[k], motors[k], warm[k]))


def _candidate(
    swept: Swept,
    choices: Choices,
    i: int,
    rate: FloatArray,
    recovery: FloatArray,
    warm: FloatArray,
    level: float,
) -> Candidate:
    row, state = swept.rows[i], swept.states[i]
    return Candidate(
        motor=choices.motors[swept.motor[i]].name,
        motors=int(row[at.MOTORS]),
        ratio=float(row[at.RATIO]),
        train=int(swept.train[i]),
        wheel_inertia_kg_m2=float(row[at.INERTIA]),
        shot_rate_s=float(rate[i]),
        recovery_s=float(recovery[i]),
        ready_after_s=float(swept.ready_after[i]),
        winding_k=float(warm[i]),
        motor_a=float(state[at.PEAK_I]),
        battery_a=float(state[at.PEAK_B]),
        lowest_v=float(state[at.LOW_V]),
        level=float(level - state[at.DRAWN] / row[at.CHARGE]),
    )
