"""The notebook on paper: a tagged PDF, set by typst from a data file and our template."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Literal

from shotwright.notebook.blocks import Picture
from shotwright.notebook.book import sections
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.drawing import clean
from shotwright.notebook.layout import laid_out
from shotwright.notebook.wording import day, unbroken

Paper = Literal["a4", "us-letter"]
WIDE = 640.0  # px at 96 to the inch; 480 pt, which A4 and Letter hold
LONG_WORD = 18  # letters after which a word may be broken in a table
_BREAK = "\u200b"  # zero-width space: a line may end here


def write_pdf(content: NotebookContent, path: Path, *, paper: Paper = "a4") -> None:
    """Write the notebook as a PDF; the same content gives the same bytes.

    The file is tagged and meets PDF/UA-1, every figure has a description. Where a text holds a character
    that no font here has, the file is written without that standard's mark and the character is a box.

    Parameters
    ----------
    content : NotebookContent
        Everything to be printed.
    path : Path
        File to be written.
    paper : {"a4", "us-letter"}
        Paper size.

    Raises
    ------
    OSError
        The file can't be written.
    """
    path.write_bytes(pdf_bytes(content, paper=paper))


def pdf_bytes(content: NotebookContent, *, paper: Paper = "a4") -> bytes:
    """Return the notebook as the bytes of a PDF; see `write_pdf`.

    Parameters
    ----------
    content : NotebookContent
        Everything to be printed.
    paper : {"a4", "us-letter"}
        Paper size.

    Returns
    -------
    bytes
        The file.
    """
    room = files("shotwright.notebook")
    with tempfile.TemporaryDirectory() as folder, as_file(room / "fonts") as fonts:
        work = Path(folder)
        template = (room / "templates" / "notebook.typ").read_text(encoding="utf-8")
        (work / "notebook.typ").write_text(template, encoding="utf-8")
        (work / "data.json").write_text(json.dumps(_data(content)), encoding="utf-8")
        return _compile(work, fonts, paper)


def _compile(work: Path, fonts: Path, paper: Paper) -> bytes:
    import typst  # here and not above: 80 MB that only a printed notebook needs

    def run(standard: Literal["ua-1"] | None) -> bytes:
        made = typst.compile(
            work / "notebook.typ",
            root=work,
            font_paths=[fonts],
            ignore_system_fonts=True,
            sys_inputs={"paper": paper},
            pdf_standards=standard,
        )
        assert isinstance(made, bytes)
        return made

    try:
        return run("ua-1")
    except typst.TypstError as refused:
        if "could not be displayed" not in str(refused):
            raise
        return run(None)


def _data(content: NotebookContent) -> dict[str, Any]:
    made = content.made_on
    plain = {
        "title": f"{content.project_name}: engineering notebook",
        "project": content.project_name,
        "game": content.game.name,
        "date": day(made),
        "version": content.version,
        "simulated": content.simulated,
        "sections": laid_out(sections(content), _draw),
    }
    tidy = _tidy(plain)
    assert isinstance(tidy, dict)
    return {**tidy, "made_on": [made.year, made.month, made.day]}


def _draw(picture: Picture) -> dict[str, Any]:
    drawing = picture.draw(picture.key, WIDE)
    return {"svg": drawing.svg(), "alt": f"{drawing.title}. {drawing.description}", "width": drawing.width}


def _tidy(value: Any, key: str = "") -> Any:
    """Drop control characters; let long words in table cells break."""
    if isinstance(value, str):
        if key == "svg":
            return value
        words = unbroken(clean(value))
        return _breakable(words) if key == "rows" else words
    if isinstance(value, Mapping):
        return {name: _tidy(item, name) for name, item in value.items()}
    if isinstance(value, list):
        return [_tidy(item, key) for item in value]
    return value


def _breakable(words: str) -> str:
    def broken(match: re.Match[str]) -> str:
        word = re.sub(r"([-_/.,;:])", rf"\1{_BREAK}", match.group())
        return re.sub(rf"([^{_BREAK}]{{{LONG_WORD}}})(?=[^{_BREAK}])", rf"\1{_BREAK}", word)

    return re.sub(rf"\S{{{LONG_WORD},}}", broken, words)
