"""The title block: the words of a drawing, set below the part."""

from __future__ import annotations

import textwrap

from shotwright.build.outline import Drawing, Lettering

LETTER = 0.003  # m; height of a capital
GAP = 0.008  # m; between the part and its words
NARROWEST = 40  # letters in a line at least


def title_block(drawing: Drawing) -> tuple[Lettering, ...]:
    """Lines of the title block, below the part and about as wide.

    Parameters
    ----------
    drawing : Drawing
        Any.

    Returns
    -------
    tuple of Lettering
        From top to bottom; long lines are broken.
    """
    left, low, right, _ = drawing.bounds_m
    letters = max(int((right - left) / (0.72 * LETTER)), NARROWEST)
    lines = [piece for line in drawing.title.lines() for piece in textwrap.wrap(line, letters)]
    step = 1.7 * LETTER
    return tuple(
        Lettering(line, (left, low - GAP - number * step), LETTER) for number, line in enumerate(lines, 1)
    )
