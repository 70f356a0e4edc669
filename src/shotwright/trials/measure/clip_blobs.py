"""What moves in a clip and could be a ball, frame by frame, in bounded memory. Runs in the child process.

The background is the median of frames from the clip's begin, and follows slow changes of the light by one
step of brightness at a time. What differs from it is looked for on a small picture; what has a ball's size is
then measured on the whole one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.trials.measure.clip_decode import Frame, Image
from shotwright.trials.measure.streak import cover_of, streak_of

SMALL_WIDTH = 400  # px; the picture that is searched is at least so wide, and less than twice
BUFFER_BYTES = 120_000_000
MOST_BLOBS = 24  # of one frame
_LEARN_FRAMES, _LEARN_FROM = 25, 9
_FOLLOW_EVERY = 16  # frames
_LEAST_CHANGE = 14.0  # of 255
_WHOLE_SIZE = 120  # px; larger blobs are measured on the small picture, which is exact enough for them

# frame, x, y, radius, length, direction, fit, contrast, and how much like a shadow: numbers of one candidate
Candidate = tuple[int, float, float, float, float, float, float, float, float]


@dataclass(slots=True)
class Background:
    """The scene without what moves; learned from the first frames, then followed."""

    cv2: Any
    still: Image
    halvings: int
    small: Image
    change: float
    seen: int = 0

    @classmethod
    def of(cls, cv2: Any, pictures: list[Image]) -> Background:
        """Learn it from some frames."""
        chosen = [pictures[k] for k in np.unique(np.linspace(0, len(pictures) - 1, _LEARN_FROM).astype(int))]
        still = median_picture(cv2, chosen)
        halvings = 0
        while still.shape[1] >> (halvings + 1) >= SMALL_WIDTH:
            halvings += 1
        made = cls(cv2, still, halvings, still, _LEAST_CHANGE)
        made.small = made.shrink(still)
        noise = [float(np.median(cv2.absdiff(made.shrink(one), made.small))) for one in chosen[:3]]
        made.change = max(_LEAST_CHANGE, 6.0 * 1.4826 * float(np.mean(noise)))
        return made

    def shrink(self, picture: Image) -> Image:
        """Return the small picture that is searched."""
        if self.halvings == 0:
            return picture
        # one row of so many, and in it two pixels averaged: reading the whole picture would cost more than
        # all that follows
        rows = picture[self.step // 2 :: self.step]
        size = (picture.shape[1] // self.step, len(rows))
        part = rows[:, : size[0] * self.step]
        return np.asarray(self.cv2.resize(part, size, interpolation=self.cv2.INTER_LINEAR), dtype=np.uint8)

    def follow(self, picture: Image) -> None:
        """Go one step of brightness towards the frame, every few frames."""
        self.seen += 1
        if self.seen % _FOLLOW_EVERY:
            return
        cv2 = self.cv2
        above = cv2.min(cv2.subtract(picture, self.still), 1)
        below = cv2.min(cv2.subtract(self.still, picture), 1)
        self.still = cv2.subtract(cv2.add(self.still, above), below)
        self.small = self.shrink(self.still)

    @property
    def step(self) -> int:
        """Pixels of the whole picture for one of the small one."""
        return 1 << self.halvings

    def blobs(self, small: Image) -> Iterator[tuple[int, int, int, int, float]]:
        """Yield boxes of what differs: left, top, width, height on the small picture, and its area."""
        cv2 = self.cv2
        change = cv2.absdiff(small, self.small)
        blue, green, red = cv2.split(change)
        most = cv2.max(cv2.max(blue, green), red)
        _, mask = cv2.threshold(most, self.change, 255, cv2.THRESH_BINARY)
        mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
        outlines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        boxes = [(*cv2.boundingRect(one), cv2.contourArea(one) + 0.5 * len(one)) for one in outlines]
        boxes = [box for box in boxes if box[4] >= 4.0]
        yield from sorted(boxes, key=lambda box: -box[4])[: 2 * MOST_BLOBS]


# Median of nine by 19 comparisons: A. W. Paeth, in Graphics Gems, Academic Press (1990), and J. L. Smith,
# XCell 23 (1996), from memory; a test holds it against sorting.
_NINE = (
    (1, 2), (4, 5), (7, 8), (0, 1), (3, 4), (6, 7), (1, 2), (4, 5), (7, 8), (0, 3),
    (5, 8), (4, 7), (3, 6), (1, 4), (2, 5), (4, 7), (4, 2), (6, 4), (4, 2),
)  # fmt: skip


def median_picture(cv2: Any, pictures: list[Image]) -> Image:
    """Median of up to nine pictures, pixel by pixel.

    Parameters
    ----------
    cv2 : module
        OpenCV.
    pictures : list of ndarray
        One to nine of one size; of fewer than nine some count twice. [of 255]

    Returns
    -------
    ndarray
        The median.
    """
    row = [pictures[k * len(pictures) // 9] for k in range(9)]
    for a, b in _NINE:
        row[a], row[b] = cv2.min(row[a], row[b]), cv2.max(row[a], row[b])
    return row[4]


def candidates_in(
    cv2: Any, frames: Iterable[Frame], told: Callable[[int, float], None]
) -> Iterator[tuple[int, float, list[Candidate]]]:
    """Look through frames for what could be a ball.

    Parameters
    ----------
    cv2 : module
        OpenCV.
    frames : iterable of Frame
        In their order.
    told : callable
        Told number and time of each frame.

    Yields
    ------
    tuple of int, float, list
        Frame, time [s], and its candidates.
    """
    waiting: list[Frame] = []
    scene: Background | None = None
    for frame in frames:
        told(frame.number, frame.time)
        if scene is None:
            waiting.append(frame)
            room = max(3, BUFFER_BYTES // frame.picture.nbytes)
            if len(waiting) < min(_LEARN_FRAMES, room):
                continue
            scene = Background.of(cv2, [one.picture for one in waiting])
            for one in waiting:
                yield one.number, one.time, _candidates(scene, one)
            waiting.clear()
            continue
        yield frame.number, frame.time, _candidates(scene, frame)
    if waiting:
        scene = Background.of(cv2, [one.picture for one in waiting])
        for one in waiting:
            yield one.number, one.time, _candidates(scene, one)


def _candidates(scene: Background, frame: Frame) -> list[Candidate]:
    small = scene.shrink(frame.picture)
    height, width = small.shape[:2]
    found: list[Candidate] = []
    for left, top, wide, high, area in scene.blobs(small):
        # a ball fills its box or is a slanted streak in it; it is no larger than a third of the picture
        if wide > 0.5 * width or high > 0.5 * height or min(wide, high) > 0.33 * height:
            continue
        if area < 0.15 * wide * high or (
            left <= 0 or top <= 0 or left + wide >= width or top + high >= height
        ):
            continue
        one = _measured(scene, frame, small, (left, top, wide, high))
        if one is not None:
            found.append(one)
        if len(found) >= MOST_BLOBS:
            break
    scene.follow(frame.picture)
    return found


def _measured(
    scene: Background, frame: Frame, small: Image, box: tuple[int, int, int, int]
) -> Candidate | None:
    left, top, wide, high = box
    step = scene.step
    whole = step == 1 or max(wide, high) * step <= _WHOLE_SIZE
    picture, still = (frame.picture, scene.still) if whole else (small, scene.small)
    scale = step if whole else 1
    margin = 2 + 2 * scale
    x0, y0 = max(left * scale - margin, 0), max(top * scale - margin, 0)
    x1 = min((left + wide) * scale + margin, picture.shape[1])
    y1 = min((top + high) * scale + margin, picture.shape[0])
    part = picture[y0:y1, x0:x1].astype(np.float64)
    behind = still[y0:y1, x0:x1].astype(np.float64)
    cover = cover_of(part, behind, 0.12)
    cover = _one_piece(scene.cv2, cover)
    streak = streak_of(cover)
    if streak is None or streak.fit < 0.55:
        return None
    shown = cover > 0.5
    contrast = float(np.abs(part - behind).max(axis=2)[shown].mean()) if shown.any() else 0.0
    ratio = 1.0 if whole else float(step)
    across = 0.0 if whole else 0.5 * (step - 1)  # of the first small pixel in the whole picture, see `shrink`
    down = 0.0 if whole else step // 2
    return (
        frame.number,
        (streak.x + x0) * ratio + across,
        (streak.y + y0) * ratio + down,
        streak.radius * ratio,
        streak.length * ratio,
        streak.direction,
        streak.fit,
        contrast,
        _like_shadow(part, behind, shown),
    )


def _one_piece(cv2: Any, cover: NDArray[Any]) -> NDArray[Any]:
    """Keep the largest connected piece of a cover."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats((cover > 0).astype(np.uint8), connectivity=4)
    if count <= 2:
        return cover
    best = 1 + int(np.argmax(stats[1:, 4]))
    return np.where(labels == best, cover, 0.0)


def _like_shadow(part: NDArray[Any], behind: NDArray[Any], shown: NDArray[np.bool_]) -> float:
    """1 when all three colours fell by one and the same factor, towards 0 otherwise."""
    if not shown.any():
        return 0.0
    ratio = part[shown].mean(axis=0) / np.maximum(behind[shown].mean(axis=0), 1.0)
    if ratio.max() > 0.97 or ratio.min() < 0.35:
        return 0.0
    return float(max(0.0, 1.0 - np.ptp(ratio) / 0.08))
