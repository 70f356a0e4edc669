"""Clips of simulated shots with a known truth: what a phone at the side of the range would film.

A pinhole camera looks at the flight plane. Each frame is the mean of what the ball covers while the shutter
is open, over a still background with a grain of its own, under noise. What comes out is simulated, for tests
and benchmarks; nothing of it is shown as measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.crossing import trace
from shotwright.flight.model import FlightModel, launch_vectors

FloatArray = NDArray[np.float64]
Image = NDArray[np.uint8]

_MOST_MOMENTS = 48


@dataclass(frozen=True, slots=True)
class Camera:
    """A phone at the side of the flight plane.

    The flight plane has x away from the launcher and z up; the camera stands `distance` before it and looks
    at (`look_x`, `look_z`).

    Parameters
    ----------
    width, height : int
        Of a frame. [px]
    scale : float
        Pixels of one metre of the flight plane, where the camera looks at it. [px/m]
    distance : float
        From the camera to that point. [m]
    look_x, look_z : float
        The point in the middle of a frame. [m]
    roll : float
        The camera's turn about its axis; positive shows a level line falling to the right. [rad]
    pan : float
        Turn of the sensor against the flight plane, about the vertical. [rad]
    bend : float
        First radial coefficient of the lens, Brown's model; 0 for a perfect one. [-]
    """

    width: int = 1280
    height: int = 720
    scale: float = 213.0
    distance: float = 6.0
    look_x: float = 2.4
    look_z: float = 1.9
    roll: float = 0.0
    pan: float = 0.0
    bend: float = 0.0

    @property
    def focal(self) -> float:
        """Focal length. [px]."""
        return self.scale * self.distance

    def pixels(self, places: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Where points appear, and how many pixels a metre has there.

        Parameters
        ----------
        places : ndarray, shape (k, 3)
            x along the plane, y behind it as seen from the camera, z up. [m]

        Returns
        -------
        tuple of ndarray, shapes (k, 2) and (k,)
            Pixels, counted from the middle of the first pixel, y down; and [px/m].
        """
        x, y, z = (places - np.array([self.look_x, 0.0, self.look_z])).T
        c, s = math.cos(self.pan), math.sin(self.pan)
        right, depth = c * x - s * y, self.distance + s * x + c * y
        u, v = right / depth, -z / depth
        stretch = 1.0 + self.bend * (u * u + v * v)
        u, v = u * stretch, v * stretch
        c, s = math.cos(self.roll), math.sin(self.roll)
        middle = np.array([(self.width - 1) / 2, (self.height - 1) / 2])
        return self.focal * np.column_stack([c * u - s * v, s * u + c * v]) + middle, self.focal / depth


@dataclass(frozen=True, slots=True)
class FilmedShot:
    """One shot in front of the camera.

    Parameters
    ----------
    start : float
        Time of the release. [s]
    speed, elevation : float
        At release. [m/s], [rad]
    azimuth : float
        Out of the flight plane, away from the camera. [rad]
    spin : float
        Backspin. [rad/s]
    x, z : float
        Release point. [m]
    """

    start: float
    speed: float
    elevation: float
    azimuth: float = 0.0
    spin: float = 0.0
    x: float = 0.3
    z: float = 0.9


@dataclass(frozen=True, slots=True)
class Film:
    """A scene: camera, ball, shots, and what else moves.

    Parameters
    ----------
    camera : Camera
        The camera.
    model : FlightModel
        Ball and air.
    shots : tuple of FilmedShot
        In the order of firing.
    times : ndarray, shape (k,)
        When each exposure begins. [s]
    exposure : float
        How long the shutter is open. [s]
    noise : float
        Standard deviation of a pixel, of 255.
    colour : tuple of float
        Of the ball: blue, green, red, of 255.
    mark : {"", "dot", "stripe"}
        What is painted on the ball.
    shadow : bool
        Whether the ball throws one onto the wall behind.
    walker : bool
        Whether a person walks through and swings a hand.
    flicker : float
        How far the light goes up and down with 100 Hz, as a share.
    seed : int
        Of background and noise.
    """

    camera: Camera
    model: FlightModel
    shots: tuple[FilmedShot, ...]
    times: FloatArray
    exposure: float = 1 / 240
    noise: float = 3.0
    colour: tuple[float, float, float] = (40.0, 110.0, 235.0)
    mark: str = ""
    shadow: bool = False
    walker: bool = False
    flicker: float = 0.0
    seed: int = 1


def even_times(rate: float, seconds: float) -> FloatArray:
    """Times of the frames of a clip of constant rate.

    Parameters
    ----------
    rate : float
        Frames a second. [1/s]
    seconds : float
        Length. [s]

    Returns
    -------
    ndarray
        [s]
    """
    return np.arange(round(rate * seconds)) / rate


