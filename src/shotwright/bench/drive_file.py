"""A crew's drive file: motors, train, battery, wheel, the duty of a match, and what may be searched."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section, parse_toml, raise_problems, read_text
from shotwright.powertrain.drive_loads import Limits
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.motor_fit import MotorFit
from shotwright.powertrain.reading_parts import motor_from, numbers_of, stage_from, supply_from
from shotwright.powertrain.train import Train
from shotwright.powertrain.wheel_duty import STOPS, Burst, Drive, Duty, Stop, Wheel, ball_inertia


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
    motors = [motor_from(one, notes, fits) for one in top.sections("motor", required=True)]
    stages = [stage_from(one) for one in top.sections("stage")]
    supply = supply_from(top.section("supply"))
    wheel_part = top.section("wheel")
    wheel = numbers_of(wheel_part, inertia=("moment of inertia", "0.002 kg m^2", None))
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
