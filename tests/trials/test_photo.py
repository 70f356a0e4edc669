"""Floor from a photo: against a pinhole camera, another way of solving, and repeated noisy taps."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from shotwright.base.errors import BadInput
from shotwright.trials.measure.photo import mark_covariance, plane_map
from shotwright.trials.measure.pictures import MOST_PIXELS, upright_jpeg

FloatArray = NDArray[np.float64]
CORNERS = np.array([[2.0, 1.5], [2.0, -1.5], [6.0, -1.5], [6.0, 1.5]])


def photograph(places: FloatArray, height: float = 1.6, tilt: float = 0.5, turn: float = 0.0) -> FloatArray:
    """Image of floor points: pinhole camera at `height`, looking `tilt` down, `turn` to the left. [px]"""
    forward = np.array([np.cos(tilt) * np.cos(turn), np.cos(tilt) * np.sin(turn), -np.sin(tilt)])
    right = np.array([np.sin(turn), -np.cos(turn), 0.0])
    down = np.cross(forward, right)
    rays = np.column_stack([places, np.zeros(len(places))]) - np.array([-1.0, 0.0, height])
    depth = rays @ forward
    return np.column_stack([800 + 1400 * (rays @ right) / depth, 600 + 1400 * (rays @ down) / depth])


@settings(max_examples=60, deadline=None)
@given(
    height=st.floats(0.8, 4),
    tilt=st.floats(0.2, 1.2),
    turn=st.floats(-0.6, 0.6),
    along=st.floats(1.5, 8),
    cross=st.floats(-2, 2),
)
def test_a_pinhole_camera_is_undone_exactly(
    height: float, tilt: float, turn: float, along: float, cross: float
) -> None:
    mark = np.array([[along, cross]])
    found = plane_map(photograph(CORNERS, height, tilt, turn), CORNERS).to_floor(
        photograph(mark, height, tilt, turn)
    )
    assert found == pytest.approx(mark, abs=1e-8)


def test_agrees_with_eight_equations_solved_directly() -> None:
    """The textbook's other way: last element set to one, eight linear equations."""
    pixels = photograph(CORNERS, turn=0.2)
    rows, right = [], []
    for (x, y), (u, w) in zip(pixels, CORNERS, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -w * x, -w * y]]
        right += [u, w]
    matrix = np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3)
    found = plane_map(pixels, CORNERS).matrix
    assert found / found[2, 2] == pytest.approx(matrix, rel=1e-9)


def test_more_than_four_points_show_a_wrong_one() -> None:
    places = np.vstack([CORNERS, [[4.0, 0.0], [3.0, 1.0]]])
    pixels = photograph(places)
    assert plane_map(pixels, places).residuals.max() < 1e-9
    typed = places.copy()
    typed[4, 0] += 0.1
    residuals = plane_map(pixels, typed).residuals
    assert residuals.argmax() == 4
    assert 0.03 < residuals.max() < 0.1


def test_the_stated_error_is_that_of_repeated_taps() -> None:
    marks = np.array([[3.0, 0.5], [5.5, -1.0]])
    pixels, spots = photograph(CORNERS), photograph(marks)
    rng = np.random.default_rng(5)
    runs = [
        plane_map(
            pixels + rng.normal(0, 1.5, pixels.shape), CORNERS + rng.normal(0, 0.004, CORNERS.shape)
        ).to_floor(spots + rng.normal(0, 1.5, spots.shape))
        for _ in range(4000)
    ]
    stated = np.sqrt(np.diagonal(mark_covariance(pixels, CORNERS, spots, 1.5, 0.004), axis1=1, axis2=2))
    # 4,000 runs know a standard deviation to 1.1 %; four such errors, and the map's own curvature.
    assert np.std(runs, axis=0) == pytest.approx(stated, rel=0.06)
    assert stated[1, 0] > stated[0, 0]  # farther from the camera is less certain


@pytest.mark.parametrize(
    ("pixels", "words"),
    [
        (CORNERS[:3] * 100, "four known points"),
        (np.array([[0, 0], [100, 1], [200, 0], [100, 300.0]]), "nearly on one line"),
        (np.array([[0, 0], [0, 0], [100, 0], [100, 100.0]]), "nearly on one line"),
    ],
)
def test_points_that_fix_no_floor_are_refused(pixels: FloatArray, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        plane_map(pixels, CORNERS[: len(pixels)])


def test_swapped_points_and_marks_above_the_horizon_are_told() -> None:
    pixels = photograph(CORNERS)
    with pytest.raises(BadInput, match="swapped"):
        plane_map(pixels[[0, 2, 1, 3]], CORNERS)
    with pytest.raises(BadInput, match="horizon"):
        plane_map(pixels, CORNERS).to_floor(np.array([[800.0, -2000.0]]))


def picture(kind: str = "JPEG", orientation: int | None = None, size: tuple[int, int] = (60, 40)) -> bytes:
    image = Image.new("RGB", size, "white")
    image.paste("red", (0, 0, size[0] // 4, size[1] // 4))
    out = io.BytesIO()
    exif = Image.Exif()
    if orientation:
        exif[0x0112] = orientation
        exif[0x010F] = "maker"
    image.save(out, format=kind, exif=exif)
    return out.getvalue()


# EXIF orientation: where row 0 and column 0 of the stored picture stand in the upright one.
# Source: CIPA DC-008 (Exif 2.3), tag 274 Orientation (from memory).
@pytest.mark.parametrize(
    ("orientation", "red"),
    [
        (1, "left top"),
        (2, "right top"),
        (3, "right bottom"),
        (4, "left bottom"),
        (6, "right top"),
        (8, "left bottom"),
    ],
)
def test_a_turned_photo_stands_upright(orientation: int, red: str) -> None:
    data, width, height = upright_jpeg(picture(orientation=orientation))
    image = Image.open(io.BytesIO(data)).convert("RGB")
    assert image.size == (width, height) == ((40, 60) if orientation >= 5 else (60, 40))
    x = 3 if "left" in red else width - 4
    y = 3 if "top" in red else height - 4
    r, g, _ = image.getpixel((x, y))  # type: ignore[misc]
    assert r > 180
    assert g < 90


def test_the_kept_photo_carries_no_notes() -> None:
    assert not dict(Image.open(io.BytesIO(upright_jpeg(picture(orientation=6))[0])).getexif())


def test_a_heic_photo_is_read() -> None:
    """A file made with Debian's heif-enc from a picture that is red at the top left."""
    data, width, height = upright_jpeg((Path(__file__).parent / "red-corner.heic").read_bytes(), "marks.heic")
    assert (width, height) == (128, 96)
    r, g, _ = Image.open(io.BytesIO(data)).getpixel((8, 8))  # type: ignore[misc]
    assert r > 180
    assert g < 90


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is not a photo"),
        (b"MZ\x90\x00" + b"\x00" * 500, "is not a photo"),
        (b"GIF89a" + b"\x00" * 50, "is not a photo"),
        (picture()[:300], "can't be read|is not a photo"),
    ],
)
def test_what_is_no_photo_is_told(data: bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        upright_jpeg(data, "marks.jpg")


def test_a_picture_that_unpacks_to_too_much_is_refused_before_it_does() -> None:
    side = int(MOST_PIXELS**0.5) + 100
    out = io.BytesIO()
    Image.new("1", (side, side)).save(out, format="PNG")
    assert len(out.getvalue()) < 100_000
    with pytest.raises(BadInput, match="smaller photo"):
        upright_jpeg(out.getvalue(), "bomb.png")
