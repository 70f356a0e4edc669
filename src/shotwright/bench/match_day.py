"""Shot table and match plans for the notebook."""

from __future__ import annotations

import dataclasses
from typing import Any

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.progress import Progress, silent
from shotwright.bench.match_plans import plans_of
from shotwright.bench.results import HitTable
from shotwright.bench.shot_tables import table_of_book
from shotwright.bench.workbook import Workbook
from shotwright.choice.records import HitDraws
from shotwright.match.reading import match_from_text
from shotwright.notebook.match_day import MatchDay

_MATCHES = 4000  # fewer than the verb takes: the page prints points to a tenth


def match_day(
    book: Workbook,
    hits: tuple[HitTable, tuple[HitDraws, ...]],
    facts: dict[str, Any],
    *,
    seed: int = 1,
    progress: Progress = silent,
) -> MatchDay:
    """Build the shot table of the chosen prototype, and simulate the plans of the match file.

    Parameters
    ----------
    book : Workbook
        The loaded project; must hold a game.
    hits : tuple of HitTable and HitDraws
        Hit probabilities, computed already.
    facts : dict
        Of the project, for the table kept before.
    seed : int
        Of all draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    MatchDay
        Without a choice there is no table; without a match file no plans.
    """
    found = MatchDay()
    if book.chosen is not None and book.trials_of(book.chosen):
        try:
            table = table_of_book(
                book, kept=facts, seed=seed, progress=lambda f, what="": progress(0.8 * f, what)
            )
            found = dataclasses.replace(found, table=table)
        except (BadInput, NoAnswer) as reason:
            found = dataclasses.replace(found, table_problem=str(reason))
    text = book.crew_files.get("match")
    if text is None:
        return found
    read = match_from_text(text)
    name = read.prototype or book.chosen
    rows = tuple(row for row in hits[0].rows if row.prototype == name)
    draws = tuple(one for one in hits[1] if one.prototype == name)
    try:
        plans = plans_of(
            read,
            book,
            "match.toml",
            matches=_MATCHES,
            seed=seed,
            workers=1,
            hits=(rows, draws) if name is not None else None,
            progress=lambda f, what="": progress(0.8 + 0.2 * f, what),
        )
    except (BadInput, NoAnswer) as reason:
        return dataclasses.replace(found, plans_problem=str(reason))
    return dataclasses.replace(found, plans=plans)
