"""The set-up script: standard library alone, clear about what is missing, honest about what failed."""

from __future__ import annotations

import ast
import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[1]
SCRIPT = ROOT / "dev.py"


@pytest.fixture
def dev(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script as a module, with its environment in a folder of the test's own."""
    monkeypatch.setenv("SHOTWRIGHT_VENV", str(tmp_path / "venv"))
    spec = importlib.util.spec_from_file_location("dev_under_test", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_it_needs_the_standard_library_alone_and_an_old_python_can_read_it() -> None:
    tree = ast.parse(SCRIPT.read_text(encoding="utf-8"), feature_version=(3, 7))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    imported |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.partition(".")[0] for name in imported} <= set(sys.stdlib_module_names)


def test_an_old_python_gets_one_line() -> None:
    code = f"import runpy, sys; sys.version_info = (3, 10, 4); runpy.run_path({str(SCRIPT)!r})"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert answer.returncode == 1
    assert answer.stderr.startswith("dev.py needs Python 3.11 or newer; this is ")
    assert answer.stderr.count("\n") == 1


def test_a_system_without_ensurepip_gets_a_hint(dev: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    with pytest.raises(SystemExit, match="sudo apt install python3-venv"):
        dev.set_up()
    assert not dev.ENVIRONMENT.exists()


def test_a_failed_installation_leaves_no_mark_and_says_what_to_do(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dev, "has_pip", lambda: True)
    monkeypatch.setattr(dev.subprocess, "call", lambda *_, **__: 1)
    with pytest.raises(SystemExit, match="run the same command again"):
        dev.set_up()
    assert not dev.MARKER.exists()


def test_an_environment_that_is_up_to_date_is_left_alone(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    dev.PYTHON.parent.mkdir(parents=True)
    dev.PYTHON.touch()
    dev.MARKER.write_text(dev.fingerprint(), encoding="utf-8")
    asked: list[str] = []
    monkeypatch.setattr(dev, "has_pip", lambda: True)
    monkeypatch.setattr(dev, "pip", lambda *arguments: asked.append(arguments[-1]))
    monkeypatch.setattr(dev, "run", lambda arguments: asked.append(arguments[-1]) or 1)
    dev.set_up()
    assert asked == []
    dev.MARKER.write_text("of yesterday", encoding="utf-8")
    dev.set_up()
    # the environment counts as made even where compiling failed: the first command that needs it compiles
    assert asked == [str(dev.LOCK), str(dev.ROOT), "warm-up"]
    assert dev.MARKER.read_text(encoding="utf-8") == dev.fingerprint()


def test_the_mark_follows_the_lock(dev: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = dev.fingerprint()
    other = tmp_path / "requirements.lock"
    other.write_text("click==8.0\n", encoding="utf-8")
    monkeypatch.setattr(dev, "LOCK", other)
    assert dev.fingerprint() != before


@pytest.mark.parametrize(
    ("codes", "code", "closing"),
    [
        ((0, 0), 0, "dev.py test: all 2 steps passed in 0 s: style, tests"),
        ((1, 0), 1, "dev.py test: FAILED in 0 s: style"),
        ((2, 5), 1, "dev.py test: FAILED in 0 s: style, tests"),
    ],
)
def test_all_steps_run_and_the_last_line_tells(
    codes: tuple[int, int],
    code: int,
    closing: str,
    dev: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    answers = iter(codes)
    monkeypatch.setattr(dev, "run", lambda _: next(answers))
    assert dev.run_steps("test", {"style": ["a"], "tests": ["b"]}) == code
    assert capsys.readouterr().out.splitlines() == ["== style", "== tests", closing]


def test_fast_leaves_out_the_slow_tests_and_demo_hands_its_arguments_on(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: list[list[str]] = []
    monkeypatch.setattr(dev, "set_up", lambda: None)
    monkeypatch.setattr(dev, "run", lambda arguments: ran.append(arguments) or 0)
    for given in (["test", "--fast"], ["check"], ["demo", "folder", "--json"]):
        monkeypatch.setattr(sys, "argv", ["dev.py", *given])
        assert dev.main() == 0
    assert ran[4][-2:] == ["-m", "not slow"]
    assert len(ran) == 5 + 4 + 1
    assert ran[-1] == ["-m", "shotwright.cli.main", "demo", "folder", "--json"]