def places_of(film: Film, shot: FilmedShot, times: FloatArray) -> FloatArray:
    """Where a shot's ball is at some times.

    Parameters
    ----------
    film : Film
        The scene.
    shot : FilmedShot
        One of its shots.
    times : ndarray, shape (k,)
        Not falling. [s]

    Returns
    -------
    ndarray, shape (k, 3)
        x, y behind the plane, z; NaN before release and once on the floor. [m]
    """
    flying = times >= shot.start
    places = np.full((len(times), 3), np.nan)
    velocity, spin = launch_vectors(shot.speed, shot.elevation, shot.azimuth, shot.spin)
    if flying.any():
        start = np.array([shot.x, 0.0, shot.z])
        places[flying] = trace(film.model, start, velocity[0], spin[0], times[flying] - shot.start)
    places[places[:, 2] < film.model.radius] = np.nan
    return places


def frames_of(film: Film) -> Iterator[Image]:
    """Render a scene.

    Parameters
    ----------
    film : Film
        The scene.

    Yields
    ------
    ndarray, shape (height, width, 3)
        Blue, green, red.
    """
    rng = np.random.default_rng(film.seed)
    still = _background(film.camera, rng)
    grain = rng.normal(0.0, film.noise, (film.camera.height, film.camera.width, 3)).astype(np.float32)
    stream = Moments.of(film)
    for k, time in enumerate(film.times.tolist()):
        picture = still.copy()
        if film.walker:
            _walk(picture, film, time)
        for patch in stream.patches(k):
            patch.lay_on(picture)
        if film.flicker:
            picture *= np.float32(1.0 + film.flicker * math.sin(2 * math.pi * 100.0 * time))
        shift = rng.integers(0, 1 << 16, 2)
        picture += np.roll(grain, (int(shift[0]), int(shift[1])), axis=(0, 1))
        yield np.clip(np.rint(picture), 0, 255).astype(np.uint8)


@dataclass(frozen=True, slots=True)
class Patch:
    """A part of a frame that something covers.

    Parameters
    ----------
    left, top : int
        Its corner. [px]
    cover : ndarray, shape (h, w)
        Share of the exposure for which each pixel is covered. [-]
    light : ndarray, shape (h, w, 3)
        What it then shows, times the share.
    """

    left: int
    top: int
    cover: NDArray[np.float32]
    light: NDArray[np.float32]

    def lay_on(self, picture: NDArray[np.float32]) -> None:
        """Cover this part of a picture, in place."""
        h, w = self.cover.shape
        part = picture[self.top : self.top + h, self.left : self.left + w]
        part *= 1.0 - self.cover[:, :, None]
        part += self.light


@dataclass(frozen=True, slots=True)
class Moments:
    """Where every ball is at the moments of each exposure."""

    film: Film
    per_frame: int
    places: tuple[FloatArray, ...]
    instants: FloatArray

    @classmethod
    def of(cls, film: Film) -> Moments:
        """Follow all shots of a film through all exposures."""
        fastest = max((shot.speed for shot in film.shots), default=0.0)
        per_frame = min(max(int(fastest * film.exposure * film.camera.scale) + 2, 3), _MOST_MOMENTS)
        offsets = (np.arange(per_frame) + 0.5) / per_frame * film.exposure
        instants = film.times[:, None] + offsets
        order = np.argsort(instants, axis=None, kind="stable")
        places = []
        for shot in film.shots:
            found = np.empty((instants.size, 3))
            found[order] = places_of(film, shot, instants.ravel()[order])
            places.append(found.reshape(len(film.times), per_frame, 3))
        return cls(film, per_frame, tuple(places), instants)

    def patches(self, frame: int) -> Iterator[Patch]:
        """Yield what the balls and their shadows cover in one frame, shadows first."""
        for shot, all_places in zip(self.film.shots, self.places, strict=True):
            places = all_places[frame]
            there = np.isfinite(places[:, 0])
            if not there.any():
                continue
            turned = shot.spin * (self.instants[frame] - shot.start)
            spots, per_metre = self.film.camera.pixels(places[there])
            share = 1.0 / self.per_frame
            radii = self.film.model.radius * per_metre
            if self.film.shadow:
                # 40 cm behind the plane, the light from above and the left
                behind = places[there] + np.array([0.25, 0.4, -0.35])
                dark, dark_per_metre = self.film.camera.pixels(behind)
                yield from self._patch(dark, self.film.model.radius * dark_per_metre, share * 0.3, None)
            yield from self._patch(spots, radii, share, turned[there])

    def _patch(
        self, spots: FloatArray, radii: FloatArray, share: float, turned: FloatArray | None
    ) -> Iterator[Patch]:
        reach = float(radii.max()) + 2.0
        camera = self.film.camera
        left, right = (
            int(max(spots[:, 0].min() - reach, 0)),
            int(min(spots[:, 0].max() + reach + 1, camera.width)),
        )
        top, bottom = (
            int(max(spots[:, 1].min() - reach, 0)),
            int(min(spots[:, 1].max() + reach + 1, camera.height)),
        )
        if right <= left or bottom <= top:
            return
        y, x = np.mgrid[top:bottom, left:right].astype(np.float32)
        cover = np.zeros(x.shape, np.float32)
        light = np.zeros((*x.shape, 3), np.float32)
        colour = np.array(self.film.colour, np.float32)
        for i, ((cx, cy), radius) in enumerate(zip(spots.tolist(), radii.tolist(), strict=True)):
            dx, dy = x - cx, y - cy
            part = share * np.clip(radius + 0.5 - np.hypot(dx, dy), 0.0, 1.0)
            cover += part
            if turned is None:
                continue
            shade = 0.92 - 0.16 * dy / radius  # lit from above
            shown = part * shade
            if self.film.mark:
                shown = np.where(
                    _painted(self.film.mark, dx / radius, dy / radius, turned[i]), 0.25 * shown, shown
                )
            light += shown[:, :, None] * colour
        yield Patch(left, top, cover, light)


