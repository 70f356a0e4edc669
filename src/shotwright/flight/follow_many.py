"""Many flights with bounces at once, by the compiled text of `follow`, on all cores.

No compiled loop starts threads of its own: chunks of flights run in Python threads with the interpreter lock
released. Each flight depends on its own release alone, so the number of cores changes nothing.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.cores import usable_cores
from shotwright.flight.follow import END_WIDTH, LOG_WIDTH, follow
from shotwright.flight.kernel import compile_plain, with_arrays
from shotwright.flight.laws import PackedLaw
from shotwright.flight.motion import Body

FloatArray = NDArray[np.float64]

_CHUNK = 500  # flights; below, a thread costs more than it saves


def follow_many(
    starts: FloatArray,
    bodies: FloatArray,
    laws: tuple[PackedLaw, PackedLaw],
    field: tuple[Sequence[float], Sequence[float]],
    rest: tuple[float, int, float, float],
    out: tuple[NDArray[np.uint8], NDArray[np.int64], FloatArray],
) -> None:
    """Follow many flights by the compiled text.

    Parameters
    ----------
    starts, bodies : ndarray, shape (n, 7) and (n, 11)
        As `launches.state_rows` gives them. [SI]
    laws : tuple of PackedLaw
        Drag and lift.
    field : tuple
        Goal and shapes, packed.
    rest : tuple
        Inertia factor [-], bounces, time limit [s], tolerance [m/s].
    out : tuple of ndarray
        Receives ending (n,), number of bounces (n,) and end (n, 10) of each flight. [SI]
    """
    run = compiled_follow()
    drag, lift = (with_arrays(law) for law in laws)
    goal, shapes = (np.asarray(row, dtype=float) for row in field)

    def chunk(edges: tuple[int, int]) -> None:
        log = np.empty((rest[1], LOG_WIDTH))
        run(*edges, starts, bodies, drag, lift, goal, shapes, *rest, log, *out)

    n = len(starts)
    workers = min(usable_cores(), n // _CHUNK)
    if workers < 2:
        chunk((0, n))
        return
    edges = np.linspace(0, n, 4 * workers + 1).astype(int).tolist()
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(chunk, itertools.pairwise(edges)))


@functools.cache
def compiled_follow() -> Callable[..., Any]:
    """Return the compiled loop over flights; the first call of a new version compiles for some seconds."""
    return compile_plain(_rows, cache=True)


def _rows(
    first: int,
    last: int,
    starts: FloatArray,
    bodies: FloatArray,
    drag: PackedLaw,
    lift: PackedLaw,
    goal: Sequence[float],
    shapes: Sequence[float],
    inertia_factor: float,
    bounces: int,
    time_limit: float,
    tolerance: float,
    log: FloatArray,
    ending: NDArray[np.uint8],
    count: NDArray[np.int64],
    ends: FloatArray,
) -> None:
    for i in range(first, last):
        s, b = starts[i], bodies[i]
        start = (s[0], s[1], s[2], s[3], s[4], s[5], s[6])
        body = Body(b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10])
        found = follow(
            start, body, drag, lift, goal, shapes, inertia_factor, bounces, time_limit, tolerance, log
        )
        ending[i] = found[0]
        count[i] = found[1]
        for k in range(END_WIDTH):
            ends[i, k] = found[3][k]
