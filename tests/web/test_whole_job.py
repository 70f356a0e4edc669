"""The whole job by clicks: from an empty project to a notebook, on the laptop and on a phone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from shotwright.bench.projects import summary

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
# Where seven balls landed, centimetres from the release point and left of the aim line: simulated.
MARKS = ((512, -4), (533, 6), (498, 1), (541, -9), (520, 3), (507, 8), (529, -2))


def bring_in(page: Page, file: str) -> None:
    page.set_input_files("#file", YARD / file)
    page.get_by_role("button", name="Bring it in").click()


def press(page: Page, text: str) -> None:
    for key in text.lstrip("-"):
        page.locator(f'[data-key="{key}"]').click()
    if text.startswith("-"):
        page.locator('[data-key="±"]').click()


@pytest.mark.slow
def test_from_an_empty_project_to_a_notebook(serve: Callable, visit: Callable, tmp_path: Path) -> None:
    workspace = serve(tmp_path / "night.shotwright", network=True)
    page = visit(workspace.url).go()
    bring_in(page, "game.toml")
    expect(page.get_by_text("3 firing positions, 2 targets")).to_be_visible()
    bring_in(page, "prototypes.toml")
    expect(page.get_by_text("hooded wheel, twin wheels, piston")).to_be_visible()

    page.get_by_role("link", name="Field").click()
    expect(page.locator("#window svg")).to_be_visible(timeout=60_000)
    expect(page.locator("#words")).to_contain_text("slowest shot that scores")

    page.get_by_role("link", name="Phones").click()
    page.get_by_role("button", name="Add a phone").click()
    secret = page.locator(".code .big").nth(1).inner_text()
    phone = visit(f"http://{workspace.site.network}", phone=True, silent=True).go("/pair")
    phone.get_by_label("Code").fill(secret)
    phone.get_by_role("button", name="Join").click()
    phone.wait_for_url("**/range")

    for prototype, elevation in (("hooded wheel", "56 deg"), ("piston", "52 deg")):
        if phone.locator("#trial").input_value():
            phone.locator("#trial").select_option("")
        phone.get_by_label("Name", exact=True).fill(f"{prototype} tonight")
        phone.locator("#t-prototype").select_option(prototype)
        phone.get_by_label("Elevation, if measured").fill(elevation)
        phone.get_by_role("button", name="Start it").click()
        expect(phone.locator("#log")).to_have_text("Log shot 1")
        for along, cross in MARKS:
            phone.locator("#read-along").click()
            press(phone, str(along))
            phone.locator("#read-cross").click()
            press(phone, str(cross))
            phone.locator("#log").click()
        expect(phone.locator("#record tbody tr:not(.waiting)")).to_have_count(7)
    assert summary(workspace.site.project).shots == 14

    page.get_by_role("link", name="Evidence").click()
    expect(page.locator("#trials svg").first).to_be_visible(timeout=60_000)
    page.get_by_role("link", name="Choice").click()
    expect(page.locator("#hits svg").first).to_be_visible(timeout=180_000)
    page.locator("#prototype").select_option("piston")
    page.get_by_label("because").fill("fewer motors, and it repeats")
    page.get_by_role("button", name="Record it").click()
    expect(page.locator("#ranking")).to_contain_text("fewer motors, and it repeats")
    page.get_by_role("link", name="Take away").click()
    page.get_by_role("button", name="Write the notebook").click()
    with page.expect_download(timeout=180_000) as got:
        page.get_by_role("link", name="Notebook, one HTML file").click(timeout=180_000)
    book = Path(got.value.path()).read_text(encoding="utf-8")
    assert "fewer motors, and it repeats" in book
    assert "piston tonight" in book
