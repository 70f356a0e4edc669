"""A crew's drive file: motors, train, battery, wheel, the duty of a match, and what may be searched."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section, parse_toml, raise_problems, read_text
from shotwright.powertrain.drive_loads import Limits
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
from shotwright.powertrain.supply import CHEMISTRIES, Breaker, Supply, generic_battery
from shotwright.powertrain.train import KINDS, Kind, Stage, Train, stage
from shotwright.powertrain.wheel_duty import STOPS, Burst, Drive, Duty, Stop, Wheel, ball_inertia

_DISAGREE = 0.05  # the two constants of a data sheet may differ by this share before it is said


@dataclass(frozen=True, slots=True)
class DriveFile:
    """What a drive file says.

    Parameters
    ----------
    name : str
        What the crew calls it.
    motors : tuple of Motor
        Kinds that it names; the first drives the wheel.
    drive : Drive
        As built.
    duty : Duty
        Of the match.
    teeth : tuple of int
        Tooth counts owned.
    stages : int
        Most that may be built from them.
    counts : tuple of int
        Numbers of motors that may be tried.
    inertias : tuple of float
        Wheels that may be tried. [kg m^2]
    ratios : (float, float)
        Range that is tried. [-]
    limits : Limits
        What has to be kept.
    fits : dict
        Fit of each motor that was measured.
    notes : tuple of str
        What does not agree.
    """

    name: str
    motors: tuple[Motor, ...]
    drive: Drive
    duty: Duty
    teeth: tuple[int, ...]
    stages: int
    counts: tuple[int, ...]
    inertias: tuple[float, ...]
    ratios: tuple[float, float]
    limits: Limits
    fits: dict[str, MotorFit]
    notes: tuple[str, ...]


def read_drive_file(path: Path) -> DriveFile:
    """Read a drive file, as docs/file-format.md describes it.

    Parameters
    ----------
    path : Path
        TOML.

    Returns
    -------
    DriveFile
        In SI.

    Raises
    ------
    BadInput
        All that is wrong in it.
    """
    problems: list[BadInput] = []
    top = Section(parse_toml(read_text(path), path.name), "", path.name, problems)
    name = top.text("name", path.stem)
    notes: list[str] = []
    fits: dict[str, MotorFit] = {}
    motors = [_motor(one, notes, fits) for one in top.sections("motor", required=True)]
    stages = [_stage(one) for one in top.sections("stage")]
    supply = _supply(top.section("supply"))
    wheel_part = top.section("wheel")
    wheel = _numbers(wheel_part, inertia=("moment of inertia", "0.002 kg m^2", None))
    friction = wheel_part.quantity("friction", "torque", "0.006 N m", 0.0, least=0.0)
    motors_on = wheel_part.whole("motors", 1) or 1
    ball = _ball(wheel_part, wheel["inertia"])
    speed = wheel_part.quantity("speed", "spin", "2400 rpm", above=0.0)
    wheel_part.finish()
    duty = _duty(top.section("match"), top.sections("burst", required=True), speed, ball, notes)
    search = _search(top.section("search", required=False), wheel["inertia"])
    top.finish()
    raise_problems(problems)
    kept_motors = tuple(one for one in motors if one is not None)
    assert duty is not None
    assert supply is not None
    kept_stages = tuple(one for one in stages if one is not None)
    drive = Drive(kept_motors[0], motors_on, Train(kept_stages), supply, Wheel(wheel["inertia"], friction))
    return DriveFile(name, kept_motors, drive, duty, *search, fits, tuple(notes))


def _numbers(part: Section, **wanted: tuple[str, str, float | None]) -> dict[str, float]:
    """Quantities above zero by their key: kind, example, and what stands for an absent one."""
    return {
        key: part.quantity(key, kind, example, default, above=0.0)
        for key, (kind, example, default) in wanted.items()
    }


def _motor(part: Section, notes: list[str], fits: dict[str, MotorFit]) -> Motor | None:
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
    warm = _numbers(
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
    if readings:
        rows = [
            Reading(
                one.quantity("voltage", "voltage", "12 V", above=0.0),
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
    found = _numbers(
        part,
        resistance=("resistance", "20 mohm", None),
        thermal_resistance=("thermal resistance", "40 K/W", None),
        capacity=("heat capacity", "0.9 J/K", None),
        switch_temperature=("temperature", "125 degC", None),
    )
    part.finish()
    return SelfResetting(**found)


def _stage(part: Section) -> Stage | None:
    kind: Kind = part.choice("kind", KINDS, "spur")  # type: ignore[assignment]  # one of KINDS
    teeth = part.raw("teeth")
    efficiency = part.number("efficiency", math.nan, above=0.0, most=1.0)
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
    rating = part.optional(key, "current", above=0.0)
    return None if rating is None or math.isnan(rating) else Breaker(rating)


def _supply(part: Section) -> Supply | None:
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


def _ball(part: Section, inertia: float) -> float:
    """Inertia of a shot, stated or from the rim's speed before and after."""
    before = part.optional("rim_speed_before", "speed", above=0.0)
    after = part.optional("rim_speed_after", "speed", above=0.0)
    if before is None or after is None:
        return part.quantity("ball_inertia", "moment of inertia", "0.0005 kg m^2", least=0.0)
    part.know("ball_inertia")
    try:
        return ball_inertia(before, after, inertia)
    except BadInput as bad:
        part.problem(bad.problem, "rim_speed_after")
        return math.nan


