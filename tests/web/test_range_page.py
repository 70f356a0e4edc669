"""Logging shots as a crew does: by thumb, by keypad, from two devices, with a line that breaks."""

from __future__ import annotations

import threading
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from shotwright.bench.projects import create_project, import_into
from shotwright.bench.shots import list_shots
from shotwright.web.serve import Workspace

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
TRIAL = "piston at 62"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    file = tmp_path / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    import_into(file, YARD / "trials.toml")
    return file


def tap(page: Page, right: float, down: float) -> None:
    expect(page.locator("#floor .aim")).to_be_attached()
    box = page.locator("#floor").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + right * box["width"], box["y"] + down * box["height"])


def type_in(page: Page, along: str, cross: str) -> None:
    page.locator("#read-along").click()
    for key in along:
        page.locator(f'[data-key="{key}"]').click()
    page.locator("#read-cross").click()
    for key in cross:
        page.locator(f'[data-key="{key}"]').click()


def paired(workspace: Workspace, visit: Callable, *, silent: bool = False) -> Page:
    secret = workspace.site.pairing.new_secret()
    page = visit(f"http://{workspace.site.network}", phone=True, silent=silent).go(f"/pair#{secret}")
    page.get_by_role("button", name="Join").click()
    page.wait_for_url("**/range")
    expect(page.locator("#log")).to_be_visible()
    return page


def test_a_tap_is_to_scale(serve: Callable, visit: Callable, project: Path) -> None:
    page = visit(serve(project).url).go(f"/range?trial={TRIAL}")
    expect(page.locator("#log")).to_have_text("Log shot 1")
    # Six metres are shown around 4 m when nothing is on record: the middle is 4 m out, on the aim line.
    tap(page, 0.5, 0.5)
    page.locator("#log").click()
    expect(page.locator("#log")).to_have_text("Log shot 2")
    box = page.locator("#floor").bounding_box()
    assert box is not None
    metres = 6.0 / box["height"]
    (shot,) = list_shots(project, TRIAL).shots
    assert shot.along == pytest.approx(4.0, abs=1.5 * metres)
    assert shot.cross == pytest.approx(0.0, abs=1.5 * metres)
    assert shot.source == "tapped on the laptop"


def test_the_keypad_takes_a_minus_and_the_unit_that_stands_there(
    serve: Callable, visit: Callable, project: Path
) -> None:
    page = visit(serve(project).url, phone=True).go(f"/range?trial={TRIAL}")
    expect(page.locator("#log")).to_be_visible()
    type_in(page, "452.5", "12±")
    page.locator("#log").click()
    expect(page.locator("#record tbody tr")).to_have_count(1)
    page.locator("#unit").select_option("in")
    type_in(page, "180", "4")
    page.locator("#log").click()
    expect(page.locator("#record tbody tr:not(.waiting)")).to_have_count(2)
    first, second = list_shots(project, TRIAL).shots
    assert (first.along, first.cross) == pytest.approx((4.525, -0.12))
    assert (second.along, second.cross) == pytest.approx((4.572, 0.1016))


def test_undo_sets_aside_and_never_deletes(serve: Callable, visit: Callable, project: Path) -> None:
    page = visit(serve(project).url).go(f"/range?trial={TRIAL}")
    tap(page, 0.5, 0.4)
    page.locator("#log").click()
    page.get_by_role("button", name="Undo: shot 1").click()
    expect(page.locator("#record tr.aside")).to_have_count(1)
    (shot,) = list_shots(project, TRIAL).shots
    assert shot.set_aside == "logged by mistake (undone)"


def test_a_shot_is_set_aside_for_a_reason_and_taken_back(
    serve: Callable, visit: Callable, project: Path
) -> None:
    page = visit(serve(project).url).go(f"/range?trial={TRIAL}")
    tap(page, 0.5, 0.4)
    page.locator("#log").click()
    page.get_by_role("button", name="Set aside shot 1").click()
    page.get_by_role("button", name="misfed or jammed").click()
    expect(page.locator("#record tr.aside")).to_contain_text("misfed or jammed")
    assert list_shots(project, TRIAL).shots[0].set_aside == "misfed or jammed"
    page.get_by_role("button", name="Take back shot 1").click()
    expect(page.locator("#record tr.aside")).to_have_count(0)
    assert list_shots(project, TRIAL).shots[0].set_aside is None


