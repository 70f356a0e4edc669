"""What a spiral gear, its rack or its drum does, in rows and sentences."""

from __future__ import annotations

import math
from typing import Any

from shotwright.bench.plates import mm
from shotwright.build.basic_rack import module_words
from shotwright.build.gear_checks import OVERLAP, TurnChecks
from shotwright.build.gear_design import GearDesign, GearFigures
from shotwright.build.gear_ways import Way
from shotwright.build.part import Order

_THIN_TIP = 0.2  # modules; least thickness of a tip (common practice)
_TRAVEL, _EVEN = 20e-6, 0.01  # m, -; bounds within which drawn edges count as sound
_STEEP = 45.0  # degrees of push beyond which guides and axle carry more than the rack is pulled with


def gear_rows(design: GearDesign) -> tuple[tuple[str, str], ...]:
    """Figures that a person wants first.

    Parameters
    ----------
    design : GearDesign
        Judged.

    Returns
    -------
    tuple of (str, str)
        Name and value.
    """
    turn = f"{math.degrees(design.wish.angle):.4g}°"
    if design.figures is None or design.turn is None:
        assert design.pulled is not None
        torque, work = design.pulled.torque, design.wish.curve.total_work
        return (
            ("torque", f"{torque.min():.4g} to {torque.max():.4g} N m without friction, on the drawn edge"),
            ("turn", turn),
            ("energy of the stroke", f"{work:.4g} J over {mm(design.wish.curve.stroke)}"),
            *_way_rows(design.ways),
        )  # fmt: skip
    told, checks = design.figures, design.turn.checks
    over = design.turn.torque[: checks.positions]
    return (
        ("torque, on the drawn edges", f"{over.min():.4g} to {over.max():.4g} N m without friction"),
        ("against the law", f"{_percent(checks.torque_low)} to {_percent(checks.torque_high)}"),
        ("rack's travel against the law", f"within {_microns(checks.travel_error_m)}"),
        ("overlap of the drawn edges", _overlap(checks)),
        *(() if design.envelope is None else (
            ("flank against a swept cutter", f"within {_microns(design.envelope.flank_m)}"),
        )),
        ("turn", f"{turn}, {told.teeth} teeth; the arc holds {told.pitches:.4g} pitches"),
        ("energy of the stroke", f"{told.work_j:.4g} J over {mm(told.stroke_m)}"),
        ("pitch radius", f"{mm(told.radius_start_m)} falling to {mm(told.radius_end_m)}"
         if told.radius_start_m > told.radius_end_m
         else f"{mm(told.radius_start_m)} rising to {mm(told.radius_end_m)}"),
        ("push of the teeth", f"{told.push_angle_deg:.1f}° from the travel at most"),
        ("contact ratio", f"{told.contact_ratio:.2f} at least"),
        ("curved like", f"{told.equal_teeth:.1f} teeth at the least; {_undercut(told)}"),
        ("tips", f"{mm(told.tip_thickness_m)} at least"),
        ("drops the rack", f"at {checks.let_go_turn_deg:.1f}°, {mm(checks.let_go_travel_m)} of travel"),
        *(() if math.isnan(checks.pick_up_lift_m) else (
            ("rack can fly back", _window(checks)),
            ("lift to find the rack again", mm(checks.pick_up_lift_m)),
        )),
        *_way_rows(design.ways),
    )  # fmt: skip


def _percent(share: float) -> str:
    return f"{100 * (share - 1):+.2f} %"


def _microns(length: float) -> str:
    """Length in micrometres; no digits that the arithmetic does not hold."""
    return f"{1e6 * length:.2g} µm" if length > 1e-9 else "0.001 µm"


def _overlap(checks: TurnChecks) -> str:
    if checks.overlap_m <= OVERLAP:
        return f"none, to {1e6 * OVERLAP:g} µm"
    return f"{1e6 * checks.overlap_m:.3g} µm"


def _undercut(told: GearFigures) -> str:
    return f"{told.undercut_teeth} teeth undercut" if told.undercut_teeth else "no undercut"


def _window(checks: TurnChecks) -> str:
    if math.isinf(checks.free_to_deg):
        return "NO: it strikes the gear"
    return f"from {checks.free_from_deg:.0f}° to {checks.free_to_deg:.0f}° of the gear"


def _way_rows(ways: tuple[Way, ...]) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    for one in ways:
        if one.reason:
            rows.append((one.way, f"not here: {one.reason}"))
            continue
        rack = f", rack {1e3 * one.rack_length_m:.0f} x {1e3 * one.rack_height_m:.0f} mm"
        words = f"{one.torque_n_m:.3g} N m, {one.peak_n_m:.3g} at most, ripple {100 * one.ripple:.1f} %; "
        words += f"{1e3 * one.across_m:.0f} mm across"
        words += f"{rack if one.rack_length_m else ''}; {1e3 * one.cut_m:.0f} mm to cut"
        rows.append((one.way, words))
    return rows


