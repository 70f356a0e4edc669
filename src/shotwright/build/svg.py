"""A drawing as an SVG file whose unit is the true millimetre."""

from __future__ import annotations

import math
from collections.abc import Callable
from xml.sax.saxutils import escape

import numpy as np

from shotwright.build.outline import Drawing, FloatArray, Lettering, one_line
from shotwright.build.titling import title_block

BORDER = 5.0  # mm round everything
COLOURS = {"cut": "#ff0000", "engrave": "#0000ff", "centre": "#00a000"}
HAIR = 0.1  # mm
INK = {**COLOURS, "cut": "#000000"}  # on paper a line has to be seen, not sorted by a cutter
INK_LINE = 0.2  # mm
CENTRE_ARM = 2.0  # mm
_WIDE = 0.75  # of a capital's height; how much room a letter takes at most


def svg_text(drawing: Drawing, *, titled: bool = True) -> str:
    """Write a drawing as SVG, one user unit to the millimetre.

    Groups ``cut``, ``engrave`` and ``centre`` have a colour each. The y axis is turned over here: that of an
    SVG points down.

    Parameters
    ----------
    drawing : Drawing
        Checked.
    titled : bool
        With the title block below the part.

    Returns
    -------
    str
        The file; the same drawing gives the same text.
    """
    words = (*drawing.lettering, *(title_block(drawing) if titled else ()))
    left, low, right, high = frame(drawing, words)
    width, height = right - left, high - low

    def at(points: FloatArray) -> FloatArray:
        return np.column_stack([1000 * points[:, 0] - left, high - 1000 * points[:, 1]])

    body = svg_body(drawing, words, at)
    size = f'width="{_mm(width)}mm" height="{_mm(height)}mm" viewBox="0 0 {_mm(width)} {_mm(height)}"'
    about = "\n".join(drawing.title.lines())
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size}>\n'
        f"<title>{escape(one_line(drawing.title.part))}</title>\n<desc>{escape(about)}</desc>\n{body}\n</svg>\n"
    )


def svg_body(
    drawing: Drawing,
    words: tuple[Lettering, ...],
    at: Callable[[FloatArray], FloatArray],
    *,
    on_paper: bool = False,
) -> str:
    """Groups of a drawing, without the head of a file.

    Parameters
    ----------
    drawing : Drawing
        Checked.
    words : tuple of Lettering
        Letters to be shown.
    at : callable
        Turns points of the drawing [m] into points of the page, y down. [mm]
    on_paper : bool
        Cut lines black and wider, to be followed by eye.

    Returns
    -------
    str
        SVG.
    """
    colours, line_width = (INK, INK_LINE) if on_paper else (COLOURS, HAIR)
    groups = {
        "cut": [f'<path d="{_path(at(loop.points))} Z"/>' for loop in drawing.cuts],
        "engrave": [f'<path d="{_path(at(line))}"/>' for line in drawing.engraved]
        + [_letters(one, at(np.array([one.at]))[0]) for one in words],
        "centre": [_cross(at(np.array([centre]))[0]) for centre in drawing.centres],
    }
    return "\n".join(
        f'<g id="{name}" fill="none" stroke="{colours[name]}" stroke-width="{line_width}">\n'
        + "\n".join(parts)
        + "\n</g>"
        for name, parts in groups.items()
        if parts
    )


def frame(drawing: Drawing, words: tuple[Lettering, ...]) -> tuple[float, float, float, float]:
    """Rectangle that holds everything, with a border: left, low, right, high. [mm]"""
    corners = [loop.points for loop in drawing.outers] + list(drawing.engraved)
    corners += [np.array([centre]) for centre in drawing.centres]
    for one in words:
        length = _WIDE * one.height_m * len(one.text)
        end = (one.at[0] + length * math.cos(one.angle), one.at[1] + length * math.sin(one.angle))
        corners.append(np.array([one.at, end]))
    points = 1000 * np.concatenate(corners)
    (left, low), (right, high) = points.min(axis=0) - BORDER, points.max(axis=0) + BORDER
    # Whole hundredths of a millimetre keep the numbers in the head of the file short.
    return math.floor(100 * left) / 100, math.floor(100 * low) / 100, right, high


def _mm(value: float) -> str:
    """Number to a nanometre, without needless zeros."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def _path(points: FloatArray) -> str:
    return "M" + " L".join(f"{_mm(x)} {_mm(y)}" for x, y in points.tolist())


def _cross(at: FloatArray) -> str:
    x, y = at.tolist()
    across = f"M{_mm(x - CENTRE_ARM)} {_mm(y)} L{_mm(x + CENTRE_ARM)} {_mm(y)}"
    return f'<path d="{across} M{_mm(x)} {_mm(y - CENTRE_ARM)} L{_mm(x)} {_mm(y + CENTRE_ARM)}"/>'


def _letters(one: Lettering, at: FloatArray) -> str:
    x, y = at.tolist()
    turn = f' transform="rotate({-math.degrees(one.angle):.4f} {_mm(x)} {_mm(y)})"' if one.angle else ""
    # A capital of a common sans serif is about 0.72 of the font's size high.
    size = _mm(1000 * one.height_m / 0.72)
    return (
        f'<text x="{_mm(x)}" y="{_mm(y)}" font-family="Open Sans, sans-serif" font-size="{size}"'
        f' fill="{COLOURS["engrave"]}" stroke="none"{turn}>{escape(one_line(one.text))}</text>'
    )
