"""Clips for the tests: simulated films written by OpenCV, and their boxes edited by hand."""

from __future__ import annotations

import struct
from collections.abc import Callable
from pathlib import Path

import cv2
import pytest

from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.trials.synthetic.film import Film, frames_of


@pytest.fixture(scope="session")
def ball_model() -> FlightModel:
    ball = Ball("felt", 0.15, 0.165, CoefficientLaw("constant", constant=0.48), CoefficientLaw("cross"))
    return flight_model(ball, Weather())


@pytest.fixture(scope="session")
def write_film(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Path]:
    """Write a film as MPEG-4 of a constant rate."""

    def write(film: Film, rate: float, name: str = "clip.mp4") -> Path:
        path = tmp_path_factory.mktemp("clip") / name
        size = (film.camera.width, film.camera.height)
        writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), rate, size)
        assert writer.isOpened()
        for picture in frames_of(film):
            writer.write(picture)
        writer.release()
        return path

    return write


def box_at(data: bytes, name: bytes) -> int:
    """Place of a box's name; the only one of that name is meant."""
    at = data.index(name)
    assert data.count(name) == 1
    return at


@pytest.fixture(scope="session")
def edited() -> Callable[..., bytes]:
    """Edit a clip's boxes: other letters, a turned picture, another size."""

    def edit(
        data: bytes, *, turn: int = 0, size: tuple[int, int] | None = None, kind: bytes = b"vide"
    ) -> bytes:
        out = bytearray(data)
        if turn:
            at = box_at(data, b"tkhd") + 4 + 40  # version 0: the matrix follows 40 bytes on
            one = 1 << 16
            matrix = {
                90: (0, one, 0, -one, 0, 0),
                180: (-one, 0, 0, 0, -one, 0),
                270: (0, -one, 0, one, 0, 0),
            }
            struct.pack_into(">6i", out, at, *matrix[turn])
        if size:
            at = box_at(data, b"stsd") + 4 + 8 + 8 + 24  # behind version, count and the entry's own head
            struct.pack_into(">HH", out, at, *size)
        if kind != b"vide":
            at = data.index(b"vide")
            out[at : at + 4] = kind
        return bytes(out)

    return edit
