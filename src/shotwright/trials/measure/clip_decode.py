"""Frames of a clip with their times, one after the other. Runs in the child process that decodes."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput

Image = NDArray[np.uint8]

# A playlist or a container with outside references must not make the decoder open other files or addresses.
os.environ.setdefault("OPENCV_FFMPEG_CAPTURE_OPTIONS", "protocol_whitelist;file")
os.environ.setdefault("OPENCV_LOG_LEVEL", "SILENT")
os.environ.setdefault("OPENCV_FFMPEG_LOGLEVEL", "-8")

NOT_INSTALLED = "measuring on video needs OpenCV; install it with: pip install 'shotwright[measure]'"


def load_opencv() -> Any:
    """Import OpenCV.

    Raises
    ------
    BadInput
        It is not installed; the line says how.
    """
    try:
        import cv2
    except ImportError:
        raise BadInput(NOT_INSTALLED, field="clip") from None
    return cv2


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame.

    Parameters
    ----------
    number : int
        Counted from 0.
    time : float
        As the stream states it. [s]
    picture : ndarray, shape (height, width, 3)
        Blue, green, red; turned upright.
    """

    number: int
    time: float
    picture: Image


def frames_in(
    path: str, name: str, most_pixels: int, first: int = 0, last: int | None = None
) -> Iterator[Frame]:
    """Decode a clip.

    Parameters
    ----------
    path : str
        The file.
    name : str
        How messages name it.
    most_pixels : int
        Of a frame. [px]
    first, last : int, optional
        Only these frames, counted from 0; those before are decoded and passed over.

    Yields
    ------
    Frame
        In the order of the stream.

    Raises
    ------
    BadInput
        No decoder, frames too large, or times that don't rise.
    """
    cv2 = load_opencv()
    source = cv2.VideoCapture(path, cv2.CAP_FFMPEG)
    try:
        if not source.isOpened():
            raise BadInput(
                f"{name}: can't be decoded here; set the phone to H.264 (most compatible) or copy it again",
                field="clip",
            )
        wide, high = (int(source.get(what)) for what in (cv2.CAP_PROP_FRAME_WIDTH, cv2.CAP_PROP_FRAME_HEIGHT))
        if wide * high > most_pixels:
            raise BadInput(too_many_pixels(name, wide, high, most_pixels), field="clip")
        number, before = 0, -1.0
        while last is None or number <= last:
            if not source.grab():
                break
            # asked before the grab it would be the time of the frame before
            time = float(source.get(cv2.CAP_PROP_POS_MSEC)) / 1000.0
            if number >= first:
                good, picture = source.retrieve()
                if not good or picture is None:
                    break
                if time <= before:
                    raise BadInput(f"{name}: its frame times don't rise at frame {number}", field="clip")
                before = time
                yield Frame(number, time, picture)
            number += 1
        if before < 0:
            raise BadInput(f"{name}: no frame of it can be decoded; copy the clip again", field="clip")
    finally:
        source.release()


def too_many_pixels(name: str, wide: int, high: int, most_pixels: int) -> str:
    """Say that frames have too many pixels.

    Parameters
    ----------
    name : str
        Of the clip.
    wide, high, most_pixels : int
        Of a frame, and what is allowed. [px]

    Returns
    -------
    str
        The line.
    """
    most = most_pixels / 1e6
    return f"{name}: frames of {wide} x {high} pixels; film with at most {most:.1f} million (4K or less)"
