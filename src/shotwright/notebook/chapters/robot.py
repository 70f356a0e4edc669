"""The robot around the launcher: drive base, tilt, feed, brake, power."""

from __future__ import annotations

from shotwright.notebook.blocks import Block, Bullets, Caution, Heading, Picture, Section, Words
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.robot import RobotPage


def robot(content: NotebookContent) -> Section | None:
    """Return the section on the robot; None when no robot file is kept."""
    if not content.robot:
        return None
    blocks: list[Block] = [
        Words(
            "What rides around the launcher, predicted from the robot file. Grip, friction and leaks in "
            "it are the crew's own readings or assumptions; nothing here was measured on the whole robot."
        )
    ]
    for page in content.robot:
        blocks += _part(page)
    return Section("robot", "The robot around the launcher", tuple(blocks), fresh_page=True)


def _part(page: RobotPage) -> list[Block]:
    blocks: list[Block] = [Heading(page.title)]
    if page.problem:
        return [*blocks, Words(f"Not worked out: {page.problem}")]
    blocks += [Bullets(page.words)] if page.words else []
    if page.draw is not None:
        blocks.append(Picture(f"robot-{page.key}", page.caption, page.draw))
    blocks += page.tables
    blocks += [Caution(words) for words in page.cautions]
    return blocks
