"""Files read back by other libraries than the ones that wrote them, against the model, to a micrometre."""

from __future__ import annotations

import dataclasses
import importlib.resources
import importlib.util
import io
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.build.dxf import dxf_text
from shotwright.build.outline import Drawing, checked, circle
from shotwright.build.paper import pdf_bytes
from shotwright.build.stl import stl_bytes
from shotwright.build.svg import svg_text
from shotwright.build.tiles import BAR, MARGIN, PAPERS, tiling

_SPEC = importlib.util.spec_from_file_location("drawn_parts", Path(__file__).with_name("drawn.py"))
assert _SPEC is not None
drawn = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(drawn)

MICROMETRE = 0.001  # mm
FONTS = Path(str(importlib.resources.files("shotwright.notebook") / "fonts"))
few = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def in_mm(drawing: Drawing) -> list[NDArray[np.float64]]:
    return [1000 * loop.points for loop in drawing.cuts]


def plate(width: float, height: float) -> Drawing:
    from shotwright.build.outline import Loop

    edge = Loop([[0, 0], [width, 0], [width, height], [0, height]])
    return Drawing((edge,), drawn.TITLE, (circle((width / 3, height / 2), 0.004),), centres=((0.01, 0.01),))


@given(drawn.parts())
@few
def test_dxf_is_sound_and_says_the_model(drawing: Drawing) -> None:
    import ezdxf
    import trimesh

    text = dxf_text(checked(drawing))
    assert text == dxf_text(drawing)
    doc = ezdxf.read(io.StringIO(text))
    audit = doc.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert (doc.dxfversion, doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == ("AC1024", 4, 1)
    space = doc.modelspace()
    cuts = [one for one in space if one.dxf.layer == "CUT"]
    assert all(one.dxftype() == "LWPOLYLINE" and one.closed for one in cuts)
    assert {one.dxf.layer for one in space} <= {"CUT", "ENGRAVE", "CENTRE"}
    words = {one.dxf.text for one in space if one.dxftype() == "TEXT"}
    assert drawn.TITLE.part in words
    assert any(drawn.TITLE.project in line for line in words)
    # A second reader, which knows nothing of the writer.
    path = trimesh.load_path(io.StringIO(text), file_type="dxf")
    assert path.units == "millimeters"
    read = [
        np.asarray(path.vertices)[entity.points[:-1]]
        for entity, layer in zip(path.entities, path.layers, strict=True)
        if layer == "CUT"
    ]
    assert len(read) == len(drawing.cuts)
    assert max(drawn.farthest(loop, read) for loop in in_mm(drawing)) < MICROMETRE
    read = [np.array([point[:2] for point in one.get_points()]) for one in cuts]
    assert max(drawn.farthest(loop, read) for loop in in_mm(drawing)) < 1e-9


@given(drawn.parts())
@few
def test_svg_is_in_true_millimetres_and_says_the_model(drawing: Drawing) -> None:
    from svgelements import SVG, Close, Path, Text

    text = svg_text(drawing)
    assert text == svg_text(drawing)
    width, height, box = drawn.svg_size(text)
    assert box == [0.0, 0.0, width, height]
    # At 25.4 px to the inch one pixel is one millimetre.
    read = SVG.parse(io.StringIO(text), ppi=25.4)
    closed, words = [], []
    for one in read.elements():
        if isinstance(one, Path) and any(isinstance(part, Close) for part in one):
            closed.append(np.array([[part.end.x, part.end.y] for part in one if not isinstance(part, Close)]))
        elif isinstance(one, Text):
            words.append(one.text)
    assert len(closed) == len(drawing.cuts)
    # The file's origin is free: what must agree is every loop in one and the same place.
    left, _, _, high = (1000 * edge for edge in drawing.bounds_m)
    corner = np.array([min(loop[:, 0].min() for loop in closed), min(loop[:, 1].min() for loop in closed)])
    back = [(loop - corner) * [1, -1] + [left, high] for loop in closed]
    assert max(drawn.farthest(loop, back) for loop in in_mm(drawing)) < MICROMETRE
    every = np.concatenate(closed)
    assert every.min() >= 0
    assert every[:, 0].max() <= width
    assert every[:, 1].max() <= height
    assert drawn.TITLE.part in words


@pytest.mark.parametrize("paper", sorted(PAPERS))
@given(drawing=drawn.parts())
@few
def test_pdf_says_the_model_at_its_true_size_on_every_sheet(paper: str, drawing: Drawing) -> None:
    from pypdf import PdfReader

    data = pdf_bytes(drawing, FONTS, paper=paper)
    assert data == pdf_bytes(drawing, FONTS, paper=paper)
    laid, pages = tiling(drawing, paper), PdfReader(io.BytesIO(data)).pages
    assert len(pages) == len(laid.tiles)
    for page, tile in zip(pages, laid.tiles, strict=True):
        size = np.array([float(page.mediabox.width), float(page.mediabox.height)]) * 25.4 / 72
        assert size == pytest.approx(laid.page, abs=0.001)
        # Paper, y up -> drawing: the tiling names the point of the drawing at the window's corner.
        top = laid.page[1] - MARGIN - laid.head
        corner = np.array([MARGIN - tile.left, top + tile.top])
        read = [loop - corner + list(laid.origin) for loop in drawn.pdf_loops(page)]
        assert max(drawn.farthest(loop, read) for loop in in_mm(drawing)) < MICROMETRE
        words = page.extract_text()
        assert f"sheet {laid.tiles.index(tile) + 1} of {len(laid.tiles)}" in words
        assert "100 %" in words
        assert drawn.TITLE.project in words
        assert "CAUTION" in words


def test_a_hole_across_the_edge_is_not_filled_without_a_word() -> None:
    part = plate(0.1, 0.06)
    stray = dataclasses.replace(part, holes=(*part.holes, circle((0.0, 0.0), 0.5)))
    with pytest.raises(BadInput, match="is not inside the part"):
        stl_bytes(stray)


@given(drawn.parts())
@few
def test_stl_is_watertight_and_has_the_volume_of_area_times_thickness(drawing: Drawing) -> None:
    import trimesh

    data = stl_bytes(drawing)
    assert data == stl_bytes(drawing)
    mesh = trimesh.load(io.BytesIO(data), file_type="stl")
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(drawing.area_m2 * 0.006 * 1e9, rel=1e-3)
    assert mesh.bounds[:, 2] == pytest.approx([0.0, 6.0])


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize("size", [(0.1, 0.06), (0.4, 0.3), (0.7, 0.05)])
def test_the_bar_measures_fifty_millimetres_when_rendered(
    paper: str, size: tuple[float, float], tmp_path: Path
) -> None:
    program = shutil.which("pdftoppm")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("no pdftoppm; install Debian's poppler-utils")
        pytest.skip("pdftoppm (poppler) is not there to render the page")
    from PIL import Image

    file = tmp_path / "plate.pdf"
    file.write_bytes(pdf_bytes(plate(*size), FONTS, paper=paper))
    subprocess.run([program, "-r", "254", "-gray", str(file), str(tmp_path / "page")], check=True)
    for page in sorted(tmp_path.glob("page*.pgm")):
        dark = np.asarray(Image.open(page)) < 100
        # The bar is the only thing on a page that is dark for 2 mm down and 40 mm across.
        rows = [row for row in range(len(dark)) if longest(dark[row]) > 400]
        lengths = [longest(dark[row]) / 10 for row in rows]
        assert rows, page.name
        assert BAR == 50.0
        assert np.median(lengths) == pytest.approx(50.0, abs=0.1)


def longest(dark: NDArray[np.bool_]) -> int:
    """Length of the longest run."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_neighbouring_sheets_share_crosses_at_one_place_of_the_drawing(paper: str) -> None:
    laid = tiling(plate(0.9, 0.7), paper)
    places: dict[str, set[tuple[float, float]]] = {}
    shown: dict[str, int] = {}
    for tile in laid.tiles:
        for x, y, name in tile.marks:
            places.setdefault(name, set()).add((round(tile.left + x, 6), round(tile.top + y, 6)))
            shown[name] = shown.get(name, 0) + 1
    assert all(len(spots) == 1 for spots in places.values())
    assert len({next(iter(spots)) for spots in places.values()}) == len(places)
    # An empty middle sheet may be left out, so not every cross is on four.
    assert max(shown.values()) >= 3
    assert len(laid.tiles) < laid.columns * laid.rows


def test_a_name_with_line_breaks_and_control_signs_spoils_no_file() -> None:
    import dataclasses

    import ezdxf
    from svgelements import SVG

    odd = dataclasses.replace(plate(0.1, 0.06).title, part="cam\n0\nEOF\x07 \ud800%", project="a\r\nb")
    drawing = dataclasses.replace(plate(0.1, 0.06), title=odd)
    doc = ezdxf.read(io.StringIO(dxf_text(drawing)))
    assert not doc.audit().errors
    assert "cam 0 EOF %" in {one.dxf.text for one in doc.modelspace().query("TEXT")}
    assert list(SVG.parse(io.StringIO(svg_text(drawing))).elements())
    assert pdf_bytes(drawing, FONTS)
    assert stl_bytes(drawing)


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize("word", ["Wide MMM WWW", "keep clear of it"])
def test_a_long_caution_stands_whole_above_the_drawing(paper: str, word: str) -> None:
    import dataclasses

    from pypdf import PdfReader

    small = plate(0.1, 0.06)
    drawing = dataclasses.replace(
        small, title=dataclasses.replace(small.title, caution=" ".join([word] * 60) + " END")
    )
    laid = tiling(drawing, paper)
    (page,) = PdfReader(io.BytesIO(pdf_bytes(drawing, FONTS, paper=paper))).pages
    heights: list[float] = []

    def note(text: str, cm: list[float], tm: list[float], _font: object, _size: float) -> None:
        if "END" in text:
            heights.append((tm[5] * cm[3] + cm[5]) * 25.4 / 72)

    page.extract_text(visitor_text=note)
    # Base line of the last line, from below; the window's upper edge is there.
    assert len(heights) == 1
    assert heights[0] > laid.page[1] - MARGIN - laid.head


def test_a_small_part_takes_one_sheet_and_a_long_one_is_turned() -> None:
    assert len(tiling(plate(0.1, 0.06)).tiles) == 1
    long = tiling(plate(0.26, 0.05))
    assert (long.page, len(long.tiles)) == ((297.0, 210.0), 1)
