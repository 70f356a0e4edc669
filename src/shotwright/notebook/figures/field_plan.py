"""The field from above, to scale: where balls are fired from, where they must go, what stands between."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from shotwright.game.records import Game, Obstacle, Post, Target
from shotwright.notebook import chart
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing, Point
from shotwright.notebook.placing import Placer

PLACE_FACTOR = 2.0  # place and heading spreads are drawn at two standard deviations


def field_plan(game: Game, *, key: str, width: float) -> Drawing:
    """Draw the field plan.

    The field frame from above: x to the right, y up, both at one scale. Round each firing position stands
    the circle of its place spread, from it the fan of its heading spread, both at two standard deviations.

    Parameters
    ----------
    game : Game
        The game.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]

    Returns
    -------
    Drawing
        The plan.
    """
    legend = _legend(game)
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    margin = 0.03 * game.field_length
    frame = chart.equal_frame(
        chart.LEFT,
        top,
        width - chart.LEFT - 12,
        (80.0, 1.25 * width),
        (-margin, game.field_length + margin),
        (-margin, game.field_width + margin),
    )
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, f"Field plan of {game.name}", describe(game))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    chart.draw_axes(drawing, frame, "x [m]", "y [m]", equal=True)
    drawing.area(
        [_ring(frame, _rectangle(game))], "paper", opacity=0, edge="ink", edge_width=1.6, kind="field"
    )
    placer = Placer((frame.left, frame.top, frame.right, frame.bottom))
    for obstacle in game.obstacles:
        drawing.area([_ring(frame, outline(obstacle))], "ink", opacity=0.18, edge="ink", kind="obstacle")
    for defender in game.defenders:
        ring = _ring(frame, defender.solid.footprint)
        drawing.area([ring], "warn", opacity=0.12, edge="warn", dash="5 3", kind="defender")
    _aims(drawing, frame, game)
    for target in game.targets:
        _target(drawing, frame, target)
    for position in game.positions:
        at = frame.at(position.x, position.y)
        drawing.ring(at, PLACE_FACTOR * position.place_sd * frame.x_scale, "s0", width=1.0)
        drawing.mark(at, "plus", "s0", size=5)
    _names(drawing, frame, game, placer)
    return drawing


def describe(game: Game) -> str:
    """Return the plan in words, for those who don't see it."""
    said = [f"The floor is {game.field_length:g} m long and {game.field_width:g} m wide."]
    said += [
        f"Target {t.name} at x {t.centre[0]:.2f}, y {t.centre[1]:.2f}, height {t.centre[2]:.2f} m, "
        f"{_facing(t)}."
        for t in game.targets
    ]
    said += [f"Firing position {p.name} at x {p.x:.2f}, y {p.y:.2f} m." for p in game.positions]
    said += [f"Obstacle {o.name}." for o in game.obstacles]
    said += [f"Defender {d.name}." for d in game.defenders]
    return " ".join(said)


def _facing(target: Target) -> str:
    if target.elevation > math.radians(80):
        return "facing up"
    return f"facing {math.degrees(target.azimuth) % 360:.0f}° from x"


def outline(obstacle: Obstacle) -> list[Point]:
    """Return the outline of an obstacle on the floor, (x, y) [m]; a post as a fine polygon."""
    if isinstance(obstacle, Post):
        turn = np.linspace(0, 2 * math.pi, 48, endpoint=False)
        x, y = obstacle.x + obstacle.radius * np.cos(turn), obstacle.y + obstacle.radius * np.sin(turn)
        return [(float(a), float(b)) for a, b in zip(x, y, strict=True)]
    return list(obstacle.footprint)


