"""What a person says of a clip's scale and vertical, read and turned into a flight plane."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.quantities import check_positive, parse_quantity
from shotwright.trials.measure.ball_tracks import Track
from shotwright.trials.measure.flight_plane import (
    FlightPlane,
    Pixel,
    Vertical,
    level_camera,
    plane_by_ball,
    plane_by_length,
    plane_by_points,
    vertical_by_gravity,
    vertical_by_level,
    vertical_by_line,
)
from shotwright.trials.measure.lens import Lens

_PIXEL = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)\s*")
BALL_RADIUS_SD = 0.02  # share; light at the ball's rim moves its measured radius by so much


@dataclass(frozen=True, slots=True)
class TypedScale:
    """Scale and vertical as typed; pixels are ``x,y`` from the upper left corner.

    Parameters
    ----------
    marks : str, optional
        Two marks in the flight plane: ``"412,633 1051,640"``.
    distance : str, optional
        Their distance.
    stick : str, optional
        Top and bottom of a stick that hangs in the flight plane: scale and vertical.
    stick_length : str, optional
        Its length.
    points : tuple of str
        Four or more known points: ``"412,633 0.2m,0.1m"``, the second pair along and up.
    plumb : str, optional
        Top and bottom of an upright line.
    level : str, optional
        Two points at one height.
    vertical : {"", "camera", "gravity"}
        What else tells the vertical; the camera by default.
    tap_sd : float
        Standard deviation of a typed pixel, each axis. [px]
    lens : Path, optional
        File that `video-lens` wrote.
    """

    marks: str | None = None
    distance: str | None = None
    stick: str | None = None
    stick_length: str | None = None
    points: tuple[str, ...] = ()
    plumb: str | None = None
    level: str | None = None
    vertical: str = ""
    tap_sd: float = 1.0
    lens: Path | None = None


def read_pixel(text: str, field: str) -> Pixel:
    """Read ``"412,633"``; BadInput with an example when it is none."""
    match = _PIXEL.fullmatch(text)
    if not match:
        raise BadInput(f"{text!r} is no pixel; type x,y as in 412,633", field=field)
    return float(match[1]), float(match[2])


def read_pair(text: str, field: str) -> tuple[Pixel, Pixel]:
    """Read two pixels with a space between."""
    parts = text.split()
    if len(parts) != 2:
        raise BadInput(f'{text!r} is not two pixels; type e.g. "412,633 1051,640"', field=field)
    return read_pixel(parts[0], field), read_pixel(parts[1], field)


def read_lens(file: Path) -> Lens:
    """Read a lens file.

    Raises
    ------
    BadInput
        It is none.
    """
    try:
        held = json.loads(file.read_text(encoding="utf-8"))
        lens = Lens(**{name: held[name] for name in Lens.__slots__})
    except OSError as reason:
        raise BadInput(f"can't be read ({reason.strerror})", file=str(file), field="lens") from None
    except (ValueError, KeyError, TypeError):
        raise BadInput("is no lens file; write one with video-lens", file=str(file), field="lens") from None
    return lens


def vertical_of(typed: TypedScale, lens: Lens | None) -> Vertical:
    """Return where up is, by what was typed."""
    if typed.vertical not in ("", "camera", "gravity"):
        raise BadInput(f"{typed.vertical!r} is neither camera nor gravity", field="vertical")
    told = [name for name in ("stick", "plumb", "level") if getattr(typed, name)]
    told += [typed.vertical] if typed.vertical else []
    if len(told) > 1:
        raise BadInput(f"{' and '.join(told)} both tell the vertical; give one", field=told[1])
    if typed.plumb or typed.stick:
        field = "plumb" if typed.plumb else "stick"
        top, bottom = straightened(read_pair(typed.plumb or typed.stick or "", field), lens)
        if top[1] > bottom[1] and abs(top[1] - bottom[1]) > abs(top[0] - bottom[0]):
            top, bottom = bottom, top  # the camera does not stand on its head
        return vertical_by_line(top, bottom, typed.tap_sd)
    if typed.level:
        left, right = straightened(read_pair(typed.level, "level"), lens)
        return vertical_by_level(left, right, typed.tap_sd)
    return vertical_by_gravity() if typed.vertical == "gravity" else level_camera()


def straightened(pixels: Sequence[Pixel], lens: Lens | None) -> list[Pixel]:
    """Pixels as a perfect lens would show them."""
    if lens is None:
        return list(pixels)
    return [(float(x), float(y)) for x, y in lens.straight(np.array(pixels, dtype=float))]


def plane_of(
    typed: TypedScale, lens: Lens | None, track: Track, diameter: float, diameter_sd: float, height: int
) -> tuple[FlightPlane, bool]:
    """Turn what was typed into a flight plane for one track.

    Parameters
    ----------
    typed : TypedScale
        As typed.
    lens : Lens, optional
        Already fitted to the frames.
    track : Track
        Whose ball gives the scale when nothing else does.
    diameter, diameter_sd : float
        Of the ball. [m]
    height : int
        Of a frame; the origin is its lower left corner when the ball gives the scale. [px]

    Returns
    -------
    FlightPlane, bool
        And whether the ball's size gave the scale.

    Raises
    ------
    BadInput
        Something is missing, said twice or can't be read.
    """
    ways = [
        n for n, given in (("marks", typed.marks), ("stick", typed.stick), ("points", typed.points)) if given
    ]
    if len(ways) > 1:
        raise BadInput(f"{' and '.join(ways)} both give the scale; give one", field=ways[1])
    if typed.points:
        if typed.plumb or typed.level or typed.vertical:
            raise BadInput("known points tell the vertical too; leave the other out", field="points")
        return _by_points(typed, lens), False
    vertical = vertical_of(typed, lens)
    for pair, length, fields in (
        (typed.marks, typed.distance, ("marks", "distance")),
        (typed.stick, typed.stick_length, ("stick", "stick_length")),
    ):
        if (pair is None) != (length is None):
            raise BadInput(
                f"{fields[0]} and {fields[1]} belong together; give both", field=fields[pair is not None]
            )
        if pair is not None and length is not None:
            one, two = straightened(read_pair(pair, fields[0]), lens)
            metres = check_positive(
                parse_quantity(length, "length", fields[1]), fields[1], length, "a length"
            )
            return plane_by_length(one, two, metres, vertical, typed.tap_sd), False
    if not math.isfinite(track.radius):
        raise BadInput("a ball put by hand has no size; give two marks and their distance", field="marks")
    radius_sd = track.radius * BALL_RADIUS_SD
    plane = plane_by_ball(track.radius, radius_sd, diameter, diameter_sd, (0.0, height - 1.0), vertical)
    return plane, True


def _by_points(typed: TypedScale, lens: Lens | None) -> FlightPlane:
    pixels, places = [], []
    for text in typed.points:
        parts = text.split(maxsplit=1)
        lengths = parts[1].split(",") if len(parts) == 2 else []
        if len(lengths) != 2:
            raise BadInput(f'{text!r} is no known point; type e.g. "412,633 0.2m,0.1m"', field="points")
        pixels.append(read_pixel(parts[0], "points"))
        places.append([parse_quantity(one, "length", "points") for one in lengths])
    if len(pixels) < 4:
        raise BadInput(f"{len(pixels)} known points; at least four are needed", field="points")
    straight = np.array(straightened(pixels, lens), dtype=float)
    return plane_by_points(straight, np.array(places, dtype=float), typed.tap_sd)


def tap_sd_for(width: int, share: float) -> float:
    """Standard deviation of a finger's tap on a frame of this width. [px]."""
    return max(share * width, math.sqrt(1.0 / 12.0))
