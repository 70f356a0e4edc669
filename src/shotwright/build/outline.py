"""What a flat part is: closed loops to be cut, marks to be engraved, and the words that belong to it.

Coordinates are in metres, x to the right, y up, as one looks at the part lying on the table.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput

FloatArray = NDArray[np.float64]

CHORD = 2e-6  # m; largest distance between a curve and the chords that stand for it
FINE = 0.1e-6  # m; the same where the cut line is moved by the kerf
SAME_POINT = 1e-9  # m; nearer points are one
LARGEST = 10.0  # m; no sheet is larger, so it is a slip of the unit


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A closed loop of straight lines. The last point joins the first, which is never repeated.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Corners in order, either way round; read-only afterwards. [m]

    Raises
    ------
    BadInput
        Fewer than three corners, one that is not finite, or two neighbours at one place.

    Examples
    --------
    >>> Loop([[0, 0], [0.1, 0], [0.1, 0.05], [0, 0.05]]).area_m2
    0.005
    """

    points: FloatArray

    def __init__(self, points: ArrayLike) -> None:
        held = np.array(points, dtype=np.float64)
        if held.ndim != 2 or held.shape[1] != 2 or len(held) < 3:
            raise BadInput(f"a loop needs three corners or more, got an array of shape {held.shape}")
        if not np.all(np.isfinite(held)):
            raise BadInput("a corner of the outline is not a number")
        if np.abs(held).max() > LARGEST:
            raise BadInput(f"the outline reaches beyond {LARGEST:g} m; check the unit")
        gaps = np.hypot(*(np.roll(held, -1, axis=0) - held).T)
        if gaps.min() <= SAME_POINT:
            raise BadInput("two neighbouring corners of the outline are at one place")
        held.flags.writeable = False
        object.__setattr__(self, "points", held)

    @property
    def signed_area_m2(self) -> float:
        """Area, positive when the corners run anticlockwise. [m^2]"""
        x, y = (self.points - self.points[0]).T
        return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))

    @property
    def area_m2(self) -> float:
        """Area inside. [m^2]"""
        return abs(self.signed_area_m2)

    @property
    def length_m(self) -> float:
        """Length once round. [m]"""
        return float(np.hypot(*(np.roll(self.points, -1, axis=0) - self.points).T).sum())

    def turned(self, anticlockwise: bool = True) -> Loop:
        """Same loop, its corners running the way asked for."""
        return self if (self.signed_area_m2 > 0) == anticlockwise else Loop(self.points[::-1])

    def moved(self, by: ArrayLike, angle: float = 0.0) -> Loop:
        """Same loop, turned about the origin by `angle` [rad] and then moved by (x, y). [m]"""
        c, s = math.cos(angle), math.sin(angle)
        return Loop(self.points @ np.array([[c, s], [-s, c]]) + np.asarray(by, dtype=float))


def one_line(text: str) -> str:
    """Text without line breaks and control signs, which would end a line of a drawing's file."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


@dataclass(frozen=True, slots=True)
class Lettering:
    """A line of letters to be engraved.

    Parameters
    ----------
    text : str
        One line.
    at : tuple of float
        Left end of its base line, (x, y). [m]
    height_m : float
        Of a capital letter. [m]
    angle : float
        Of the base line, anticlockwise from +x. [rad]
    """

    text: str
    at: tuple[float, float]
    height_m: float = 0.004
    angle: float = 0.0


@dataclass(frozen=True, slots=True)
class Title:
    """The words that go with a drawing wherever it goes.

    Parameters
    ----------
    part : str
        Name of the part.
    project : str
        Name of the project; "" when the part belongs to none.
    material : str
        In the crew's words: "birch plywood".
    thickness_m : float
        Of the material. [m]
    date : datetime.date
        On which the drawing was made.
    caution : str
        What can hurt, and what to do about it.
    module_m : float, optional
        Module of the teeth, for a part that has some. [m]
    kerf_m : float
        Width of the cut that the outline allows for; 0: the outline is the part itself. [m]
    notes : tuple of str
        Further lines, e.g. what the part is made for.
    """

    part: str
    project: str
    material: str
    thickness_m: float
    date: datetime.date
    caution: str
    module_m: float | None = None
    kerf_m: float = 0.0
    notes: tuple[str, ...] = ()

    def lines(self) -> tuple[str, ...]:
        """Words for the title block, a line each, in the order of a title block; the caution is the last."""
        material = f"{self.material}, " if self.material else ""
        kerf = (
            f"cut line allows for a kerf of {1000 * self.kerf_m:.3g} mm"
            if self.kerf_m
            else "no kerf allowance: the line is the part's edge"
        )
        made = " · ".join(words for words in (self.project, self.date.isoformat()) if words)
        lines = (
            self.part,
            made,
            f"{material}{1000 * self.thickness_m:.4g} mm thick; {kerf}",
            *((f"module {1000 * self.module_m:.4g} mm",) if self.module_m else ()),
            *self.notes,
            *((f"CAUTION: {self.caution}",) if self.caution else ()),
        )
        return tuple(one_line(line) for line in lines)


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """A flat part as it is cut.

    Parameters
    ----------
    outers : tuple of Loop
        Edges of the pieces; one for a part in one piece.
    title : Title
        Its words.
    holes : tuple of Loop
        Holes, each inside one outer loop.
    engraved : tuple of ndarray
        Open lines to be engraved, each of shape (n, 2). [m]
    lettering : tuple of Lettering
        Letters to be engraved on the part.
    centres : tuple of tuple of float
        Where a point of a drill or of a pair of compasses goes, (x, y). [m]
    """

    outers: tuple[Loop, ...]
    title: Title
    holes: tuple[Loop, ...] = ()
    engraved: tuple[FloatArray, ...] = ()
    lettering: tuple[Lettering, ...] = ()
    centres: tuple[tuple[float, float], ...] = ()

    @property
    def cuts(self) -> tuple[Loop, ...]:
        """Everything to be cut, holes first: a piece that is cut free may move."""
        return (*self.holes, *self.outers)

    @property
    def area_m2(self) -> float:
        """Area of material that is left. [m^2]"""
        return sum(loop.area_m2 for loop in self.outers) - sum(loop.area_m2 for loop in self.holes)

    @property
    def bounds_m(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y of what is cut. [m]"""
        all_points = np.concatenate([loop.points for loop in self.outers])
        (left, low), (right, high) = all_points.min(axis=0), all_points.max(axis=0)
        return float(left), float(low), float(right), float(high)


