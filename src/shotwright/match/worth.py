"""What an improvement is worth in points: the same matches with and without it."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimate
from shotwright.match.case import MatchCase, match_case
from shotwright.match.records import LauncherPace, MatchFile, MatchRobot, Plan, Station

FloatArray = NDArray[np.float64]

PAIRED = "mean of the same matches with and without; the interval is the error of their number"


@dataclass(frozen=True, slots=True, eq=False)
class Variant:
    """A plan with one thing changed.

    Parameters
    ----------
    what : str
        The change in words.
    case : MatchCase
        Ready to be run.
    """

    what: str
    case: MatchCase


def case_of(file: MatchFile, plan: Plan, hit: FloatArray) -> MatchCase:
    """Return a plan as arrays, with hit probabilities drawn from what is known of them.

    Parameters
    ----------
    file : MatchFile
        With places, points and mean hit probabilities.
    plan : Plan
        One of its plans.
    hit : ndarray, shape (m, n)
        Draws for each position. [-]

    Returns
    -------
    MatchCase
        Ready to be run.
    """
    return dataclasses.replace(match_case(file, plan), hit=hit)


def improvements(file: MatchFile, plan: Plan, hit: FloatArray) -> tuple[Variant, ...]:
    """List what a crew can work on, each as a variant of a plan.

    Parameters
    ----------
    file : MatchFile
        With places, points and mean hit probabilities.
    plan : Plan
        The plan to improve.
    hit : ndarray, shape (m, n)
        Draws for each position. [-]

    Returns
    -------
    tuple of Variant
        One point of hit probability, everywhere and at each position; a second less of recovery and of
        aiming, or half of what there is of it; a ball more of storage; a tenth quicker driving and
        collecting; half the jams.
    """
    found: list[Variant] = []

    def add(what: str, changed: MatchFile, chance: FloatArray = hit) -> None:
        found.append(Variant(what, case_of(changed, plan, chance)))

    add("1 point more hit probability at every position", file, np.minimum(hit + 0.01, 1.0))
    names = [one.name for one in file.positions]
    if len(plan.positions) > 1:
        for name in plan.positions:
            better = hit.copy()
            better[:, names.index(name)] = np.minimum(better[:, names.index(name)] + 0.01, 1.0)
            add(f"1 point more hit probability at {name}", file, better)
    pace, robot = file.launcher, file.robot
    with_pace = partial(dataclasses.replace, pace)
    less = min(1.0, pace.recovery / 2)
    add(f"{less:.3g} s less recovery", _paced(file, with_pace(recovery=pace.recovery - less)))
    if pace.aim > 0:
        less = min(1.0, pace.aim / 2)
        add(f"{less:.3g} s less aiming", _paced(file, with_pace(aim=pace.aim - less)))
    if pace.jam > 0 and pace.jam_time > 0:
        add("half as many jams", _paced(file, with_pace(jam=pace.jam / 2)))
    if plan.stations and plan.take is None:
        add("1 ball more storage", _robot(file, dataclasses.replace(robot, storage=robot.storage + 1)))
    add("10 % more top speed", _robot(file, dataclasses.replace(robot, speed=1.1 * robot.speed)))
    if plan.stations:
        quicker = tuple(_quicker(one) for one in file.stations)
        add("balls picked up in 10 % less time", dataclasses.replace(file, stations=quicker))
    return tuple(found)


def _paced(file: MatchFile, pace: LauncherPace) -> MatchFile:
    return dataclasses.replace(file, launcher=pace)


def _robot(file: MatchFile, robot: MatchRobot) -> MatchFile:
    return dataclasses.replace(file, robot=robot)


def _quicker(station: Station) -> Station:
    return dataclasses.replace(station, time_per_ball=0.9 * station.time_per_ball)


def second_choices(file: MatchFile, plan: Plan, hit: FloatArray) -> tuple[Variant, ...]:
    """List what may be done when a plan's first position is blocked.

    Parameters
    ----------
    file : MatchFile
        With places, points and mean hit probabilities.
    plan : Plan
        Its first position stays the first.
    hit : ndarray, shape (m, n)
        Draws for each position. [-]

    Returns
    -------
    tuple of Variant
        Each other position as the second, waiting, firing all the same; empty when no defender ever blocks
        the first position.
    """
    first = plan.positions[0]
    if not any(share > 0 and name == first for one in file.defenders for name, share in one.shares):
        return ()
    found = [
        Variant(
            one.name,
            case_of(file, dataclasses.replace(plan, positions=(first, one.name), when_blocked="next"), hit),
        )
        for one in file.positions
        if one.name != first
    ]
    alone = dataclasses.replace(plan, positions=(first,))
    found.append(Variant("wait", case_of(file, dataclasses.replace(alone, when_blocked="wait"), hit)))
    found.append(
        Variant("fire all the same", case_of(file, dataclasses.replace(alone, when_blocked="fire"), hit))
    )
    return tuple(found)


def mean_of(values: FloatArray, method: str) -> Estimate:
    """Return the mean of values of independent matches with its 95 % interval.

    Parameters
    ----------
    values : ndarray, shape (m,)
        One for each match.
    method : str
        What the interval is.

    Returns
    -------
    Estimate
        Normal interval; the number of matches is large.
    """
    mean = float(values.mean())
    half = 1.959964 * float(values.std(ddof=1)) / len(values) ** 0.5 if len(values) > 1 else float("inf")
    return Estimate(mean, mean - half, mean + half, 0.95, method)
