"""Marks on a photo turned into places on the floor: four known points, one projective map, its error.

A photo of a flat floor is a projective image of it. Four points whose places are known fix the map; more
than four also show how well they agree. A tap on the picture is off by a pixel or two, and what that does to
a mark depends on where it lies: the error is carried through the map, not guessed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput

FloatArray = NDArray[np.float64]

# Of the normalised points' singular values: below this three of them are nearly on one line.
SMALLEST_SPREAD = 0.02


@dataclass(frozen=True, slots=True)
class PlaneMap:
    """Projective map from a picture to the floor.

    Parameters
    ----------
    matrix : (3, 3) array
        Takes homogeneous pixel coordinates to homogeneous floor coordinates.
    residuals : (k,) array
        Distance of each known point from where the map puts it; zero for four points. [m]
    """

    matrix: FloatArray
    residuals: FloatArray

    def to_floor(self, pixels: FloatArray) -> FloatArray:
        """Return the places on the floor of (m, 2) pixels. [m]

        Raises
        ------
        BadInput
            A mark lies beyond the horizon that the known points imply.
        """
        points = np.atleast_2d(np.asarray(pixels, dtype=float))
        mapped = np.column_stack([points, np.ones(len(points))]) @ self.matrix.T
        if np.any(mapped[:, 2] <= 1e-12 * np.abs(self.matrix).max()):
            raise BadInput("a mark lies above the floor's horizon; tap the spot on the floor", field="marks")
        return np.asarray(mapped[:, :2] / mapped[:, 2:], dtype=float)


def plane_map(pixels: FloatArray, places: FloatArray) -> PlaneMap:
    r"""Find the projective map that takes pixels to places on the floor.

    The direct linear transformation on normalised points: each pair gives two rows of :math:`A h = 0`, solved
    by the singular vector of the smallest singular value.

    Parameters
    ----------
    pixels : (k, 2) array
        Known points on the picture, k >= 4. [px]
    places : (k, 2) array
        The same points on the floor: along, cross. [m]

    Returns
    -------
    PlaneMap
        The map, oriented so that the known points lie before the camera.

    Raises
    ------
    BadInput
        Fewer than four points, or three of four nearly on one line, or points in crossed order.

    References
    ----------
    R. Hartley, A. Zisserman, Multiple View Geometry in Computer Vision, 2nd ed., Cambridge University Press
    (2003), algorithm 4.2 (normalised DLT; from memory).
    """
    pixels = np.asarray(pixels, dtype=float)
    places = np.asarray(places, dtype=float)
    if len(pixels) < 4 or len(pixels) != len(places):
        raise BadInput("four known points are needed, each tapped and typed", field="corners")
    for points, what in ((pixels, "on the picture"), (places, "on the floor")):
        if _flattest(points) < SMALLEST_SPREAD:
            raise BadInput(
                f"three of the known points are nearly on one line {what}; spread them wider", field="corners"
            )
    a, to_unit_a = _normalised(pixels)
    b, to_unit_b = _normalised(places)
    rows = []
    for (x, y), (u, w) in zip(a, b, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -w * x, -w * y, -w])
    _, _, v = np.linalg.svd(np.array(rows))
    matrix = np.linalg.inv(to_unit_b) @ v[-1].reshape(3, 3) @ to_unit_a
    depth = np.column_stack([pixels, np.ones(len(pixels))]) @ matrix[2]
    if np.all(depth < 0):
        matrix, depth = -matrix, -depth
    if np.any(depth <= 0):
        raise BadInput(
            "the known points can't lie like that on one floor; were two of them swapped?", field="corners"
        )
    matrix = matrix / np.abs(matrix).max()
    found = PlaneMap(matrix, np.zeros(len(pixels)))
    return PlaneMap(matrix, np.hypot(*(found.to_floor(pixels) - places).T))


def mark_covariance(
    pixels: FloatArray, places: FloatArray, marks: FloatArray, tap_sd: float, place_sd: float = 0.0
) -> FloatArray:
    """Carry the error of taps and of the known points' places to marks on the floor, to first order.

    Parameters
    ----------
    pixels, places : (k, 2) arrays
        As for :func:`plane_map`. [px], [m]
    marks : (m, 2) array
        Marks on the picture. [px]
    tap_sd : float
        Standard deviation of a tap, each axis, of known points and marks alike. [px]
    place_sd : float
        Standard deviation of a known point's place on the floor, each axis. [m]

    Returns
    -------
    (m, 2, 2) array
        Covariance of each mark's place. [m^2]
    """
    pixels = np.asarray(pixels, dtype=float)
    places = np.asarray(places, dtype=float)
    marks = np.atleast_2d(np.asarray(marks, dtype=float))
    total = np.zeros((len(marks), 2, 2))
    size = np.ptp(pixels, axis=0).max()

    def add(step: float, sd: float, up: FloatArray, down: FloatArray) -> None:
        slope = (up - down) / (2 * step) * sd
        total[...] += slope[:, :, None] * slope[:, None, :]

    for k in range(len(pixels)):
        for axis in range(2):
            for known, sd, step in ((pixels, tap_sd, 1e-5 * size), (places, place_sd, 1e-5)):
                if sd == 0:
                    continue
                moved = [known.copy(), known.copy()]
                moved[0][k, axis] += step
                moved[1][k, axis] -= step
                ends = [plane_map(m, places) if known is pixels else plane_map(pixels, m) for m in moved]
                add(step, sd, ends[0].to_floor(marks), ends[1].to_floor(marks))
    here = plane_map(pixels, places)
    for axis in range(2):
        step = 1e-5 * size
        shift = np.eye(2)[axis] * step
        add(step, tap_sd, here.to_floor(marks + shift), here.to_floor(marks - shift))
    return total


def _normalised(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points moved to their centre at mean distance sqrt(2), and the matrix that does it."""
    centre = points.mean(axis=0)
    scale = np.sqrt(2) / np.hypot(*(points - centre).T).mean()
    matrix = np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1]])
    return (points - centre) * scale, matrix


def _flattest(points: FloatArray) -> float:
    """Smallest height of a triangle of neighbours, as a share of the whole's size; 0 on one line."""
    size = np.ptp(points, axis=0).max()
    if size == 0:
        return 0.0
    if len(points) > 4:
        return float(np.linalg.svd(points - points.mean(axis=0), compute_uv=False)[1] / size)
    heights = []
    for skip in range(4):
        a, b, c = (points[k] for k in range(4) if k != skip)
        area = abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
        longest = max(np.hypot(*(b - a)), np.hypot(*(c - b)), np.hypot(*(a - c)))
        heights.append(area / longest / size if longest else 0.0)
    return float(min(heights))
