"""The robot file: TOML with a section for each part, units as typed. ``docs/robot.md`` explains every key."""

from __future__ import annotations

import math
from collections.abc import Mapping

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section, parse_toml, raise_problems
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.motor_fit import MotorFit
from shotwright.powertrain.reading_parts import motor_from, stage_from, supply_from
from shotwright.powertrain.supply import Supply, generic_battery
from shotwright.powertrain.train import Train
from shotwright.robot.brake import Opponent
from shotwright.robot.description import DrivePart, Robot, TiltPart
from shotwright.robot.drive_base import DriveBase
from shotwright.robot.feed import CARRIERS, Carrier, Feed
from shotwright.robot.ratio_map import Mix
from shotwright.robot.reading_brake import brake_from
from shotwright.robot.reading_power import power_from
from shotwright.robot.sprint_run import STARTS, Start
from shotwright.robot.tilt import Tilt, WormDrive

SECTIONS = ("drive-base", "tilt", "feed", "brake", "power")
_RIGHT = math.pi / 2
_FARTHEST = 100.0  # m; no sprint is longer
_LONGEST = 600.0  # s; no push is longer
_POSITIVE: dict[str, float] = {"above": 0.0}
_SHARE: dict[str, float] = {"above": 0.0, "most": 1.0}


def robot_from_text(text: str, file_name: str = "robot.toml") -> Robot:
    r"""Read a robot file.

    Parameters
    ----------
    text : str
        TOML.
    file_name : str
        How messages name the file.

    Returns
    -------
    Robot
        What it says, in SI.

    Raises
    ------
    BadInput
        The text is not TOML.
    BadFile
        Everything that is wrong in it, one line for each problem.

    Examples
    --------
    >>> robot_from_text('name = "Yard robot"\nmass = "14"')
    Traceback (most recent call last):
    ...
    shotwright.base.errors.BadFile: robot.toml, mass: '14' has no unit; ...
    """
    problems: list[BadInput] = []
    top = Section(parse_toml(text, file_name), "", file_name, problems)
    notes: list[str] = []
    name = top.text("name", "robot")
    mass = top.quantity("mass", "mass", "14 kg", above=0.0)
    most_motors, launcher_motors = top.whole("most_motors", 1), top.whole("launcher_motors", 1)
    launcher = top.text("launcher", "") or None
    fits: dict[str, MotorFit] = {}
    read = [motor_from(one, notes, fits) for one in top.sections("motor")]
    motors = {one.name: one for one in read if one is not None}
    supply = supply_from(top.section("supply"))
    opponent = _opponent(top.section("opponent")) if "opponent" in top else None
    if not any(key in top for key in SECTIONS):
        top.problem(f"holds none of the sections {', '.join(f'[{key}]' for key in SECTIONS)}")
    tables = {key: top.section(key, required=False) for key in SECTIONS}
    drive = tilt = feed = brake = power = None
    # parts are read even where mass or supply can't be, so that all problems are told at once
    weighs, feeds = _placed(mass), supply or Supply(generic_battery("NiMH", 10, 3.0))
    if "drive-base" in top:
        drive = _drive(tables["drive-base"], weighs, motors, feeds, opponent)
    if "tilt" in top:
        tilt = _tilt(tables["tilt"], motors, feeds)
    if "brake" in top:
        grip = (drive.base.grip if drive else 1.0) if "drive-base" in top else None
        brake = brake_from(tables["brake"], weighs, grip, opponent)
    if "power" in top:
        power = power_from(tables["power"], feeds)
    if "feed" in top:
        feed = _feed(tables["feed"])
    top.finish()
    raise_problems(problems)
    assert supply is not None
    return Robot(
        name=name,
        mass=mass,
        supply=supply,
        most_motors=most_motors,
        launcher=launcher,
        launcher_motors=launcher_motors,
        drive_base=drive,
        tilt=tilt,
        feed=feed,
        brake=brake,
        power=power,
        notes=tuple(notes),
    )


def _opponent(part: Section) -> Opponent:
    mass = part.quantity("mass", "mass", "14 kg", above=0.0)
    grip = part.number("grip", None, "0.9", above=0.0)
    force = part.quantity("motor_force", "force", "200 N", math.inf, above=0.0)
    part.finish()
    return Opponent(mass, grip, force)


