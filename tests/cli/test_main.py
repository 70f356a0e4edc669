"""The shell around the verbs: help, errors as lines, exit codes, speed of start."""

from __future__ import annotations

import importlib
import json
import subprocess
import sys
import time
from types import SimpleNamespace

import click
import pytest

from shotwright import __version__
from shotwright.base.errors import BadFile, BadInput, Cancelled, NoAnswer, ProjectProblem
from shotwright.cli import main as cli
from shotwright.cli.shell import show


class Answer:
    def to_dict(self) -> dict[str, object]:
        return {"speed_m_s": 9.5, "note": "größer", "missing": None}


def plant(monkeypatch: pytest.MonkeyPatch, command: click.Command, verb: str = "verify") -> None:
    """Put a command of the test's own in the place of a verb."""
    real = importlib.import_module

    def load(name: str, package: str | None = None) -> object:
        return SimpleNamespace(verify=command) if name == "shotwright.cli.reports" else real(name, package)

    monkeypatch.setattr(cli.importlib, "import_module", load)


def raising(error: BaseException) -> click.Command:
    @click.command()
    def command() -> None:
        raise error

    return command


@pytest.mark.parametrize("arguments", [["--help"], ["-h"], []])
def test_help_lists_every_verb(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(arguments) == 0
    shown = capsys.readouterr().out
    assert all(f"  {verb} " in shown for verb in cli.VERBS)


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--version"]) == 0
    assert capsys.readouterr().out == f"shotwright {__version__}\n"


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["wndows"], "shotwright: 'wndows' is not a verb; did you mean 'windows'? (see shotwright --help)"),
        (["zzz"], f"'zzz' is not a verb; the verbs are {', '.join(cli.VERBS)}"),
        (["--colour"], "shotwright: No such option"),
    ],
)
def test_a_slip_gives_one_line_and_two(
    arguments: list[str], line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert line in captured.err
    assert captured.err.count("\n") == 1


@pytest.mark.parametrize(
    ("error", "code", "line"),
    [
        (
            BadInput("0 g is not a mass", field="mass", file="game.toml", row=4),
            2,
            "game.toml, row 4, mass: 0 g is not a mass",
        ),
        (BadInput("two\nlines"), 2, "two lines"),
        (ProjectProblem("a.shotwright is from a newer version"), 2, "a.shotwright is from a newer version"),
        (NoAnswer("blocked by the wall"), 2, "blocked by the wall"),
        (click.FileError("shots.csv", "no such file"), 2, "Could not open file 'shots.csv': no such file"),
        (Cancelled("enough"), 130, "stopped"),
        (KeyboardInterrupt(), 130, "stopped"),
    ],
)
def test_an_error_of_the_person_is_one_line(
    error: BaseException,
    code: int,
    line: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    plant(monkeypatch, raising(error))
    assert cli.main(["verify"]) == code
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.strip() == f"shotwright: {line}"


def test_every_problem_of_a_file_has_its_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    problems = [BadInput("no unit", field="[ball], mass"), BadInput("no name", field="[game]")]
    plant(monkeypatch, raising(BadFile(problems).at(file="game.toml")))
    assert cli.main(["verify"]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "shotwright: game.toml, [ball], mass: no unit",
        "shotwright: game.toml, [game]: no name",
    ]


def test_a_bug_is_a_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    plant(monkeypatch, raising(ZeroDivisionError("a bug")))
    with pytest.raises(ZeroDivisionError):
        cli.main(["verify"])


def test_a_verb_may_end_with_its_own_exit_code(monkeypatch: pytest.MonkeyPatch) -> None:
    plant(monkeypatch, raising(click.exceptions.Exit(1)))
    assert cli.main(["verify"]) == 1


def test_json_is_the_dictionary_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    @click.command()
    @click.option("--json", "as_json", is_flag=True)
    def command(as_json: bool) -> None:
        show(Answer(), as_json, lambda _: "9.5 m/s")

    plant(monkeypatch, command)
    assert cli.main(["verify", "--json"]) == 0
    captured = capsys.readouterr()
    assert json.loads(captured.out) == Answer().to_dict()
    assert captured.err == ""
    assert cli.main(["verify"]) == 0
    assert capsys.readouterr().out == "9.5 m/s\n"


def test_start_is_quick() -> None:
    """Help takes 0.08 s on two slow cores; half a second leaves room for a busy machine, not for numpy."""

    def seconds() -> float:
        started = time.perf_counter()
        subprocess.run([sys.executable, "-m", "shotwright.cli.main", "-h"], check=True, capture_output=True)
        return time.perf_counter() - started

    assert min(seconds() for _ in range(5)) < 0.5
