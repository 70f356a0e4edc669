"""From shots to a choice on record and a notebook in hand, by clicks."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import expect

from shotwright.bench.workbook import opened


def test_scatter_findings_and_planner(yard_site: str, visit: Callable) -> None:
    page = visit(yard_site).go("/evidence")
    expect(page.locator("#trials svg").first).to_be_visible()
    expect(page.locator("#comparison svg").first).to_be_visible()
    page.get_by_role("button", name="Tell me").click()
    expect(page.locator("#plan-answer")).to_contain_text("shots")


def test_a_planner_s_mistake_is_told_beside_its_field(yard_site: str, visit: Callable) -> None:
    page = visit(yard_site, silent=True).go("/evidence")
    page.locator("#ratio").fill("wide")
    page.get_by_role("button", name="Tell me").click()
    expect(page.locator("#ratio-error")).to_contain_text("is not a number")


def test_weights_redraw_and_the_choice_goes_on_record(serve: Callable, visit: Callable, yard: Path) -> None:
    workspace = serve(yard)
    page = visit(workspace.url).go("/choice")
    expect(page.locator("#hits svg").first).to_be_visible(timeout=120_000)
    expect(page.locator("#ranking")).to_contain_text("all weightings")
    page.get_by_label("our own weights").check()
    page.locator("#weight-motors").fill("10")
    expect(page.locator("#ranking")).not_to_contain_text("all weightings")
    page.locator("#prototype").select_option("piston")
    page.get_by_label("because").fill("repeats best from the rail")
    page.get_by_role("button", name="Record it").click()
    expect(page.locator("#ranking")).to_contain_text("repeats best from the rail")
    with opened(yard, read_only=True) as file:
        assert [c["prototype"] for c in file.choices()] == ["piston"]
    # What was computed still holds: recording fires no ball.
    expect(page.locator("#work")).to_be_empty()
    page.goto(workspace.url + "/files")
    page.get_by_role("button", name="Write the notebook").click()
    expect(page.get_by_role("link", name="Notebook, PDF to print")).to_be_visible(timeout=120_000)
    with page.expect_download() as got:
        page.get_by_role("link", name="Notebook, PDF to print").click()
    assert Path(got.value.path()).read_bytes().startswith(b"%PDF")
    with page.expect_download() as got:
        page.get_by_role("link", name="Plain files, zipped").click()
    assert "game.toml" in zipfile.ZipFile(got.value.path()).namelist()
    with page.expect_download() as got:
        page.get_by_role("link", name="Copy of the project file").click()
    with opened(Path(got.value.path()), read_only=True) as file:
        assert len(file.shots()) == 21


def test_a_choice_without_a_reason_is_not_recorded(yard_site: str, visit: Callable) -> None:
    page = visit(yard_site, silent=True).go("/choice")
    expect(page.locator("#hits svg").first).to_be_visible(timeout=120_000)
    page.get_by_role("button", name="Record it").click()
    expect(page.locator("#reason-error")).to_contain_text("say why")
