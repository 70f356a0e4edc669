"""What drives a launcher, in a browser: forms, match, map, search."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from shotwright.bench.drive_forms import drive_form
from shotwright.bench.drives import find_drive
from shotwright.bench.projects import import_into

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")


def type_in(page: Page, field: str, text: str) -> None:
    page.locator(f'[name="{field}"]').fill(text)
    page.locator(f'[name="{field}"]').blur()


def test_each_change_is_kept_at_once_and_can_be_taken_back(
    serve: Callable, visit: Callable, yard: Path
) -> None:
    page = visit(serve(yard).url, silent=True).go("/drive")
    match = page.locator("[data-part^='/drive/match']")
    expect(match).to_contain_text("60 of 60 shots")
    before = drive_form(yard, "Yard wheel drive")
    assert before is not None
    type_in(page, "burst.0.shots", "2")
    expect(page.locator("#kept")).to_have_text("Kept.")
    expect(match).to_contain_text("30 of 30 shots")
    assert len(find_drive(None, yard).duty.bursts) == 15  # type: ignore[union-attr]
    assert find_drive(None, yard).duty.bursts[0].shots == 2  # type: ignore[union-attr]
    expect(page.locator("#d-supply-capacity-read")).to_have_text("= 3.00 Ah")
    type_in(page, "supply.capacity", "3")
    expect(page.locator("#d-supply-capacity-error")).to_have_text(
        "'3' has no unit; type it with one, e.g. 3 Ah or 3000 mAh"
    )
    expect(page.locator("#kept")).to_contain_text("Not kept yet: one thing to mend")
    assert find_drive(None, yard).supply.battery.charge == 3 * 3600
    type_in(page, "supply.capacity", "3000 mAh")
    expect(page.locator("#kept")).to_have_text("Kept.")
    expect(page.locator("#d-supply-capacity-error")).to_be_hidden()
    for _ in range(2):
        page.get_by_role("button", name="Undo: drive Yard wheel drive").click()
        page.wait_for_timeout(300)
    after = drive_form(yard, "Yard wheel drive")
    assert after is not None
    assert after.text == before.text
    expect(page.locator('[name="burst.0.shots"]')).to_have_value("4")


def test_a_breaker_that_cuts_is_told(serve: Callable, visit: Callable, yard: Path) -> None:
    page = visit(serve(yard).url).go("/drive")
    type_in(page, "supply.motor_breaker", "4 A")
    match = page.locator("[data-part^='/drive/match']")
    expect(match).to_contain_text("motor breaker trips after")
    expect(match).to_contain_text("shots stay unfired")
    page.locator('[name="supply.motor_breaker.kind"]').select_option("self-resetting")
    expect(page.locator("#kept")).to_have_text("Kept.")
    assert find_drive(None, yard).supply.motor_breaker.closes_at == 0.6  # type: ignore[union-attr]


def test_a_motor_of_my_own_from_readings(serve: Callable, visit: Callable, yard: Path) -> None:
    page = visit(serve(yard).url, silent=True).go("/drive")
    page.locator('[name="motor.0.by"]').select_option("my readings")
    expect(page.locator("#faults, #d-motor-0-voltage-error, #kept").first).to_be_visible()
    rows = (("12 V", "6 A", "17900 rpm", "0.0245 N m"), ("12 V", "45 A", "10700 rpm", "0.262 N m"))
    for i, row in enumerate(rows):
        for key, text in zip(("voltage", "current", "speed", "torque"), row, strict=True):
            type_in(page, f"motor.0.reading.{i}.{key}", text)
    expect(page.locator("#kept")).to_have_text("Kept.")
    told = page.locator("[data-part^='/drive/motors']")
    expect(told).to_contain_text("my motor, from 2 readings, 95 %")
    assert find_drive(None, yard).fits["my motor"].readings == 2


def test_the_map_is_clicked_into_and_built(serve: Callable, visit: Callable, yard: Path) -> None:
    page = visit(serve(yard).url).go("/drive")
    expect(page.locator("#map svg")).to_be_visible()
    page.locator("#map svg").click(position={"x": 300, "y": 250})
    expect(page.locator("#spot-words")).to_contain_text("Your gears come to")
    expect(page.locator("#map .here")).to_be_visible()
    ratio = float(page.locator("#s-ratio").input_value())
    page.locator("#s-ratio").fill("4")
    page.locator("#s-inertia").fill("14 kg cm^2")
    page.get_by_role("button", name="Look").click()
    expect(page.locator("#spot-words")).to_contain_text("Ratio 4, wheel of 14 kg cm²")
    page.get_by_role("button", name="Build this").click()
    expect(page.locator('[name="wheel.inertia"]')).to_have_value("14 kg cm^2")
    built = find_drive(None, yard).wheel
    assert built is not None
    assert built.train.ratio == pytest.approx(4.0)
    assert 1.5 < ratio < 15


def test_the_jolt_comes_from_a_launcher(serve: Callable, visit: Callable, yard: Path) -> None:
    import_into(yard, YARD / "launchers.toml")
    page = visit(serve(yard).url).go("/drive")
    page.locator("#d-launcher").select_option("hooded wheel")
    page.get_by_role("button", name="Take them").click()
    expect(page.locator('[name="wheel.speed"]')).not_to_have_value("1900 rpm")
    assert find_drive(None, yard).duty.ball_inertia != 4.9e-4  # type: ignore[union-attr]
    expect(page.get_by_role("button", name="Undo: drive Yard wheel drive")).to_be_visible()


def test_a_cam_that_is_kept_winds(serve: Callable, visit: Callable, yard: Path) -> None:
    import_into(yard, YARD / "parts.toml")
    import_into(yard, YARD / "piston-drive.toml")
    page = visit(serve(yard).url).go("/drive?drive=Yard%20piston%20drive")
    page.get_by_role("button", name="Take it").click()
    expect(page.locator('[name="winding.stiffness"]')).to_have_value("", timeout=60_000)
    expect(page.locator("[data-part^='/drive/winding']")).to_contain_text("shots a minute")
    assert len(find_drive(None, yard, "Yard piston drive").needed_winding().turn.torques) == 37


def test_the_search_can_be_stopped_and_its_pick_built(serve: Callable, visit: Callable, yard: Path) -> None:
    page = visit(serve(yard).url, silent=True).go("/drive")
    page.get_by_role("button", name="Search", exact=True).click()
    page.get_by_role("button", name="Cancel").click()
    expect(page.locator("#notice")).to_have_text("Stopped.", timeout=60_000)
    page.get_by_role("button", name="Search", exact=True).click()
    found = page.locator("#found")
    expect(found).to_contain_text("The pick:", timeout=120_000)
    expect(found).to_contain_text("what breaks first")
    said = re.search(r"The pick: (\d) x ([^,]+), ratio ([\d.]+)", found.inner_text())
    assert said
    found.get_by_role("button", name="Build the pick").click()
    expect(page.get_by_role("button", name="Undo: drive Yard wheel drive")).to_be_visible()
    page.wait_for_load_state()
    built = find_drive(None, yard).wheel
    assert built is not None
    assert (built.motors, built.motor.name) == (int(said[1]), said[2])
    assert built.train.ratio == pytest.approx(float(said[3]), rel=1e-3)


def test_from_no_drive_to_a_piston(serve: Callable, visit: Callable, tmp_path: Path) -> None:
    workspace = serve(tmp_path / "new.shotwright")
    page = visit(workspace.url).go("/drive")
    page.locator("#n-name").fill("my piston")
    page.locator("#n-kind").select_option("a piston")
    page.get_by_role("button", name="Start with typical values").click()
    wound = page.locator("[data-part^='/drive/winding']")
    expect(wound).to_contain_text("shots a minute")
    expect(wound.locator("svg").first).to_be_visible()
    page.locator("#drive-form").get_by_role("button", name="Take stage 1 out").click()
    expect(wound).not_to_contain_text("shots a minute")
    page.get_by_role("button", name="Undo: drive my piston").click()
    expect(wound).to_contain_text("shots a minute")
    page.get_by_role("button", name="Drop this drive").click()
    expect(page.get_by_text("A drive to begin with")).to_be_visible()
    page.get_by_role("button", name="Undo: dropping my piston").click()
    expect(page.locator("#which")).to_have_value("my piston")


@pytest.mark.parametrize("dark", [False, True])
def test_a_piston_page_keeps_nobody_out(serve: Callable, visit: Callable, yard: Path, dark: bool) -> None:
    import_into(yard, YARD / "piston-drive.toml")
    window = visit(serve(yard).url, phone=dark, dark=dark)
    page = window.go("/drive?drive=Yard%20piston%20drive")
    expect(page.locator("figure svg").first).to_be_visible()
    page.evaluate(AXE)
    faults = page.evaluate("async () => (await axe.run()).violations")
    assert [(fault["id"], fault["nodes"][0]["html"][:150]) for fault in faults] == []
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
