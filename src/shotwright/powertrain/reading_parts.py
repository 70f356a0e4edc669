"""Motors, stages and supplies as tables of a TOML file: what drive files and robot files share."""

from __future__ import annotations

import math

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section
from shotwright.powertrain.motor import (
    Motor,
    SelfResetting,
    Sheet,
    Thermal,
    constants_of,
    from_sheet,
    generic_motors,
)
from shotwright.powertrain.motor_fit import MotorFit, Reading, fit_motor
from shotwright.powertrain.supply import BREAKERS, CHEMISTRIES, Breaker, Supply, generic_battery
from shotwright.powertrain.train import KINDS, Kind, Stage, stage, worm

_DISAGREE = 0.05  # the two constants of a data sheet may differ by this share before it is said


def numbers_of(part: Section, **wanted: tuple[str, str, float | None]) -> dict[str, float]:
    """Read quantities above zero by their key.

    Parameters
    ----------
    part : Section
        The table.
    **wanted : (str, str, float or None)
        Kind, example, and what stands for an absent one in SI; None: it must be there.

    Returns
    -------
    dict
        In SI; NaN after a problem.
    """
    return {
        key: part.quantity(key, kind, example, default, above=0.0)
        for key, (kind, example, default) in wanted.items()
    }


def motor_from(part: Section, notes: list[str], fits: dict[str, MotorFit]) -> Motor | None:
    """Read a motor: a generic class, a data sheet, or readings.

    Parameters
    ----------
    part : Section
        The table.
    notes : list of str
        What does not agree is added.
    fits : dict
        The fit of readings is added, by the motor's name.

    Returns
    -------
    Motor or None
        None after a problem.
    """
    generic = {one.name: one for one in generic_motors()}
    of_class = part.text("class", "")
    name = part.text("name", of_class or None, example="wheel motor")
    before = len(part.problems)
    if of_class:
        if of_class not in generic:
            part.choice("class", tuple(generic))
            part.finish()
            return None
        base = generic[of_class]
    else:
        base = generic_motors()[1]
    th = base.thermal
    warm = numbers_of(
        part,
        winding_capacity=("heat capacity", "15 J/K", th.winding_capacity),
        case_capacity=("heat capacity", "90 J/K", th.case_capacity),
        winding_to_case=("thermal resistance", "4 K/W", th.winding_to_case),
        case_to_air=("thermal resistance", "10 K/W", th.case_to_air),
        limit=("temperature", "100 degC", base.limit),
        rotor_inertia=("moment of inertia", "0.15 kg cm^2", base.rotor_inertia),
    )
    thermal = Thermal(
        warm["winding_capacity"], warm["case_capacity"], warm["winding_to_case"], warm["case_to_air"]
    )
    protection = _protection(part.section("protection", required=False)) if "protection" in part else None
    constants = _constants(part, name, base if of_class else None, notes, fits)
    part.finish()
    if len(part.problems) > before or constants is None:
        return None
    resistance, constant, idle, source = constants
    if not of_class and "winding_capacity" not in part:
        notes.append(f"{name}: its heat is that of the {base.name}, typical values without a source.")
    return Motor(
        name=name,
        resistance=resistance,
        constant=constant,
        free_current=idle,
        rotor_inertia=warm["rotor_inertia"],
        thermal=thermal,
        limit=warm["limit"],
        protection=protection,
        source=source,
    )


def _constants(
    part: Section, name: str, base: Motor | None, notes: list[str], fits: dict[str, MotorFit]
) -> tuple[float, float, float, str] | None:
    """Resistance, constant and free current: of the class, of the data sheet, or of readings."""
    readings = part.sections("reading")
    for one in readings:
        one.place = f"{part.place}, {one.place}"
    usual = part.optional("voltage", "voltage", above=0.0) if readings else None
    if readings:
        rows = [
            Reading(
                one.quantity("voltage", "voltage", "12 V", usual, above=0.0),
                one.quantity("current", "current", "20 A", above=0.0),
                one.quantity("speed", "spin", "14000 rpm", least=0.0),
                one.quantity("torque", "torque", "0.1 N m", least=0.0),
            )
            for one in readings
        ]
        for one in readings:
            one.finish()
        if any(math.isnan(v) for row in rows for v in (row.voltage, row.current, row.speed, row.torque)):
            return None
        try:
            fit = fit_motor(rows)
        except BadInput as bad:
            part.problem(bad.problem, "reading")
            return None
        fits[name] = fit
        idle = max(fit.free_current_a.value, 0.0)
        return fit.resistance_ohm.value, fit.constant_v_s.value, idle, f"{len(rows)} readings"
    if base is not None:
        return base.resistance, base.constant, base.free_current, base.source
    sheet = Sheet(
        part.quantity("voltage", "voltage", "12 V", above=0.0),
        part.quantity("free_speed", "spin", "18600 rpm", above=0.0),
        part.quantity("free_current", "current", "2 A", least=0.0),
        part.quantity("stall_torque", "torque", "0.47 N m", above=0.0),
        part.quantity("stall_current", "current", "80 A", above=0.0),
    )
    try:
        _, by_torque, by_speed = constants_of(sheet)
        found = from_sheet(name, sheet, 1e-5, generic_motors()[1].thermal)
    except BadInput as bad:
        if not math.isnan(sheet.voltage + sheet.free_speed + sheet.stall_torque + sheet.stall_current):
            part.problem(bad.problem, bad.field)
        return None
    if abs(by_torque / by_speed - 1) > _DISAGREE:
        notes.append(
            f"{name}: the data sheet does not agree with itself: {by_torque:.4g} N m/A from torque, "
            f"{by_speed:.4g} V s/rad from speed. Their geometric mean is used; better measure two readings."
        )
    return found.resistance, found.constant, found.free_current, "data sheet"


