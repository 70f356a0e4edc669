"""Chunks give the same bits whoever computes them, and outlive the loss of a worker."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from shotwright.base.errors import BadInput, Cancelled, NoAnswer
from shotwright.bench.sweeps.chunks import seeded
from shotwright.bench.sweeps.run import run_chunks

HERE = Path(__file__).parent
SIZES = (1000, 10, 5000, 300, 1, 20_000, 77)
POSIX = pytest.mark.skipif(os.name == "nt", reason="a kill is a POSIX signal here")


@pytest.fixture
def functions(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(HERE)
    import sweep_functions

    return sweep_functions


def gone(pid: int) -> bool:
    """Whether a process has ended, or is a zombie that nobody has asked about."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    with contextlib.suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    return False


def soon(true: Callable[[], bool], seconds: float = 20.0) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():
            return True
        time.sleep(0.05)
    return False


def test_seeds_are_those_that_numpy_spawns() -> None:
    # numpy's own children of a seed sequence, by another way than ours
    children = np.random.SeedSequence(7).spawn(3)
    for chunk, child in zip(seeded("abc", 7), children, strict=True):
        np.testing.assert_array_equal(chunk.rng().random(5), np.random.default_rng(child).random(5))
    with pytest.raises(BadInput, match="-1 is not a seed"):
        seeded("ab", -1)


def test_one_worker_and_two_give_the_same_bits(functions: ModuleType) -> None:
    chunks = seeded(SIZES, 3)
    told: list[float] = []
    here = run_chunks(chunks, functions.sum_of_draws, workers=1)
    there = run_chunks(
        chunks, functions.sum_of_draws, workers=2, progress=lambda share, what="": told.append(share)
    )
    assert [value.hex() for value in there] == [value.hex() for value in here]
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)


def test_workers_are_processes_with_one_thread_each(functions: ModuleType) -> None:
    before = os.environ.get("OMP_NUM_THREADS")
    found = run_chunks(seeded([1] * 6, 1), functions.process, workers=2)
    pids = {pid for pid, _ in found}
    assert len(pids) == 2
    assert os.getpid() not in pids
    assert {threads for _, threads in found} == {"1"}
    assert os.environ.get("OMP_NUM_THREADS") == before
    assert all(map(gone, pids))


def test_nothing_to_do(functions: ModuleType) -> None:
    assert run_chunks((), functions.sum_of_draws) == []
    assert run_chunks((), functions.sum_of_draws, workers=3) == []


@POSIX
@pytest.mark.parametrize("times", [1, 2])
def test_a_killed_worker_costs_no_result(functions: ModuleType, tmp_path: Path, times: int) -> None:
    chunks = seeded(SIZES, 3)
    found = run_chunks(chunks, functions.DiesOnce(str(tmp_path), times), workers=2)
    assert len(list(tmp_path.iterdir())) == times  # it was killed indeed
    assert found == run_chunks(chunks, functions.sum_of_draws, workers=1)


@POSIX
def test_a_chunk_that_always_kills_ends_in_a_clear_error(functions: ModuleType, tmp_path: Path) -> None:
    with pytest.raises(NoAnswer, match=r"ended its worker 3 times; is there enough memory\?"):
        run_chunks(seeded(SIZES, 3), functions.DiesOnce(str(tmp_path), 99), workers=2)
    assert len(list(tmp_path.iterdir())) == 3


def test_an_error_of_the_function_comes_through(functions: ModuleType) -> None:
    for workers in (1, 2):
        with pytest.raises(BadInput, match="item: chunk without sense") as wrong:
            run_chunks(seeded([1, 2], 1), functions.refuse, workers=workers)
        assert wrong.value.field == "item"


def test_stopping_leaves_no_worker(functions: ModuleType, tmp_path: Path) -> None:
    def stop(share: float, what: str = "") -> None:
        if len(list(tmp_path.iterdir())) == 2:
            raise Cancelled("stopped")

    started = time.monotonic()
    with pytest.raises(Cancelled):
        run_chunks(seeded([1] * 4, 1), functions.Slow(str(tmp_path)), workers=2, progress=stop)
    assert time.monotonic() - started < 40.0  # a chunk takes 60 s
    assert all(gone(int(mark.name)) for mark in tmp_path.iterdir())


@POSIX
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_the_end_of_the_parent_is_the_end_of_its_workers(tmp_path: Path, how: signal.Signals) -> None:
    # SIGINT goes to the whole group, as Ctrl-C on a terminal does
    parent = subprocess.Popen(
        [sys.executable, HERE / "sweep_functions.py", tmp_path],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        assert soon(lambda: len(list(tmp_path.iterdir())) == 2, 60.0)
        (os.killpg if how == signal.SIGINT else os.kill)(parent.pid, how)
        said, complained = parent.communicate(timeout=30)
        if how == signal.SIGINT:
            assert (said, complained) == ("stopped\n", "")
        assert soon(lambda: all(gone(int(mark.name)) for mark in tmp_path.iterdir()))
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(parent.pid, signal.SIGKILL)


def test_what_can_not_be_asked(functions: ModuleType) -> None:
    chunks = seeded(SIZES, 3)
    with pytest.raises(BadInput, match="workers: 0 workers can't work"):
        run_chunks(chunks, functions.sum_of_draws, workers=0)
    with pytest.raises(BadInput, match="the cluster has its own workers"):
        run_chunks(chunks, functions.sum_of_draws, workers=2, scheduler="tcp://127.0.0.1:1")


def test_without_the_extra_one_line_says_how_to_get_it(
    functions: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BadInput, match=r"not installed: pip install 'shotwright\[cluster\]'"):
        run_chunks(seeded(SIZES, 3), functions.sum_of_draws, scheduler="tcp://127.0.0.1:8786")


def test_workers_that_die_at_their_start_end_in_a_clear_error(tmp_path: Path) -> None:
    """However much is handed to them: a program without a guard on its main part must not hang."""
    script = tmp_path / "no_guard.py"
    script.write_text(
        "import functools\n"
        "from shotwright.bench.sweeps.run import run_chunks\n"
        "print(run_chunks([1.0, 2.0], functools.partial(max, 'x' * 300_000), workers=2))\n",
        encoding="utf-8",
    )
    ended = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, timeout=120, check=False
    )
    assert ended.returncode == 1
    assert "ended its worker" in ended.stderr or "BrokenProcessPool" in ended.stderr
