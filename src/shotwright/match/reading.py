"""The match file: TOML that a crew writes about its match, its robot's pace and its plans.

``docs/match.md`` explains every key. All problems of a file are reported at once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import cast

from shotwright.base.toml_tables import Section, check_unique, parse_toml, raise_problems
from shotwright.match.records import (
    DefenderHabit,
    InAutonomous,
    LauncherPace,
    MatchFile,
    MatchPosition,
    MatchRobot,
    MatchTimes,
    Plan,
    Station,
    WhenBlocked,
)

_LONGEST = 3600.0  # s; no match is longer, so it is a slip of the unit
_MOST_BALLS = 1000
_LEAST_STEP = 0.02  # s; nothing that is fired or collected is faster


def match_from_text(text: str, file_name: str = "match.toml") -> MatchFile:
    r"""Read a match file.

    Parameters
    ----------
    text : str
        TOML.
    file_name : str
        How messages name the file.

    Returns
    -------
    MatchFile
        What it says, in SI.

    Raises
    ------
    BadInput
        The text is not TOML.
    BadFile
        Everything that is wrong in it, one line for each problem.

    Examples
    --------
    >>> match_from_text('[match]\nlength = "150"')
    Traceback (most recent call last):
    ...
    shotwright.base.errors.BadFile: match.toml, [match], length: '150' has no unit; ...
    """
    top = Section(parse_toml(text, file_name), "", file_name, [])
    times = _times(top.section("match"))
    robot = _robot(top.section("robot"))
    pace, prototype = _pace(top.section("launcher"))
    placed = [(s, _position(s)) for s in top.sections("position", required=True)]
    stations = [(s, _station(s)) for s in top.sections("station")]
    defenders = [(s, _defender(s, times)) for s in top.sections("defender")]
    plans = [(s, _plan(s, robot.storage)) for s in top.sections("plan", required=True)]
    for found, what in (
        (placed, "position"),
        (stations, "station"),
        (defenders, "defender"),
        (plans, "plan"),
    ):
        check_unique([(section, one.name) for section, one in found], what)
    known, depots = [one.name for _, one in placed], [one.name for _, one in stations]
    for section, position in placed:
        _known(section, "misses_to", [position.misses_to] if position.misses_to else [], depots)
        if position.misses_return > 0 and not depots:
            section.problem("there is no [[station]] to collect them at", "misses_return")
    for section, defender in defenders:
        _known(section, "blocks", [name for name, _ in defender.shares], known)
    for section, plan in plans:
        _known(section, "positions", plan.positions, known)
        _known(section, "stations", plan.stations, depots)
    top.finish()
    raise_problems(top.problems)
    return MatchFile(
        times,
        robot,
        pace,
        tuple(one for _, one in placed),
        tuple(one for _, one in stations),
        tuple(one for _, one in defenders),
        tuple(one for _, one in plans),
        prototype,
    )


def _known(section: Section, key: str, names: Sequence[str], known: Sequence[str]) -> None:
    for name in names:
        if name not in known:
            section.problem(f"there is no {name!r} in this file; there is: {', '.join(known) or 'none'}", key)


def _times(section: Section) -> MatchTimes:
    length = section.quantity("length", "time", "150 s", above=0.0, most=_LONGEST, allowed="up to 1 h")
    found = MatchTimes(
        length=length,
        autonomous=section.quantity("autonomous", "time", "15 s", 0.0, least=0.0),
        autonomous_factor=section.number("autonomous_factor", 1.0, "2", least=0.0),
        reserve=section.quantity("reserve", "time", "10 s", 0.0, least=0.0),
    )
    for key, value in (("autonomous", found.autonomous), ("reserve", found.reserve)):
        if value > length:
            section.problem(f"{value:g} s is longer than the match of {length:g} s", key)
    section.finish()
    return found


def _robot(section: Section) -> MatchRobot:
    start = section.raw("start")
    if start is None:
        section.problem('is missing; e.g. start = ["1 m", "2.5 m"]', "start")
        place: tuple[float, ...] = (math.nan, math.nan)
    else:
        place = section.vector("start", start, "length", 2, '["1 m", "2.5 m"]')
    storage = _count(section, "storage", least=1)
    preload = section.whole("preload") or 0
    if preload > storage:
        section.problem(f"{preload} is more than the {storage} that it holds", "preload")
    rate = section.raw("acceleration")
    acceleration = math.nan
    if rate is None:
        section.problem('is missing; e.g. acceleration = "2 m/s^2"', "acceleration")
    else:
        acceleration = section.parse("acceleration", rate, "acceleration", above=0.0)
    found = MatchRobot(
        start=(place[0], place[1]),
        speed=section.quantity("speed", "speed", "2.5 m/s", above=0.0),
        acceleration=acceleration,
        storage=storage,
        preload=preload,
        detour=section.number("detour", 1.0, "1.2", least=1.0),
        spread=section.quantity("spread", "fraction", "20 %", 0.0, least=0.0, most=1.0),
    )
    section.finish()
    return found


def _count(section: Section, key: str, least: int) -> int:
    if key not in section:
        section.problem(f"is missing; e.g. {key} = 3", key)
        section.raw(key)
        return least
    value = section.whole(key, least)
    if value is not None and value > _MOST_BALLS:
        section.problem(f"{value} is not allowed; at most {_MOST_BALLS}", key)
    return least if value is None else value


def _pace(section: Section) -> tuple[LauncherPace, str | None]:
    prototype = section.text("prototype", "", "piston") or None
    found = LauncherPace(
        recovery=section.quantity("recovery", "time", "0.8 s", least=_LEAST_STEP),
        aim=section.quantity("aim", "time", "1 s", 0.0, least=0.0),
        hot_shots=section.number("hot_shots", math.inf, "12", least=2.0),
        cooling=section.quantity("cooling", "time", "40 s", 60.0, above=0.0),
        slower_hot=section.quantity("slower_hot", "fraction", "50 %", 0.0, least=0.0),
        jam=section.quantity("jam", "fraction", "1 %", 0.0, least=0.0, most=1.0),
        jam_time=section.quantity("jam_time", "time", "4 s", 0.0, least=0.0),
    )
    section.finish()
    return found, prototype


def _position(section: Section) -> MatchPosition:
    name = section.name("rail")
    found = MatchPosition(
        name=name,
        x=section.optional("x", "length"),
        y=section.optional("y", "length"),
        target=section.text("target", "", "lantern") or None,
        hit=section.optional("hit", "fraction", least=0.0, most=1.0),
        hit_blocked=section.optional("hit_blocked", "fraction", least=0.0, most=1.0),
        scored=_scored(section),
        points=None if "points" not in section else section.number("points", None, "3", least=0.0),
        misses_return=section.quantity("misses_return", "fraction", "50 %", 0.0, least=0.0, most=1.0),
        misses_to=section.text("misses_to", "", "depot") or None,
        return_time=section.quantity("return_time", "time", "5 s", 0.0, least=0.0),
    )
    if (found.x is None) != (found.y is None):
        section.problem("give both x and y, or neither and the game's are taken", "x")
    section.finish()
    return found


def _scored(section: Section) -> tuple[int, int] | None:
    typed = section.text("scored", "", "13 of 20")
    found = re.fullmatch(r"\s*(\d{1,6})\s+of\s+(\d{1,6})\s*", typed)
    if typed and found is None:
        section.problem(f'{typed!r} is no count; e.g. scored = "13 of 20"', "scored")
    if found is None:
        return None
    hits, shots = int(found[1]), int(found[2])
    if hits > shots or shots < 1:
        section.problem(f"{typed!r} is no count: hits of shots, no more hits than shots", "scored")
    if "hit" in section:
        section.problem("give either hit or scored", "scored")
    return hits, shots


def _station(section: Section) -> Station:
    balls = section.whole("balls") if "balls" in section else None
    if balls is not None and balls > _MOST_BALLS:
        section.problem(f"{balls} is not allowed; at most {_MOST_BALLS}", "balls")
    arrives = section.optional("arrives", "time", least=0.1)
    if arrives is not None and balls is None:
        section.problem("balls that never run out need no more; say how many lie there: balls = 0", "arrives")
    found = Station(
        name=section.name("depot"),
        x=section.quantity("x", "length", "1 m"),
        y=section.quantity("y", "length", "5 m"),
        time_per_ball=section.quantity("time_per_ball", "time", "0.8 s", least=_LEAST_STEP),
        balls=balls,
        arrives=arrives,
    )
    section.finish()
    return found


def _defender(section: Section, times: MatchTimes) -> DefenderHabit:
    name = section.name("warden")
    blocks = section.raw("blocks")
    shares: list[tuple[str, float]] = []
    if not isinstance(blocks, dict) or not blocks:
        section.problem('says no position; e.g. blocks = { rail = "40 %" }', "blocks")
    else:
        shares = [
            (one, section.parse("blocks", share, "fraction", least=0.0, most=1.0))
            for one, share in blocks.items()
        ]
        total = sum(share for _, share in shares)
        if total > 1.0 + 1e-9:
            section.problem(f"the shares add up to {100 * total:.4g} %; at most 100 %", "blocks")
    found = DefenderHabit(
        name=name,
        shares=tuple(shares),
        stay=section.quantity("stay", "time", "8 s", least=0.5),
        comes=section.quantity("comes", "time", "15 s", times.autonomous, least=0.0),
    )
    section.finish()
    return found


def _plan(section: Section, storage: int) -> Plan:
    name = section.name("rail first")
    positions = section.names("positions")
    if not positions:
        section.problem('is missing; e.g. positions = ["rail", "open yard"]', "positions")
    take = section.whole("take", 1) if "take" in section else None
    if take is not None and take > storage:
        section.problem(f"{take} is more than the {storage} that the robot holds", "take")
    found = Plan(
        name=name,
        positions=positions,
        stations=section.names("stations"),
        in_autonomous=cast(InAutonomous, section.choice("in_autonomous", ("preloads", "cycle"), "preloads")),
        when_blocked=cast(WhenBlocked, section.choice("when_blocked", ("next", "wait", "fire"), "next")),
        take=take,
    )
    section.finish()
    return found
