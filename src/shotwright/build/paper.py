"""A drawing on paper at its true size: PDF, over several sheets where it takes them."""

from __future__ import annotations

import json
import tempfile
from importlib.resources import files
from pathlib import Path

import numpy as np

from shotwright.build.outline import Drawing, FloatArray, one_line
from shotwright.build.svg import svg_body
from shotwright.build.tiles import BAR, MARGIN, Paper, Tiling, tiling


def pdf_bytes(drawing: Drawing, fonts: Path, *, paper: Paper = "a4") -> bytes:
    """Write a drawing as a PDF to be printed at 100 %.

    Every sheet carries the title, the caution, its number and a bar of 50 mm; sheets that belong together
    carry crosses with names.

    Parameters
    ----------
    drawing : Drawing
        Checked.
    fonts : Path
        Folder that holds Open Sans.
    paper : {"a4", "letter"}
        Size of a sheet.

    Returns
    -------
    bytes
        The file; the same drawing gives the same bytes.
    """
    import typst  # here and not above: 80 MB that only a printed drawing needs

    laid = tiling(drawing, paper)
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        template = (files("shotwright.build") / "sheets.typ").read_text(encoding="utf-8")
        (work / "sheets.typ").write_text(template, encoding="utf-8")
        (work / "data.json").write_text(json.dumps(_data(drawing, laid)), encoding="utf-8")
        (work / "drawing.svg").write_text(_svg(drawing, laid), encoding="utf-8")
        made = typst.compile(
            work / "sheets.typ", root=work, font_paths=[fonts], ignore_system_fonts=True, format="pdf"
        )
    assert isinstance(made, bytes)
    return made


def _data(drawing: Drawing, laid: Tiling) -> dict[str, object]:
    lines = drawing.title.lines()
    return {
        "title": one_line(drawing.title.part),
        "project": one_line(drawing.title.project),
        "lines": list(lines),
        "page": laid.page,
        "window": laid.window,
        "size": laid.size,
        "margin": MARGIN,
        "head": laid.head,
        "bar": BAR,
        "columns": laid.columns,
        "rows": laid.rows,
        "tiles": [
            {"column": t.column, "row": t.row, "left": t.left, "top": t.top, "marks": t.marks}
            for t in laid.tiles
        ],
    }


def _svg(drawing: Drawing, laid: Tiling) -> str:
    left, top = laid.origin

    def at(points: FloatArray) -> FloatArray:
        return np.column_stack([1000 * points[:, 0] - left, top - 1000 * points[:, 1]])

    width, height = laid.size
    body = svg_body(drawing, drawing.lettering, at, on_paper=True)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.6f}mm" height="{height:.6f}mm"'
        f' viewBox="0 0 {width:.6f} {height:.6f}">\n{body}\n</svg>\n'
    )
