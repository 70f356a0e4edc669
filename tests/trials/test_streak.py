"""Centre, radius and streak of a drawn ball against the moments of a disc and a line."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.trials.measure.streak import cover_of, streak_of


def drawn(x, y, radius, length, direction, size=(61, 73), grid=5):
    """Cover by brute force: sub-pixels and moments, independent of the formula."""
    sub = (np.arange(grid) + 0.5) / grid - 0.5
    rows = (np.arange(size[0])[:, None] + sub).ravel()
    columns = (np.arange(size[1])[:, None] + sub).ravel()
    gx, gy = np.meshgrid(columns, rows)
    moments = (np.arange(41) + 0.5) / 41 - 0.5
    total = np.zeros_like(gx)
    for s in moments:
        dx = gx - x - s * length * math.cos(direction)
        dy = gy - y - s * length * math.sin(direction)
        total += dx * dx + dy * dy < radius * radius
    total /= len(moments)
    return total.reshape(size[0], grid, size[1], grid).mean(axis=(1, 3))


@given(
    x=st.floats(30, 42),
    y=st.floats(26, 34),
    radius=st.floats(4, 12),
    share=st.floats(0.4, 1.6),
    direction=st.floats(-1.5, 1.5),
)
@settings(max_examples=12, deadline=None)
def test_a_streak_is_read_back(x, y, radius, share, direction):
    length = share * radius
    found = streak_of(drawn(x, y, radius, length, direction))

    assert found.x == pytest.approx(x, abs=0.06)
    assert found.y == pytest.approx(y, abs=0.06)
    assert found.radius == pytest.approx(radius, rel=0.015)
    # pixels change the second moments by a tenth of a pixel squared or so; the length goes with their root
    assert found.length**2 == pytest.approx(length**2, rel=0.08, abs=1.0)
    assert abs(math.sin(found.direction - direction)) < 0.15
    assert found.fit > 0.9


def test_a_still_ball_is_round():
    found = streak_of(drawn(30.3, 29.6, 9.0, 0.0, 0.0, grid=11), left=100.0, top=50.0)

    assert (found.x, found.y) == (pytest.approx(130.3, abs=0.05), pytest.approx(79.6, abs=0.05))
    assert found.radius == pytest.approx(9.0, rel=0.01)
    assert found.length < 1.0


def test_a_square_fits_worse_than_a_ball():
    square = np.zeros((40, 40))
    square[10:30, 8:26] = 1.0

    assert streak_of(square).fit < streak_of(drawn(20, 20, 9, 3, 0.4, (40, 40))).fit - 0.05


def test_nothing_is_no_ball():
    assert streak_of(np.zeros((9, 9))) is None


def test_cover_does_not_depend_on_the_colour():
    shape = drawn(30, 30, 8, 6, 0.3)[:, :, None]
    still = np.full((61, 73, 3), 140.0)
    for colour in ([20.0, 40.0, 30.0], [250.0, 240.0, 255.0], [140.0, 140.0, 220.0]):
        cover = cover_of(still * (1 - shape) + shape * np.array(colour), still, 0.02)
        found = streak_of(cover)
        assert (found.x, found.y) == (pytest.approx(30, abs=0.03), pytest.approx(30, abs=0.03))
        assert found.radius == pytest.approx(8, rel=0.02)
        assert found.length == pytest.approx(6, rel=0.12)


def test_a_streak_longer_than_the_ball_keeps_its_centre():
    # then no pixel shows the ball for the whole exposure, and cover is off by a factor
    shape = drawn(36, 30, 5, 22, 0.2)[:, :, None]
    still = np.full((61, 73, 3), 150.0)
    found = streak_of(cover_of(still * (1 - shape) + shape * 40.0, still, 0.02))

    assert (found.x, found.y) == (pytest.approx(36, abs=0.1), pytest.approx(30, abs=0.1))
    assert found.length == pytest.approx(22, rel=0.08)
