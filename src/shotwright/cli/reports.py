"""Verbs that show and check: ``notebook``, ``demo``, ``verify``, ``warm-up``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.cli.evidence import DEFENDED, SEED
from shotwright.cli.projects import PATH, written_words
from shotwright.cli.shell import json_option, progress_bar, project_option, show, text_width
from shotwright.cli.tables import paragraphs
from shotwright.cli.wording import blocks

if TYPE_CHECKING:
    from shotwright.bench.demonstration import DemoResult
    from shotwright.bench.results import CheckOutcome, Verification
    from shotwright.bench.warming import WarmUp

EXIT_CHECKS_FAILED = 1


@click.command()
@click.option("--html", type=PATH, metavar="FILE", help="Where to write the HTML file.")
@click.option("--pdf", type=PATH, metavar="FILE", help="Where to write the PDF file.")
@DEFENDED
@SEED
@project_option
@json_option
def notebook(
    project: Path, html: Path | None, pdf: Path | None, defended: bool, seed: int, as_json: bool
) -> None:
    """Write the engineering notebook. With neither --html nor --pdf: both, beside the project file."""
    from shotwright.bench.notebooks import write_notebook

    with progress_bar("notebook") as progress:
        written = write_notebook(project, html=html, pdf=pdf, seed=seed, defended=defended, progress=progress)
    show(written, as_json, written_words)


@click.command()
@click.argument("folder", type=PATH, default=Path("shotwright-demo"))
@json_option
def demo(folder: Path, as_json: bool) -> None:
    """Run the whole chain on an invented game with simulated shots, in FOLDER (shotwright-demo)."""
    from shotwright.bench.demonstration import run_demo

    with progress_bar("demo") as progress:
        found = run_demo(folder, progress=progress)
    show(found, as_json, demo_words)


def demo_words(found: DemoResult) -> str:
    """Write the summary line by line, as the demo made it."""
    return "\n".join(found.words)


@click.command()
@click.option("--all", "everything", is_flag=True, help="Print every check, not only those that failed.")
@json_option
def verify(everything: bool, as_json: bool) -> None:
    """Compute every published check value and compare. Exit code 1 when one is not met."""
    from shotwright.bench.checking import verify as run

    found = run()
    show(found, as_json, every_check if everything else verification_words)
    if found.failed:
        raise click.exceptions.Exit(EXIT_CHECKS_FAILED)


@click.command("warm-up")
@json_option
def warm_up(as_json: bool) -> None:
    """Compile everything now, so that no later verb waits for it. Needed once for each installation."""
    from shotwright.bench.warming import warm_up as run

    with progress_bar("compiling") as progress:
        found = run(progress=progress)
    show(found, as_json, warm_up_words)


def warm_up_words(found: WarmUp) -> str:
    """Write what was compiled and where it is kept."""
    return paragraphs(found.words, text_width())


def verification_words(found: Verification) -> str:
    """Write the summary; its sentences name each check that failed."""
    return paragraphs(found.words, text_width())


def every_check(found: Verification) -> str:
    """Write each check with both values and its source, then the summary."""
    return blocks("\n".join(check_words(check) for check in found.outcomes), verification_words(found))


def check_words(check: CheckOutcome) -> str:
    """Write one check: both values, and the source below."""
    mark = "ok  " if check.passed else "FAIL"
    wanted = f"expected {check.expected:.9g} within {check.tolerance:.2g}"
    return f"{mark} {check.what}: {check.found:.9g}, {wanted}\n     {check.source}"