def test_a_broken_line_loses_nothing_and_doubles_nothing(
    serve: Callable, visit: Callable, project: Path
) -> None:
    workspace = serve(project, network=True)
    phone = paired(workspace, visit, silent=True)
    phone.locator("#trial").select_option(TRIAL)
    expect(phone.locator("#log")).to_have_text("Log shot 1")
    phone.context.set_offline(True)
    for down in (0.3, 0.5, 0.7):
        tap(phone, 0.5, down)
        phone.locator("#log").click()
    expect(phone.locator("#outbox")).to_have_text("3 shots waiting on this device")
    assert list_shots(project, TRIAL).shots == ()
    phone.context.set_offline(False)
    expect(phone.locator("#outbox")).to_have_text("", timeout=10_000)
    logged = list_shots(project, TRIAL).shots
    assert [s.order for s in logged] == [1, 2, 3]
    assert [s.along for s in logged] == sorted((s.along for s in logged), reverse=True)
    assert all(s.source.startswith("tapped on phone") for s in logged)


def test_an_answer_that_got_lost_does_not_make_a_second_shot(
    serve: Callable, visit: Callable, project: Path
) -> None:
    workspace = serve(project)
    page = visit(workspace.url, silent=True).go(f"/range?trial={TRIAL}")
    lost = []

    def lose_the_answer(route) -> None:  # type: ignore[no-untyped-def]
        # The laptop gets the shot, the phone never hears of it.
        if not lost:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    page.route("**/range/log", lose_the_answer)
    tap(page, 0.5, 0.5)
    page.locator("#log").click()
    expect(page.locator("#outbox")).to_have_text("", timeout=10_000)
    assert lost == [200]
    assert len(list_shots(project, TRIAL).shots) == 1


def test_two_devices_see_each_other_within_a_second(serve: Callable, visit: Callable, project: Path) -> None:
    workspace = serve(project, network=True)
    laptop = visit(workspace.url).go(f"/range?trial={TRIAL}")
    expect(laptop.locator("#link")).to_have_attribute("data-state", "live")
    phone = paired(workspace, visit, silent=True)
    phone.locator("#trial").select_option(TRIAL)
    expect(phone.locator("#log")).to_have_text("Log shot 1")
    tap(phone, 0.4, 0.5)
    phone.locator("#log").click()
    expect(laptop.locator("#record tbody tr")).to_have_count(1, timeout=1500)
    tap(laptop, 0.6, 0.5)
    laptop.locator("#log").click()
    expect(phone.locator("#record tbody tr")).to_have_count(2, timeout=1500)
    assert [s.order for s in list_shots(project, TRIAL).shots] == [1, 2]


def test_a_trial_is_started_at_the_range(serve: Callable, visit: Callable, project: Path) -> None:
    page = visit(serve(project).url, silent=True).go("/range")
    page.locator("#trial").select_option("")
    page.get_by_label("Name", exact=True).fill("piston at 45")
    page.get_by_label("Elevation, if measured").fill("45")
    page.get_by_role("button", name="Start it").click()
    expect(page.locator("#t-elevation-error")).to_contain_text("no unit")
    page.get_by_label("Elevation, if measured").fill("45 deg")
    expect(page.locator("#t-elevation-read")).to_have_text("= 45.00 °")
    page.get_by_role("button", name="Start it").click()
    expect(page.locator("#log")).to_have_text("Log shot 1")
    assert list_shots(project, "piston at 45").trials[0].elevation == pytest.approx(0.7853981633974483)


def test_fifty_read_while_one_writes(serve: Callable, send: Callable, project: Path) -> None:
    """Nobody is turned away, and the writer's shots are all there."""
    workspace = serve(project)
    wrong: list[object] = []

    def read() -> None:
        for _ in range(4):
            with urllib.request.urlopen(
                f"{workspace.url}/range/shots?trial=piston+at+62", timeout=60
            ) as answer:
                if answer.status != 200:
                    wrong.append(answer.status)

    readers = [threading.Thread(target=read) for _ in range(50)]
    for reader in readers:
        reader.start()
    for k in range(20):
        mark = {"uid": f"{k:032x}", "trial": TRIAL, "along": "4 m", "cross": f"{k} cm"}
        status, text, _ = send(workspace.url, "/range/log", mark)
        if status != 200:
            wrong.append(text)
    for reader in readers:
        reader.join(120)
    assert wrong == []
    assert [s.order for s in list_shots(project, TRIAL).shots] == list(range(1, 21))
