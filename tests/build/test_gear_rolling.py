"""Rolling of drawn outlines: known bodies, and faults that must show."""

import math

import numpy as np
import pytest

from shotwright.build.gear_rolling import anticlockwise, height_gaps, mesh, skyline, turned

MM = 1e-3


def square(x, y, half):
    return np.array([[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]])


def finger(radius, half):
    """A bar from the axis along the x axis of the gear, `half` thick each way."""
    return np.array([[0.0, -half], [radius, -half], [radius, half], [0.0, half]])


def test_a_flat_finger_pushes_a_corner_as_trigonometry_says():
    # The finger's leading face is 2 mm off its middle; the rack's lower left corner is at height 30 mm.
    gear = finger(60 * MM, 2 * MM)
    rack = np.array([[5.0, 30.0], [40.0, 30.0], [40.0, 70.0], [5.0, 70.0]]) * MM
    turn = np.linspace(-0.6, -0.2, 41)
    found = mesh(gear, rack, turn, 60 * MM, start=-24 * MM)
    wanted = 30 * MM * np.tan(turn) + 2 * MM / np.cos(turn) - 5 * MM
    assert found.travel == pytest.approx(wanted, abs=1e-15)
    assert found.rate == pytest.approx(
        30 * MM / np.cos(turn) ** 2 + 2 * MM * np.sin(turn) / np.cos(turn) ** 2, rel=1e-12
    )
    assert found.contact[:, 1] == pytest.approx(30 * MM)
    assert np.isinf(found.play).all()


def test_nothing_to_push_is_no_contact():
    found = mesh(finger(10 * MM, 1 * MM), square(0.0, 50 * MM, 5 * MM), np.array([0.0, 0.1]), 10 * MM)
    assert np.isnan(found.travel).all()


def test_either_way_round_is_the_same_outline():
    loop = square(1.0, 2.0, 0.5)
    assert (anticlockwise(loop[::-1])[:, 0] == loop[:, 0]).all()


def gaps(below, above, travel, step=1e-3):
    return height_gaps(below, skyline(above, step, upper=False), np.asarray(travel, dtype=float), step)


def test_height_gaps_of_two_squares():
    below, above = square(0.0, 0.0, 1.0), square(0.5, 3.0, 1.0)
    assert gaps(below, above, [0.0, 1.0, 5.0]) == pytest.approx([1.0, 1.0, math.inf])
    assert gaps(below, above - np.array([0.0, 1.5]), [0.0]) == pytest.approx([-0.5])


def test_height_gap_of_a_corner_under_a_slope():
    diamond = turned(square(0.0, 0.0, 1.0), math.pi / 4)
    wanted = [2.0 - math.sqrt(2.0), 3.0 - math.sqrt(2.0)]
    assert gaps(diamond, square(0.0, 3.0, 1.0), [0.0, 2.0]) == pytest.approx(wanted, abs=1e-3)


def test_skyline_of_a_diamond():
    first, heights = skyline(turned(square(0.0, 0.0, 1.0), math.pi / 4), 0.01, upper=True)
    middle = (first + np.arange(len(heights)) + 0.5) * 0.01
    assert heights == pytest.approx(math.sqrt(2.0) - np.abs(middle), abs=0.01)
