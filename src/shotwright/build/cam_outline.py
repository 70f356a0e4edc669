"""Edge of a snail cam as a closed outline: rise, nose, drop flank, low sector, pick-up."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.build.snail_cam import Follower, Lift, pitch_curve

FloatArray = NDArray[np.float64]
_SLOPE_DOUBT = 0.003  # of the torque, from the flats of the outline
_STEPS = (math.radians(0.005), math.radians(0.1))  # finest and coarsest step of the turn
_MOST_CORNERS = 30_000
_COARSE = math.radians(1.0)
_PICK_UP = math.radians(30)  # slope of the pick-up where the rise begins flat


@dataclass(frozen=True, slots=True)
class Drop:
    """How the cam lets go.

    Parameters
    ----------
    clearance : float
        Gap between roller and cam while the spring rests on its own stop. [m]
    relief : float
        Angle by which the flank leans away from the falling roller. [rad]
    """

    clearance: float = 0.001
    relief: float = math.radians(3)

    def __post_init__(self) -> None:
        """Refuse what holds the roller back."""
        if not self.clearance >= 0:
            raise BadInput(f"{1e3 * self.clearance:.4g} mm must be at least 0", field="clearance")
        if not 0 <= self.relief <= math.radians(20):
            raise BadInput(
                f"{math.degrees(self.relief):.4g} deg must be between 0 and 20 deg", field="relief"
            )


@dataclass(frozen=True, slots=True, eq=False)
class CamOutline:
    """The edge to be cut, and where it lets go.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Anticlockwise, starting where the rise begins; the last joins the first. [m]
    release : float
        Turn at which the roller leaves the nose. [rad]
    nose_radius : float
        Distance of the nose's corner from the axis. [m]
    nose_turn : float
        How far the cam turns while the roller rides the corner. [rad]
    nose_angle : float
        Of the material at the corner. [rad]
    sink : float
        How far the roller sinks over the corner before it falls. [m]
    low_from : float
        Turn from which the flank is out of the way of the roller at its lowest point. [rad]
    low_radius : float
        Of the edge in the low sector. [m]
    """

    points: FloatArray
    release: float
    nose_radius: float
    nose_turn: float
    nose_angle: float
    sink: float
    low_from: float
    low_radius: float


def rise_angles(lift: Lift, follower: Follower, *, coarse: bool = False) -> FloatArray:
    """Angles at which the outline gets a corner, so close that its flats change the torque by 0.3 % at most.

    The slope of a flat strays from that of the curve by half the turning between two flats. The torque
    follows y' = offset + along tan(phi), so its share is that times along/(y' cos^2(phi)).

    Parameters
    ----------
    lift : Lift
        y over the turn.
    follower : Follower
        Roller and prime radius.
    coarse : bool
        One step a degree, for a preview.

    Returns
    -------
    ndarray, shape (n,)
        From 0 to the rise. [rad]
    """
    if coarse:
        return np.linspace(0.0, lift.rise, max(math.ceil(lift.rise / _COARSE), 8) + 1)
    look = np.linspace(0.0, lift.rise, 361)
    path = pitch_curve(lift, follower, look)
    way = np.hypot(*np.gradient(path.centre, look, axis=0).T)
    turning = np.maximum(way / np.abs(path.radius), 1e-9)  # rad of the normal for each rad of the cam
    y, first, _ = lift.lift(look)
    share = first * np.cos(path.pressure_angle) ** 2 / (follower.low + y)
    step = np.clip(2 * _SLOPE_DOUBT * share / turning, *_STEPS)
    count = np.concatenate([[0.0], np.cumsum(0.5 * (1 / step[1:] + 1 / step[:-1]) * np.diff(look))])
    corners = min(math.ceil(count[-1]), _MOST_CORNERS) + 1
    return np.asarray(np.interp(np.linspace(0, count[-1], corners), count, look))


def cam_outline(lift: Lift, follower: Follower, drop: Drop, *, coarse: bool = False) -> CamOutline:
    """Draw the edge of a cam.

    The flank runs from the nose's corner beside the falling roller, leaning away by the relief, down to the
    low sector. There the edge lies `clearance` below the roller, so that the spring's own stop takes the
    blow and not the cam.

    Parameters
    ----------
    lift : Lift
        y over the turn.
    follower : Follower
        Roller, prime radius, offset.
    drop : Drop
        Clearance and relief.
    coarse : bool
        For a preview.

    Returns
    -------
    CamOutline
        In the cam's frame: the follower stands at polar angle `turn` of it.

    Raises
    ------
    NoAnswer
        Undercut, or no room for the drop.
    """
    path = pitch_curve(lift, follower, rise_angles(lift, follower, coarse=coarse))
    tight = (path.radius > 0) & (path.radius <= follower.roller)
    if tight.any():
        at = math.degrees(float(path.turn[np.argmax(tight)]))
        raise NoAnswer(
            f"the roller of {2e3 * follower.roller:.4g} mm would undercut the cam at {at:.0f} deg; take a "
            "smaller roller or a larger prime radius"
        )
    corner = path.contact[-1]
    reach = math.hypot(*corner)
    release = _release(corner, follower)
    low = follower.base - drop.clearance
    if not low > 0:
        raise NoAnswer("the clearance takes away the whole base circle; raise the prime radius")
    flank, down = _flank(corner, release, drop.relief, low)
    start, rest = _pick_up(path.contact[0], _tangent(path.contact), low)
    foot = math.atan2(flank[1], flank[0])
    end = start
    while foot < release - math.pi:
        foot += 2 * math.pi
    while end < release - math.pi:
        end += 2 * math.pi
    end += 2 * math.pi if end < foot - math.pi / 2 else 0.0
    if not (end > foot and release < 2 * math.pi):
        raise NoAnswer(
            f"no room is left for the drop: the rise of {math.degrees(lift.rise):.4g} deg and the nose take "
            "the whole turn; shorten the rise, take a smaller roller or a larger prime radius"
        )
    count = max(math.ceil((end - foot) / (_COARSE if coarse else _STEPS[1])), 2)
    around = np.linspace(foot, end, count + 1)
    floor = low * np.column_stack([np.cos(around), np.sin(around)])
    tangent = path.contact[-1] - path.contact[-2]
    tangent /= math.hypot(*tangent)
    line = [corner + t * (flank - corner) for t in np.linspace(0, 1, 5)[1:-1]]
    return CamOutline(
        points=np.concatenate([path.contact, line, floor, rest]),
        release=release,
        nose_radius=reach,
        nose_turn=release - lift.rise,
        nose_angle=math.acos(float(np.clip(-tangent @ down, -1, 1))),
        sink=follower.low + float(lift.lift(np.array([lift.rise]))[0][0])
        - math.sqrt(reach**2 - (follower.roller - follower.offset) ** 2),
        low_from=release,
        low_radius=low,
    )  # fmt: skip


def _release(corner: FloatArray, follower: Follower) -> float:
    """Turn at which the corner has moved to the roller's flank: its distance from the line is r_f."""
    reach, polar = math.hypot(*corner), math.atan2(corner[1], corner[0])
    beside = (follower.roller - follower.offset) / reach
    if abs(beside) >= 1:
        raise NoAnswer("the nose can't pass the roller; bring the follower's line nearer to the axis")
    return polar % (2 * math.pi) + math.asin(beside)


