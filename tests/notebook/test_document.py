"""The PDF: tagged, the same bytes twice, our fonts, the same words as the page."""

from __future__ import annotations

import dataclasses
import io
import re

import pytest
from pypdf import PdfReader

from shotwright.notebook.blocks import Picture, Table
from shotwright.notebook.book import sections
from shotwright.notebook.document import pdf_bytes, write_pdf

EVIL = '#panic("x") $x$ *bold* \\ "quoted" `raw` @ref <label> // comment'


def words(data: bytes) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    return re.sub(r"\s+", "", text.replace("\u200b", ""))


@pytest.fixture(scope="module")
def printed(content) -> bytes:
    return pdf_bytes(content)


def reader_of(data: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(data))


def test_pdf_is_tagged_titled_and_meets_its_standard(printed):
    reader = reader_of(printed)
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"] == "en"
    assert "/StructTreeRoot" in root
    assert reader.metadata.title == "Lantern Yard crew: engineering notebook"
    # PDF/UA-1 identifies itself by pdfuaid:part (ISO 14289-1:2014, clause 5; from memory)
    assert b"pdfuaid" in root["/Metadata"].get_data()


def test_pdf_holds_every_caption_and_cell(content, printed):
    found = words(printed)
    for section in sections(content):
        assert re.sub(r"\s+", "", section.title) in found
        for block in section.blocks:
            if isinstance(block, Table | Picture):
                assert re.sub(r"\s+", "", block.caption) in found
            if isinstance(block, Table):
                assert all(re.sub(r"\s+", "", cell) in found for row in block.rows for cell in row)


def test_each_figure_carries_a_description(content, printed):
    reader = reader_of(printed)
    described = [
        thing.get_object().get("/Alt")
        for number in range(1, len(reader.xref_objStm) + 2000)
        if (thing := _object(reader, number)) is not None and thing.get("/S") == "/Figure"
    ]
    pictures = [b for s in sections(content) for b in s.blocks if isinstance(b, Picture)]
    assert len(described) >= len(pictures)
    assert all(described)


def _object(reader, number):
    from pypdf.generic import DictionaryObject, IndirectObject

    found = reader.get_object(IndirectObject(number, 0, reader))
    return found if isinstance(found, DictionaryObject) else None


def test_same_content_gives_the_same_bytes(content, printed):
    assert pdf_bytes(content) == printed


def test_paper_sizes(content, printed):
    # A4: ISO 216, 210 mm x 297 mm; US Letter: 8.5 in x 11 in
    a4 = reader_of(printed).pages[0].mediabox
    letter = reader_of(pdf_bytes(content, paper="us-letter")).pages[0].mediabox
    assert (float(a4.width) / 72 * 25.4, float(a4.height) / 72 * 25.4) == pytest.approx((210, 297), abs=0.01)
    assert (float(letter.width), float(letter.height)) == pytest.approx((612, 792), abs=0.01)


def test_every_page_says_simulated_and_has_its_number(printed):
    pages = reader_of(printed).pages
    for k, page in enumerate(pages, 1):
        text = page.extract_text()
        assert "SIMULATED DATA" in text
        assert f"page {k} of {len(pages)}" in text


def test_only_the_shipped_fonts_are_used(printed):
    fonts = set()
    for page in reader_of(printed).pages:
        for font in (page["/Resources"].get("/Font") or {}).values():
            fonts.add(font.get_object()["/BaseFont"].split("+")[-1])
    assert fonts
    assert all(name.startswith("OpenSans") for name in fonts)


def test_figures_stay_vector(printed):
    assert not any(list(page.images) for page in reader_of(printed).pages)


def test_hostile_words_print_as_they_are(content):
    page = content.trials[0]
    shots = tuple(dataclasses.replace(s, remark=EVIL) for s in page.shots)
    trials = (dataclasses.replace(page, shots=shots),)
    data = pdf_bytes(dataclasses.replace(content, trials=trials, summary=(EVIL,), project_name=EVIL))
    assert words(data).count(re.sub(r"\s+", "", EVIL)) >= len(shots)


def test_letters_that_no_font_has_do_not_stop_the_print(content, tmp_path):
    path = tmp_path / "n.pdf"
    write_pdf(dataclasses.replace(content, summary=("crew 狐 \U0001f98a \x07",)), path)
    assert path.read_bytes().startswith(b"%PDF")
