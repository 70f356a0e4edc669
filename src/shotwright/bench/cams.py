"""A snail cam from the numbers that a crew types: the drawing, its figures, and what to beware of."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.bench.plates import EDGES, chord_of, mm
from shotwright.bench.spring_cautions import STORED_CAUTION
from shotwright.bench.spring_files import read_force_text
from shotwright.build.cam_design import CamDesign, CamWish, Fall, design_cam, fall_beside
from shotwright.build.cam_outline import Drop
from shotwright.build.force_curve import ForceCurve, linear_force
from shotwright.build.force_readings import measured_curve
from shotwright.build.hub import BoltCircle, Hub, Keyway, hub_loops, hub_of, hub_rows
from shotwright.build.materials import MATERIALS, material_named
from shotwright.build.outline import Drawing, Lettering, arc, loop_from
from shotwright.build.part import Order, Part
from shotwright.build.strength import StrengthCheck, check_bolts, check_key

FloatArray = NDArray[np.float64]
_RPM = 30 / math.pi
_THREAD_ROOT = 0.75  # of the hole's diameter: typical, no source
_AND_PRELOAD = " and what its preload stores"
CAM_CAUTION = (
    "A snail cam lets go by itself once a turn: keep hands, loose sleeves and faces away while it can turn, "
    "block the spring before working on it, and give the piston a stop of its own."
)


def make_snail_cam(given: Mapping[str, Any], order: Order) -> Part:
    """Snail cam.

    Parameters
    ----------
    given : mapping
        Values of the fields of `cam_kind.SNAIL_CAM`.
    order : Order
        Name, date, material.

    Returns
    -------
    Part
        One drawing; the torque over the turn is that of the drawn edge.

    Raises
    ------
    BadInput, NoAnswer
        What is missing, can't be, or can't be built.
    """
    hub = hub_of(given)
    curve = _curve(given)
    reach = hub.reach_m()
    wish = CamWish(
        curve=curve, rise=given["rise"], roller=given["roller"] / 2, blend=given["blend"],
        offset=given["offset"], prime=given["prime"], pressure_angle=given["pressure_angle"],
        inner=reach + given["wall"], drop=Drop(given["clearance"], given["relief"]),
        friction=given["friction"],
    )  # fmt: skip
    cam = design_cam(wish, coarse=order.coarse)
    fall = None if given["mass"] is None else fall_beside(cam, given["mass"], given["speed"])
    checks = _strength(cam, hub, order)
    told = cam.figures
    stored = told.usable_j + _held_by_preload(given)
    caution = f"{CAM_CAUTION} Wound it holds {stored:.3g} J{_AND_PRELOAD if given['readings'] else ''}."
    notes = (
        f"roller {mm(2 * told.roller_m)}; its centre {mm(told.prime_m)} from the axis when low"
        + (f", line {mm(told.offset_m)} off the axis" if told.offset_m else ""),
        f"stroke {mm(told.stroke_m)}, {told.usable_j:.3g} J, {told.torque_n_m:.3g} N m; turns clockwise",
    )
    figures = {
        **told.to_dict(),
        "force_curve": curve.origin,
        "stored_j": None if given["readings"] is not None else stored,
        "fall": None if fall is None else fall.to_dict(),
        "strength": [one.to_dict() for one in checks],
    }
    return Part(
        (_drawing(cam, hub, order, notes, caution),),
        figures,
        (*_rows(cam, fall), *hub_rows(hub)),
        (*_words(cam, given, fall, order), *(one.in_words() for one in checks)),
        (caution, STORED_CAUTION, EDGES, *{one.caution for one in checks if one.caution}),
        _torque(cam),
    )


def _curve(given: Mapping[str, Any]) -> ForceCurve:
    if given["readings"] is not None:
        loading = read_force_text(given["readings"]).loading
        return measured_curve(
            loading, front=given["front"], stroke=given["stroke"], through=given["fit"] == "meet"
        )
    return linear_force(given["stiffness"], given["preload"], given["stroke"])


def _held_by_preload(given: Mapping[str, Any]) -> float:
    """Energy that a linear spring holds at its front stop; of readings it is not known. [J]"""
    if given["readings"] is not None:
        return 0.0
    return float(0.5 * given["stiffness"] * given["preload"] ** 2)


def _strength(cam: CamDesign, hub: Hub, order: Order) -> list[StrengthCheck]:
    """Judge key and bolts; nothing when the material is not known."""
    if not order.material:
        return []
    try:
        material = material_named(order.material)
    except BadInput:
        return []
    steel, torque = MATERIALS["steel"], cam.figures.most_torque_n_m
    checks: list[StrengthCheck] = []
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


def _drawing(cam: CamDesign, hub: Hub, order: Order, notes: tuple[str, ...], caution: str) -> Drawing:
    chord = chord_of(order)
    low, reach = cam.edge.low_radius, hub.reach_m()
    middle = 0.5 * (low + reach)
    room = max(low - reach, 0.004)
    # The line under the roller's centre when the rise begins, and an arrow the way the cam turns.
    start = np.array([[reach + 0.2 * room, 0.0], [low - 0.2 * room, 0.0]])
    tip, tail = math.radians(200), math.radians(250)
    shaft = arc((0.0, 0.0), middle, tail, tip, chord=chord)
    barb = 0.15 * room
    end = middle * np.array([math.cos(tip), math.sin(tip)])
    back, up = np.array([-math.sin(tip), math.cos(tip)]), end / middle
    head = np.array([end + barb * (back + 0.6 * up), end, end + barb * (back - 0.6 * up)])
    letters = min(0.18 * room, 0.004)
    return Drawing(
        (loop_from(cam.edge.points),),
        order.title(caution, notes=notes),
        hub_loops(hub, chord=chord),
        (start, shaft, head),
        (Lettering("start", (reach + 0.25 * room, 0.6 * letters), letters),),
        ((0.0, 0.0), *(hub.bolts.centres() if hub.bolts else ())),
    )


def _torque(cam: CamDesign) -> tuple[tuple[float, float], ...]:
    """Turn in degrees and torque; where the roller drives the cam over the nose it is cut off at -T."""
    least = -cam.figures.torque_n_m
    return tuple(
        (math.degrees(turn), max(torque, least))
        for turn, torque in zip(cam.torque.turn.tolist(), cam.torque.torque.tolist(), strict=True)
    )


def _rows(cam: CamDesign, fall: Fall | None) -> tuple[tuple[str, str], ...]:
    told = cam.figures
    rows = [
        ("torque, even", f"{told.torque_n_m:.4g} N m without friction"),
        ("torque with the guide's friction", f"{told.most_torque_n_m:.4g} N m at most"),
        ("peak of a plain snail", f"{told.plain_peak_n_m:.4g} N m, {told.plain_over_constant:.3g} x"),
        ("on the drawn edge", f"even within {100 * told.contact_deviation:.2f} %"),
        ("energy of the stroke", f"{told.usable_j:.4g} J over {mm(told.stroke_m)}"),
        ("rise", f"{told.rise_deg:.4g}°" + (f", blend {told.blend_deg:.4g}°" if told.blend_deg else "")),
        ("prime radius", f"{mm(told.prime_m)}; base circle {mm(told.base_m)}, low sector {mm(told.low_m)}"),
        ("farthest point", f"{mm(told.largest_m)} from the axis"),
        ("pressure angle", f"{told.pressure_angle_deg:.1f}° at most, at {told.pressure_angle_at_deg:.0f}°"),
        ("least radius of the pitch curve", f"{mm(told.least_curvature_m)}, roller {mm(told.roller_m)}"),
        ("lets go at", f"{told.release_deg:.1f}°; low for {told.low_sector_deg:.1f}°"),
        ("lost over the nose", f"{told.lost_j:.3g} J at most, the roller sinks {mm(told.sink_m)}"),
    ]  # fmt: skip
    if fall is not None:
        rows.append(("falls in", f"{1e3 * fall.time_s:.1f} ms, {fall.turn_deg:.1f}° of the cam"))
        rows.append(("spare of the low sector", f"{fall.spare_deg:.1f}°"))
    return tuple(rows)


def _words(cam: CamDesign, given: Mapping[str, Any], fall: Fall | None, order: Order) -> list[str]:
    told = cam.figures
    words = [
        (
            f"Force: {cam.law.curve.origin}, {float(cam.law.curve.force(0.0)):.3g} N to "
            f"{float(cam.law.curve.force(told.stroke_m)):.3g} N. The cam turns clockwise as drawn; the "
            "follower stands on the line marked start when the winding begins."
        )
    ]
    if order.coarse:
        words.append("A rough preview: torque and edge are exact only in the finished part.")
    elif told.contact_deviation > 0.01:
        words.append(
            f"At single places of contact the torque strays by {100 * told.contact_deviation:.1f} %, more "
            f"than the 1 % aimed at; over half a degree it is {100 * told.mean_deviation:.2g} %. The "
            "lift is so gentle that any roughness counts: a smaller prime radius or more stroke helps."
        )
    if told.pressure_angle_deg > math.degrees(given["pressure_angle"]) + 0.01:
        words.append(
            f"The pressure angle of {told.pressure_angle_deg:.1f}° is above the "
            f"{math.degrees(given['pressure_angle']):.3g}° asked for: the follower's guide carries much of "
            "the force. Raise the prime radius or the preload, or add a blend."
        )
    if told.least_curvature_m < 2 * told.roller_m:
        words.append(
            f"The pitch curve's radius of {mm(told.least_curvature_m)} is under two roller radii: the edge "
            "wears there. Take a smaller roller or a larger prime radius."
        )
    per_mm = told.contact_n / (1e3 * order.thickness_m)
    words.append(f"Roller on edge: {told.contact_n:.3g} N at most, {per_mm:.3g} N for each mm of thickness.")
    if fall is None:
        words.append("Type the mass that the spring drives to learn whether it is down in time.")
    elif fall.spare_deg < 0:
        words.append(
            f"TOO FAST: the cam comes round before the follower is down. Stay below "
            f"{_RPM * fall.most_speed_rad_s:.3g} rpm or shorten the rise."
        )
    else:
        words.append(
            f"The follower is down in time up to {_RPM * fall.most_speed_rad_s:.3g} rpm; it is picked up at "
            f"{fall.pick_up_m_s:.2g} m/s."
        )
    if given["readings"] is not None:
        words.append("The readings of loading are followed; measure again once the spring has set.")
    if order.material:
        words.append("Key and bolts are judged as if each carried the torque alone.")
    else:
        words.append("Name the material to have key and bolts judged.")
    return words