def _flank(corner: FloatArray, release: float, relief: float, low: float) -> tuple[FloatArray, FloatArray]:
    """Foot of the flank on the low circle, and its direction down."""
    turn = release + relief
    down = -np.array([math.cos(turn), math.sin(turn)])
    inward = float(corner @ down)
    half = inward**2 - (float(corner @ corner) - low**2)
    if half <= 0:
        raise NoAnswer(
            "the drop flank passes the axis too far off to meet the low sector; raise the prime radius, "
            "take a smaller roller or less relief"
        )
    return corner + down * (-inward - math.sqrt(half)), down


def _tangent(contact: FloatArray) -> FloatArray:
    along = contact[1] - contact[0]
    return np.asarray(along / math.hypot(*along))


def _pick_up(first: FloatArray, tangent: FloatArray, low: float) -> tuple[float, FloatArray]:
    """Polar angle at which the pick-up leaves the low circle, and the points between there and the rise.

    The edge goes on backwards along the tangent; where that would miss the low circle it bends inwards.
    """
    radius = math.hypot(*first)
    if radius - low < 1e-9:
        return math.atan2(first[1], first[0]), np.empty((0, 2))
    up = first / radius
    slope = max(math.asin(float(np.clip(tangent @ up, -1, 1))), _PICK_UP)
    side = np.array([-up[1], up[0]])
    # The steeper of the tangent and 30 deg that still meets the circle; straight in at the worst.
    for angle in np.linspace(slope, math.pi / 2, 40):
        back = -(math.sin(angle) * up + math.cos(angle) * side)
        inward = float(first @ back)
        half = inward**2 - (radius**2 - low**2)
        if half >= 0:
            foot = first + back * (-inward - math.sqrt(half))
            return math.atan2(foot[1], foot[0]), np.empty((0, 2))
    raise AssertionError("a line through the axis meets every circle about it")
