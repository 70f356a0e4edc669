"""Keys of a game file that say how a ball bounces: floor, rim, board, obstacle."""

from __future__ import annotations

import math
from typing import Any

from shotwright.base.toml_tables import Section
from shotwright.game.facing import read_faces
from shotwright.game.records import Board, Rim, Surface

EXAMPLE = "{ restitution = 0.7, tangential = 0.1, friction = 0.5 }"
_SIZE: dict[str, Any] = {"above": 0.0, "allowed": "greater than zero"}
_MOST_BOUNCES = 50


def read_bounces(section: Section) -> int:
    """Read ``bounces`` of [game]: how often a ball may touch something before it goes in; 0 when absent."""
    bounces = section.whole("bounces")
    if bounces is not None and bounces > _MOST_BOUNCES:
        section.problem(f"{bounces} is too many; at most {_MOST_BOUNCES}", "bounces")
    return bounces or 0


def read_surface(section: Section, key: str) -> Surface | None:
    """Read a key such as ``floor``: three numbers, None when it is absent."""
    inner = _inner(section, key, EXAMPLE)
    if inner is None:
        return None
    surface = _read_numbers(inner)
    inner.finish()
    return surface


def read_rim(section: Section) -> Rim | None:
    """Read ``rim`` of a target: the bar around its opening, None when it is absent."""
    inner = _inner(section, "rim", '{ bar = "18 mm", restitution = 0.5, tangential = 0.1, friction = 0.5 }')
    if inner is None:
        return None
    bar = inner.quantity("bar", "length", "18 mm", 0.0, least=0.0, most=0.5, allowed="0 (a wire) to 50 cm")
    surface = _read_numbers(inner)
    inner.finish({"bar_diameter": "say bar", "diameter": "say bar: the diameter of the bar itself"})
    return Rim(bar / 2, surface)


def read_board(section: Section) -> Board | None:
    """Read ``board`` of a target: a flat plate that a ball may bounce off into it, None when it is absent."""
    example = '{ x = "4.6 m", y = "0 m", z = "3.4 m", faces = "-x", width = "1.8 m", height = "1.05 m", ... }'
    inner = _inner(section, "board", example)
    if inner is None:
        return None
    centre = (
        inner.quantity("x", "length", "4.6 m"),
        inner.quantity("y", "length", "2.5 m"),
        inner.quantity("z", "length", "3.4 m"),
    )
    azimuth, elevation = read_faces(inner, "the side that balls meet")
    board = Board(
        centre=centre,
        azimuth=azimuth,
        elevation=elevation,
        width=inner.quantity("width", "length", "1.8 m", **_SIZE),
        height=inner.quantity("height", "length", "1.05 m", **_SIZE),
        thickness=inner.quantity("thickness", "length", "20 mm", 0.0, least=0.0, allowed="zero or more"),
        surface=_read_numbers(inner),
    )
    inner.finish()
    return board


def _inner(section: Section, key: str, example: str) -> Section | None:
    value = section.raw(key)
    if value is None:
        return None
    if not isinstance(value, dict):
        section.problem(f"{str(value)[:60]!r} is not a table in braces; e.g. {key} = {example}", key)
        return None
    return Section(value, f"{section.place}, {key}", section.file, section.problems)


def _read_numbers(section: Section) -> Surface:
    if "restitution" not in section:
        section.problem(
            "is missing: speed after a straight impact over the speed before; measure it with "
            "shotwright drop-test, e.g. restitution = 0.7",
            "restitution",
        )
        section.know("restitution")
        restitution = math.nan
    else:
        restitution = section.number("restitution", least=0.0, most=1.0)
    return Surface(
        restitution=restitution,
        tangential=section.number("tangential", 0.0, least=-1.0, most=1.0),
        friction=section.number("friction", example="0.5", least=0.0, most=10.0),
    )
