"""Verbs that keep a project: ``new``, ``import``, ``export``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.base.errors import BadInput
from shotwright.cli.main import EXIT_BAD_INPUT
from shotwright.cli.shell import SUFFIX, json_option, project_option, show, text_width
from shotwright.cli.tables import paragraphs
from shotwright.cli.wording import Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.results import ImportReport, ProjectSummary, WrittenFiles

PATH = click.Path(path_type=Path)
LEAVE_OUT = "import the good rows and leave these out?"
FILE = click.Path(path_type=Path, exists=True, dir_okay=False)


def assignments(
    _context: click.Context, parameter: click.Parameter, given: tuple[str, ...]
) -> dict[str, str] | None:
    """Read options of the form NAME=VALUE into a dictionary; None when there are none."""
    found = {}
    for text in given:
        name, _, value = text.partition("=")
        if not name.strip() or not value.strip():
            raise BadInput(f"{text!r} is not {parameter.metavar}", field=parameter.opts[-1])
        found[name.strip()] = value.strip()
    return found or None


@click.command("new")
@click.argument("path", type=PATH)
@click.option("--name", metavar="TEXT", help="Project's name; the file's name when left out.")
@click.option("--game", type=FILE, metavar="FILE", help="Game file to start with.")
@click.option("--overwrite", is_flag=True, help="Start afresh when the file is there; what it holds is lost.")
@json_option
def new(path: Path, name: str | None, game: Path | None, overwrite: bool, as_json: bool) -> None:
    """Start a project file at PATH; its name ends in .shotwright, which is added when missing."""
    from shotwright.bench.projects import create_project

    if path.suffix != SUFFIX:
        path = path.with_name(path.name + SUFFIX)
    show(create_project(path, name=name, game=game, overwrite=overwrite), as_json, project_words)


def project_words(found: ProjectSummary) -> str:
    """Write what a project holds, and what to do next."""
    kinds = (
        ("positions", found.positions),
        ("targets", found.targets),
        ("prototypes", found.prototypes),
        ("trials", found.trials),
        ("drives", found.drives),
    )
    held = [f"{kind}: {', '.join(names) or 'none yet'}" for kind, names in kinds]
    aside = f", {found.set_aside} of them set aside" if found.set_aside else ""
    lines = [f"Project {found.name!r} in {found.file}.", f"game: {found.game or 'none yet'}", *held]
    lines.append(f"shots: {found.shots}{aside}")
    return blocks(paragraphs(lines, text_width()), paragraphs(found.words, text_width()))


@click.command("import")
@click.argument("source", type=click.Path(path_type=Path, exists=True))
@click.option("--trial", metavar="NAME", help="Trial that the shots belong to, when the table doesn't say.")
@click.option(
    "--prototype", metavar="NAME", help="Prototype that the shots belong to, when the table doesn't say."
)
@click.option(
    "--column",
    "columns",
    metavar="FIELD=HEADER",
    multiple=True,
    callback=assignments,
    help="Which column holds a field, as in along='Dist.'. Repeat for more.",
)
@click.option(
    "--unit",
    "units",
    metavar="FIELD=UNIT",
    multiple=True,
    callback=assignments,
    help="Unit of a field when the table doesn't say, as in along=in. Repeat for more.",
)
@click.option("--skip-bad-rows", is_flag=True, help="Import the rows that can be read, leave out the others.")
@click.option("--dry-run", is_flag=True, help="Tell what would be imported; write nothing.")
@project_option
@json_option
def import_(
    project: Path,
    source: Path,
    trial: str | None,
    prototype: str | None,
    columns: dict[str, str] | None,
    units: dict[str, str] | None,
    skip_bad_rows: bool,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Read SOURCE into the project.

    SOURCE is a game, prototypes, launchers, a drive or trials (TOML), shots (CSV, TSV, XLSX), or an exported
    folder.

    A row that can't be read is named with its number and reason, and then nothing is imported until you mend
    it or agree to leave it out. The same shots again are recognised and not doubled.
    """
    from shotwright.bench.projects import import_into

    def run(skip: bool) -> ImportReport:
        return import_into(
            project,
            source,
            trial=trial,
            prototype=prototype,
            columns=columns,
            units=units,
            skip_bad_rows=skip,
            dry_run=dry_run,
        )

    report = run(skip_bad_rows)
    held_up = bool(report.problems) and not skip_bad_rows
    show(report, as_json, import_words)
    if held_up and not (dry_run or as_json) and sys.stdin.isatty() and click.confirm(LEAVE_OUT):
        show(run(True), as_json, import_words)
    elif held_up:
        raise click.exceptions.Exit(EXIT_BAD_INPUT)


def import_words(report: ImportReport) -> str:
    """Write what came in, the rows that can't be read, and how each column was understood."""
    problems = table_of(
        report.problems, (Column("row", "row"), Column("field", "field"), Column("reason", "reason"))
    )
    return blocks(
        paragraphs(report.notes, text_width()),
        problems,
        paragraphs(report.words, text_width()),
    )


@click.command("export")
@click.argument("folder", type=PATH)
@click.option(
    "--copy", "as_copy", is_flag=True, help="Write one project file instead, a copy fit for a stick."
)
@click.option("--overwrite", is_flag=True, help="Replace what an earlier export left in the folder.")
@project_option
@json_option
def export(project: Path, folder: Path, as_copy: bool, overwrite: bool, as_json: bool) -> None:
    """Write the project to FOLDER as plain files (TOML, CSV), which `import` reads back.

    With --copy FOLDER is the new project file, or the folder in which it shall stand.
    """
    from shotwright.bench.projects import copy_project, export_project

    if as_copy:
        if overwrite:
            raise BadInput("a copy never replaces a file; leave --overwrite out", field="--overwrite")
        written = copy_project(project, folder / project.name if folder.is_dir() else folder)
    else:
        written = export_project(project, folder, overwrite=overwrite)
    show(written, as_json, written_words)


def written_words(written: WrittenFiles) -> str:
    """Write the names of files that were written, and what to know about them."""
    said = "\n".join(written.words)
    files = "\n".join(file for file in written.files if file not in said)
    return blocks(paragraphs(written.words, text_width()), files)
