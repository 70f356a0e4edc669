"""What the drawn gear and rack do over a whole turn: drive, let go, fly back, find each other again.

All from the outlines themselves. The law enters only as what the travel is compared with.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.plain import Result
from shotwright.build.gear_rolling import Meshing, height_gap, mesh, turned
from shotwright.build.spiral_gear import SpiralPair

FloatArray = NDArray[np.float64]
OVERLAP = 1e-6  # m; deepest overlap that counts as none, a fiftieth of what a laser holds
_JUST_AFTER = math.radians(1)
RUN_ON = math.radians(10)  # angle by which the gear turns on while the rack flies back


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
    release_clearance_m : float
        Least height between gear and rack while the rack flies back and the gear turns on by 10 deg;
        negative: they collide. [m]
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
    release_clearance_m: float
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


def roll_pair(pair: SpiralPair, *, positions: int = 361, looks: int = 41) -> Turn:
    """Roll the drawn gear on the drawn rack through a turn.

    Parameters
    ----------
    pair : SpiralPair
        The outlines.
    positions : int
        Angles over the stroke.
    looks : int
        Positions at which the whole outlines are laid over each other.

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
    meshing = mesh(pair.gear, pair.rack, turn, pitch, reach=2.6)
    stroke = np.arange(len(turn)) < positions
    law = curves.travel_at_turn(turn[stroke])
    with np.errstate(invalid="ignore"):
        torque = curve.force(meshing.travel) * meshing.rate
    error = np.abs(meshing.travel[stroke] - law)
    relative = 1 + (torque[stroke] - curve.force(law) * curves.radius(law)) / curves.scale
    dropped = int(np.flatnonzero(np.isfinite(meshing.travel)).max(initial=0))
    tail = torque[positions : dropped + 1]
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
        release_clearance_m=release_clearance(pair, float(turn[dropped]), float(meshing.travel[dropped])),
        pick_up_lift_m=pick_up_lift(pair, float(turn[dropped])),
    )
    return Turn(meshing, torque, checks)


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


def release_clearance(pair: SpiralPair, turn: float, travel: float, looks: int = 41) -> float:
    """Least height between gear and rack while the rack flies back from a travel to its stop. [m]

    Parameters
    ----------
    pair : SpiralPair
        The outlines.
    turn : float
        Of the gear when it drops the rack; it is looked at 1 and 10 degrees on. [rad]
    travel : float
        Of the rack then. [m]
    looks : int
        Places of the rack that are looked at.
    """
    least = math.inf
    for angle in (turn + _JUST_AFTER, turn + RUN_ON):
        stands = turned(pair.gear, math.pi / 2 - angle)
        for x in np.linspace(travel, 0.0, looks):
            least = min(least, height_gap(stands, pair.rack + np.array([x, 0.0])))
    return least


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
    start = max(min(turn + RUN_ON, 2 * math.pi), math.pi)
    lifts = [
        -height_gap(turned(pair.gear, math.pi / 2 - angle), pair.rack)
        for angle in np.linspace(start, 2 * math.pi, looks)
    ]
    return max(0.0, *lifts)
