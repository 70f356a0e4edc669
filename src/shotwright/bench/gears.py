"""A spiral gear and its rack from the numbers that a crew types: drawings, figures, and what to beware of."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.bench.gear_words import gear_rows, gear_words, way_figures
from shotwright.bench.plates import EDGES, chord_of
from shotwright.bench.spring_cautions import STORED_CAUTION
from shotwright.bench.spring_files import read_force_text
from shotwright.build.basic_rack import profile
from shotwright.build.force_curve import ForceCurve, linear_force
from shotwright.build.force_readings import measured_curve
from shotwright.build.gear_design import GearDesign, design_gear
from shotwright.build.gear_ways import Wish
from shotwright.build.hub import BoltCircle, Hub, Keyway, hub_loops, hub_of, hub_rows
from shotwright.build.materials import MATERIALS, material_named
from shotwright.build.outline import Drawing, Lettering, Loop, arc, circle, loop_from
from shotwright.build.part import Order, Part
from shotwright.build.spiral_gear import SpiralPair, ToothForm
from shotwright.build.strength import StrengthCheck, check_bolts, check_key, check_tooth

FloatArray = NDArray[np.float64]
_THREAD_ROOT = 0.75  # of the hole's diameter: typical, no source
GEAR_CAUTION = (
    "Gear and rack draw in fingers, and the rack flies back by itself once a turn: guard the mesh and the "
    "rack's whole way, block the spring before working on it, and give the piston a stop of its own."
)
DRUM_CAUTION = (
    "A cable under load whips when it breaks and cuts into fingers: guard it, stand out of its line, replace "
    "it when a strand is broken, and block the spring before working on it."
)


def make_spiral_gear(given: Mapping[str, Any], order: Order) -> Part:
    """Spiral gear and rack, or a drum for a cable.

    Parameters
    ----------
    given : mapping
        Values of the fields of `gear_kind.SPIRAL_GEAR`.
    order : Order
        Name, date, material.

    Returns
    -------
    Part
        Gear and rack, or the drum; the torque over the turn is that of the drawn outlines.

    Raises
    ------
    BadInput, NoAnswer
        What is missing, can't be, or can't be built.
    """
    hub = hub_of(given)
    form = ToothForm(given["module"], profile(given["profile"]), given["shift"], given["backlash"])
    wish = Wish(
        _curve(given), 0.0, form, given["soft_start"], given["cable"], given["cable_end"], given["backing"]
    )  # fmt: skip
    design = design_gear(
        given["way"],
        wish,
        angle=given["turn"],
        teeth=given["teeth"],
        inner=hub.reach_m() + given["wall"],
        coarse=order.coarse,
    )
    checks = _strength(design, hub, order)
    drawings = _drawings(design, hub, order, given)
    figures = {
        "way": design.way,
        **(design.figures.to_dict() if design.figures else {"torque_n_m": design.curves.scale}),
        "force_curve": design.wish.curve.origin,
        "turn_deg": math.degrees(design.wish.angle),
        "outline": None if design.turn is None else design.turn.checks.to_dict(),
        "envelope": None if design.envelope is None else design.envelope.to_dict(),
        "ways": [way_figures(one) for one in design.ways],
        "strength": [one.to_dict() for one in checks],
    }
    caution = GEAR_CAUTION if design.pair else DRUM_CAUTION
    return Part(
        drawings,
        figures,
        (*gear_rows(design), *hub_rows(hub)),
        (*gear_words(design, order), *(one.in_words() for one in checks)),
        (caution, STORED_CAUTION, EDGES, *{one.caution for one in checks if one.caution}),
        _torque(design),
        tuple((one.way, one.curve) for one in design.ways if one.way != design.way and one.curve),
    )


def _curve(given: Mapping[str, Any]) -> ForceCurve:
    if given["readings"] is not None:
        loading = read_force_text(given["readings"]).loading
        return measured_curve(
            loading, front=given["front"], stroke=given["stroke"], through=given["fit"] == "meet"
        )
    return linear_force(given["stiffness"], given["preload"], given["stroke"])


def _strength(design: GearDesign, hub: Hub, order: Order) -> list[StrengthCheck]:
    """Judge teeth, key and bolts; nothing when the material is not known."""
    if not order.material:
        return []
    try:
        material = material_named(order.material)
    except BadInput:
        return []
    steel, torque = MATERIALS["steel"], max(one for _, one in _torque(design))
    checks: list[StrengthCheck] = []
    if design.figures is not None:
        told, module = design.figures, design.wish.form.module
        checks.append(check_tooth(material, told.tooth_push_n, module, order.thickness_m, told.weakest_teeth))
    if isinstance(hub.seat, Keyway):
        key = hub.seat
        checks += check_key(steel, material, torque, hub.bore, key.width, 2 * key.depth, order.thickness_m)
    if isinstance(hub.bolts, BoltCircle):
        bolts = hub.bolts
        checks += check_bolts(
            steel, material, torque, bolts.count, bolts.diameter, _THREAD_ROOT * bolts.hole,
            order.thickness_m,
        )  # fmt: skip
    return checks


def _torque(design: GearDesign) -> tuple[tuple[float, float], ...]:
    if design.turn is not None:
        turn, torque = design.turn.meshing.turn, design.turn.torque
    else:
        assert design.pulled is not None
        turn, torque = design.pulled.turn, design.pulled.torque
    held = np.isfinite(torque) & (torque >= 0)
    return tuple(zip(np.degrees(turn[held]).tolist(), torque[held].tolist(), strict=True))


def _drawings(design: GearDesign, hub: Hub, order: Order, given: Mapping[str, Any]) -> tuple[Drawing, ...]:
    if design.pair is None:
        return (_drum_drawing(design, hub, order),)
    return _gear_drawing(design.pair, hub, order), _rack_drawing(design.pair, order, given)


def _notes(pair: SpiralPair) -> tuple[str, str]:
    form, curve = pair.form, pair.curves.law.curve
    teeth = f"profile {form.rack.name} of ISO 53, {pair.teeth} teeth"
    if form.shift:
        teeth += f", shift {form.shift:g}"
    return (
        f"{teeth}, backlash {1e3 * form.backlash:.3g} mm",
        (
            f"stroke {1e3 * curve.stroke:.4g} mm, {curve.total_work:.3g} J, {pair.curves.scale:.3g} N m over "
            f"{math.degrees(pair.curves.angle):.4g} deg; turns clockwise"
        ),
    )


def _turning_marks(inner: float, outer: float, order: Order) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Line that points up when the winding begins, and an arrow the way it turns."""
    room = outer - inner
    start = np.array([[inner + 0.2 * room, 0.0], [outer - 0.2 * room, 0.0]])
    tip, tail, middle = math.radians(110), math.radians(160), 0.5 * (inner + outer)
    shaft = arc((0.0, 0.0), middle, tail, tip, chord=chord_of(order))
    end = middle * np.array([math.cos(tip), math.sin(tip)])
    back, up = np.array([-math.sin(tip), math.cos(tip)]), end / middle
    barb = 0.25 * room
    head = np.array([end + barb * (back + 0.6 * up), end, end + barb * (back - 0.6 * up)])
    return start, shaft, head


