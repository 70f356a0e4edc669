"""The help of every verb, which loads nothing that computes."""

from __future__ import annotations

import subprocess
import sys

import click
import pytest

from shotwright.cli.main import VERBS, LazyGroup, main


def every_verb() -> list[list[str]]:
    group = LazyGroup("shotwright")
    found = []
    for verb in VERBS:
        command = group.get_command(click.Context(group), verb)
        below = list(command.commands) if isinstance(command, click.Group) else []
        found += [[verb], *([verb, name] for name in below)]
    return found


@pytest.mark.parametrize("verb", every_verb(), ids=" ".join)
def test_help_of_a_verb(verb: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*verb, "--help"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith(f"Usage: shotwright {' '.join(verb)} ")
    # `log` and `plate` are groups; `open` serves until it is stopped.
    if verb not in (["log"], ["plate"], ["open"]):
        assert "--json" in shown


def test_help_of_no_verb_loads_what_computes() -> None:
    script = (
        "import sys\n"
        "from shotwright.cli.main import main\n"
        f"codes = [main([*verb, '--help']) for verb in {every_verb()}]\n"
        "heavy = {'numpy', 'scipy', 'numba', 'pint', 'rich', 'typst', 'openpyxl', 'jinja2', 'shapely'}\n"
        "sys.exit(str(sorted(heavy & set(sys.modules))) if any(codes) or heavy & set(sys.modules) else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
