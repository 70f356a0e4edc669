"""A shot from the side: path, floor, opening, what stands between. Both axes at one scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from shotwright.game.records import FiringPosition, Game, Obstacle, Target
from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing, Point
from shotwright.notebook.evidence import FloatArray, ShotKind, WindowPanel, WindowShot
from shotwright.notebook.figures.field_plan import outline, target_edge
from shotwright.notebook.palette import SMALL, Mark
from shotwright.notebook.placing import Placer

# look of a marked shot, here and in its window: mark, colour, dash
KINDS: dict[ShotKind, tuple[Mark, str, str]] = {
    "minimum speed": ("down", "s2", "7 3"),
    "most forgiving": ("star", "s3", ""),
    "chosen": ("square", "s0", "2 3"),
    "other": ("triangle", "s5", "9 3 2 3"),
}


def side_view(game: Game, panel: WindowPanel, *, key: str, width: float) -> Drawing:
    """Draw the marked shots of one firing position from the side.

    The picture plane is upright and holds the aim line: distance from the firing position along it, height
    over the floor. Obstacles and defenders show the part that stands within one ball's width of the line.

    Parameters
    ----------
    game : Game
        The game.
    panel : WindowPanel
        Its shots with `path_m` are drawn.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        The side view.
    """
    position, target = game.position(panel.position), game.target(panel.target)
    shots = [shot for shot in panel.shots if shot.path_m is not None]
    paths = [_along(position, target, shot.path_m) for shot in shots if shot.path_m is not None]
    opening = _along(position, target, target_edge(target))
    solids = _silhouettes(game, position, target)
    legend = _legend(shots, bool(solids))
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    frame = _frame(top, width, opening, paths, solids, panel.release_height_m)
    title = f"Side view from {panel.position} to {panel.target}"
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, title, describe(panel))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    chart.draw_axes(drawing, frame, "distance along the aim line [m]", "height [m]", equal=True)
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        _scene(drawing, frame, opening, solids)
        for k, path in enumerate(paths):
            _, colour, dash = KINDS[shots[k].kind]
            drawing.line(frame.path(path), colour, width=1.8, dash=dash, kind="path")
            _ball(drawing, frame, path[0], game.ball.radius, colour)
    _notes(drawing, frame, shots, paths, opening, panel.target)
    return drawing


def describe(panel: WindowPanel) -> str:
    """Return the view in words."""
    said = [f"Shots from {panel.position}, released {panel.release_height_m:.2f} m over the floor."]
    said += [f"{words_of(shot)}." for shot in panel.shots]
    if panel.blocked:
        said.append(f"Blocked: {panel.blocked}.")
    return " ".join(said)


def words_of(shot: WindowShot) -> str:
    """Return a marked shot in one phrase."""
    parts = [f"{shot.kind}: {shot.speed_m_s:.2f} m/s at {shot.elevation_deg:.1f}°"]
    if shot.entry_angle_deg is not None:
        parts.append(f"enters {shot.entry_angle_deg:.0f}° below level")
    if shot.apex_height_m is not None:
        parts.append(f"apex {shot.apex_height_m:.2f} m")
    return ", ".join(parts)


def _legend(shots: Sequence[WindowShot], solids: bool) -> list[LegendEntry]:
    entries = [LegendEntry(words_of(s), KINDS[s.kind][1], dash=KINDS[s.kind][2]) for s in shots]
    entries.append(LegendEntry("opening", "s1", dash=""))
    if solids:
        entries.append(LegendEntry("obstacle or defender on the line", "ink", opacity=0.18))
    return entries


def _along(position: FiringPosition, target: Target, points: FloatArray) -> FloatArray:
    """Points (k, 3) as (distance along the aim line, height)."""
    aim = np.array([target.centre[0] - position.x, target.centre[1] - position.y])
    aim = aim / np.hypot(*aim)
    flat = points[:, :2] - np.array([position.x, position.y])
    return np.column_stack([flat @ aim, points[:, 2]])


def _silhouettes(
    game: Game, position: FiringPosition, target: Target
) -> list[tuple[str, float, float, float, float]]:
    """Name, near, far, bottom, top of each solid within one ball's width of the aim line."""
    aim = math.atan2(target.centre[1] - position.y, target.centre[0] - position.x)
    reach = math.hypot(target.centre[0] - position.x, target.centre[1] - position.y)
    found = []
    solids: list[tuple[str, Obstacle]] = [(o.name, o) for o in game.obstacles]
    solids += [(d.name, d.solid) for d in game.defenders]
    for name, solid in solids:
        turned = []
        for x, y in outline(solid):
            dx, dy = x - position.x, y - position.y
            along = dx * math.cos(aim) + dy * math.sin(aim)
            turned.append((along, dy * math.cos(aim) - dx * math.sin(aim)))
        kept = _cut(_cut(turned, game.ball.diameter), game.ball.diameter, -1.0)
        if kept and max(p[0] for p in kept) > 0 and min(p[0] for p in kept) < 1.15 * reach:
            near, far = min(p[0] for p in kept), max(p[0] for p in kept)
            found.append((name, near, far, solid.bottom, solid.top))
    return found


