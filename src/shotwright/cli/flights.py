"""Verbs that ask what a shot needs: ``flight`` and ``windows``."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from shotwright.base.errors import BadInput
from shotwright.cli.shell import find_project, json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs, section, table
from shotwright.cli.wording import CHANCE, Column, blocks, cell, table_of, unit_of

if TYPE_CHECKING:
    from shotwright.bench.results import FlightResult, NeededShot, ShotWindow, WindowsResult

FLIGHT = (
    ("time", "time_s"),
    ("distance", "distance_m"),
    ("to the left", "cross_m"),
    ("height of the ball's centre", "height_m"),
    ("speed", "speed_m_s"),
    ("angle below horizontal", "entry_angle_deg"),
    ("apex", "apex_m"),
    ("time of apex", "apex_time_s"),
)
BOUNCES = (
    Column("off", "off"),
    Column("time", "time_s"),
    Column("distance", "distance_m"),
    Column("height", "height_m"),
    Column("speed before", "speed_before_m_s"),
    Column("after", "speed_after_m_s"),
    Column("elevation", "elevation_after_deg"),
    Column("backspin before", "backspin_before_rev_s"),
    Column("after", "backspin_after_rev_s"),
    Column("slid", "slid"),
)
# Names short enough for a table beside ten figures.
SHORT = {"minimum speed": "slowest", "minimum speed through the centre": "slowest, centre"}
LEGEND = (
    "Slowest, centre: the slowest shot through the middle of the opening. Entry: angle below horizontal. "
    "Edge, obstacle, defender: how near the ball's surface comes. Hits: with the launch spread named above."
)
ROWS = 12  # of a window's elevations; more would push the words off the screen


@click.command()
@click.option("--speed", required=True, metavar="SPEED", help="Launch speed.")
@click.option("--elevation", required=True, metavar="ANGLE", help="Above horizontal.")
@click.option("--spin", metavar="SPIN", help="Backspin positive; none when left out.")
@click.option("--release-height", metavar="LENGTH", help="Of the ball's centre over the floor.")
@click.option("--diameter", metavar="LENGTH", help="Of the ball; that of the project's ball when left out.")
@click.option("--mass", metavar="MASS", help="Of the ball; that of the project's ball when left out.")
@click.option("--drag", metavar="LAW", help="Drag coefficient as a number, or a law by name.")
@click.option("--lift", metavar="LAW", help="Lift law by name, or a coefficient; none for no lift.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the air.")
@click.option("--pressure", metavar="PRESSURE", help="Of the air at this place, not reduced to sea level.")
@click.option("--humidity", metavar="PERCENT", help="Relative humidity.")
@click.option("--wind", metavar="SPEED", help="Along the flight: tail wind positive, head wind negative.")
@click.option("--to-distance", metavar="LENGTH", help="End there instead of on the floor.")
@click.option("--bounces", type=click.IntRange(0, 50), metavar="NUMBER", help="Follow so many bounces.")
@click.option("--restitution", metavar="NUMBER", help="Of the floor; that of the game's when left out.")
@click.option("--tangential", metavar="NUMBER", help="Of the floor, -1 to 1: 0 leaves rolling.")
@click.option("--friction", metavar="NUMBER", help="Of the floor.")
@click.option("--target", metavar="NAME", help="Fire at it, with its rim, board and the game's obstacles.")
@click.option("--position", metavar="NAME", help="Fire from it; the first that fires at the target else.")
@click.option(
    "--project",
    metavar="FILE",
    envvar="SHOTWRIGHT_PROJECT",
    type=click.Path(path_type=Path),
    help="Project whose game gives ball and air where they are left out; needed unless the ball is given.",
)
@json_option
def flight(project: Path | None, as_json: bool, **typed: str | int | None) -> None:
    """Fly one ball from given launch values, to the floor or to a distance, or through bounces."""
    given: dict[str, Any] = {name: text for name, text in typed.items() if text is not None}
    if project is not None or "target" in given or not {"diameter", "mass"} <= given.keys():
        try:
            given["project"] = find_project(project)
        except BadInput as wrong:
            if project is not None:
                raise
            raise BadInput(
                f"give the ball by --diameter and --mass, or a project ({wrong.problem})", field="ball"
            ) from wrong
    from shotwright.bench.one_flight import fly

    show(fly(**given), as_json, flight_words)


def flight_words(found: FlightResult) -> str:
    """Write one flight as sentences and a list of figures."""
    figures = [f"{title:<29}{cell(value, unit)}" for title, value, unit in _figures(found)]
    laws = f"drag: {found.drag}; lift: {found.lift}; air: {found.air_density_kg_m3:.4g} kg/m³"
    bounces = table_of(found.bounces, BOUNCES)
    return blocks(paragraphs(found.words, text_width()), bounces, "\n".join(figures), laws)


def _figures(found: FlightResult) -> Iterator[tuple[str, float, tuple[str, float]]]:
    for title, field in FLIGHT:
        yield title, getattr(found, field), unit_of(field)


@click.command()
@click.option("--position", metavar="NAME", help="One firing position; all when left out.")
@click.option("--target", metavar="NAME", help="One target; all when left out.")
@click.option(
    "--prototype", metavar="NAME", help="Whose release height, speeds and spin; the first when left out."
)
@click.option(
    "--spin-parameter",
    metavar="NUMBER",
    help="Backspin as S = radius x spin / speed, the same at all speeds.",
)
@click.option("--release-height", metavar="LENGTH", help="Of the ball's centre over the floor.")
@click.option("--slowest", metavar="SPEED", help="Slowest speed to look at.")
@click.option("--fastest", metavar="SPEED", help="Fastest speed to look at.")
@click.option("--defended", is_flag=True, help="With the game's defenders in the way.")
@project_option
@json_option
def windows(project: Path, as_json: bool, defended: bool, **typed: str | None) -> None:
    """Show which speeds and elevations score from each firing position, and the shots worth knowing."""
    from shotwright.bench.flights import windows as find_windows

    given: dict[str, Any] = {name: text for name, text in typed.items() if text is not None}
    with progress_bar("finding windows") as progress:
        found = find_windows(project, defended=defended, progress=progress, **given)
    show(found, as_json, windows_words)


def windows_words(found: WindowsResult) -> str:
    """Write each window, then what the positions have in common."""
    width = text_width()
    parts = [
        section(
            f"{window.position}: {window.target}",
            paragraphs(window.words, width),
            shots_table(shots_of(window)),
            table_of(
                speeds_by_elevation(window),
                (Column("elevation", "elevation_deg"), Column("speeds", "speeds")),
            ),
        )
        for window in found.windows
    ]
    legend = LEGEND if any(map(shots_of, found.windows)) else ""
    return blocks(
        *parts, paragraphs([legend], width), section("All positions", paragraphs(found.words, width))
    )


def shots_of(window: ShotWindow) -> list[NeededShot]:
    """Return the shots of a window that exist."""
    shots = (window.minimum_speed, window.most_forgiving, window.minimum_speed_through_centre)
    return [shot for shot in shots if shot is not None]


def shots_table(shots: list[NeededShot]) -> str:
    """Write shots as a table, one row each; empty without any."""
    header = [
        "shot",
        "speed",
        "elevation",
        "entry",
        "apex",
        "time",
        "edge",
        "obstacle",
        "defender",
        "hits",
        "meets",
    ]
    rows = [
        [
            SHORT.get(shot.kind, shot.kind),
            f"{shot.speed_m_s:.2f} m/s",
            f"{shot.elevation_deg:.1f}°",
            f"{shot.entry_angle_deg:.1f}°",
            f"{shot.apex_m:.2f} m",
            f"{shot.flight_time_s:.2f} s",
            *(
                clearance(gap)
                for gap in (shot.edge_clearance_m, shot.obstacle_clearance_m, shot.defender_clearance_m)
            ),
            cell(shot.hit_probability, CHANCE),
            shot.meets,
        ]
        for shot in shots
    ]
    if not any(shot.meets for shot in shots):
        header, rows = header[:-1], [row[:-1] for row in rows]
    return table(header, rows, text_width()) if rows else ""


def clearance(gap_m: float | None) -> str:
    """Write a distance from the ball's surface in whole millimetres; a dash where there is nothing near."""
    return "-" if gap_m is None or not math.isfinite(gap_m) else f"{round(1000 * gap_m)} mm"


class SpeedRow(NamedTuple):
    """Speeds that score at one elevation."""

    elevation_deg: float
    speeds: str


def speeds_by_elevation(window: ShotWindow) -> list[SpeedRow]:
    """Return at most a dozen of a window's elevations, with the speeds that score.

    Parameters
    ----------
    window : ShotWindow
        A window.

    Returns
    -------
    list of SpeedRow
        At an even step; empty when the window is.
    """
    scoring = [k for k, intervals in enumerate(window.intervals_m_s) if intervals]
    for step in (1, 2, 5, 10, 20, 50, 100):
        kept = [k for k in scoring if k % step == 0]
        if len(kept) <= ROWS:
            break
    return [SpeedRow(window.elevations_deg[k], _intervals(window.intervals_m_s[k])) for k in kept]


def _intervals(found: tuple[tuple[float, float], ...]) -> str:
    return ", ".join(f"{low:.2f} to {high:.2f} m/s" for low, high in found)
