"""The game: field, ball, openings, places to fire from, limits."""

from __future__ import annotations

import math

from shotwright.game.records import Ball, CoefficientLaw, Game
from shotwright.notebook.blocks import Block, Column, Picture, Section, Table, Words
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.figures.field_plan import field_plan
from shotwright.notebook.wording import fixed


def game(content: NotebookContent) -> Section:
    """Return the chapter on the game."""
    the = content.game
    blocks: list[Block] = [
        Words(
            f"Every place is given in metres from one corner of the field: x along its length of "
            f"{the.field_length:g} m, y along its width of {the.field_width:g} m, z up from the floor."
        ),
        Picture(
            "field-plan",
            f"The field of {the.name} from above, to scale. Crosses are firing positions. The circle round "
            "each shows how well the robot comes back to the place, the fan how well it comes back to the "
            "heading, both at two standard deviations; a good place shows no circle at this scale.",
            lambda key, width: field_plan(the, key=key, width=width),
        ),
        _positions(the),
        _targets(the),
    ]
    if the.obstacles or the.defenders:
        blocks.append(_solids(the))
    blocks += [_ball(the.ball), _air(the)]
    if limits := _limits(the):
        blocks.append(limits)
    return Section("game", "The game", tuple(blocks), fresh_page=True)


def _positions(the: Game) -> Table:
    columns = (
        Column("position", share=1.4),
        Column("x [m]", True),
        Column("y [m]", True),
        Column("place spread [mm]", True),
        Column("heading spread [°]", True),
        Column("fires at", share=1.6),
        Column("needed"),
    )
    rows = tuple(
        (
            p.name,
            fixed(p.x, 2),
            fixed(p.y, 2),
            fixed(1000 * p.place_sd, 0),
            fixed(math.degrees(p.heading_sd), 1),
            ", ".join(p.targets) or "all targets",
            "yes" if p.needed else "no",
        )
        for p in the.positions
    )
    return Table(
        "Firing positions. Spreads are standard deviations, each time the robot comes back.", columns, rows
    )


def _targets(the: Game) -> Table:
    columns = (
        Column("target", share=1.4),
        Column("opening", share=2.0),
        Column("x [m]", True),
        Column("y [m]", True),
        Column("height [m]", True),
        Column("faces", share=1.6),
        Column("points", True),
    )
    rows = []
    for t in the.targets:
        if t.radius is not None:
            opening = f"circle, {2 * t.radius:.2f} m across"
        else:
            wide = max(c[0] for c in t.corners) - min(c[0] for c in t.corners)
            high = max(c[1] for c in t.corners) - min(c[1] for c in t.corners)
            kind = "corners" if len(t.corners) != 4 else "rectangle"
            opening = (
                f"{kind if kind == 'rectangle' else f'{len(t.corners)} corners'}, {wide:.2f} × {high:.2f} m"
            )
        faces = f"{math.degrees(t.azimuth) % 360:.0f}° from x, {math.degrees(t.elevation):.0f}° up"
        rows.append((t.name, opening, *(fixed(v, 2) for v in t.centre), faces, f"{t.points:g}"))
    caption = "Targets. A ball scores when it passes from the front with its whole surface clear of the edge."
    return Table(caption, columns, tuple(rows))


def _solids(the: Game) -> Table:
    rows = [(o.name, "obstacle", fixed(o.bottom, 2), fixed(o.top, 2)) for o in the.obstacles]
    rows += [(d.name, "defender", fixed(d.solid.bottom, 2), fixed(d.solid.top, 2)) for d in the.defenders]
    columns = (Column("what", share=2.0), Column("kind"), Column("from [m]", True), Column("up to [m]", True))
    caption = "What stands in the way: heights over the floor. Outlines are in the field plan."
    return Table(caption, columns, tuple(rows))


def _ball(ball: Ball) -> Table:
    rows = (
        ("diameter", f"{1000 * ball.diameter:.1f} mm", _spread(1000 * ball.diameter_sd, "mm")),
        ("mass", f"{1000 * ball.mass:.1f} g", _spread(1000 * ball.mass_sd, "g")),
        ("drag coefficient", _law(ball.drag), f"origin: {ball.drag.origin}"),
        ("lift coefficient", _law(ball.lift), f"origin: {ball.lift.origin}"),
    )
    columns = (
        Column("of the ball", share=1.2),
        Column("value", share=1.6),
        Column("spread or origin", share=1.6),
    )
    return Table(f"The ball: {ball.name}. Spreads are standard deviations from ball to ball.", columns, rows)


def _spread(value: float, unit: str) -> str:
    return f"{value:.2g} {unit} from ball to ball" if value > 0 else "not stated"


def _law(law: CoefficientLaw) -> str:
    if law.name == "constant" and law.constant is not None:
        return f"{law.constant * law.scale:g}"
    table = f", {len(law.table)} points" if law.table else ""
    return f"{law.name}{table}" + (f" × {law.scale:g}" if law.scale != 1 else "")


def _air(the: Game) -> Words:
    air = the.weather
    speed = math.hypot(*air.wind)
    wind = f"wind {speed:.1f} m/s" if speed > 0 else "no wind"
    return Words(
        f"The air: {air.temperature - 273.15:.0f} °C, {air.pressure / 100:.0f} hPa, relative humidity "
        f"{100 * air.humidity:.0f} %, {wind}."
    )


def _limits(the: Game) -> Words | None:
    stated = [
        ("motors", the.limits.motors, ""),
        ("stored energy", the.limits.stored_energy, " J"),
        ("mass", the.limits.mass, " kg"),
        ("length", the.limits.length, " m"),
        ("width", the.limits.width, " m"),
        ("height", the.limits.height, " m"),
    ]
    said = [f"{name} {value:g}{unit}" for name, value, unit in stated if value is not None]
    return Words(f"The event allows a launcher at most: {', '.join(said)}.") if said else None
