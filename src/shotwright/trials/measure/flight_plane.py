"""From pixels to metres in the flight plane: scale and vertical, with what they leave in doubt.

The flight plane has x to the right as the camera sees it and z up. Whatever fixes it, the result is one
projective map from pixels (lens already straightened) to metres, and two doubts: that of the scale and that
of the vertical. Both go into every launch value.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.trials.measure.photo import plane_map

FloatArray = NDArray[np.float64]
Pixel = tuple[float, float]

ASSUMED_LEVEL_SD = math.radians(1.5)  # a phone held level by eye; common practice, no source
FROM_GRAVITY_SD = math.radians(20.0)  # so wide that the flight itself tells the vertical
LEAST_SPAN = 20.0  # px between two marks


@dataclass(frozen=True, slots=True)
class Vertical:
    """Where up is in the picture.

    Parameters
    ----------
    up : tuple of float
        Unit vector in pixels; (0, -1) for a level camera.
    sd : float
        Standard deviation of its direction. [rad]
    told_by : str
        In words.
    """

    up: Pixel
    sd: float
    told_by: str


@dataclass(frozen=True, slots=True)
class FlightPlane:
    """Map from pixels to the flight plane.

    Parameters
    ----------
    matrix : ndarray, shape (3, 3)
        Takes homogeneous pixels to homogeneous metres.
    scale_sd : float
        Standard deviation of the scale, as a share of it. [-]
    tilt_sd : float
        Standard deviation of the vertical. [rad]
    told_by : str
        What fixed it, in words.
    """

    matrix: FloatArray
    scale_sd: float
    tilt_sd: float
    told_by: str

    def to_metres(self, pixels: FloatArray) -> FloatArray:
        """Places (x, z) of (k, 2) pixels. [m]."""
        return _through(self.matrix, pixels)

    def to_pixels(self, places: FloatArray) -> FloatArray:
        """Pixels of (k, 2) places."""
        return _through(np.asarray(np.linalg.inv(self.matrix), dtype=float), places)

    def metres_per_pixel(self, pixels: FloatArray) -> FloatArray:
        """Length of a pixel at (k, 2) pixels, in the direction that the view does not shorten. [m/px].

        That is the scale of a ball there, which looks the same from everywhere.
        """
        points = np.atleast_2d(pixels)
        rows = np.column_stack([points, np.ones(len(points))])
        depth = rows @ self.matrix[2]
        places = (rows @ self.matrix[:2].T) / depth[:, None]
        slope = (self.matrix[:2, :2] - places[:, :, None] * self.matrix[2, :2]) / depth[:, None, None]
        return np.asarray(np.linalg.svd(slope, compute_uv=False)[:, 1])


def _through(matrix: FloatArray, points: FloatArray) -> FloatArray:
    rows = np.atleast_2d(points)
    mapped = np.column_stack([rows, np.ones(len(rows))]) @ matrix.T
    return np.asarray(mapped[:, :2] / mapped[:, 2:])


def vertical_by_line(top: Pixel, bottom: Pixel, tap_sd: float) -> Vertical:
    """Vertical from a plumb line, a door frame, or a stick that hangs.

    Parameters
    ----------
    top, bottom : tuple of float
        Two points of it. [px]
    tap_sd : float
        Standard deviation of a tap, each axis. [px]

    Returns
    -------
    Vertical
        Up is from bottom to top.

    Raises
    ------
    BadInput
        The points are too near to each other.
    """
    dx, dy, span = _apart(top, bottom, "plumb")
    return Vertical((-dx / span, -dy / span), math.sqrt(2.0) * tap_sd / span, "a plumb line")


def vertical_by_level(left: Pixel, right: Pixel, tap_sd: float) -> Vertical:
    """Vertical from two points at one height.

    Parameters
    ----------
    left, right : tuple of float
        The points, in either order. [px]
    tap_sd : float
        Standard deviation of a tap, each axis. [px]

    Returns
    -------
    Vertical
        Square to the line through them.

    Raises
    ------
    BadInput
        The points are too near to each other.
    """
    dx, dy, span = _apart(left, right, "level")
    if dx < 0:
        dx, dy = -dx, -dy
    return Vertical((dy / span, -dx / span), math.sqrt(2.0) * tap_sd / span, "two points at one height")


def level_camera() -> Vertical:
    """Take the camera as level, for want of anything better."""
    return Vertical((0.0, -1.0), ASSUMED_LEVEL_SD, "the camera, taken as level within 1.5°")


def vertical_by_gravity() -> Vertical:
    """Leave the vertical to the flight itself."""
    return Vertical((0.0, -1.0), FROM_GRAVITY_SD, "the flight's own fall")


def plane_by_length(
    one: Pixel, two: Pixel, length: float, vertical: Vertical, tap_sd: float, length_sd: float = 0.0
) -> FlightPlane:
    """Flight plane from two marks in it of known distance, the sensor parallel to it.

    Parameters
    ----------
    one, two : tuple of float
        The marks; `one` becomes the origin. [px]
    length : float
        Their distance. [m]
    vertical : Vertical
        Where up is.
    tap_sd : float
        Standard deviation of a tap, each axis. [px]
    length_sd : float
        Of the distance. [m]

    Returns
    -------
    FlightPlane
        Scale and turn.

    Raises
    ------
    BadInput
        The marks are too near to each other, or the length is none.
    """
    if not (math.isfinite(length) and length > 0):
        raise BadInput(f"{length:g} m is not a distance of two marks", field="marks")
    _, _, span = _apart(one, two, "marks")
    doubt = math.hypot(math.sqrt(2.0) * tap_sd / span, length_sd / length)
    return _similar(one, length / span, vertical, doubt, f"two marks {length:g} m apart")


def plane_by_ball(
    radius: float, radius_sd: float, diameter: float, diameter_sd: float, origin: Pixel, vertical: Vertical
) -> FlightPlane:
    """Flight plane from the ball's own size.

    Parameters
    ----------
    radius, radius_sd : float
        As the clip shows it, and its standard deviation. [px]
    diameter, diameter_sd : float
        Of the ball. [m]
    origin : tuple of float
        [px]
    vertical : Vertical
        Where up is.

    Returns
    -------
    FlightPlane
        Scale and turn.
    """
    doubt = math.hypot(radius_sd / radius, diameter_sd / diameter)
    return _similar(origin, diameter / (2.0 * radius), vertical, doubt, "the ball's own diameter")


def plane_by_points(pixels: FloatArray, places: FloatArray, tap_sd: float) -> FlightPlane:
    """Flight plane from four or more known points in it, however the camera stands.

    Parameters
    ----------
    pixels : ndarray, shape (k, 2)
        Where the picture shows them. [px]
    places : ndarray, shape (k, 2)
        The same points: x along the plane, z up. [m]
    tap_sd : float
        Standard deviation of a tap, each axis. [px]

    Returns
    -------
    FlightPlane
        The projective map.

    Raises
    ------
    BadInput
        As `photo.plane_map`.
    """
    found = plane_map(pixels, places)
    span = float(np.hypot(*np.ptp(pixels, axis=0)))
    # k points share the taps' error: scale and turn of the whole are known to tap / (span sqrt(k)/2)
    doubt = 2.0 * tap_sd / (span * math.sqrt(len(pixels)))
    if len(pixels) > 4:
        size = float(np.hypot(*np.ptp(places, axis=0)))
        doubt = max(doubt, float(np.sqrt(np.mean(found.residuals**2))) / size)
    return FlightPlane(found.matrix, doubt, doubt, f"{len(pixels)} known points")


def _apart(one: Pixel, two: Pixel, field: str) -> tuple[float, float, float]:
    dx, dy = two[0] - one[0], two[1] - one[1]
    span = math.hypot(dx, dy)
    if not span >= LEAST_SPAN:
        raise BadInput(
            f"the two points are {span:.0f} pixels apart; at least {LEAST_SPAN:.0f}, the further the better",
            field=field,
        )
    return dx, dy, span


def _similar(origin: Pixel, scale: float, vertical: Vertical, scale_sd: float, told_by: str) -> FlightPlane:
    ux, uy = vertical.up
    # x = right: the up vector turned a quarter clockwise as seen on the screen, (-uy, ux)
    turn = scale * np.array([[-uy, ux], [ux, uy]])
    shift = -turn @ np.array(origin)
    matrix = np.array([[*turn[0], shift[0]], [*turn[1], shift[1]], [0.0, 0.0, 1.0]])
    return FlightPlane(matrix, scale_sd, vertical.sd, f"{told_by}; vertical from {vertical.told_by}")
