"""What all verbs share: the project they work on, ``--json``, and the bar that long work shows."""

from __future__ import annotations

import contextlib
import json
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Protocol, TypeVar

import click

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent

SUFFIX = ".shotwright"
Function = TypeVar("Function", bound=Callable[..., Any])


class HasDict(Protocol):
    """Any result of the bench."""

    def to_dict(self) -> dict[str, Any]:
        """Return the result as plain data."""


def find_project(given: Path | None, folder: Path | None = None) -> Path:
    """Return the project file to work on: the one given, or the only one in the folder.

    Parameters
    ----------
    given : Path, optional
        From ``--project`` or the environment.
    folder : Path, optional
        Where to look; the current folder by default.

    Returns
    -------
    Path
        A file that exists.

    Raises
    ------
    BadInput
        The file is not there, or the folder holds none or several.
    """
    if given is not None:
        if not given.is_file():
            raise BadInput(
                f"{str(given)!r} is no file; start it with: shotwright new {given}", field="project"
            )
        return given
    found = sorted((folder or Path.cwd()).glob(f"*{SUFFIX}"))
    if len(found) == 1:
        return found[0]
    if not found:
        raise BadInput(
            f"no {SUFFIX} file in this folder; start one (shotwright new NAME) or name one: --project FILE",
            field="project",
        )
    names = ", ".join(path.name for path in found)
    raise BadInput(f"this folder holds {len(found)}: {names}; name one with --project FILE", field="project")


def project_option(command: Function) -> Function:
    """Give a command ``--project``; it receives the path of a file that exists."""
    return click.option(
        "--project",
        metavar="FILE",
        envvar="SHOTWRIGHT_PROJECT",
        type=click.Path(path_type=Path),
        callback=lambda context, _parameter, given: (
            None if context.resilient_parsing else find_project(given)
        ),
        help=f"Project file; the only {SUFFIX} file in this folder when left out.",
    )(command)


def json_option(command: Function) -> Function:
    """Give a command ``--json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print the result as JSON and nothing else.")(
        command
    )


def show(result: HasDict, as_json: bool, words: Callable[[Any], str]) -> None:
    """Print a result: its dictionary as JSON, or what `words` makes of it.

    Parameters
    ----------
    result : result of the bench
        Has ``to_dict()``.
    as_json : bool
        Whether the person asked for ``--json``.
    words : callable
        Takes the result, returns text.
    """
    click.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False) if as_json else words(result))


def text_width() -> int:
    """Characters in a line: the terminal's, at least 60, at most 120; 100 when there is none."""
    return min(max(shutil.get_terminal_size((100, 24)).columns, 60), 120)


@contextlib.contextmanager
def progress_bar(title: str) -> Iterator[Progress]:
    """Show a bar on stderr while long work runs, on a terminal only.

    Parameters
    ----------
    title : str
        Name of the work, in front of the bar until the work names its own step.

    Yields
    ------
    Progress
        To be handed to the bench.
    """
    if not sys.stderr.isatty():
        yield silent
        return
    from rich.console import Console
    from rich.progress import Progress as Bar

    with Bar(console=Console(stderr=True), transient=True) as bar, notes_to(bar.print):
        task = bar.add_task(title, total=1.0)

        def report(fraction: float, what: str = "") -> None:
            bar.update(task, completed=fraction, description=what or title)

        yield report


@contextlib.contextmanager
def notes_to(write: Callable[[str], None]) -> Iterator[None]:
    """Have what the rooms note, such as the start of a compilation, written beside the bar.

    Parameters
    ----------
    write : callable
        Takes one line.

    Yields
    ------
    None
        While notes are written.
    """
    import logging

    class Notes(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            write(record.getMessage())

    log, handler = logging.getLogger("shotwright"), Notes(logging.INFO)
    level = log.level
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    try:
        yield
    finally:
        log.removeHandler(handler)
        log.setLevel(level)
