"""Random parts, and readers of page contents that know nothing of what wrote them."""

from __future__ import annotations

import datetime
import math
import re
from typing import Any

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from shotwright.build.outline import Drawing, Lettering, Loop, Title, checked, circle

Points = NDArray[np.float64]
TITLE = Title(
    part='cam <3> & "test"',
    project="Invented crew",
    material="Birkensperrholz ä/µ",
    thickness_m=0.006,
    date=datetime.date(2026, 1, 2),
    caution="A wound spring strikes: block it before reaching in.",
    module_m=0.0015,
    notes=("20 teeth",),
)


@st.composite
def parts(draw: st.DrawFn) -> Drawing:
    """Outline seen whole from the origin, 4 to 50 corners; round and ragged holes inside; engraving."""
    size = draw(st.floats(0.02, 0.3))
    x, y = draw(st.floats(-0.5, 0.5)), draw(st.floats(-0.5, 0.5))
    outer = ragged(draw, 0.7 * size, size, 50)
    holes = []
    for number in range(draw(st.integers(0, 5))):
        turn = 2 * math.pi * number / 5
        # a square outline comes as near as 0.7/sqrt(2) = 0.49 of its size to the middle
        at = (0.3 * size * math.cos(turn), 0.3 * size * math.sin(turn))
        if draw(st.booleans()):
            holes.append(circle(at, draw(st.floats(0.02, 0.17)) * size))
        else:
            holes.append(ragged(draw, 0.05 * size, 0.17 * size, 12).moved(at))
    line = np.array([[-0.1, 0.0], [0.0, 0.1], [0.1, 0.05]]) * size
    drawing = Drawing(
        tuple(one.moved((x, y)) for one in (outer,)),
        TITLE,
        tuple(one.moved((x, y)) for one in holes),
        (line + np.array([x, y]),),
        (Lettering("turn <this> way", (x, y), 0.004, 0.3),),
        ((x, y),),
    )
    return checked(drawing)


def ragged(draw: st.DrawFn, low: float, high: float, most: int) -> Loop:
    count = draw(st.integers(4, most))
    radii = draw(st.lists(st.floats(low, high), min_size=count, max_size=count))
    at = 2 * np.pi * np.arange(count) / count
    return Loop(np.array(radii)[:, None] * np.column_stack([np.cos(at), np.sin(at)]))


def farthest(loop: Points, others: list[Points]) -> float:
    """Largest distance between corners of a loop and those of its like among others, wherever they begin."""
    best = math.inf
    for other in others:
        if len(other) != len(loop):
            continue
        start = int(np.argmin(np.hypot(*(other - loop[0]).T)))
        for again in (np.roll(other, -start, axis=0), np.roll(other[::-1], start + 1, axis=0)):
            best = min(best, float(np.hypot(*(again - loop).T).max()))
    return best


def pdf_loops(page: Any) -> list[Points]:
    """Closed paths on a page, in millimetres from its lower left corner: follows q, Q, cm, m, l, h, Do."""
    from pypdf.generic import ContentStream

    found: list[Points] = []

    def run(stream: Any, resources: Any, base: Points) -> None:
        stack, now, path = [], base, []
        for operands, operator in ContentStream(stream, page.pdf).operations:
            if operator == b"q":
                stack.append(now)
            elif operator == b"Q":
                now = stack.pop()
            elif operator == b"cm":
                now = matrix(operands) @ now
            elif operator == b"m":
                path = [operands]
            elif operator == b"l":
                path.append(operands)
            elif operator == b"h" and path:
                held = np.array([[float(v) for v in one] + [1.0] for one in path]) @ now
                found.append(held[:, :2] * 25.4 / 72)
                path = []
            elif operator == b"Do":
                form = resources["/XObject"][operands[0]].get_object()
                if form["/Subtype"] == "/Form":
                    inner = matrix(form["/Matrix"]) @ now if "/Matrix" in form else now
                    run(form, form.get("/Resources", resources).get_object(), inner)

    run(page.get_contents(), page["/Resources"].get_object(), np.eye(3))
    return found


def matrix(numbers: Any) -> Points:
    a, b, c, d, e, f = (float(one) for one in numbers)
    return np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]])


def svg_size(text: str) -> tuple[float, float, list[float]]:
    """Width and height in millimetres, and the view box."""
    width, height = (float(re.search(rf'{name}="([\d.]+)mm"', text)[1]) for name in ("width", "height"))
    return width, height, [float(one) for one in re.search(r'viewBox="([^"]+)"', text)[1].split()]
