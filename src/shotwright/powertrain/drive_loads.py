"""How much of each limit a drive uses in its match: what breaks first."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.plain import Result
from shotwright.powertrain.wheel_duty import Drive, Duty, recovery_time, spin_up
from shotwright.powertrain.wheel_match import MatchRun, run_match


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
        Its match, if it was followed already, breakers only watched: so a share says by how much one is
        overrun.

    Returns
    -------
    tuple of Load
        Limits that are not set are left out.
    """
    run = run_match(drive, duty, cuts=False) if run is None else run
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
