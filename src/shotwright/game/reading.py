"""The game file: a TOML text that a crew writes from the rule book, read into a :class:`Game`.

``docs/file-format.md`` explains every key. All problems of a file are reported at once.
"""

from __future__ import annotations

import difflib
import math
from pathlib import Path
from typing import Any

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section, check_unique, parse_toml, raise_problems, read_text
from shotwright.game.ball_and_air import read_air, read_ball
from shotwright.game.openings import read_target
from shotwright.game.records import FiringPosition, Game, Limits
from shotwright.game.solids import read_defender, read_obstacle
from shotwright.game.surfaces import EXAMPLE, read_bounces, read_surface

_POSITIVE: dict[str, Any] = {"above": 0.0, "allowed": "greater than zero"}
_SPREAD: dict[str, Any] = {"least": 0.0, "allowed": "zero or more"}


def read_game(path: Path | str) -> Game:
    """Read a game file.

    Parameters
    ----------
    path : Path or str
        A TOML file.

    Returns
    -------
    Game
        The game, in SI.

    Raises
    ------
    BadInput
        The file can't be read, or is not TOML.
    BadFile
        Everything that is wrong in it, one line for each problem.
    """
    path = Path(path)
    return game_from_text(read_text(path), path.name)


def game_from_text(text: str, file_name: str = "game.toml") -> Game:
    r"""Read a game from the text of its file.

    Parameters
    ----------
    text : str
        TOML.
    file_name : str
        How messages name the file.

    Returns
    -------
    Game
        The game, in SI.

    Raises
    ------
    BadInput
        The text is not TOML.
    BadFile
        Everything that is wrong in it, one line for each problem.

    Examples
    --------
    >>> game_from_text('[field]\nlength = "8 m"\nwidth = 5')
    Traceback (most recent call last):
    ...
    shotwright.base.errors.BadFile: game.toml: the section [game] is missing
    game.toml, [field], width: '5' has no unit; type it with one, e.g. 1.2 m, 35 mm, 4 in or 12 ft
    game.toml: the section [ball] is missing
    game.toml: there is no [[target]]; at least one is needed
    game.toml: there is no [[position]]; at least one is needed
    """
    problems: list[BadInput] = []
    top = Section(parse_toml(text, file_name), "", file_name, problems)
    title = top.section("game")
    name = title.text("name", example="Lantern Loft")
    origin = title.choice("origin", ("rules", "invented"), "rules")
    bounces = read_bounces(title)
    title.finish()
    floor = top.section("field")
    length = floor.quantity("length", "length", "8 m", **_POSITIVE)
    width = floor.quantity("width", "length", "5 m", **_POSITIVE)
    floor_surface = read_surface(floor, "floor")
    floor.finish()
    ball = read_ball(top.section("ball"))
    weather = read_air(top.section("air", required=False))
    target_sections = top.sections("target", required=True)
    targets = [read_target(section, ball.diameter) for section in target_sections]
    check_unique(zip(target_sections, [t[0] for t in targets], strict=True), "target")
    obstacle_sections = top.sections("obstacle")
    obstacles = [read_obstacle(section) for section in obstacle_sections]
    check_unique(zip(obstacle_sections, [o[0] for o in obstacles], strict=True), "obstacle")
    defender_sections = top.sections("defender")
    defenders = [read_defender(section) for section in defender_sections]
    check_unique(zip(defender_sections, [d[0] for d in defenders], strict=True), "defender")
    position_sections = top.sections("position", required=True)
    known = [t[0] for t in targets]
    positions = [_read_position(section, length, width, known) for section in position_sections]
    check_unique(zip(position_sections, [p.name for p in positions], strict=True), "position")
    limits = _read_limits(top.section("limits", required=False))
    top.finish()
    bouncy = [floor_surface, *(t[1].rim or t[1].board for t in targets), *(o[1].surface for o in obstacles)]
    if bounces and not any(bouncy):
        title.problem(
            f"{bounces} allowed, but nothing to bounce off: give [field] a floor, a target a rim or a board, "
            f"or an obstacle a surface, e.g. floor = {EXAMPLE}",
            "bounces",
        )
    raise_problems(problems)
    return Game(
        name=name,
        field_length=length,
        field_width=width,
        ball=ball,
        targets=tuple(t[1] for t in targets),
        positions=tuple(positions),
        obstacles=tuple(o[1] for o in obstacles),
        defenders=tuple(d[1] for d in defenders),
        weather=weather,
        limits=limits,
        origin=origin,
        bounces=bounces,
        floor=floor_surface,
    )


def _read_position(section: Section, length: float, width: float, known: list[str]) -> FiringPosition:
    name = section.name("left post")
    place = {}
    for key, end, side in (("x", length, "length"), ("y", width, "width")):
        value = section.quantity(key, "length", "2 m")
        if value < 0 or value > end:
            section.problem(
                f"{section.values[key]} is outside the field; {key} runs from 0 to its {side}, {end:g} m", key
            )
        place[key] = value
    position = FiringPosition(
        name=name,
        x=place["x"],
        y=place["y"],
        place_sd=section.quantity("place_sd", "length", "15 mm", **_SPREAD),
        heading_sd=section.quantity(
            "heading_sd", "angle", "0.5 deg", least=0.0, most=math.pi / 2, allowed="between 0 and 90 deg"
        ),
        targets=section.names("targets"),
        needed=section.yes_no("needed", True),
    )
    for target in position.targets:
        if target not in known:
            near = difflib.get_close_matches(target, known, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(known) or 'none'}"
            section.problem(f"there is no target {target!r}; {hint}", "targets")
    if len(set(position.targets)) < len(position.targets):
        section.problem("a target is named twice", "targets")
    section.finish()
    return position


def _read_limits(section: Section) -> Limits:
    limits = Limits(
        motors=section.whole("motors"),
        stored_energy=section.optional("stored_energy", "energy", **_SPREAD),
        mass=section.optional("mass", "mass", **_POSITIVE),
        length=section.optional("length", "length", **_POSITIVE),
        width=section.optional("width", "length", **_POSITIVE),
        height=section.optional("height", "length", **_POSITIVE),
    )
    section.finish()
    return limits
