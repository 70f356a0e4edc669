"""What a worker needs for a piece of the grid of settings, and little else: each worker loads it afresh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.bench.sweeps.chunks import Chunk
from shotwright.choice.setting_grid import GridPiece, GridTask


@dataclass(frozen=True, slots=True)
class CountPiece:
    """Counts the hits of one piece of the grid. Known by name, so that it can travel to a worker.

    Parameters
    ----------
    task : GridTask
        What all pieces share.
    """

    task: GridTask

    def __call__(self, chunk: Chunk[GridPiece]) -> NDArray[np.int64]:
        """Return the hits of each setting of the piece."""
        return self.task.count(chunk.item, chunk.rng())
