"""The robot described by a form: what is asked, what is typed so far, and the file that says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.bench.drive_fields import DriveGroup
from shotwright.bench.form_tables import fields_of_table, list_groups
from shotwright.bench.robot_fields import (
    COUNTS,
    LISTS,
    MAY_BE_EMPTY,
    SECTIONS,
    SHARED,
    SINGLE,
    asked_with,
)
from shotwright.bench.robot_text import (
    counts_text,
    example_text,
    motor_names,
    table_at,
    typed_robot,
    with_robot_table,
    without_launcher,
    without_robot_table,
)
from shotwright.bench.workbook import opened
from shotwright.robot.reading import robot_from_text

KIND = "robot"
_INVENTED = "# INVENTED"


@dataclass(frozen=True, slots=True)
class RobotSection(Result):
    """A part of the robot as a form.

    Parameters
    ----------
    key : str
        ``"drive-base"``, ``"tilt"``, ``"feed"``, ``"brake"``, ``"power"``.
    title : str
        Above it.
    there : bool
        Whether the file describes it.
    groups : tuple of DriveGroup
        Table by table; empty when it is not there.
    adds : tuple of (str, str)
        Tables that can be added, each with words for the button.
    """

    key: str
    title: str
    there: bool
    groups: tuple[DriveGroup, ...]
    adds: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class RobotForm(Result):
    """The form of a project's robot.

    Parameters
    ----------
    name : str
        Of the robot.
    shared : tuple of DriveGroup
        What all parts share: robot, opponent, motors, battery.
    sections : tuple of RobotSection
        The five parts.
    invented : bool
        Whether the file says of itself that its numbers are made up.
    text : str
        The file.
    """

    name: str
    shared: tuple[DriveGroup, ...]
    sections: tuple[RobotSection, ...]
    invented: bool
    text: str


def robot_form(project: Path) -> RobotForm | None:
    """Return the form of the robot, filled in with what its file says.

    Parameters
    ----------
    project : Path
        The project file.

    Returns
    -------
    RobotForm or None
        None when the project keeps no robot.
    """
    with opened(project, read_only=True) as file:
        text = file.crew_files().get(KIND)
        launchers = [one.name for one in file.prototypes()]
    if text is None:
        return None
    held: dict[str, Any] = tomlkit.parse(text).unwrap()
    motors = motor_names(held)

    def groups(places: tuple[str, ...]) -> tuple[DriveGroup, ...]:
        return tuple(group for place in places for group in _groups(held, place, motors, launchers))

    sections = []
    for key, (title, places, adds) in SECTIONS.items():
        there = key in held
        if there and key == "brake":
            sprung = "spring" in held["brake"]
            other = (
                ("brake.air", "Press by air instead")
                if sprung
                else ("brake.spring", "Press by springs instead")
            )
            places, adds = tuple(one for one in places if one != other[0]), (other,)
        sections.append(
            RobotSection(key, title, there, groups(places) if there else (), adds if there else ())
        )
    invented = any(line.startswith(_INVENTED) for line in text.splitlines())
    return RobotForm(str(held.get("name", "robot")), groups(SHARED), tuple(sections), invented, text)


def _groups(held: Mapping[str, Any], place: str, motors: list[str], launchers: list[str]) -> list[DriveGroup]:
    found = table_at(held, place)
    if place in LISTS:
        title, asked = LISTS[place]
        return list_groups(place, title, asked, found or [], keep_one=place not in MAY_BE_EMPTY)
    title, asked = SINGLE[place]
    asked = asked_with(asked, motors, launchers)
    values = dict(found or {})
    for one in asked:
        if one.kind == COUNTS and one.key in values:
            values[one.key] = counts_text(values[one.key])
    return [DriveGroup(place, title, tuple(fields_of_table(place, asked, values)))]


def robot_text(project: Path) -> str | None:
    """Return the robot's file; None when the project keeps none."""
    with opened(project, read_only=True) as file:
        return file.crew_files().get(KIND)


def put_robot_text(project: Path, text: str | None) -> str | None:
    """Keep the robot's file as text, checked; None forgets it.

    Parameters
    ----------
    project : Path
        The project file.
    text : str or None
        TOML.

    Returns
    -------
    str or None
        What was kept before.

    Raises
    ------
    BadInput
        All that is wrong in it; nothing is kept.
    """
    if text is not None:
        robot_from_text(text, "form")
    with opened(project) as file, file.transaction():
        before = file.crew_files().get(KIND)
        if text is None:
            file.drop_crew_file(KIND)
        elif text != before:
            file.put_crew_file(KIND, text)
    return before


def start_robot(project: Path) -> str | None:
    """Keep the demonstration's robot, which is invented, to be changed; return what was kept before.

    Parameters
    ----------
    project : Path
        The project file.

    Returns
    -------
    str or None
        None when there was no robot.

    Raises
    ------
    BadInput
        The project keeps a robot already.
    """
    with opened(project, read_only=True) as file:
        launchers = tuple(one.name for one in file.prototypes())
        known = file.crew_files().get(KIND)
    if known is not None:
        raise BadInput("the project keeps a robot already; drop it first", field=KIND)
    return put_robot_text(project, without_launcher(example_text(), launchers))


def save_robot(project: Path, typed: Mapping[str, str]) -> str:
    """Keep the robot as typed into the form; comments in its file stay.

    Parameters
    ----------
    project : Path
        The project file.
    typed : mapping of str to str
        By field.

    Returns
    -------
    str
        Its file as it was.

    Raises
    ------
    BadFile
        Everything that can't be read; nothing is kept.
    """
    before = _needed(project)
    put_robot_text(project, typed_robot(before, typed))
    return before


def add_to_robot(project: Path, place: str) -> str:
    """Add a section or a table with typical values; return the file as it was."""
    before = _needed(project)
    put_robot_text(project, with_robot_table(before, place))
    return before


def take_from_robot(project: Path, place: str) -> str:
    """Take a section or a table out; return the file as it was. BadInput when the rest is no robot."""
    before = _needed(project)
    put_robot_text(project, without_robot_table(before, place))
    return before


def _needed(project: Path) -> str:
    text = robot_text(project)
    if text is None:
        raise BadInput("this project keeps no robot any more", field=KIND)
    return text
