"""Three ways to wind a spring with even torque about a fixed axis, side by side, each from its drawn edge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.build.force_curve import ForceCurve
from shotwright.build.gear_checks import roll_pair
from shotwright.build.pitch_curve import PitchCurves, scale_for_angle
from shotwright.build.pitch_law import EvenTorque, RadiusLaw, best_straight
from shotwright.build.rack_cutter import Fineness
from shotwright.build.spiral_drum import draw_drum, pull
from shotwright.build.spiral_gear import SpiralPair, ToothForm, cut_pair

FloatArray = NDArray[np.float64]
WayName = Literal["curved rack", "straight rack", "cable drum"]
CUTTING: dict[WayName, str] = {
    "curved rack": "two parts that fit only each other, every tooth different: laser, printer or mill",
    "straight rack": "the rack is plain and can be bought; the gear's teeth differ: laser, printer or mill",
    "cable drum": "one smooth edge and two cheeks, a jigsaw will do; it lets go only with a clutch or a dog",
}


@dataclass(frozen=True, slots=True)
class Way(Result):
    """One way to wind the spring.

    Parameters
    ----------
    way : str
        Its name.
    reason : str
        Why it can't be built with these numbers; "" when it can.
    torque_n_m : float
        Mean over the turn.
    peak_n_m : float
        Largest.
    ripple : float
        Highest less lowest torque over the turn, in units of the mean. [-]
    across_m : float
        Largest distance of two points of the gear or drum.
    rack_length_m, rack_height_m : float
        Size of the rack; 0 for the drum.
    cut_m : float
        Length of all edges, holes apart.
    inside_radius_m : float
        Smallest radius inside a corner, that a tool must reach; infinity when there is none.
    teeth : int
        Number of teeth on the gear.
    cutting : str
        How it is cut.
    curve : tuple of (float, float)
        Turn [deg] and torque [N m].
    """

    way: WayName
    reason: str
    torque_n_m: float
    peak_n_m: float
    ripple: float
    across_m: float
    rack_length_m: float
    rack_height_m: float
    cut_m: float
    inside_radius_m: float
    teeth: int
    cutting: str
    curve: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Wish:
    """What is the same for all ways.

    Parameters
    ----------
    curve : ForceCurve
        The spring.
    angle : float
        Of the turn. [rad]
    form : ToothForm
        Teeth.
    soft_start : float
        Travel over which the torque may rise. [m]
    cable : float
        Diameter. [m]
    distance : float
        Of the cable's end behind the axis when wound. [m]
    backing : float
        Of the rack behind its roots. [m]
    """

    curve: ForceCurve
    angle: float
    form: ToothForm
    soft_start: float = 0.0
    cable: float = 0.001
    distance: float = 0.1
    backing: float = 0.008


def compare_ways(
    wish: Wish, *, positions: int = 121, fineness: Fineness | None = None, known: Way | None = None
) -> tuple[Way, ...]:
    """Draw all three ways for one spring and turn, and compare them.

    Parameters
    ----------
    wish : Wish
        Spring, turn, teeth.
    positions : int
        Angles at which each is rolled or pulled.
    fineness : Fineness, optional
        Points on the teeth.
    known : Way, optional
        A row that need not be made again.

    Returns
    -------
    tuple of Way
        Curved rack, tilted straight rack, cable drum.
    """
    found: list[Way] = []
    for name in CUTTING:
        if known is not None and known.way == name:
            found.append(known)
            continue
        try:
            found.append(_way(name, wish, positions, fineness))
        except (BadInput, NoAnswer) as refused:
            found.append(_refused(name, str(refused)))
    return tuple(found)


def _refused(name: WayName, reason: str) -> Way:
    none = math.nan
    return Way(name, reason, none, none, none, none, none, none, none, none, 0, CUTTING[name])


def law_of(name: WayName, wish: Wish) -> RadiusLaw:
    """Law of the radius for a way.

    Parameters
    ----------
    name : str
        Of the way.
    wish : Wish
        Its spring and soft start.

    Returns
    -------
    RadiusLaw
        Shape of the radius.
    """
    return best_straight(wish.curve) if name == "straight rack" else EvenTorque(wish.curve, wish.soft_start)


def _way(name: WayName, wish: Wish, positions: int, fineness: Fineness | None) -> Way:
    law = law_of(name, wish)
    scale = scale_for_angle(law, wish.angle)
    if name == "cable drum":
        return _drum_way(PitchCurves(law, scale, 0.0), wish, positions)
    pair = cut_pair(law, scale, wish.form, backing=wish.backing, fineness=fineness)
    return pair_way(name, pair, roll_pair(pair, positions=positions, looks=2, full=False).torque[:positions])


def pair_way(name: WayName, pair: SpiralPair, torque: FloatArray) -> Way:
    """Row of a gear and rack that are cut and rolled already.

    Parameters
    ----------
    name : str
        Of the way.
    pair : SpiralPair
        The outlines.
    torque : ndarray, shape (n,)
        Over the turn, from them. [N m]
    """
    mean, peak, ripple = _spread(torque)
    size = np.ptp(pair.rack, axis=0)
    return Way(
        name, "", mean, peak, ripple, _across(pair.gear), float(size[0]), float(size[1]),
        _round(pair.gear) + _round(pair.rack), pair.form.rack.fillet * pair.form.module, pair.teeth,
        CUTTING[name], _told(pair.curves.angle, torque),
    )  # fmt: skip


def _drum_way(curves: PitchCurves, wish: Wish, positions: int) -> Way:
    drum = draw_drum(curves, wish.cable)
    height = float(curves.radius(0.5 * wish.curve.stroke))
    pulled = pull(drum, wish.curve, distance=wish.distance, height=height, positions=positions)
    mean, peak, ripple = _spread(pulled.torque)
    return Way(
        "cable drum", "", mean, peak, ripple, _across(drum.edge), 0.0, 0.0, _round(drum.edge), math.inf, 0,
        CUTTING["cable drum"], _told(curves.angle, pulled.torque),
    )  # fmt: skip


def _told(angle: float, torque: FloatArray) -> tuple[tuple[float, float], ...]:
    turn = np.linspace(0.0, math.degrees(angle), len(torque))
    return tuple(zip(turn.tolist(), torque.tolist(), strict=True))


def _spread(torque: FloatArray) -> tuple[float, float, float]:
    mean = float(np.mean(torque))
    return mean, float(torque.max()), float((torque.max() - torque.min()) / mean)


def _round(loop: FloatArray) -> float:
    return float(np.hypot(*(np.roll(loop, -1, axis=0) - loop).T).sum())


def _across(loop: FloatArray) -> float:
    """Largest distance of two points."""
    import shapely

    corners = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(loop)))
    return float(np.hypot(*(corners[:, None] - corners[None]).transpose(2, 0, 1)).max())