def circle(centre: tuple[float, float], radius: float, *, chord: float = CHORD) -> Loop:
    """Circle as a loop, its corners on the circle, anticlockwise.

    Parameters
    ----------
    centre : tuple of float
        (x, y). [m]
    radius : float
        [m]
    chord : float
        Largest distance between the circle and its chords. [m]

    Returns
    -------
    Loop
        A multiple of four corners, the first at the right.

    Examples
    --------
    >>> round(1e6 * circle((0, 0), 0.01).area_m2, 2)
    314.08
    """
    if not radius > 0:
        raise BadInput(f"a circle needs a radius greater than 0, got {1000 * radius:g} mm")
    count = 4 * max(math.ceil(math.pi / (4 * _half_step(radius, chord))), 4)
    at = 2 * np.pi * np.arange(count) / count
    return Loop(np.asarray(centre) + radius * np.column_stack([np.cos(at), np.sin(at)]))


def arc(
    centre: tuple[float, float], radius: float, start: float, end: float, *, chord: float = CHORD
) -> FloatArray:
    """Points on an arc, both ends included; anticlockwise when `end` > `start`.

    Parameters
    ----------
    centre : tuple of float
        (x, y). [m]
    radius : float
        [m]
    start, end : float
        Polar angles. [rad]
    chord : float
        Largest distance between the arc and its chords. [m]

    Returns
    -------
    ndarray, shape (n, 2)
        [m]
    """
    count = max(math.ceil(abs(end - start) / (2 * _half_step(radius, chord))), 1)
    at = np.linspace(start, end, count + 1)
    return np.asarray(np.asarray(centre) + radius * np.column_stack([np.cos(at), np.sin(at)]))


def _half_step(radius: float, chord: float) -> float:
    """Half the angle between two corners on a circle, so that the chord strays by no more than `chord`."""
    return math.acos(max(1 - chord / radius, 0.5))


def with_kerf(drawing: Drawing, kerf: float) -> Drawing:
    """Move the cut lines so that a cut of this width leaves the part at its size.

    Outer loops grow and holes shrink by half the kerf. Corners get the round that the beam draws.

    Parameters
    ----------
    drawing : Drawing
        The part at its size.
    kerf : float
        Width of the cut; 0 leaves the drawing as it is. [m]

    Returns
    -------
    Drawing
        With the kerf in its title.

    Raises
    ------
    BadInput
        A kerf below 0 or above 5 mm, a hole that closes, or a piece that falls apart.

    Notes
    -----
    A notch narrower than the kerf can't be cut; its walls meet and the line leaves it out.
    """
    if not 0 <= kerf <= 0.005:
        raise BadInput(f"{1000 * kerf:g} mm is no width of a cut; 0 to 5 mm is allowed", field="kerf")
    if kerf == 0:
        return drawing
    if drawing.title.kerf_m:
        raise BadInput("the drawing allows for a kerf already", field="kerf")
    return replace(
        drawing,
        outers=tuple(_offset(loop, kerf / 2, "piece") for loop in drawing.outers),
        holes=tuple(_offset(loop, -kerf / 2, "hole") for loop in drawing.holes),
        title=replace(drawing.title, kerf_m=kerf),
    )


