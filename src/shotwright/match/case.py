"""A plan resolved into arrays: what one match needs, and the chances that decide it. SI inside."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.match.records import MatchFile, MatchPosition, Plan

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# entries of the parameters of a match
(LAST, AUTO, FACTOR, AUTO_WAIT, RULE, PRELOAD, TAKE, AIM, RECOVERY, HOT, COOLING, SLOWER, JAM, JAM_TIME,
 SIGMA) = range(15)  # fmt: skip
NEXT, WAIT, FIRE = 0, 1, 2
_RULES = {"next": NEXT, "wait": WAIT, "fire": FIRE}
# columns of a position
HIT_BLOCKED, POINTS, RETURNS, RETURN_TO, RETURN_TIME = range(5)
# columns of a station
PER_BALL, STOCK, ARRIVES = 0, 1, 2
ENDLESS = -1.0
# rows of the chances; two more for each defender: stay, where; then one for each station: arrivals
DRIVE, STOP, PICK, SHOT, RETURN, JAMMED, CLEAR = range(7)
ROWS = 7


@dataclass(frozen=True, slots=True, eq=False)
class MatchCase:
    """One plan as arrays; nodes are the start, the positions, the stations, in this order.

    Parameters
    ----------
    plan : Plan
        What it is of.
    positions, stations : tuple of str
        Names, in the order of the rows.
    params : ndarray, shape (15,)
        [SI]
    travel : ndarray, shape (k, k)
        Mean time from node to node. [s]
    spots : ndarray, shape (n, 5)
        Of the positions. [SI]
    hit : ndarray, shape (n,) or (m, n)
        Chance that a ball scores, the same for all matches, or m rows that the matches take in turn. [-]
    depots : ndarray, shape (d, 3)
        Of the stations; a stock of -1 never runs out, an infinite time between arrivals is none.
    order, route : ndarray of int
        Positions and stations of the plan, the preferred first.
    shares : ndarray, shape (k, n)
        Of each defender's time, the part before each position, cumulated. [-]
    stay, comes : ndarray, shape (k,)
        [s]
    """

    plan: Plan
    positions: tuple[str, ...]
    stations: tuple[str, ...]
    params: FloatArray
    travel: FloatArray
    spots: FloatArray
    hit: FloatArray
    depots: FloatArray
    order: IntArray
    route: IntArray
    shares: FloatArray
    stay: FloatArray
    comes: FloatArray


def drive_time(distance: float, speed: float, acceleration: float) -> float:
    r"""Time over a distance from standstill to standstill, with equal acceleration and braking.

    .. math:: t = d/v + v/a \text{ for } d \ge v^2/a, \qquad t = 2\sqrt{d/a} \text{ else}

    Parameters
    ----------
    distance : float
        [m]
    speed : float
        Top speed. [m/s]
    acceleration : float
        [m/s^2]

    Returns
    -------
    float
        [s]

    Examples
    --------
    >>> drive_time(6.0, 2.0, 1.0), drive_time(1.0, 2.0, 1.0)
    (5.0, 2.0)
    """
    if distance >= speed**2 / acceleration:
        return distance / speed + speed / acceleration
    return 2 * math.sqrt(distance / acceleration)


def match_case(file: MatchFile, plan: Plan) -> MatchCase:
    """Turn a plan of a match file into arrays.

    Parameters
    ----------
    file : MatchFile
        Every position has its place, points and hit probability by now.
    plan : Plan
        One of its plans.

    Returns
    -------
    MatchCase
        Ready to be run.

    Raises
    ------
    BadInput
        A position without place, points or hit probability.
    """
    names = [one.name for one in file.positions]
    depots = [one.name for one in file.stations]
    places = [file.robot.start]
    places += [(_needed(one, "x"), _needed(one, "y")) for one in file.positions]
    places += [(one.x, one.y) for one in file.stations]
    times, robot, pace = file.times, file.robot, file.launcher
    travel = [
        [drive_time(robot.detour * math.dist(a, b), robot.speed, robot.acceleration) for b in places]
        for a in places
    ]
    params = np.zeros(15)
    params[[LAST, AUTO, FACTOR]] = times.last_shot, times.autonomous, times.autonomous_factor
    params[[AUTO_WAIT, RULE]] = plan.in_autonomous == "preloads", _RULES[plan.when_blocked]
    params[[PRELOAD, TAKE]] = robot.preload, min(plan.take or robot.storage, robot.storage)
    params[[AIM, RECOVERY, HOT, COOLING]] = pace.aim, pace.recovery, pace.hot_shots, pace.cooling
    params[[SLOWER, JAM, JAM_TIME]] = pace.slower_hot, pace.jam, pace.jam_time
    params[SIGMA] = math.sqrt(math.log1p(robot.spread**2))
    spots = np.array([_spot(one, depots) for one in file.positions])
    return MatchCase(
        plan=plan,
        positions=tuple(names),
        stations=tuple(depots),
        params=params,
        travel=np.array(travel),
        spots=spots,
        hit=np.array([_needed(one, "hit") for one in file.positions]),
        depots=np.array(
            [
                (one.time_per_ball, ENDLESS if one.balls is None else one.balls, one.arrives or math.inf)
                for one in file.stations
            ],
            dtype=float,
        ).reshape(-1, 3),
        order=np.array([names.index(name) for name in plan.positions], dtype=np.int64),
        route=np.array([depots.index(name) for name in plan.stations], dtype=np.int64),
        shares=np.array(
            [np.cumsum([dict(one.shares).get(name, 0.0) for name in names]) for one in file.defenders]
        ).reshape(-1, len(names)),
        stay=np.array([one.stay for one in file.defenders]),
        comes=np.array([one.comes for one in file.defenders]),
    )


def _needed(position: MatchPosition, key: str) -> float:
    value = getattr(position, key)
    if value is None:
        raise BadInput(
            "is missing, and no game or trial gives it", field=f'position "{position.name}", {key}'
        )
    return float(value)


def _spot(position: MatchPosition, depots: list[str]) -> tuple[float, ...]:
    back = depots.index(position.misses_to) if position.misses_to else 0
    blocked = position.hit_blocked or 0.0
    points = _needed(position, "points")
    return blocked, points, position.misses_return if depots else 0.0, float(back), position.return_time


@dataclass(frozen=True, slots=True)
class Chances:
    """What decides the matches of one chunk, whatever the plan: the same numbers for every plan and variant.

    Row r of match i belongs to one purpose and is used up in order, so that a shot more in one plan shifts
    nothing else.

    Parameters
    ----------
    seed : numpy.random.SeedSequence
        Of this chunk.
    matches : int
        How many.
    defenders, stations : int
        How many.
    """

    seed: np.random.SeedSequence
    matches: int
    defenders: int
    stations: int = 0

    def drawn(self, blocks: int) -> FloatArray:
        """Draw `blocks` times 64 numbers for each purpose; more blocks begin with the same numbers.

        Parameters
        ----------
        blocks : int
            How many.

        Returns
        -------
        ndarray, shape (matches, 7 + 2 defenders + stations, 64 blocks)
            Standard normal in the rows of drives, stops and pick-ups; exponential with mean 1 in those of
            clearing, staying and arriving; else uniform from 0 to 1. [-]
        """
        parts = [self._block(number) for number in range(blocks)]
        return parts[0] if blocks == 1 else np.concatenate(parts, axis=2)

    def _block(self, number: int) -> FloatArray:
        seed = np.random.SeedSequence(self.seed.entropy, spawn_key=(*self.seed.spawn_key, number))
        rng = np.random.default_rng(seed)
        habits = ROWS + 2 * self.defenders
        drawn = np.empty((self.matches, habits + self.stations, _BLOCK))
        shape = (self.matches, _BLOCK)
        for row in range(drawn.shape[1]):
            if row in (DRIVE, STOP, PICK):
                drawn[:, row] = rng.standard_normal(shape)
            elif row == CLEAR or row >= habits or (row >= ROWS and (row - ROWS) % 2 == 0):
                drawn[:, row] = rng.standard_exponential(shape)
            else:
                drawn[:, row] = rng.random(shape)
        return drawn


_BLOCK = 64