def _protection(part: Section) -> SelfResetting:
    found = numbers_of(
        part,
        resistance=("resistance", "20 mohm", None),
        thermal_resistance=("thermal resistance", "40 K/W", None),
        capacity=("heat capacity", "0.9 J/K", None),
        switch_temperature=("temperature", "125 degC", None),
    )
    part.finish()
    return SelfResetting(**found)


def stage_from(part: Section) -> Stage | None:
    """Read one stage of a train; None after a problem.

    Parameters
    ----------
    part : Section
        The table.

    Returns
    -------
    Stage or None
        With the trade's efficiency where none is stated.
    """
    kind: Kind = part.choice("kind", KINDS, "spur")  # type: ignore[assignment]  # one of KINDS
    teeth = part.raw("teeth")
    efficiency = part.number("efficiency", math.nan, above=0.0, most=1.0)
    lead = part.optional("lead_angle", "angle", above=0.0, most=math.pi / 3)
    rubbing = part.number("friction", math.nan, above=0.0, most=1.0)
    back = part.number("back_efficiency", math.nan, least=-1e9, most=1.0)
    if teeth is not None:
        whole = (
            isinstance(teeth, list) and len(teeth) == 2 and all(type(one) is int and one > 0 for one in teeth)
        )
        if not whole:
            part.problem(f"{teeth!r} is not a pair of tooth counts; e.g. teeth = [12, 36]", "teeth")
            return None
        ratio = teeth[1] / teeth[0]
        part.know("ratio")
    else:
        ratio = part.number("ratio", None, "3.0", above=0.0)
    part.finish()
    if lead is not None or not math.isnan(rubbing):
        if kind != "worm":
            part.problem("lead_angle and friction belong to a worm", "lead_angle")
            return None
        if lead is None or not lead + rubbing + ratio < math.inf:  # a NaN is none of these
            part.problem("a worm needs both lead_angle and friction, or its efficiency", "lead_angle")
            return None
        try:
            return worm(ratio, lead, rubbing)
        except BadInput as bad:
            part.problem(bad.problem, "lead_angle")
            return None
    if math.isnan(ratio):
        return None
    try:
        found = stage(kind, ratio, None if math.isnan(efficiency) else efficiency, tuple(teeth or ()))
    except BadInput as bad:
        part.problem(bad.problem, "efficiency")
        return None
    if math.isnan(back):
        return found
    return Stage(kind, ratio, found.efficiency, back, found.source, found.teeth)


def _breaker(part: Section, key: str) -> Breaker | None:
    """Read a rating, `"40 A"`, or a table with the way it warms and closes."""
    value = part.raw(key)
    if not isinstance(value, dict):
        rating = part.optional(key, "current", above=0.0)
        return None if rating is None or math.isnan(rating) else Breaker(rating)
    table, before = part.section(key), len(part.problems)
    rating = table.quantity("rating", "current", "40 A", above=0.0)
    warming = table.quantity("time_constant", "time", "30 s", 30.0, above=0.0)
    carries = table.quantity("carries", "fraction", "105 %", 1.05, above=0.0)
    kind = table.choice("kind", BREAKERS, BREAKERS[0])
    closes = 0.0
    if kind == "self-resetting":
        closes = table.quantity("closes_at", "fraction", "60 %", 0.6, above=0.0, most=0.99)
    table.finish({"closes_at": "belongs to a self-resetting one"})
    return None if len(part.problems) > before else Breaker(rating, warming, carries, closes)


def supply_from(part: Section) -> Supply | None:
    """Read battery, wires, controller and breakers; None after a problem.

    Parameters
    ----------
    part : Section
        The table.

    Returns
    -------
    Supply or None
        In SI.
    """
    before = len(part.problems)
    chemistry = part.choice("chemistry", CHEMISTRIES)
    cells = part.whole("cells", 1)
    if cells is None and "cells" not in part:
        part.problem("is missing; e.g. cells = 10", "cells")
    charge = part.quantity("capacity", "charge", "3 Ah", above=0.0)
    resistance = part.optional("resistance", "resistance", above=0.0)
    level = part.quantity("level", "fraction", "95 %", 1.0, above=0.0, most=1.0)
    wiring = part.quantity("wiring", "resistance", "10 mohm", 0.0, least=0.0)
    limit = part.quantity("current_limit", "current", "40 A", math.inf, above=0.0)
    other = part.quantity("other_current", "current", "5 A", 0.0, least=0.0)
    main, each = _breaker(part, "main_breaker"), _breaker(part, "motor_breaker")
    part.finish()
    if len(part.problems) > before or cells is None or not chemistry or math.isnan(charge):
        return None
    battery = generic_battery(chemistry, cells, charge / 3600, resistance)
    return Supply(battery, level, wiring, limit, other, main, each)