def _painted(mark: str, dx: FloatArray, dy: FloatArray, turned: float) -> NDArray[np.bool_]:
    """Where the paint is on the disc; backspin turns anticlockwise when the ball flies to the right."""
    c, s = math.cos(turned), math.sin(turned)
    along, across = c * dx - s * dy, s * dx + c * dy
    if mark == "stripe":
        return np.asarray(np.abs(across) < 0.22)
    return np.asarray(np.hypot(along - 0.55, across) < 0.3)


def _background(camera: Camera, rng: np.random.Generator) -> NDArray[np.float32]:
    """Draw a wall with stains, a floor, and a post."""
    h, w = camera.height, camera.width
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    wall = 150.0 + 25.0 * x / w - 20.0 * y / h
    stains = rng.normal(0.0, 1.0, (h // 40 + 2, w // 40 + 2))
    wall += 9.0 * _spread(stains, h, w, 40) + 3.0 * rng.normal(0.0, 1.0, (h, w)).astype(np.float32)
    picture = np.stack([0.97 * wall, wall, 1.02 * wall], axis=2).astype(np.float32)
    picture[int(0.93 * h) :] *= np.float32(0.62)
    picture[:, int(0.72 * w) : int(0.735 * w)] *= np.float32(0.5)
    return picture


def _spread(grid: FloatArray, h: int, w: int, step: int) -> NDArray[np.float32]:
    """Blow a coarse grid up to a picture, bilinearly."""
    rows, columns = np.arange(h) / step, np.arange(w) / step
    i, j = rows.astype(int), columns.astype(int)
    a, b = (rows - i)[:, None], (columns - j)[None, :]
    top = grid[i][:, j] * (1 - b) + grid[i][:, j + 1] * b
    low = grid[i + 1][:, j] * (1 - b) + grid[i + 1][:, j + 1] * b
    return np.asarray(top * (1 - a) + low * a, dtype=np.float32)


def _walk(picture: NDArray[np.float32], film: Film, time: float) -> None:
    """Draw a person of 1.7 m who crosses with 1.4 m/s and swings a hand as big as the ball."""
    camera = film.camera
    x = camera.look_x - 2.5 + 1.4 * time
    swing = 0.35 * math.sin(2 * math.pi * 1.1 * time)
    floor = 0.0
    parts: tuple[tuple[float, float, float, float, tuple[float, float, float]], ...] = (
        (x - 0.2, floor + 0.8, 0.4, 0.65, (95.0, 60.0, 45.0)),
        (x - 0.14 + 0.5 * swing, floor, 0.14, 0.85, (60.0, 50.0, 50.0)),
        (x - 0.02 - 0.5 * swing, floor, 0.14, 0.85, (70.0, 55.0, 50.0)),
        (x - 0.12, floor + 1.45, 0.24, 0.28, (130.0, 160.0, 205.0)),
        (x - 0.05 + swing, floor + 0.75 + 0.15 * abs(swing), 0.14, 0.14, (125.0, 155.0, 200.0)),
    )
    for left, low, wide, high, colour in parts:
        corners, _ = camera.pixels(np.array([[left, 0.3, low], [left + wide, 0.3, low + high]]))
        (x0, y1), (x1, y0) = np.rint(corners).astype(int).tolist()
        x0, x1 = max(min(x0, x1), 0), min(max(x0, x1), camera.width)
        y0, y1 = max(min(y0, y1), 0), min(max(y0, y1), camera.height)
        if x1 > x0 and y1 > y0:
            picture[y0:y1, x0:x1] = np.asarray(colour, np.float32)
