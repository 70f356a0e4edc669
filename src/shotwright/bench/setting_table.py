"""Hit probability of every prototype at every firing position over a grid of settings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.setting_pieces import CountPiece
from shotwright.bench.sweeps.chunks import seeded
from shotwright.bench.sweeps.run import run_chunks
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.choice.hit import as_scatter, launcher_from_trials
from shotwright.choice.setting_grid import GridLauncher, GridTask
from shotwright.flight.chance import Scatter
from shotwright.flight.model import FlightModel, flight_model
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]

SEED = 1
SPEEDS, ELEVATIONS, DRAWS = 41, 9, 1000
_NEARLY = 0.1  # below the best that a setting may be to count as nearly as good
_IN_PROCESS = 5_000_000  # flights below which starting workers takes longer than they save
_WORTH_SAYING = 0.05
_USUAL = (3.0, 15.0)  # m/s to look between when nobody says


@dataclass(frozen=True, slots=True)
class SettingGrid(Result):
    """One prototype from one position at one target, at every setting of the grid.

    Parameters
    ----------
    prototype, position, target : str
        Which.
    speeds_m_s, elevations_deg : tuple of float
        The settings.
    hit_probability : tuple of tuple of float
        One row for each elevation, one value for each speed: share of the balls that scored. [-]
    best_speed_m_s, best_elevation_deg, best_hit_probability : float
        The best cell; None when no ball scored.
    speed_low_m_s, speed_high_m_s : float
        Speeds at the best elevation that are less than 10 points worse.
    elevation_low_deg, elevation_high_deg : float
        Elevations at the best speed that are less than 10 points worse.
    """

    prototype: str
    position: str
    target: str
    speeds_m_s: tuple[float, ...]
    elevations_deg: tuple[float, ...]
    hit_probability: tuple[tuple[float, ...], ...]
    best_speed_m_s: float | None
    best_elevation_deg: float | None
    best_hit_probability: float | None
    speed_low_m_s: float | None
    speed_high_m_s: float | None
    elevation_low_deg: float | None
    elevation_high_deg: float | None


@dataclass(frozen=True, slots=True)
class SharedSetting(Result):
    """The one setting of a prototype whose worst position is best.

    Parameters
    ----------
    prototype : str
        Which.
    speed_m_s, elevation_deg : float
        The setting.
    worst, mean : float
        Hit probability at its worst position and target, and the mean over all. [-]
    worst_at : str
        Which that is.
    """

    prototype: str
    speed_m_s: float
    elevation_deg: float
    worst: float
    mean: float
    worst_at: str


@dataclass(frozen=True, slots=True)
class SettingTable(Result):
    """Hit probability over a grid of settings.

    Parameters
    ----------
    grids : tuple of SettingGrid
        One for each prototype, position and target.
    shared : tuple of SharedSetting
        One for each prototype, where there is more than one position and target.
    draws : int
        Balls flown at each setting.
    flights : int
        Balls flown in all.
    standard_error : float
        Largest Monte Carlo standard error of a hit probability. [-]
    chunks : int
        Pieces that the work was cut into.
    seed : int
        Seed of the draws.
    words : tuple of str
        What to know.
    """

    grids: tuple[SettingGrid, ...]
    shared: tuple[SharedSetting, ...]
    draws: int
    flights: int
    standard_error: float
    chunks: int
    seed: int
    words: tuple[str, ...]


def setting_table(
    project: Path,
    *,
    prototypes: tuple[str, ...] = (),
    position: str | None = None,
    target: str | None = None,
    slowest: str | None = None,
    fastest: str | None = None,
    speeds: int = SPEEDS,
    elevations: int = ELEVATIONS,
    draws: int = DRAWS,
    defended: bool = False,
    seed: int = SEED,
    workers: int | None = None,
    scheduler: str | None = None,
    progress: Progress = silent,
) -> SettingTable:
    """Find the hit probability of each prototype from each position at every setting of a grid.

    Parameters
    ----------
    project : Path
        The project file.
    prototypes : tuple of str
        Only these; all by default.
    position, target : str, optional
        Only this one.
    slowest, fastest : str, optional
        Speeds to look between, as typed; the prototype's own by default.
    speeds, elevations : int
        Values of each.
    draws : int
        Balls at each setting.
    defended : bool
        With the defenders in the way.
    seed : int
        The same seed gives the same numbers, whoever computes them.
    workers : int, optional
        Processes; one for each core by default.
    scheduler : str, optional
        Address of a Dask scheduler.
    progress : Progress
        Told how far it is; may raise to stop.

    Returns
    -------
    SettingTable
        Grids, the setting that serves all positions, words.
    """
    if speeds < 1 or elevations < 1 or draws < 1:
        raise BadInput("a grid needs at least 1 speed, 1 elevation and 1 draw", field="draws")
    book = read_workbook(project)
    game = book.needed_game()
    model = flight_model(game.ball, game.weather)
    pairs = book.pairs(position, target)
    ends = (
        parse_quantity(slowest, "speed", "slowest") if slowest else None,
        parse_quantity(fastest, "speed", "fastest") if fastest else None,
    )
    launchers, words = _launchers(book, model, prototypes, ends, (speeds, elevations), seed)
    obstacles = (*game.obstacles, *(d.solid for d in game.defenders)) if defended else game.obstacles
    task = GridTask(model, launchers, pairs, obstacles)
    chunks = seeded(task.pieces(draws), seed)
    flights = sum(len(g.speeds) * len(g.elevations) for g in launchers) * len(pairs) * draws
    here = workers is None and scheduler is None and flights < _IN_PROCESS
    counts = run_chunks(
        chunks, CountPiece(task), workers=1 if here else workers, scheduler=scheduler, progress=progress
    )
    shares = [[np.zeros((len(g.elevations), len(g.speeds))) for _ in pairs] for g in launchers]
    for chunk, hits in zip(chunks, counts, strict=True):
        piece = chunk.item
        shares[piece.launcher][piece.pair][piece.first : piece.last] += hits / draws
    grids = [
        _grid(launcher, place.name, opening.name, shares[number][pair])
        for number, launcher in enumerate(launchers)
        for pair, (place, opening) in enumerate(pairs)
    ]
    names = [f"{place.name} at {opening.name}" for place, opening in pairs]
    shared = [_shared(launcher, shares[n], names) for n, launcher in enumerate(launchers) if len(pairs) > 1]
    words += [
        f"{launcher.prototype.name}: no one setting of the grid serves all {len(pairs)} shots wanted."
        for launcher, one in zip(launchers, shared, strict=False)
        if one is None
    ]
    error = max((float(np.sqrt(p * (1 - p) / draws).max()) for one in shares for p in one), default=0.0)
    words.append(
        f"{flights:,} balls flown in {len(chunks)} chunks; each hit probability is good to "
        f"{200 * error:.1f} points (two standard errors). It is the mean over what the trials leave open; "
        "'hit' gives its interval. The best of many cells is a little too good by chance."
    )
    return SettingTable(
        grids=tuple(grids),
        shared=tuple(one for one in shared if one),
        draws=draws,
        flights=flights,
        standard_error=error,
        chunks=len(chunks),
        seed=seed,
        words=tuple(words),
    )


def _launchers(
    book: Workbook,
    model: FlightModel,
    names: tuple[str, ...],
    ends: tuple[float | None, float | None],
    counts: tuple[int, int],
    seed: int,
) -> tuple[tuple[GridLauncher, ...], list[str]]:
    """Draw each prototype's launch spread and lay its grid."""
    found, words = [], []
    for number, prototype in enumerate(book.some_prototypes(names)):
        rng = np.random.default_rng([seed, number])
        trials = book.trials_of(prototype.name)
        try:
            launcher = launcher_from_trials(model, book.needed_game(), prototype, trials, rng)
        except NoAnswer as reason:
            words.append(f"{prototype.name}: no hit probability, because {reason}.")
            continue
        found.append(_laid(prototype, as_scatter(launcher.spread), ends, counts))
    if not found:
        raise NoAnswer("; ".join(words) or "there is no prototype yet")
    return tuple(found), words


