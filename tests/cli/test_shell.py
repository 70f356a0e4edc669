"""Which project a verb works on, and the bar that it shows."""

from __future__ import annotations

import io
import logging
import sys
from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.base.progress import silent
from shotwright.cli.shell import find_project, progress_bar, text_width


def test_the_given_file_is_taken(tmp_path: Path) -> None:
    file = tmp_path / "other.db"
    file.touch()
    (tmp_path / "a.shotwright").touch()
    assert find_project(file, tmp_path) == file


def test_the_only_file_of_the_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "a.shotwright").touch()
    (tmp_path / "shots.csv").touch()
    assert find_project(None, tmp_path) == tmp_path / "a.shotwright"


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ([], "no .shotwright file in this folder; start one"),
        (["b.shotwright", "a.shotwright"], "this folder holds 2: a.shotwright, b.shotwright; name one with"),
    ],
)
def test_none_or_several_is_an_error_that_says_what_to_do(
    files: list[str], words: str, tmp_path: Path
) -> None:
    for name in files:
        (tmp_path / name).touch()
    with pytest.raises(BadInput) as caught:
        find_project(None, tmp_path)
    assert words in str(caught.value)
    assert "--project FILE" in str(caught.value)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"'?.*gone\.shotwright'? is no file; start it with: shotwright new"):
        find_project(tmp_path / "gone.shotwright")


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_no_bar_in_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    with progress_bar("flying") as progress:
        assert progress is silent
        progress(0.5, "step")
    assert sys.stderr.getvalue() == ""  # type: ignore[attr-defined]


def test_a_bar_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())
    monkeypatch.setenv("TERM", "xterm")
    with progress_bar("flying") as progress:
        progress(0.25, "left post")
        progress(1.0)
    assert "flying" in sys.stderr.getvalue()  # type: ignore[attr-defined]


def test_notes_of_the_rooms_appear_beside_the_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())
    monkeypatch.setenv("TERM", "xterm")
    log = logging.getLogger("shotwright")
    with progress_bar("flying"):
        log.info("compiling the %s", "flight kernel")
    log.info("nobody hears this")
    shown = sys.stderr.getvalue()  # type: ignore[attr-defined]
    assert "compiling the flight kernel" in shown
    assert "nobody" not in shown


def test_width_fits_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for columns, width in ((20, 60), (90, 90), (500, 120)):
        monkeypatch.setenv("COLUMNS", str(columns))
        assert text_width() == width
