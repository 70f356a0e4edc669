"""Parts in a browser: drawn while typing, kept, taken away as files."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from shotwright.bench.kept_parts import kept_part, list_parts
from shotwright.bench.part_files import part_bytes
from shotwright.bench.projects import import_into

LAUNCHERS = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard" / "launchers.toml"


def test_the_drawing_follows_the_typing_and_is_exact_on_demand(
    serve: Callable, visit: Callable, yard: Path
) -> None:
    page = visit(serve(yard).url, silent=True).go("/parts?kind=hood-plate")
    expect(page.locator("#drawing svg")).to_be_visible()
    expect(page.locator("#state")).to_contain_text("preview")
    before = page.locator("#drawing svg").inner_html()
    page.locator("#f-wrap_angle").fill("60 deg")
    expect(page.locator("#rows")).to_contain_text("135.1 mm in contact")
    assert page.locator("#drawing svg").inner_html() != before
    page.get_by_role("button", name="Draw it exactly").click()
    expect(page.locator("#state")).to_have_text("Drawn exactly.")
    page.locator("#f-wrap_angle").fill("60")
    expect(page.locator("#f-wrap_angle-error")).to_contain_text("no unit")
    page.locator("#f-wrap_angle").fill("60 deg")
    expect(page.locator("#f-wrap_angle-error")).to_be_hidden()


def test_a_part_is_kept_taken_away_removed_and_brought_back(
    serve: Callable, visit: Callable, yard: Path
) -> None:
    import ezdxf

    page = visit(serve(yard).url, silent=True).go("/parts?kind=hub-plate")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#f-name-error")).to_contain_text("give the part a name")
    page.locator("#f-name").fill("left hub")
    page.locator("#f-diameter").fill("2 in")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#kept-parts")).to_contain_text("left hub")
    kept = kept_part(yard, "left hub")
    assert kept.inputs["diameter"] == "2 in"
    with page.expect_download() as taken:
        page.get_by_role("button", name="DXF").click()
    assert taken.value.suggested_filename == "left-hub.dxf"
    data = Path(taken.value.path()).read_bytes()
    assert data == part_bytes(kept.sheets[0], ".dxf")
    doc = ezdxf.read(io.StringIO(data.decode()))
    widest = max(max(x for x, *_ in loop.get_points()) for loop in doc.modelspace().query("LWPOLYLINE"))
    assert widest == pytest.approx(25.4)
    page.get_by_role("button", name="Remove left hub").click()
    expect(page.locator("#kept-parts")).to_contain_text("None yet")
    assert list_parts(yard).parts == ()
    page.get_by_role("button", name="Undo: removed part left hub").click()
    expect(page.locator("#kept-parts")).to_contain_text("left hub")
    assert kept_part(yard, "left hub").to_dict() == kept.to_dict()
    page.get_by_role("link", name="left hub").click()
    expect(page.locator("#f-diameter")).to_have_value("2 in")


def test_a_pdf_comes_on_the_paper_asked_for(serve: Callable, visit: Callable, yard: Path) -> None:
    from pypdf import PdfReader

    page = visit(serve(yard).url).go("/parts?kind=wheel-disc")
    page.locator("#paper").select_option("letter")
    with page.expect_download() as taken:
        page.get_by_role("button", name="PDF, 1:1").click()
    sheet = PdfReader(taken.value.path()).pages[0]
    assert float(sheet.mediabox.width) == pytest.approx(8.5 * 72, abs=0.01)
    assert math.isclose(float(sheet.mediabox.height), 11 * 72, abs_tol=0.01)


def test_files_and_kinds_that_are_not_there_are_refused(serve: Callable, send: Callable, yard: Path) -> None:
    url = serve(yard).url
    status, said, _ = send(url, "/parts/file/nc", {"kind": "hub-plate"})
    assert (status, ".dxf" in said) == (422, True)
    status, said, _ = send(url, "/parts/look", {"kind": "gearbox"})
    assert (status, "no kind of part" in said) == (422, True)


def test_numbers_come_from_a_prototype(serve: Callable, visit: Callable, yard: Path) -> None:
    import_into(yard, LAUNCHERS)
    page = visit(serve(yard).url).go("/parts?kind=hood-plate")
    page.locator("#from").select_option("hooded wheel")
    expect(page.locator("#f-wrap_angle")).to_have_value("90 deg")
    expect(page.locator("#f-elevation")).to_have_value("57 deg")
    expect(page.locator("#drawing svg")).to_be_visible()


def test_the_torque_over_the_turn_stands_beside_a_cam(serve: Callable, visit: Callable, yard: Path) -> None:
    page = visit(serve(yard).url).go("/parts?kind=snail-cam")
    expect(page.locator("#pair.both #torque svg")).to_be_visible()
    expect(page.locator("#rows")).to_contain_text("torque, even")
    part, curve = (page.locator(f"#{name}").bounding_box() for name in ("drawing", "torque"))
    assert part is not None
    assert curve is not None
    assert curve["x"] >= part["x"] + part["width"]
    page.locator("#f-stiffness").fill("1800 N/m")
    expect(page.locator("#rows")).to_contain_text("2.545 N m without friction")


def test_a_part_with_two_drawings_comes_zipped(serve: Callable, visit: Callable, yard: Path) -> None:
    import zipfile

    page = visit(serve(yard).url).go("/parts?kind=spiral-gear")
    expect(page.locator("#drawing svg")).to_be_visible()
    with page.expect_download(timeout=60_000) as taken:
        page.get_by_role("button", name="SVG").click()
    assert taken.value.suggested_filename.endswith("-svg.zip")
    with zipfile.ZipFile(taken.value.path()) as packed:
        assert len(packed.namelist()) == 2
        assert all(name.endswith(".svg") for name in packed.namelist())
        assert packed.testzip() is None
