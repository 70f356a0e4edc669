"""The verb ``video`` as a person types it."""

from __future__ import annotations

import json
import math

import cv2
import numpy as np
import pytest

from shotwright.bench.videos import ball_on_film
from shotwright.cli.main import main
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, even_times, frames_of

CAMERA = Camera(width=480, height=270, scale=80.0)
BALL = ["--diameter", "150 mm", "--mass", "165 g", "--drag", "0.48"]


@pytest.fixture(scope="module")
def clip(tmp_path_factory):
    ball = ball_on_film(None, "150 mm", "165 g", "0.48")
    shot = FilmedShot(0.2, 6.6, math.radians(58))
    film = Film(CAMERA, ball, (shot,), even_times(60, 1.3), noise=1.5)
    path = tmp_path_factory.mktemp("clip") / "one.mp4"
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), 60, (480, 270))
    for picture in frames_of(film):
        writer.write(picture)
    writer.release()
    return path


def test_a_clip_alone(clip, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    pixels, _ = CAMERA.pixels(np.array([[0.5, 0, 2.0], [4.0, 0, 2.0], [0.3, 0, 0.9]]))
    a, b, release = (f"{x:.1f},{y:.1f}" for x, y in pixels)
    scale = ["--marks", f"{a} {b}", "--distance", "3.5 m", "--level", f"{a} {b}", "--release", release]

    assert main(["video", str(clip), *BALL, *scale, "--svg", "residuals.svg", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["shots"][0]["launch"]["speed_m_s"]["value"] == pytest.approx(6.6, rel=0.01)
    assert found["shots"][0]["launch"]["elevation_deg"]["value"] == pytest.approx(58, abs=0.5)
    assert (tmp_path / "residuals.svg").read_text().startswith("<svg")

    assert main(["video", str(clip), *BALL]) == 0
    assert "the ball's own diameter" in " ".join(capsys.readouterr().out.split())


def test_slips_end_in_one_line(clip, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "text.mp4").write_text("not a clip")
    for words, told in (
        (["video", "none.mp4", *BALL], "no such file"),
        (["video", "text.mp4", *BALL], "no MP4 or MOV"),
        (["video", str(clip), *BALL, "--frames", "x"], "no range of frames"),
        (["video", str(clip), *BALL, "--still", "3"], "belong together"),
        (["video", str(clip)], "no .shotwright file"),
        (["video-lens", str(clip), "--board", "9", "--to", "a"], "no board"),
        (["video-lens", str(clip), "--board", "9x6", "--to", "a"], "seen in 0 views"),
    ):
        assert main(words) == 2
        error = capsys.readouterr().err
        assert told in error
        assert error.count("\n") == 1
