"""First page: what was found, and how to read the rest."""

from __future__ import annotations

from shotwright.notebook.blocks import Block, Bullets, Caution, Heading, Section, Words
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.wording import day, listed

SIMULATED = (
    "SIMULATED DATA. {which} made by the program from a made-up truth, not fired by a launcher. "
    "Simulated marks are hollow and carry the word SIMULATED. Nothing here says how a real launcher shoots."
)

HOW_TO_READ = (
    (
        "A number with a range, such as 71 % (50 to 84 %), is the best value with its 95 % interval: rules "
        "that make such ranges catch the true value 19 times out of 20. A wide range means that the shots "
        "fired so far do not say more."
    ),
    (
        "Every figure and table names the trials and shots behind it. The last pages list each shot with its "
        "place in the order of firing, its mark, its ball and where the entry came from."
    ),
    "Shots are never deleted. One that is left out is set aside with a reason, and stands in the list.",
    "“Not estimated” comes with the reason. It never means zero.",
    (
        "Filled marks are measured, hollow ones simulated. Lines and bars marked as predicted come from a "
        "calculation."
    ),
)


def start(content: NotebookContent) -> Section:
    """Return the summary."""
    blocks: list[Block] = []
    if content.simulated:
        names = [page.trial.name for page in content.trials if page.trial.origin == "simulated"]
        whole = len(names) == len(content.trials)
        which = "All shots in this notebook were" if whole else f"The shots of {listed(names)} were"
        blocks.append(Caution(SIMULATED.format(which=which)))
    if content.game.origin == "invented":
        blocks.append(Words(f"The game {content.game.name} is invented."))
    if content.summary:
        blocks.append(Bullets(content.summary))
    for choice in content.choices[:1]:
        blocks.append(Words(f"Chosen on {day(choice.date)}: {choice.prototype}. {choice.reason}"))
        if choice.now_words:
            blocks.append(Caution(f"Since then: {choice.now_words}"))
    if not content.summary and not content.choices:
        blocks.append(Words("No choice has been recorded yet."))
    blocks += [Heading("How to read this notebook"), Bullets(HOW_TO_READ)]
    return Section("summary", "Summary", tuple(blocks))
