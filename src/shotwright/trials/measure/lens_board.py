"""A lens measured on a clip of a chessboard. Runs in the child process that decodes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.trials.measure.clip_decode import frames_in, load_opencv

LEAST_VIEWS, MOST_VIEWS = 5, 25
_STILL = 12.0  # px; a board that moved less since the last view adds nothing


def lens_from_frames(request: dict[str, Any], told: Callable[[int, float], None]) -> dict[str, Any]:
    """Find a chessboard's inner corners in views that differ, and fit the lens.

    Parameters
    ----------
    request : dict
        ``path``, ``name``, ``most_pixels``, ``columns`` and ``rows`` of inner corners, and ``every``: one
        frame of so many is looked at.
    told : callable
        Told number and time of each frame.

    Returns
    -------
    dict
        Fields of `lens.Lens`, and ``views``.

    Raises
    ------
    BadInput
        The board is seen in too few views.
    """
    cv2 = load_opencv()
    shape = (int(request["columns"]), int(request["rows"]))
    board = np.zeros((shape[0] * shape[1], 3), np.float32)
    board[:, :2] = np.mgrid[0 : shape[0], 0 : shape[1]].T.reshape(-1, 2)
    views: list[Any] = []
    size = (0, 0)
    for frame in frames_in(request["path"], request["name"], request["most_pixels"]):
        told(frame.number, frame.time)
        if frame.number % max(int(request["every"]), 1) or len(views) >= MOST_VIEWS:
            continue
        grey = cv2.cvtColor(frame.picture, cv2.COLOR_BGR2GRAY)
        size = (grey.shape[1], grey.shape[0])
        seen, corners = cv2.findChessboardCorners(grey, shape, flags=cv2.CALIB_CB_FAST_CHECK | 3)
        if not seen:
            continue
        stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.01)
        corners = cv2.cornerSubPix(grey, corners, (5, 5), (-1, -1), stop)
        if views and float(np.abs(corners - views[-1]).max()) < _STILL:
            continue
        views.append(corners)
    if len(views) < LEAST_VIEWS:
        raise BadInput(
            f"{request['name']}: a board of {shape[0]} x {shape[1]} inner corners is seen in {len(views)} "
            f"views, {LEAST_VIEWS} are needed; move and tilt it slowly, into the corners of the picture too",
            field="lens",
        )
    flags = cv2.CALIB_FIX_K3 | cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_ASPECT_RATIO
    start = np.array([[size[0], 0, size[0] / 2], [0, size[0], size[1] / 2], [0, 0, 1]], float)
    error, camera, bend, _, _ = cv2.calibrateCamera(
        [board] * len(views), views, size, start, None, flags=flags | cv2.CALIB_USE_INTRINSIC_GUESS
    )
    return {
        "width": size[0],
        "height": size[1],
        "focal": float(camera[0, 0]),
        "middle_x": float(camera[0, 2]),
        "middle_y": float(camera[1, 2]),
        "k1": float(bend.ravel()[0]),
        "k2": float(bend.ravel()[1]),
        "error_px": float(error),
        "views": len(views),
    }
