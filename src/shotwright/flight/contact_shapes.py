"""Floor, rim, board and obstacles as the packed shapes of `contact`; an opening as the goal of `follow`."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.bounce import check_surface
from shotwright.flight.contact import BAR, HEADER, PLANE, PLATE, RING, SOLID
from shotwright.flight.follow import BOARD_ROLE, FLOOR_ROLE, OBSTACLE_ROLE, RIM_ROLE
from shotwright.flight.obstacles import pack_obstacles
from shotwright.game.records import Board, Obstacle, Rim, Surface, Target

FloatArray = NDArray[np.float64]


def pack_shapes(
    target: Target | None,
    obstacles: Sequence[Obstacle],
    floor: Surface | None,
    inertia_factor: float,
    *,
    floor_height: float = 0.0,
) -> tuple[tuple[float, ...], dict[int, str]]:
    """Pack all that a ball can touch.

    Parameters
    ----------
    target : Target, optional
        Its edge and its board. An edge without a rim stops a ball that touches it.
    obstacles : sequence of Obstacle
        Solids; one without a surface stops a ball.
    floor : Surface, optional
        None: the floor stops a ball.
    inertia_factor : float
        alpha of the ball. [-]
    floor_height : float
        [m]

    Returns
    -------
    shapes : tuple of float
        Blocks as `contact` reads them.
    names : dict of int to str
        Begin of each block -> what it is, in words.

    Raises
    ------
    BadInput
        A surface outside its range, a solid that is none.
    """
    row: list[float] = []
    names: dict[int, str] = {}

    def add(kind: float, role: float, surface: Surface | None, numbers: Sequence[float], name: str) -> None:
        names[len(row)] = name
        row.extend(_block(kind, role, surface, numbers, inertia_factor))

    add(PLANE, FLOOR_ROLE, floor, (0.0, 0.0, 1.0, floor_height), "the floor")
    for solid in obstacles:
        add(SOLID, OBSTACLE_ROLE, solid.surface, pack_obstacles((solid,)), solid.name)
    if target is not None:
        surface = target.rim.surface if target.rim else None
        for kind, numbers in _edge(target):
            add(kind, RIM_ROLE, surface, numbers, f"the rim of {target.name}")
        if target.board is not None:
            name = f"the board of {target.name}"
            add(PLATE, BOARD_ROLE, target.board.surface, _plate(target.board), name)
    return tuple(row), names


def pack_goal(target: Target) -> tuple[float, ...]:
    """Pack an opening: its plane seen from both sides, its axes and its outline.

    Parameters
    ----------
    target : Target
        The opening.

    Returns
    -------
    tuple of float
        As `follow` reads it.
    """
    u, w, normal = target.axes()
    offset = float(normal @ np.asarray(target.centre))
    row = _block(PLANE, RIM_ROLE, None, (*normal, offset), 1.0)
    row += _block(PLANE, RIM_ROLE, None, (*-normal, -offset), 1.0)
    row += [*target.centre, *u, *w, target.rim.bar_radius if target.rim else 0.0]
    row += [target.radius or 0.0, float(len(target.corners))]
    row += [value for corner in target.corners for value in corner]
    return tuple(float(value) for value in row)


def _block(
    kind: float, role: float, surface: Surface | None, numbers: Sequence[float], inertia_factor: float
) -> list[float]:
    if surface is None:
        law = (-1.0, 0.0, 0.0)
    else:
        check_surface(surface, inertia_factor)
        law = (surface.restitution, surface.tangential, surface.friction)
    return [float(one) for one in (kind, HEADER + len(numbers), *law, role, *numbers)]


def _edge(target: Target) -> list[tuple[float, tuple[float, ...]]]:
    """The bar around an opening; its inner side is the outline."""
    bar = (target.rim or Rim(0.0, Surface(0.0, 0.0, 0.0))).bar_radius
    if not (bar >= 0.0 and math.isfinite(bar)):
        raise BadInput(
            f"{bar:g} m is not the radius of a bar; it is 0 or more", field=f"rim of {target.name}"
        )
    u, w, normal = target.axes()
    centre = np.asarray(target.centre)
    if target.radius is not None:
        return [(RING, (*centre, *normal, target.radius + bar, bar))]
    places = centre + _set_out(np.asarray(target.corners, dtype=float), bar) @ np.array([u, w])
    ends = zip(places, np.roll(places, -1, axis=0), strict=True)
    return [(BAR, (*one, *two, bar)) for one, two in ends]


def _set_out(corners: FloatArray, distance: float) -> FloatArray:
    """Corners of an anticlockwise polygon whose sides are moved out by `distance`."""
    sides = np.roll(corners, -1, axis=0) - corners
    along = sides / np.linalg.norm(sides, axis=1, keepdims=True)
    out = np.column_stack([along[:, 1], -along[:, 0]])
    before = np.roll(out, 1, axis=0)
    between = out + before
    moved = corners + distance * between / (1.0 + np.sum(out * before, axis=1, keepdims=True))
    return np.asarray(moved, dtype=float)


def _plate(board: Board) -> tuple[float, ...]:
    size = np.array([board.width, board.height, board.thickness])
    if not (np.isfinite(size).all() and size[0] > 0 and size[1] > 0 and size[2] >= 0):
        raise BadInput(
            f"{board.width:g} by {board.height:g} by {board.thickness:g} m is not a board; width and height "
            "must be greater than zero, the thickness not negative",
            field="board",
        )
    u, w, normal = board.axes()
    middle = np.asarray(board.centre) - 0.5 * board.thickness * normal
    return (*middle, *u, *w, *normal, *(0.5 * size))
