"""What the drawn gear and rack do over a whole turn: drive, let go, fly back, find each other again.

All from the outlines themselves. The law enters only as what the travel is compared with.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.plain import Result
from shotwright.build.gear_rolling import Meshing, height_gaps, mesh, skyline, turned
from shotwright.build.spiral_gear import SpiralPair

FloatArray = NDArray[np.float64]
_STRIP = 5e-5  # m; width of the strips in which heights are compared
OVERLAP = 1e-6  # m; deepest overlap that counts as none, a fiftieth of what a laser holds


@dataclass(frozen=True, slots=True)
class TurnChecks(Result):
    """Figures of one turn of the drawn pair.

    Parameters
    ----------
    positions : int
        Positions rolled over the stroke.
    travel_error_m : float
        Largest difference of the rack's travel from the law. [m]
    torque_low, torque_high : float
        Lowest and highest torque over the stroke: 1 and its difference from the law's torque at that turn, in
        units of the constant torque. [-]
    overlap_m : float
        Deepest overlap of the backs of teeth; 0 when there is none. [m]
    overlap_area_m2 : float
        Largest area that the whole outlines share at any position looked at. [m^2]
    let_go_turn_deg, let_go_travel_m : float
        Where the last tooth drops the rack.
    tail_torque : float
        Highest torque from the end of the stroke until the rack is dropped, in units of the constant torque.
    free_from_deg, free_to_deg : float
        Turns of the gear between which the rack can fly back without touching it; infinity when it can't.
    pick_up_lift_m : float
        By how much the rack at its front stop must lift to let the first teeth come in under it. [m]
    """

    positions: int
    travel_error_m: float
    torque_low: float
    torque_high: float
    overlap_m: float
    overlap_area_m2: float
    let_go_turn_deg: float
    let_go_travel_m: float
    tail_torque: float
    free_from_deg: float
    free_to_deg: float
    pick_up_lift_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Turn:
    """A turn of the drawn pair.

    Parameters
    ----------
    meshing : Meshing
        Over the stroke and until the rack is dropped.
    torque : ndarray, shape (n,)
        F dX/dtheta from the outlines; NaN where nothing touches. [N m]
    checks : TurnChecks
        Figures.
    """

    meshing: Meshing
    torque: FloatArray
    checks: TurnChecks


def roll_pair(pair: SpiralPair, *, positions: int = 361, looks: int = 41, full: bool = True) -> Turn:
    """Roll the drawn gear on the drawn rack through a turn.

    Parameters
    ----------
    pair : SpiralPair
        The outlines.
    positions : int
        Angles over the stroke.
    looks : int
        Positions at which the whole outlines are laid over each other.
    full : bool
        Fly the rack back and find it again, too.

    Returns
    -------
    Turn
        Travel, torque, checks.
    """
    curves, pitch = pair.curves, pair.form.pitch
    angle, curve = curves.angle, curves.law.curve
    step = float(angle) / (positions - 1)
    after = max(1, math.ceil((pair.let_go - angle) / step) + 1)
    turn = np.asarray(step * np.arange(positions + after), dtype=np.float64)
    driven = mesh(pair.gear, pair.rack, turn[:positions], pitch)
    # Once the last pair has left its line of action, its tip wanders farther from the axis.
    end = float(np.nan_to_num(driven.travel[-1], nan=curve.stroke))
    meshing = _joined(driven, mesh(pair.gear, pair.rack, turn[positions - 1 :], pitch, start=end, reach=2.6))
    stroke = np.arange(len(turn)) < positions
    law = curves.travel_at_turn(turn[stroke])
    with np.errstate(invalid="ignore"):
        torque = curve.force(meshing.travel) * meshing.rate
    error = np.abs(meshing.travel[stroke] - law)
    relative = 1 + (torque[stroke] - curve.force(law) * curves.radius(law)) / curves.scale
    dropped = int(np.flatnonzero(np.isfinite(meshing.travel)).max(initial=0))
    tail = torque[positions : dropped + 1]
    free = (math.nan, math.nan)
    if full:
        free = release_window(pair, float(turn[dropped]), float(meshing.travel[dropped]))
    rolled = np.linspace(0, positions - 1, looks).round().astype(int)
    checks = TurnChecks(
        positions=positions,
        travel_error_m=float(np.max(np.where(np.isfinite(error), error, np.inf))),
        torque_low=float(np.nan_to_num(relative, nan=-np.inf).min()),
        torque_high=float(np.nan_to_num(relative, nan=np.inf).max()),
        overlap_m=max(0.0, -float(np.nan_to_num(meshing.play[stroke], nan=np.inf).min())),
        overlap_area_m2=overlap_area(pair, turn[rolled], meshing.travel[rolled]),
        let_go_turn_deg=math.degrees(float(turn[dropped])),
        let_go_travel_m=float(meshing.travel[dropped]),
        tail_torque=float(np.nan_to_num(tail, nan=0.0).max(initial=0.0)) / curves.scale,
        free_from_deg=math.degrees(free[0]),
        free_to_deg=math.degrees(free[1]),
        pick_up_lift_m=pick_up_lift(pair, float(turn[dropped])) if full else math.nan,
    )
    return Turn(meshing, torque, checks)


def _joined(first: Meshing, second: Meshing) -> Meshing:
    """Join two runs of which the second starts where the first ends."""
    return Meshing(
        *(
            np.concatenate([getattr(first, name), getattr(second, name)[1:]])
            for name in ("turn", "travel", "rate", "contact", "play")
        )
    )


def overlap_area(pair: SpiralPair, turn: FloatArray, travel: FloatArray) -> float:
    """Largest area that the two whole outlines share at these positions. [m^2]

    Parameters
    ----------
    pair : SpiralPair
        The outlines.
    turn, travel : ndarray, shape (n,)
        Positions; travels that are not finite are left out. [rad, m]
    """
    import shapely

    rack = shapely.polygons(pair.rack)
    shapely.prepare(rack)
    largest = 0.0
    for angle, x in zip(turn, travel, strict=True):
        if math.isfinite(x):
            gear = shapely.polygons(turned(pair.gear, math.pi / 2 - float(angle)) - np.array([float(x), 0.0]))
            if shapely.intersects(rack, gear):
                largest = max(largest, float(shapely.area(shapely.intersection(rack, gear))))
    return largest


def release_window(pair: SpiralPair, turn: float, travel: float, looks: int = 181) -> tuple[float, float]:
    """Turns of the gear between which the rack can fly back from a travel to its stop without touching it.

    Parameters
    ----------
    pair : SpiralPair
        The outlines.
    turn : float
        Of the gear when it drops the rack. [rad]
    travel : float
        Of the rack then. [m]
    looks : int
        Places of the rack that are looked at.

    Returns
    -------
    tuple of float
        First and last turn that is free, to a degree; twice infinity when there is none up to 45 degrees on.
        [rad]
    """
    places, rack = np.linspace(travel, 0.0, looks), skyline(pair.rack, _STRIP, upper=False)
    free: list[float] = []
    for angle in turn + np.radians(np.arange(0.25, 46.0)):
        stands = turned(pair.gear, math.pi / 2 - float(angle))
        clear = bool((height_gaps(stands, rack, places, _STRIP) >= -_STRIP).all())
        if clear:
            free.append(float(angle))
        elif free:
            break
    return (free[0], free[-1]) if free else (math.inf, math.inf)


def pick_up_lift(pair: SpiralPair, turn: float, looks: int = 46) -> float:
    """By how much the rack at its front stop stands in the way of the first teeth as they come round. [m]

    Parameters
    ----------
    pair : SpiralPair
        The outlines.
    turn : float
        Of the gear when it drops the rack. [rad]
    looks : int
        Angles of the gear that are looked at.
    """
    start = max(min(turn, 2 * math.pi), math.pi)
    rest, rack = np.zeros(1), skyline(pair.rack, _STRIP, upper=False)
    gaps = [
        float(height_gaps(turned(pair.gear, math.pi / 2 - float(angle)), rack, rest, _STRIP)[0])
        for angle in np.linspace(start, 2 * math.pi, looks)
    ]
    return max(0.0, -min(gaps))
