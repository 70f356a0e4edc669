"""Write a part: for a cutter, a printer, or on paper at its true size."""

from __future__ import annotations

import re
from collections.abc import Sequence
from importlib.resources import as_file, files
from pathlib import Path
from typing import Literal

from shotwright.base.errors import BadInput
from shotwright.bench.parts import MadePart
from shotwright.build.outline import Drawing

ENDINGS = (".dxf", ".svg", ".pdf", ".stl")
MEDIA = {
    ".dxf": "image/vnd.dxf",
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".stl": "model/stl",
}
Paper = Literal["a4", "letter"]


def part_bytes(drawing: Drawing, ending: str, *, paper: str = "a4") -> bytes:
    """Return a drawing as a file.

    Parameters
    ----------
    drawing : Drawing
        Checked.
    ending : str
        One of `ENDINGS`.
    paper : str
        ``"a4"`` or ``"letter"``, for a PDF.

    Returns
    -------
    bytes
        The file; the same drawing gives the same bytes.
    """
    if ending == ".dxf":
        from shotwright.build.dxf import dxf_text

        return dxf_text(drawing).encode()
    if ending == ".svg":
        from shotwright.build.svg import svg_text

        return svg_text(drawing).encode()
    if ending == ".stl":
        from shotwright.build.stl import stl_bytes

        return stl_bytes(drawing)
    from shotwright.build.paper import pdf_bytes

    with as_file(files("shotwright.notebook") / "fonts") as fonts:
        return pdf_bytes(drawing, fonts, paper="letter" if paper == "letter" else "a4")


def write_part(made: MadePart, outs: Sequence[Path], *, paper: str = "a4") -> tuple[str, ...]:
    """Write a part's drawings.

    Parameters
    ----------
    made : MadePart
        The part.
    outs : sequence of Path
        Files; the ending says how. A part with several drawings gives several files, with the drawing's name
        behind the file's.
    paper : str
        ``"a4"`` or ``"letter"``, for a PDF.

    Returns
    -------
    tuple of str
        Names of the files written.

    Raises
    ------
    BadInput
        An ending that is not known, a part without a drawing, or a file that can't be written; before an
        ending or a missing drawing is refused, nothing is written.
    """
    for out in outs:
        if out.suffix.lower() not in ENDINGS:
            raise BadInput(
                f"{out.name} has no ending that is known here; one of {', '.join(ENDINGS)}", field="out"
            )
    if outs and not made.sheets:
        raise BadInput(f"{made.name} has no drawing: it is bought, not cut", field="out")
    written = []
    for out in outs:
        ending = out.suffix.lower()
        # A printer lays material down where the outline says: the kerf is the cutter's business.
        drawings = made.part.drawings if ending == ".stl" else made.sheets
        for drawing in drawings:
            own = slug(drawing).removeprefix(f"{_plain(made.name)}-")
            file = out if len(drawings) == 1 else out.with_name(f"{out.stem}-{own}{out.suffix}")
            try:
                file.write_bytes(part_bytes(drawing, ending, paper=paper))
            except OSError as reason:
                raise BadInput(f"can't be written ({reason.strerror})", file=str(file)) from None
            written.append(str(file))
    return tuple(written)


def slug(drawing: Drawing) -> str:
    """Name of a drawing as part of a file's name."""
    return _plain(drawing.title.part) or "part"


def _plain(text: str) -> str:
    return re.sub(r"[^\w.-]+", "-", text.strip().lower()).strip("-.")
