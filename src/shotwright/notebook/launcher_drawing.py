"""A launcher's contact geometry drawn to scale, from its record."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shotwright.game.records import Ball
from shotwright.launcher.protocol import Launcher
from shotwright.notebook import ticks
from shotwright.notebook.chart import Frame
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.drawing import Point as Pixel
from shotwright.notebook.launcher_scenes import Label, Point, Round, Scene, Stroke, scenes_of
from shotwright.notebook.palette import SMALL
from shotwright.notebook.placing import Placer

_MARGIN = 26.0  # px round a view, for labels
_TALLEST = 380.0  # px
_GAP = 18.0  # px between two views
_HEAD = 7.0  # px, length of an arrow's head


def launcher_drawing(launcher: Launcher, ball: Ball, *, key: str, width: float) -> Drawing:
    """Draw a launcher to scale: surfaces, ball, path, dimensions, and a bar that gives the scale.

    Parameters
    ----------
    launcher : Launcher
        Any kind; one without a drawing gives a box that says so.
    ball : Ball
        Drawn with its mean diameter.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        All views at one scale.
    """
    scenes = scenes_of(launcher, ball.radius)
    title = f"{launcher.name}: {launcher.kind}, to scale"
    if not scenes:
        drawing = Drawing(key, width, 40.0, title, "There is no drawing of this kind of launcher.")
        drawing.text((2, 24), "There is no drawing of this kind of launcher.")
        return drawing
    boxes = [_extent(scene) for scene in scenes]
    spans = [box[1] - box[0] for box in boxes], [box[3] - box[2] for box in boxes]
    room = width - _GAP * (len(scenes) - 1) - 2 * _MARGIN * len(scenes)
    scale = min(room / sum(spans[0]), (_TALLEST - 2 * _MARGIN) / max(spans[1]))
    height = max(spans[1]) * scale + 2 * _MARGIN + 20
    drawing = Drawing(key, width, height + 26, title, _described(launcher, scenes))
    left, spare = 0.0, (room - sum(spans[0]) * scale) / len(scenes)
    for scene, box, span in zip(scenes, boxes, spans[0], strict=True):
        share = span * scale + spare + 2 * _MARGIN
        _view(drawing, scene, _frame(left, share, height, box, scale))
        left += share + _GAP
    _scale_bar(drawing, scale, height + 10)
    return drawing


def _extent(scene: Scene) -> tuple[float, float, float, float]:
    xs: list[float] = []
    ys: list[float] = []
    for part in scene.parts:
        if isinstance(part, Stroke):
            xs += [p[0] for p in part.points]
            ys += [p[1] for p in part.points]
        elif isinstance(part, Round):
            xs += [part.centre[0] - part.radius, part.centre[0] + part.radius]
            ys += [part.centre[1] - part.radius, part.centre[1] + part.radius]
    return min(xs), max(xs), min(ys), max(ys)


def _frame(
    left: float, share: float, height: float, box: tuple[float, float, float, float], scale: float
) -> Frame:
    """Frame of one view, with its extent in the middle."""
    middle_x, middle_y = (box[0] + box[1]) / 2, (box[2] + box[3]) / 2
    across, up = share / scale, (height - 20) / scale
    return Frame(
        left, 20.0, share, height - 20,
        middle_x - across / 2, middle_x + across / 2, middle_y - up / 2, middle_y + up / 2,
    )  # fmt: skip


def _view(drawing: Drawing, scene: Scene, frame: Frame) -> None:
    drawing.text((frame.left + 2, 13), scene.view, colour="soft", kind="label")
    placer = Placer((frame.left, frame.top, frame.right, frame.bottom))
    for part in scene.parts:
        if isinstance(part, Round):
            _round(drawing, frame, part)
    for part in scene.parts:
        if isinstance(part, Stroke):
            pixels = [frame.at(*p) for p in part.points]
            drawing.line(pixels, part.colour, width=part.width, dash=part.dash)
            if part.head:
                _head(drawing, pixels, part.colour)
    for part in scene.parts:
        if isinstance(part, Label):
            placer.label(drawing, frame.at(*part.at), part.words, clear=6.0)


def _round(drawing: Drawing, frame: Frame, part: Round) -> None:
    if part.filled:
        ring: list[Point] = [
            frame.at(
                part.centre[0] + part.radius * math.cos(math.pi * i / 36),
                part.centre[1] + part.radius * math.sin(math.pi * i / 36),
            )
            for i in range(72)
        ]
        drawing.area([ring], part.filled, opacity=0.12)
    drawing.ring(frame.at(*part.centre), part.radius * frame.x_scale, part.colour, width=1.6, dash=part.dash)


def _head(drawing: Drawing, pixels: Sequence[Pixel], colour: str) -> None:
    (x0, y0), (x1, y1) = pixels[-2], pixels[-1]
    angle = math.atan2(y1 - y0, x1 - x0)
    sides = [(x1 - _HEAD * math.cos(angle + t), y1 - _HEAD * math.sin(angle + t)) for t in (0.45, -0.45)]
    drawing.area([[(x1, y1), *sides]], colour)


def _scale_bar(drawing: Drawing, scale: float, top: float) -> None:
    """Draw a bar of a round length, at most a fifth of the width."""
    length = ticks.round_step(drawing.width / scale, 6)
    pixels = length * scale
    left = 8.0
    drawing.line([(left, top), (left + pixels, top)], "ink", width=2.0)
    for x in (left, left + pixels):
        drawing.line([(x, top - 4), (x, top + 4)], "ink")
    drawing.text((left + pixels + 8, top + 4), f"{1e3 * length:.4g} mm", size=SMALL)


def _described(launcher: Launcher, scenes: Sequence[Scene]) -> str:
    said = [f"{launcher.kind}, drawn to scale {' and '.join(scene.view for scene in scenes)}."]
    said += [part.words for scene in scenes for part in scene.parts if isinstance(part, Label)]
    return " ".join(said[:1]) + " " + "; ".join(said[1:]) + "."
