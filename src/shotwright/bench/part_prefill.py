"""Numbers of a part that a prototype's launcher file already holds."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.bench.part_kinds import FROM_LAUNCHER, fields_of, part_kind
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.game.records import Ball
from shotwright.launcher.protocol import Launcher
from shotwright.launcher.spring import RAYLEIGH
from shotwright.launcher.spring_piston import SpringPiston
from shotwright.launcher.wheel_and_hood import WheelAndHood


def fitting(project: Path, kind: str) -> tuple[str, ...]:
    """Name the prototypes whose launcher file can fill in a kind of part.

    Parameters
    ----------
    project : Path
        The project file.
    kind : str
        Of the part.

    Returns
    -------
    tuple of str
        Empty when the project has no game, or none fits.
    """
    book = read_workbook(project)
    wanted = FROM_LAUNCHER.get(kind)
    if wanted is None or book.game is None:
        return ()
    return tuple(one.prototype for one in book.launchers if one.launcher.kind == wanted)


def from_prototype(project: Path, kind: str, prototype: str) -> dict[str, str]:
    """Fill in what a prototype's launcher file says of a part.

    Parameters
    ----------
    project : Path
        The project file; it has a game.
    kind : str
        Of the part.
    prototype : str
        Whose launcher.

    Returns
    -------
    dict of str to str
        Fields as a person would type them; only those that the file settles.

    Raises
    ------
    BadInput
        The kind is not filled in from a launcher, or this launcher is of another kind.
    """
    book = read_workbook(project)
    if kind not in FROM_LAUNCHER:
        raise BadInput(
            f"a {part_kind(kind).label.lower()} has no numbers in a launcher file", field="prototype"
        )
    described = book.launcher_of(_known(book, prototype))
    if described is None or described.launcher.kind != FROM_LAUNCHER[kind]:
        what = "no launcher file" if described is None else f"a launcher of kind {described.launcher.kind!r}"
        raise BadInput(
            f"{prototype!r} has {what}; this part takes its numbers from {FROM_LAUNCHER[kind]!r}",
            field="prototype",
        )
    fill: Callable[[Launcher, Ball], dict[str, str]] = _hood if kind == "hood-plate" else _spring
    asked = {one.key for one in fields_of(part_kind(kind))}
    filled = fill(described.launcher, book.needed_game().ball)
    return {key: value for key, value in filled.items() if key in asked}


def _known(book: Workbook, prototype: str) -> str:
    return book.some_prototypes((prototype,))[0].name


def _hood(launcher: Launcher, ball: Ball) -> dict[str, str]:
    assert isinstance(launcher, WheelAndHood)
    squeeze = max(ball.diameter - launcher.gap.value, 0.0)
    return {
        "wheel_diameter": _mm(2 * launcher.wheel_radius.value),
        "ball_diameter": _mm(ball.diameter),
        "compression": _mm(squeeze),
        "wrap_angle": _deg(launcher.wrap_angle.value),
        "elevation": _deg(launcher.elevation.value),
    }


def _spring(launcher: Launcher, ball: Ball) -> dict[str, str]:
    assert isinstance(launcher, SpringPiston)
    # The ball goes along when the piston pushes; a third of the spring moves as if it sat at its end.
    moved = launcher.piston_mass.value + RAYLEIGH * launcher.spring_mass.value
    moved += ball.mass if launcher.action == "push" else 0.0
    return {
        "stiffness": f"{launcher.stiffness.value:.6g} N/m",
        "preload": _mm(launcher.preload.value),
        "stroke": _mm(launcher.stroke.value),
        "mass": f"{1000 * moved:.6g} g",
    }


def _mm(value: float) -> str:
    return f"{1000 * value:.6g} mm"


def _deg(value: float) -> str:
    return f"{math.degrees(value):.6g} deg"
