"""The one door through which a sweep's chunks are run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from shotwright.base.cores import usable_cores
from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.bench.sweeps.chunks import counted

Given = TypeVar("Given")
Found = TypeVar("Found")


def run_chunks(
    chunks: Sequence[Given],
    function: Callable[[Given], Found],
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    progress: Progress = silent,
) -> list[Found]:
    """Run a function on each chunk, in this process, in several, or on a cluster.

    Parameters
    ----------
    chunks : sequence
        Small records that pickle can carry; one call each. A call should last 0.1 to 10 s.
    function : callable
        Pure, and known by name in a module (a function, a `functools.partial` of one, or a frozen record with
        `__call__`). It is sent to each worker once, so what all chunks share belongs into it.
    workers : int, optional
        Processes on this machine; 1 works in this process. None: one for each core, no more than chunks.
    scheduler : str, optional
        Address of a Dask scheduler, ``tcp://host:port``; then `workers` must be None.
    progress : Progress
        Told after each chunk; may raise to stop the work.

    Returns
    -------
    list
        What `function` gave, in the order of the chunks, whoever computed it: sums over it are the same bit
        for bit.

    Raises
    ------
    BadInput
        Fewer than one worker, both `workers` and `scheduler`, a scheduler that can't be reached, or the extra
        ``cluster`` missing.
    NoAnswer
        A chunk lost its worker again and again.

    Notes
    -----
    A worker that is killed costs the time of the chunks that it had; they are computed again. An error of
    `function` is raised here and stops the rest. A script that asks for several workers needs
    ``if __name__ == "__main__":``, since each worker starts as a new Python.
    """
    if scheduler is not None:
        if workers is not None:
            raise BadInput(
                "the cluster has its own workers; leave --workers out, or --scheduler", field="workers"
            )
        from shotwright.bench.sweeps.cluster import run_on_cluster

        return run_on_cluster(chunks, function, scheduler, progress)
    if workers is not None and workers < 1:
        raise BadInput(f"{workers} workers can't work; at least 1 is needed", field="workers")
    count = min(workers or usable_cores(), len(chunks))
    if count > 1:
        from shotwright.bench.sweeps.pool import run_in_pool

        return run_in_pool(chunks, function, count, progress)
    found = []
    for done, chunk in enumerate(chunks):
        progress(done / len(chunks), counted(done, len(chunks)))
        found.append(function(chunk))
    progress(1.0, "done")
    return found
