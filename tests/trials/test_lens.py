"""A lens straightened, and measured on a filmed board."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.trials.measure.clip import open_clip, work_on
from shotwright.trials.measure.lens import Lens, fitting

LENS = Lens(640, 360, 520.0, 322.0, 178.0, -0.12, 0.02)


@given(st.floats(0, 639), st.floats(0, 359))
def test_bent_and_straightened(x, y):
    point = np.array([[x, y]])

    assert LENS.straight(LENS.bent(point)) == pytest.approx(point, abs=1e-6)


def test_the_model_is_the_general_one():
    points = np.random.default_rng(1).uniform([0, 0], [639, 359], (50, 2))
    matrix = np.array([[520.0, 0, 322], [0, 520, 178], [0, 0, 1]])
    theirs = cv2.undistortPoints(points.reshape(-1, 1, 2), matrix, np.array([-0.12, 0.02, 0, 0]), P=matrix)

    assert LENS.straight(points) == pytest.approx(theirs.reshape(-1, 2), abs=2e-3)


def test_other_frames_of_the_same_shape():
    double = fitting(LENS, 1280, 720)

    assert double.bent(np.array([[801.5, 101.5]])) == pytest.approx(
        2 * LENS.bent(np.array([[400.5, 50.5]])) + 0.5
    )
    with pytest.raises(BadInput, match="film both with the same setting"):
        fitting(LENS, 1280, 960)


def board_clip(path):
    """A board of 8 x 5 inner corners, held at angles, through a lens that bends."""
    step, shape = 20, (9, 6)
    flat = np.full((shape[1] * step + 40, shape[0] * step + 40), 255, np.uint8)
    for i in range(shape[1]):
        for j in range(shape[0]):
            if (i + j) % 2:
                flat[20 + i * step : 20 + (i + 1) * step, 20 + j * step : 20 + (j + 1) * step] = 0
    y, x = np.mgrid[0:360, 0:640]
    straight = LENS.straight(np.column_stack([x.ravel(), y.ravel()]).astype(float))
    rays = np.column_stack([(straight - [322.0, 178.0]) / 520.0, np.ones(len(straight))])
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), 10, (640, 360))
    for k in range(12):
        turn, _ = cv2.Rodrigues(np.array([0.5 * math.sin(k), 0.6 * math.cos(1.7 * k), 0.1 * k]))
        middle = np.array([70 * math.sin(2.1 * k), 40 * math.cos(1.3 * k), 300.0 + 15 * math.sin(k)])
        scale = (turn[:, 2] @ middle) / (rays @ turn[:, 2])
        on_board = (rays * scale[:, None] - middle) @ turn[:, :2] + [flat.shape[1] / 2, flat.shape[0] / 2]
        grid = on_board.reshape(360, 640, 2).astype(np.float32)
        view = cv2.remap(flat, grid[..., 0], grid[..., 1], cv2.INTER_AREA, borderValue=150)
        writer.write(cv2.cvtColor(cv2.GaussianBlur(view, (3, 3), 0.7), cv2.COLOR_GRAY2BGR))
    writer.release()
    return path


def test_a_filmed_board_gives_the_lens(tmp_path):
    clip = open_clip(board_clip(tmp_path / "board.mp4"))
    found = work_on(clip, {"work": "board", "columns": 8, "rows": 5, "every": 1})
    assert found.pop("views") >= 5
    lens = Lens(**found)
    corners = np.array([[20.0, 20], [620, 20], [20, 340], [620, 340]])
    # what matters is how straight it makes the corners; focal length and bend trade off
    truth = LENS.straight(corners) - [322, 178]
    ours = lens.straight(corners) - [lens.middle_x, lens.middle_y]

    assert ours * (np.abs(truth) / np.abs(ours)).mean() == pytest.approx(truth, abs=2.5)
    assert lens.error_px < 0.4
    with pytest.raises(BadInput, match="seen in 0 views"):
        work_on(clip, {"work": "board", "columns": 7, "rows": 7, "every": 1})
