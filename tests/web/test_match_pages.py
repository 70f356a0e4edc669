"""Shot table and match plans in a browser: asked for, shown, kept, taken away."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, expect

from shotwright.bench.match_text import match_text
from shotwright.bench.workbook import opened

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
PLAN = """
[match]
length = "60 s"
[robot]
start = ["1 m", "1 m"]
speed = "2 m/s"
acceleration = "2 m/s^2"
storage = 2
preload = 2
[launcher]
recovery = "1 s"
[[position]]
name = "rail"
target = "lantern"
hit = "60 %"
[[position]]
name = "open yard"
target = "lantern"
hit = "50 %"
[[station]]
name = "shed"
x = "1 m"
y = "4 m"
time_per_ball = "0.8 s"
[[defender]]
name = "warden"
blocks = { rail = "40 %", "open yard" = "20 %" }
stay = "6 s"
[[plan]]
name = "rail first"
positions = ["rail", "open yard"]
stations = ["shed"]
[[plan]]
name = "yard only"
positions = ["open yard"]
stations = ["shed"]
"""


def faults(page: Page) -> list[str]:
    page.evaluate(AXE)
    found = page.evaluate("async () => (await axe.run()).violations")
    return [f"{fault['id']}: {node['html'][:150]}" for fault in found for node in fault["nodes"]]


def test_plans_are_kept_and_simulated(serve: Callable, visit: Callable, yard: Path) -> None:
    window = visit(serve(yard).url, silent=True)
    page = window.go("/match")
    # a file to start from names the game's positions
    assert 'name = "start corner"' in page.locator("#text").input_value()
    page.locator("#text").fill(PLAN.replace('"2 m/s"', '"2"').replace('"1 s"', '"1"'))
    page.get_by_role("button", name="Keep and simulate").click()
    expect(page.locator("#text-error")).to_contain_text("[robot], speed: '2' has no unit")
    expect(page.locator("#faults")).to_contain_text("[launcher], recovery: '1' has no unit")
    assert match_text(yard) == ""

    page.locator("#text").fill(PLAN)
    page.get_by_role("button", name="Keep and simulate").click()
    expect(page.locator("#plans svg").first).to_be_visible(timeout=90_000)
    expect(page.locator("#plans")).to_contain_text("To-do list")
    expect(page.locator("#plans")).to_contain_text("what to do when its first position is blocked")
    expect(page.locator("#plans")).to_contain_text("PREDICTED from 10000 simulated matches")
    assert match_text(yard).strip() == PLAN.strip()
    assert faults(page) == []
    page.reload()
    expect(page.locator("#plans svg").first).to_be_visible()


def test_a_table_is_built_kept_and_taken_away(serve: Callable, visit: Callable, yard: Path) -> None:
    window = visit(serve(yard).url)
    page = window.go("/shot-table")
    page.locator("#prototype").select_option("piston")
    page.locator("#distances").fill("3 m .. 4 m")
    page.locator("#step").fill("50 cm")
    page.locator("#elevation").fill("56 deg")
    page.locator("#setting").fill("speed")
    page.get_by_role("button", name="Build the table").click()
    expect(page.locator("#table svg").first).to_be_visible(timeout=120_000)
    expect(page.locator("#table")).to_contain_text("Shot table of piston at lantern, predicted")
    expect(page.locator("#table")).to_contain_text("Drivers' card")
    with page.expect_download() as got:
        page.get_by_role("link", name="C header").click()
    assert "#define SHOT_TABLE_ROWS 3" in Path(got.value.path()).read_text(encoding="utf-8")
    with page.expect_download() as got:
        page.get_by_role("link", name="Drivers' card").click()
    assert Path(got.value.path()).read_bytes().startswith(b"%PDF")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#notice")).to_have_text("Kept: the next table says what changed.")
    with opened(yard, read_only=True) as file:
        assert len(file.get_fact("shot table of piston at lantern")["rows"]) == 3
    assert faults(page) == []


def test_a_slip_is_told_in_a_line(serve: Callable, visit: Callable, yard: Path) -> None:
    page = visit(serve(yard).url, silent=True).go("/shot-table")
    page.locator("#prototype").select_option("piston")
    page.locator("#distances").fill("3 m")
    page.get_by_role("button", name="Build the table").click()
    expect(page.get_by_text("'3 m' is no range; type e.g. '1.5 m .. 5 m'").first).to_be_visible(
        timeout=60_000
    )
