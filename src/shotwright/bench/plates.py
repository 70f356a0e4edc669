"""Round plates, wheel discs and hood side plates, from the numbers that a crew types."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.build.hub import BoltCircle, Hub, hub_of, hub_rows
from shotwright.build.materials import material_named
from shotwright.build.outline import CHORD, Drawing, Lettering, circle
from shotwright.build.part import Order, Part
from shotwright.build.plates import Hood, HoodPlate, hood_plate, round_plate
from shotwright.build.rotor_stress import WheelStrength, wheel_strength

COARSE = 50e-6  # m; chord error of a preview
EDGES = "Break the edges, wear eye protection while cutting and drilling, and clamp the sheet."
SPINNING = (
    "A turning wheel throws what comes loose: guard it, stand out of its plane, wear eye protection, bring a"
    " new one up to speed behind a shield, and never run it faster than it was tried."
)
NIP = (
    "Wheel and hood draw in fingers as they draw in the ball: guard the entry, wait until the wheel stands"
    " before reaching in, and stay out of the line of fire."
)


def chord_of(order: Order) -> float:
    """Chord error that an order asks for. [m]"""
    return COARSE if order.coarse else CHORD


def mm(value: float) -> str:
    """Length in words, in millimetres."""
    return f"{1000 * value:.4g} mm"


def make_hub_plate(given: Mapping[str, Any], order: Order) -> Part:
    """Round plate for a shaft.

    Parameters
    ----------
    given : mapping
        Values of the fields of `plate_kinds.HUB_PLATE`.
    order : Order
        Name, date, material.

    Returns
    -------
    Part
        One drawing.
    """
    hub = hub_of(given)
    outer, holes = round_plate(given["diameter"], hub, chord=chord_of(order))
    centres = ((0.0, 0.0), *(hub.bolts.centres() if hub.bolts else ()))
    return Part(
        (Drawing((outer,), order.title(EDGES), holes, centres=centres),),
        {"diameter_m": given["diameter"], "bore_m": hub.bore},
        (("diameter", mm(given["diameter"])), *hub_rows(hub)),
        cautions=(EDGES,),
    )


def make_wheel_disc(given: Mapping[str, Any], order: Order) -> Part:
    """Round disc that turns fast.

    Parameters
    ----------
    given : mapping
        Values of the fields of `plate_kinds.WHEEL_DISC`.
    order : Order
        Name, date, material.

    Returns
    -------
    Part
        One drawing.
    """
    hub = hub_of(given)
    openings = None
    if given["openings"]:
        circle_at = given["opening_circle"] or 0.7 * given["diameter"]
        size = given["opening"] or 0.12 * given["diameter"]
        openings = BoltCircle(given["openings"], circle_at, size, math.pi / given["openings"])
    outer, holes = round_plate(given["diameter"], hub, openings, chord=chord_of(order))
    rim = given["speed"] * given["diameter"] / 2
    notes = (f"for {given['speed'] * 30 / math.pi:.4g} rpm or less; rim speed {rim:.3g} m/s",)
    rows = [("diameter", mm(given["diameter"])), *hub_rows(hub), ("rim speed", f"{rim:.3g} m/s")]
    if openings:
        rows.insert(1, ("openings", f"{openings.count} x {mm(openings.hole)} on {mm(openings.diameter)}"))
    centres = ((0.0, 0.0), *(hub.bolts.centres() if hub.bolts else ()))
    figures = {"diameter_m": given["diameter"], "bore_m": hub.bore, "rim_speed_m_s": rim}
    judged = _judged(given, order, hub, bool(openings or hub.bolts))
    words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = (SPINNING,)
    if isinstance(judged, str):
        words = (judged,)
    else:
        figures |= {"strength": judged.to_dict()}
        rows.append(("energy at its fastest", f"{judged.stored_j:.3g} J"))
        rows.append(("margin of strength", f"{judged.margin:.3g}, wanted {judged.factor:g}"))
        words, cautions = judged.words, (SPINNING, *judged.cautions)
    return Part(
        (Drawing((outer,), order.title(SPINNING, notes=notes), holes, centres=centres),),
        figures,
        tuple(rows),
        words,
        cautions,
    )


def _judged(given: Mapping[str, Any], order: Order, hub: Hub, holes: bool) -> WheelStrength | str:
    """Strength of the disc; a sentence where its material is not in the table."""
    if not order.material:
        return "Name the material, and its strength at the fastest speed is judged."
    try:
        material = material_named(order.material)
    except BadInput as unknown:
        return f"Its strength is not judged: {unknown.problem}."
    return wheel_strength(
        material, hub.bore, given["diameter"], given["speed"], thickness=order.thickness_m, holes=holes
    )


def make_hood_plate(given: Mapping[str, Any], order: Order) -> Part:
    """Side plate of a hood; two are needed, one mirrored.

    Parameters
    ----------
    given : mapping
        Values of the fields of `plate_kinds.HOOD_PLATE`.
    order : Order
        Name, date, material.

    Returns
    -------
    Part
        One drawing, with the wheel, the hood's face and the ball at entry and exit engraved.
    """
    chord = chord_of(order)
    names = ("wheel_diameter", "ball_diameter", "compression", "wrap_angle", "elevation", "entry", "exit")
    hood = Hood(*(given[name] for name in names))
    bearing = None
    if given["bolts"]:
        bearing = BoltCircle(given["bolts"], given["bolt_circle"], given["bolt_hole"], math.pi / 4)
    plate = HoodPlate(
        hood,
        axle=given["axle"],
        margin=given["margin"],
        slot=given["slot"],
        bearing=bearing,
        spacers=given["spacers"],
        spacer_hole=given["spacer_hole"],
        spacer_offset=given["strip"] + given["spacer"] / 2,
    )
    outer, holes = hood_plate(plate, chord=chord)
    wheel = circle((0.0, 0.0), hood.wheel_diameter / 2, chord=chord).points
    engraved = [hood.line(hood.radius_m, chord=chord), np.concatenate([wheel, wheel[:1]])]
    lettering = [Lettering("wheel", (-0.25 * hood.wheel_diameter, -0.3 * hood.wheel_diameter), 0.005)]
    for turn, word in zip(hood.angles, ("ball in", "ball out"), strict=True):
        at = (hood.centre_radius_m * math.cos(turn), hood.centre_radius_m * math.sin(turn))
        ball = circle(at, (hood.ball_diameter - hood.compression) / 2, chord=chord).points
        engraved.append(np.concatenate([ball, ball[:1]]))
        lettering.append(Lettering(word, (at[0] - 0.01, at[1]), 0.005))
    notes = (
        f"hood face radius {mm(hood.radius_m)} about the axle; strip {mm(hood.strip_m)} long",
        "cut two; turn one over",
    )
    drawing = Drawing(
        (outer,),
        order.title(NIP, notes=notes),
        holes,
        tuple(engraved),
        tuple(lettering),
        ((0.0, 0.0), *(bearing.centres() if bearing else ()), *plate.spacer_centres()),
    )
    figures = {
        "hood_radius_m": hood.radius_m,
        "centre_radius_m": hood.centre_radius_m,
        "strip_m": hood.strip_m,
        "contact_length_m": hood.centre_radius_m * hood.wrap,
        "entry_deg": math.degrees(hood.angles[0]),
        "exit_deg": math.degrees(hood.angles[1]),
        "gap_m": hood.ball_diameter - hood.compression,
    }
    rows = (
        ("radius of the hood's face", mm(hood.radius_m)),
        ("gap between wheel and hood", mm(hood.ball_diameter - hood.compression)),
        ("path of the ball's centre", f"{mm(hood.centre_radius_m * hood.wrap)} in contact"),
        ("strip for the hood's face", f"{mm(hood.strip_m)} long"),
        ("direction of the shot", f"{math.degrees(hood.elevation):.4g}° above the drawing's x axis"),
    )
    words = (
        "Seen from the side on which the ball leaves to the right; the wheel turns clockwise.",
        "The engraved circles are the wheel, and the gap that the ball fills at entry and exit.",
    )
    return Part((drawing,), figures, rows, words, (NIP, EDGES))
