"""What spiral gears and their racks must give: the standards, closed forms, and the drawn outlines rolled."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from shotwright.build.basic_rack import PROFILES, SERIES_I, SERIES_II, profile, tangent_height
from shotwright.build.force_curve import linear_force, polynomial_force
from shotwright.build.gear_checks import TurnChecks, roll_pair
from shotwright.build.gear_design import witness
from shotwright.build.pitch_curve import PitchCurves, scale_for_angle
from shotwright.build.pitch_law import EvenTorque, StraightRack, best_straight
from shotwright.build.spiral_drum import draw_drum, pull
from shotwright.build.spiral_gear import SpiralPair, ToothForm, cut_pair, tooth_count
from shotwright.build.teeth import SMALL, flank_point
from shotwright.published.table import Check, Kind

_ISO53 = "ISO 53:1998, section 5, table of profiles (values as a program citing it gives them)"
_ISO54 = "ISO 54:1996, table of modules (values as a program citing it gives them)"
_LAW = "computed by mpmath to 30 digits from the closed form r = T/(k x), k 900 N/m, x0 40 mm, stroke 90 mm"
_FLANK = "computed by mpmath to 30 digits, envelope condition verified; the same spring, 300 deg"
_INVOLUTE = "closed form: involute of the base circle r cos 20 deg"
_SPIRAL = "closed form: logarithmic spiral, r = r0 exp(-0.15 theta), r0 30 mm, 300 deg"
_PARABOLA = "closed form: F (a + b x) is a parabola, equal at both ends, (x0 + x1)^2/(4 x0 x1)"
_RACK = "closed form: gear and rack, [sqrt(ra^2 - rb^2) - r sin a + h/sin a]/(pi m cos a)"
_ROLLED = "closed form: dx = T dtheta/F; the drawn outlines rolled on each other, corner against side"
_SWEPT = "computed by brute force: a polygon of the cutter united at 1001 places"
_A = math.radians(20)
_MM = 1e-3


def _of(
    what: str, source: str, expected: float, compute: Callable[[], float], tolerance: float | None = None
) -> Check:
    kind: Kind = "authority"
    if source.startswith("closed form"):
        kind = "identity"
    elif source.startswith("computed"):
        kind = "computed"
    return Check(what, source, kind, expected, tolerance or abs(expected) * 1e-9, compute)


def _standards() -> Iterator[Check]:
    table = {"A": (1.0, 0.25, 1.25, 0.38), "B": (1.0, 0.25, 1.25, 0.30), "C": (1.0, 0.25, 1.25, 0.25),
             "D": (1.0, 0.40, 1.40, 0.39)}  # fmt: skip
    for letter, (addendum, clearance, dedendum, fillet) in table.items():
        one = PROFILES[letter]
        for name, expected, value in (
            ("addendum", addendum, one.addendum),
            ("clearance", clearance, one.clearance),
            ("dedendum", dedendum, one.dedendum),
            ("fillet", fillet, one.fillet),
        ):
            yield _of(f"profile {letter}: {name} [modules]", _ISO53, expected, partial(float, value), 1e-12)
    yield _of(
        "profile A: largest fillet, c/(1 - sin 20 deg) [modules]", _ISO53, 0.3799508411452,
        lambda: profile("A").largest_fillet,
    )  # fmt: skip
    for name, series, first, last in (("I", SERIES_I, 1.0, 50.0), ("II", SERIES_II, 1.125, 45.0)):
        yield _of(f"series {name}: number of modules [-]", _ISO54, 18, partial(float, len(series)), 1e-12)
        yield _of(f"series {name}: smallest [mm]", _ISO54, first, partial(float, min(series)), 1e-12)
        yield _of(f"series {name}: largest [mm]", _ISO54, last, partial(float, max(series)), 1e-12)
    yield _of(
        "teeth that just escape undercut, 2/sin^2 20 deg [-]", "closed form: rack of one module's height",
        17.09726434083, lambda: 1 / tangent_height(_A, 1.0),
    )  # fmt: skip


@functools.cache
def _curves(angle_deg: float = 300.0) -> PitchCurves:
    law = EvenTorque(linear_force(900, 0.04, 0.09))
    return PitchCurves(law, scale_for_angle(law, math.radians(angle_deg)), 0.01)


def _at(turn_deg: float) -> float:
    return float(_curves().travel_at_turn(math.radians(turn_deg)))


def _laws() -> Iterator[Check]:
    yield _of("constant torque over 300 deg [N m]", _LAW, 1.314938139825, lambda: _curves().scale)
    yield _of("arc of both pitch curves [mm]", _LAW, 94.99738142298, lambda: _curves().length / _MM)
    table = {
        60: (21.40276359505, 32.31641176842, 17.40769000601, 27.32054301453, 125.304762816),
        150: (15.1911952774, 60.93725973562, 8.975745392109, 16.16654876041, 315.9168378302),
    }
    for turn, values in table.items():
        told = (
            ("pitch radius [mm]", partial(_radius, turn)),
            ("arc [mm]", partial(_arc, turn)),
            ("tilt [deg]", partial(_tilt, turn)),
            ("radius of curvature, gear [mm]", partial(_roundness, turn, "gear")),
            ("radius of curvature, rack [mm]", partial(_roundness, turn, "rack")),
        )
        for (name, compute), expected in zip(told, values, strict=True):
            yield _of(f"{name} after {turn} deg", _LAW, expected, compute)
    for teeth, angle in ((20, 327.1320500119), (21, 218.257541423), (22, 171.8558238331)):
        yield _of(
            f"turn whose arc is {teeth} pitches of 1.5 mm modules [deg]",
            _LAW,
            angle,
            partial(_turn, teeth),
        )
    yield _of(
        "ripple of the best tilted straight rack, highest over lowest torque [-]", _PARABOLA,
        170**2 / (4 * 40 * 130), _straight_ripple, 1e-4,
    )  # fmt: skip
    spiral = StraightRack(linear_force(900, 0.1, 0.1088123744468), 0.03, -0.15)
    yield _of(
        "logarithmic spiral: arc [mm]", _SPIRAL, 110.0297042688,
        lambda: PitchCurves(spiral, 1.0, 0.0).length / _MM,
    )  # fmt: skip
    yield _of(
        "logarithmic spiral: turn [deg]",
        _SPIRAL,
        300,
        lambda: math.degrees(PitchCurves(spiral, 1.0, 0.0).angle),
    )


def _radius(turn: float) -> float:
    return float(_curves().radius(_at(turn))) / _MM


def _arc(turn: float) -> float:
    return float(_curves().arc(_at(turn))) / _MM


def _tilt(turn: float) -> float:
    return math.degrees(float(_curves().tilt(_at(turn))))


def _roundness(turn: float, body: str) -> float:
    curves = _curves()
    frame = curves.gear(curves.arc(_at(turn))) if body == "gear" else curves.rack(curves.arc(_at(turn)))
    return 1 / float(frame.curvature) / _MM


def _turn(teeth: int) -> float:
    count = tooth_count(_curves().law, ToothForm(1.5 * _MM, profile("A")), teeth)
    return math.nan if count is None else math.degrees(count.angle)


def _straight_ripple() -> float:
    law = best_straight(linear_force(900, 0.04, 0.09))
    x = np.linspace(0.0, 0.09, 4001)
    torque = law.curve.force(x) * law.shape(x)[0]
    return float(torque.max() / torque.min())


def _flank(curves: PitchCurves, crossing: float, step: float) -> tuple[float, float]:
    eta = np.array([step])
    point = flank_point(curves.gear(crossing + eta), eta, SMALL, _A)[0]
    return float(point[0]) / _MM, float(point[1]) / _MM


def _part_of_flank(crossing: float, step: float, axis: int) -> float:
    return _flank(_curves(), crossing, step)[axis]


def _flanks() -> Iterator[Check]:
    crossing = 10 * math.pi * 1.5 * _MM
    for step, x, y in (
        (0.0, -3.793978518806, 17.2779969117),
        (1.5, -4.206911638281, 17.66672162217),
        (3.0, -4.735961716503, 18.09258013519),
        (-2.0, -3.400189396283, 16.83701070721),
    ):
        for axis, expected in enumerate((x, y)):
            yield _of(
                f"flank point at s - s_j = {step:g} mm, {'xy'[axis]} [mm]", _FLANK, expected,
                partial(_part_of_flank, crossing, step * _MM, axis),
            )  # fmt: skip
    yield _of(
        "circle r 15 mm, s - s_j = 3 mm: distance from the axis [mm]", _INVOLUTE, 16.18247948956,
        lambda: math.hypot(*_flank(_round(), 30 * _MM, 3 * _MM)),
    )  # fmt: skip
    yield _of(
        "the same: polar angle beyond that of s_j [rad]", _INVOLUTE, 0.03556023723661,
        lambda: math.atan2(*_flank(_round(), 30 * _MM, 3 * _MM)[::-1]) - 2.0,
    )  # fmt: skip
    yield _of(
        "flank of the most curved tooth against the swept cutter [m]", _SWEPT, 0.0,
        lambda: witness(_pair()).flank_m, 1e-8,
    )  # fmt: skip
    yield _of(
        "contact ratio, 20 teeth and a rack [-]", _RACK, 1.76882370021,
        lambda: float(_round_pair().contact_ratio.min()), 5e-5,
    )  # fmt: skip


def _round(travel: float = 75 * _MM) -> PitchCurves:
    law = EvenTorque(polynomial_force([50.0], travel))
    return PitchCurves(law, scale_for_angle(law, travel / (15 * _MM)), 0.01)


@functools.cache
def _round_pair() -> SpiralPair:
    curves = _round()
    return cut_pair(curves.law, curves.scale, ToothForm(1.5 * _MM, profile("A")))


@functools.cache
def _pair() -> SpiralPair:
    law = EvenTorque(linear_force(900, 0.09, 0.09))
    return cut_pair(law, scale_for_angle(law, math.radians(255)), ToothForm(1.5 * _MM, profile("A")))


@functools.cache
def _rolled() -> TurnChecks:
    return roll_pair(_pair(), positions=181, looks=13, full=False).checks


def _outlines() -> Iterator[Check]:
    told = "19 teeth of 1.5 mm, 900 N/m bent by 90 to 180 mm, 255 deg"
    yield _of(f"{told}: lowest torque over constant [-]", _ROLLED, 1.0, lambda: _rolled().torque_low, 0.01)
    yield _of(f"{told}: highest torque over constant [-]", _ROLLED, 1.0, lambda: _rolled().torque_high, 0.01)
    yield _of(f"{told}: error of travel [m]", _ROLLED, 0.0, lambda: _rolled().travel_error_m, 20e-6)
    yield _of(f"{told}: overlap [m]", _ROLLED, 0.0, lambda: _rolled().overlap_m, 1e-6)
    yield _of(
        "the same spring by a level cable of 1 mm on a drum: torque over constant [-]",
        "closed form: h = T/F, support function of the drum", 1.0, _drum_torque, 1e-5,
    )  # fmt: skip


def _drum_torque() -> float:
    pair = _pair()
    pulled = pull(draw_drum(pair.curves, 1 * _MM), pair.curves.law.curve, positions=61)
    off = np.abs(pulled.torque / pair.curves.scale - 1)
    return 1.0 + float(off.max())


CHECKS: tuple[Check, ...] = (*_standards(), *_laws(), *_flanks(), *_outlines())
