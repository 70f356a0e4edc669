"""Every page, wide and narrow, by day and by night: no fault that keeps people out, no sideways scroll."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from shotwright.web.pages import STATIONS

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
PAGES = (*(station.path for station in STATIONS), "/range/photo", "/range/video", "/phones", "/no-such-page")


def settle(page: Page, path: str) -> None:
    """Wait until what a page fetches by itself is there."""
    expect(page.locator("#link")).to_have_attribute("data-state", "live")
    if path == "/range":
        expect(page.locator("#floor .aim")).to_be_attached()
    if path == "/field":
        expect(page.locator("#window svg")).to_be_visible(timeout=30_000)
    if path == "/drive":
        expect(page.locator("#map svg")).to_be_visible(timeout=30_000)
        expect(page.locator("figure svg").first).to_be_visible(timeout=30_000)
    if path == "/evidence":
        expect(page.locator(".sheet-part svg").first).to_be_visible()
    if path == "/robot":
        for part in ("drive-base", "tilt", "feed", "brake", "power"):
            expect(page.locator(f"#{part} figure svg")).to_be_visible(timeout=60_000)
    if path == "/parts":
        expect(page.locator("#drawing svg")).to_be_visible()
    if path == "/choice":
        expect(page.locator("#hits svg").first).to_be_visible(timeout=120_000)


@pytest.mark.parametrize("path", PAGES)
def test_no_fault_that_keeps_people_out(yard_site: str, visit: Callable, path: str) -> None:
    found = []
    for phone, dark in ((False, False), (True, True)):
        window = visit(yard_site, phone=phone, dark=dark, silent=path == "/no-such-page")
        page = window.go(path)
        settle(page, path)
        page.evaluate(AXE)
        faults = page.evaluate("async () => (await axe.run()).violations")
        found += [
            f"{'phone' if phone else 'desk'} {fault['id']} ({fault['impact']}): {node['html'][:150]}"
            for fault in faults
            for node in fault["nodes"]
        ]
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide <= 0, f"scrolls sideways by {wide} px"
        window.context.close()
    assert found == [], "\n".join(found)


def test_everything_is_reached_by_keyboard(yard_site: str, visit: Callable) -> None:
    page = visit(yard_site).go("/range")
    settle(page, "/range")
    reached = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.id || document.activeElement.textContent.trim()"))
    assert {"trial", "floor", "read-along", "unit", "log", "Skip to the page"} <= reached


def test_the_floor_takes_arrow_keys(yard_site: str, visit: Callable) -> None:
    page = visit(yard_site).go("/range")
    settle(page, "/range")
    page.locator("#floor").focus()
    page.keyboard.press("ArrowUp")
    before = float(page.locator("#along").inner_text())
    page.keyboard.press("ArrowUp")
    assert float(page.locator("#along").inner_text()) == pytest.approx(before + 1.0)
