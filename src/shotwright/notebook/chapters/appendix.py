"""Every shot; the words used; where it all came from."""

from __future__ import annotations

import math

from shotwright.notebook.blocks import Block, Bullets, Column, Heading, Section, Table, Words
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.evidence import TrialPage
from shotwright.notebook.wording import day, fixed
from shotwright.trials.records import Shot

GLOSSARY = (
    (
        "along, cross",
        "Directions of a mark: along runs from the launcher to where it aims, cross is positive to the left.",
    ),
    ("apex", "Highest point of the flight."),
    (
        "backspin",
        "Spin whose lift points up. The spin parameter S is the speed of the ball's skin over its speed.",
    ),
    ("circular error probable", "Radius of the circle round the mean point that holds half of the shots."),
    ("dispersion", "How far shots of one setting scatter about their mean point."),
    ("entry angle", "Angle below level at which the ball comes through the opening."),
    (
        "extreme spread",
        "Distance between the two marks that lie farthest apart. It grows with the number of shots.",
    ),
    ("hit probability", "Chance that the next ball scores from a firing position at the setting stated."),
    ("interval, 95 %", "Range made by a rule that catches the true value 19 times out of 20."),
    ("mean point of impact", "Average of the marks."),
    ("most forgiving shot", "The shot with the largest hit probability for the launch spread stated."),
    (
        "permutation test",
        "Shuffles the shots between two prototypes to see how often chance alone does as much.",
    ),
    (
        "place spread, heading spread",
        "How well the robot comes back to a firing position and to its heading.",
    ),
    ("rank acceptability", "How often a prototype takes a rank over everything that the shots leave open."),
    ("set aside", "Left out of every figure with a reason, still listed, and can be taken back."),
    ("shot window", "All pairs of speed and elevation that score from a position."),
    ("simulated", "Made by the program from a made-up truth; not fired."),
    (
        "standard deviation",
        "The usual measure of spread; about two thirds of the values lie within one of the mean.",
    ),
)


def every_shot(content: NotebookContent) -> Section:
    """Return the list of all shots, trial by trial."""
    blocks: list[Block] = []
    for page in content.trials:
        mark = " SIMULATED" if page.trial.origin == "simulated" else ""
        blocks += [Heading(f"{page.trial.name}: {page.trial.prototype}{mark}"), _shots(page)]
    if not blocks:
        blocks.append(Words("No shot has been logged yet."))
    return Section("every-shot", "Every shot", tuple(blocks), fresh_page=True)


def _shots(page: TrialPage) -> Table:
    first = "along" if page.trial.surface == "floor" else "height"
    launch = any(v is not None for s in page.shots for v in (s.speed, s.elevation, s.spin))
    hits = any(s.hit is not None for s in page.shots)
    columns = [
        Column("shot", True, 0.5),
        Column("ball", share=0.8),
        Column(f"{first} [m]", True, 0.8),
        Column("cross [m]", True, 0.8),
    ]
    if launch:
        columns += [Column("speed [m/s]", True), Column("elevation [°]", True), Column("spin [rev/s]", True)]
    if hits:
        columns.append(Column("hit", share=0.5))
    columns += [
        Column("set aside because", share=1.5),
        Column("remark", share=1.6),
        Column("source", share=1.5),
    ]
    rows = tuple(_shot(page, shot, launch, hits) for shot in page.shots)
    caption = f"Shots of trial {page.trial.name} ({page.trial.origin}), in the order of firing."
    return Table(caption, tuple(columns), rows)


def _shot(page: TrialPage, shot: Shot, launch: bool, hits: bool) -> tuple[str, ...]:
    first = shot.along if page.trial.surface == "floor" else shot.height
    cells = [str(shot.order), shot.ball or "–", fixed(first, 3), fixed(shot.cross, 3)]
    if launch:
        elevation = None if shot.elevation is None else math.degrees(shot.elevation)
        spin = None if shot.spin is None else shot.spin / (2 * math.pi)
        cells += [fixed(shot.speed, 2), fixed(elevation, 1), fixed(spin, 1)]
    if hits:
        cells.append("–" if shot.hit is None else ("yes" if shot.hit else "no"))
    return (*cells, shot.set_aside or "–", shot.remark or "–", shot.source or "–")


def words_used() -> Section:
    """Return the glossary."""
    columns = (Column("word"), Column("what it means here", share=3.2))
    return Section(
        "words", "Words used", (Table("The words of this notebook in plain English.", columns, GLOSSARY),)
    )


def provenance(content: NotebookContent) -> Section:
    """Return where the figures came from."""
    facts = [
        f"Written on {day(content.made_on)} by Shotwright {content.version}.",
        "Random draws started from seed "
        + (
            f"{content.seed}: the same data and seed give the same figures."
            if content.seed is not None
            else "unknown."
        ),
        (
            f"{len(content.trials)} trials, {sum(len(p.shots) for p in content.trials)} shots, of which "
            f"{sum(s.set_aside is not None for p in content.trials for s in p.shots)} set aside."
        ),
        *content.origin_notes,
    ]
    return Section("provenance", "Where this came from", (Bullets(tuple(facts)),))
