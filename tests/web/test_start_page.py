"""The first run, in a browser."""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources
from pathlib import Path

import pytest
from playwright.sync_api import expect

from shotwright.bench.projects import summary


def yard(name: str, folder: Path) -> Path:
    there = folder / name
    there.write_bytes((resources.files("shotwright.bench") / "yard" / name).read_bytes())
    return there


def test_an_empty_project_offers_three_steps_and_fills_up(
    serve: Callable, visit: Callable, tmp_path: Path
) -> None:
    workspace = serve()
    page = visit(workspace.url).go()
    expect(page.locator(".steps li")).to_have_count(3)
    expect(page.get_by_role("button", name="Run the demo")).to_be_visible()
    page.set_input_files("#file", yard("game.toml", tmp_path))
    page.get_by_role("button", name="Bring it in").click()
    expect(page.locator(".steps .done")).to_have_count(1)
    expect(page.get_by_text("3 firing positions, 2 targets")).to_be_visible()
    assert summary(workspace.site.project).game == "Lantern Yard"


def test_a_file_that_cannot_be_read_is_told_beside_its_field(
    serve: Callable, visit: Callable, tmp_path: Path
) -> None:
    workspace = serve()
    window = visit(workspace.url, silent=True)
    page = window.go()
    bad = tmp_path / "game.toml"
    bad.write_text('[game]\nname = "x"\n[ball]\ndiameter = "150"\n', encoding="utf-8")
    page.set_input_files("#file", bad)
    page.get_by_role("button", name="Bring it in").click()
    expect(page.locator("#file-error, #notice").filter(has_text="game.toml").first).to_be_visible()
    assert summary(workspace.site.project).game is None


def test_another_program_s_change_shows_within_a_second(
    serve: Callable, visit: Callable, tmp_path: Path
) -> None:
    from shotwright.bench.projects import import_into

    workspace = serve()
    page = visit(workspace.url).go()
    expect(page.locator("#link")).to_have_attribute("data-state", "live")
    import_into(workspace.site.project, yard("game.toml", tmp_path))
    expect(page.get_by_text("3 firing positions, 2 targets")).to_be_visible(timeout=1500)


@pytest.mark.slow
def test_the_demo_is_one_click_away_and_can_be_stopped(serve: Callable, visit: Callable) -> None:
    workspace = serve()
    page = visit(workspace.url).go()
    page.get_by_role("button", name="Run the demo").click()
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_role("button", name="Run the demo")).to_be_visible(timeout=30_000)
    page.get_by_role("button", name="Run the demo").click()
    expect(page.get_by_role("heading", name="Lantern Yard (simulated)")).to_be_visible(timeout=180_000)


def test_a_phone_joins_by_the_code_on_the_laptop(serve: Callable, visit: Callable) -> None:
    workspace = serve(network=True)
    laptop = visit(workspace.url).go("/phones")
    laptop.get_by_role("button", name="Add a phone").click()
    secret = laptop.locator(".code .big").nth(1).inner_text()
    phone = visit(f"http://{workspace.site.network}", phone=True, silent=True).go(
        f"/pair#{secret.replace(' ', '')}"
    )
    phone.get_by_label("Call this phone").fill("Red phone")
    phone.get_by_role("button", name="Join").click()
    expect(laptop.get_by_role("cell", name="Red phone", exact=True)).to_be_visible()
    phone.wait_for_url("**/range")
