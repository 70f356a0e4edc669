"""A spiral gear with a sector of teeth, and the rack that it draws: sizes, phase of the teeth, outlines.

The gear draws the rack over the stroke of a spring, lets it go, and finds it again a turn later. See
`pitch_curve` for the frames and `teeth` for the flanks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.build.basic_rack import BasicRack
from shotwright.build.gear_rolling import anticlockwise
from shotwright.build.pitch_curve import PitchCurves, scale_for_angle
from shotwright.build.pitch_law import RadiusLaw
from shotwright.build.rack_cutter import FINE, Cutter, Fineness, cutters, fineness_for
from shotwright.build.teeth import LARGE, SMALL, Teeth, cut_teeth, lowest_eta, tip_reach, without_repeats

FloatArray = NDArray[np.float64]
_LEAST_ANGLE = math.radians(60)
_LEAST_PITCHES, _MOST_PITCHES = 4, 400
_FOLD = 0.01  # square modules that folds of fillets may hold in all
_STEEPEST = math.radians(80)
_SPARE = 0.02  # pitches by which the last tooth holds on beyond the stroke
_RELIEF = 0.25  # modules by which the toothless part lies below the roots


@dataclass(frozen=True, slots=True)
class ToothForm:
    """Teeth of the pair.

    Parameters
    ----------
    module : float
        m. [m]
    rack : BasicRack
        ISO 53 profile.
    shift : float
        Profile shift of the gear outwards, taken from the rack. [modules]
    backlash : float
        Play along the pitch line; the backs of the teeth give way, the driving flanks stay. [m]
    """

    module: float
    rack: BasicRack
    shift: float = 0.0
    backlash: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what can't be built."""
        if not self.module > 0:
            raise BadInput(f"{1e3 * self.module:g} mm is no module; it must be above zero", field="module")
        if not 0 <= self.backlash < 0.2 * self.pitch:
            raise BadInput(
                f"{1e3 * self.backlash:g} mm of backlash; 0 to a fifth of the pitch "
                f"({200 * self.pitch:.3g} mm) is allowed",
                field="backlash",
            )
        if not -0.5 <= self.shift <= 0.8:
            raise BadInput(f"{self.shift:g} modules; -0.5 to 0.8 is allowed", field="shift")

    @property
    def pitch(self) -> float:
        """Distance of the teeth along the pitch curve, pi m. [m]"""
        return math.pi * self.module

    @property
    def widening(self) -> float:
        """By how much the shift makes the gear's teeth thicker at the pitch curve. [m]"""
        return 2 * self.shift * self.module * math.tan(self.rack.pressure_angle)


@dataclass(frozen=True, slots=True)
class ToothCount:
    """A whole number of teeth, and what it asks for.

    Parameters
    ----------
    teeth : int
        Pitches that the arc holds.
    angle : float
        Of the turn. [rad]
    scale : float
        T, the constant torque. [N m]
    """

    teeth: int
    angle: float
    scale: float


def tooth_count(law: RadiusLaw, form: ToothForm, teeth: int) -> ToothCount | None:
    """Turn that makes the pitch curve's arc a whole number of pitches; None where none is below 350 deg.

    The arc is longer than the stroke and grows with the torque's scale, so that there is one answer at most.

    Parameters
    ----------
    law : RadiusLaw
        Shape of the radius.
    form : ToothForm
        Its pitch.
    teeth : int
        Wanted.

    Returns
    -------
    ToothCount or None
        The turn.
    """
    wanted = teeth * form.pitch
    one = scale_for_angle(law, 1.0)
    low, high = one / math.radians(350), one / _LEAST_ANGLE

    def longer(scale: float) -> bool:
        return PitchCurves(law, scale, 0.0).length > wanted

    if longer(low) or not longer(high):
        return None
    while high - low > 1e-15 * high + 1e-18:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (low, middle) if longer(middle) else (middle, high)
    return ToothCount(teeth, one / high, high)


