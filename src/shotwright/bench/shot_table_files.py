"""A shot table written out: spreadsheet, C header, picture, drivers' card."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

from shotwright import __version__
from shotwright.base.errors import BadInput
from shotwright.notebook.figures.shot_table_curve import shot_table_curve
from shotwright.tuning.exports import c_header_of, csv_of
from shotwright.tuning.records import ShotTable

_SIDE = 720.0  # px


def shot_table_svg(table: ShotTable) -> str:
    """Return setting and hit probability over the distance as an SVG picture."""
    return shot_table_curve(table, key="shot-table", width=_SIDE).svg()


def card_bytes(table: ShotTable, made_on: datetime.date | None = None) -> bytes:
    """Return the drivers' card as the bytes of a PDF; today's date when none is given."""
    from shotwright.notebook.drivers_card import card_pdf

    return card_pdf(table, made_on or datetime.datetime.now().astimezone().date(), __version__)


def csv_bytes(table: ShotTable) -> bytes:
    """Return the table for a spreadsheet."""
    return csv_of(table).encode()


def c_header_bytes(table: ShotTable) -> bytes:
    """Return the table as a C header."""
    return c_header_of(table).encode()


def write_shot_table(
    table: ShotTable,
    *,
    csv: Path | None = None,
    header: Path | None = None,
    picture: Path | None = None,
    card: Path | None = None,
) -> tuple[str, ...]:
    """Write a table in the forms asked for; files that are there are replaced.

    Parameters
    ----------
    table : ShotTable
        The table.
    csv, header, picture, card : Path, optional
        CSV, C header, SVG picture, A5 page as PDF.

    Returns
    -------
    tuple of str
        The files written.

    Raises
    ------
    BadInput
        A file can't be written.
    """
    forms: tuple[tuple[Path | None, Callable[[ShotTable], bytes]], ...] = (
        (csv, csv_bytes),
        (header, c_header_bytes),
        (picture, lambda one: shot_table_svg(one).encode()),
        (card, card_bytes),
    )
    written = []
    for path, made in forms:
        if path is None:
            continue
        try:
            path.write_bytes(made(table))
        except OSError as reason:
            raise BadInput(f"can't be written ({reason.strerror})", file=str(path)) from None
        written.append(str(path))
    return tuple(written)