def _motor(part: Section, motors: Mapping[str, Motor]) -> Motor | None:
    if not motors:
        part.problem('there is no [[motor]] that could drive it; e.g. class = "12 V 550 class"', "motor")
        part.raw("motor")
        return None
    name = part.choice("motor", tuple(motors), next(iter(motors)) if len(motors) == 1 else None)
    return motors.get(name)


def _train(part: Section, where: str) -> Train | None:
    read = []
    for number, one in enumerate(part.sections("stage"), 1):
        one.place = f"[[{where}.stage]] {number}"
        read.append(stage_from(one))
    kept = tuple(one for one in read if one is not None)
    return Train(kept) if len(kept) == len(read) else None


def _drive(
    part: Section, mass: float, motors: Mapping[str, Motor], supply: Supply, opponent: Opponent | None
) -> DrivePart | None:
    before = len(part.problems)
    motor, train = _motor(part, motors), _train(part, "drive-base")
    number = part.whole("motors", 1)
    if number is None and "motors" not in part:
        part.problem("is missing; e.g. motors = 4", "motors")
    diameter = part.quantity("wheel_diameter", "length", "100 mm", **_POSITIVE)
    grip = part.number("grip", None, "0.9", **_POSITIVE)
    share = part.quantity("driven_share", "fraction", "100 %", 1.0, **_SHARE)
    rolling = part.number("rolling", 0.0, "0.02", least=0.0, most=0.5)
    inertia = part.quantity("wheel_inertia", "moment of inertia", "8 kg cm^2", 0.0, least=0.0)
    wheelbase = part.optional("wheelbase", "length", **_POSITIVE)
    track = part.optional("track", "length", **_POSITIVE)
    start: Start = part.choice("start", STARTS, "eased")  # type: ignore[assignment]  # one of STARTS
    mix = _mix(part, opponent)
    low, high, teeth, stages = _search(part.section("search", required=False))
    part.finish()
    if len(part.problems) > before or motor is None or train is None or number is None:
        return None
    base = DriveBase(
        mass=mass,
        wheel_radius=diameter / 2,
        grip=grip,
        motor=motor,
        motors=number,
        train=train,
        supply=supply,
        driven_share=share,
        rolling=rolling,
        wheel_inertia=inertia,
        wheelbase=wheelbase,
        track=track,
    )
    return DrivePart(
        base=base,
        mix=mix,
        start=start,
        opponent=opponent,
        ratios=(low, high),
        teeth=teeth,
        stages=stages,
    )


def _mix(part: Section, opponent: Opponent | None) -> Mix:
    sprints = []
    if "sprint" not in part:
        part.problem('there is no [[drive-base.sprint]]; at least one is needed, e.g. distance = "3 m"')
    for number, one in enumerate(part.sections("sprint"), 1):
        one.place = f"[[drive-base.sprint]] {number}"
        far = one.quantity("distance", "length", "3 m", above=0.0, most=_FARTHEST)
        sprints.append((far, one.whole("times", 1) or 1))
        one.finish()
    pushed = part.section("push", required=False)
    pushes = pushed.whole("times", 0) or 0
    time = pushed.quantity("time", "time", "5 s", 0.0 if not pushes else None, least=0.0, most=_LONGEST)
    force = pushed.quantity("force", "force", "120 N", opponent.force if opponent else math.inf, above=0.0)
    pushed.finish()
    if not sprints or any(math.isnan(far) for far, _ in sprints):
        return Mix(((1.0, 1),))
    return Mix(tuple(sprints), pushes, time, force)


def _search(part: Section) -> tuple[float, float, tuple[int, ...], int]:
    low = part.number("least_ratio", 3.0, "5", **_POSITIVE)
    high = part.number("most_ratio", 40.0, "30", **_POSITIVE)
    if low >= high:
        part.problem(f"{low:g} is not below the largest, {high:g}", "least_ratio")
    teeth = part.raw("teeth")
    owned: tuple[int, ...] = ()
    if isinstance(teeth, list) and all(type(one) is int and one > 0 for one in teeth):
        owned = tuple(sorted(set(teeth)))
    elif teeth is not None:
        part.problem(f"{teeth!r} is not a list of tooth counts; e.g. teeth = [12, 24, 36]", "teeth")
    stages = part.whole("stages", 1) or 2
    part.finish()
    return low, high, owned, min(stages, 3)


