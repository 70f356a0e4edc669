"""A drawing of fixed size as one SVG string: lines, areas, marks, lettering. Pixels, y down.

Nothing in it is scaled afterwards: lettering stays as large as it was drawn. Only presentation attributes
are used, no style element and no script, so the same string goes into the page, the PDF and a file.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterable, Iterator
from typing import Literal
from xml.sax.saxutils import escape, quoteattr

from shotwright.notebook.palette import FONT, LIGHT, SIZE, Mark

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]


def number(value: float) -> str:
    """Write a pixel value with at most two decimals.

    Examples
    --------
    >>> number(3.0), number(-0.001), number(12.345)
    ('3', '0', '12.35')
    """
    written = f"{value + 0.0:.2f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def clean(text: str) -> str:
    """Replace the characters that no XML file may hold by a space."""
    return "".join(sign if _allowed(ord(sign)) else " " for sign in text)


def _allowed(code: int) -> bool:
    return (
        code in {9, 10}
        or 0x20 <= code <= 0x7E
        or 0xA0 <= code <= 0xD7FF
        or 0xE000 <= code <= 0xFFFD
        or code > 0xFFFF
    )


class Drawing:
    """An SVG drawing, built part by part.

    Parameters
    ----------
    key : str
        Unique among the drawings of one page; letters, figures and hyphens.
    width, height : float
        Size of the box that it is drawn for. [px]
    title, description : str
        What it shows, short and in full, for those who don't see it.
    """

    def __init__(self, key: str, width: float, height: float, title: str, description: str) -> None:
        self.key = key
        self.width = width
        self.height = height
        self.title = title
        self.description = description
        self._parts: list[str] = []
        self._clips = 0

    def line(
        self,
        points: Iterable[Point],
        colour: str = "ink",
        *,
        width: float = 1.0,
        dash: str = "",
        cap: str = "butt",
        kind: str = "",
    ) -> None:
        """Draw a line through `points`; `colour` is a name of the palette, `kind` an extra class."""
        path = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._parts.append(
            f'<polyline class="{f"l-{colour} {kind}".strip()}" points="{path}" fill="none" '
            f'stroke="{LIGHT[colour]}" stroke-width="{number(width)}" stroke-linejoin="round" '
            f'stroke-linecap="{cap}"{dashed}/>'
        )

    def area(
        self,
        rings: Iterable[Iterable[Point]],
        colour: str,
        *,
        opacity: float = 1.0,
        edge: str = "",
        edge_width: float = 1.0,
        dash: str = "",
        kind: str = "",
    ) -> None:
        """Fill closed rings; rings inside rings are holes. `edge` names the colour of the outline."""
        path = "".join(
            "M" + "L".join(f"{number(x)} {number(y)}" for x, y in ring) + "Z"
            for ring in map(tuple, rings)
            if ring
        )
        classes = f"f-{colour}" + (f" l-{edge}" if edge else "") + (f" {kind}" if kind else "")
        stroke = f'stroke="{LIGHT[edge]}" stroke-width="{number(edge_width)}"' if edge else 'stroke="none"'
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        faint = f' fill-opacity="{number(opacity)}"' if opacity < 1 else ""
        self._parts.append(
            f'<path class="{classes}" d="{path}" fill="{LIGHT[colour]}"{faint} fill-rule="evenodd" '
            f'{stroke} stroke-linejoin="round"{dashed}/>'
        )

    def mark(
        self, at: Point, shape: Mark, colour: str, *, size: float = 4.0, hollow: bool = False, kind: str = ""
    ) -> None:
        """Set a mark at a point: filled, or hollow (simulated data is hollow)."""
        x, y = at
        inside = "paper" if hollow else colour
        look = (
            f'class="{f"f-{inside} l-{colour} {kind}".strip()}" fill="{LIGHT[inside]}" '
            f'stroke="{LIGHT[colour]}" stroke-width="1.5"'
        )
        if shape == "circle":
            self._parts.append(f'<circle {look} cx="{number(x)}" cy="{number(y)}" r="{number(size)}"/>')
            return
        self._parts.append(f'<path {look} d="{_outline(shape, x, y, size)}" stroke-linejoin="round"/>')

    def ring(self, at: Point, radius: float, colour: str, *, width: float = 1.2, dash: str = "") -> None:
        """Draw a circle line round a point."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._parts.append(
            f'<circle class="l-{colour}" cx="{number(at[0])}" cy="{number(at[1])}" r="{number(radius)}" '
            f'fill="none" stroke="{LIGHT[colour]}" stroke-width="{number(width)}"{dashed}/>'
        )

    def box(
        self,
        left: float,
        top: float,
        width: float,
        height: float,
        colour: str = "",
        *,
        edge: str = "",
        edge_width: float = 1.0,
        kind: str = "",
    ) -> None:
        """Draw a rectangle, filled where `colour` is given, outlined where `edge` is."""
        classes = " ".join(filter(None, [colour and f"f-{colour}", edge and f"l-{edge}", kind]))
        self._parts.append(
            f'<rect class="{classes}" x="{number(left)}" y="{number(top)}" width="{number(width)}" '
            f'height="{number(height)}" fill="{LIGHT[colour] if colour else "none"}" '
            + (f'stroke="{LIGHT[edge]}" stroke-width="{number(edge_width)}"/>' if edge else 'stroke="none"/>')
        )

    def text(
        self,
        at: Point,
        words: str,
        *,
        size: float = SIZE,
        anchor: Anchor = "start",
        colour: str = "ink",
        bold: bool = False,
        turned: bool = False,
        halo: bool = False,
        kind: str = "",
    ) -> None:
        """Letter a line of text from `at` on its baseline.

        `turned` reads from below; `halo` lays paper under the letters where they cross lines.
        """
        x, y = at
        more = f' transform="rotate(-90 {number(x)} {number(y)})"' if turned else ""
        more += ' font-weight="700"' if bold else ""
        more += f' stroke="{LIGHT["paper"]}" stroke-width="3" paint-order="stroke"' if halo else ""
        classes = f"f-{colour}{' l-paper' if halo else ''} {kind}".strip()
        place = (
            f'x="{number(x)}" y="{number(y)}" font-family="{FONT}" font-size="{number(size)}" '
            f'text-anchor="{anchor}"{more}'
        )
        self._parts.append(
            f'<text class="{classes}" {place} fill="{LIGHT[colour]}">{escape(clean(words))}</text>'
        )

    @contextlib.contextmanager
    def clipped(self, left: float, top: float, width: float, height: float) -> Iterator[None]:
        """Keep what is drawn meanwhile within a rectangle."""
        self._clips += 1
        name = f"{self.key}-clip{self._clips}"
        self._parts.append(
            f'<clipPath id="{name}"><rect x="{number(left)}" y="{number(top)}" width="{number(width)}" '
            f'height="{number(height)}"/></clipPath><g clip-path="url(#{name})">'
        )
        yield
        self._parts.append("</g>")

    def svg(self) -> str:
        """Return the drawing as an SVG string with title and description."""
        size = f'width="{number(self.width)}" height="{number(self.height)}"'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} '
            f'viewBox="0 0 {number(self.width)} {number(self.height)}" role="img" '
            f"aria-labelledby={quoteattr(f'{self.key}-title {self.key}-desc')}>"
            f'<title id="{self.key}-title">{escape(clean(self.title))}</title>'
            f'<desc id="{self.key}-desc">{escape(clean(self.description))}</desc>'
            + "".join(self._parts)
            + "</svg>"
        )


