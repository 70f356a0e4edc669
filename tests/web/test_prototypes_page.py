"""Prototypes on paper, in a browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import expect

from shotwright.bench.launcher_forms import launcher_form
from shotwright.bench.projects import import_into

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


def test_the_answer_follows_the_typing_and_is_kept_on_demand(
    serve: Callable, visit: Callable, yard: Path
) -> None:
    import_into(yard, YARD / "launchers.toml")
    page = visit(serve(yard).url, silent=True).go("/prototypes?prototype=piston")
    expect(page.locator("#release")).to_contain_text("throws")
    said = page.locator("#release").inner_text()
    page.locator("#f-stiffness").fill("1400 N/m")
    expect(page.locator("#release")).not_to_have_text(said)
    assert "1400 N/m" not in launcher_form(yard, "piston").text
    page.locator("#f-stroke").fill("115")
    expect(page.locator("#faults")).to_contain_text("no unit")
    page.locator("#f-stroke").fill("115 mm")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("button", name="Undo: launcher of piston")).to_be_visible()
    assert "1400 N/m" in launcher_form(yard, "piston").text


def test_reach_and_shares_are_predicted_on_demand(serve: Callable, visit: Callable, yard: Path) -> None:
    import_into(yard, YARD / "launchers.toml")
    page = visit(serve(yard).url).go("/prototypes?prototype=piston")
    page.get_by_role("button", name="Predict from its kept file").click()
    expect(page.locator("#predicted svg").first).to_be_visible(timeout=180_000)
    expect(page.locator("#predicted")).to_contain_text("What to fix first")