def _tilt(part: Section, motors: Mapping[str, Motor], supply: Supply) -> TiltPart | None:
    before = len(part.problems)
    motor, train = _motor(part, motors), _train(part, "tilt")
    mass = part.quantity("mass", "mass", "4 kg", **_POSITIVE)
    arm = part.quantity("arm", "length", "18 cm", **_POSITIVE)
    inertia = part.quantity("inertia", "moment of inertia", "0.15 kg m^2", mass * arm**2, above=0.0)
    lean = part.quantity("lean", "angle", "0 deg", 0.0, least=-_RIGHT, most=_RIGHT, allowed="-90 to 90 deg")
    threads, teeth = part.whole("threads", 1) or 1, part.whole("teeth", 1)
    if teeth is None and "teeth" not in part:
        part.problem("is missing; e.g. teeth = 30", "teeth")
    module = part.quantity("module", "length", "1 mm", **_POSITIVE)
    diameter = part.quantity("worm_diameter", "length", "16 mm", **_POSITIVE)
    pressure = part.quantity(
        "pressure_angle", "angle", "20 deg", math.radians(20), above=0.0, most=math.radians(45)
    )
    friction = part.number("friction", None, "0.08", **_POSITIVE)
    static = part.number("static_friction", friction, "0.1", **_POSITIVE)
    vibration = part.quantity(
        "vibration", "fraction", "50 %", 0.5, least=0.0, most=0.99, allowed="between 0 and 99 %"
    )
    backlash = part.quantity("backlash", "angle", "0.5 deg", 0.0, least=0.0, most=_RIGHT)
    pins = _pins(part)
    play = part.quantity("pin_play", "angle", "0.2 deg", 0.0, least=0.0, most=_RIGHT)
    time = part.quantity("pin_time", "time", "5 s", 0.0, least=0.0)
    part.finish()
    if len(part.problems) > before or motor is None or train is None or teeth is None:
        return None
    worm = WormDrive(
        threads=threads,
        teeth=teeth,
        module=module,
        diameter=diameter,
        pressure=pressure,
        friction=friction,
        static_friction=static,
        vibration=vibration,
    )
    tilt = Tilt(
        mass=mass,
        arm=arm,
        lean=lean,
        inertia=inertia,
        worm=worm,
        train=train,
        motor=motor,
        supply=supply,
        backlash=backlash,
    )
    return TiltPart(tilt=tilt, pins=pins, pin_play=play, pin_time=time)


def _pins(part: Section) -> tuple[float, ...]:
    value = part.raw("pins")
    if value is None:
        return ()
    if not isinstance(value, list) or not value:
        part.problem(f'{value!r} is not a list of elevations; e.g. pins = ["50 deg", "60 deg"]', "pins")
        return ()
    return tuple(sorted(part.parse("pins", one, "angle", least=-_RIGHT, most=_RIGHT) for one in value))


def _feed(part: Section) -> Feed | None:
    before = len(part.problems)
    carrier: Carrier = part.choice("carrier", CARRIERS)  # type: ignore[assignment]  # one of CARRIERS
    found = Feed(
        carrier=carrier,
        surface_speed=_placed(part.quantity("speed", "speed", "0.8 m/s", **_POSITIVE)),
        pitch=_placed(part.quantity("pitch", "length", "160 mm", **_POSITIVE)),
        length=_placed(part.quantity("length", "length", "60 cm", **_POSITIVE)),
        width=_placed(part.quantity("width", "length", "155 mm", **_POSITIVE)),
        friction=_placed(part.number("friction", None, "0.6", **_POSITIVE)),
        squeeze=_placed(part.quantity("squeeze", "force", "6 N", **_POSITIVE)),
        slope=part.quantity("slope", "angle", "40 deg", 0.0, least=-_RIGHT, most=_RIGHT),
        acceleration=part.quantity("acceleration", "acceleration", "3 m/s^2", 0.0, least=0.0),
        wall_friction=_placed(part.number("wall_friction", 0.4, "0.4", **_POSITIVE)),
        recovery=part.optional("recovery", "time", least=0.0),
        collect_every=part.optional("collect_every", "time", **_POSITIVE),
    )
    part.finish()
    return None if len(part.problems) > before else found


def _placed(value: float) -> float:
    """Let a value that could not be read pass the record's own checks: its problem is noted already."""
    return 1.0 if math.isnan(value) else value
