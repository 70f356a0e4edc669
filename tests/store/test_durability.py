"""A shot that was acknowledged is there, whatever happens to the program that logged it."""

from __future__ import annotations

import random
import subprocess
import sys
import time

import pytest

from shotwright.store.project_file import ProjectFile
from shotwright.trials.records import Prototype, Shot, Trial

WRITER = """
import sys
from shotwright.store.project_file import ProjectFile
from shotwright.trials.records import Shot
project = ProjectFile.open(sys.argv[1])
start = project.next_order("T")
for order in range(start, start + 100_000):
    project.add_shots([Shot(f"u{order}", "T", order, along=order / 7, cross=0.0)])
    print(order, flush=True)
"""


def new_project(path):
    with ProjectFile.create(path, "crew") as project:
        project.put_prototypes([Prototype("P")])
        project.put_trials([Trial("T", "P")])


@pytest.mark.slow
def test_killed_writers_lose_no_acknowledged_shot(tmp_path):
    path = tmp_path / "crew.shotwright"
    new_project(path)
    rng = random.Random(20260117)
    acknowledged = 0
    for _ in range(12):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True
        )
        first = writer.stdout.readline()
        assert first, "the writer could not open the file that its forerunner left"
        time.sleep(rng.uniform(0.0, 0.15))
        writer.kill()
        lines = [first, *writer.stdout.read().splitlines()]
        writer.wait()
        writer.stdout.close()
        acknowledged = max(acknowledged, max(int(line) for line in lines if line.strip()))
        with ProjectFile.open(path, read_only=True) as project:
            orders = [s.order for s in project.shots()]
        # One more may be there: written, but killed before it could say so.
        assert orders[:acknowledged] == list(range(1, acknowledged + 1))
        assert len(orders) <= acknowledged + 1
        acknowledged = len(orders)

    assert acknowledged > 12
    with ProjectFile.open(path) as project:
        assert project.shots()[6].along == 1.0
    assert [p.name for p in tmp_path.iterdir()] == ["crew.shotwright"]


def test_two_writers_at_once_lose_nothing(tmp_path):
    path = tmp_path / "crew.shotwright"
    new_project(path)
    script = WRITER.replace('project.next_order("T")', "int(sys.argv[2])").replace("100_000", "60")
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", script, str(path), str(start)], stdout=subprocess.PIPE, text=True
        )
        for start in (1, 1001)
    ]
    said = [writer.communicate()[0].split() for writer in writers]

    assert [len(lines) for lines in said] == [60, 60]
    with ProjectFile.open(path) as project:
        assert len(project.shots()) == 120


def test_changes_are_on_the_disk_when_the_call_returns(tmp_path):
    path = tmp_path / "crew.shotwright"
    new_project(path)
    with ProjectFile.open(path) as project:
        # SQLite, pragma synchronous: 2 is FULL, "NORMAL may roll back after a power loss in WAL mode".
        assert project._rows("pragma synchronous") == [(2,)]
        assert project._rows("pragma journal_mode") == [("wal",)]
        assert project._rows("pragma foreign_keys") == [(1,)]
        project.add_shots([Shot("a", "T", 1)])
        with ProjectFile.open(path, read_only=True) as other:
            assert len(other.shots()) == 1
