"""The parts that the crew cuts or prints, each drawn to scale."""

from __future__ import annotations

from functools import partial

from shotwright.notebook.blocks import (
    Block,
    Bullets,
    Caution,
    Column,
    Heading,
    Picture,
    Section,
    Table,
    Words,
)
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.part_picture import part_picture
from shotwright.notebook.parts import PartPage


def parts(content: NotebookContent) -> Section | None:
    """Return the section on parts; None when none is kept."""
    if not content.parts:
        return None
    blocks: list[Block] = [
        Words(
            "Parts that the crew cuts or prints. Each is drawn to scale from what was typed for it; torque "
            "is computed from the drawn outline, not measured."
        )
    ]
    for number, page in enumerate(content.parts, 1):
        blocks += _part(page, number)
    return Section("parts", "Parts", tuple(blocks), fresh_page=True)


def _part(page: PartPage, number: int) -> list[Block]:
    blocks: list[Block] = [Heading(f"{page.name} ({page.kind.lower()}, {page.date})")]
    if page.problem:
        blocks.append(Words(f"It can't be made any more as it was typed: {page.problem}"))
    if page.sheets or page.torque:
        caption = f"{page.name}, to scale." + (" Below: torque over the turn." if page.torque else "")
        blocks.append(Picture(f"part-{number}", caption, partial(_picture, page)))
    if page.rows:
        columns = (Column("figure", share=1.2), Column("value", share=1.6))
        blocks.append(Table(f"Figures of {page.name}.", columns, page.rows))
    if page.typed:
        columns = (Column("field", share=1.2), Column("typed", share=1.6))
        blocks.append(Table(f"What was typed for {page.name}.", columns, page.typed))
    blocks += [Bullets(page.words)] if page.words else []
    blocks += [Caution(words) for words in page.cautions]
    return blocks


def _picture(page: PartPage, key: str, width: float) -> Drawing:
    return part_picture(
        page.sheets, key=key, width=width, torque=page.torque, others=page.others, title=page.name
    )
