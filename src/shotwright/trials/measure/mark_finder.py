"""Marks on a photo of a floor, found as a proposal: chalk, tape, carbon dots. A person says which are right.

What differs from the floor around it, has the size of a mark where it lies on the floor, and is compact or
a small cross, is proposed, the clearest first. Long lines (seams, tape edges) and large stains are not.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.trials.measure.photo import PlaneMap

FloatArray = NDArray[np.float64]

SMALLEST, LARGEST = 0.006, 0.16  # m across; a carbon dot, a cross of tape
MOST = 60
_WIDTH = 1600  # px; larger photos are made smaller for the search
_CLEAR = 6.0  # of the floor's own grain
_FAINT = 0.25
_ABOVE_LINE = 1.7  # a mark on a seam differs by so much more than the seam


@dataclass(frozen=True, slots=True)
class FoundMark:
    """One proposal.

    Parameters
    ----------
    x, y : float
        Its middle. [px]
    across : float
        Its size on the floor. [m]
    clearness : float
        How far it stands out of the floor's grain. [-]
    """

    x: float
    y: float
    across: float
    clearness: float


def find_marks(picture: bytes, mapped: PlaneMap, corners: FloatArray) -> tuple[FoundMark, ...]:
    """Propose marks within the known points of a photo.

    Parameters
    ----------
    picture : bytes
        The upright photo, JPEG.
    mapped : PlaneMap
        From its pixels to the floor.
    corners : ndarray, shape (k, 2)
        The known points. Marks are looked for inside their hull; they are none themselves. [px]

    Returns
    -------
    tuple of FoundMark
        The clearest first.

    Raises
    ------
    BadInput
        The photo can't be read.
    """
    pixels, ratio = _pixels(picture)
    corners = (corners + 0.5) * ratio - 0.5
    change = _change(pixels)
    inside = _inside(change.shape, corners)
    grain = 1.4826 * float(np.median(change[inside])) if inside.any() else 0.0
    found = []
    for y, x, area, long, clear in _pieces(change, inside, max(_CLEAR * max(grain, 0.6), 9.0)):
        spot = np.array([[(x + 0.5) / ratio - 0.5, (y + 0.5) / ratio - 0.5]])
        scale = _metres_per_pixel(mapped, spot) / ratio
        across = long * scale
        if not SMALLEST <= across <= LARGEST or area < 4:
            continue
        if np.hypot(*(corners - [x, y]).T).min() * scale < 0.6 * LARGEST:
            continue
        found.append(FoundMark(float(spot[0, 0]), float(spot[0, 1]), across, clear / max(grain, 0.6)))
    found.sort(key=lambda mark: -mark.clearness)
    # marks of one day are made alike: what is far fainter than the clearest ones is a speck
    least = _FAINT * float(np.median([mark.clearness for mark in found[:5]])) if found else 0.0
    return tuple(mark for mark in found[:MOST] if mark.clearness >= least)


def _pixels(picture: bytes) -> tuple[FloatArray, float]:
    from PIL import Image

    try:
        image = Image.open(io.BytesIO(picture), formats=("JPEG",)).convert("RGB")
    except (OSError, ValueError) as reason:
        raise BadInput(f"the photo can't be read ({reason}); send it again", field="photo") from None
    ratio = min(1.0, _WIDTH / image.width)
    if ratio < 1.0:
        image = image.resize((_WIDTH, round(image.height * ratio)), Image.Resampling.BOX)
    return np.asarray(image, dtype=float), ratio


def _change(pixels: FloatArray) -> FloatArray:
    """Difference from the floor around: the larger of lightness and colour, smoothed over a pixel or two."""
    from scipy.ndimage import gaussian_filter, median_filter, zoom

    out = np.zeros(pixels.shape[:2])
    for channel in range(3):
        plane = pixels[:, :, channel]
        # the median of a coarse copy: marks are smaller than half its window, boards and shade are larger
        step = max(1, pixels.shape[1] // 250)
        coarse = plane[: plane.shape[0] // step * step, : plane.shape[1] // step * step]
        coarse = coarse.reshape(coarse.shape[0] // step, step, -1, step).mean(axis=(1, 3))
        ground = zoom(median_filter(coarse, 9, mode="nearest"), step, order=1, mode="nearest", grid_mode=True)
        room = ((0, plane.shape[0] - ground.shape[0]), (0, plane.shape[1] - ground.shape[1]))
        ground = np.pad(ground, room, mode="edge")
        out = np.maximum(out, np.abs(gaussian_filter(plane, 0.8) - ground))
    return out


def _inside(shape: tuple[int, ...], corners: FloatArray) -> NDArray[np.bool_]:
    """Pixels within the convex hull of points."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(corners)
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    inside = np.ones(shape, dtype=bool)
    for a, b, c in hull.equations:
        inside &= a * x + b * y + c <= 0
    return inside


def _pieces(
    change: FloatArray, inside: NDArray[np.bool_], least: float
) -> list[tuple[float, float, float, float, float]]:
    """Connected pieces: row, column, area, length, and how much they differ."""
    from scipy.ndimage import find_objects, label

    labels, _ = label((change > least) & inside, structure=np.ones((3, 3)))
    lines = _lines(change, inside, least)
    found = []
    for number, box in enumerate(find_objects(labels), 1):
        mine = labels[box] == number
        area = int(mine.sum())
        if area < 4:
            continue
        y, x = np.nonzero(mine)
        weight = change[box][mine]
        cy, cx = np.average(y, weights=weight), np.average(x, weights=weight)
        spread = np.cov(np.vstack([x, y]), ddof=0) + np.eye(2) / 12.0
        small, large = np.sqrt(np.linalg.eigvalsh(spread))
        if large > 5.0 * small:  # a line: seam, edge, cable
            continue
        top, left = box[0].start, box[1].start
        clear = float(np.partition(weight, -max(area // 4, 1))[-max(area // 4, 1) :].mean())
        if clear < _ABOVE_LINE * float(np.median(lines[box][mine])):
            continue
        found.append((float(cy) + top, float(cx) + left, float(area), 4.0 * float(large), clear))
    return found


def _lines(change: FloatArray, inside: NDArray[np.bool_], least: float) -> FloatArray:
    """How strongly a line differs that each pixel lies on, seen at a lower threshold; 0 elsewhere."""
    from scipy.ndimage import find_objects, label

    labels, _ = label((change > 0.4 * least) & inside, structure=np.ones((3, 3)))
    out = np.zeros(change.shape)
    large_ones = set(np.flatnonzero(np.bincount(labels.ravel()) >= 60).tolist())
    for number, box in enumerate(find_objects(labels), 1):
        if number not in large_ones:
            continue
        mine = labels[box] == number
        y, x = np.nonzero(mine)
        small, large = np.sqrt(np.linalg.eigvalsh(np.cov(np.vstack([x, y]), ddof=0) + np.eye(2) / 12.0))
        if large > 5.0 * small or len(x) < 0.1 * (np.ptp(x) + 1) * (np.ptp(y) + 1):
            out[box][mine] = float(np.median(change[box][mine]))
    return out


def _metres_per_pixel(mapped: PlaneMap, spot: FloatArray) -> float:
    """Length of a pixel on the floor where it is longest seen: across the view."""
    steps = np.array([[1.0, 0.0], [0.0, 1.0]])
    slope = (mapped.to_floor(spot + steps) - mapped.to_floor(spot - steps)) / 2.0
    return float(np.linalg.svd(slope, compute_uv=False)[1])
