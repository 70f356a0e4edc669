"""Verbs that make parts: one command for each kind, its options made from what the kind asks."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.base.errors import BadInput
from shotwright.cli.shell import Function, find_project, json_option, project_option, show, text_width
from shotwright.cli.tables import paragraphs, table
from shotwright.cli.wording import blocks

if TYPE_CHECKING:
    from shotwright.bench.kept_parts import PartList
    from shotwright.bench.part_kinds import Field
    from shotwright.bench.parts import MadePart

LETTERS = {"lines": "FILE", "choice": "WORD", "text": "WORDS", "whole": "NUMBER", "number": "NUMBER"}


def part_command(kind: str, command_name: str) -> click.Command:
    """Make the command of a kind of part.

    Parameters
    ----------
    kind : str
        Its key.
    command_name : str
        What is typed.

    Returns
    -------
    click.Command
        With an option for each field, and those that every part has.
    """
    from shotwright.bench.part_kinds import FROM_LAUNCHER, fields_of, part_kind

    known = part_kind(kind)
    run: Callable[..., None] = _runner(kind)
    if kind in FROM_LAUNCHER:
        run = click.option(
            "--prototype",
            metavar="NAME",
            help="Take what its launcher file says of the part; what you type stands above it.",
        )(run)
    for asked in reversed(fields_of(known)):
        run = _field_option(asked)(run)
    return click.command(command_name, help=known.about, short_help=known.about)(_shared(run))


def _field_option(asked: Field) -> Callable[[Callable[..., None]], Callable[..., None]]:
    words = f"{asked.label}. {asked.help}" + (f" One of {', '.join(asked.choices)}." if asked.choices else "")
    return click.option(
        f"--{asked.key.replace('_', '-')}",
        asked.key,
        metavar=LETTERS.get(asked.kind, asked.kind.split()[-1].upper()),
        default=None,
        help=words + (f" [default: {asked.default}]" if asked.default else ""),
    )


def _files(command: Function) -> Function:
    """Options that say where a part is written."""
    file = click.Path(path_type=Path)
    for option in (
        click.option(
            "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="For a PDF."
        ),
        click.option("--picture", type=file, metavar="FILE", help="Write it as the notebook shows it, SVG."),
        click.option(
            "--out",
            "outs",
            type=file,
            multiple=True,
            metavar="FILE",
            help="Write it: .dxf, .svg, .pdf (1:1 on paper) or .stl. May be given several times.",
        ),
    ):
        command = option(command)
    return command


def _shared(run: Callable[..., None]) -> Callable[..., None]:
    """Options that every part has."""
    file = click.Path(path_type=Path)
    for option in (
        json_option,
        click.option("--keep", metavar="NAME", help="Keep what was typed in the project, under this name."),
        click.option(
            "--project", type=file, metavar="FILE", envvar="SHOTWRIGHT_PROJECT",
            help="Project whose name goes on the drawing, and that keeps the part.",
        ),
        _files,
        click.option("--date", "made_on", metavar="DATE", help="On the drawing; today when left out."),
        click.option("--name", default="", metavar="WORDS", help="What you call the part."),
    ):  # fmt: skip
        run = option(run)
    return run


def _runner(kind: str) -> Callable[..., None]:
    def run(
        *,
        name: str,
        made_on: str | None,
        outs: tuple[Path, ...],
        picture: Path | None,
        paper: str,
        project: Path | None,
        keep: str | None,
        as_json: bool,
        prototype: str | None = None,
        **typed: str | None,
    ) -> None:
        from shotwright.bench.kept_parts import keep_part
        from shotwright.bench.parts import make_part
        from shotwright.bench.workbook import read_workbook

        needed = project is not None or keep is not None or prototype is not None
        file = find_project(project) if needed else None
        inputs = {key: value for key, value in typed.items() if value is not None}
        inputs, files = _with_files(kind, inputs)
        if prototype is not None and file is not None:
            from shotwright.bench.part_prefill import from_prototype

            inputs = {**from_prototype(file, kind, prototype), **inputs}
        try:
            made = make_part(
                kind,
                inputs,
                name=name or keep or "",
                project=read_workbook(file).name if file else "",
                date=day(made_on),
            )
        except BadInput as bad:
            # the room knows the text by its field; the person knows it by the file's name
            raise bad.at(file=files[bad.file]) if bad.file in files else bad from None
        done = _written(made, outs, picture, paper)
        if keep is not None and file is not None:
            done.append(keep_part(file, made, keep, date=day(made_on)))
        show(made, as_json, lambda made: blocks(part_words(made), "\n".join(done)))

    return run


def _written(made: MadePart, outs: tuple[Path, ...], picture: Path | None, paper: str) -> list[str]:
    """Write the files asked for; a line for each."""
    from shotwright.bench.part_files import write_part

    done = [f"Wrote {file}." for file in write_part(made, outs, paper=paper)]
    if picture is not None:
        from shotwright.bench.part_pages import part_svg
        from shotwright.bench.pictures import write_picture

        write_picture(part_svg(made), picture)
        done.append(f"Wrote {picture}.")
    return done


def _with_files(kind: str, inputs: dict[str, str]) -> tuple[dict[str, str], dict[str | None, str]]:
    """Put the text of the files named in place of their names; also say which field came from which file."""
    from shotwright.base.toml_tables import read_text
    from shotwright.bench.part_kinds import fields_of, part_kind

    files: dict[str | None, str] = {}
    for asked in fields_of(part_kind(kind)):
        if asked.kind == "lines" and asked.key in inputs:
            files[asked.key] = inputs[asked.key]
            inputs[asked.key] = read_text(Path(inputs[asked.key]))
    return inputs, files


def day(typed: str | None) -> datetime.date | None:
    """Date as typed; None stays None."""
    if typed is None:
        return None
    try:
        return datetime.date.fromisoformat(typed)
    except ValueError:
        raise BadInput(f"{typed!r} is not a date; type e.g. 2026-01-17", field="date") from None


def part_words(made: MadePart) -> str:
    """Write the figures, the words and the cautions."""
    from shotwright.bench.parts import size_rows

    rows = (*made.part.rows, *size_rows(made))
    return blocks(
        made.name,
        table(["what", "value"], [list(row) for row in rows], text_width()),
        paragraphs(made.part.words, text_width()),
        paragraphs([f"Caution: {words}" for words in made.part.cautions], text_width()),
    )


@click.group(invoke_without_command=True)
@click.pass_context
def plate(context: click.Context) -> None:
    """Draw a flat part: a hub plate, a wheel disc, a hood's side plate.

    Write it with --out as DXF or SVG for a cutter, as PDF to be printed 1:1, as STL for a printer.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


