"""Where along a line of launches the ball scores: intervals, their ends, and the holes that solids cut.

A line of launches is one elevation with rising speed, or one speed with rising elevation. The `margin` of a
launch is how far the ball's surface stays clear, negative when it does not score, and minus infinity when it
never gets there.
All lines are searched together, so that each round is one batch of flights.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

# (line numbers (m,), places along their lines (m,)) -> margins (m,) [m]
Margin = Callable[[IntArray, FloatArray], FloatArray]
Interval = tuple[float, float]

EDGE_TOLERANCE = 1e-9  # of the place of an edge: m/s, or rad

_PARTS = 6  # a bracket of two cells is searched at this many places
_NARROWEST = 1e-6  # of the place along the line: a gap or a window thinner than that is not looked for
_ZOOMS = 10
_ROUNDS = 60
_INSIDE_POINTS = 24
_SLOWLY = 5.0  # m/s or rad of a line for each metre of margin


def scoring_intervals(
    margin: Margin,
    lines: int,
    grid: FloatArray,
    likely: tuple[IntArray, FloatArray] | None = None,
    *,
    tolerance: float = EDGE_TOLERANCE,
) -> list[list[Interval]]:
    """Find the intervals of each line on which the margin is not negative.

    Parameters
    ----------
    margin : callable
        Must rise and fall smoothly enough that a window shows as a local maximum on the grid.
    lines : int
        How many lines.
    grid : ndarray, shape (m,)
        Rising places at which every line is looked at first; its ends bound the search.
        [m/s] or [rad]
    likely : tuple of ndarray, each (p,), optional
        Lines, and places on them within the grid, that are looked at as well; where one scores, its peak need
        not be searched. [-], [m/s] or [rad]
    tolerance : float
        How near the ends are closed in upon. [m/s] or [rad]

    Returns
    -------
    list of list of (float, float)
        Rising intervals of each line. Their ends score themselves, and lie within `tolerance` of the
        place where the margin changes sign.

    Notes
    -----
    A window between two places of the grid shows as a peak of negative margins; it is closed in upon until it
    is found, or thinner than one part in a million.
    """
    line = np.repeat(np.arange(lines), len(grid))
    place = np.tile(np.asarray(grid, dtype=float), lines)
    if likely is not None:
        line, place = np.concatenate([line, likely[0]]), np.concatenate([place, likely[1]])
    found = _closed_in(margin, (line, place, margin(line, place)), 1.0)
    return _intervals(margin, _closed_in(margin, found, -1.0), lines, tolerance)


def cut_intervals(
    margin: Margin, intervals: list[list[Interval]], *, tolerance: float = EDGE_TOLERANCE
) -> list[list[Interval]]:
    """Keep the parts of known intervals on which another margin is not negative either.

    Parameters
    ----------
    margin : callable
        The margin that cuts, such as the clearance over solids.
    intervals : list of list of (float, float)
        Intervals of each line. [m/s] or [rad]
    tolerance : float
        How near the ends are closed in upon, as a share of an interval. [-]

    Returns
    -------
    list of list of (float, float)
        Parts of `intervals`.

    Notes
    -----
    Each interval is looked at in 24 places; a free gap between two solids that is narrower than one step
    between them may be missed.
    """
    pieces = [(line, low, high) for line, found in enumerate(intervals) for low, high in found]
    kept: list[list[Interval]] = [[] for _ in intervals]
    if not pieces:
        return kept
    owner = np.array([piece[0] for piece in pieces])
    low, high = np.array([piece[1:] for piece in pieces]).T

    def along(piece: IntArray, share: FloatArray) -> FloatArray:
        return margin(owner[piece], low[piece] + share * (high - low)[piece])

    shares = np.linspace(0.0, 1.0, _INSIDE_POINTS)
    piece = np.repeat(np.arange(len(pieces)), len(shares))
    share = np.tile(shares, len(pieces))
    samples = _closed_in(along, (piece, share, along(piece, share)), -1.0)
    for number, parts in enumerate(_intervals(along, samples, len(pieces), tolerance)):
        span = high[number] - low[number]
        kept[owner[number]] += [
            (float(low[number] + a * span), float(low[number] + b * span)) for a, b in parts
        ]
    return kept


Samples = tuple[IntArray, FloatArray, FloatArray]


def _sorted(samples: Samples) -> Samples:
    line, place, value = samples
    order = np.lexsort((place, line))
    return line[order], place[order], value[order]


def _closed_in(margin: Margin, samples: Samples, side: float) -> Samples:
    """Add samples around peaks below zero (side 1) or dips above zero (side -1) until each is settled."""
    for _ in range(_ZOOMS):
        line, place, value = _sorted(samples)
        samples = line, place, value
        i = _unsettled(line, place, side * value)
        if not len(i):
            break
        # the samples beside the peak are known already; the two cells are cut into even parts
        steps = np.arange(1, _PARTS)
        left = place[i - 1][:, None] + (place[i] - place[i - 1])[:, None] * steps / _PARTS
        right = place[i][:, None] + (place[i + 1] - place[i])[:, None] * steps / _PARTS
        new_place = np.hstack([left, right]).ravel()
        new_line = np.repeat(line[i], 2 * len(steps))
        new_value = margin(new_line, new_place)
        samples = (
            np.concatenate([line, new_line]),
            np.concatenate([place, new_place]),
            np.concatenate([value, new_value]),
        )
    return _sorted(samples)


def _unsettled(line: IntArray, place: FloatArray, value: FloatArray) -> IntArray:
    """Samples that are peaks below zero and may hide a place above zero in the cells beside them."""
    i = np.arange(1, len(line) - 1)
    inner = (line[i - 1] == line[i]) & (line[i + 1] == line[i])
    with np.errstate(invalid="ignore"):
        rises = value[i] - value[i - 1]
        falls = value[i] - value[i + 1]
        peak = (value[i] < 0.0) & np.isfinite(value[i]) & (rises >= 0.0) & (falls >= 0.0)
        # a peak of two straight flanks stands no higher than the steeper flank carried on over its cell
        wide = place[i + 1] - place[i - 1] > _NARROWEST * np.abs(place[i])
        may_reach = value[i] + 2.0 * np.maximum(rises, falls) >= 0.0
    return np.asarray(i[inner & peak & wide & may_reach])


def _intervals(margin: Margin, samples: Samples, lines: int, tolerance: float) -> list[list[Interval]]:
    """Turn signs of sorted samples into intervals, their ends refined."""
    line, place, value = samples
    good = value >= 0.0
    change = np.nonzero((line[:-1] == line[1:]) & (good[:-1] != good[1:]))[0]
    opens = good[change + 1]
    inside = np.where(opens, change + 1, change)
    outside = np.where(opens, change, change + 1)
    edge = refined_edges(
        margin,
        line[inside],
        (place[inside], value[inside]),
        (place[outside], value[outside]),
        tolerance=tolerance,
    )
    found: list[list[Interval]] = [[] for _ in range(lines)]
    first = np.flatnonzero(np.diff(line, prepend=-1))
    last = np.flatnonzero(np.diff(line, append=-1))
    begins: list[tuple[int, float]] = [(int(line[k]), float(place[k])) for k in first if good[k]]
    ends: list[tuple[int, float]] = [(int(line[k]), float(place[k])) for k in last if good[k]]
    begins += [(int(line[k]), float(e)) for k, e, o in zip(inside, edge, opens, strict=True) if o]
    ends += [(int(line[k]), float(e)) for k, e, o in zip(inside, edge, opens, strict=True) if not o]
    for (number, low), (_, high) in zip(sorted(begins), sorted(ends), strict=True):
        found[number].append((low, high))
    return found


def refined_edges(
    margin: Margin,
    line: IntArray,
    inside: tuple[FloatArray, FloatArray],
    outside: tuple[FloatArray, FloatArray],
    *,
    tolerance: float = EDGE_TOLERANCE,
) -> FloatArray:
    """Close in on the places where the margin changes sign, all at once.

    Chandrupatla's rule: inverse quadratic interpolation where it is safe, else bisection. While one side is
    infinite, as it is behind a solid, the line through the two last margins of the other side says where the
    change is; the bracket is closed a little beyond it and a little before it in turn.

    Parameters
    ----------
    margin : callable
        The margin.
    line : ndarray of int, shape (m,)
        Line of each edge, counted from 0. [-]
    inside, outside : tuple of ndarray, each (m,)
        Places [m/s] or [rad] and margins [m] on the side that scores (margin >= 0) and on the other.
    tolerance : float
        How near; rounding of the places themselves is allowed for. [m/s] or [rad]

    Returns
    -------
    ndarray, shape (m,)
        Places on the scoring side, within `tolerance` of the change.

    References
    ----------
    T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear
    function without using derivatives", Advances in Engineering Software 28, 145-149 (1997); from memory.
    """
    a, fa = (np.array(one, dtype=float) for one in inside)
    b, fb = (np.array(one, dtype=float) for one in outside)
    c, fc = a.copy(), fa.copy()
    good, share = a.copy(), np.full(len(a), 0.5)
    line_on = _LineOn(a, fa)
    at_once = np.flatnonzero(~np.isfinite(fb))
    share[at_once] = line_on.share(at_once, a[at_once], b[at_once], tolerance)
    open_ = np.arange(len(a))
    for _ in range(_ROUNDS):
        near = np.maximum(tolerance, 4 * np.finfo(float).eps * np.abs(b[open_]))
        open_ = open_[np.abs(b[open_] - a[open_]) > near]
        if not len(open_):
            break
        k = open_
        t = a[k] + share[k] * (b[k] - a[k])
        ft = margin(line[k], t)
        good[k] = np.where(ft >= 0.0, t, good[k])
        line_on.add(k, t, ft)
        same = (ft >= 0.0) == (fa[k] >= 0.0)
        # c is the place given up; a becomes the newest place, b the one across the change
        c[k], fc[k] = np.where(same, a[k], b[k]), np.where(same, fa[k], fb[k])
        b[k], fb[k] = np.where(same, b[k], a[k]), np.where(same, fb[k], fa[k])
        a[k], fa[k] = t, ft
        share[k] = _next_share((a[k], b[k], c[k]), (fa[k], fb[k], fc[k]), tolerance)
        one_sided = k[~np.isfinite(fa[k]) | ~np.isfinite(fb[k])]
        share[one_sided] = line_on.share(one_sided, a[one_sided], b[one_sided], tolerance)
    return good


class _LineOn:
    """Where the line through the two last margins of the scoring side meets zero, for each edge."""

    def __init__(self, place: FloatArray, margin: FloatArray) -> None:
        self._place = np.array([np.full(len(place), np.nan), place])
        self._margin = np.array([np.full(len(place), np.nan), margin])
        self._zero = np.full(len(place), np.nan)
        self._doubt = np.full(len(place), np.nan)
        self._width = np.full((2, len(place)), np.inf)
        self._last_scored = np.ones(len(place), dtype=bool)

    def add(self, k: IntArray, place: FloatArray, margin: FloatArray) -> None:
        """Take the newest margins of edges `k`."""
        scored = margin >= 0.0
        self._last_scored[k] = scored
        k, place, margin = k[scored], place[scored], margin[scored]
        self._place[0, k], self._place[1, k] = self._place[1, k], place
        self._margin[0, k], self._margin[1, k] = self._margin[1, k], margin
        with np.errstate(invalid="ignore", divide="ignore"):
            slope = (self._margin[1, k] - self._margin[0, k]) / (place - self._place[0, k])
            zero = place - margin / slope
        off = np.abs(zero - self._zero[k])
        self._doubt[k] = np.where(np.isnan(off), np.abs(zero - place), off)
        self._zero[k] = zero

    def share(self, k: IntArray, newest: FloatArray, across: FloatArray, tolerance: float) -> FloatArray:
        """Where between the newest place and the one across the change to look next; 0.5 when unsure."""
        scoring = np.where(self._last_scored[k], newest, across)
        beyond = np.where(self._last_scored[k], across, newest)
        width = np.abs(beyond - scoring)
        slow = width > 0.5 * self._width[0, k]
        self._width[0, k], self._width[1, k] = self._width[1, k], width
        room = np.maximum(0.5 * self._doubt[k], 0.4 * tolerance)
        way = np.sign(beyond - scoring) * np.where(self._last_scored[k], 1.0, -1.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            part = (self._zero[k] + way * room - newest) / (across - newest)
        usable = np.isfinite(part) & (part > 0.0) & (part < 1.0) & ~slow
        # with one margin only: not farther than where a margin that falls slowly is used up
        near = np.maximum(_SLOWLY * self._margin[1, k], 0.4 * tolerance) / width
        first = np.minimum(np.where(self._last_scored[k], near, 1.0 - near), 1.0)
        bold = np.isnan(self._zero[k]) & (near < 0.5) & ~slow
        return np.where(usable, part, np.where(bold, first, 0.5))


def _next_share(
    places: tuple[FloatArray, FloatArray, FloatArray],
    values: tuple[FloatArray, FloatArray, FloatArray],
    tolerance: float,
) -> FloatArray:
    """Where between a and b to look next, as a share of the way."""
    (a, b, c), (fa, fb, fc) = places, values
    with np.errstate(invalid="ignore", divide="ignore"):
        xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
        safe = (phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
        quadratic = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        least = 0.25 * tolerance / np.abs(b - a)
    share = np.where(safe & np.isfinite(quadratic), quadratic, 0.5)
    # half a tolerance past the estimate, so that the change is bracketed in the next round
    share = share + np.where(share < 0.5, least, -least) * 2.0
    return np.asarray(np.clip(share, np.minimum(least, 0.5), np.maximum(1.0 - least, 0.5)))
