"""The robot around the launcher, in a browser: forms, pictures, long work, undo."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from shotwright.bench.projects import import_into
from shotwright.bench.robot_forms import put_robot_text, robot_text
from shotwright.bench.robot_text import typed_robot
from shotwright.bench.robots import find_robot

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")


@pytest.fixture
def robot(yard: Path) -> Path:
    """A project of its own with the invented robot."""
    import_into(yard, YARD / "robot.toml")
    return yard


def type_in(page: Page, field: str, text: str) -> None:
    page.locator(f'[name="{field}"]').fill(text)
    page.locator(f'[name="{field}"]').blur()


def test_a_change_is_kept_and_drawn_and_can_be_taken_back(
    serve: Callable, visit: Callable, robot: Path
) -> None:
    page = visit(serve(robot).url, silent=True).go("/robot")
    before, feed = robot_text(robot), page.locator("#feed [data-part]")
    expect(feed).to_contain_text("and is 156 mm wide")
    expect(page.locator("#d-feed-width-read")).to_have_text("= 0.156 m")
    type_in(page, "feed.width", "155 mm")
    expect(page.locator("#kept")).to_have_text("Kept.")
    expect(feed).to_contain_text("and is 155 mm wide")
    part = find_robot(None, robot).robot.feed
    assert part is not None
    assert part.width == pytest.approx(0.155)
    drawn = feed.locator("svg").evaluate("svg => [svg.clientWidth, svg.viewBox.baseVal.width]")
    room = feed.evaluate("part => part.clientWidth")
    assert drawn[0] == pytest.approx(drawn[1], abs=1)  # drawn for its box, not scaled
    assert drawn[0] <= room
    page.get_by_role("button", name="Undo: robot").click()
    expect(page.locator('[name="feed.width"]')).to_have_value("156 mm")
    expect(feed).to_contain_text("and is 156 mm wide")
    assert robot_text(robot) == before


def test_what_is_wrong_stands_beside_its_field(serve: Callable, visit: Callable, robot: Path) -> None:
    page = visit(serve(robot).url, silent=True).go("/robot")
    before = robot_text(robot)
    type_in(page, "brake.air.regulated", "9 bar")
    wrong = page.locator("#d-brake-air-regulated-error")
    expect(wrong).to_contain_text("is not between 0 and the full pressure")
    expect(page.locator("#kept")).to_have_text("Not kept yet: one thing to mend.")
    expect(page.locator('[name="brake.air.regulated"]')).to_have_attribute("aria-invalid", "true")
    assert robot_text(robot) == before
    type_in(page, "brake.air.regulated", "5 bar")
    expect(page.locator("#kept")).to_have_text("Kept.")
    expect(wrong).to_be_hidden()
    # a field that is folded away is shown together with what is wrong with it
    page.get_by_role("link", name="Robot and battery").click()
    type_in(page, "mass", "14")
    page.locator("#shared summary").click()
    type_in(page, "tilt.mass", "3 kg")
    expect(page.locator("#d-mass-error")).to_be_visible()
    expect(page.locator("#d-mass-error")).to_contain_text("has no unit")


def test_from_no_robot_to_the_invented_example_and_back(
    serve: Callable, visit: Callable, tmp_path: Path
) -> None:
    project = tmp_path / "new.shotwright"
    page = visit(serve(project).url).go("/robot")
    page.get_by_role("button", name="Start from the invented example").click()
    expect(page.get_by_text("INVENTED EXAMPLE")).to_be_visible()
    expect(page.locator("#feed .trouble")).to_contain_text("the feed needs the ball")
    expect(page.locator("#brake [data-part]")).to_contain_text("actuations get the full 4.0 bar")
    page.get_by_role("button", name="Leave power budget out").click()
    expect(page.locator("#power")).to_contain_text("does not describe it")
    page.get_by_role("button", name="Add power budget").click()
    expect(page.locator("#power figure svg")).to_be_visible()
    page.get_by_role("button", name="Press by springs instead").click()
    expect(page.locator("#brake [data-part]")).to_contain_text("Drawn up, the springs pull with")
    page.get_by_role("button", name="Drop this robot").click()
    expect(page.get_by_text("A robot to begin with")).to_be_visible()
    page.get_by_role("button", name="Undo: dropping the robot").click()
    expect(page.locator("#brake [data-part]")).to_contain_text("Drawn up")
    for _ in range(4):
        page.get_by_role("button", name="Undo").click()
        page.wait_for_timeout(400)
    expect(page.get_by_text("A robot to begin with")).to_be_visible()
    assert robot_text(project) is None


def test_what_others_change_is_seen(serve: Callable, visit: Callable, robot: Path) -> None:
    page = visit(serve(robot).url).go("/robot")
    expect(page.locator("#drive-base [data-part]")).to_contain_text("3 m from rest take")
    text = robot_text(robot)
    assert text is not None
    put_robot_text(robot, typed_robot(text, {"drive-base.sprint.0.distance": "4 m"}))
    expect(page.locator('[name="drive-base.sprint.0.distance"]')).to_have_value("4 m")
    expect(page.locator("#drive-base [data-part]")).to_contain_text("4 m from rest take")


def test_a_motor_is_renamed_and_the_file_is_kept_as_text(
    serve: Callable, visit: Callable, robot: Path
) -> None:
    page = visit(serve(robot).url, silent=True).go("/robot")
    page.locator("#shared summary").click()
    type_in(page, "motor.0.name", "big one")
    expect(page.locator('[name="drive-base.motor"]')).to_have_value("big one")
    drive = find_robot(None, robot).robot.drive_base
    assert drive is not None
    assert drive.base.motor.name == "big one"
    page.locator("#as-text summary").click()
    text = page.locator("#text").input_value()
    assert 'name = "big one"' in text
    page.locator("#text").fill(text.replace("grip = 0.9", 'grip = "much"', 1))
    page.get_by_role("button", name="Keep the text").click()
    expect(page.locator("#text-faults")).to_contain_text("'much' is not a number")
    page.locator("#text").fill(text.replace("# INVENTED for", "# Ours, no longer for", 1))
    page.get_by_role("button", name="Keep the text").click()
    expect(page.get_by_text("INVENTED EXAMPLE")).to_have_count(0)


def test_long_work_tells_how_far_it_is_and_can_be_stopped(
    serve: Callable, visit: Callable, robot: Path
) -> None:
    page = visit(serve(robot).url, silent=True).go("/robot")
    drive = page.locator("#drive-base [data-part]")
    expect(drive.locator("figure svg")).to_be_visible()
    # a push that is held for minutes at every ratio takes seconds to follow
    type_in(page, "drive-base.push.force", "20 N")
    type_in(page, "drive-base.push.time", "600 s")
    expect(drive.locator("progress")).to_be_visible()
    drive.get_by_role("button", name="Cancel").click()
    drive.get_by_role("button", name="Work it out").click()
    expect(drive).to_contain_text("The mix wants 600 s", timeout=120_000)
    expect(drive.locator("figure svg")).to_be_visible()


@pytest.mark.slow
def test_the_hits_are_asked_for(serve: Callable, visit: Callable, robot: Path) -> None:
    page = visit(serve(robot).url).go("/robot")
    page.get_by_role("button", name="Work out the hits").click()
    tilt = page.locator("#tilt [data-part]")
    expect(tilt).to_contain_text("The worm with its backlash", timeout=500_000)
    expect(tilt.get_by_role("region", name="Hits: worm")).to_contain_text(re.compile(r"\d+ % \(\d+ to \d+\)"))
    expect(page.get_by_role("button", name="Work out the hits")).to_have_count(0)


@pytest.mark.parametrize("dark", [False, True])
def test_an_opened_page_keeps_nobody_out(serve: Callable, visit: Callable, robot: Path, dark: bool) -> None:
    window = visit(serve(robot).url, phone=dark, dark=dark)
    page = window.go("/robot")
    for part in ("drive-base", "tilt", "feed", "brake", "power"):
        expect(page.locator(f"#{part} figure svg")).to_be_visible()
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    page.evaluate(AXE)
    faults = page.evaluate("async () => (await axe.run()).violations")
    assert [(fault["id"], fault["nodes"][0]["html"][:150]) for fault in faults] == []
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    small = page.evaluate(
        "() => [...document.querySelectorAll('main :is(a, button, input, select, textarea, summary)')]"
        ".filter(one => { const h = one.getBoundingClientRect().height; return h > 0 && h < 44; })"
        ".map(one => one.outerHTML.slice(0, 100))"
    )
    assert small == []
