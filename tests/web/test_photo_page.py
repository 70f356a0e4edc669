"""Marks from a photo, in a browser: an image drawn by a pinhole camera, tapped where its marks are."""

from __future__ import annotations

import http.client
import io
import math
import uuid
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import expect

from shotwright.bench.photos import photo_folder
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.shots import list_shots

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
TRIAL = "piston at 62"
KNOWN = [(2.0, 1.5), (2.0, -1.5), (6.0, -1.5), (6.0, 1.5)]
MARKS = [(3.2, 0.4), (4.9, -0.7)]


def pixel(along: float, cross: float) -> tuple[float, float]:
    """Image of a floor point: camera 2 m up, 1 m behind the release point, looking 25 degrees down."""
    tilt = math.radians(25)
    ahead, up = along + 1.0, -2.0
    depth = ahead * math.cos(tilt) - up * math.sin(tilt)
    down = -ahead * math.sin(tilt) - up * math.cos(tilt)
    return 800 - 1500 * cross / depth, 600 + 1500 * down / depth


@pytest.fixture
def project(tmp_path: Path) -> Path:
    file = tmp_path / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    import_into(file, YARD / "trials.toml")
    return file


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    image = Image.new("RGB", (1600, 1200), "#b9b2a6")
    pen = ImageDraw.Draw(image)
    for spot in (*KNOWN, *MARKS):
        x, y = pixel(*spot)
        pen.line([x - 12, y, x + 12, y], "black", 2)
        pen.line([x, y - 12, x, y + 12], "black", 2)
    file = tmp_path / "marks.jpg"
    image.save(file)
    return file


def test_taps_become_shots_where_the_marks_are(
    serve: Callable, visit: Callable, project: Path, photo: Path
) -> None:
    page = visit(serve(project).url).go(f"/range/photo?trial={TRIAL}")
    page.set_input_files("#file", photo)
    expect(page.locator("#ask")).to_contain_text("known point A")
    expect(page.locator("#picture")).to_have_js_property("naturalWidth", 1600)
    for spot in (*KNOWN, *MARKS):
        x, y = pixel(*spot)
        box = page.locator("#taps").bounding_box()
        assert box is not None
        page.locator("#taps").click(position={"x": x * box["width"] / 1600, "y": y * box["height"] / 1200})
    for k, (along, cross) in enumerate(KNOWN):
        page.locator(f"#along-{k}").fill(f"{along} m")
        page.locator(f"#cross-{k}").fill(f"{cross} m")
    expect(page.locator("#found li")).to_have_count(2)
    expect(page.locator("#found")).to_contain_text("good to")
    page.get_by_role("button", name="Log 2 marks as shots").click()
    page.wait_for_url("**/range?*")
    shots = list_shots(project, TRIAL).shots
    assert len(shots) == 2
    for shot, (along, cross) in zip(shots, MARKS, strict=True):
        # Clicks fall on whole pixels of a page somewhat smaller than the photo.
        assert shot.along == pytest.approx(along, abs=0.03)
        assert shot.cross == pytest.approx(cross, abs=0.015)
        assert shot.source.startswith("photo ")


def test_marks_are_proposed_and_the_person_takes_one_away(
    serve: Callable, visit: Callable, project: Path, photo: Path
) -> None:
    page = visit(serve(project).url).go(f"/range/photo?trial={TRIAL}")
    page.set_input_files("#file", photo)
    expect(page.locator("#picture")).to_have_js_property("naturalWidth", 1600)
    box = page.locator("#taps").bounding_box()
    assert box is not None

    def tap(spot: tuple[float, float]) -> None:
        x, y = pixel(*spot)
        page.locator("#taps").click(position={"x": x * box["width"] / 1600, "y": y * box["height"] / 1200})

    for k, spot in enumerate(KNOWN):
        tap(spot)
        page.locator(f"#along-{k}").fill(f"{spot[0]} m")
        page.locator(f"#cross-{k}").fill(f"{spot[1]} m")
    page.get_by_role("button", name="Find the marks").click()
    expect(page.locator("#found li")).to_have_count(2)
    tap(MARKS[0])
    expect(page.locator("#found li")).to_have_count(1)
    page.get_by_role("button", name="Log 1 mark as shots").click()
    page.wait_for_url("**/range?*")
    [shot] = list_shots(project, TRIAL).shots
    assert shot.along == pytest.approx(MARKS[1][0], abs=0.03)
    assert shot.cross == pytest.approx(MARKS[1][1], abs=0.015)


def send_file(url: str, data: bytes, name: str) -> tuple[int, str]:
    line = uuid.uuid4().hex
    body = (
        (
            f'--{line}\r\nContent-Disposition: form-data; name="photo"; filename="{name}"\r\n'
            "Content-Type: image/jpeg\r\n\r\n"
        ).encode()
        + data
        + f"\r\n--{line}--\r\n".encode()
    )
    connection = http.client.HTTPConnection(url.removeprefix("http://"), timeout=60)
    try:
        headers = {"Origin": url, "Content-Type": f"multipart/form-data; boundary={line}"}
        connection.request("POST", "/range/photo/send", body, headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    finally:
        connection.close()


def test_what_is_no_photo_is_refused_and_not_kept(serve: Callable, project: Path) -> None:
    url = serve(project).url
    bomb = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(bomb, format="PNG")
    for data, name, words in (
        (b"MZ" + b"\x00" * 4000, "marks.jpg", "is not a photo"),
        (bomb.getvalue(), "marks.png", "smaller photo"),
        (b"", "marks.jpg", "is not a photo"),
    ):
        status, text = send_file(url, data, name)
        assert status == 422
        assert words in text
    assert not photo_folder(project).exists()


def test_a_file_over_the_limit_is_cut_off(serve: Callable, project: Path) -> None:
    try:
        status, text = send_file(serve(project).url, b"x" * 50_100_000, "marks.jpg")
    except (BrokenPipeError, ConnectionResetError):
        return  # cut off while still sending: refused as well
    assert status == 413
    assert "50 MB" in text


@pytest.mark.parametrize("name", ["..%2F..%2Fcrew", "0" * 64, "a"])
def test_no_other_file_is_handed_out(serve: Callable, project: Path, name: str) -> None:
    connection = http.client.HTTPConnection(serve(project).url.removeprefix("http://"), timeout=30)
    connection.request("GET", f"/range/photo/{name}.jpg")
    assert connection.getresponse().status in (404, 422)
    connection.close()
