"""The house keeps its order: imports point one way, start-up is light, dependencies are few and named."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "shotwright"
FILES = sorted(SOURCE.rglob("*.py"))
MODULES = [
    ".".join(path.relative_to(ROOT / "src").with_suffix("").parts).removesuffix(".__init__") for path in FILES
]
# What `shotwright --help` must not wait for.
HEAVY = {
    "numpy",
    "scipy",
    "numba",
    "pint",
    "shapely",
    "openpyxl",
    "typst",
    "rich",
    "jinja2",
    "sqlite3",
    "starlette",
    "uvicorn",
    "ezdxf",
    "trimesh",
    "simpy",
    "cv2",
}
# Adding a dependency is meant to be a visible act: change this list and docs/dependencies.md with it.
RUNTIME = {
    "click",
    "ezdxf",
    "jinja2",
    "numba",
    "numpy",
    "openpyxl",
    "pi-heif",
    "pillow",
    "pint",
    "python-multipart",
    "rich",
    "salib",
    "scipy",
    "segno",
    "shapely",
    "simpy",
    "starlette",
    "tomlkit",
    "typst",
    "uvicorn",
    "websockets",
}


def python(
    code: str, *arguments: str, where: Path = ROOT, **variables: str
) -> subprocess.CompletedProcess[str]:
    """Run code in a fresh interpreter that finds the package of `where` first."""
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=where,
        env={**os.environ, "PYTHONPATH": str(where / "src"), "PYTHONUTF8": "1", **variables},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def lint_imports(where: Path) -> subprocess.CompletedProcess[str]:
    code = "from importlinter.cli import lint_imports_command as run; run()"
    return python(code, "--no-cache", "--no-logo", where=where)


def project() -> dict[str, object]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def name_of(requirement: str) -> str:
    return re.split(r"[^A-Za-z0-9._-]", requirement, maxsplit=1)[0].lower()


def test_imports_point_one_way() -> None:
    answer = lint_imports(ROOT)
    assert answer.returncode == 0, answer.stdout + answer.stderr
    assert "0 broken" in answer.stdout


@pytest.mark.parametrize(
    ("room", "planted", "broken"),
    [
        ("flight", "from shotwright.cli import __doc__ as planted", "Data flows one way"),
        ("cli", "from shotwright.statistics import __doc__ as planted", "Shells talk to bench only"),
        ("statistics", "import sqlite3", "Kernels touch no world"),
        ("powertrain", "from shotwright.launcher import __doc__ as planted", "Data flows one way"),
    ],
)
def test_the_guard_bites(room: str, planted: str, broken: str, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "src", tmp_path / "src", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    (tmp_path / "src" / "shotwright" / room / "planted.py").write_text(f"{planted}\n", encoding="utf-8")
    answer = lint_imports(tmp_path)
    assert answer.returncode == 1, answer.stdout + answer.stderr
    assert f"{broken} BROKEN" in answer.stdout


def test_a_room_without_a_place_is_refused(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "src", tmp_path / "src", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    (tmp_path / "src" / "shotwright" / "attic.py").write_text("", encoding="utf-8")
    answer = lint_imports(tmp_path)
    assert answer.returncode == 1
    assert "attic" in answer.stdout + answer.stderr


def test_each_module_imports_first() -> None:
    """An import loop shows only from one end, so every module takes its turn as the first one imported."""
    code = """
import importlib, sys
for module in sys.argv[1:]:
    for loaded in [name for name in sys.modules if name.partition(".")[0] == "shotwright"]:
        del sys.modules[loaded]
    try:
        importlib.import_module(module)
    except Exception as reason:
        print(f"{module}: {type(reason).__name__}: {reason}")
"""
    answer = python(code, *MODULES)
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout == ""


def test_help_loads_nothing_heavy() -> None:
    code = """
import sys
from shotwright.cli.main import main
try:
    main(["--help"])
except SystemExit:
    pass
print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
"""
    answer = python(code)
    assert answer.returncode == 0, answer.stderr
    shown, _, loaded = answer.stdout.rpartition("loaded:")
    assert "windows" in shown
    assert set(loaded.split()) & HEAVY == set()


@pytest.mark.slow
def test_nothing_is_left_to_compile_after_warming_up(tmp_path: Path) -> None:
    code = """
import logging, sys
logging.getLogger("shotwright").setLevel(logging.INFO)
logging.getLogger("shotwright").addHandler(logging.StreamHandler(sys.stderr))
from shotwright.cli.main import main
sys.exit(main(sys.argv[1:]))
"""
    variables = {"NUMBA_CACHE_DIR": str(tmp_path / "cache")}
    first = python(code, "warm-up", **variables)
    assert first.returncode == 0, first.stderr
    # the compiling is done in processes of their own; what they leave is what counts
    assert any((tmp_path / "cache").rglob("*.nbi"))
    whole = python(code, "demo", str(tmp_path / "demo"), **variables)
    assert whole.returncode == 0, whole.stderr
    assert "compiling" not in whole.stderr


RUN = """
import sys
from shotwright.cli.main import main
code = main(sys.argv[1:])
print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
sys.exit(code)
"""


@pytest.mark.parametrize(
    ("ball", "needed"),
    [
        (["--diameter", "7 in", "--mass", "5 oz"], {"numpy"}),
        # a game is checked whole when it is read, its polygons too
        (["--project", "a.shotwright"], {"numpy", "sqlite3", "shapely"}),
    ],
)
def test_one_flight_waits_for_nothing_heavy(ball: list[str], needed: set[str], tmp_path: Path) -> None:
    if "--project" in ball:
        game = SOURCE / "bench" / "yard" / "game.toml"
        made = python(RUN, "new", str(tmp_path / "a"), "--game", str(game))
        assert made.returncode == 0, made.stderr
        ball = ["--project", str(tmp_path / "a.shotwright")]
    answer = python(RUN, "flight", "--speed", "9 m/s", "--elevation", "55 deg", "--spin", "1200 rpm", *ball)
    assert answer.returncode == 0, answer.stderr
    shown, _, loaded = answer.stdout.rpartition("loaded:")
    assert "The ball ends on the floor" in shown
    assert set(loaded.split()) & HEAVY == needed


def test_files_stay_readable() -> None:
    too_long = {
        str(path.relative_to(ROOT)): lines
        for folder in ("src", "tests", "benchmarks")
        for path in (ROOT / folder).rglob("*.py")
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 450
    }
    assert too_long == {}


def test_runtime_dependencies_are_these() -> None:
    stated = project()["project"]["dependencies"]  # type: ignore[index]
    assert {name_of(requirement) for requirement in stated} == RUNTIME


def test_lock_covers_the_project_with_hashes_and_without_addresses() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    assert "://" not in lock
    locked = set(re.findall(r"^([a-z0-9._-]+)==", lock, re.M))
    entries = re.split(r"\n(?=[a-z0-9._-]+==)", lock)
    assert all("--hash=sha256:" in entry for entry in entries)
    stated = [*project()["project"]["dependencies"], *project()["dependency-groups"]["dev"]]  # type: ignore[index]
    assert {name_of(requirement) for requirement in stated} <= locked
