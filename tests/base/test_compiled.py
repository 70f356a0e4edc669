"""Compiled once for each installation: found again, shared by processes, no obstacle where it isn't kept."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

# Says how it came by its code, after a sign on standard input, so that two can be made to ask at once.
PROGRAM = """
import logging, sys
from shotwright.base.compiled import Compiled

def slope(x, n):
    total = 0.0
    for i in range(n):
        total += x * i
    return total

notes = []
class Notes(logging.Handler):
    def emit(self, record):
        notes.append(record.levelname)
logging.getLogger("shotwright").setLevel(logging.INFO)
logging.getLogger("shotwright").addHandler(Notes())
if len(sys.argv) > 2:
    logging.getLogger("shotwright").addHandler(logging.lastResort)
fast = Compiled(slope, sys.argv[1].encode(), "slope of a line", error_model="numpy")
print("ready", flush=True)
sys.stdin.readline()
print(fast(2.0, 4), fast(0.5, 3), "compiled" if "INFO" in notes else "loaded")
"""


def start(folder: Path, text: str = "text", *more: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM, text, *more],
        env={**os.environ, "NUMBA_CACHE_DIR": str(folder)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def ask(*processes: subprocess.Popen[str]) -> list[tuple[str, str]]:
    """Let all go once all are ready; return what each printed, and its complaints."""
    for process in processes:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n", process.communicate()
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()
    return [process.communicate(timeout=120) for process in processes]


def test_of_two_processes_at_once_one_compiles_and_the_other_loads(tmp_path):
    found = ask(start(tmp_path), start(tmp_path))
    assert sorted(out for out, _ in found) == ["12.0 1.5 compiled\n", "12.0 1.5 loaded\n"]
    assert [err for _, err in found] == ["", ""]
    (again,) = ask(start(tmp_path))
    assert again == ("12.0 1.5 loaded\n", "")
    (changed,) = ask(start(tmp_path, "another text"))
    assert changed == ("12.0 1.5 compiled\n", "")
    assert len(list(tmp_path.rglob("*.nbc"))) == 1


def test_a_file_that_was_cut_short_is_made_again(tmp_path):
    ask(start(tmp_path))
    for kind in ("*.nbc", "*.nbi"):
        (file,) = tmp_path.rglob(kind)
        file.write_bytes(file.read_bytes()[:40])
        assert ask(start(tmp_path)) == [("12.0 1.5 compiled\n", "")]
        assert ask(start(tmp_path)) == [("12.0 1.5 loaded\n", "")]


def test_a_folder_that_cannot_be_written_gets_one_line(tmp_path):
    (tmp_path / "file").touch()
    ((out, err),) = ask(start(tmp_path / "file", "text", "with the line"))
    assert out == "12.0 1.5 compiled\n"
    assert err.count("\n") == 1
    assert err.startswith("shotwright: compiled code can't be kept in ")
    assert "set NUMBA_CACHE_DIR to a folder that can be written" in err


def test_code_is_found_in_a_folder_that_may_only_be_read(tmp_path):
    ask(start(tmp_path))
    (lock,) = tmp_path.rglob("*.lock")
    lock.unlink()
    lock.mkdir()  # nobody can lock, as on a disk mounted for reading
    assert ask(start(tmp_path)) == [("12.0 1.5 loaded\n", "")]


@pytest.mark.parametrize("arguments", [(2, 4), (2.0, 4)])
def test_arguments_of_another_type_are_compiled_beside_the_first(arguments, tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    from shotwright.base.compiled import Compiled

    def twice(x, n):
        return x * 2 + n

    function = Compiled(twice, b"", "twice")
    assert [function(*arguments), function(0.5, 1)] == [8, 2.0]
