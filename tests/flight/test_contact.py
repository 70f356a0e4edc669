"""Distances from rings, bars and plates, and the first touch along a step, against brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from shotwright.flight.contact import first_contact, shape_distance
from shotwright.flight.contact_shapes import pack_goal, pack_shapes
from shotwright.flight.events import NEVER
from shotwright.flight.obstacles import path_bounds
from shotwright.flight.step_curve import value_at
from shotwright.game.records import Board, Post, Prism, Rim, Surface, Target

WOOD = Surface(0.7, 0.1, 0.5)
some = settings(max_examples=100, deadline=None)
RING = Target("ring", (1.0, -0.5, 2.0), 0.7, 0.9, radius=0.23, rim=Rim(0.009, WOOD))
FRAME = Target(
    "frame", (1.0, -0.5, 2.0), 0.7, 0.3, corners=((-0.4, -0.2), (0.4, -0.2), (0.1, 0.3)), rim=Rim(0.02, WOOD)
)
BOARD = Target(
    "b", (0.0, 0.0, 2.0), 0.0, 0.0, radius=0.2, board=Board((0.3, 0.1, 2.2), 2.0, 0.2, 1.2, 0.8, 0.04, WOOD)
)
SOLIDS = (
    Prism("wall", ((0.5, -1.0), (0.8, -1.0), (0.8, 1.0), (0.5, 1.0)), 0.2, 2.1, WOOD),
    Post("post", 1.2, 0.3, 0.05, 0.0, 2.4),
)


def blocks(target, obstacles=()):
    shapes, names = pack_shapes(target, obstacles, WOOD, 0.5)
    return shapes, list(names)


def nearest_on_ring(target, point):
    """Distance from a circle by bounded minimisation over its angle."""
    u, w, _ = target.axes()
    reach = target.radius + target.rim.bar_radius

    def away(angle):
        return np.linalg.norm(point - target.centre - reach * (math.cos(angle) * u + math.sin(angle) * w))

    start = min(np.linspace(0, 2 * math.pi, 73), key=away)
    return minimize_scalar(
        away, bounds=(start - 0.1, start + 0.1), method="bounded", options={"xatol": 1e-10}
    ).fun


@some
@given(st.tuples(*[st.floats(-1, 1)] * 3))
def test_distance_from_a_ring(offset):
    shapes, starts = blocks(RING)
    point = np.asarray(RING.centre) + offset
    distance, *gradient, rho = shape_distance(shapes, starts[1], *point)
    assert distance == pytest.approx(nearest_on_ring(RING, point) - 0.009, abs=1e-8)
    _, _, normal = RING.axes()
    assert rho == pytest.approx(np.linalg.norm(np.cross(offset, normal)), abs=1e-12)
    if rho > 1e-3 and distance > 1e-3:
        for axis in range(3):  # the gradient, by central differences
            ends = [
                shape_distance(shapes, starts[1], *(point + e * np.eye(3)[axis]))[0] for e in (-1e-6, 1e-6)
            ]
            assert gradient[axis] == pytest.approx((ends[1] - ends[0]) / 2e-6, abs=2e-3)


@some
@given(st.tuples(*[st.floats(-1, 1)] * 3))
def test_distance_from_bars_and_plates(offset):
    rng = np.random.default_rng(0)
    # bars: a dense walk along the outline that is set out by the bar's radius
    shapes, starts = blocks(FRAME)
    point = np.asarray(FRAME.centre) + offset
    for start in starts[1:]:
        one, two = np.array(shapes[start + 6 : start + 9]), np.array(shapes[start + 9 : start + 12])
        along = one + np.linspace(0, 1, 4001)[:, None] * (two - one)
        found = shape_distance(shapes, start, *point)[0]
        assert found == pytest.approx(np.linalg.norm(along - point, axis=1).min() - 0.02, abs=1e-6)
    # the board: no random point of it is nearer, and the point named is one of it
    shapes, starts = blocks(BOARD)
    board = BOARD.board
    u, w, n = board.axes()
    point = np.asarray(board.centre) + offset
    distance, gx, gy, gz, _ = shape_distance(shapes, starts[-1], *point)
    inside = rng.uniform(-0.5, 0.5, (500, 3)) * (1.2, 0.8, 0.04)
    places = board.centre - 0.02 * n + inside @ np.array([u, w, n])
    assert (np.linalg.norm(places - point, axis=1) >= distance - 1e-12).all()
    foot = np.array([u, w, n]) @ (point - distance * np.array([gx, gy, gz]) - (board.centre - 0.02 * n))
    assert (np.abs(foot) <= np.array([0.6, 0.4, 0.02]) + 1e-9).all()


def test_a_bar_lies_outside_the_outline_it_borders():
    shapes, starts = blocks(FRAME)
    u, w, _ = FRAME.axes()
    corners = np.asarray(FRAME.corners)
    for one, two in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        middle = np.asarray(FRAME.centre) + (one + two) / 2 @ np.array([u, w])
        nearest = min(shape_distance(shapes, start, *middle)[0] for start in starts[1:])
        assert nearest == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("target", [RING, FRAME, BOARD], ids=lambda t: t.name)
@pytest.mark.parametrize("radius", [0.05, 0.12])
def test_first_touch_on_random_curves(target, radius):
    """Against 20,001 points of the same curve: no touch is missed, none comes from nowhere."""
    rng = np.random.default_rng(8)
    shapes, starts = blocks(target, SOLIDS)
    s = np.linspace(0.0, 1.0, 20001)
    touched = 0
    for _ in range(60):
        ends = np.asarray(target.centre) + rng.uniform(-1, 1, (2, 3))
        path = [
            tuple(
                float(v)
                for v in ends[0, k]
                + (ends[1, k] - ends[0, k]) * np.linspace(0, 1, 6)
                + rng.normal(0, 0.15, 6)
            )
            for k in range(3)
        ]
        speed, bend = path_bounds(*path)
        places = np.column_stack([[value_at(c, float(at)) for at in s[::20]] for c in path])
        for start in starts:
            gap = np.array([shape_distance(shapes, start, *p)[0] for p in places]) - radius
            if gap[0] <= 0:
                continue
            found = first_contact(shapes, start, *path, 1.0, radius, speed, bend)
            below = np.flatnonzero(gap <= 0)
            if found is NEVER or found > 1:
                assert len(below) == 0
                continue
            touched += 1
            there = shape_distance(shapes, start, *(value_at(c, found) for c in path))[0]
            assert there == pytest.approx(radius, abs=1e-9)
            if len(below):
                assert found <= s[::20][below[0]]
            assert (gap[s[::20] < found - 1e-3] > 0).all()
    assert touched > 20


def test_the_ball_that_leaves_is_let_go():
    shapes, _ = blocks(None)
    up = ((0.0,) * 6, (0.0,) * 6, (0.1, 0.2, 0.3, 0.4, 0.5, 0.6))
    assert first_contact(shapes, 0, *up, 1.0, 0.1, *path_bounds(*up)) == NEVER
    down = ((0.0,) * 6, (0.0,) * 6, (0.1, 0.05, 0.0, -0.1, -0.2, -0.3))
    assert first_contact(shapes, 0, *down, 1.0, 0.1, *path_bounds(*down)) == 0.0
    again = ((0.0,) * 6, (0.0,) * 6, (0.1, 0.2, 0.2, 0.1, 0.0, -0.1))
    assert 0.4 < first_contact(shapes, 0, *again, 1.0, 0.1, *path_bounds(*again)) < 0.8


def test_a_goal_knows_its_plane_from_both_sides():
    goal = pack_goal(FRAME)
    _, _, normal = FRAME.axes()
    point = np.asarray(FRAME.centre) + 0.3 * normal
    assert shape_distance(goal, 0, *point)[0] == pytest.approx(0.3, abs=1e-12)
    assert shape_distance(goal, 10, *point)[0] == pytest.approx(-0.3, abs=1e-12)
