"""Flights among all that moved: candidates of many frames linked into tracks, one for each shot.

A thrown ball keeps its size and its path is nearly a parabola in time: a link is tried from every pair of
candidates in neighbouring frames, carried on frame by frame by a short parabola, and kept when it is long,
smooth and falls. People, hands and shadows move too, but not like that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LEAST_POINTS = 5
_WINDOW = 6  # last points that the short parabola goes through
_GAP = 4  # frames without the ball, behind an object or a person
_SIZE_RATIO = 1.35
_SIZE_SD = 0.04  # by which a clean ball's radius may wander, as light and background change
_FRAME, _X, _Y, _R, _L, _DIRECTION, _FIT, _CONTRAST, _SHADOW = range(9)


@dataclass(frozen=True, slots=True)
class TrackPoint:
    """The ball in one frame.

    Parameters
    ----------
    frame : int
        Counted from 0.
    time : float
        [s]
    x, y : float
        Centre at mid-exposure; y down. [px]
    radius, length : float
        Of the ball; of its streak. [px]
    confidence : float
        0 to 1: how much it looks like a ball and lies where the others say.
    by_hand : bool
        Whether a person put it there.
    """

    frame: int
    time: float
    x: float
    y: float
    radius: float
    length: float
    confidence: float
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class Track:
    """One flight as the camera saw it.

    Parameters
    ----------
    points : tuple of TrackPoint
        By rising frame.
    after_bounce : bool
        Whether it begins where and when another one ended: the ball after a bounce, not a shot.
    fall : float
        Downward acceleration in the picture. [px/s^2]
    fall_sd : float
        Its standard deviation. [px/s^2]
    shadow : float
        How much it looks like a shadow on the wall, 0 to 1. [-]
    """

    points: tuple[TrackPoint, ...]
    after_bounce: bool = False
    fall: float = 0.0
    fall_sd: float = 0.0
    shadow: float = 0.0

    @property
    def radius(self) -> float:
        """Middle radius of the ball. [px]."""
        return float(np.median([p.radius for p in self.points]))

    @property
    def frames(self) -> tuple[int, int]:
        """First and last frame."""
        return self.points[0].frame, self.points[-1].frame


def tracks_in(
    frames: NDArray[np.int64],
    times: FloatArray,
    candidates: FloatArray,
    *,
    diameter: float | None = None,
    time_factor: float = 1.0,
) -> tuple[Track, ...]:
    """Link candidates into flights.

    Parameters
    ----------
    frames : ndarray of int, shape (k,)
        Numbers of the frames that were looked at. [-]
    times : ndarray, shape (k,)
        Their times. [s]
    candidates : ndarray, shape (m, 9)
        As `clip.find_in` gives them. [px]
    diameter : float, optional
        Of the ball: then what falls as a ball of that size on Earth goes before anything else. [m]
    time_factor : float
        Seconds of the world for one of the clip. [-]

    Returns
    -------
    tuple of Track
        By rising time; pieces after a bounce are marked.
    """
    at = dict(zip(frames.tolist(), (times * time_factor).tolist(), strict=True))
    by_frame: dict[int, list[FloatArray]] = {k: [] for k in at}
    for row in candidates:
        by_frame[int(row[_FRAME])].append(row)
    order = frames.tolist()
    used: set[tuple[int, int]] = set()
    found: list[Track] = []
    for i in range(len(order)):
        while (best := _best_from(i, order, at, by_frame, used)) is not None:
            used.update(best)
            track = _track(best, at, by_frame)
            if track is not None:
                found.append(track)
    return _sorted_out(found, diameter)


Link = list[tuple[int, int]]


def _best_from(
    i: int,
    order: Sequence[int],
    at: dict[int, float],
    by_frame: dict[int, list[FloatArray]],
    used: set[tuple[int, int]],
) -> Link | None:
    """Longest link whose first point is in frame number i of the order; None when none is long enough."""
    best: Link | None = None
    for a, one in enumerate(by_frame[order[i]]):
        if (order[i], a) in used:
            continue
        for j in range(i + 1, min(i + 3, len(order))):
            for b, two in enumerate(by_frame[order[j]]):
                if (order[j], b) in used or not _could_follow(one, two):
                    continue
                link = _carried_on([(order[i], a), (order[j], b)], j, order, at, by_frame, used)
                if len(link) >= LEAST_POINTS and (best is None or len(link) > len(best)):
                    best = link
    return best


def _could_follow(one: FloatArray, two: FloatArray) -> bool:
    ratio = two[_R] / one[_R]
    if not 1 / _SIZE_RATIO < ratio < _SIZE_RATIO:
        return False
    dx, dy = two[_X] - one[_X], two[_Y] - one[_Y]
    step = math.hypot(dx, dy)
    if not 0.1 * one[_R] < step < 14.0 * one[_R]:
        return False
    if min(one[_L], two[_L]) > 1.2 * one[_R]:
        # a streak shows the way; it is told up to half a turn
        turn = math.atan2(dy, dx) - one[_DIRECTION]
        return abs(math.sin(turn)) < 0.5
    return True


def _carried_on(
    link: Link,
    j: int,
    order: Sequence[int],
    at: dict[int, float],
    by_frame: dict[int, list[FloatArray]],
    used: set[tuple[int, int]],
) -> Link:
    rows = [by_frame[k][n] for k, n in link]
    link = list(link)
    missed = 0
    for k in order[j + 1 :]:
        recent = rows[-_WINDOW:]
        t = np.array([at[int(row[_FRAME])] for row in recent])
        where = (
            _carry(t, np.array([row[_X] for row in recent]), at[k]),
            _carry(t, np.array([row[_Y] for row in recent]), at[k]),
        )
        step = math.hypot(where[0] - rows[-1][_X], where[1] - rows[-1][_Y])
        radius = float(np.median([row[_R] for row in rows[-5:]]))
        room = 2.5 + 0.25 * radius + (0.35 if len(rows) == 2 else 0.12) * step
        nearest, distance = -1, room
        for n, row in enumerate(by_frame[k]):
            away = math.hypot(row[_X] - where[0], row[_Y] - where[1])
            if away < distance and (k, n) not in used and 0.7 < row[_R] / radius < 1.4:
                nearest, distance = n, away
        if nearest < 0:
            missed += 1
            if missed > _GAP:
                break
            continue
        missed = 0
        link.append((k, nearest))
        rows.append(by_frame[k][nearest])
    return link


def _carry(t: FloatArray, values: FloatArray, to: float) -> float:
    """Value at `to` of the parabola through the points by least squares; through two, of the line."""
    shift = t - t[-1]
    degree = min(2, len(t) - 1)
    return float(np.polyval(np.polyfit(shift, values, degree), to - t[-1]))


def _track(link: Link, at: dict[int, float], by_frame: dict[int, list[FloatArray]]) -> Track | None:
    """Make a track of a link if it goes like a throw: smooth, further than its own size, and falling."""
    rows = np.array([by_frame[k][n] for k, n in link])
    t = np.array([at[k] for k, _ in link])
    keep = np.ones(len(t), dtype=bool)
    for _ in range(3):
        if keep.sum() < LEAST_POINTS:
            return None
        away = _away(t, rows, keep)
        limit = max(3.0 * 1.4826 * float(np.median(away[keep])), 0.05 * float(np.median(rows[:, _R])), 0.6)
        keep = away < limit
    rms = math.sqrt(float(np.mean(away[keep] ** 2)))
    radius = float(np.median(rows[keep, _R]))
    if keep.sum() < LEAST_POINTS or rms > 0.15 * radius + 0.7:
        return None
    far = float(np.hypot(*np.ptp(rows[keep][:, [_X, _Y]], axis=0)))
    fall, fall_sd = second_rate(t[keep], rows[keep, _Y])
    if far < 3.0 * radius or fall < 2.0 * fall_sd or fall <= 0.0:
        return None
    shadow = float(np.median(rows[:, _SHADOW]))
    shape = rows[:, _FIT] * np.clip(rows[:, _CONTRAST] / 40.0, 0.3, 1.0) * (1.0 - 0.5 * shadow)
    # a ball that touches something else in the picture has another size there, and another centre
    off = rows[:, _R] / np.polyval(np.polyfit(t[keep] - t[0], rows[keep, _R], 1), t - t[0]) - 1.0
    off -= np.median(off[keep])
    trust = np.clip(shape * np.exp(-0.5 * (away / limit) ** 2 - 0.5 * (off / _SIZE_SD) ** 2), 0.0, 1.0)
    points = tuple(
        _point(row, float(s), float(c)) for row, s, c in zip(rows[keep], t[keep], trust[keep], strict=True)
    )
    return Track(points, fall=fall, fall_sd=fall_sd, shadow=shadow)


def _point(row: FloatArray, time: float, confidence: float) -> TrackPoint:
    x, y, radius, length = (float(row[k]) for k in (_X, _Y, _R, _L))
    return TrackPoint(int(row[_FRAME]), time, x, y, radius, length, round(confidence, 3))


def _away(t: FloatArray, rows: FloatArray, keep: NDArray[np.bool_]) -> FloatArray:
    """Distance of every point from a smooth path through those kept. [px]."""
    s = (t - t.mean()) / max(float(np.ptp(t)), 1e-9)
    degree = 2 if keep.sum() < 8 else 3 if keep.sum() < 20 else 4
    out = np.zeros(len(t))
    for axis in (_X, _Y):
        out += (rows[:, axis] - np.polyval(np.polyfit(s[keep], rows[keep, axis], degree), s)) ** 2
    return np.sqrt(out)


def second_rate(t: FloatArray, y: FloatArray) -> tuple[float, float]:
    """Second rate of a value by the parabola through it.

    Parameters
    ----------
    t : ndarray, shape (k,)
        Times, at least four. [s]
    y : ndarray, shape (k,)
        The value. [any]

    Returns
    -------
    rate, sd : float
        Its second derivative and the standard deviation. [per s^2]
    """
    s = t - t.mean()
    design = np.vander(s, 3)
    solved, *_ = np.linalg.lstsq(design, y, rcond=None)
    left = y - design @ solved
    spread = float(left @ left) / max(len(t) - 3, 1) + 0.05**2
    return 2.0 * float(solved[0]), 2.0 * math.sqrt(spread * float(np.linalg.inv(design.T @ design)[0, 0]))


def _sorted_out(found: list[Track], diameter: float | None) -> tuple[Track, ...]:
    """Drop what others explain better, mark what follows a bounce, order by time."""
    found = sorted(found, key=lambda track: track.points[0].time)
    if diameter is not None:
        on_earth = [t for t in found if 0.4 < t.fall / (9.81 * 2.0 * t.radius / diameter) < 2.2]
        found = on_earth or found
    solid = [t for t in found if t.shadow < 0.6]
    kept: list[Track] = []
    for track in solid or found:
        if any(_outdone(track, other) for other in found if other is not track):
            continue
        whole = _joined(kept[-1], track) if kept else None
        kept[-1:] = [whole] if whole is not None else [*kept[-1:], track]
    return tuple(
        replace(track, after_bounce=any(_bounced(before, track) for before in kept[:i]))
        for i, track in enumerate(kept)
    )


def _joined(before: Track, track: Track) -> Track | None:
    """One flight of two pieces, when the ball was hidden in between; None when it is not one flight."""
    gap = track.points[0].time - before.points[-1].time
    if not 0.0 < gap < 0.6 or not 1 / _SIZE_RATIO < track.radius / before.radius < _SIZE_RATIO:
        return None
    points = before.points + track.points
    t = np.array([p.time for p in points])
    rows = np.array([[p.frame, p.x, p.y] for p in points])
    rms = math.sqrt(float(np.mean(_away(t, rows, np.ones(len(t), dtype=bool)) ** 2)))
    if rms > 0.05 * before.radius + 0.5:
        return None
    fall, fall_sd = second_rate(t, rows[:, _Y])
    return replace(before, points=points, fall=fall, fall_sd=fall_sd)


def _outdone(track: Track, other: Track) -> bool:
    """Whether another track goes alongside and looks more like a ball: then this is its shadow."""
    times = {p.frame: p for p in other.points}
    shared = [(p, times[p.frame]) for p in track.points if p.frame in times]
    if len(shared) < 0.6 * len(track.points):
        return False
    steps = np.array([[p.x - q.x, p.y - q.y] for p, q in shared])
    alongside = float(np.hypot(*np.std(steps, axis=0))) < 0.25 * float(np.hypot(*np.ptp(_xy(track), axis=0)))
    mine, theirs = (float(np.mean([p.confidence for p in t.points])) for t in (track, other))
    return alongside and mine < theirs


def _xy(track: Track) -> FloatArray:
    return np.array([[p.x, p.y] for p in track.points])


def _bounced(before: Track, track: Track) -> bool:
    """Whether `track` begins shortly after `before` ended and near there."""
    end, start = before.points[-1], track.points[0]
    gap = start.time - end.time
    if not -0.02 <= gap <= 0.35:
        return False
    previous = before.points[-2]
    speed = math.hypot(end.x - previous.x, end.y - previous.y) / max(end.time - previous.time, 1e-9)
    return math.hypot(start.x - end.x, start.y - end.y) < 4.0 * before.radius + speed * max(gap, 0.0)


def corrected(track: Track, moved: dict[int, tuple[float, float] | None], times: dict[int, float]) -> Track:
    """Put a person's corrections into a track.

    Parameters
    ----------
    track : Track
        As found.
    moved : dict of int to (x, y) or None
        Frame and where the ball is in it [px]; None takes the frame out. New frames are added.
    times : dict of int to float
        Times of the frames. [s]

    Returns
    -------
    Track
        With the points put by hand marked as such.
    """
    points = {p.frame: p for p in track.points}
    for frame, spot in moved.items():
        old = points.pop(frame, None)
        if spot is not None:
            length = old.length if old else 0.0
            points[frame] = TrackPoint(frame, times[frame], *spot, track.radius, length, 1.0, True)
    return replace(track, points=tuple(points[k] for k in sorted(points)))
