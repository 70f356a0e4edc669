"""Prototypes on paper, in a browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import expect

from shotwright.bench.launcher_forms import launcher_form, set_launcher_text
from shotwright.bench.projects import import_into

SURFACES = """[[launcher]]
prototype = "twin wheels"
kind = "wheels around the ball"
elevation = "52 deg"
release_height = "50 cm"
contact_length = "30 cm"
compression = { squeeze = "20 mm", force = "12 kg", loss = "20 %" }

[[launcher.surface]]
name = "low wheel"
place = "270 deg"
rim_speed = { value = "20 m/s", low = "10 m/s", high = "22 m/s" }
radius = "10 cm"
inertia = "20 kg cm^2"
grip = 0.6
squeeze = "10 mm"

[[launcher.surface]]
name = "top rail"
place = "90 deg"
grip = 0.6
squeeze = "10 mm"
"""
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


def test_what_the_form_does_not_ask_stays_in_the_file(serve: Callable, visit: Callable, yard: Path) -> None:
    import_into(yard, YARD / "launchers.toml")
    before = launcher_form(yard, "hooded wheel").text
    page = visit(serve(yard).url).go("/prototypes?prototype=hooded+wheel")
    expect(page.locator("#drawing svg")).to_be_visible()
    expect(page.locator("#release")).to_contain_text("throws")
    page.locator("#f-gap").fill("128 mm")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("button", name="Undo: launcher of hooded wheel")).to_be_visible()
    after = launcher_form(yard, "hooded wheel").text
    assert after == before.replace('gap = "130 mm"', 'gap = "128 mm"')


def test_a_list_of_surfaces_is_looked_at_while_its_text_is_typed(
    serve: Callable, visit: Callable, yard: Path
) -> None:
    import_into(yard, YARD / "launchers.toml")
    set_launcher_text(yard, SURFACES)
    page = visit(serve(yard).url, silent=True).go("/prototypes?prototype=twin+wheels")
    expect(page.locator("#release")).to_contain_text("throws")
    said = page.locator("#release").inner_text()
    page.locator("#text").fill(SURFACES.replace("20 m/s", "21 m/s"))
    expect(page.locator("#release")).not_to_have_text(said)
    page.locator("#text").fill(SURFACES.replace("20 m/s", "21"))
    expect(page.locator("#text-faults")).to_contain_text("no unit")