def _cut(ring: list[Point], limit: float, sign: float = 1.0) -> list[Point]:
    """Keep the part of a convex ring where sign * second coordinate <= limit."""
    kept: list[Point] = []
    for k, (a, b) in enumerate(ring):
        c, d = ring[(k + 1) % len(ring)]
        if sign * b <= limit:
            kept.append((a, b))
        if (sign * b - limit) * (sign * d - limit) < 0:
            share = (sign * limit - b) / (d - b)
            kept.append((a + share * (c - a), sign * limit))
    return kept


def _frame(
    top: float,
    width: float,
    opening: FloatArray,
    paths: Sequence[FloatArray],
    solids: Sequence[tuple[str, float, float, float, float]],
    release: float,
) -> Frame:
    points = np.vstack([opening, *paths, [[0.0, release], [0.0, 0.0]]])
    high = max([float(points[:, 1].max()), *(s[4] for s in solids)])
    low_x = min([float(points[:, 0].min()), 0.0])
    high_x = max([float(points[:, 0].max()), *(s[2] for s in solids)])
    margin = 0.04 * (high_x - low_x)
    ends_x, ends_y = (low_x - 2 * margin, high_x + 2 * margin), (-margin, high + 2 * margin)
    return chart.equal_frame(
        chart.LEFT, top, width - chart.LEFT - 12, (80.0, max(0.48 * width, 200.0)), ends_x, ends_y
    )


def _scene(
    drawing: Drawing,
    frame: Frame,
    opening: FloatArray,
    solids: Sequence[tuple[str, float, float, float, float]],
) -> None:
    floor = frame.y(0.0)
    drawing.box(frame.left, floor, frame.width, frame.bottom - floor, "shade")
    drawing.line([(frame.left, floor), (frame.right, floor)], "ink", width=1.4, kind="floor")
    for _, near, far, bottom, top in solids:
        ring = [frame.at(near, bottom), frame.at(far, bottom), frame.at(far, top), frame.at(near, top)]
        drawing.area([ring], "ink", opacity=0.18, edge="ink", kind="solid")
    ring = frame.path(opening)
    drawing.area([ring], "s1", opacity=0.2, edge="s1", edge_width=3.0, kind="opening")


def _ball(drawing: Drawing, frame: Frame, at: FloatArray, radius: float, colour: str) -> None:
    place = frame.at(float(at[0]), float(at[1]))
    drawing.ring(place, max(radius * frame.x_scale, 2.0), colour, width=1.4)


def _notes(
    drawing: Drawing,
    frame: Frame,
    shots: Sequence[WindowShot],
    paths: Sequence[FloatArray],
    opening: FloatArray,
    target: str,
) -> None:
    placer = Placer((frame.left, frame.top, frame.right, frame.bottom))
    for path in paths:
        placer.keep_free_round(frame.path(path[::4]), 4.0)
    middle = opening.mean(axis=0)
    placer.keep_free_round(frame.path(opening), 5.0)
    for k, (shot, path) in enumerate(zip(shots, paths, strict=True)):
        colour = KINDS[shot.kind][1]
        peak = int(np.argmax(path[:, 1]))
        if shot.apex_height_m is not None and 0 < peak < len(path) - 1:
            at = frame.at(float(path[peak, 0]), float(path[peak, 1]))
            drawing.mark(at, "plus", colour, size=5, kind="apex")
            placer.label(drawing, at, f"apex {shot.apex_height_m:.2f} m", colour=colour, clear=8)
        if shot.entry_angle_deg is not None:
            _entry(drawing, frame, path, colour, 26.0 + 12.0 * k)
    placer.label(drawing, frame.at(float(middle[0]), float(middle[1])), target, clear=12, size=SMALL)


def _entry(drawing: Drawing, frame: Frame, path: FloatArray, colour: str, radius: float) -> None:
    """Mark the angle between the path and the level at its last point."""
    end = frame.at(float(path[-1, 0]), float(path[-1, 1]))
    before = frame.at(float(path[-2, 0]), float(path[-2, 1]))
    slope = math.atan2(before[1] - end[1], before[0] - end[0])  # screen direction back along the path
    level = math.pi if math.cos(slope) < 0 else 0.0
    turn = math.remainder(slope - level, 2 * math.pi)
    arc = [level + turn * k / 12 for k in range(13)]
    drawing.line([end, (end[0] + radius * math.cos(level), end[1])], "soft", width=0.8, dash="3 2")
    points = [(end[0] + radius * math.cos(a), end[1] + radius * math.sin(a)) for a in arc]
    drawing.line(points, colour, width=1.0, kind="entry")
