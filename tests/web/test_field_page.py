"""The field page: drag, see, let go, undo; by pointer and by keyboard; and the file behind it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from shotwright.bench.field import field_plan, game_text


def where(project: Path, name: str) -> tuple[float, float]:
    return next((i.x_m, i.y_m) for i in field_plan(project).items if i.name == name)


def opened(page: Page) -> None:
    expect(page.locator("#window svg")).to_be_visible(timeout=30_000)


def test_a_position_is_dragged_saved_and_taken_back(serve: Callable, visit: Callable, yard: Path) -> None:
    workspace = serve(yard)
    page = visit(workspace.url).go("/field")
    opened(page)
    said = page.locator("#words").inner_text()
    text = game_text(yard)
    box = page.locator('[data-item="position rail"] .grip').bounding_box()
    floor = page.locator("#plan .floor").bounding_box()
    assert box is not None
    assert floor is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y - 30, steps=5)
    page.mouse.up()
    expect(page.get_by_role("button", name="Undo: rail moved")).to_be_visible()
    metre = floor["width"] / 9.0
    assert where(yard, "rail") == pytest.approx((4.5 + 40 / metre, 0.4 + 30 / metre), abs=1.5 / metre + 0.005)
    expect(page.locator("#words")).not_to_have_text(said)
    page.get_by_role("button", name="Undo: rail moved").click()
    expect(page.get_by_role("button", name="Undo")).to_be_hidden()
    assert game_text(yard) == text


def test_arrow_keys_move_by_a_centimetre(serve: Callable, visit: Callable, yard: Path) -> None:
    page = visit(serve(yard).url).go("/field")
    opened(page)
    page.locator('[data-item="target lantern"]').focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowUp")
    expect(page.get_by_role("button", name="Undo: lantern moved")).to_be_visible()
    assert where(yard, "lantern") == pytest.approx((7.59, 3.1), abs=1e-9)


def test_the_command_line_s_change_shows_on_the_open_page(
    serve: Callable, visit: Callable, yard: Path
) -> None:
    from shotwright.bench.field import Moved, move

    page = visit(serve(yard).url).go("/field")
    opened(page)
    move(yard, Moved("position", "open yard", 3.0, 2.0))
    expect(page.locator('[data-item="position open yard"]')).to_have_attribute(
        "aria-label", "firing position open yard at x 3.00 m, y 2.00 m", timeout=3000
    )


def test_the_game_file_is_changed_as_text_and_every_fault_is_told(
    serve: Callable, visit: Callable, yard: Path
) -> None:
    page = visit(serve(yard).url, silent=True).go("/field")
    opened(page)
    page.get_by_text("The game file, as text").click()
    area = page.locator("#text")
    expect(area).to_have_value(game_text(yard).rstrip("\n") + "\n")
    area.fill(game_text(yard).replace('diameter = "150 mm"', 'diameter = "150"').replace("mass =", "mas ="))
    page.get_by_role("button", name="Save the game file").click()
    expect(page.locator("#text-errors li").filter(has_text="diameter")).to_be_visible()
    expect(page.locator("#text-errors li").filter(has_text="limits")).to_be_visible()
    area.fill(game_text(yard).replace('x = "4.5 m"', 'x = "4 m"'))
    page.get_by_role("button", name="Save the game file").click()
    expect(page.get_by_role("button", name="Undo: game file changed")).to_be_visible()
    assert where(yard, "rail")[0] == 4.0
