"""Windows cut into slices: what scores at each elevation, at the parts between, and with how much room.

At the elevations that were looked at a window is exact. Between two of them its edges are interpolated in
1/v^2, which without air is a combination of sine and cosine of twice the elevation, bounded however steep the
shot.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from shotwright.flight.window_edges import Interval
from shotwright.flight.windows import ShotWindow

FINER = 4  # parts into which a step of elevation is cut

T = TypeVar("T")
Slices = list[list[Interval]]  # intervals of speed at each elevation


@dataclass(frozen=True, slots=True)
class Room:
    """How far a setting may be off to either side before it no longer scores.

    Parameters
    ----------
    elevation : float
        At its speed; in whole parts of a step. [deg]
    speed : float
        At its elevation. [m/s]
    kept : float
        Chance that a launch of the window's spread stays within both; compares rooms. [-]
    """

    elevation: float
    speed: float
    kept: float


@dataclass(frozen=True, slots=True, eq=False)
class SlicedWindow:
    """A window with slices between its elevations.

    Parameters
    ----------
    slices : list of list of (float, float)
        Intervals of speed at every part of a step, rising. [m/s]
    step : float
        Between slices. [deg]
    speed_sd, elevation_sd : float
        Launch spread: of the speed as a fraction [-], of the elevation [deg].
    """

    slices: Slices
    step: float
    speed_sd: float
    elevation_sd: float

    def room(self, row: int, speed: float) -> Room | None:
        """Room around a setting; None where it does not score."""
        around = [min(speed - a, b - speed) for a, b in self.slices[row] if a <= speed <= b]
        if not around:
            return None
        sides = [self._reach(row, speed, way) * self.step for way in (1, -1)]
        return Room(min(sides), around[0], self._kept(speed, around[0], min(sides)))

    def best_at_elevation(self, row: int) -> Room | None:
        """Room around the best speed at one elevation: the middle of an interval."""
        rooms = [self.room(row, 0.5 * (a + b)) for a, b in self.slices[row]]
        return max((room for room in rooms if room), key=lambda room: room.kept, default=None)

    def best_at_speed(self, speed: float) -> Room | None:
        """Room around the best elevation at one speed."""
        scoring = [any(a <= speed <= b for a, b in found) for found in self.slices]
        best: Room | None = None
        begin = 0
        for inside, run in itertools.groupby(scoring):
            end = begin + len(list(run))
            for row in range(begin, end) if inside else ():
                edge = max(min(speed - a, b - speed) for a, b in self.slices[row])
                off = min(row - begin, end - 1 - row) * self.step
                kept = self._kept(speed, edge, off)
                if best is None or (kept, edge) > (best.kept, best.speed):
                    best = Room(off, edge, kept)
            begin = end
        return best

    def _kept(self, speed: float, edge: float, off: float) -> float:
        return _within(edge, self.speed_sd * speed) * _within(off, self.elevation_sd)

    def _reach(self, row: int, speed: float, way: int) -> int:
        """How many slices up (1) or down (-1) the speed still scores."""
        steps = 0
        while 0 <= row + (steps + 1) * way < len(self.slices) and any(
            a <= speed <= b for a, b in self.slices[row + (steps + 1) * way]
        ):
            steps += 1
        return steps


def _within(room: float, spread: float) -> float:
    """Chance that a normal deviation stays within `room` to both sides."""
    return math.erf(room / (math.sqrt(2) * spread)) if spread > 0 else 1.0


def tightest(rooms: Sequence[Room]) -> Room:
    """Return what is left of several rooms that must all be kept.

    Parameters
    ----------
    rooms : sequence of Room
        At least one.

    Returns
    -------
    Room
        The smallest of each.
    """
    return Room(
        min(room.elevation for room in rooms),
        min(room.speed for room in rooms),
        min(room.kept for room in rooms),
    )


def sliced(window: ShotWindow) -> SlicedWindow:
    """Cut each step of a window's elevations into parts.

    Parameters
    ----------
    window : ShotWindow
        The window.

    Returns
    -------
    SlicedWindow
        Row k * FINER is the window's own elevation number k.
    """
    rows, degrees = window.intervals_m_s, window.elevations_deg
    fine: Slices = [list(rows[0])]
    for before, after in itertools.pairwise(rows):
        pairs = _links(before, after)
        for part in range(1, FINER):
            t = part / FINER
            fine.append(merged([(_between(a[0], b[0], t), _between(a[1], b[1], t)) for a, b in pairs]))
        fine.append(list(after))
    step = (degrees[1] - degrees[0]) / FINER if len(degrees) > 1 else 0.0
    return SlicedWindow(fine, step, window.scatter_speed, window.scatter_elevation_deg)


def _between(before: float, after: float, share: float) -> float:
    """Speed of an edge a share of the way between two elevations."""
    return float(((1 - share) / before**2 + share / after**2) ** -0.5)


def served_elevations(window: ShotWindow) -> list[Interval]:
    """Elevations at which some speed scores.

    Parameters
    ----------
    window : ShotWindow
        The window.

    Returns
    -------
    list of (float, float)
        Rising. [deg]
    """
    degrees, rows = window.elevations_deg, window.intervals_m_s
    own = [(e, e) for e, found in zip(degrees, rows, strict=True) if found]
    between = [(degrees[k], degrees[k + 1]) for k in range(len(rows) - 1) if _links(rows[k], rows[k + 1])]
    return merged([*own, *between])


def served_speeds(window: ShotWindow) -> list[Interval]:
    """Speeds at which some elevation scores.

    Parameters
    ----------
    window : ShotWindow
        The window.

    Returns
    -------
    list of (float, float)
        Rising. [m/s]
    """
    rows = window.intervals_m_s
    own = [one for found in rows for one in found]
    between = [
        (min(a[0], b[0]), max(a[1], b[1]))
        for before, after in itertools.pairwise(rows)
        for a, b in _links(before, after)
    ]
    return merged([*own, *between])


def _links(before: Sequence[Interval], after: Sequence[Interval]) -> list[tuple[Interval, Interval]]:
    """Intervals of neighbouring elevations that belong together."""
    if len(before) == len(after):
        return list(zip(before, after, strict=True))
    return [(a, b) for a in before for b in after if max(a[0], b[0]) <= min(a[1], b[1])]


def merged(intervals: Sequence[Interval]) -> list[Interval]:
    """Return the union of intervals, rising.

    Parameters
    ----------
    intervals : sequence of (float, float)
        In any order. [m/s] or [rad]

    Returns
    -------
    list of (float, float)
        Without overlaps.

    Examples
    --------
    >>> merged([(2.0, 3.0), (0.0, 1.0), (0.5, 2.0)])
    [(0.0, 3.0)]
    """
    found: list[Interval] = []
    for low, high in sorted(intervals):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def shared(sets: Sequence[Sequence[Interval]]) -> list[Interval]:
    """Return the intersection of sets of intervals.

    Parameters
    ----------
    sets : sequence of sequence of (float, float)
        Each rising without overlaps. [m/s] or [rad]

    Returns
    -------
    list of (float, float)
        Rising; empty when there are no sets.

    Examples
    --------
    >>> shared([[(0.0, 2.0), (3.0, 5.0)], [(1.0, 4.0)]])
    [(1.0, 2.0), (3.0, 4.0)]
    """
    found = list(sets[0]) if sets else []
    for other in sets[1:]:
        found = [(max(a, c), min(b, d)) for a, b in found for c, d in other if max(a, c) <= min(b, d)]
    return found


def groups(sets: Sequence[Sequence[Interval]]) -> dict[int, list[Interval]]:
    """Sort values by the sets that they lie in together.

    Parameters
    ----------
    sets : sequence of sequence of (float, float)
        Set number k is bit k. [m/s] or [rad]

    Returns
    -------
    dict of int to list of (float, float)
        For each group of sets that some value lies in, as bits, where all of the group hold.
    """
    ends = sorted({end for one in sets for interval in one for end in interval})
    points = sorted({*ends, *(0.5 * (a + b) for a, b in itertools.pairwise(ends))})
    masks = {
        sum(1 << k for k, one in enumerate(sets) if any(a <= point <= b for a, b in one)) for point in points
    }
    return {mask: shared(chosen(sets, mask)) for mask in sorted(masks) if mask}


def chosen(things: Sequence[T], mask: int) -> list[T]:
    """Return the things whose bit is set in `mask`."""
    return [one for k, one in enumerate(things) if mask >> k & 1]
