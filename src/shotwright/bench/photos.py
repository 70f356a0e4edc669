"""Photos of marks: kept beside the project, rectified to the floor, marks handed on as shots to log."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.quantities import parse_quantity
from shotwright.trials.measure.photo import FloatArray, mark_covariance, plane_map
from shotwright.trials.measure.pictures import fingerprint, upright_jpeg

# A fingertip on a phone's screen, magnified: measured with clicks of 1.5 px on a picture 1600 px wide.
TAP_SD = 1.5 / 1600
_NAME = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class KeptPhoto(Result):
    """A photo beside the project.

    Parameters
    ----------
    name : str
        SHA-256 of the upright picture.
    width, height : int
        [px]
    """

    name: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class RectifiedMark(Result):
    """One mark on the floor.

    Parameters
    ----------
    along_m, cross_m : float
        Place.
    sd_along_m, sd_cross_m : float
        Standard deviation from the taps, known points included.
    """

    along_m: float
    cross_m: float
    sd_along_m: float
    sd_cross_m: float


@dataclass(frozen=True, slots=True)
class RectifiedPhoto(Result):
    """Marks of a photo on the floor.

    Parameters
    ----------
    photo : str
        Which.
    marks : tuple of RectifiedMark
        In the order in which they were tapped.
    worst_residual_m : float
        By how much the known points disagree; 0 for four, which always agree.
    words : tuple of str
        What to know before logging them.
    """

    photo: str
    marks: tuple[RectifiedMark, ...]
    worst_residual_m: float
    words: tuple[str, ...]


def photo_folder(project: Path) -> Path:
    """Return the folder beside a project file that keeps its photos."""
    return project.with_name(f"{project.name}.photos")


def keep_photo(project: Path, data: bytes, name: str) -> KeptPhoto:
    """Keep a photo beside the project, upright and without notes of place and time.

    Parameters
    ----------
    project : Path
        The project file.
    data : bytes
        The file as it came.
    name : str
        Its name, for messages.

    Returns
    -------
    KeptPhoto
        By what name it is asked for.
    """
    picture, width, height = upright_jpeg(data, name)
    kept = fingerprint(picture)
    folder = photo_folder(project)
    folder.mkdir(exist_ok=True)
    there = folder / f"{kept}.jpg"
    if not there.exists():
        fresh = there.with_suffix(".new")
        fresh.write_bytes(picture)
        fresh.replace(there)
    return KeptPhoto(kept, width, height)


def photo_file(project: Path, name: str) -> Path:
    """Return the file of a photo that was kept.

    Raises
    ------
    BadInput
        No such photo.
    """
    file = photo_folder(project) / f"{name}.jpg"
    if not _NAME.fullmatch(name) or not file.is_file():
        raise BadInput("this photo is not beside the project any more; send it again", field="photo")
    return file


@dataclass(frozen=True, slots=True)
class ProposedMark(Result):
    """A mark that was found on a photo and that nobody has confirmed yet.

    Parameters
    ----------
    x_px, y_px : float
        Its middle.
    across_m : float
        Its size on the floor.
    clearness : float
        How far it stands out of the floor's grain.
    """

    x_px: float
    y_px: float
    across_m: float
    clearness: float


@dataclass(frozen=True, slots=True)
class ProposedMarks(Result):
    """Marks that were found on a photo; a person says which are right.

    Parameters
    ----------
    photo : str
        Which photo.
    marks : tuple of ProposedMark
        The clearest first.
    words : tuple of str
        What to do with them.
    """

    photo: str
    marks: tuple[ProposedMark, ...]
    words: tuple[str, ...]


def propose_marks(project: Path, photo: str, known: Sequence[tuple[float, float, str, str]]) -> ProposedMarks:
    """Look for chalk, tape and carbon dots between a photo's known points.

    Parameters
    ----------
    project : Path
        The project file.
    photo : str
        Which photo.
    known : sequence of (x, y, along, cross)
        Known points: tapped pixels, and their place as typed.

    Returns
    -------
    ProposedMarks
        Proposals; nothing is logged.

    Raises
    ------
    BadInput
        No such photo, or known points that can't be used.
    """
    from shotwright.trials.measure.mark_finder import find_marks

    picture = photo_file(project, photo).read_bytes()
    pixels, places = _known_points(known)
    found = find_marks(picture, plane_map(pixels, places), pixels)
    count = "No mark" if not found else "1 mark" if len(found) == 1 else f"{len(found)} marks"
    words = (
        f"{count} found between the known points.",
        "Remove what is none, tap those that were missed; the order of firing is yours to tell.",
    )
    return ProposedMarks(photo, tuple(ProposedMark(m.x, m.y, m.across, m.clearness) for m in found), words)


def _known_points(known: Sequence[tuple[float, float, str, str]]) -> tuple[FloatArray, FloatArray]:
    pixels = np.array([[x, y] for x, y, _, _ in known], dtype=float).reshape(-1, 2)
    places = np.array(
        [
            [
                parse_quantity(along, "length", f"along-{k}"),
                parse_quantity(cross, "length", f"cross-{k}"),
            ]
            for k, (_, _, along, cross) in enumerate(known)
        ],
        dtype=float,
    ).reshape(-1, 2)
    return pixels, places


def rectify(
    photo: str,
    width: int,
    known: Sequence[tuple[float, float, str, str]],
    marks: Sequence[tuple[float, float]],
    *,
    place_sd: str = "5 mm",
) -> RectifiedPhoto:
    """Turn tapped marks into places on the floor.

    Parameters
    ----------
    photo : str
        Which photo.
    width : int
        Its width. [px]
    known : sequence of (x, y, along, cross)
        Known points: tapped pixels, and their place as typed.
    marks : sequence of (x, y)
        Tapped marks. [px]
    place_sd : str
        To what the known points' places are known.

    Returns
    -------
    RectifiedPhoto
        Places with their standard deviation.

    Raises
    ------
    BadInput
        Too few known points, nearly on a line, not readable, or a mark above the horizon.
    """
    if not marks:
        raise BadInput("tap the marks first", field="marks")
    pixels, places = _known_points(known)
    spots = np.array(marks, dtype=float)
    tap, place = TAP_SD * width, parse_quantity(place_sd, "length", "place_sd")
    mapped = plane_map(pixels, places)
    found = mapped.to_floor(spots)
    spread = np.sqrt(np.diagonal(mark_covariance(pixels, places, spots, tap, place), axis1=1, axis2=2))
    worst = float(mapped.residuals.max()) if len(known) > 4 else 0.0
    typical = math.sqrt(float(np.mean(spread**2)))
    words = [f"A mark on this photo is good to {1000 * typical:.0f} mm (standard deviation)."]
    if worst > 3 * typical:
        words.append(
            f"The known points disagree by {1000 * worst:.0f} mm: one is tapped or typed wrongly, "
            "or the floor is not flat."
        )
    outside = sum(not _inside(places, mark) for mark in found)
    if outside:
        words.append(f"{outside} of the marks lie outside the known points; there the error grows fast.")
    return RectifiedPhoto(
        photo=photo,
        marks=tuple(
            RectifiedMark(float(a), float(c), float(sa), float(sc))
            for (a, c), (sa, sc) in zip(found, spread, strict=True)
        ),
        worst_residual_m=worst,
        words=tuple(words),
    )


def _inside(places: np.ndarray[tuple[int, ...], np.dtype[np.float64]], mark: object) -> bool:
    from shapely import MultiPoint, Point

    return bool(MultiPoint(places).convex_hull.buffer(1e-9).contains(Point(mark)))