def _outline(shape: Mark, x: float, y: float, size: float) -> str:
    if shape in {"cross", "plus"}:
        s = size * (0.85 if shape == "cross" else 1.1)
        arms = ((-s, -s, s, s), (-s, s, s, -s)) if shape == "cross" else ((-s, 0, s, 0), (0, -s, 0, s))
        return "".join(
            f"M{number(x + a)} {number(y + b)}L{number(x + c)} {number(y + d)}" for a, b, c, d in arms
        )
    if shape == "aim":
        r, out = number(size), 1.7 * size
        ways = ((1, 0), (-1, 0), (0, 1), (0, -1))
        ticks = [(x + size * a, y + size * b, x + out * a, y + out * b) for a, b in ways]
        half = f"a{r} {r} 0 1 0 "
        return (
            f"M{number(x - size)} {number(y)}{half}{number(2 * size)} 0{half}{number(-2 * size)} 0"
            + "".join(f"M{number(a)} {number(b)}L{number(c)} {number(d)}" for a, b, c, d in ticks)
        )
    corners = {
        "square": [(math.pi / 4 + k * math.pi / 2, 1.25) for k in range(4)],
        "diamond": [(k * math.pi / 2, 1.4) for k in range(4)],
        "triangle": [(-math.pi / 2 + k * 2 * math.pi / 3, 1.4) for k in range(3)],
        "down": [(math.pi / 2 + k * 2 * math.pi / 3, 1.4) for k in range(3)],
        "star": [(-math.pi / 2 + k * math.pi / 5, 1.5 if k % 2 == 0 else 0.65) for k in range(10)],
    }[shape]
    points = [(x + size * r * math.cos(a), y + size * r * math.sin(a)) for a, r in corners]
    return "M" + "L".join(f"{number(a)} {number(b)}" for a, b in points) + "Z"
