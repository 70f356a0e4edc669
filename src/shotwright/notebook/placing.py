"""Finding a free spot for a label beside the thing that it names."""

from __future__ import annotations

import math
from collections.abc import Iterable

from shotwright.notebook import lettering
from shotwright.notebook.drawing import Anchor, Drawing, Point
from shotwright.notebook.palette import SMALL

Box = tuple[float, float, float, float]  # left, top, right, bottom [px]


class Placer:
    """Remembers which boxes are taken and finds the nearest free one for a label.

    Parameters
    ----------
    bounds : tuple of float
        Labels stay within (left, top, right, bottom). [px]
    """

    def __init__(self, bounds: Box) -> None:
        self._bounds = bounds
        self._taken: list[Box] = []

    def keep_free(self, box: Box) -> None:
        """Let no label cover this box."""
        self._taken.append(box)

    def keep_free_round(self, points: Iterable[Point], radius: float = 5.0) -> None:
        """Let no label cover these points."""
        self._taken += [(x - radius, y - radius, x + radius, y + radius) for x, y in points]

    def label(
        self,
        drawing: Drawing,
        at: Point,
        words: str,
        *,
        clear: float = 8.0,
        size: float = SMALL,
        colour: str = "ink",
        kind: str = "name",
        must: bool = True,
        inside: float = 0.0,
        half: tuple[float, float] = (0.0, 0.0),
    ) -> bool:
        """Letter `words` near a point, where nothing else stands; with a thin leader when it had to move far.

        Parameters
        ----------
        drawing : Drawing
            Drawn on.
        at : tuple of float
            The thing. [px]
        words : str
            The label.
        clear : float
            Distance kept from the thing. [px]
        size : float
            Font size. [px]
        colour, kind : str
            Palette name and class.
        must : bool
            Whether a label that finds no room is set anyway, where it hurts least.
        inside : float
            Width of the thing, when the label may stand within it; 0 for beside it only. [px]
        half : tuple of float
            Half the thing's width and height: the label stands beside that box. [px]

        Returns
        -------
        bool
            Whether it was set.
        """
        wide, high = lettering.width(words, size), size
        spots = [spot for far in (1.0, 1.8, 3.0, 4.5) for spot in _spots(at, half, wide, high, clear * far)]
        if 0 < wide + 6 <= inside:
            middle = at[1] + high * 0.35
            box = (at[0] - wide / 2, middle - high * 0.8, at[0] + wide / 2, middle + high * 0.25)
            spots.insert(0, (box, "middle", (at[0], middle)))
        best, cost = spots[0], math.inf
        for spot in spots:
            costs = self._cost(spot[0])
            if costs < cost:
                best, cost = spot, costs
            if cost == 0.0:
                break
        if cost > 0 and not must:
            return False
        box, anchor, base = best
        self._taken.append(box)
        gap = math.dist(_nearest(box, at), at)
        if gap > max(2.6 * clear, math.hypot(*half) + 1.5 * clear):
            drawing.line([at, _nearest(box, at)], "soft", width=0.7)
        drawing.text(base, words, size=size, anchor=anchor, colour=colour, halo=True, kind=kind)
        return True

    def _cost(self, box: Box) -> float:
        left, top, right, bottom = self._bounds
        outside = max(0.0, left - box[0]) + max(0.0, box[2] - right)
        outside += max(0.0, top - box[1]) + max(0.0, box[3] - bottom)
        covered = 0.0
        x0, y0, x1, y1 = box
        for left, top, right, bottom in self._taken:
            # most lie apart, and are told by one comparison
            if left < x1 and right > x0 and top < y1 and bottom > y0:
                covered += (min(x1, right) - max(x0, left)) * (min(y1, bottom) - max(y0, top))
        return 40.0 * outside + covered


def _spots(
    at: Point, half: tuple[float, float], wide: float, high: float, away: float
) -> list[tuple[Box, Anchor, Point]]:
    x, y = at
    across, up = half[0] + away, half[1] + away
    slant_x, slant_y = half[0] + away * 0.75, half[1] + away * 0.75
    middle = y + high * 0.35
    places: list[tuple[float, float, Anchor]] = [
        (x + across, middle, "start"),
        (x - across, middle, "end"),
        (x, y - up, "middle"),
        (x, y + up + high * 0.75, "middle"),
        (x + slant_x, y - slant_y, "start"),
        (x + slant_x, y + slant_y + high * 0.75, "start"),
        (x - slant_x, y - slant_y, "end"),
        (x - slant_x, y + slant_y + high * 0.75, "end"),
    ]
    spots: list[tuple[Box, Anchor, Point]] = []
    for bx, by, anchor in places:
        left = {"start": bx, "middle": bx - wide / 2, "end": bx - wide}[anchor]
        spots.append(((left, by - high * 0.8, left + wide, by + high * 0.25), anchor, (bx, by)))
    return spots


def _nearest(box: Box, at: Point) -> Point:
    return min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])
