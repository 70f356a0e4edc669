"""Sections as plain data for the templates: kinds named, figures drawn, figures and tables numbered."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

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

Draw = Callable[[Picture], dict[str, Any]]


def laid_out(sections: Sequence[Section], draw: Draw) -> list[dict[str, Any]]:
    """Turn sections into dictionaries.

    Parameters
    ----------
    sections : sequence of Section
        In reading order.
    draw : callable
        Gives what a template needs of a figure besides its caption.

    Returns
    -------
    list of dict
        Sections with their blocks; figures and tables carry their number, counted through the notebook.
    """
    counts = {"picture": 0, "table": 0}

    def one(block: Block) -> dict[str, Any]:
        plain = _plain(block, draw)
        if plain["kind"] in counts:
            counts[plain["kind"]] += 1
            plain["number"] = counts[plain["kind"]]
        return plain

    return [
        {
            "key": section.key,
            "title": section.title,
            "fresh_page": section.fresh_page,
            "blocks": [one(block) for block in section.blocks],
        }
        for section in sections
    ]


def _plain(block: Block, draw: Draw) -> dict[str, Any]:
    match block:
        case Words(text):
            return {"kind": "words", "text": text}
        case Heading(text):
            return {"kind": "heading", "text": text}
        case Caution(text):
            return {"kind": "caution", "text": text}
        case Bullets(items):
            return {"kind": "bullets", "lines": list(items)}
        case Table(caption, columns, rows):
            heads = [_column(column) for column in columns]
            return {
                "kind": "table",
                "caption": caption,
                "columns": heads,
                "rows": [list(row) for row in rows],
            }
        case Picture(key, caption, _):
            return {"kind": "picture", "key": key, "caption": caption, **draw(block)}


def _column(column: Column) -> dict[str, Any]:
    return {"name": column.name, "figures": column.figures, "share": column.share}