def _offset(loop: Loop, by: float, what: str) -> Loop:
    """Loop moved outwards by `by`; its own side as the caller sees it does not matter."""
    from shapely.geometry import Polygon

    # Millimetres inside: the offset works on a grid of doubles that suits numbers near 1.
    quarter = max(math.ceil(math.pi / (4 * _half_step(abs(by), FINE))), 8)
    grown = Polygon(1000 * loop.points).buffer(1000 * by, quad_segs=quarter).simplify(1000 * FINE)
    if grown.is_empty or grown.geom_type != "Polygon":
        cure = "it closes" if grown.is_empty else "it falls into several"
        raise BadInput(f"a {what} is too small for a kerf of {2000 * abs(by):g} mm: {cure}", field="kerf")
    return loop_from(np.asarray(grown.exterior.coords) / 1000)


def loop_from(points: ArrayLike) -> Loop:
    """Loop from points that may repeat the first at the end, or stand twice at one place.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        [m]

    Returns
    -------
    Loop
        Without the repetitions.
    """
    held = np.asarray(points, dtype=float)
    apart = np.hypot(*(held - np.roll(held, 1, axis=0)).T) > SAME_POINT
    return Loop(held[apart])


def checked(drawing: Drawing) -> Drawing:
    """Return the drawing when it can be cut as drawn.

    Parameters
    ----------
    drawing : Drawing
        Any.

    Returns
    -------
    Drawing
        The same.

    Raises
    ------
    BadInput
        A loop that crosses itself, a hole that is not inside a piece or meets its edge or another hole,
        two pieces that meet.
    """
    from shapely.geometry import Polygon
    from shapely.validation import explain_validity

    if not drawing.outers:
        raise BadInput("the drawing has no outline", field=drawing.title.part)
    pieces = [Polygon(1000 * loop.points) for loop in drawing.outers]
    holes = [Polygon(1000 * loop.points) for loop in drawing.holes]
    for name, shapes in (("the outline", pieces), ("a hole", holes)):
        for shape in shapes:
            if not shape.is_valid:
                why = explain_validity(shape)
                raise BadInput(f"{name} crosses itself ({why}, in mm)", field=drawing.title.part)
    _apart(pieces, "pieces", drawing.title.part)
    _apart(holes, "holes", drawing.title.part)
    for hole in holes:
        if not any(piece.contains_properly(hole) for piece in pieces):
            raise BadInput(
                f"the hole at {_place(hole)} is not inside the part; move it, or make the part larger",
                field=drawing.title.part,
            )
    return drawing


def _apart(shapes: list[object], what: str, part: str) -> None:
    """Refuse two shapes that meet."""
    from shapely import STRtree

    if len(shapes) < 2:
        return
    first, second = STRtree(shapes).query(shapes, predicate="intersects")
    for one, other in zip(first, second, strict=True):
        if one < other:
            places = f"{_place(shapes[one])} and {_place(shapes[other])}"
            raise BadInput(f"the {what} at {places} meet; move them apart or make them smaller", field=part)


def _place(shape: object) -> str:
    centre = shape.centroid  # type: ignore[attr-defined]  # shapely has no annotations
    return f"({centre.x:.2f}, {centre.y:.2f}) mm"


def pieces_of(drawing: Drawing) -> list[tuple[Loop, tuple[Loop, ...]]]:
    """Group a drawing's loops: each piece with the holes in it.

    Parameters
    ----------
    drawing : Drawing
        One that :func:`checked` lets pass.

    Returns
    -------
    list of tuple
        Outer loop, its holes.

    Raises
    ------
    BadInput
        A hole that is in no piece: left out, it would be filled without a word.
    """
    from shapely.geometry import Polygon

    shapes = [(outer, Polygon(1000 * outer.points)) for outer in drawing.outers]
    inside = [(hole, Polygon(1000 * hole.points)) for hole in drawing.holes]
    stray = [held for _, held in inside if not any(shape.contains(held) for _, shape in shapes)]
    if stray:
        raise BadInput(f"the hole at {_place(stray[0])} is not inside the part", field=drawing.title.part)
    return [(outer, tuple(h for h, held in inside if shape.contains(held))) for outer, shape in shapes]


def extent(loops: Iterable[Loop]) -> float:
    """Largest distance of a corner from the origin. [m]"""
    return max(float(np.hypot(*loop.points.T).max()) for loop in loops)