for _kind, _typed in (("hub-plate", "hub"), ("wheel-disc", "wheel"), ("hood-plate", "hood")):
    plate.add_command(part_command(_kind, _typed))


spiral_gear = part_command("spiral-gear", "spiral-gear")


@click.command()
@click.argument("part", metavar="[NAME]", required=False)
@click.option("--remove", is_flag=True, help="Remove it from the project.")
@_files
@project_option
@json_option
def parts(
    part: str | None,
    remove: bool,
    outs: tuple[Path, ...],
    picture: Path | None,
    paper: str,
    project: Path,
    as_json: bool,
) -> None:
    """List the parts that the project keeps; with NAME, make one again, write it, or remove it."""
    from shotwright.bench.kept_parts import kept_part, list_parts, remove_part

    if part is None:
        if remove or outs or picture:
            raise click.UsageError("say which part: shotwright parts NAME ...")
        show(list_parts(project), as_json, list_words)
        return
    if remove:
        if outs or picture:
            raise click.UsageError("--remove writes nothing; write the part first")
        show(remove_part(project, part), as_json, list_words)
        return
    made = kept_part(project, part)
    done = _written(made, outs, picture, paper)
    show(made, as_json, lambda made: blocks(part_words(made), "\n".join(done)))


def list_words(found: PartList) -> str:
    """Write the list and what was done."""
    rows = [[one.name, one.kind, one.date.isoformat(), f"{len(one.inputs)} typed"] for one in found.parts]
    listed = table(["part", "kind", "kept on", "fields"], rows, text_width()) if rows else ""
    return blocks(paragraphs(found.words, text_width()), listed)
