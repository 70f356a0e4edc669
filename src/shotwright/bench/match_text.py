"""The match file of a project as text: read, begun, kept."""

from __future__ import annotations

from pathlib import Path

from shotwright.bench.workbook import opened, read_workbook
from shotwright.game.records import Game
from shotwright.match.reading import match_from_text

KIND = "match"


def match_text(project: Path) -> str:
    """Return the match file that a project keeps; "" when there is none."""
    with opened(project, read_only=True) as file:
        return file.crew_files().get(KIND, "")


def set_match_text(project: Path, text: str) -> tuple[str, ...]:
    """Keep a match file in place of the one before.

    Parameters
    ----------
    project : Path
        The project file.
    text : str
        TOML.

    Returns
    -------
    tuple of str
        Names of its plans.

    Raises
    ------
    BadFile
        Everything that is wrong in it, one line for each problem; nothing is kept.
    """
    read = match_from_text(text)
    with opened(project) as file:
        file.put_crew_file(KIND, text)
    return tuple(plan.name for plan in read.plans)


def begun_match(project: Path) -> str:
    """Write a match file to start from: the game's positions, everything else to be changed by the crew."""
    game = read_workbook(project).game
    names = [position.name for position in game.positions] if game else ["rail"]
    head = _HEAD if game is None else _HEAD.replace("4 m", f"{_far(game):g} m")
    parts = [head]
    for name in names:
        parts.append(f"[[position]]\nname = {_quoted(name)}\n")
    for first in names:
        rest = [name for name in names if name != first]
        order = ", ".join(_quoted(name) for name in [first, *rest])
        parts.append(
            f'[[plan]]\nname = {_quoted(f"{first} first")}\npositions = [{order}]\nstations = ["ball rack"]\n'
        )
    return "\n".join(parts)


def _far(game: Game) -> float:
    """Across the field, a metre from its side. [m]."""
    return max(round(game.field_width - 1.0, 1), 0.5)


def _quoted(name: str) -> str:
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'


_HEAD = """\
# Change these to your own: none of the figures below was measured.
[match]
length = "150 s"
autonomous = "15 s"
autonomous_factor = 2

[robot]
start = ["1 m", "1 m"]
speed = "2 m/s"
acceleration = "1.5 m/s^2"
storage = 3
preload = 3
spread = "20 %"

[launcher]
recovery = "1 s"
aim = "1.5 s"
jam = "1 %"
jam_time = "4 s"

[[station]]
name = "ball rack"
x = "1 m"
y = "4 m"
time_per_ball = "1 s"
"""
