"""The same chunks on a Dask cluster of two workers on loopback."""

from __future__ import annotations

import contextlib
import json
import math
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.bench.setting_pieces import CountPiece
from shotwright.bench.sweeps import cluster
from shotwright.bench.sweeps.chunks import seeded
from shotwright.bench.sweeps.run import run_chunks
from shotwright.choice.setting_grid import GridLauncher, GridPiece, GridTask
from shotwright.flight.chance import Scatter
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Target, Weather
from shotwright.trials.records import Prototype

distributed = pytest.importorskip("distributed")
HERE = Path(__file__).parent
if os.name == "nt":
    pytest.skip("processes are stopped by POSIX signals here", allow_module_level=True)
SIZES = (1000, 10, 5000, 300, 1, 20_000, 77)


@pytest.fixture(scope="module")
def functions() -> Iterator[ModuleType]:
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(HERE)
        import sweep_functions

        yield sweep_functions


@contextlib.contextmanager
def running_cluster(folder: Path, workers: int) -> Iterator[str]:
    """A scheduler and workers of one thread each, as processes of their own on loopback."""
    said = folder / "scheduler.json"
    roads = os.pathsep.join([str(HERE), *filter(None, [os.environ.get("PYTHONPATH")])])
    environment = {**os.environ, "PYTHONPATH": roads}

    def start(module: str, *options: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", f"distributed.cli.{module}", "--scheduler-file", str(said), *options]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        return subprocess.Popen(command, env=environment, cwd=folder, start_new_session=True, **quiet)

    running = [start("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")]
    running += [
        start("dask_worker", "--host", "127.0.0.1", "--nthreads", "1", "--no-dashboard")
        for _ in range(workers)
    ]
    try:
        address = wait_for(said)
        if workers:
            with distributed.Client(address, timeout=30, set_as_default=False) as client:
                client.wait_for_workers(workers, timeout=60)
        yield address
    finally:
        for process in running:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def wait_for(said: Path) -> str:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        with contextlib.suppress(FileNotFoundError, ValueError):
            return str(json.loads(said.read_text())["address"])
        time.sleep(0.05)
    raise TimeoutError("no scheduler came up")


@pytest.fixture(scope="module")
def address(functions: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with running_cluster(tmp_path_factory.mktemp("cluster"), 2) as found:
        yield found


@pytest.mark.slow
def test_a_cluster_gives_the_same_bits_as_one_worker_and_two(functions: ModuleType, address: str) -> None:
    chunks = seeded(SIZES, 3)
    told: list[float] = []
    here = run_chunks(chunks, functions.sum_of_draws, workers=1)
    local = run_chunks(chunks, functions.sum_of_draws, workers=2)
    far = run_chunks(
        chunks, functions.sum_of_draws, scheduler=address, progress=lambda share, what="": told.append(share)
    )
    assert [v.hex() for v in far] == [v.hex() for v in local] == [v.hex() for v in here]
    assert told == sorted(told)
    assert told[-1] == 1.0
    where = run_chunks(seeded([1] * 8, 1), functions.process, scheduler=address)
    assert len({pid for pid, _ in where} - {os.getpid()}) == 2


@pytest.mark.slow
def test_a_grid_of_settings_on_a_cluster(address: str) -> None:
    """The package's own sweep: balls flown by the compiled kernel on the workers."""
    thrower = Prototype("thrower", release_height=0.6, spin_parameter=0.2)
    scatter = Scatter(*np.random.default_rng(3).uniform(0.005, 0.02, (3, 40)))
    ring = Target("ring", (4.0, 0.0, 2.0), math.pi, math.pi / 2, radius=0.4)
    foam = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))
    grid = GridLauncher(thrower, scatter, tuple(np.linspace(7, 10, 9).tolist()), (0.9, 1.0, 1.1))
    task = GridTask(flight_model(foam, Weather()), (grid,), ((FiringPosition("spot", 0, 0, 0, 0), ring),), ())
    chunks = seeded([GridPiece(0, 0, row, row + 1, 200) for row in range(3) for _ in range(2)], 4)
    here = run_chunks(chunks, CountPiece(task), workers=1)
    far = run_chunks(chunks, CountPiece(task), scheduler=address)
    np.testing.assert_array_equal(far, here)
    assert np.sum(here) > 0


@pytest.mark.slow
def test_a_killed_worker_costs_no_result(functions: ModuleType, address: str, tmp_path: Path) -> None:
    chunks = seeded(SIZES, 3)
    found = run_chunks(chunks, functions.DiesOnce(str(tmp_path)), scheduler=address)
    assert len(list(tmp_path.iterdir())) == 1  # it was killed indeed
    assert found == run_chunks(chunks, functions.sum_of_draws, workers=1)


@pytest.mark.slow
def test_an_error_of_the_function_comes_through(functions: ModuleType, address: str) -> None:
    with pytest.raises(BadInput, match="item: chunk without sense"):
        run_chunks(seeded([1, 2], 1), functions.refuse, scheduler=address)


@pytest.mark.slow
def test_a_chunk_that_always_kills_ends_in_a_clear_error(
    functions: ModuleType, address: str, tmp_path: Path
) -> None:
    with pytest.raises(NoAnswer, match="the cluster gave it up"):
        run_chunks(seeded(SIZES, 3), functions.DiesOnce(str(tmp_path), 99), scheduler=address)


@pytest.mark.slow
def test_a_cluster_without_workers(
    functions: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(cluster, "_FIRST_WORKER", 0.5)
    with (
        running_cluster(tmp_path, 0) as empty,
        pytest.raises(NoAnswer, match="no workers; start one"),
    ):
        run_chunks(seeded(SIZES, 3), functions.sum_of_draws, scheduler=empty)


@pytest.mark.parametrize(
    ("nowhere", "said"),
    [
        ("tcp://127.0.0.1:1", "nothing answers at 'tcp://127.0.0.1:1'"),
        ("localhost:1", "nothing answers at 'localhost:1'"),
        ("nonsense", "is not the address of a scheduler; it looks like tcp://"),
        ("ftp://127.0.0.1:1", "is not the address of a scheduler"),
        ("tcp://127.0.0.1:many", "is not the address of a scheduler"),
    ],
)
def test_no_scheduler_there(
    functions: ModuleType, nowhere: str, said: str, capfd: pytest.CaptureFixture[str]
) -> None:
    started = time.monotonic()
    with pytest.raises(BadInput, match=f"scheduler: .*{said}") as wrong:
        run_chunks(seeded(SIZES, 3), functions.sum_of_draws, scheduler=nowhere)
    assert time.monotonic() - started < 10.0
    assert "\n" not in str(wrong.value)
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize("banner", [b"", b"SSH-2.0-something\r\n"])
def test_something_else_answers(
    functions: ModuleType, monkeypatch: pytest.MonkeyPatch, banner: bytes
) -> None:
    monkeypatch.setattr(cluster, "_CONNECT", 0.5)
    with socket.create_server(("127.0.0.1", 0)) as other:

        def answer() -> None:
            line, _ = other.accept()
            with line, contextlib.suppress(OSError):
                line.sendall(banner)
                line.recv(1)

        answering = threading.Thread(target=answer)
        answering.start()
        address = f"tcp://127.0.0.1:{other.getsockname()[1]}"
        with pytest.raises(BadInput, match=r"what answers at .* is no Dask scheduler"):
            run_chunks(seeded(SIZES, 3), functions.sum_of_draws, scheduler=address)
        answering.join()
