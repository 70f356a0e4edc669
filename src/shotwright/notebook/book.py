"""The whole notebook in order."""

from __future__ import annotations

from shotwright.notebook.blocks import Section
from shotwright.notebook.chapters.appendix import every_shot, provenance, words_used
from shotwright.notebook.chapters.choice import choice, truth
from shotwright.notebook.chapters.comparison import comparison
from shotwright.notebook.chapters.drives import drives
from shotwright.notebook.chapters.game import game
from shotwright.notebook.chapters.hits import hits
from shotwright.notebook.chapters.match_day import drivers_card, match_plans, shot_table
from shotwright.notebook.chapters.on_paper import on_paper
from shotwright.notebook.chapters.parts import parts
from shotwright.notebook.chapters.robot import robot
from shotwright.notebook.chapters.safety import safety
from shotwright.notebook.chapters.shots_needed import shots_needed
from shotwright.notebook.chapters.start import start
from shotwright.notebook.chapters.trials import trials
from shotwright.notebook.content import NotebookContent


def sections(content: NotebookContent) -> tuple[Section, ...]:
    """Return the notebook's sections, from the summary to its origin.

    Parameters
    ----------
    content : NotebookContent
        Everything to be printed.

    Returns
    -------
    tuple of Section
        In reading order.
    """
    found = (
        start(content),
        safety(content),
        game(content),
        shots_needed(content),
        *on_paper(content),
        *drives(content),
        trials(content),
        comparison(content),
        hits(content),
        choice(content),
        parts(content),
        robot(content),
        shot_table(content),
        drivers_card(content),
        match_plans(content),
        truth(content),
        every_shot(content),
        words_used(),
        provenance(content),
    )
    return tuple(section for section in found if section is not None)
