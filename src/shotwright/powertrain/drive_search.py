"""Every drive that could be built for a duty: the match of each, the best of them, and what breaks first."""

from __future__ import annotations

import dataclasses
import math
import os
from collections.abc import Sequence
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
from shotwright.powertrain.wheel_duty import Drive, Duty, Wheel, recovery_time, spin_up
from shotwright.powertrain.wheel_match import MatchRun, battery_table, build_row, run_match

FloatArray = NDArray[np.float64]
NEAR = 0.02  # a shot rate that is less than this share below the best counts as good as the best
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
class Limits(Result):
    """What a drive has to keep, beside what its motors and breakers bear.

    Parameters
    ----------
    recovery : float
        Longest time from a shot until the wheel is ready again. [s]
    ready_after : float
        Longest time from the command of a burst to its first shot. [s]
    motors : int
        Most of them.
    motor_current, battery_current : float
        Largest ever. [A]
    lowest_voltage : float
        Of the battery's terminals; below it controllers and computers give up. [V]
    """

    recovery: float = math.inf
    ready_after: float = math.inf
    motors: int = 1_000_000
    motor_current: float = math.inf
    battery_current: float = math.inf
    lowest_voltage: float = 0.0


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
class Load(Result):
    """How much of a limit is used.

    Parameters
    ----------
    what : str
        The limit.
    used : float
        Share; above 1 it is broken. [-]
    at_s : float, optional
        When it first gives way; None where that is no moment, or it holds.
    """

    what: str
    used: float
    at_s: float | None = None


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

    with ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool:
        for start in pool.map(chunk, edges):
            progress((start + _CHUNK) / max(len(chosen), 1), "following matches")
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
    base = np.array([build_row(Drive(one, 1, free, supply, wheel), duty) for one in choices.motors])
    geared = duty.stop in ("brake", "coast")
    if geared and any(one.back_efficiency <= 0 for one in choices.trains):
        raise NoAnswer("a self-locking train lets no wheel coast or brake through it; leave such trains out")
    of_train = np.array([[one.ratio, one.efficiency, one.back_efficiency or 1.0] for one in choices.trains])
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


def loads_of(drive: Drive, duty: Duty, limits: Limits, run: MatchRun | None = None) -> tuple[Load, ...]:
    """How much of each limit a match uses, the most used first: what breaks first.

    Parameters
    ----------
    drive : Drive
        With the battery as it starts.
    duty : Duty
        What the match asks.
    limits : Limits
        What has to be kept.
    run : MatchRun, optional
        Its match, if it was followed already.

    Returns
    -------
    tuple of Load
        Limits that are not set are left out.
    """
    run = run_match(drive, duty) if run is None else run
    up = spin_up(drive, duty.ready * duty.speed, warm=run.winding_k)
    final = up.final_speed_rad_s
    recoveries = [one.worst_recovery_s for one in run.bursts if one.worst_recovery_s is not None]
    readies = [one.ready_after_s for one in run.bursts if one.ready_after_s is not None]
    fired = sum(one.fired for one in run.bursts)
    wanted = sum(one.shots for one in duty.bursts)
    recovery = max(recoveries) if recoveries else recovery_time(drive, duty, run.winding_k)
    found = [
        Load("speed that the motors reach", duty.ready * duty.speed / final if final > 0 else math.inf),
        Load("recovery between shots", recovery / limits.recovery),
        Load("time to the first shot", (max(readies) if readies else math.inf) / limits.ready_after),
        Load("current of a motor", run.peak_motor_a / limits.motor_current),
        Load("current of the battery", run.peak_battery_a / limits.battery_current),
        Load("voltage of the battery", limits.lowest_voltage / max(run.lowest_v, 1e-9)),
        Load("charge of the battery", (drive.supply.level - run.level) / max(drive.supply.level, 1e-9)),
        *(Load(name, share, run.breaks.get(name)) for name, share in run.used.items()),
    ]
    if fired < wanted:
        found.append(Load("shots in the time there is", wanted / max(fired, 1e-9)))
    kept = [one for one in found if one.used > 0 and not math.isnan(one.used)]
    return tuple(sorted(kept, key=lambda one: -one.used))


def recovery_map(
    drive: Drive, duty: Duty, ratios: Sequence[float], inertias: Sequence[float], warm: float | None = None
) -> FloatArray:
    """Recovery time over ratio and wheel inertia, by its closed form.

    Parameters
    ----------
    drive : Drive
        Motors, supply, and the train whose efficiencies are kept.
    duty : Duty
        Gives set point, ready share and ball.
    ratios : sequence of float
        [-]
    inertias : sequence of float
        Of the wheel. [kg m^2]
    warm : float, optional
        Temperature of the motors. [K]

    Returns
    -------
    ndarray, shape (ratios, inertias)
        [s]; infinite where the speed is not reached.
    """
    found = np.empty((len(ratios), len(inertias)))
    for i, ratio in enumerate(ratios):
        train = with_ratio(drive.train, ratio)
        for j, inertia in enumerate(inertias):
            wheel = Wheel(inertia, drive.wheel.friction)
            built = dataclasses.replace(drive, train=train, wheel=wheel)
            reached = math.isfinite(spin_up(built, duty.ready * duty.speed, warm=warm).time_s)
            found[i, j] = recovery_time(built, duty, warm) if reached else math.inf
    return found


def with_ratio(train: Train, ratio: float) -> Train:
    """Return the train with the ratio of its last stage changed so that the whole becomes `ratio`. [-]."""
    if not train.stages:
        raise BadInput("the train has no stage whose ratio could change", field="ratio")
    last = train.stages[-1]
    changed = dataclasses.replace(last, ratio=last.ratio * ratio / train.ratio, teeth=())
    return Train((*train.stages[:-1], changed))
