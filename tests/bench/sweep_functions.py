"""Chunk functions for the tests of sweeps, in a module that workers can import by name."""

from __future__ import annotations

import os
import signal
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.bench.sweeps.chunks import Chunk
from shotwright.bench.sweeps.run import run_chunks


def sum_of_draws(chunk: Chunk[int]) -> float:
    """A sum that depends on every draw and on the order of addition."""
    return float(np.exp(chunk.rng().standard_normal(chunk.item)).sum())


@dataclass(frozen=True)
class DiesOnce:
    """Kills its worker at chunk 2 until a file says that it has done so often enough."""

    folder: str
    times: int = 1

    def __call__(self, chunk: Chunk[int]) -> float:
        if chunk.index == 2:
            for number in range(self.times):
                mark = Path(self.folder, str(number))
                if not mark.exists():
                    mark.touch()
                    os.kill(os.getpid(), signal.SIGKILL)
        return sum_of_draws(chunk)


def refuse(chunk: Chunk[int]) -> float:
    """An error that a person can mend, from within a worker."""
    raise BadInput("chunk without sense", field="item", row=chunk.index)


def process(chunk: Chunk[int]) -> tuple[int, str | None]:
    time.sleep(0.2)
    return os.getpid(), os.environ.get("OMP_NUM_THREADS")


@dataclass(frozen=True)
class Slow:
    """Says who works, then takes long."""

    folder: str

    def __call__(self, chunk: Chunk[int]) -> int:
        Path(self.folder, str(os.getpid())).touch()
        time.sleep(60)
        return chunk.index


if __name__ == "__main__":
    try:
        run_chunks(tuple(Chunk(i, 1, 1) for i in range(8)), Slow(sys.argv[1]), workers=2)
    except KeyboardInterrupt:
        sys.stdout.write("stopped\n")
