"""Chunks on a Dask cluster, named by its scheduler's address."""

from __future__ import annotations

import contextlib
import importlib
import os
import socket
import time
import urllib.parse
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

from shotwright.base.cores import LIMIT
from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.progress import Progress
from shotwright.bench.sweeps.chunks import counted

Given = TypeVar("Given")
Found = TypeVar("Found")

_CONNECT = 5.0  # s to reach the scheduler
_LONGEST_GREETING = 2**20
_FIRST_WORKER = 10.0  # s for a first worker to be there
_WITHOUT_WORKERS = 60.0  # s that a cluster may be without workers, while lost ones come back
_LISTEN = 0.05  # s between looks
_COUNT = 2.0  # s between counts of the workers


def run_on_cluster(
    chunks: Sequence[Given], function: Callable[[Given], Found], scheduler: str, progress: Progress
) -> list[Found]:
    """Run a function on each chunk on a Dask cluster.

    Parameters
    ----------
    chunks : sequence
        One call each.
    function : callable
        As in :func:`shotwright.bench.sweeps.run.run_chunks`.
    scheduler : str
        Address, ``tcp://host:port``.
    progress : Progress
        Told after each chunk.

    Returns
    -------
    list
        In the order of the chunks.

    Raises
    ------
    BadInput
        The extra ``cluster`` is missing, or nothing answers at the address.
    NoAnswer
        The cluster has no workers, went away, or gave a chunk up.

    Notes
    -----
    The workers must have the same version of this package and of its libraries. The cluster starts a chunk
    again when its worker is lost, as often as its setting ``distributed.scheduler.allowed-failures`` says.
    """
    if not chunks:
        return []
    with _connected(scheduler) as client:
        futures: list[Any] = []
        try:
            # As a task of its own it goes to each worker once, and is made again if its worker is lost.
            held = client.submit(_hold, function, pure=False)
            futures = [client.submit(_call, held, chunk, pure=False) for chunk in chunks]
            return _gathered(client, futures, scheduler, progress)
        except BaseException:
            with contextlib.suppress(Exception):
                client.cancel(futures, force=True)
            raise


def _dask() -> Any:
    """Return the library of the extra `cluster`; loaded only when a cluster is asked for."""
    try:
        return importlib.import_module("distributed")
    except ImportError:
        raise BadInput(
            "a cluster needs the extra 'cluster', which is not installed: pip install 'shotwright[cluster]'",
            field="scheduler",
        ) from None


def _knock(scheduler: str) -> None:
    """Say at once, and in one line, when nothing answers at an address."""
    parts = urllib.parse.urlsplit(scheduler if "://" in scheduler else f"tcp://{scheduler}")
    try:
        host, port = parts.hostname, parts.port
    except ValueError:
        host, port = None, None
    if parts.scheme not in ("tcp", "tls") or not host or not port:
        raise BadInput(
            f"{scheduler!r} is not the address of a scheduler; it looks like tcp://192.168.1.20:8786",
            field="scheduler",
        )
    try:
        with socket.create_connection((host, port), timeout=_CONNECT) as line:
            # A scheduler speaks first: the length of its greeting as eight bytes, the lowest in front. The
            # library would wait without end for one that does not.
            greeting = line.recv(8) if parts.scheme == "tcp" else b"\1"
    except TimeoutError:
        greeting = b""
    except OSError as reason:
        raise BadInput(
            f"nothing answers at {scheduler!r} ({reason.strerror or reason}); start a scheduler there, with: "
            "dask scheduler",
            field="scheduler",
        ) from None
    if not 0 < int.from_bytes(greeting, "little") < _LONGEST_GREETING:
        raise BadInput(f"what answers at {scheduler!r} is no Dask scheduler", field="scheduler")


@contextlib.contextmanager
def _connected(scheduler: str) -> Iterator[Any]:
    """Connect to a scheduler that has workers."""
    dask = _dask()
    _knock(scheduler)
    try:
        client = dask.Client(scheduler, timeout=_CONNECT, set_as_default=False)
    except (OSError, ValueError):
        raise BadInput(f"what answers at {scheduler!r} is no Dask scheduler", field="scheduler") from None
    try:
        try:
            client.wait_for_workers(1, timeout=_FIRST_WORKER)
        except TimeoutError:
            raise NoAnswer(
                f"the cluster at {scheduler} has no workers; start one: dask worker {scheduler}"
            ) from None
        yield client
    finally:
        client.close(timeout=_CONNECT)


def _gathered(client: Any, futures: Sequence[Any], scheduler: str, progress: Progress) -> list[Any]:
    """Collect results as they come; order them as the chunks are."""
    dask = _dask()
    number = {future.key: index for index, future in enumerate(futures)}
    found: dict[int, Any] = {}
    coming = dask.as_completed(futures, loop=client.loop)
    looked = had_workers = time.monotonic()
    while len(found) < len(futures):
        progress(len(found) / len(futures), counted(len(found), len(futures)))
        try:
            for future in coming.next_batch(block=False):
                found[number[future.key]] = future.result()
        except dask.KilledWorker:
            raise NoAnswer(
                "a chunk ended its worker again and again, and the cluster gave it up; "
                "have the workers enough memory?"
            ) from None
        except (dask.CancelledError, OSError):
            raise NoAnswer(f"the cluster at {scheduler} went away; start it and ask again") from None
        now = time.monotonic()
        if now - looked > _COUNT:
            looked = now
            if client.scheduler_info()["workers"]:
                had_workers = now
            if now - had_workers > _WITHOUT_WORKERS:
                raise NoAnswer(f"the cluster at {scheduler} has lost all its workers, and none came back")
        time.sleep(_LISTEN)
    progress(1.0, "done")
    return [found[index] for index in range(len(futures))]


def _hold(function: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Keep in a worker what all chunks share."""
    return function


def _call(function: Callable[[Any], Any], chunk: Any) -> Any:
    """Run one chunk in a worker, which has one core for each of its threads."""
    os.environ.setdefault(LIMIT, "1")
    return function(chunk)
