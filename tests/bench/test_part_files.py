"""Every kind of part with its usual sizes, written and read back by other libraries, to a micrometre."""

from __future__ import annotations

import datetime
import functools
import importlib.util
import io
from pathlib import Path

import numpy as np
import pytest

from shotwright.bench.part_files import part_bytes
from shotwright.bench.part_kinds import KINDS
from shotwright.bench.parts import MadePart, make_part

_SPEC = importlib.util.spec_from_file_location(
    "drawn_parts_again", Path(__file__).parents[1] / "build" / "drawn.py"
)
assert _SPEC is not None
drawn = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(drawn)

MICROMETRE = 0.001  # mm


@functools.cache
def made(kind: str) -> MadePart:
    return make_part(kind, {"kerf": "0.15 mm"}, date=datetime.date(2026, 1, 17), project="Invented crew")


@pytest.mark.parametrize("kind", KINDS)
def test_dxf_of_every_kind_is_sound_and_says_the_part(kind: str) -> None:
    import ezdxf
    import trimesh

    for sheet in made(kind).sheets:
        text = part_bytes(sheet, ".dxf").decode()
        audit = ezdxf.read(io.StringIO(text)).audit()
        assert (audit.errors, audit.fixes) == ([], [])
        path = trimesh.load_path(io.StringIO(text), file_type="dxf", process=False)
        read = [
            np.asarray(path.vertices)[entity.points[:-1]]
            for entity, layer in zip(path.entities, path.layers, strict=True)
            if layer == "CUT"
        ]
        assert max(drawn.farthest(1000 * loop.points, read) for loop in sheet.cuts) < MICROMETRE


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("kind", KINDS)
def test_pdf_of_every_kind_says_the_part_on_every_sheet(kind: str, paper: str) -> None:
    from pypdf import PdfReader

    for sheet in made(kind).sheets:
        pages = PdfReader(io.BytesIO(part_bytes(sheet, ".pdf", paper=paper))).pages
        for page in pages:
            read = drawn.pdf_loops(page)
            # Where the part lies on the paper is free: what must agree is its place as a whole.
            loops = [1000 * loop.points for loop in sheet.cuts]
            like = next(one for one in read if len(one) == len(loops[0]))
            shift = like.min(axis=0) - loops[0].min(axis=0)
            assert max(drawn.farthest(loop + shift, read) for loop in loops) < MICROMETRE
            assert "CAUTION" in page.extract_text()


@pytest.mark.parametrize("kind", KINDS)
def test_svg_and_stl_of_every_kind(kind: str) -> None:
    import trimesh
    from svgelements import SVG, Close
    from svgelements import Path as Drawn

    one = made(kind)
    for sheet, part in zip(one.sheets, one.part.drawings, strict=True):
        read = SVG.parse(io.BytesIO(part_bytes(sheet, ".svg")), ppi=25.4)
        closed = [
            np.array([[step.end.x, -step.end.y] for step in path if not isinstance(step, Close)])
            for path in read.elements()
            if isinstance(path, Drawn) and any(isinstance(step, Close) for step in path)
        ]
        loops = [1000 * loop.points for loop in sheet.cuts]
        assert len(closed) == len(loops)
        shift = np.concatenate(closed).min(axis=0) - np.concatenate(loops).min(axis=0)
        assert max(drawn.farthest(loop + shift, closed) for loop in loops) < MICROMETRE
        mesh = trimesh.load(io.BytesIO(part_bytes(part, ".stl")), file_type="stl")
        assert mesh.is_watertight
        volume = part.area_m2 * part.title.thickness_m * 1e9
        assert mesh.volume == pytest.approx(volume, rel=1e-3)


@pytest.mark.parametrize("kind", KINDS)
def test_each_drawing_carries_its_words_in_every_file(kind: str) -> None:
    import ezdxf
    from pypdf import PdfReader
    from svgelements import SVG, Text

    typed = {"kerf": "0.15 mm", "material": "birch plywood", "thickness": "5.5 mm"}
    one = make_part(kind, typed, name="Left one", project="Invented crew", date=datetime.date(2026, 1, 17))
    for sheet in one.sheets:
        doc = ezdxf.read(io.StringIO(part_bytes(sheet, ".dxf").decode()))
        svg = SVG.parse(io.BytesIO(part_bytes(sheet, ".svg")))
        texts = [
            " ".join(text.dxf.text for text in doc.modelspace().query("TEXT")),
            " ".join(text.text for text in svg.elements() if isinstance(text, Text)),
            *(page.extract_text() for page in PdfReader(io.BytesIO(part_bytes(sheet, ".pdf"))).pages),
        ]
        wanted = ["Left one", "Invented crew", "2026-01-17", "birch plywood, 5.5 mm thick", "kerf of 0.15 mm"]
        wanted += [f"CAUTION: {sheet.title.caution}"]
        wanted += [f"module {1000 * sheet.title.module_m:.4g} mm"] if sheet.title.module_m else []
        for text in texts:
            # Paper breaks lines, also where a word joins two figures.
            plain = "".join(text.split())
            assert [words for words in wanted if "".join(words.split()) not in plain] == []
    assert all(sheet.title.module_m for sheet in one.sheets) == (kind == "spiral-gear")
