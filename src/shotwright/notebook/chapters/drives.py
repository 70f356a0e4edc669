"""What drives the launchers: motors, the match, the pick, what breaks first."""

from __future__ import annotations

from shotwright.notebook.blocks import Caution, Section, Words
from shotwright.notebook.content import NotebookContent


def drives(content: NotebookContent) -> tuple[Section, ...]:
    """Return a section for each drive that the project keeps."""
    return tuple(
        Section(
            f"drive-{number}",
            f"What drives it: {page.name}",
            (
                Words(
                    "Predicted from motors, gears and battery in the drive file. Nothing here was measured, "
                    "but the readings of the crew's own motors where it says so."
                ),
                *page.blocks,
                *(Caution(words) for words in page.cautions),
            ),
            fresh_page=True,
        )
        for number, page in enumerate(content.drives, 1)
    )
