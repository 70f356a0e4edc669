"""A match plan as records: times of the match, robot, launcher's pace, places, defenders, plans."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

WhenBlocked = Literal["next", "wait", "fire"]
InAutonomous = Literal["preloads", "cycle"]


@dataclass(frozen=True, slots=True)
class MatchTimes:
    """How long a match lasts.

    Parameters
    ----------
    length : float
        From the start to the end, the autonomous period included. [s]
    autonomous : float
        Of which first. [s]
    autonomous_factor : float
        Points of a ball in the autonomous period over those of a later one. [-]
    reserve : float
        Kept free at the end for another task; nothing is fired in it. [s]
    """

    length: float
    autonomous: float = 0.0
    autonomous_factor: float = 1.0
    reserve: float = 0.0

    @property
    def last_shot(self) -> float:
        """Time after which nothing is fired. [s]."""
        return self.length - self.reserve


@dataclass(frozen=True, slots=True)
class MatchRobot:
    """How the robot gets about and what it holds.

    Parameters
    ----------
    start : tuple of float
        Where it stands at the start. [m]
    speed, acceleration : float
        Top speed [m/s] and acceleration, the same when braking [m/s^2].
    detour : float
        Length of its way over the straight line. [-]
    storage, preload : int
        Balls that it holds, and balls in it at the start.
    spread : float
        Coefficient of variation of each drive, stop and pick-up. [-]
    """

    start: tuple[float, float]
    speed: float
    acceleration: float
    storage: int
    preload: int = 0
    detour: float = 1.0
    spread: float = 0.0


@dataclass(frozen=True, slots=True)
class LauncherPace:
    """How fast the launcher fires.

    Parameters
    ----------
    recovery : float
        Least time from shot to shot of a cold launcher. [s]
    aim : float
        From arrival to the first shot. [s]
    hot_shots : float
        Shots in quick succession after which it must wait; heat is counted in shots. Infinite: never.
    cooling : float
        Time constant at which heat is lost. [s]
    slower_hot : float
        By how much recovery is longer at `hot_shots`, growing in proportion to the heat. [-]
    jam : float
        Chance that a ball jams on its way in. [-]
    jam_time : float
        Mean time to clear a jam. [s]
    """

    recovery: float
    aim: float = 0.0
    hot_shots: float = float("inf")
    cooling: float = 60.0
    slower_hot: float = 0.0
    jam: float = 0.0
    jam_time: float = 0.0


@dataclass(frozen=True, slots=True)
class MatchPosition:
    """A place to fire from.

    Parameters
    ----------
    name : str
        As in the game, when the game has it.
    x, y : float, optional
        None: as the game says. [m]
    target : str, optional
        Fired at; None: the one with most points to be expected.
    hit, hit_blocked : float, optional
        Chance that a ball scores; and while a defender stands before the position. None: from `scored` or the
        trials for `hit`, nothing scores for `hit_blocked`. [-]
    scored : tuple of int, optional
        Hits and shots counted here, instead of `hit`.
    points : float, optional
        What a score is worth; None: as the target's.
    misses_return : float
        Share of the misses that can be collected again. [-]
    misses_to : str, optional
        Station where they are collected; None: the first one.
    return_time : float
        Until such a ball lies there. [s]
    """

    name: str
    x: float | None = None
    y: float | None = None
    target: str | None = None
    hit: float | None = None
    hit_blocked: float | None = None
    scored: tuple[int, int] | None = None
    points: float | None = None
    misses_return: float = 0.0
    misses_to: str | None = None
    return_time: float = 0.0


@dataclass(frozen=True, slots=True)
class Station:
    """A place where balls are collected.

    Parameters
    ----------
    name : str
        What the crew calls it.
    x, y : float
        [m]
    time_per_ball : float
        To take in one ball. [s]
    balls : int, optional
        How many lie there at the start; None: they never run out.
    arrives : float, optional
        Mean time between further balls that arrive by chance (exponential); None: none arrives. [s]
    """

    name: str
    x: float
    y: float
    time_per_ball: float
    balls: int | None = None
    arrives: float | None = None


@dataclass(frozen=True, slots=True)
class DefenderHabit:
    """An opponent that comes and goes between positions, whatever the robot does.

    It stays for an exponential time, then goes on; each time it picks its place anew.

    Parameters
    ----------
    name : str
        What the crew calls it.
    shares : tuple of (str, float)
        Position that it blocks, and share of its time there; the rest it blocks nothing. [-]
    stay : float
        Mean stay. [s]
    comes : float
        When it begins; before that it blocks nothing. [s]
    """

    name: str
    shares: tuple[tuple[str, float], ...]
    stay: float
    comes: float = 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """What the crew means to do.

    Parameters
    ----------
    name : str
        What the crew calls it.
    positions : tuple of str
        Where to fire from, the preferred one first.
    stations : tuple of str
        Where to collect, the preferred one first; empty: the preloads only.
    in_autonomous : {"preloads", "cycle"}
        Fire the preloads and wait, or go on collecting.
    when_blocked : {"next", "wait", "fire"}
        When a defender stands before a position: take the next one that is free, wait, or fire all the same.
    take : int, optional
        Balls to collect each time; None: as many as it holds.
    """

    name: str
    positions: tuple[str, ...]
    stations: tuple[str, ...] = ()
    in_autonomous: InAutonomous = "preloads"
    when_blocked: WhenBlocked = "next"
    take: int | None = None


@dataclass(frozen=True, slots=True)
class MatchFile:
    """Everything that a match file says.

    Parameters
    ----------
    times, robot, launcher
        Match, robot, launcher's pace.
    positions, stations, defenders, plans
        In the order of the file.
    prototype : str, optional
        Whose trials give the hit probabilities; None: the chosen one, or the only one.
    """

    times: MatchTimes
    robot: MatchRobot
    launcher: LauncherPace
    positions: tuple[MatchPosition, ...]
    stations: tuple[Station, ...]
    defenders: tuple[DefenderHabit, ...]
    plans: tuple[Plan, ...]
    prototype: str | None = None
