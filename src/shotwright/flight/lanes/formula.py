"""The stages as plain functions, made from their text; other kinds are made when they are compiled."""

from __future__ import annotations

import math
from typing import Any

from shotwright.flight.lanes import layout
from shotwright.flight.lanes.elementary import exponential, logarithm
from shotwright.flight.lanes.generate import stages_text, sum_text
from shotwright.flight.lanes.rates import TINY


def formula(drag: str, *, decay: bool) -> dict[str, Any]:
    """Make the functions ``stages`` and ``sum_up`` of one kind.

    Parameters
    ----------
    drag : str
        As `generate.stages_text` takes it.
    decay : bool
        Whether the spin fades.

    Returns
    -------
    dict
        The two functions, and the names that they use.
    """
    scope: dict[str, Any] = {**vars(layout), "math": math, "TINY": TINY}
    scope |= {"logarithm": logarithm, "exponential": exponential}
    text = stages_text(drag, decay=decay) + "\n" + sum_text(decay=decay)
    exec(compile(text, __file__, "exec"), scope)  # noqa: S102  # the text is this package's own
    return scope


_SIMPLEST = formula("steady", decay=False)
stages, sum_up = _SIMPLEST["stages"], _SIMPLEST["sum_up"]