def _duty(part: Section, bursts: list[Section], speed: float, ball: float, notes: list[str]) -> Duty | None:
    before = len(part.problems)
    length = part.quantity("length", "time", "150 s", above=0.0)
    feed = part.quantity("feed", "time", "0.25 s", 0.0, least=0.0)
    ready = part.quantity("ready", "fraction", "98 %", 0.98, above=0.0, most=0.9999)
    stop: Stop = part.choice("stop", STOPS, "keep running")  # type: ignore[assignment]  # one of STOPS
    brake = part.quantity("brake_resistance", "resistance", "0.1 ohm", 0.0, least=0.0)
    air = part.quantity("air", "temperature", "20 degC", 293.15, above=0.0)
    part.finish()
    all_bursts: list[Burst] = []
    for one in bursts:
        start = one.quantity("start", "time", "5 s", least=0.0)
        shots = one.whole("shots", 1) or 1
        times = one.whole("times", 1) or 1
        every = one.quantity("every", "time", "10 s", math.nan if times == 1 else None, above=0.0)
        one.finish()
        all_bursts += [Burst(start + (i * every if i else 0.0), shots) for i in range(min(times, 10_000))]
    if len(part.problems) > before or math.isnan(speed + ball):
        return None
    kept = tuple(one for one in sorted(all_bursts, key=lambda b: b.start) if one.start < length)
    if len(kept) < len(all_bursts):
        notes.append(f"{len(all_bursts) - len(kept)} bursts begin after the match and are left out.")
    try:
        return Duty(speed, ball, kept, length, feed, ready, stop, brake, air)
    except BadInput as bad:
        part.problem(bad.problem, bad.field)
        return None


def _search(
    part: Section, inertia: float
) -> tuple[tuple[int, ...], int, tuple[int, ...], tuple[float, ...], tuple[float, float], Limits]:
    teeth, counts = _wholes(part, "teeth"), _wholes(part, "motors")
    stages = part.whole("stages", 1) or 2
    wheels = part.raw("inertias")
    inertias: tuple[float, ...] = (inertia,)
    if isinstance(wheels, list) and wheels:
        inertias = tuple(part.parse("inertias", one, "moment of inertia", above=0.0) for one in wheels)
    elif wheels is not None:
        part.problem(f'{wheels!r} is not a list; e.g. inertias = ["10 kg cm^2", "20 kg cm^2"]', "inertias")
    ratios = (part.number("least_ratio", 0.3, above=0.0), part.number("most_ratio", 60.0, above=0.0))
    limits = Limits(
        recovery=part.quantity("recovery", "time", "0.3 s", math.inf, above=0.0),
        ready_after=part.quantity("ready_after", "time", "1 s", math.inf, above=0.0),
        motors=part.whole("most_motors", 1) or Limits().motors,
        motor_current=part.quantity("motor_current", "current", "60 A", math.inf, above=0.0),
        battery_current=part.quantity("battery_current", "current", "100 A", math.inf, above=0.0),
        lowest_voltage=part.quantity("lowest_voltage", "voltage", "7 V", 0.0, least=0.0),
    )
    part.finish()
    return teeth, min(stages, 3), counts or (1, 2, 3, 4), inertias, ratios, limits


def _wholes(part: Section, key: str) -> tuple[int, ...]:
    value = part.raw(key)
    if value is None:
        return ()
    if not isinstance(value, list) or not all(type(one) is int and one > 0 for one in value):
        part.problem(f"{value!r} is not a list of whole numbers; e.g. {key} = [1, 2, 4]", key)
        return ()
    return tuple(sorted(set(value)))
