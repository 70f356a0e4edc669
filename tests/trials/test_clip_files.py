"""Clips as they come: frame times, rotation, codecs; and files that are broken, hostile or something else."""

from __future__ import annotations

import contextlib
import math
import struct
import time
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.trials.measure import clip as clip_module
from shotwright.trials.measure.clip import ClipLimits, find_in, open_clip, pictures_of
from shotwright.trials.measure.clip_blobs import median_picture
from shotwright.trials.measure.clip_boxes import read_head
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, even_times

CLIPS = Path(__file__).parent / "clips"
SECONDS = 8.0  # for a refusal, on a machine with other work


@pytest.fixture(scope="module")
def small(ball_model, write_film):
    """A clip of 40 frames with a ball."""
    camera = Camera(width=320, height=180, scale=55.0)
    return write_film(
        Film(camera, ball_model, (FilmedShot(0.1, 6.5, math.radians(52)),), even_times(30, 4 / 3), noise=1.0),
        30,
    )


def refusal(path, limits=None):
    """The one line that a file ends in, and quickly."""
    begin = time.monotonic()
    with pytest.raises(BadInput) as caught:
        find_in(open_clip(path, limits=limits))
    assert time.monotonic() - begin < SECONDS
    line = str(caught.value)
    assert "\n" not in line
    assert path.name in line
    return line


def uneven_times():
    """Frame times that the two kept clips were made with: seed 5, 60 frames a second with 40 % of jitter."""
    times = np.cumsum(1 / 60 * np.random.default_rng(5).uniform(0.6, 1.4, 72))
    return np.round((times - times[0]) * 90000) / 90000


@pytest.mark.parametrize(("name", "codec"), [("uneven-h264.mp4", "H.264"), ("uneven-hevc.mov", "HEVC")])
def test_frame_times_are_those_of_the_stream(name, codec):
    clip = open_clip(CLIPS / name)
    found = find_in(clip)

    assert (clip.head.codec, clip.head.even, clip.head.frames) == (codec, False, 72)
    assert np.abs(found.times - uneven_times()).max() < 1e-6
    assert len(found.candidates) > 40


def test_a_constant_rate(small):
    clip = open_clip(small)
    found = find_in(clip, 5, 12)

    assert clip.head.even
    assert found.frames.tolist() == list(range(5, 13))
    assert np.abs(found.times - found.frames / 30).max() < 1e-6


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_a_turned_clip_is_seen_upright(small, edited, tmp_path, turn):
    turned = tmp_path / "turned.mp4"
    turned.write_bytes(edited(small.read_bytes(), turn=turn))
    one, two = find_in(open_clip(small)), find_in(open_clip(turned))

    assert (two.width, two.height) == ((180, 320) if turn != 180 else (320, 180))
    a, b = (found.candidates[found.candidates[:, 0] == 20][0, 1:3] for found in (one, two))
    expected = {90: (179 - a[1], a[0]), 180: (319 - a[0], 179 - a[1]), 270: (a[1], 319 - a[0])}[turn]
    assert b == pytest.approx(expected, abs=0.15)


def test_frames_as_pictures(small):
    shown = list(pictures_of(open_clip(small), [30, 3, 999], width=160))

    assert [one.frame for one in shown] == [3, 30]
    assert [one.time for one in shown] == [pytest.approx(0.1), pytest.approx(1.0)]
    assert all(one.jpeg[:2] == b"\xff\xd8" and (one.width, one.height) == (320, 180) for one in shown)


def test_without_opencv_one_line_says_what_to_install(small, monkeypatch):
    monkeypatch.setattr(clip_module, "find_spec", lambda _: None)

    with pytest.raises(BadInput, match=r"install it with: pip install 'shotwright\[measure\]'"):
        open_clip(small)


def test_broken_files(small, edited, tmp_path):
    whole = small.read_bytes()
    cases = {
        "empty.mp4": (b"", "is empty"),
        "cut.mp4": (whole[: len(whole) // 2], "was cut off"),
        "head.mp4": (whole[:20], "was cut off"),
        "sound.mp4": (edited(whole, kind=b"soun"), "only sound"),
        "8k.mp4": (edited(whole, size=(7680, 4320)), "7680 x 4320"),
        "picture.mp4": (b"\x89PNG\r\n\x1a\n" + b"\0" * 500, "no MP4 or MOV"),
        "list.mp4": (b"#EXTM3U\n#EXTINF:1,\nfile:///etc/passwd\n", "no MP4 or MOV"),
        "endless.mp4": (struct.pack(">I4s", 8, b"free") * 9000, "cut off"),
        "backwards.mp4": (
            struct.pack(">I4s", 24, b"ftyp") + b"\0" * 16 + struct.pack(">I4s", 3, b"moov"),
            "damaged",
        ),
        "huge.mp4": (struct.pack(">I4sQ", 1, b"moov", 1 << 62) + b"\0" * 90, "larger than any"),
        "inside.mp4": (struct.pack(">I4sI4s", 24, b"moov", 1 << 30, b"trak") + b"\0" * 8, "damaged"),
    }
    for name, (data, words) in cases.items():
        (tmp_path / name).write_bytes(data)
        assert words in refusal(tmp_path / name)
    assert "no such file" in refusal(tmp_path / "none.mp4")


def test_an_index_without_its_frames(tmp_path):
    # this file has its frames in front of the index; what is left of them is noise
    whole = (CLIPS / "uneven-h264.mp4").read_bytes()
    at = whole.index(b"mdat") + 4
    rng = np.random.default_rng(1)
    broken = whole[:at] + rng.bytes(whole.index(b"moov") - 4 - at) + whole[whole.index(b"moov") - 4 :]
    (tmp_path / "noise.mp4").write_bytes(broken)

    assert "copy" in refusal(tmp_path / "noise.mp4")


def test_limits(small):
    assert "at most 0.0 are read" in refusal(small, ClipLimits(most_bytes=1000))
    assert "lasts 1 s" in refusal(small, ClipLimits(most_seconds=0.5))
    assert "more than 10 frames" in refusal(small, ClipLimits(most_frames=10))
    assert "320 x 180" in refusal(small, ClipLimits(most_pixels=1000))
    assert "no frame came" in refusal(small, ClipLimits(stall_seconds=1e-3))
    assert "takes longer than 0 s" in refusal(small, ClipLimits(work_seconds=0.0))


@pytest.mark.skipif(not hasattr(__import__("os"), "fork"), reason="the system has no limit of memory to set")
def test_a_clip_that_takes_too_much_memory_ends_in_one_line(small):
    line = refusal(small, ClipLimits(memory=150_000_000))

    assert "memory" in line or "gave up" in line or "decoded" in line


@given(st.data())
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_damage_to_the_index_gets_past_its_reader(tmp_path, data):
    whole = bytearray((CLIPS / "uneven-h264.mp4").read_bytes())
    start = whole.index(b"moov") - 4
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(start, len(whole) - 1))
        whole[at] = data.draw(st.integers(0, 255))
    if data.draw(st.booleans()):
        del whole[data.draw(st.integers(0, len(whole) - 1)) :]
    path = tmp_path / "damaged.mp4"
    path.write_bytes(whole)
    with contextlib.suppress(BadInput):
        assert read_head(path, "damaged.mp4").frames >= 0


@pytest.mark.parametrize("count", [1, 3, 9])
def test_the_background_is_the_median(count):
    pictures = list(np.random.default_rng(count).integers(0, 256, (count, 20, 30, 3), dtype=np.uint8))

    assert (median_picture(cv2, pictures) == np.median(pictures, axis=0)).all()
