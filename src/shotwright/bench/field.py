"""The field to look at and to change: its plan as plain shapes, a thing moved, what a shot needs."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, overload

import tomlkit
from tomlkit.items import AoT

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.quantities import parse_quantity
from shotwright.bench.notebooks import shot_paths
from shotwright.bench.workbook import opened
from shotwright.flight.model import FlightModel, flight_model
from shotwright.flight.windows import shot_window
from shotwright.game.reading import game_from_text
from shotwright.game.records import Game, Obstacle, Post, Prism
from shotwright.notebook.figures.field_plan import describe, outline, target_edge
from shotwright.notebook.figures.shot_window import shot_window as window_figure
from shotwright.notebook.figures.side_view import side_view
from shotwright.notebook.from_results import window_panel
from shotwright.trials.records import Prototype

KINDS = ("position", "target", "obstacle", "defender")
LIVE_ELEVATIONS = 41
HELD_ELEVATIONS = 23  # while something is dragged


@dataclass(frozen=True, slots=True)
class FieldItem(Result):
    """One thing on the field.

    Parameters
    ----------
    kind : {"position", "target", "obstacle", "defender"}
        What it is.
    name : str
        What the crew calls it.
    x_m, y_m : float
        Where it is taken hold of.
    outline_m : tuple of (x, y)
        Its outline from above; empty for a firing position.
    place_sd_m, heading_sd_deg : float, optional
        Of a firing position.
    front_deg : float, optional
        Azimuth that an upright opening faces; None for one that faces up, and for other things.
    words : str
        What and where, for those who don't see the plan.
    """

    kind: str
    name: str
    x_m: float
    y_m: float
    outline_m: tuple[tuple[float, float], ...]
    place_sd_m: float | None
    heading_sd_deg: float | None
    front_deg: float | None
    words: str


@dataclass(frozen=True, slots=True)
class FieldPlan(Result):
    """The field from above.

    Parameters
    ----------
    length_m, width_m : float
        Of the floor.
    items : tuple of FieldItem
        What stands on it.
    shots : tuple of (position, target)
        Pairs that the game asks for.
    prototypes : tuple of str
        Those whose shots can be looked at.
    words : str
        The plan in words.
    """

    length_m: float
    width_m: float
    items: tuple[FieldItem, ...]
    shots: tuple[tuple[str, str], ...]
    prototypes: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class FieldLook(Result):
    """What a shot from one position at one target needs.

    Parameters
    ----------
    window_svg, side_svg : str
        Shot window and side view, drawn for the width asked for.
    blocked : str, optional
        Why no shot scores.
    words : tuple of str
        The findings in sentences.
    """

    window_svg: str
    side_svg: str
    blocked: str | None
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """A thing that is held while it is dragged."""

    kind: str
    name: str
    x: float
    y: float


@functools.lru_cache(maxsize=64)
def _read(text: str) -> tuple[Game, FlightModel]:
    game = game_from_text(text, "game.toml")
    return game, flight_model(game.ball, game.weather)


def game_text(project: Path) -> str:
    """Return the game file of a project as the crew wrote it."""
    with opened(project, read_only=True) as file:
        text = file.game_text()
    if not text:
        raise BadInput("this project has no game yet; bring in a game file first", field="game")
    return text


def set_game_text(project: Path, text: str) -> None:
    """Replace the game file of a project, checked.

    Parameters
    ----------
    project : Path
        The project file.
    text : str
        A whole game file.

    Raises
    ------
    BadFile
        With every problem of it; the project keeps the game it had.
    """
    game, _ = _read(text)
    with opened(project) as file:
        file.set_game(text, f"{game.name}.toml")


def field_plan(project: Path) -> FieldPlan:
    """Return what stands on the field.

    Parameters
    ----------
    project : Path
        The project file.

    Returns
    -------
    FieldPlan
        Plain shapes, in metres.
    """
    with opened(project, read_only=True) as file:
        text, prototypes = file.game_text(), file.prototypes()
    if not text:
        raise BadInput("this project has no game yet; bring in a game file first", field="game")
    game, _ = _read(text)
    return FieldPlan(
        length_m=game.field_length,
        width_m=game.field_width,
        items=tuple(_items(game)),
        shots=tuple((p.name, t.name) for p, t in game.shots_wanted()),
        prototypes=tuple(p.name for p in prototypes),
        words=describe(game),
    )


def _items(game: Game) -> list[FieldItem]:
    found = []
    for o in game.obstacles:
        found.append(_solid("obstacle", o.name, tuple(outline(o))))
    for d in game.defenders:
        found.append(_solid("defender", d.name, tuple(d.solid.footprint)))
    for t in game.targets:
        x, y, z = t.centre
        upright = t.elevation < math.radians(80)
        edge = tuple((float(a), float(b)) for a, b, _ in target_edge(t))
        words = f"target {t.name} at x {x:.2f} m, y {y:.2f} m, height {z:.2f} m"
        front = math.degrees(t.azimuth) if upright else None
        found.append(FieldItem("target", t.name, x, y, edge, None, None, front, words))
    for p in game.positions:
        sd = math.degrees(p.heading_sd)
        words = f"firing position {p.name} at x {p.x:.2f} m, y {p.y:.2f} m"
        found.append(FieldItem("position", p.name, p.x, p.y, (), p.place_sd, sd, None, words))
    return found


def _solid(kind: str, name: str, ring: tuple[tuple[float, float], ...]) -> FieldItem:
    x, y = (sum(point[axis] for point in ring) / len(ring) for axis in range(2))
    return FieldItem(kind, name, x, y, ring, None, None, None, f"{kind} {name} at x {x:.2f} m, y {y:.2f} m")


def moved_text(text: str, moved: Moved) -> str:
    """Return a game file with one thing moved; comments, order and everything else stay as they are.

    Parameters
    ----------
    text : str
        The game file.
    moved : Moved
        What, and where it is taken to.

    Returns
    -------
    str
        The new file. Places are written in metres, to the millimetre.

    Raises
    ------
    BadInput
        There is no such thing.
    """
    if moved.kind not in KINDS:
        raise BadInput(f"{moved.kind!r} can't be moved; {', '.join(KINDS)} can", field="kind")
    game, _ = _read(text)
    document = tomlkit.parse(text)
    tables = document.get(moved.kind)
    entry = (
        next((e for e in tables if str(e.get("name")) == moved.name), None)
        if isinstance(tables, AoT)
        else None
    )
    old = next((i for i in _items(game) if (i.kind, i.name) == (moved.kind, moved.name)), None)
    if entry is None or old is None:
        raise BadInput(f"there is no {moved.kind} {moved.name!r}", field="name")
    shift = (moved.x - old.x_m, moved.y - old.y_m)
    if "from" in entry:
        for end in ("from", "to"):
            for axis in range(2):
                _shift(entry[end], axis, shift[axis])
    elif moved.kind == "position":
        entry["x"], entry["y"] = _metres(moved.x), _metres(moved.y)
    else:
        for axis, key in enumerate(("x", "y")):
            _shift(entry, key, shift[axis])
    return tomlkit.dumps(document)


def moved_game(game: Game, moved: Moved) -> Game:
    """Return a game with one thing moved, as reading the file of `moved_text` would give it.

    Parameters
    ----------
    game : Game
        As the crew wrote it.
    moved : Moved
        What, and where it is taken to; to the millimetre, as the file keeps it.

    Returns
    -------
    Game
        Not checked: what is let go is checked when it is kept.

    Raises
    ------
    BadInput
        There is no such thing.
    """
    old = next((i for i in _items(game) if (i.kind, i.name) == (moved.kind, moved.name)), None)
    if old is None:
        raise BadInput(f"there is no {moved.kind} {moved.name!r}", field="name")
    dx, dy = moved.x - old.x_m, moved.y - old.y_m
    if moved.kind == "position":
        x, y = round(moved.x, 3), round(moved.y, 3)
        places = (replace(p, x=x, y=y) if p.name == moved.name else p for p in game.positions)
        return replace(game, positions=tuple(places))
    if moved.kind == "target":
        from_x, from_y, z = game.target(moved.name).centre
        centre = (round(from_x + dx, 3), round(from_y + dy, 3), z)
        targets = (replace(t, centre=centre) if t.name == moved.name else t for t in game.targets)
        return replace(game, targets=tuple(targets))
    if moved.kind == "defender":
        robots = (
            replace(d, solid=_carried(d.solid, dx, dy)) if d.name == moved.name else d for d in game.defenders
        )
        return replace(game, defenders=tuple(robots))
    solids = (_carried(o, dx, dy) if o.name == moved.name else o for o in game.obstacles)
    return replace(game, obstacles=tuple(solids))


@overload
def _carried(solid: Prism, dx: float, dy: float) -> Prism: ...
@overload
def _carried(solid: Obstacle, dx: float, dy: float) -> Obstacle: ...
def _carried(solid: Obstacle, dx: float, dy: float) -> Obstacle:
    if isinstance(solid, Post):
        return replace(solid, x=round(solid.x + dx, 3), y=round(solid.y + dy, 3))
    return replace(solid, footprint=tuple((x + dx, y + dy) for x, y in solid.footprint))


def _shift(table: Any, key: Any, by: float) -> None:
    table[key] = _metres(parse_quantity(str(table[key]), "length") + by)


def _metres(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".") + " m"


def move(project: Path, moved: Moved) -> str:
    """Move a thing on the field for good.

    Parameters
    ----------
    project : Path
        The project file.
    moved : Moved
        What, and where to.

    Returns
    -------
    str
        The game file as it was, for those who want to take it back.
    """
    before = game_text(project)
    set_game_text(project, moved_text(before, moved))
    return before


def look(
    project: Path,
    position: str,
    target: str,
    *,
    prototype: str | None = None,
    moved: Moved | None = None,
    defended: bool = False,
    width: float = 420.0,
) -> FieldLook:
    """Show what a shot needs, also while something on the field is being dragged.

    Parameters
    ----------
    project : Path
        The project file.
    position, target : str
        Where from, where to.
    prototype : str, optional
        Whose release height, spin and range of speeds; the first one by default.
    moved : Moved, optional
        Something that is held somewhere else than the game file says.
    defended : bool
        With the defenders in the way.
    width : float
        Room for each drawing. [px]

    Returns
    -------
    FieldLook
        Drawings and words. While something is held they are a draft: see `shot_window`.
    """
    with opened(project, read_only=True) as file:
        text, launchers = file.game_text(), file.prototypes()
    if not text:
        raise BadInput("this project has no game yet; bring in a game file first", field="game")
    game, model = _read(text)
    game = moved_game(game, moved) if moved else game
    launcher = next((p for p in launchers if prototype in (None, "", p.name)), None) or Prototype(
        "any", release_height=0.5
    )
    place, opening = game.position(position), game.target(target)
    window = shot_window(
        model,
        game,
        place,
        opening,
        release_height=launcher.release_height,
        spin_parameter=launcher.spin_parameter,
        speed_range=(launcher.speed_low or 1.0, launcher.speed_high or 25.0),
        elevation_steps=HELD_ELEVATIONS if moved else LIVE_ELEVATIONS,
        defended=defended,
        draft=moved is not None,
    )
    panel = window_panel(
        window, paths=shot_paths(model, place, window, 24 if moved else 60), prototype=launcher.name
    )
    return FieldLook(
        window_svg=window_figure(panel, key="window", width=width, prototypes=[launcher]).svg(),
        side_svg=side_view(game, panel, key="side", width=width).svg(),
        blocked=panel.blocked,
        words=window.words,
    )
