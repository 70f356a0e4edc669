"""The verb ``match``: plans side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.cli.evidence import SEED, WORKERS
from shotwright.cli.shell import find_project, json_option, progress_bar, show, text_width
from shotwright.cli.tables import paragraphs, section
from shotwright.cli.wording import CHANCE, Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.match_story import MatchStory
    from shotwright.bench.results import MatchPlans

POINTS = ("", 1.0)
PLANS = (
    Column("plan", "plan"),
    Column("points", "mean", POINTS),
    Column("sd", "sd", POINTS),
    Column("autonomous", "autonomous", POINTS),
    Column("fired", "shots", POINTS),
    Column("scored", "hits", POINTS),
    Column("trips", "trips", POINTS),
    Column("chased off", "moved_on", POINTS),
    Column("jams", "jams", POINTS),
)
POSITIONS = (
    Column("position", "position"),
    Column("target", "target"),
    Column("points", "points", POINTS),
    Column("hits", "hit", CHANCE),
    Column("from", "source"),
)
SECOND = (Column("do", "what"), Column("points", "mean", POINTS), Column("behind the best", "behind", POINTS))
EVENTS = (Column("after", "time_s"), Column("what", "what"), Column("where", "where"))
TO_DO = (Column("improve", "what"), Column("points gained", "gain", POINTS))


@click.command()
@click.argument("file", metavar="[FILE]", type=click.Path(path_type=Path), required=False)
@click.option("--plan", "plans", multiple=True, metavar="NAME", help="Only this plan; may be repeated.")
@click.option(
    "--matches",
    type=int,
    default=10_000,
    show_default=True,
    metavar="NUMBER",
    help="Simulated for each.",
)
@click.option(
    "--picture", type=click.Path(path_type=Path), metavar="FILE", help="Write the points as an SVG picture."
)
@click.option("--tell", type=int, metavar="NUMBER", help="Tell one of the matches event by event instead.")
@SEED
@WORKERS
@click.option(
    "--project",
    metavar="FILE",
    envvar="SHOTWRIGHT_PROJECT",
    type=click.Path(path_type=Path),
    help="Project that gives what the match file leaves out; the only one in this folder when left out.",
)
@json_option
def match(
    file: Path | None,
    plans: tuple[str, ...],
    matches: int,
    picture: Path | None,
    tell: int | None,
    seed: int,
    workers: int | None,
    project: Path | None,
    as_json: bool,
) -> None:
    """Set match plans side by side: points, what to do when blocked, what to work on.

    The plans stand in the project's match file, or in FILE. All plans meet the same chances, so that what
    differs between them is the plan. Everything here is predicted.
    """
    from shotwright.bench.match_picture import write_match_picture
    from shotwright.bench.match_plans import match_plans

    # a match file that says everything needs no project
    alone = file is not None and project is None and len(list(Path.cwd().glob("*.shotwright"))) != 1
    where = None if alone else find_project(project)
    if tell is not None:
        from shotwright.bench.match_story import match_story

        with progress_bar("telling a match") as progress:
            story = match_story(
                where,
                file=file,
                plan=plans[0] if plans else None,
                number=tell,
                matches=matches,
                seed=seed,
                progress=progress,
            )
        show(story, as_json, story_words)
        return
    with progress_bar("simulating matches") as progress:
        found = match_plans(
            where, file=file, plans=plans, matches=matches, seed=seed, workers=workers, progress=progress
        )
    if picture is not None:
        write_match_picture(found, picture)
    show(found, as_json, match_words)
    if picture is not None and not as_json:
        click.echo(f"\nWrote {picture}.")


def story_words(story: MatchStory) -> str:
    """Write one match event by event."""
    return blocks(paragraphs(story.words, text_width()), table_of(story.events, EVENTS))


def match_words(found: MatchPlans) -> str:
    """Write the sentences, the plans, the second choices and the to-do list."""
    best = found.plans[0]
    times = ", ".join(f"{what} {seconds:.0f} s" for what, seconds in best.time_s.items() if seconds >= 0.5)
    return blocks(
        paragraphs(found.words, text_width()),
        section(
            "Plans, PREDICTED means of a match",
            table_of(found.plans, PLANS),
            f"Time of {best.plan}: {times}.",
        ),
        section("Hit probabilities they rest on", table_of(found.positions, POSITIONS)),
        section(f"When {best.plan} is blocked at its first position", table_of(found.second_choices, SECOND))
        if found.second_choices
        else "",
        section(f"To-do list for {best.plan}", table_of(found.to_do, TO_DO)),
    )
