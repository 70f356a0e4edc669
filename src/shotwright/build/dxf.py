"""A drawing as a DXF file: R2010, millimetres declared, closed polylines, a layer for each tool."""

from __future__ import annotations

import io
import math
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from shotwright.build.outline import Drawing, Loop, one_line
from shotwright.build.titling import title_block

LAYERS: dict[str, int] = {"CUT": 1, "ENGRAVE": 5, "CENTRE": 3}  # name -> colour number: red, blue, green
CENTRE_ARM = 2.0  # mm; half the length of a centre mark's lines
_ONE_AT_A_TIME = threading.Lock()


def dxf_text(drawing: Drawing) -> str:
    """Write a drawing as DXF R2010.

    Layers: ``CUT`` holds closed polylines, holes first; ``ENGRAVE`` open lines and letters, the title block
    below the part among them; ``CENTRE`` crosses. Units are millimetres.

    Parameters
    ----------
    drawing : Drawing
        Checked.

    Returns
    -------
    str
        The file; the same drawing gives the same text.
    """
    with _without_the_hour():
        return _written(drawing)


def _written(drawing: Drawing) -> str:
    from ezdxf import units
    from ezdxf.filemanagement import new

    doc = new("R2010", units=units.MM)
    doc.header["$MEASUREMENT"] = 1
    for name, colour in LAYERS.items():
        doc.layers.add(name, color=colour)
    space = doc.modelspace()
    for loop in drawing.cuts:
        _polyline(space, loop, "CUT")
    for line in drawing.engraved:
        space.add_lwpolyline((1000 * line).tolist(), dxfattribs={"layer": "ENGRAVE"})
    for letters in (*drawing.lettering, *title_block(drawing)):
        text = space.add_text(
            one_line(letters.text),
            height=1000 * letters.height_m,
            rotation=math.degrees(letters.angle),
            dxfattribs={"layer": "ENGRAVE"},
        )
        text.set_placement((1000 * letters.at[0], 1000 * letters.at[1]))
    for x, y in drawing.centres:
        for dx, dy in ((CENTRE_ARM, 0.0), (0.0, CENTRE_ARM)):
            start, end = (1000 * x - dx, 1000 * y - dy), (1000 * x + dx, 1000 * y + dy)
            space.add_line(start, end, dxfattribs={"layer": "CENTRE"})
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue()


def _polyline(space: Any, loop: Loop, layer: str) -> None:
    space.add_lwpolyline((1000 * loop.points).tolist(), close=True, dxfattribs={"layer": layer})


@contextmanager
def _without_the_hour() -> Iterator[None]:
    """Keep the library from putting the hour and random marks into a file; all threads share its switch."""
    from ezdxf import options  # type: ignore[attr-defined]  # public, but not in its list of exports

    with _ONE_AT_A_TIME:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before
