"""A spiral gear and rack, or a drum, from what a crew gives: choices made, outlines drawn and judged."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.build.gear_checks import Turn, roll_pair
from shotwright.build.gear_choice import longest_turn, turn_with_room
from shotwright.build.gear_envelope import EnvelopeCheck, envelope_error
from shotwright.build.gear_ways import Way, WayName, Wish, compare_ways, law_of, pair_way
from shotwright.build.pitch_curve import PitchCurves, scale_for_angle
from shotwright.build.pitch_law import RadiusLaw
from shotwright.build.rack_cutter import COARSE
from shotwright.build.spiral_drum import Drum, Pull, draw_drum, pull
from shotwright.build.spiral_gear import SpiralPair, ToothForm, cut_pair, tooth_count

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class GearFigures(Result):
    """A pair of gear and rack in numbers.

    Parameters
    ----------
    teeth : int
        On the gear, and on the rack.
    turn_deg : float
        Over which it winds.
    pitches : float
        That the arc of the pitch curve holds.
    torque_n_m, work_j : float
        Constant torque and work of the turn.
    radius_start_m, radius_end_m : float
        Pitch radius.
    arc_m, stroke_m : float
        Arc of the pitch curves, travel of the rack.
    push_angle_deg : float
        Largest angle between the push of the teeth and the travel.
    equal_teeth : float
        Least 2 rho/m of the gear: teeth of the round gear that is curved alike.
    undercut_teeth : int
        Of the gear and the rack together.
    tip_thickness_m : float
        Least thickness of a tooth at its tip.
    contact_ratio : float
        Least along the turn.
    relief_m : float
        Radius of the toothless part.
    tooth_push_n : float
        Largest push of a tooth along the pitch line.
    weakest_teeth : float
        Equal number of teeth where push over form factor is worst, at least 12.
    """

    teeth: int
    turn_deg: float
    pitches: float
    torque_n_m: float
    work_j: float
    radius_start_m: float
    radius_end_m: float
    arc_m: float
    stroke_m: float
    push_angle_deg: float
    equal_teeth: float
    undercut_teeth: int
    tip_thickness_m: float
    contact_ratio: float
    relief_m: float
    tooth_push_n: float
    weakest_teeth: float


@dataclass(frozen=True, slots=True, eq=False)
class GearDesign:
    """A gear and rack, or a drum, judged.

    Parameters
    ----------
    way : str
        Which was drawn.
    wish : Wish
        What was asked, with the turn that was chosen.
    curves : PitchCurves
        Law of the radius.
    pair : SpiralPair, optional
        Gear and rack.
    turn : Turn, optional
        The pair over a turn.
    figures : GearFigures, optional
        The pair in numbers.
    envelope : EnvelopeCheck, optional
        Driving flank of the gear's most curved tooth against the swept cutter; not for a preview.
    drum : Drum, optional
        Instead.
    pulled : Pull, optional
        The drum over a turn.
    ways : tuple of Way
        All three; empty for a preview.
    """

    way: WayName
    wish: Wish
    curves: PitchCurves
    pair: SpiralPair | None
    turn: Turn | None
    figures: GearFigures | None
    envelope: EnvelopeCheck | None
    drum: Drum | None
    pulled: Pull | None
    ways: tuple[Way, ...]


def design_gear(
    way: WayName,
    wish: Wish,
    *,
    angle: float | None,
    teeth: int | None,
    inner: float = 0.0,
    coarse: bool = False,
) -> GearDesign:
    """Draw one way, roll it, and set it beside the others.

    Parameters
    ----------
    way : str
        Which.
    wish : Wish
        Spring and teeth; its angle counts only when `angle` is given.
    angle : float, optional
        Of the turn; when left out the longest that frees the rack and leaves the hub its room. [rad]
    teeth : int, optional
        Pitches that the arc shall hold, instead of an angle.
    inner : float
        Radius that the hub and its wall need. [m]
    coarse : bool
        A preview: fewer points, a rough rolling, no comparison.

    Returns
    -------
    GearDesign
        With its outlines.

    Raises
    ------
    BadInput, NoAnswer
        What can't be.
    """
    law = law_of(way, wish)
    if teeth is not None and angle is not None:
        raise BadInput("give a turn or a number of teeth, not both", field="teeth")
    if teeth is not None:
        angle = _angle_for(law, wish.form, teeth)
    if angle is None:
        angle = min(longest_turn(law, wish.form), turn_with_room(law, wish.form, inner))
    chosen = Wish(
        wish.curve, angle, wish.form, wish.soft_start, wish.cable, wish.distance, wish.backing
    )  # fmt: skip
    scale = scale_for_angle(law, angle)
    if way == "cable drum":
        curves = PitchCurves(law, scale, 0.0)
        drum = draw_drum(curves, wish.cable, points=121 if coarse else 1441)
        height = float(curves.radius(0.5 * wish.curve.stroke))
        _room_within(float(np.hypot(*drum.edge.T).min()), inner)
        pulled = pull(
            drum, wish.curve, distance=wish.distance, height=height, positions=31 if coarse else 181
        )
        ways = () if coarse else compare_ways(chosen, positions=61)
        return GearDesign(way, chosen, curves, None, None, None, None, drum, pulled, ways)
    pair = cut_pair(
        law, scale, wish.form, teeth=teeth, backing=wish.backing, fineness=COARSE if coarse else None
    )
    _room_within(pair.relief, inner)
    turn = roll_pair(pair, positions=61 if coarse else 361, looks=2 if coarse else 25, full=not coarse)
    ways = () if coarse else _beside(way, chosen, pair, turn)
    swept = None if coarse else witness(pair)
    return GearDesign(way, chosen, pair.curves, pair, turn, gear_figures(pair), swept, None, None, ways)


def _room_within(edge: float, inner: float) -> None:
    """Refuse a hub that reaches the toothless part."""
    if inner > edge + 1e-9:
        raise BadInput(
            f"the hub and its wall need {1e3 * inner:.4g} mm from the axis, but the smallest radius is "
            f"{1e3 * edge:.4g} mm: take a smaller bolt circle, no bolts, a thinner wall, or a shorter turn, "
            "which makes all larger",
            field="bore",
        )


def _angle_for(law: RadiusLaw, form: ToothForm, teeth: int) -> float:
    count = tooth_count(law, form, teeth)
    if count is None:
        least = math.ceil(law.curve.stroke / form.pitch)
        raise NoAnswer(
            f"no turn between 60 and 350 degrees has an arc of {teeth} pitches; the arc is longer than the "
            f"stroke, so {least} is the least, and more teeth mean a shorter turn. Leave the teeth open, or "
            "take another module"
        )
    return count.angle


def _beside(way: WayName, wish: Wish, pair: SpiralPair, turn: Turn) -> tuple[Way, ...]:
    """The three ways, the one that is drawn taken as it is."""
    drawn = pair_way(way, pair, turn.torque[: turn.checks.positions])
    return compare_ways(wish, positions=61, known=drawn)


def witness(pair: SpiralPair) -> EnvelopeCheck:
    """Sweep the cutter past the driving flank of the gear's most curved tooth, and compare.

    Parameters
    ----------
    pair : SpiralPair
        Cut.

    Returns
    -------
    EnvelopeCheck
        Distances.
    """
    side = pair.gear_teeth.small
    tooth = int(np.argmax(pair.curves.gear(side.crossing).curvature))
    return envelope_error(pair.curves.gear, side, pair.gear_cutter, tooth, positions=1001)


def gear_figures(pair: SpiralPair) -> GearFigures:
    """Numbers of a pair that its outlines don't show at a glance.

    Parameters
    ----------
    pair : SpiralPair
        Cut.

    Returns
    -------
    GearFigures
        In SI units; angles in degrees.
    """
    from shotwright.build.strength import FEWEST_TEETH, lewis_factor

    curves, form = pair.curves, pair.form
    curve, a = curves.law.curve, form.rack.pressure_angle
    x = np.linspace(0.0, curve.stroke, 361)
    arc = curves.arc(x)
    bulge = np.maximum(curves.gear(arc).curvature, 1e-9)
    equal = 2 / (bulge * form.module)
    push = curve.force(x) * math.cos(a) / np.cos(a + np.maximum(curves.tilt(x), -a))
    held = np.maximum(equal, FEWEST_TEETH)
    worst = int(np.argmax(push / lewis_factor(held)))
    ends = curves.radius(np.array([0.0, curve.stroke]))
    sides = (pair.gear_teeth.small, pair.gear_teeth.large, pair.rack_teeth.small, pair.rack_teeth.large)
    undercut = [sum(int((a.undercut | b.undercut).sum()) for a, b in (sides[:2], sides[2:]))]
    return GearFigures(
        teeth=pair.teeth,
        turn_deg=math.degrees(curves.angle),
        pitches=curves.length / form.pitch,
        torque_n_m=curves.scale,
        work_j=curve.total_work,
        radius_start_m=float(ends[0]),
        radius_end_m=float(ends[1]),
        arc_m=curves.length,
        stroke_m=curve.stroke,
        push_angle_deg=math.degrees(pair.push_angle),
        equal_teeth=float(equal.min()),
        undercut_teeth=undercut[0],
        tip_thickness_m=float(min(pair.gear_teeth.tip_thickness.min(), pair.rack_teeth.tip_thickness.min())),
        contact_ratio=float(pair.contact_ratio.min()),
        relief_m=pair.relief,
        tooth_push_n=float(push[worst]),
        weakest_teeth=float(held[worst]),
    )
