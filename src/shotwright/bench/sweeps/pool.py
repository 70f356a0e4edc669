"""Chunks on the cores of this machine: a pool of processes that outlives the loss of any of them."""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import tempfile
import threading
from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import connection, get_context, parent_process
from pathlib import Path
from typing import Any, TypeVar

from shotwright.base.cores import LIMIT
from shotwright.base.errors import NoAnswer
from shotwright.base.progress import Progress
from shotwright.bench.sweeps.chunks import counted

Given = TypeVar("Given")
Found = TypeVar("Found")

ATTEMPTS = 3  # calls of one chunk that may end with its worker
# Flights and numerical libraries would each start a thread per core in each worker.
_ONE_THREAD = dict.fromkeys((LIMIT, "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
_LISTEN = 0.2  # s between looks at the keyboard and the progress

_work_of_this_worker: list[Callable[[Any], Any]] = []


def run_in_pool(
    chunks: Sequence[Given], function: Callable[[Given], Found], workers: int, progress: Progress
) -> list[Found]:
    """Run a function on each chunk in a pool of processes.

    Parameters
    ----------
    chunks : sequence
        One call each.
    function : callable
        As in :func:`shotwright.bench.sweeps.run.run_chunks`.
    workers : int
        Processes.
    progress : Progress
        Told after each chunk.

    Returns
    -------
    list
        In the order of the chunks.

    Raises
    ------
    NoAnswer
        A chunk was with a worker that died, `ATTEMPTS` times.
    """
    with tempfile.TemporaryDirectory(prefix="shotwright-") as folder:
        # By a file: bytes handed to a process that dies at its start would keep us waiting for it to read.
        sent = Path(folder) / "function"
        sent.write_bytes(pickle.dumps(function))
        return _run(chunks, sent, workers, progress)


def _run(chunks: Sequence[Any], sent: Path, workers: int, progress: Progress) -> list[Any]:
    """Run pools until every chunk is done, or one has been with too many that died."""
    found: dict[int, Any] = {}
    waiting = deque(range(len(chunks)))
    lost: Counter[int] = Counter()
    progress(0.0, counted(0, len(chunks)))
    while waiting:
        flying: dict[Future[Any], int] = {}
        with _pool(workers, sent) as pool:
            try:
                _work(pool, workers, chunks, waiting, flying, found, progress)
            except BrokenProcessPool:
                again = sorted(set(flying.values()) - found.keys())
                lost.update(again)
                waiting.extendleft(reversed(again))
        chunk, times = max(lost.items(), key=lambda one: one[1], default=(0, 0))
        if times >= ATTEMPTS:
            raise NoAnswer(
                f"chunk {chunk + 1} of {len(chunks)} ended its worker {times} times; "
                "is there enough memory? fewer --workers, or smaller chunks, may help"
            )
    progress(1.0, "done")
    return [found[index] for index in range(len(chunks))]


def _work(
    pool: ProcessPoolExecutor,
    workers: int,
    chunks: Sequence[Given],
    waiting: deque[int],
    flying: dict[Future[Found], int],
    found: dict[int, Found],
    progress: Progress,
) -> None:
    """Keep the pool busy until nothing waits. Few chunks are out at a time: few are lost with a worker."""
    while waiting or flying:
        while waiting and len(flying) < 2 * workers:
            index = waiting.popleft()
            try:
                with _sheltered_start():
                    flying[pool.submit(_call, chunks[index])] = index
            except BrokenProcessPool:
                waiting.appendleft(index)
                raise
        for future in wait(flying, timeout=_LISTEN, return_when=FIRST_COMPLETED).done:
            found[flying[future]] = future.result()
            del flying[future]
        progress(len(found) / len(chunks), counted(len(found), len(chunks)))


@contextlib.contextmanager
def _pool(workers: int, sent: Path) -> Iterator[ProcessPoolExecutor]:
    """Start a pool; leave no process of it behind, however the work ends."""
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _begin, (sent,))
    try:
        yield pool
    except BaseException:
        # `shutdown` alone would wait for the chunks at work.
        for process in list((pool._processes or {}).values()):
            process.terminate()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


@contextlib.contextmanager
def _sheltered_start() -> Iterator[None]:
    """Start processes with one thread each, and deaf to Ctrl-C, which is for the parent to answer."""
    with _ENVIRONMENT:
        before = {name: os.environ.get(name) for name in _ONE_THREAD}
        masked = None
        if hasattr(signal, "pthread_sigmask"):
            masked = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        os.environ.update(_ONE_THREAD)
        try:
            yield
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value
            if masked is not None:
                signal.pthread_sigmask(signal.SIG_SETMASK, masked)


_ENVIRONMENT = threading.Lock()


def _begin(sent: Path) -> None:
    """Prepare a worker: its function, and an end with its parent, even if that is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _work_of_this_worker.append(pickle.loads(sent.read_bytes()))  # noqa: S301 - our own parent's bytes


def _end_with_parent() -> None:
    parent = parent_process()
    assert parent is not None
    connection.wait([parent.sentinel])
    os._exit(1)


def _call(chunk: Any) -> Any:
    """Run one chunk in a worker."""
    (function,) = _work_of_this_worker
    return function(chunk)
