"""Find what each firing position needs."""

from __future__ import annotations

from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.results import WindowsResult
from shotwright.bench.workbook import read_workbook
from shotwright.flight.model import flight_model
from shotwright.flight.shared_settings import settings_in_common
from shotwright.flight.windows import ShotWindow, shot_window


def windows(
    project: Path,
    *,
    position: str | None = None,
    target: str | None = None,
    prototype: str | None = None,
    spin_parameter: str | None = None,
    release_height: str | None = None,
    slowest: str | None = None,
    fastest: str | None = None,
    defended: bool = False,
    progress: Progress = silent,
) -> WindowsResult:
    """Find which speeds and elevations score from each firing position.

    Parameters
    ----------
    project : Path
        The project file.
    position, target : str, optional
        Only these.
    prototype : str, optional
        Whose release height, spin, speeds and elevations to use; the first of the project by default.
    spin_parameter, release_height, slowest, fastest : str, optional
        As typed; override the prototype's.
    defended : bool
        With the defenders in the way.
    progress : Progress
        Told how far it is.

    Returns
    -------
    WindowsResult
        One window for each position and target.
    """
    book = read_workbook(project)
    game = book.needed_game()
    model = flight_model(game.ball, game.weather)
    chosen = book.some_prototypes((prototype,) if prototype else ())
    launcher = chosen[0] if chosen else None
    if launcher is None and release_height is None:
        raise BadInput("there is no prototype yet; say how high the ball leaves: --release-height '50 cm'")
    height = (
        parse_quantity(release_height, "length", "release_height")
        if release_height is not None
        else launcher.release_height
        if launcher
        else 0.0
    )
    ratio = (
        parse_quantity(spin_parameter, "fraction", "spin_parameter")
        if spin_parameter is not None
        else launcher.spin_parameter
        if launcher
        else 0.0
    )
    low = parse_quantity(slowest, "speed", "slowest") if slowest else launcher.speed_low if launcher else None
    high = (
        parse_quantity(fastest, "speed", "fastest") if fastest else launcher.speed_high if launcher else None
    )
    speeds = (low or 1.0, high or 25.0)
    pairs = book.pairs(position, target)
    found: list[ShotWindow] = []
    for i, (place, opening) in enumerate(pairs):
        progress(i / len(pairs), f"{place.name} to {opening.name}")
        options = {
            "release_height": height,
            "spin_parameter": ratio,
            "speed_range": speeds,
            "defended": defended,
        }
        found.append(shot_window(model, game, place, opening, **options))  # type: ignore[arg-type]
    progress(1.0, "done")
    common = settings_in_common(found) if len(found) > 1 else None
    return WindowsResult(tuple(found), common, common.words if common else ())
