"""Matches that queueing theory and the binomial law solve: the simulation must agree."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from shotwright.match.case import Chances, drive_time, match_case
from shotwright.match.match_kernel import (
    AIMING,
    BLOCKED,
    CLEARING,
    COLLECTING,
    DRIVING,
    FIRING,
    HITS,
    IDLE,
    SCORE,
    SHOTS,
)
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

BUDGET = [DRIVING, AIMING, FIRING, BLOCKED, COLLECTING, CLEARING, IDLE]


def match(length, pace, *, hit=1.0, preload=1, station=None, defender=None, when_blocked="next"):
    plan = Plan("plan", ("spot",), () if station is None else ("depot",), "cycle", when_blocked)
    file = MatchFile(
        MatchTimes(length),
        MatchRobot((0.0, 0.0), 1.0, 1.0, max(preload, 1), preload),
        pace,
        (MatchPosition("spot", 0.0, 0.0, hit=hit, points=1.0),),
        () if station is None else (station,),
        () if defender is None else (defender,),
        (plan,),
    )
    return match_case(file, plan)


def chances(matches, defenders=0, stations=0, seed=3):
    return Chances(np.random.SeedSequence(seed), matches, defenders, stations)


def test_hits_of_preloads_are_binomial():
    told = run_plan(match(100.0, LauncherPace(0.5), hit=0.7, preload=12), chances(20_000))
    found = np.bincount(told[:, HITS].astype(int), minlength=13)

    # closed form: binomial law
    wanted = stats.binom(12, 0.7).pmf(np.arange(13)) * len(told)
    assert (told[:, SHOTS] == 12).all()
    some = wanted > 5
    assert stats.chisquare(found[some], wanted[some] * found[some].sum() / wanted[some].sum()).pvalue > 1e-3
    assert told[:, SCORE].mean() == pytest.approx(8.4, abs=4 * math.sqrt(12 * 0.21 / len(told)))


def test_random_feed_with_a_dead_time():
    """Balls that come at random, and a launcher that is deaf for t after each: lam / (1 + lam t)."""
    lam, dead = 2.0, 0.3
    pace = LauncherPace(dead, jam=1.0, jam_time=1 / lam)
    told = run_plan(match(300.0, pace, preload=900), chances(400))

    # closed form: renewal process with mean dead + 1/lam and variance 1/lam^2
    rate = lam / (1 + lam * dead)
    sd = math.sqrt(rate**3 / lam**2 / 300.0 / len(told))
    assert rate == 1.25
    assert told[:, SHOTS].mean() / 300.0 == pytest.approx(rate, abs=4 * sd + 1 / 300.0)


def test_balls_that_queue_for_a_steady_robot():
    """Random arrivals, one ball taken in a fixed time: M/D/1, mean wait rho t / (2 (1 - rho))."""
    lam, t, length = 2.0, 0.3, 3000.0
    case = match(length, LauncherPace(0.02), preload=0, station=Station("depot", 0.0, 0.0, t, 0, 1 / lam))
    waits = []
    for draws in chances(12, 0, 1).drawn(240):
        come = np.cumsum(draws[7] / lam)
        left = np.array([time for time, what, _ in events_of(case, draws) if what == "picked up"])
        wait = (left - t - come[: len(left)])[200:]
        assert wait.min() > -1e-9
        waits.append(wait.mean())

    rho = lam * t
    wanted = rho * t / (2 * (1 - rho))
    sd = np.std(waits, ddof=1) / math.sqrt(len(waits))
    assert wanted == pytest.approx(0.225)
    assert sd < 0.01
    assert np.mean(waits) == pytest.approx(wanted, abs=4 * sd)


def test_a_defender_keeps_to_its_shares():
    habit = DefenderHabit("warden", (("spot", 0.3),), 5.0)
    pace = LauncherPace(0.5)
    told = run_plan(match(200.0, pace, preload=380, defender=habit, when_blocked="fire"), chances(4000, 1))
    blocked = 1 - told[:, HITS].sum() / told[:, SHOTS].sum()

    # renewal process: its share of the time is the share of the stays; correlation time is a mean stay
    sd = math.sqrt(2 * 0.3 * 0.7 * 5.0 / 190.0 / len(told))
    assert blocked == pytest.approx(0.3, abs=4 * sd)


def test_heat_settles_where_theory_says():
    """Shots every r seconds: heat before a shot settles at 1 / (exp(r / c) - 1), a geometric series."""
    r, c, slower, hot = 1.0, 30.0, 0.5, 40.0
    pace = LauncherPace(r, hot_shots=hot, cooling=c, slower_hot=slower)
    case = match(900.0, pace, preload=800)
    times = np.array([time for time, what, _ in events_of(case, chances(1).drawn(16)[0]) if what == "hit"])
    every = float(np.diff(times)[-1])

    # heat after a shot h = 1 / (1 - exp(-every/c)), and every = r (1 + slower h / hot)
    heat = 1 / (1 - math.exp(-every / c))
    assert every == pytest.approx(r * (1 + slower * heat / hot), rel=1e-9)


def test_a_launcher_that_must_cool_fires_at_the_rate_of_its_cooling():
    case = match(900.0, LauncherPace(0.1, hot_shots=5.0, cooling=20.0), preload=300)
    times = np.array([time for time, what, _ in events_of(case, chances(1).drawn(16)[0]) if what == "hit"])

    # closed form: heat falls from 5 to 4 shots in c ln(5/4)
    assert np.diff(times)[-10:] == pytest.approx(np.full(10, 20.0 * math.log(5 / 4)), rel=1e-9)


def test_the_cycle_without_chance():
    """Drive, pick up, drive, aim, fire: everything steady, so the count of cycles is arithmetic."""
    station = Station("depot", 4.0, 0.0, 0.5)
    case = match(500.0, LauncherPace(0.4, aim=1.0), preload=0, station=station)
    told = run_plan(case, chances(1, 0, 1))[0]
    way = drive_time(4.0, 1.0, 1.0)

    # one ball a cycle: pick up 0.5 s, way, aim 1 s, fire, way
    assert way == 5.0
    assert told[SHOTS] == math.floor((500.0 - way - (0.5 + way + 1.0)) / (0.5 + 2 * way + 1.0)) + 1


def test_the_budget_of_time_adds_up():
    habit = DefenderHabit("warden", (("spot", 0.4),), 5.0)
    pace = LauncherPace(0.9, aim=1.0, jam=0.1, jam_time=3.0)
    station = Station("depot", 3.0, 1.0, 0.8, 5, 4.0)
    told = run_plan(match(150.0, pace, preload=3, station=station, defender=habit), chances(50, 1, 1))

    assert told[:, BUDGET].sum(axis=1) == pytest.approx(np.full(50, 150.0), abs=1e-9)
