"""A crew's drive file: motors, train, battery, wheel, the duty of a match, and what may be searched."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section, check_unique, parse_toml, raise_problems, read_text
from shotwright.powertrain.drive_loads import Limits
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.motor_fit import MotorFit
from shotwright.powertrain.reading_parts import motor_from, stage_from, supply_from
from shotwright.powertrain.supply import Supply
from shotwright.powertrain.train import Train
from shotwright.powertrain.wheel_duty import STOPS, Burst, Drive, Duty, Stop, Wheel, ball_inertia
from shotwright.powertrain.winding_file import Winding, read_winding


@dataclass(frozen=True, slots=True)
class DriveFile:
    """What a drive file says.

    Parameters
    ----------
    name : str
        What the crew calls it.
    motors : tuple of Motor
        Kinds that it names; the first drives the wheel, or winds.
    supply : Supply
        What feeds them.
    wheel : Drive, optional
        With its wheel, as built.
    duty : Duty, optional
        Of the match, for the wheel.
    winding : Winding, optional
        The piston that is wound.
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
    supply: Supply
    wheel: Drive | None
    duty: Duty | None
    winding: Winding | None
    teeth: tuple[int, ...]
    stages: int
    counts: tuple[int, ...]
    inertias: tuple[float, ...]
    ratios: tuple[float, float]
    limits: Limits
    fits: dict[str, MotorFit]
    notes: tuple[str, ...]

    def needed_wheel(self) -> tuple[Drive, Duty]:
        """Return the wheel's drive and duty; BadInput when the file describes no wheel."""
        if self.wheel is None or self.duty is None:
            raise BadInput(
                f"{self.name} drives no wheel; describe one in [wheel], or ask for its winding", field="wheel"
            )
        return self.wheel, self.duty

    def needed_winding(self) -> Winding:
        """Return the piston that is wound; BadInput when the file describes none."""
        if self.winding is None:
            raise BadInput(f"{self.name} winds no piston; describe it in [winding]", field="winding")
        return self.winding


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
    return drive_from_text(read_text(path), path.name)


def drive_from_text(text: str, file_name: str = "drive.toml") -> DriveFile:
    """Read the text of a drive file; parameters and errors as :func:`read_drive_file`."""
    problems: list[BadInput] = []
    top = Section(parse_toml(text, file_name), "", file_name, problems)
    name = top.text("name", "drive")
    notes: list[str] = []
    fits: dict[str, MotorFit] = {}
    parts = top.sections("motor", required=True)
    motors = [motor_from(one, notes, fits) for one in parts]
    check_unique([(part, one.name) for part, one in zip(parts, motors, strict=True) if one], "motor")
    stages = [stage_from(one) for one in top.sections("stage")]
    supply = supply_from(top.section("supply"))
    timing = _timing(top.section("match"), top.sections("burst", required=True), notes)
    winds = "winding" in top
    wheel = _wheel(top.section("wheel", required=not winds)) if "wheel" in top or not winds else None
    wound = read_winding(top.section("winding")) if winds else None
    search = _search(top.section("search", required=False), wheel.inertia if wheel else 1.0)
    top.finish()
    raise_problems(problems)
    kept_motors = tuple(one for one in motors if one is not None)
    assert supply is not None
    assert timing is not None
    train = Train(tuple(one for one in stages if one is not None))
    drive = duty = winding = None
    if wheel is not None:
        shaft = Wheel(wheel.inertia, wheel.friction)
        drive = Drive(kept_motors[0], wheel.motors, train, supply, shaft)
        duty = Duty(
            wheel.speed,
            wheel.ball,
            timing.bursts,
            timing.length,
            timing.feed,
            timing.ready,
            timing.stop,
            timing.brake,
            timing.air,
        )
    if wound is not None:
        shaft = Wheel(wound.inertia, wound.friction)
        winder = Drive(kept_motors[0], wound.motors, train, supply, shaft)
        winding = Winding(winder, wound.turn, timing.bursts, timing.length, timing.air, wound.stored)
    return DriveFile(name, kept_motors, supply, drive, duty, winding, *search, fits, tuple(notes))


@dataclass(frozen=True, slots=True)
class _WheelPart:
    inertia: float
    friction: float
    motors: int
    speed: float
    ball: float


def _wheel(part: Section) -> _WheelPart:
    inertia = part.quantity("inertia", "moment of inertia", "0.002 kg m^2", above=0.0)
    friction = part.quantity("friction", "torque", "0.006 N m", 0.0, least=0.0)
    motors_on = part.whole("motors", 1) or 1
    ball = _ball(part, inertia)
    speed = part.quantity("speed", "spin", "2400 rpm", above=0.0)
    part.finish()
    return _WheelPart(inertia, friction, motors_on, speed, ball)


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


@dataclass(frozen=True, slots=True)
class _Timing:
    length: float
    feed: float
    ready: float
    stop: Stop
    brake: float
    air: float
    bursts: tuple[Burst, ...]


def _timing(part: Section, bursts: list[Section], notes: list[str]) -> _Timing | None:
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
    if len(part.problems) > before:
        return None
    kept = tuple(one for one in sorted(all_bursts, key=lambda b: b.start) if one.start < length)
    if len(kept) < len(all_bursts):
        notes.append(f"{len(all_bursts) - len(kept)} bursts begin after the match and are left out.")
    try:
        Duty(1.0, 0.0, kept, length)
    except BadInput as bad:
        part.problem(bad.problem, bad.field)
        return None
    return _Timing(length, feed, ready, stop, brake, air, kept)


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
