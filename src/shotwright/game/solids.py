"""Sections [[obstacle]] and [[defender]] of a game file: what stands in a ball's way."""

from __future__ import annotations

import math
from typing import Any

from shotwright.base.toml_tables import Section
from shotwright.game.ball_and_air import read_azimuth
from shotwright.game.records import Defender, Obstacle, Post, Prism
from shotwright.game.surfaces import read_surface

_SIZE: dict[str, Any] = {"above": 0.0, "allowed": "greater than zero"}
_SHAPES = {"box": ("length", "width", "turned"), "post": ("diameter",)}


def read_obstacle(section: Section) -> tuple[str, Obstacle]:
    """Read one [[obstacle]]: a box or a post.

    Parameters
    ----------
    section : Section
        The table; problems are added to it.

    Returns
    -------
    tuple of str and Obstacle
        Name and record; of use only if no problem was added.
    """
    name = section.name("middle wall")
    shape = section.choice("shape", tuple(_SHAPES))
    x, y = section.quantity("x", "length", "4 m"), section.quantity("y", "length", "2.5 m")
    bottom = section.quantity("bottom", "length", "0 m", 0.0, least=0.0, allowed="zero (the floor) or more")
    top = section.quantity("top", "length", "60 cm", **_SIZE)
    if top <= bottom:
        section.problem(f"{section.values['top']} is not above the bottom", "top")
    surface = read_surface(section, "surface")
    solid: Obstacle
    if shape == "post":
        diameter = section.quantity("diameter", "length", "80 mm", **_SIZE)
        solid = Post(name, x, y, diameter / 2, bottom, top, surface)
    elif shape == "box":
        length = section.quantity("length", "length", "1 m", **_SIZE)
        width = section.quantity("width", "length", "50 mm", **_SIZE)
        turned = read_azimuth(section, "turned") if "turned" in section else 0.0
        solid = Prism(name, _box(x, y, length, width, turned), bottom, top, surface)
    else:
        section.know(*(key for keys in _SHAPES.values() for key in keys))
        solid = Post(name, x, y, math.nan, bottom, top)
    others = {key: o for o, keys in _SHAPES.items() for key in keys if o != shape}
    section.finish(
        {key: f'goes with shape = "{owner}", not with "{shape}"' for key, owner in others.items()}
        | {"height": "say bottom and top, both measured from the floor"}
    )
    return name, solid


def read_defender(section: Section) -> tuple[str, Defender]:
    """Read one [[defender]]: a robot at one place (x, y) or anywhere along a line (from, to).

    Parameters
    ----------
    section : Section
        The table; problems are added to it.

    Returns
    -------
    tuple of str and Defender
        Name and record; of use only if no problem was added.
    """
    name = section.name("tall robot")
    length = section.quantity("length", "length", "70 cm", **_SIZE)
    width = section.quantity("width", "length", "70 cm", **_SIZE)
    height = section.quantity("height", "length", "120 cm", **_SIZE)
    turned = read_azimuth(section, "turned") if "turned" in section else 0.0
    places = _read_places(section)
    section.finish()
    corners = [corner for x, y in places for corner in _box(x, y, length, width, turned)]
    if not all(math.isfinite(value) for corner in corners for value in corner):
        return name, Defender(name, Prism(name, (), 0.0, height))
    import shapely  # a fifth of a second, which who only logs a shot does not pay

    hull = shapely.MultiPoint(corners).convex_hull.normalize()
    around = [(float(x), float(y)) for x, y in shapely.geometry.polygon.orient(hull).exterior.coords[:-1]]
    return name, Defender(name, Prism(name, tuple(around), 0.0, height))


def _read_places(section: Section) -> list[tuple[float, float]]:
    """One place, or the two ends of the line along which the robot may stand."""
    one = [key for key in ("x", "y") if key in section]
    line = [key for key in ("from", "to") if key in section]
    if one and line:
        section.problem("stands at x, y or anywhere between from and to; keep one of the two")
        section.know("x", "y", "from", "to")
        return [(math.nan, math.nan)]
    if line:
        ends = []
        for key in ("from", "to"):
            value = section.raw(key)
            x, y = (
                section.vector(key, value, "length", 2, '["4 m", "1 m"]')
                if value is not None
                else (math.nan,) * 2
            )
            if value is None:
                section.problem(f'is missing; e.g. {key} = ["4 m", "1 m"]', key)
            ends.append((x, y))
        return ends
    return [(section.quantity("x", "length", "4 m"), section.quantity("y", "length", "2.5 m"))]


def _box(x: float, y: float, length: float, width: float, turned: float) -> tuple[tuple[float, float], ...]:
    """Corners of a rectangle, anticlockwise; its length runs along `turned`."""
    cos, sin = math.cos(turned), math.sin(turned)
    half = [
        (length / 2, width / 2),
        (-length / 2, width / 2),
        (-length / 2, -width / 2),
        (length / 2, -width / 2),
    ]
    return tuple((x + a * cos - b * sin, y + a * sin + b * cos) for a, b in half)
