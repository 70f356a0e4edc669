"""Matches of one plan: totals for each match, or the events of one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shotwright.match.case import Chances, MatchCase
from shotwright.match.match_kernel import TOLD, compiled_matches, run_match

FloatArray = NDArray[np.float64]

_MOST_BLOCKS = 512
KINDS = ("arrived", "aimed", "jam cleared", "hit", "miss", "picked up", "left, blocked", "free again")


def run_plan(case: MatchCase, chances: Chances, drawn: FloatArray | None = None) -> FloatArray:
    """Run every match of a chunk.

    Parameters
    ----------
    case : MatchCase
        The plan.
    chances : Chances
        What decides the matches; the same for every plan that is to be compared.
    drawn : ndarray, optional
        ``chances.drawn(1)``, when it is there already.

    Returns
    -------
    ndarray, shape (m, 14)
        Totals of each match by the columns of :mod:`shotwright.match.match_kernel`. [SI]
    """
    hit = np.atleast_2d(case.hit)
    hit = hit[np.arange(chances.matches) % len(hit)]
    told, blocks = np.zeros((chances.matches, TOLD)), 1
    waiting = np.arange(chances.matches)
    while True:
        draws = drawn if drawn is not None and blocks == 1 else chances.drawn(blocks)
        part, rows = np.zeros((len(waiting), TOLD)), np.zeros(len(waiting), dtype=np.int64)
        # a match that used up its numbers begins again, with the same ones and more behind them
        compiled_matches()(
            *_arrays(case, hit[waiting]), draws if len(waiting) == len(draws) else draws[waiting], part, rows
        )
        done = rows >= 0
        told[waiting[done]] = part[done]
        waiting = waiting[~done]
        if not len(waiting):
            return told
        blocks *= 2
        assert blocks <= _MOST_BLOCKS  # an hour of shots 20 ms apart needs fewer


def _arrays(case: MatchCase, hit: FloatArray) -> tuple[NDArray[np.generic], ...]:
    return (
        case.params,
        case.travel,
        case.spots,
        hit,
        case.depots,
        case.order,
        case.route,
        case.shares,
        case.stay,
        case.comes,
    )


def events_of(
    case: MatchCase, draws: FloatArray, hit: FloatArray | None = None
) -> list[tuple[float, str, str]]:
    """Tell one match event by event.

    Parameters
    ----------
    case : MatchCase
        The plan.
    draws : ndarray, shape (7 + 2 k + d, w)
        Chances of this match, enough of them. [-]
    hit : ndarray, shape (n,), optional
        Instead of the case's. [-]

    Returns
    -------
    list of (float, str, str)
        Time [s], what, where.
    """
    log = np.zeros((20 * draws.shape[1], 3))
    chosen = (case.hit if case.hit.ndim == 1 else case.hit[0]) if hit is None else hit
    count = run_match(
        case.params, case.travel, case.spots, chosen, case.depots, case.order, case.route,
        case.shares, case.stay, case.comes, draws, np.zeros(TOLD), log,
    )  # fmt: skip
    assert count >= 0
    nodes = ("start", *case.positions, *case.stations)
    told = []
    for time, kind, place in log[:count]:
        what = KINDS[int(kind)]
        names = nodes if what == "arrived" else case.stations if what == "picked up" else case.positions
        told.append((float(time), what, names[int(place)]))
    return told
