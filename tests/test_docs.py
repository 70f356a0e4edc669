"""Docs that can't rot: the manual names every verb and option, docstrings every parameter and its unit."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from shotwright.cli.main import VERBS, LazyGroup

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "shotwright"
MANUAL = ROOT / "docs" / "commands.md"
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
# Rooms whose functions take bare numbers in SI: there a parameter without its unit is a trap.
PHYSICS = {"flight", "choice", "trials"}
NUMBERS = re.compile(r"\b(float|ndarray|FloatArray|array)\b")


def commands() -> Iterator[tuple[str, click.Command]]:
    """Every verb with its words, also those of a group: ``log add``."""
    group = LazyGroup("shotwright")
    context = click.Context(group)
    for verb in VERBS:
        command = group.get_command(context, verb)
        assert command is not None
        if isinstance(command, click.Group):
            yield from ((f"{verb} {name}", below) for name, below in command.commands.items())
        else:
            yield verb, command


def chapter(verb: str) -> str:
    """The manual's part under the heading of a verb."""
    text = MANUAL.read_text(encoding="utf-8")
    match = re.search(rf"^### {verb}$(.*?)(?=^##|\Z)", text, re.M | re.S)
    return match[1] if match else ""


def test_the_manual_has_a_chapter_for_every_verb_and_names_every_option() -> None:
    missing = []
    for verb, command in commands():
        text = chapter(verb)
        if not text.strip():
            missing.append(f"{verb}: no chapter '### {verb}'")
        for parameter in command.params:
            names = parameter.opts if isinstance(parameter, click.Option) else [parameter.human_readable_name]
            missing += [f"{verb}: {name}" for name in names[-1:] if f"{name}" not in text]
    assert missing == []


def test_the_manual_has_no_chapter_for_a_verb_that_is_gone() -> None:
    text = MANUAL.read_text(encoding="utf-8")
    assert set(re.findall(r"^### (.+)$", text, re.M)) == {verb for verb, _ in commands()}


def test_options_have_help() -> None:
    silent = [
        f"{verb} {option.opts[-1]}"
        for verb, command in commands()
        for option in command.params
        if isinstance(option, click.Option) and not option.help
    ]
    assert silent == []


def test_the_readme_opens_with_the_job_and_the_two_commands() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert readme.index("dev.py demo") < readme.index("dev.py test") < 2500


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    page = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    stated = [*project["project"]["dependencies"], *project["dependency-groups"]["dev"]]
    names = [re.split(r"[<>=!~ \[;]", requirement)[0] for requirement in stated]
    assert [name for name in names if f"`{name}`" not in page] == []


def test_every_room_is_on_the_plan_of_the_house() -> None:
    page = (ROOT / "docs" / "house.md").read_text(encoding="utf-8")
    rooms = sorted(path.name for path in SOURCE.iterdir() if (path / "__init__.py").exists())
    assert [room for room in rooms if f"`{room}/`" not in page] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_between_pages_lead_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    links = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text)
    assert [link for link in links if "://" not in link and not (page.parent / link).exists()] == []


def texts() -> Iterator[tuple[Path, str]]:
    """Every text that we keep, but for this file and the licence."""
    own = {Path(__file__).resolve(), ROOT / "LICENSE"}
    for top in (*ROOT.iterdir(), ROOT / ".ci", ROOT / ".gitignore"):
        named = top.name in {".ci", ".gitignore", "src", "tests", "docs", "benchmarks"}
        if not named and (top.is_dir() or top.suffix not in {".md", ".py", ".toml", ".lock"}):
            continue
        for path in [top] if top.is_file() else top.rglob("*"):
            if path.is_file() and path.resolve() not in own and "__pycache__" not in path.parts:
                try:
                    yield path.relative_to(ROOT), path.read_text(encoding="utf-8")
                except UnicodeDecodeError:
                    continue  # a font, a spreadsheet or a fixture in another encoding


@pytest.mark.parametrize(
    ("pattern", "why"),
    [
        (r"pypi|pythonhosted|conda-forge|anaconda\.", "no package index by name"),
        (r"(?<![\w.])/(?:work|root|home|tmp|Users)/", "no path of one machine"),
        (r"\bTODO\b|\bFIXME\b|\bXXX?\b|NotImplementedError", "nothing left half done"),
        (r"#\s*noqa(?!:)|#\s*type:\s*ignore(?!\[)", "an exception names its rule"),
    ],
)
def test_no_text_holds(pattern: str, why: str) -> None:
    found = [
        f"{path}:{text.count(chr(10), 0, match.start()) + 1}: {match[0]}"
        for path, text in texts()
        for match in re.finditer(pattern, text, re.I if "index" in why else 0)
    ]
    assert found == [], why


def public_functions() -> Iterator[tuple[str, str, ast.FunctionDef]]:
    for path in sorted(SOURCE.rglob("*.py")):
        room = path.relative_to(SOURCE).parts[0]
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if (
                isinstance(node, ast.FunctionDef)
                and not node.name.startswith("_")
                and room not in {"cli", "web"}
            ):
                yield room, f"{path.relative_to(SOURCE)}: {node.name}", node


def parameters(node: ast.FunctionDef) -> list[str]:
    given = node.args
    loose = [a for a in (given.vararg, given.kwarg) if a]
    return [a.arg for a in (*given.posonlyargs, *given.args, *given.kwonlyargs, *loose)]


def documented(docstring: str) -> dict[str, str]:
    """Name of each parameter in the section "Parameters" -> its type and description."""
    section = re.search(r"^Parameters\n-{3,}\n(.*?)(?=^\S[^\n]*\n-{3,}\n|\Z)", docstring, re.M | re.S)
    found: dict[str, str] = {}
    names: list[str] = []
    for line in section[1].splitlines() if section else ():
        if line and not line[0].isspace():
            head, _, kind = line.partition(" : ")
            names = [name.strip().lstrip("*") for name in head.split(",")]
            found.update(dict.fromkeys(names, f"{kind}\n"))
        else:
            for name in names:
                found[name] += line
    return found


def test_the_reader_of_docstrings_reads() -> None:
    text = "Say.\n\nParameters\n----------\na, b : float\n    Both. [m]\n*c : str\n    More."
    text += "\n\nReturns\n-------\nint\n"
    assert documented(text) == {
        "a": "float\n    Both. [m]",
        "b": "float\n    Both. [m]",
        "c": "str\n    More.",
    }


def test_docstrings_name_every_parameter() -> None:
    """One paragraph will do for two parameters, unless they are bare numbers of physics."""
    wrong = []
    for room, name, node in public_functions():
        stated, real = documented(ast.get_docstring(node) or ""), parameters(node)
        bare = room in PHYSICS and NUMBERS.search(ast.unparse(node.args))
        if not stated and len(real) <= 2 and not bare:
            continue
        if missing := [p for p in real if p not in stated]:
            wrong.append(f"{name}: not described: {', '.join(missing)}")
        if gone := [p for p in stated if p not in real]:
            wrong.append(f"{name}: described but gone: {', '.join(gone)}")
    assert wrong == [], "\n".join(wrong)


def test_numbers_in_physics_state_their_unit() -> None:
    wrong = [
        f"{name}: {parameter}"
        for room, name, node in public_functions()
        if room in PHYSICS
        for parameter, text in documented(ast.get_docstring(node) or "").items()
        if NUMBERS.search(text.partition("\n")[0]) and not re.search(r"\[[^\]]+\]", text)
    ]
    assert wrong == [], "\n".join(wrong)