@dataclass(frozen=True, slots=True, eq=False)
class SpiralPair:
    """Gear and rack, cut.

    Parameters
    ----------
    curves : PitchCurves
        The pitch curves.
    form : ToothForm
        The teeth.
    teeth : int
        Number, on gear and rack alike.
    first : float
        Arc s at which the first driving flank crosses the pitch curve. [m]
    gear_cutter, rack_cutter : Cutter
        Heights and depths.
    gear_teeth, rack_teeth : Teeth
        Flanks and lines.
    gear : ndarray, shape (n, 2)
        Closed outline in the gear's frame, anticlockwise. [m]
    rack : ndarray, shape (k, 2)
        Closed outline in the rack's frame, anticlockwise; at travel 0 the frames share their axes. [m]
    relief : float
        Radius of the toothless part. [m]
    """

    curves: PitchCurves
    form: ToothForm
    teeth: int
    first: float
    gear_cutter: Cutter
    rack_cutter: Cutter
    gear_teeth: Teeth
    rack_teeth: Teeth
    gear: FloatArray
    rack: FloatArray
    relief: float

    @property
    def recess(self) -> FloatArray:
        """Arc over which each pair of teeth drives after its driving flanks pass the pitch point. [m]"""
        return np.minimum(self.gear_teeth.small.top, -self.rack_teeth.large.bottom)

    @property
    def approach(self) -> FloatArray:
        """Arc over which each pair drives before. [m]"""
        return np.minimum(-self.gear_teeth.small.bottom, self.rack_teeth.large.top)

    @property
    def contact_ratio(self) -> FloatArray:
        """Arc of contact at each change from one pair to the next, in pitches; never below 1. [-]"""
        return np.asarray((self.recess[:-1] + self.approach[1:]) / self.form.pitch)

    @property
    def push_angle(self) -> float:
        """Largest angle between the push of the teeth and the travel: pressure angle and tilt. [rad]"""
        tilt = self.curves.tilt(np.linspace(0.0, self.curves.law.curve.stroke, 361))
        return self.form.rack.pressure_angle + float(tilt.max())

    @property
    def let_go(self) -> float:
        """Turn at which the last tooth's tip drops below the rack's last tip. [rad]"""
        corner = self.gear_teeth.small.points[-1, -1]
        lowest = float(self.rack_teeth.large.points[-1, -1, 1])
        polar = math.atan2(corner[1], corner[0]) % (2 * math.pi)
        return polar + math.acos(min(1.0, lowest / math.hypot(*corner)))


def cut_pair(
    law: RadiusLaw,
    scale: float,
    form: ToothForm,
    *,
    teeth: int | None = None,
    backing: float = 0.008,
    fineness: Fineness | None = None,
) -> SpiralPair:
    """Cut gear and rack.

    The driving flanks are the sides of the gear's teeth at smaller s, which lead. They are placed so that
    the last one leaves the line of action just as the stroke ends; the first takes over before it begins.

    Parameters
    ----------
    law : RadiusLaw
        Shape of the radius.
    scale : float
        T, the constant torque. [N m]
    form : ToothForm
        The teeth.
    teeth : int, optional
        Number of teeth; by default the fewest that carry the whole stroke.
    backing : float
        Rack behind its deepest root. [m]
    fineness : Fineness, optional
        How many points; for a part to be cut when left out.

    Returns
    -------
    SpiralPair
        Outlines and limits.

    Raises
    ------
    NoAnswer
        Teeth that can't be cut, or that leave a gap in the drive.
    """
    pitch, fineness = form.pitch, fineness or fineness_for(form.module)
    curves = PitchCurves(law, scale, 2.0 * pitch)
    if curves.length > _MOST_PITCHES * pitch:
        raise NoAnswer(
            f"the pitch curve holds {curves.length / pitch:.0f} pitches of a module of "
            f"{1e3 * form.module:g} mm, more than {_MOST_PITCHES}; take a larger module"
        )
    if curves.length < _LEAST_PITCHES * pitch:
        raise NoAnswer(
            f"the pitch curve holds only {curves.length / pitch:.1f} pitches of a module of "
            f"{1e3 * form.module:g} mm; take a smaller module"
        )
    gear_cutter, rack_cutter = cutters(form.rack, form.module, form.shift)
    last = np.array([curves.length - 0.7 * pitch])
    for _ in range(4):
        holds = min(float(tip_reach(curves.gear, last, SMALL, gear_cutter)[0]), -rack_cutter.lowest)
        last = np.array([curves.length + _SPARE * pitch - holds])
    n = teeth or _fewest(curves, float(last[0]), pitch, gear_cutter, rack_cutter)
    small = last[0] - pitch * np.arange(n - 1, -1, -1.0)
    thick = pitch / 2 - form.backlash / 2
    gear_teeth = cut_teeth(curves.gear, small, small + thick + form.widening, gear_cutter, fineness)
    rack_teeth = cut_teeth(curves.rack, small - thick + form.widening, small, rack_cutter, fineness)
    relief = float(np.hypot(*gear_teeth.line[[0, -1]].T).min()) - _RELIEF * form.module
    if relief <= 0:
        raise NoAnswer("the gear's roots reach its axis; take a smaller module or a smaller turn")
    pair = SpiralPair(
        curves,
        form,
        n,
        float(small[0]),
        gear_cutter,
        rack_cutter,
        gear_teeth,
        rack_teeth,
        _sound(_close_gear(gear_teeth.line, relief, fineness), form.module),
        _sound(_close_rack(rack_teeth.line, backing), form.module),
        relief,
    )
    _hold_on(pair)
    return pair


