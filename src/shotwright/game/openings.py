"""Section [[target]] of a game file: openings, and whether a ball can pass them at all."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from shotwright.base.toml_tables import Section
from shotwright.game.facing import read_faces
from shotwright.game.records import Target
from shotwright.game.surfaces import read_board, read_rim

SHAPES = {"circle": ("diameter",), "rectangle": ("width", "height"), "polygon": ("corners",)}


def read_target(section: Section, ball_diameter: float) -> tuple[str, Target]:
    """Read one [[target]].

    Parameters
    ----------
    section : Section
        The table; problems are added to it.
    ball_diameter : float
        NaN when not known. [m]

    Returns
    -------
    tuple of str and Target
        Name and record; of use only if no problem was added.
    """
    name = section.name("upper opening")
    shape = section.choice("shape", tuple(SHAPES))
    centre = (
        section.quantity("x", "length", "7 m"),
        section.quantity("y", "length", "2.5 m"),
        section.quantity("z", "length", "2.2 m"),
    )
    azimuth, elevation = read_faces(section, "the side from which a ball scores")
    radius, corners = _read_outline(section, shape)
    points = section.number("points", 1.0, least=0.0)
    rim, board = read_rim(section), read_board(section)
    elsewhere = {
        key: f'goes with shape = "{owner}", not with "{shape}"'
        for owner, keys in SHAPES.items()
        for key in keys
        if shape and owner != shape
    }
    if not shape:
        section.know(*(key for keys in SHAPES.values() for key in keys))
    section.finish(elsewhere | {"centre": "write x, y and z", "center": "write x, y and z"})
    target = Target(name, centre, azimuth, elevation, radius, corners, points, rim, board)
    _check_fit(section, target, ball_diameter)
    return name, target


def _read_outline(section: Section, shape: str) -> tuple[float | None, tuple[tuple[float, float], ...]]:
    size: dict[str, Any] = {"above": 0.0, "allowed": "greater than zero"}
    if shape == "circle":
        return section.quantity("diameter", "length", "600 mm", **size) / 2, ()
    if shape == "rectangle":
        half_u = section.quantity("width", "length", "800 mm", **size) / 2
        half_w = section.quantity("height", "length", "500 mm", **size) / 2
        return None, ((-half_u, -half_w), (half_u, -half_w), (half_u, half_w), (-half_u, half_w))
    if shape == "polygon":
        return None, _read_corners(section)
    return None, ()


def _read_corners(section: Section) -> tuple[tuple[float, float], ...]:
    """Corners, turned anticlockwise if they were not."""
    import shapely  # a fifth of a second, which who only logs a shot does not pay

    value = section.raw("corners")
    example = '[["-30 cm", "0 cm"], ["30 cm", "0 cm"], ["0 cm", "50 cm"]]'
    if not isinstance(value, list) or len(value) < 3:
        shown = "is missing" if value is None else "needs at least 3 corners"
        section.problem(f"{shown}; e.g. corners = {example}", "corners")
        return ()
    rows = [section.vector("corners", item, "length", 2, '[["-30 cm", "0 cm"], ...]') for item in value]
    corners = tuple((u, w) for u, w in rows)
    if not np.isfinite(corners).all():
        return ()
    outline = shapely.Polygon(corners)
    if not outline.is_valid or outline.area <= 0.0:
        section.problem(
            f"the outline crosses or touches itself ({shapely.is_valid_reason(outline)}, in metres);"
            " give the corners in order around the opening",
            "corners",
        )
        return ()
    return corners if outline.exterior.is_ccw else corners[::-1]


def _check_fit(section: Section, target: Target, ball_diameter: float) -> None:
    """Report an opening that no ball fits through, or that reaches below the floor."""
    _, w, _ = target.axes()
    if target.radius is not None:
        room, lowest = 2 * target.radius, target.centre[2] - target.radius * abs(w[2])
        fits = not room <= ball_diameter
    elif target.corners:
        if not (math.isfinite(ball_diameter) and np.isfinite(target.corners).all()):
            return
        import shapely

        outline = shapely.Polygon(target.corners)
        lowest = target.centre[2] + min(float(corner[1] * w[2]) for corner in target.corners)
        fits = not outline.buffer(-ball_diameter / 2).is_empty
        room = 2 * shapely.maximum_inscribed_circle(outline).length
    else:
        return
    if not fits:
        section.problem(
            f"the opening lets {room * 1000:.0f} mm through, the ball is {ball_diameter * 1000:.0f} mm wide;"
            " check both sizes and their units"
        )
    if lowest < -1e-9:
        section.problem(f"the opening reaches {-lowest * 1000:.0f} mm below the floor (z = 0); check z", "z")
