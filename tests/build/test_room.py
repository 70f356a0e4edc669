"""Version control, linter and test runner see the room `build`: they like to skip that name."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def test_no_file_of_the_room_is_ignored_by_git() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("not a clone")
    files = [str(path) for path in (ROOT / "src" / "shotwright" / "build").glob("*.py")]
    assert files
    told = subprocess.run(["git", "check-ignore", "--", *files], cwd=ROOT, capture_output=True, text=True)
    assert told.stdout == ""


def test_the_linter_reads_the_room() -> None:
    told = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--show-files", "src/shotwright/build"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert "build/__init__.py" in told.stdout.replace("\\", "/")
