"""Where compiled code is kept, on each system."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from shotwright import __version__
from shotwright.base import cache_folder as place
from shotwright.base.cache_folder import cache_folder, one_at_a_time, remove_old_folders

HOME = Path("/users/a").absolute()
ELSEWHERE = Path("/elsewhere").absolute()


# The folders are those of the XDG Base Directory Specification, of Apple's File System Programming Guide
# (Library/Caches) and of Windows' known folder LocalAppData (from memory).
@pytest.mark.parametrize(
    ("system", "environment", "parent"),
    [
        ("linux", {}, HOME / ".cache"),
        ("linux", {"XDG_CACHE_HOME": str(ELSEWHERE)}, ELSEWHERE),
        ("linux", {"XDG_CACHE_HOME": "not/absolute"}, HOME / ".cache"),
        ("linux", {"XDG_CACHE_HOME": ""}, HOME / ".cache"),
        ("darwin", {"XDG_CACHE_HOME": str(ELSEWHERE)}, HOME / "Library" / "Caches"),
        ("win32", {"LOCALAPPDATA": str(ELSEWHERE)}, ELSEWHERE),
        ("win32", {}, HOME / "AppData" / "Local"),
        ("linux", {"NUMBA_CACHE_DIR": str(ELSEWHERE), "XDG_CACHE_HOME": str(HOME)}, ELSEWHERE),
        ("win32", {"NUMBA_CACHE_DIR": str(ELSEWHERE), "LOCALAPPDATA": str(HOME)}, ELSEWHERE),
    ],
)
def test_the_folder_follows_the_system(system, environment, parent):
    folder = cache_folder(environment, system, HOME)
    assert folder.parent == parent / "shotwright"
    assert folder.name.startswith(f"{__version__}-")


def test_each_installation_and_version_has_its_own(monkeypatch):
    before = cache_folder({}, "linux", HOME)
    assert before == cache_folder({}, "linux", HOME)
    monkeypatch.setattr(place, "_PACKAGE", Path("/another/place"))
    elsewhere = cache_folder({}, "linux", HOME)
    monkeypatch.setattr(place, "__version__", "99.0")
    assert len({before, elsewhere, cache_folder({}, "linux", HOME)}) == 3


def test_an_account_without_a_home_has_a_folder_that_cannot_be_written(monkeypatch):
    def no_home():
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "home", no_home)
    folder = cache_folder({}, "linux")
    assert folder.is_relative_to(os.devnull)
    with one_at_a_time(folder):
        assert not folder.exists()


def test_one_holds_the_others_back(tmp_path):
    inside, seen = 0, []

    def work():
        nonlocal inside
        with one_at_a_time(tmp_path / "new"):
            inside += 1
            seen.append(inside)
            threading.Event().wait(0.02)
            inside -= 1

    threads = [threading.Thread(target=work) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert seen == [1] * 5


def test_an_error_lets_the_next_one_in(tmp_path):
    with pytest.raises(OSError, match="of the work"), one_at_a_time(tmp_path):
        raise OSError("of the work")
    with one_at_a_time(tmp_path):
        pass


def test_only_other_versions_of_this_installation_are_removed(tmp_path):
    for name in ("0.1-aaaa", "0.2-aaaa", "0.1-bbbb"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "kernel.nbi").touch()
    assert remove_old_folders(tmp_path / "0.2-aaaa") == 1
    assert sorted(folder.name for folder in tmp_path.iterdir()) == ["0.1-bbbb", "0.2-aaaa"]
