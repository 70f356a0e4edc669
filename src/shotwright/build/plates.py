"""Flat parts without teeth: round plates with a hub, and the side plate of a hood."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.build.hub import BoltCircle, Hub, hub_loops
from shotwright.build.outline import CHORD, SAME_POINT, FloatArray, Loop, arc, circle, loop_from


def round_plate(
    diameter: float, hub: Hub, openings: BoltCircle | None = None, *, chord: float = CHORD
) -> tuple[Loop, tuple[Loop, ...]]:
    """Round plate with a hub, and openings on a circle that make it lighter.

    Parameters
    ----------
    diameter : float
        Outer. [m]
    hub : Hub
        Its middle.
    openings : BoltCircle, optional
        Round openings.
    chord : float
        Largest distance between a curve and its chords. [m]

    Returns
    -------
    tuple of (Loop, tuple of Loop)
        Edge and holes.

    Raises
    ------
    BadInput
        A size that can't be.
    """
    if not diameter > 2 * hub.reach_m():
        raise BadInput(
            f"{1000 * diameter:g} mm holds no hub that reaches {2000 * hub.reach_m():.4g} mm across;"
            " make the plate larger or the hub smaller",
            field="diameter",
        )
    holes = hub_loops(hub, chord=chord)
    if openings is not None:
        holes += tuple(circle(at, openings.hole / 2, chord=chord) for at in openings.centres())
    return circle((0.0, 0.0), diameter / 2, chord=chord), holes


@dataclass(frozen=True, slots=True)
class Hood:
    """A hood over a wheel, seen from the side on which the ball leaves to the right.

    The wheel turns clockwise, its axle is the origin. The ball goes round the wheel's back and over its top;
    a tangent at the end of the arc points the way it leaves.

    Parameters
    ----------
    wheel_diameter, ball_diameter : float
        [m]
    compression : float
        By how much the gap between wheel and hood is less than the ball. [m]
    wrap : float
        Angle of the arc about the axle. [rad]
    elevation : float
        Of the direction in which the ball leaves. [rad]
    entry, exit : float
        Straight pieces of the hood before and after the arc. [m]
    """

    wheel_diameter: float
    ball_diameter: float
    compression: float
    wrap: float
    elevation: float
    entry: float = 0.0
    exit: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.compression < self.ball_diameter / 2:
            raise BadInput(
                f"{1000 * self.compression:g} mm is no compression of a ball of"
                f" {1000 * self.ball_diameter:g} mm; 0 to less than half the ball is allowed",
                field="compression",
            )
        if not math.radians(5) <= self.wrap <= math.radians(270):
            raise BadInput(
                f"{math.degrees(self.wrap):g}° is no wrap; 5° to 270° is allowed", field="wrap_angle"
            )

    @property
    def radius_m(self) -> float:
        """Radius of the hood's face: wheel, and the gap that the ball is squeezed into. [m]"""
        return self.wheel_diameter / 2 + self.ball_diameter - self.compression

    @property
    def centre_radius_m(self) -> float:
        """Radius of the path of the ball's centre, midway between wheel and hood. [m]"""
        return (self.wheel_diameter / 2 + self.radius_m) / 2

    @property
    def strip_m(self) -> float:
        """Length of the strip that makes the hood's face. [m]"""
        return self.radius_m * self.wrap + self.entry + self.exit

    @property
    def angles(self) -> tuple[float, float]:
        """Polar angles of entry and exit; the ball goes clockwise, so the first is larger. [rad]"""
        leave = math.pi / 2 + self.elevation
        return leave + self.wrap, leave

    def line(self, radius: float, *, chord: float = CHORD) -> FloatArray:
        """Line at this distance from the axle, straight before and after the arc; shape (n, 2). [m]"""
        start, end = self.angles
        round_part = arc((0.0, 0.0), radius, start, end, chord=chord)
        parts = [round_part]
        if self.entry > SAME_POINT:
            parts.insert(0, round_part[:1] - self.entry * _onward(start))
        if self.exit > SAME_POINT:
            parts.append(round_part[-1:] + self.exit * _onward(end))
        return np.concatenate(parts)


def _onward(angle: float) -> FloatArray:
    """Direction of a clockwise path at a polar angle."""
    return np.array([math.sin(angle), -math.cos(angle)])


