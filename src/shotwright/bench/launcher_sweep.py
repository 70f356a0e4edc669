"""A prototype on paper over two of its settings: range, spin or hit probability at every cell of a grid."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.bench.launchers import SEED, described_of
from shotwright.bench.sweep_axes import read_axes
from shotwright.bench.sweep_map import SweepMap, make_map
from shotwright.bench.sweeps.chunks import Chunk, seeded
from shotwright.bench.sweeps.run import run_chunks
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.choice.predicted import Situation
from shotwright.choice.sweeping import Grid, HitCounts, mean_maps
from shotwright.flight.model import flight_model
from shotwright.game.records import FiringPosition, Target

FloatArray = NDArray[np.float64]

CELLS, DRAWS = 60, 200
_CHUNK = 160_000  # flights in a chunk: some tenths of a second
_IN_PROCESS = 400_000  # flights below which starting workers takes longer than the work


@dataclass(frozen=True, slots=True)
class CountChunk:
    """Counts the hits of one chunk of cells. Known by name, so that it can travel to a worker.

    Parameters
    ----------
    counts : HitCounts
        What all chunks share.
    """

    counts: HitCounts

    def __call__(self, chunk: Chunk[tuple[int, int]]) -> NDArray[np.int64]:
        """Return the hits of each cell."""
        return self.counts.count(*chunk.item)


def sweep(
    project: Path,
    prototype: str,
    *,
    x: str | None = None,
    y: str | None = None,
    show: str = "range",
    position: str | None = None,
    target: str | None = None,
    cells: int = CELLS,
    draws: int = DRAWS,
    defended: bool = False,
    seed: int = SEED,
    workers: int | None = None,
    scheduler: str | None = None,
    progress: Progress = silent,
) -> SweepMap:
    """Map what a prototype on paper does over two of its settings.

    Parameters
    ----------
    project : Path
        The project file.
    prototype : str
        Its name.
    x, y : str, optional
        An input, with a range where it is no setting: ``"stroke"``, ``"stiffness = 600 N/m .. 1200 N/m"``.
        The first two settings by default.
    show : {"range", "spin", "hit"}
        What is mapped. Hit probability takes `draws` flights for each cell.
    position, target : str, optional
        Whose hit probability; the first that the game names by default.
    cells : int
        Values of each input.
    draws : int
        Shots at each cell.
    defended : bool
        With the defenders in the way.
    seed : int
        The same seed gives the same numbers, however many workers there are.
    workers : int, optional
        Processes; one for each core by default.
    scheduler : str, optional
        Address of a Dask scheduler.
    progress : Progress
        Told how far it is; may raise to stop.

    Returns
    -------
    SweepMap
        Maps, lines, picture.
    """
    if show not in ("range", "spin", "hit"):
        raise BadInput(f"{show!r} can't be shown; one of range, spin, hit", field="show")
    if cells < 2 or draws < 1:
        raise BadInput("a map needs at least 2 cells a side and 1 draw", field="cells")
    book = read_workbook(project)
    described, game = described_of(book, prototype), book.needed_game()
    model = flight_model(game.ball, game.weather)
    axes = read_axes(described, model.ball, x, y)
    lines = [np.linspace(axis.low, axis.high, cells) for axis in axes]
    grid = Grid(axes[0].input.name, axes[1].input.name, *(tuple(line.tolist()) for line in lines))
    pairs = book.pairs(None, None)
    maps = mean_maps(model, described, grid, pairs)
    chances: FloatArray | None = None
    place = opening = None
    if show == "hit":
        place, opening = _one_pair(book, position, target)
        solids = (*game.obstacles, *(d.solid for d in game.defenders)) if defended else game.obstacles
        counts = HitCounts(Situation(model, described, place, opening, solids), grid, draws, seed)
        hits = _counted(counts, seed, workers, scheduler, progress)
        chances = hits.reshape(cells, cells) / draws
    progress(1.0, "done")
    names = tuple((p.name, t.name) for p, t in pairs)
    return make_map(
        described.prototype,
        (place.name, opening.name) if place and opening else None,
        axes,
        grid,
        show,  # type: ignore[arg-type]  # one of the three, checked above
        maps,
        names,
        chances,
        draws,
        seed,
    )


def _counted(
    counts: HitCounts, seed: int, workers: int | None, scheduler: str | None, progress: Progress
) -> NDArray[np.int64]:
    """Count hits over all cells, in chunks."""
    size = max(1, _CHUNK // counts.draws)
    cells = counts.grid.cells
    edges = [(first, min(first + size, cells)) for first in range(0, cells, size)]
    if workers is None and scheduler is None and cells * counts.draws <= _IN_PROCESS:
        workers = 1
    found = run_chunks(
        seeded(edges, seed), CountChunk(counts), workers=workers, scheduler=scheduler, progress=progress
    )
    return np.concatenate(found)


def _one_pair(book: Workbook, position: str | None, target: str | None) -> tuple[FiringPosition, Target]:
    pairs = book.pairs(position, target)
    if not pairs:
        raise BadInput("nothing is fired from there at that target in this game", field="position")
    return pairs[0]