def _fewest(curves: PitchCurves, last: float, pitch: float, gear: Cutter, rack: Cutter) -> int:
    """Fewest teeth of which the first takes hold as the stroke begins, or before."""
    least = math.ceil(last / pitch)
    first = np.array([last - (least - 1) * pitch])
    while True:
        approach = min(
            float(tip_reach(curves.rack, first, LARGE, rack)[0]),
            -float(lowest_eta(curves.gear, first, SMALL, gear)[0]),
        )
        if first[0] <= approach - _SPARE * pitch:
            return least
        least, first = least + 1, first - pitch


def _close_gear(line: FloatArray, relief: float, fineness: Fineness) -> FloatArray:
    """Join the last space to the first by the toothless arc; the walls are radial."""
    polar = np.arctan2(line[[-1, 0], 1], line[[-1, 0], 0])
    sweep = (polar[1] - polar[0]) % (2 * math.pi)
    chord = 1e-7 if fineness.flank >= FINE.flank else 2e-5
    count = max(3, math.ceil(sweep / (2 * math.acos(max(0.0, 1 - chord / relief)))) + 1)
    angle = polar[0] + np.linspace(0.0, sweep, count)
    arc = relief * np.column_stack([np.cos(angle), np.sin(angle)])
    return without_repeats(np.concatenate([line, arc]))


def _close_rack(line: FloatArray, backing: float) -> FloatArray:
    """Join the two ends of a rack's teeth by its back, parallel to the travel."""
    back = float(line[:, 1].max()) + backing
    corners = [[line[-1, 0], back], [line[0, 0], back]]
    loop = without_repeats(np.concatenate([line, corners]))
    return np.ascontiguousarray(loop[::-1])


def _sound(loop: FloatArray, module: float) -> FloatArray:
    """Take away the tiny loops that a fillet makes where it turns back in a hollow; refuse large ones."""
    import shapely

    drawn = shapely.polygons(loop)
    if shapely.is_valid(drawn):
        return loop
    pieces = shapely.get_parts(shapely.make_valid(drawn, method="structure", keep_collapsed=False))
    areas = shapely.area(pieces)
    kept = shapely.polygons(shapely.get_exterior_ring(pieces[int(np.argmax(areas))]))
    changed = areas.sum() - areas.max() + abs(float(shapely.area(kept)) - float(shapely.area(drawn)))
    if changed > _FOLD * module**2:
        raise NoAnswer(
            "the teeth run into each other where the pitch curve is hollow; take a smaller module, more "
            "preload, or another length of the soft start"
        )
    ring = anticlockwise(shapely.get_coordinates(kept)[:-1])
    return without_repeats(ring)


def _hold_on(pair: SpiralPair) -> None:
    """Refuse teeth that can't drive, that let go before the next pair takes over, or that begin too late."""
    if pair.push_angle > _STEEPEST:
        raise NoAnswer(
            f"the teeth would push at {math.degrees(pair.push_angle):.0f} degrees to the travel; take more "
            "preload, a soft start or a longer turn"
        )
    if pair.first > pair.approach[0]:
        raise NoAnswer(
            f"the first tooth takes hold {1e3 * (pair.first - pair.approach[0]):.3g} mm after the stroke has "
            "begun; take a smaller module or another profile shift"
        )
    if len(pair.contact_ratio) and float(pair.contact_ratio.min()) < 1:
        raise NoAnswer(
            f"the contact ratio falls to {float(pair.contact_ratio.min()):.2f}: one pair of teeth lets go "
            "before the next takes hold; take a smaller module, a smaller turn or a profile shift"
        )
