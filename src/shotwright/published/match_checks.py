"""Matches that queueing theory, renewal theory and the binomial law solve."""

from __future__ import annotations

import functools
import math

import numpy as np

from shotwright.match.case import Chances, MatchCase, drive_time, match_case
from shotwright.match.match_kernel import HITS, SHOTS
from shotwright.match.records import (
    DefenderHabit,
    LauncherPace,
    MatchFile,
    MatchPosition,
    MatchRobot,
    MatchTimes,
    Plan,
    Station,
)
from shotwright.match.run import events_of, run_plan
from shotwright.published.table import Check

_QUEUE = "from memory: standard queueing theory"


def _match(
    length: float,
    pace: LauncherPace,
    *,
    hit: float = 1.0,
    preload: int = 0,
    station: Station | None = None,
    defender: DefenderHabit | None = None,
) -> MatchCase:
    """One position at the start, fired at from there."""
    stations = () if station is None else (station,)
    plan = Plan("plan", ("spot",), tuple(one.name for one in stations), "cycle", "fire")
    file = MatchFile(
        MatchTimes(length),
        MatchRobot((0.0, 0.0), 1.0, 1.0, max(preload, 1), preload),
        pace,
        (MatchPosition("spot", 0.0, 0.0, hit=hit, points=1.0),),
        stations,
        () if defender is None else (defender,),
        (plan,),
    )
    return match_case(file, plan)


def _chances(matches: int, defenders: int = 0, stations: int = 0) -> Chances:
    return Chances(np.random.SeedSequence(11), matches, defenders, stations)


def _rate() -> float:
    """Shots a second of a launcher with a dead time, fed at random."""
    pace = LauncherPace(0.3, jam=1.0, jam_time=0.5)
    told = run_plan(_match(300.0, pace, preload=900), _chances(1000))
    return float(told[:, SHOTS].mean()) / 300.0


def _wait() -> float:
    """Mean wait of balls that arrive at random and are taken one by one in a fixed time."""
    case = _match(3000.0, LauncherPace(0.02), station=Station("depot", 0.0, 0.0, 0.3, 0, 0.5))
    waits = []
    for draws in _chances(8, 0, 1).drawn(240):
        come = np.cumsum(draws[7] * 0.5)
        left = np.array([time for time, what, _ in events_of(case, draws) if what == "picked up"])
        waits.append((left - 0.3 - come[: len(left)])[200:].mean())
    return float(np.mean(waits))


@functools.cache
def _hits() -> tuple[float, float]:
    """Mean and standard deviation of the hits of twelve preloads."""
    told = run_plan(_match(100.0, LauncherPace(0.5), hit=0.7, preload=12), _chances(40_000))[:, HITS]
    return float(told.mean()), float(told.std())


def _blocked() -> float:
    """Share of the shots that meet a defender."""
    habit = DefenderHabit("warden", (("spot", 0.3),), 5.0)
    case = _match(200.0, LauncherPace(0.5), preload=380, defender=habit)
    told = run_plan(case, _chances(4000, 1))
    return 1.0 - float(told[:, HITS].sum() / told[:, SHOTS].sum())


def _interval(pace: LauncherPace) -> float:
    """Time between the last shots of a long burst."""
    case = _match(900.0, pace, preload=800)
    times = [time for time, what, _ in events_of(case, _chances(1).drawn(16)[0]) if what == "hit"]
    return times[-1] - times[-2]


CHECKS: tuple[Check, ...] = (
    Check(
        "match: shots a second, balls come at random at 2 /s, dead time 0.3 s",
        f"{_QUEUE}: lam / (1 + lam t)",
        "memory",
        1.25,
        # four standard errors of 1000 matches of 300 s, sqrt(rate^3 / lam^2 / 3e5), and a ball at the end
        4 * math.sqrt(1.25**3 / 4 / 300_000) + 1 / 300,
        _rate,
    ),
    Check(
        "match: mean wait of balls that arrive at 2 /s and are taken one by one in 0.3 s [s]",
        f"{_QUEUE}: M/D/1, rho t / (2 (1 - rho)), rho = 0.6",
        "memory",
        0.225,
        0.02,  # four standard errors of eight matches of 3000 s
        _wait,
    ),
    Check(
        "match: mean hits of 12 preloads at 70 %",
        "closed form: binomial law, n p",
        "identity",
        8.4,
        4 * math.sqrt(2.52 / 40_000),
        lambda: _hits()[0],
    ),
    Check(
        "match: standard deviation of the hits of 12 preloads at 70 %",
        "closed form: binomial law, sqrt(n p (1 - p))",
        "identity",
        math.sqrt(2.52),
        4 * math.sqrt(2.52 / 80_000),
        lambda: _hits()[1],
    ),
    Check(
        "match: share of shots that meet a defender who stays 5 s here with a chance of 30 %",
        "closed form: renewal process, the share of the stays",
        "identity",
        0.3,
        4 * math.sqrt(2 * 0.21 * 5.0 / 190.0 / 4000),
        _blocked,
    ),
    Check(
        "match: interval of a launcher that may hold the heat of 5 shots, time constant 20 s [s]",
        "closed form: heat falls from 5 to 4 shots in c ln(5/4)",
        "identity",
        20.0 * math.log(1.25),
        1e-9,
        lambda: _interval(LauncherPace(0.1, hot_shots=5.0, cooling=20.0)),
    ),
    Check(
        "match: 6 m from standstill to standstill, 2 m/s, 1 m/s^2 [s]",
        "closed form: d/v + v/a",
        "identity",
        5.0,
        1e-12,
        lambda: drive_time(6.0, 2.0, 1.0),
    ),
    Check(
        "match: 1 m from standstill to standstill, too short for 2 m/s, 1 m/s^2 [s]",
        "closed form: 2 sqrt(d/a)",
        "identity",
        2.0,
        1e-12,
        lambda: drive_time(1.0, 2.0, 1.0),
    ),
)