def target_edge(target: Target) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Return points along the edge of an opening in the field frame, shape (k, 3). [m]."""
    u, w, _ = target.axes()
    if target.radius is not None:
        turn = np.linspace(0, 2 * math.pi, 60, endpoint=False)
        flat = target.radius * np.column_stack([np.cos(turn), np.sin(turn)])
    else:
        flat = np.asarray(target.corners, dtype=np.float64)
    return np.asarray(target.centre) + flat[:, :1] * u + flat[:, 1:] * w


def _legend(game: Game) -> list[LegendEntry]:
    entries = [
        LegendEntry(
            "firing position; circle and fan: place and heading, 2 standard deviations", "s0", "plus"
        ),
        LegendEntry("target, arrow to its front", "s1", dash=""),
    ]
    if game.obstacles:
        entries.append(LegendEntry("obstacle", "ink", opacity=0.18))
    if game.defenders:
        entries.append(LegendEntry("where a defender may stand", "warn", opacity=0.12))
    return entries


def _rectangle(game: Game) -> list[Point]:
    long, wide = game.field_length, game.field_width
    return [(0, 0), (long, 0), (long, wide), (0, wide)]


def _ring(frame: Frame, corners: Iterable[Point]) -> list[Point]:
    return [frame.at(x, y) for x, y in corners]


def _aims(drawing: Drawing, frame: Frame, game: Game) -> None:
    for position, target in game.shots_wanted():
        start, end = frame.at(position.x, position.y), frame.at(target.centre[0], target.centre[1])
        drawing.line([start, end], "s0", width=0.8, dash="1 4", cap="round")
        half = PLACE_FACTOR * position.heading_sd
        aim, long = math.atan2(end[1] - start[1], end[0] - start[0]), math.dist(start, end)
        arc = [aim + half * k / 6 for k in range(-6, 7)]
        fan = [start] + [(start[0] + long * math.cos(a), start[1] + long * math.sin(a)) for a in arc]
        drawing.area([fan], "s0", opacity=0.1)


def _target(drawing: Drawing, frame: Frame, target: Target) -> None:
    edge = [frame.at(x, y) for x, y, _ in target_edge(target)]
    drawing.area([edge], "s1", opacity=0.25, edge="s1", edge_width=3.0, kind="target")
    if target.elevation > math.radians(80):
        return
    x, y = frame.at(target.centre[0], target.centre[1])
    dx, dy = math.cos(target.azimuth), -math.sin(target.azimuth)
    tip = (x + 20 * dx, y + 20 * dy)
    drawing.line([(x, y), tip], "s1", width=1.6)
    drawing.area(
        [
            [
                (tip[0] + 5 * dx, tip[1] + 5 * dy),
                (tip[0] - 4 * dy, tip[1] + 4 * dx),
                (tip[0] + 4 * dy, tip[1] - 4 * dx),
            ]
        ],
        "s1",
    )


def _names(drawing: Drawing, frame: Frame, game: Game, placer: Placer) -> None:
    spread = [(p.name, [(p.x, p.y)]) for p in game.positions]
    spread += [(t.name, [(x, y) for x, y, _ in target_edge(t).tolist()]) for t in game.targets]
    solids = [(o.name, outline(o)) for o in game.obstacles]
    solids += [(d.name, list(d.solid.footprint)) for d in game.defenders]
    things = [(name, *_extent(frame, corners), False) for name, corners in spread]
    things += [(name, *_extent(frame, corners), True) for name, corners in solids]
    for _, (x, y), (across, up), solid in things:
        if not solid:
            placer.keep_free((x - across - 6, y - up - 6, x + across + 6, y + up + 6))
    for target in game.targets:  # the arrow at its front
        x, y = frame.at(target.centre[0], target.centre[1])
        arrow = [(x + s * math.cos(target.azimuth), y - s * math.sin(target.azimuth)) for s in (10, 20)]
        placer.keep_free_round(arrow, 6.0)
    for position, target in game.shots_wanted():
        share = np.linspace(0.08, 0.92, 24)[:, None]
        ends = np.array([[position.x, position.y], target.centre[:2]])
        placer.keep_free_round(frame.path(ends[0] + share * (ends[1] - ends[0])), 1.5)
    for name, at, half, solid in things:
        placer.label(drawing, at, name, clear=7.0, half=half, inside=2 * half[0] if solid else 0.0)


def _extent(frame: Frame, corners: list[Point]) -> tuple[Point, tuple[float, float]]:
    """Middle and half sizes of the box round some corners. [px]."""
    low, high = np.min(corners, axis=0), np.max(corners, axis=0)
    middle = (low + high) / 2
    half = (high - low) / 2
    at = frame.at(float(middle[0]), float(middle[1]))
    return at, (float(half[0]) * frame.x_scale, float(half[1]) * frame.y_scale)