def way_figures(way: Way) -> dict[str, Any]:
    """A way as plain data, its curve left out."""
    return {name: value for name, value in way.to_dict().items() if name != "curve"}


def gear_words(design: GearDesign, order: Order) -> list[str]:
    """What to know of it, in sentences.

    Parameters
    ----------
    design : GearDesign
        Judged.
    order : Order
        Material, thickness, preview or not.

    Returns
    -------
    list of str
        A sentence or two each.
    """
    curve = design.wish.curve
    low, high = (float(curve.force(x)) for x in (0.0, curve.stroke))
    turns, moves = ("gear", "rack") if design.pair else ("drum", "cable")
    words = [f"Force: {curve.origin}, {low:.3g} N to {high:.3g} N."]
    words.append(
        f"The {turns} turns clockwise as drawn and moves the {moves} to the right; the line marked start "
        "points up when it begins."
    )
    if order.coarse:
        words.append("A rough preview: outlines and torque are exact only in the finished part.")
    if design.figures is not None and design.turn is not None:
        words += _pair_words(design, design.figures, design.turn.checks, order)
    if design.way == "cable drum":
        words.append(
            "A cable lets the piston go only when the drum comes free of its shaft: plan a clutch or a dog, "
            f"and keep the cable's end at least {mm(design.wish.distance)} behind the axis when wound."
        )
    words += [f"{one.way.capitalize()}: {one.cutting}." for one in design.ways]
    if not order.material:
        words.append("Name the material to have teeth, key and bolts judged.")
    return words


def _pair_words(design: GearDesign, told: GearFigures, checks: TurnChecks, order: Order) -> list[str]:
    module = design.wish.form.module
    series = module_words(module)
    words = [f"{series[0].upper()}{series[1:]}."]
    if told.push_angle_deg > _STEEP:
        words.append(
            f"The teeth push at {told.push_angle_deg:.0f}° to the travel: axle and guide carry "
            f"{math.tan(math.radians(told.push_angle_deg)):.2g} times the spring's force sideways. More "
            "preload or a soft start makes it gentler."
        )
    if told.undercut_teeth:
        words.append(
            f"{told.undercut_teeth} teeth are undercut: weaker at the root, exact above it. A profile shift "
            f"of {max(0.0, 1 - told.equal_teeth * math.sin(math.radians(20)) ** 2 / 2):.2f} would avoid it."
        )
    if told.tip_thickness_m < _THIN_TIP * module:
        words.append(f"Tips of {mm(told.tip_thickness_m)} break easily; take less profile shift or backlash.")
    fillet = design.wish.form.rack.fillet * module
    words.append(
        f"The roots have a radius of {mm(fillet)}: a cutting tool of more than twice that, {mm(2 * fillet)}, "
        "can't reach into them; take a larger module then."
    )
    if order.coarse:
        return words
    words += _faults(checks)
    words.append(
        f"When the stroke ends the last tooth's tip carries the rack on to {mm(checks.let_go_travel_m)}, "
        f"with falling torque ({100 * checks.tail_torque:.0f} % at most), and drops it: leave that much room."
    )
    words.append(_way_back(checks))
    if checks.pick_up_lift_m > 0.1 * module:
        words.append(
            f"With the rack at rest the first teeth can't come in level: let the rack lift by "
            f"{mm(checks.pick_up_lift_m)} against a light spring (a hinged or sprung guide), and press it "
            "down again at the line marked start."
        )
    return words


def _faults(checks: TurnChecks) -> list[str]:
    """What the drawn edges do wrong; nothing for a sound pair."""
    uneven = max(checks.torque_high - 1, 1 - checks.torque_low)
    if checks.overlap_m <= OVERLAP and checks.travel_error_m <= _TRAVEL and uneven <= _EVEN:
        return []
    return [
        (
            f"NOT SOUND AS DRAWN: the edges overlap by {_microns(checks.overlap_m)}, the travel strays by "
            f"{_microns(checks.travel_error_m)}, the torque by {100 * uneven:.1f} %. Take a smaller module, "
            "more preload, another soft start or more backlash."
        )
    ]


def _way_back(checks: TurnChecks) -> str:
    if math.isinf(checks.free_to_deg):
        return (
            "THE RACK STRIKES THE GEAR on its way back: the first tooth stands too high. Take a shorter turn "
            "(leave the turn open), more preload or a soft start."
        )
    room = checks.free_to_deg - checks.free_from_deg
    return (
        f"The rack's way back is free for {room:.0f}° of the gear's turn: at 30 rpm that is "
        f"{1e3 * room / 180:.0f} ms, and the spring must be down by then."
    )
