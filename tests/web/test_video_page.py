"""Launches from a clip, in a browser: sent, searched, tapped, corrected, accepted."""

from __future__ import annotations

import http.client
import math
import uuid
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from playwright.sync_api import expect

from shotwright.bench.clips import clip_folder
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.shots import list_shots
from shotwright.bench.videos import ball_on_film
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, even_times, frames_of

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
TRIAL = "piston at 62"
CAMERA = Camera(width=640, height=360, scale=106.5)
SHOT = FilmedShot(0.3, 6.7, math.radians(60), z=0.6)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    file = tmp_path / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    import_into(file, YARD / "trials.toml")
    return file


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    ball = ball_on_film(None, "150 mm", "165 g", "0.48")
    path = tmp_path / "piston.mp4"
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), 60, (640, 360))
    for picture in frames_of(Film(CAMERA, ball, (SHOT,), even_times(60, 1.4), noise=1.5)):
        writer.write(picture)
    writer.release()
    return path


def test_taps_and_acceptance_put_a_launch_into_the_trial(
    serve: Callable, visit: Callable, project: Path, clip: Path
) -> None:
    page = visit(serve(project).url).go(f"/range/video?trial={TRIAL}")
    page.set_input_files("#file", clip)
    expect(page.locator("#found")).to_contain_text("Shot 1", timeout=60_000)
    expect(page.locator("#found")).to_contain_text("the ball's own diameter")
    expect(page.locator("#picture")).to_have_js_property("naturalWidth", 640)
    expect(page.locator("#taps .ball")).to_have_count(1)
    box = page.locator("#taps").bounding_box()
    assert box is not None

    def tap(x: float, y: float) -> None:
        page.locator("#taps").click(
            position={"x": (x + 0.5) * box["width"] / 640, "y": (y + 0.5) * box["height"] / 360}
        )

    pixels, _ = CAMERA.pixels(
        np.array([[0.4, 0, 2.2], [3.9, 0, 2.2], [2.5, 0, 3.0], [2.5, 0, 1.0], [SHOT.x, 0, SHOT.z]])
    )
    tap(*pixels[0])
    tap(*pixels[1])
    page.get_by_label("the upright line, two points").check()
    tap(*pixels[2])
    tap(*pixels[3])
    page.get_by_label("where the ball leaves the launcher").check()
    tap(*pixels[4])
    page.locator("#distance").fill("3.5 m")
    page.get_by_role("button", name="Measure", exact=True).click()
    expect(page.locator("#found")).to_contain_text("two marks 3.5 m apart", timeout=60_000)
    page.get_by_role("button", name="Leave the ball of this frame out").click()
    expect(page.locator("#taps .ball")).to_have_count(0, timeout=60_000)
    expect(page.locator("#shots svg")).to_have_count(1)
    page.get_by_role("button", name="Accept shot 1").click()
    expect(page.get_by_role("button", name="Accepted as shot 1")).to_be_visible(timeout=60_000)

    [shot] = list_shots(project, TRIAL).shots
    # Taps fall on whole pixels of the page: half a pixel in 370 of scale, a third of a degree of plumb.
    assert shot.speed == pytest.approx(SHOT.speed, rel=0.015)
    assert math.degrees(shot.elevation) == pytest.approx(60, abs=0.5)
    assert clip_folder(project).joinpath(f"{shot.clip}.clip").read_bytes() == clip.read_bytes()
    assert shot.last_frame > shot.first_frame > 15


def send_file(url: str, data: bytes, name: str) -> tuple[int, str]:
    line = uuid.uuid4().hex
    head = f'--{line}\r\nContent-Disposition: form-data; name="clip"; filename="{name}"\r\n\r\n'
    body = head.encode() + data + f"\r\n--{line}--\r\n".encode()
    connection = http.client.HTTPConnection(url.removeprefix("http://"), timeout=60)
    try:
        headers = {"Origin": url, "Content-Type": f"multipart/form-data; boundary={line}"}
        connection.request("POST", "/range/video/send", body, headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    finally:
        connection.close()


def test_what_is_no_clip_is_refused_and_not_kept(serve: Callable, project: Path) -> None:
    url = serve(project).url
    for data, words in ((b"MZ" + b"\0" * 4000, "no MP4 or MOV"), (b"", "is empty")):
        status, text = send_file(url, data, "shot.mp4")
        assert status == 422
        assert words in text
    assert not clip_folder(project).exists()


@pytest.mark.parametrize("path", ["0" * 64 + "/3", "..%2F..%2Fcrew/3", "a/-1"])
def test_no_other_file_is_handed_out(serve: Callable, project: Path, path: str) -> None:
    connection = http.client.HTTPConnection(serve(project).url.removeprefix("http://"), timeout=30)
    connection.request("GET", f"/range/video/{path}.jpg")
    assert connection.getresponse().status in (404, 422)
    connection.close()
