"""Pages of the notebook for the robot around the launcher."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from functools import partial

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import Estimate, in_words
from shotwright.base.progress import Progress, silent
from shotwright.bench.robot_brake import brake, brake_drawing
from shotwright.bench.robot_feed import feed, feed_drawing
from shotwright.bench.robot_power import power, power_drawing
from shotwright.bench.robot_tilt import tilt, tilt_drawing
from shotwright.bench.robots import FoundRobot, drive_base, drive_drawing
from shotwright.bench.workbook import Workbook
from shotwright.notebook.blocks import Column, Table
from shotwright.notebook.robot import RobotPage
from shotwright.robot.description import BrakePart, DrivePart, Robot, TiltPart
from shotwright.robot.elevations import ElevationWay
from shotwright.robot.feed import Feed
from shotwright.robot.reading import robot_from_text
from shotwright.robot.sprint_run import run_sprint


def robot_pages(book: Workbook, *, seed: int = 1, progress: Progress = silent) -> tuple[RobotPage, ...]:
    """Work out every part of the robot that the project keeps.

    Parameters
    ----------
    book : Workbook
        The loaded project.
    seed : int
        Of the draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    tuple of RobotPage
        Empty when no robot is kept. A part that can't be worked out says why.
    """
    text = book.crew_files.get("robot")
    if text is None:
        return ()
    robot = robot_from_text(text)
    found = FoundRobot(robot, book)
    parts: list[tuple[str, str, object, Callable[[FoundRobot], RobotPage]]] = [
        ("drive-base", "Drive base", robot.drive_base, _drive_page),
        ("tilt", "Tilt", robot.tilt, partial(_tilt_page, seed=seed, progress=progress)),
        ("feed", "Feed and storage", robot.feed, _feed_page),
        ("brake", "Brake", robot.brake, _brake_page),
        ("power", "Power budget", robot.power, _power_page),
    ]
    pages: list[RobotPage] = []
    said: set[str] = set()
    for key, title, part, page in parts:
        if part is None:
            continue
        try:
            one = page(found)
            fresh = tuple(words for words in one.cautions if words not in said)
            said |= set(one.cautions)  # a caution is printed once
            pages.append(dataclasses.replace(one, cautions=fresh))
        except (BadInput, NoAnswer) as reason:
            pages.append(RobotPage(key, title, problem=f"{reason}."))
    return tuple(pages)


def _drive_page(found: FoundRobot) -> RobotPage:
    part = found.robot.drive_base
    assert isinstance(part, DrivePart)
    told = drive_base(found)
    rows = tuple(
        (
            f"{row.distance_m:g}",
            str(row.times),
            f"{row.time_s:.2f}",
            f"{row.end_speed_m_s:.2f}",
            f"{row.full_voltage_s:.2f}",
            f"{row.peak_a:.0f}",
            f"{row.lowest_v:.1f}",
        )
        for row in told.sprints
    )
    columns = (
        Column("sprint [m]", True),
        Column("times", True),
        Column("takes [s]", True),
        Column("end speed [m/s]", True),
        Column("full voltage [s]", True),
        Column("battery [A]", True),
        Column("least [V]", True),
    )
    run = run_sprint(part.base, part.mix.sprints[0][0], start=part.start)
    return RobotPage(
        "drive-base",
        "Drive base",
        told.words,
        told.cautions,
        (Table("Sprints of the match, predicted.", columns, rows),),
        "All sprints of the match against pushing force, and against the ratio; the first sprint.",
        lambda key, width: drive_drawing(told.map, told.ratio, run, key=key, width=width),
    )


def _tilt_page(found: FoundRobot, seed: int, progress: Progress) -> RobotPage:
    part = found.robot.tilt
    assert isinstance(part, TiltPart)
    told = tilt(found, fixed=False, seed=seed, progress=progress)
    needed = tuple(row.elevation_deg for row in told.holds)
    tables = (_ways_table(told.ways),) if isinstance(told.ways, tuple) else ()
    return RobotPage(
        "tilt",
        "Tilt",
        told.words,
        told.cautions,
        tables,
        "Torque of the launcher's weight, and current of the motor, against elevation.",
        lambda key, width: tilt_drawing(part.tilt, needed, key=key, width=width),
    )


def _ways_table(ways: tuple[ElevationWay, ...]) -> Table:
    columns = (
        Column("way to tilt", share=1.6),
        Column("position to target", share=1.6),
        Column("elevation [°]", True),
        Column("hit probability", share=1.4),
        Column("given away", share=1.4),
    )
    rows = tuple(
        (
            way.name,
            f"{row.position} to {row.target}",
            "–" if row.elevation_deg is None else f"{row.elevation_deg:.1f}",
            in_words(row.probability, "%", 100.0),
            in_words(row.loss, "%", 100.0) if isinstance(row.loss, Estimate) else "–",
        )
        for way in ways
        for row in way.rows
    )
    return Table("Ways to tilt, each at its best settings.", columns, rows)


def _feed_page(found: FoundRobot) -> RobotPage:
    part, book = found.robot.feed, found.book
    assert isinstance(part, Feed)
    assert book is not None
    told = feed(found)
    ball = book.needed_game().ball
    return RobotPage(
        "feed",
        "Feed and storage",
        told.words,
        told.cautions,
        caption="How hard a full channel pushes at its end, against its width.",
        draw=lambda key, width: feed_drawing(part, ball, max(told.rate.capacity, 2), key=key, width=width),
    )


def _brake_page(found: FoundRobot) -> RobotPage:
    part = found.robot.brake
    assert isinstance(part, BrakePart)
    told = brake(found)
    columns = (
        Column("bore [mm]", True),
        Column("on the pads [N]", True),
        Column("held [N]", True),
        Column("holds"),
        Column("lifts the robot"),
        Column("strokes of a fill", True),
    )
    rows = tuple(
        (
            str(row.bore_mm),
            f"{row.force_n:.0f}",
            f"{row.held_n:.0f}",
            "yes" if row.holds else "no",
            "yes" if row.lifts else "no",
            f"{row.strokes:.0f}",
        )
        for row in told.bores
    )
    tables = (Table("Bores of the standard series.", columns, rows),) if rows else ()
    return RobotPage(
        "brake",
        "Brake",
        told.words,
        told.cautions,
        tables,
        "Force held against force on the pads" + ("; the reservoir over the match." if told.match else "."),
        lambda key, width: brake_drawing(part, told.hold, told.match, key=key, width=width),
    )


def _power_page(found: FoundRobot) -> RobotPage:
    told = power(found)
    lowest = _lowest(found.robot)
    columns = (
        Column("load", share=1.4),
        Column("motors", True),
        Column("times", True),
        Column("energy [J]", True),
        Column("waited", True),
        Column("at most [s]", True),
        Column("without room", True),
    )
    rows = tuple(
        (
            row.name,
            str(row.motors),
            str(row.times),
            f"{row.energy_j:.0f}",
            str(row.waited),
            f"{row.longest_wait_s:.2f}",
            str(row.forced),
        )
        for row in told.waiting.rows
    )
    return RobotPage(
        "power",
        "Power budget",
        told.words,
        told.cautions,
        (Table("Loads of the match, with waiting.", columns, rows),),
        "Who runs when, with waiting; current and voltage of the battery.",
        lambda key, width: power_drawing(told.at_once, told.waiting, lowest, key=key, width=width),
    )


def _lowest(robot: Robot) -> float:
    return robot.power.budget.lowest_voltage if robot.power is not None else math.nan
