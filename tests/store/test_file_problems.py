"""Each way in which a file can fail is one clear line, and nothing is lost by it."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import sqlite3
import tempfile
from pathlib import Path

import pytest

from shotwright.base.errors import ProjectProblem
from shotwright.store import connection
from shotwright.store.project_file import ProjectFile
from shotwright.store.schema import MIGRATIONS
from shotwright.trials.records import Prototype, Shot, Trial


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "crew.shotwright"
    with ProjectFile.create(path, "Lantern crew") as project:
        project.put_prototypes([Prototype("P")])
        project.put_trials([Trial("T", "P")])
        project.add_shots([Shot(f"u{n}", "T", n, along=3.0, cross=0.1) for n in range(1, 400)])
    return path


def problem_of(path, **kwargs):
    with pytest.raises(ProjectProblem) as caught:
        ProjectFile.open(path, **kwargs)
    said = str(caught.value)
    assert said.startswith(f"{path}: ")
    assert "\n" not in said
    return said


def test_missing_and_folder(tmp_path):
    assert "there is no such project file" in problem_of(tmp_path / "none.shotwright")
    assert "is a folder" in problem_of(tmp_path)


@pytest.mark.parametrize("content", [b"", b"Dear judges", b"PK\x03\x04" + bytes(2000), bytes(4096)])
@pytest.mark.parametrize("read_only", [False, True])
def test_not_a_project(tmp_path, content, read_only):
    path = tmp_path / "letter"
    path.write_bytes(content)

    assert "is not a project file" in problem_of(path, read_only=read_only)
    assert path.read_bytes() == content


def test_database_of_another_program(tmp_path):
    path = tmp_path / "other.db"
    with sqlite3.connect(path) as other:
        other.execute("create table t (a)")
    other.close()

    assert "is not a project file" in problem_of(path)


@pytest.mark.parametrize("read_only", [False, True])
def test_damaged_in_the_middle(path, read_only):
    data = bytearray(path.read_bytes())
    data[4096 * 3 : 4096 * 12] = b"\xa5" * (4096 * 9)
    path.write_bytes(data)

    assert "is damaged; take the last good copy" in problem_of(path, read_only=read_only)


def test_cut_short(path):
    path.write_bytes(path.read_bytes()[: 4096 * 6])

    assert "is damaged" in problem_of(path)


def test_newer_version_is_shown_but_not_changed(path):
    with sqlite3.connect(path) as newer:
        newer.execute("create table times_to_come (a)")
        newer.execute("pragma user_version = 99")
    newer.close()
    before = path.read_bytes()

    assert f"was written by a newer shotwright (format 99, this one knows {len(MIGRATIONS)})" in problem_of(
        path
    )
    with ProjectFile.open(path, read_only=True) as project:
        assert project.is_newer
        assert len(project.shots()) == 399
        with pytest.raises(ProjectProblem, match="is open to read only"):
            project.add_shots([])
    assert path.read_bytes() == before


def test_read_only_changes_nothing_beside_the_file(path):
    with ProjectFile.open(path, read_only=True) as project:
        assert len(project.shots()) == 399
        with pytest.raises(ProjectProblem, match="is open to read only"):
            project.set_fact("a", 1)

    assert [p.name for p in path.parent.iterdir()] == ["crew.shotwright"]


@contextlib.contextmanager
def as_a_user_without_rights():
    """The administrator may write everywhere, so another user tries it."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
@pytest.mark.parametrize("left_open", [False, True])
def test_read_only_folder(path, left_open):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copy = folder / "crew.shotwright"
        shutil.copy(path, copy)
        if left_open:  # as after a crash: the header says write-ahead mode, but no companion is there
            with sqlite3.connect(copy) as other:
                other.execute("pragma journal_mode = wal")
            other.close()
        copy.chmod(0o444)
        folder.chmod(0o555)
        with as_a_user_without_rights():
            with ProjectFile.open(copy, read_only=True) as project:
                assert len(project.shots()) == 399
            assert "file or folder is read-only; copy it to a folder of your own" in problem_of(copy)
            with pytest.raises(ProjectProblem, match=re.escape(f"{folder / 'new'}: can't be written")):
                ProjectFile.create(folder / "new", "x")
        folder.chmod(0o755)


def test_another_program_writes(path, monkeypatch):
    monkeypatch.setattr(connection, "BUSY_SECONDS", 0.1)
    other = sqlite3.connect(path, isolation_level=None)
    with ProjectFile.open(path) as project:
        other.execute("begin immediate")
        with pytest.raises(ProjectProblem, match="is being written by another program"):
            project.set_fact("a", 1)
        assert len(project.shots()) == 399
        other.execute("rollback")
        project.set_fact("a", 1)
    other.close()


def test_two_may_have_it_open(path):
    with ProjectFile.open(path) as one, ProjectFile.open(path) as two:
        one.add_shots([Shot("a", "T", 1000)])
        two.add_shots([Shot("b", "T", 1001)])

        assert [s.uid for s in one.shots()][-2:] == ["a", "b"]
    assert [p.name for p in path.parent.iterdir()] == ["crew.shotwright"]


def test_disk_full_keeps_what_was_there(path):
    with ProjectFile.open(path) as project:
        (pages,) = project._rows("pragma page_count")[0]
        project._rows(f"pragma max_page_count = {pages + 2}")
        with pytest.raises(ProjectProblem, match="the disk is full; nothing of this step was kept"):
            project.add_shots([Shot(f"v{n}", "T", n, remark="x" * 200) for n in range(1000, 2000)])

        assert len(project.shots()) == 399


def test_where_write_ahead_can_not_be_had_the_rollback_journal_serves(path, monkeypatch):
    real = sqlite3.connect

    class WithoutSharedMemory(sqlite3.Connection):
        def execute(self, sql, *args):
            if sql == "pragma journal_mode = wal":
                raise sqlite3.OperationalError("locking protocol")
            return super().execute(sql, *args)

    monkeypatch.setattr(
        sqlite3, "connect", lambda *args, **kw: real(*args, factory=WithoutSharedMemory, **kw)
    )
    with ProjectFile.open(path) as project:
        assert project._rows("pragma journal_mode") == [("delete",)]
        assert project.add_shots([Shot("a", "T", 1000)]) == 1
    with ProjectFile.open(path) as project:
        assert len(project.shots()) == 400