def _gear_drawing(pair: SpiralPair, hub: Hub, order: Order) -> Drawing:
    reach = max(hub.reach_m(), 0.2 * pair.relief)
    letters = min(0.15 * (pair.relief - reach) + 0.0015, 0.003)
    return Drawing(
        (loop_from(pair.gear),),
        order.title(GEAR_CAUTION, name=f"{order.name}: gear", module_m=pair.form.module, notes=_notes(pair)),
        hub_loops(hub, chord=chord_of(order)),
        _turning_marks(reach, pair.relief, order),
        (Lettering("start", (1.05 * pair.relief, 0.2 * pair.relief), letters),),
        ((0.0, 0.0), *(hub.bolts.centres() if hub.bolts else ())),
    )


def _rack_drawing(pair: SpiralPair, order: Order, given: Mapping[str, Any]) -> Drawing:
    left, right = float(pair.rack[:, 0].min()), float(pair.rack[:, 0].max())
    top = float(pair.rack[:, 1].max())
    backing, hole, count = given["backing"], given["rack_hole"], given["rack_holes"] or 0
    if count and hole > 0.7 * backing:
        raise BadInput(
            f"{1e3 * hole:.4g} mm holes need a backing of {1e3 * hole / 0.7:.3g} mm or more",
            field="rack_hole",
        )
    middle = top - 0.5 * backing
    ends = np.linspace(left + backing, right - backing, count) if count > 1 else [0.5 * (left + right)]
    centres = tuple((float(x), middle) for x in ends)[:count]
    holes: tuple[Loop, ...] = tuple(circle(at, hole / 2, chord=chord_of(order)) for at in centres)
    tip, size = right - 0.25 * backing, 0.25 * backing
    low = middle - hole if count else middle
    arrow = np.array([[tip - 3 * size, low], [tip, low]])
    head = np.array([[tip - 0.5 * size, low + 0.3 * size], [tip, low], [tip - 0.5 * size, low - 0.3 * size]])
    return Drawing(
        (loop_from(pair.rack),),
        order.title(GEAR_CAUTION, name=f"{order.name}: rack", module_m=pair.form.module, notes=_notes(pair)),
        holes,
        (arrow, head),
        (),
        centres,
    )


def _drum_drawing(design: GearDesign, hub: Hub, order: Order) -> Drawing:
    drum = design.drum
    assert drum is not None
    curve, inner = design.wish.curve, float(np.hypot(*drum.edge.T).min())
    reach = max(hub.reach_m(), 0.2 * inner)
    out = drum.edge[0] / float(np.hypot(*drum.edge[0]))
    fixing = drum.edge[0] - 0.006 * out + 0.004 * np.array([-out[1], out[0]])  # off the step, in the drum
    notes = (
        f"cable of {1e3 * drum.cable:.3g} mm, between two cheeks; fixed at the centre mark by the step",
        (
            f"stroke {1e3 * curve.stroke:.4g} mm, {curve.total_work:.3g} J, {design.curves.scale:.3g} N m "
            f"over {math.degrees(design.curves.angle):.4g} deg; turns clockwise"
        ),
    )
    return Drawing(
        (loop_from(drum.edge),),
        order.title(DRUM_CAUTION, name=f"{order.name}: drum", notes=notes),
        hub_loops(hub, chord=chord_of(order)),
        _turning_marks(reach, inner, order),
        (),
        (
            (0.0, 0.0), (float(fixing[0]), float(fixing[1])), *(hub.bolts.centres() if hub.bolts else ()),
        ),
    )  # fmt: skip