def _laid(
    prototype: Prototype,
    scatter: Scatter,
    ends: tuple[float | None, float | None],
    counts: tuple[int, int],
) -> GridLauncher:
    """Lay the grid between what was typed, else between the prototype's own limits."""
    low = ends[0] if ends[0] is not None else prototype.speed_low or _USUAL[0]
    high = ends[1] if ends[1] is not None else prototype.speed_high or _USUAL[1]
    if not 0 < low <= high:
        raise BadInput(f"no speeds from {low:g} to {high:g} m/s", field="slowest")
    span = (prototype.elevation_low, prototype.elevation_high)
    rows = 1 if span[1] - span[0] < 1e-9 else counts[1]
    return GridLauncher(
        prototype,
        scatter,
        tuple(np.linspace(low, high, counts[0] if high > low else 1).tolist()),
        tuple(np.linspace(*span, rows).tolist()),
    )


def _grid(launcher: GridLauncher, position: str, target: str, share: FloatArray) -> SettingGrid:
    row, column = (int(k) for k in np.unravel_index(int(np.argmax(share)), share.shape))
    best = float(share[row, column])
    elevations = np.degrees(launcher.elevations)
    along = _around(share[row], column) if best > 0 else None
    up = _around(share[:, column], row) if best > 0 else None
    return SettingGrid(
        prototype=launcher.prototype.name,
        position=position,
        target=target,
        speeds_m_s=launcher.speeds,
        elevations_deg=tuple(elevations.tolist()),
        hit_probability=tuple(tuple(line) for line in share.tolist()),
        best_speed_m_s=launcher.speeds[column] if along else None,
        best_elevation_deg=float(elevations[row]) if up else None,
        best_hit_probability=best if best > 0 else None,
        speed_low_m_s=launcher.speeds[along[0]] if along else None,
        speed_high_m_s=launcher.speeds[along[1]] if along else None,
        elevation_low_deg=float(elevations[up[0]]) if up else None,
        elevation_high_deg=float(elevations[up[1]]) if up else None,
    )


def _around(line: FloatArray, at: int) -> tuple[int, int]:
    """First and last of the neighbours in a row that are nearly as good."""
    good = line > line[at] - _NEARLY
    first = last = at
    while first > 0 and good[first - 1]:
        first -= 1
    while last < len(line) - 1 and good[last + 1]:
        last += 1
    return first, last


def _shared(launcher: GridLauncher, shares: list[FloatArray], names: list[str]) -> SharedSetting | None:
    """The setting whose worst position is best; None when every setting as good as misses somewhere."""
    stack = np.array(shares)
    worst = stack.min(axis=0)
    row, column = (int(k) for k in np.unravel_index(int(np.argmax(worst)), worst.shape))
    if worst[row, column] < _WORTH_SAYING:
        return None
    cell = stack[:, row, column]
    return SharedSetting(
        prototype=launcher.prototype.name,
        speed_m_s=launcher.speeds[column],
        elevation_deg=math.degrees(launcher.elevations[row]),
        worst=float(cell.min()),
        mean=float(cell.mean()),
        worst_at=names[int(np.argmin(cell))],
    )