@dataclass(frozen=True, slots=True)
class HoodPlate:
    """A side plate that carries a hood and the wheel's axle.

    Parameters
    ----------
    hood : Hood
        What it carries.
    axle : float
        Diameter of the axle's or bearing's hole. [m]
    margin : float
        Width of the plate beyond the hood's face, and round the axle's holes. [m]
    slot : float
        Length by which axle and bearing holes are drawn out towards the hood's middle, to set the
        compression; 0: round holes. [m]
    bearing : BoltCircle, optional
        Holes round the axle.
    spacers : int
        Holes for the spacers behind the strip, evenly along the arc.
    spacer_hole : float
        Their diameter. [m]
    spacer_offset : float
        Distance of their centres behind the hood's face. [m]
    """

    hood: Hood
    axle: float
    margin: float
    slot: float = 0.0
    bearing: BoltCircle | None = None
    spacers: int = 4
    spacer_hole: float = 0.0
    spacer_offset: float = 0.0

    def spacer_centres(self) -> tuple[tuple[float, float], ...]:
        """Centres of the spacers' holes, from entry to exit. [m]"""
        start, end = self.hood.angles
        radius = self.hood.radius_m + self.spacer_offset
        inset = self.spacer_hole / radius  # keeps the end holes a hole's width within the arc
        turns = np.linspace(start - inset, end + inset, self.spacers) if self.spacers > 1 else np.zeros(0)
        return tuple((radius * math.cos(turn), radius * math.sin(turn)) for turn in turns.tolist())


def hood_plate(plate: HoodPlate, *, chord: float = CHORD) -> tuple[Loop, tuple[Loop, ...]]:
    """Edge and holes of a hood's side plate.

    The edge is the tightest line without a hollow round hood and path of the ball's centre with their margin,
    and the axle with its own: it keeps the ball in sideways and is easy to saw.

    Parameters
    ----------
    plate : HoodPlate
        Its sizes.
    chord : float
        Largest distance between a curve and its chords. [m]

    Returns
    -------
    tuple of (Loop, tuple of Loop)
        Edge; axle, bearing holes, spacer holes.

    Raises
    ------
    BadInput
        A margin that does not hold the holes.
    """
    from shapely.geometry import MultiPoint

    hood = plate.hood
    if plate.spacers > 1 and plate.margin < plate.spacer_offset + plate.spacer_hole:
        raise BadInput(
            f"{1000 * plate.margin:g} mm does not hold the spacers' holes; it must be at least their offset"
            f" and a hole's width, {1000 * (plate.spacer_offset + plate.spacer_hole):g} mm",
            field="margin",
        )
    around_axle = plate.margin + max(
        plate.axle / 2, 0.0 if plate.bearing is None else (plate.bearing.diameter + plate.bearing.hole) / 2
    )
    middle = sum(hood.angles) / 2
    along = np.array([math.cos(middle), math.sin(middle)])
    ends = [plate.slot / 2 * along, -plate.slot / 2 * along] if plate.slot else [np.zeros(2)]
    # Millimetres inside: the offset works on numbers near 1.
    way = [hood.line(radius, chord=chord) for radius in (hood.radius_m, hood.centre_radius_m)]
    face = MultiPoint(1000 * np.concatenate(way)).convex_hull
    quarter = math.ceil(len(circle((0.0, 0.0), plate.margin, chord=chord).points) / 4)
    corners = [np.asarray(face.buffer(1000 * plate.margin, quad_segs=quarter).exterior.coords) / 1000]
    corners += [circle((float(x), float(y)), around_axle, chord=chord).points for x, y in ends]
    hull = MultiPoint(np.concatenate(corners)).convex_hull
    middles = [((0.0, 0.0), plate.axle)]
    if plate.bearing is not None:
        middles += [(at, plate.bearing.hole) for at in plate.bearing.centres()]
    holes = tuple(slot(at, hole, plate.slot, middle, chord=chord) for at, hole in middles)
    holes += tuple(circle(at, plate.spacer_hole / 2, chord=chord) for at in plate.spacer_centres())
    return loop_from(np.asarray(hull.exterior.coords)).turned(), holes


def slot(at: tuple[float, float], width: float, length: float, angle: float, *, chord: float = CHORD) -> Loop:
    """Hole drawn out by `length` along `angle`, half to each side of `at`; round when the length is 0.

    Parameters
    ----------
    at : tuple of float
        Middle. [m]
    width : float
        Across. [m]
    length : float
        Between the centres of its round ends. [m]
    angle : float
        Of its length. [rad]
    chord : float
        Largest distance between a curve and its chords. [m]

    Returns
    -------
    Loop
        Anticlockwise.
    """
    if length <= 0:
        return circle(at, width / 2, chord=chord)
    r, h = width / 2, length / 2
    right = arc((h, 0.0), r, -math.pi / 2, math.pi / 2, chord=chord)
    left = arc((-h, 0.0), r, math.pi / 2, 1.5 * math.pi, chord=chord)
    return loop_from(np.concatenate([right, left])).moved(at, angle)
