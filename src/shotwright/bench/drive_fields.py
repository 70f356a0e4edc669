"""What the form of a drive asks, table by table of its file."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.plain import Result
from shotwright.powertrain.motor import generic_motors
from shotwright.powertrain.supply import BREAKERS, CHEMISTRIES
from shotwright.powertrain.train import KINDS
from shotwright.powertrain.wheel_duty import STOPS
from shotwright.powertrain.winding_file import SHAPES

SHEET, READINGS = "its data sheet", "my readings"
ROOM_FOR_READINGS = 3


@dataclass(frozen=True, slots=True)
class Asked:
    """One key of a table.

    Parameters
    ----------
    key : str
        In the file.
    words : str
        What it is.
    kind : str
        Kind of quantity; or ``"whole"``, ``"number"``, ``"wholes"``, ``"quantities"``, ``"choice"``,
        ``"text"``, ``"breaker"``.
    example : str
        How to type it.
    needed : bool
        Whether there is no usual value.
    options : tuple of str
        Of a choice; the first is the usual one when nothing is needed.
    when : str
        Answer of the table's first choice for which it is asked; always when empty.
    """

    key: str
    words: str
    kind: str
    example: str
    needed: bool = False
    options: tuple[str, ...] = ()
    when: str = ""


@dataclass(frozen=True, slots=True)
class DriveField(Result):
    """One thing that the form asks, with what was typed so far.

    Parameters
    ----------
    name : str
        Of the field: ``"supply.cells"``, ``"motor.0.voltage"``.
    words, kind, example, needed, options, when
        As :class:`Asked` has them.
    value : str
        As typed; empty where nothing was.
    """

    name: str
    words: str
    kind: str
    example: str
    needed: bool
    options: tuple[str, ...]
    when: str
    value: str


@dataclass(frozen=True, slots=True)
class DriveGroup(Result):
    """A table of the file.

    Parameters
    ----------
    name : str
        ``"supply"``, ``"motor.0"``.
    title : str
        Above it.
    fields : tuple of DriveField
        What is asked.
    rows : tuple of tuple of DriveField
        Readings of a motor, a row each.
    removable : bool
        Whether it is one of several.
    """

    name: str
    title: str
    fields: tuple[DriveField, ...]
    rows: tuple[tuple[DriveField, ...], ...] = ()
    removable: bool = False


MOTOR = (
    Asked(
        "by",
        "What is known of it",
        "choice",
        "",
        True,
        (*(one.name for one in generic_motors()), SHEET, READINGS),
    ),
    Asked("name", "Called", "text", "wheel motor"),
    Asked("voltage", "At", "voltage", "12 V", True, when=SHEET),
    Asked("free_speed", "Free speed", "spin", "18600 rpm", True, when=SHEET),
    Asked("free_current", "Free current", "current", "2 A", True, when=SHEET),
    Asked("stall_torque", "Stall torque", "torque", "0.47 N m", True, when=SHEET),
    Asked("stall_current", "Stall current", "current", "80 A", True, when=SHEET),
    Asked("rotor_inertia", "Rotor's inertia", "moment of inertia", "0.15 kg cm^2"),
    Asked("limit", "Hottest winding allowed", "temperature", "100 degC"),
)
READING = (
    Asked("voltage", "Voltage", "voltage", "12 V"),
    Asked("current", "Current", "current", "25 A"),
    Asked("speed", "Speed", "spin", "14000 rpm"),
    Asked("torque", "Torque", "torque", "0.14 N m"),
)
STAGE = (
    Asked("kind", "Kind", "choice", "", options=KINDS),
    Asked("teeth", "Teeth, driving and driven", "wholes", "12, 60"),
    Asked("ratio", "or its ratio", "number", "5"),
    Asked("efficiency", "Efficiency, if measured", "number", "0.95"),
    Asked("lead_angle", "Worm: lead angle", "angle", "5 deg", when="worm"),
    Asked("friction", "Worm: friction coefficient", "number", "0.08", when="worm"),
)
SUPPLY = (
    Asked("chemistry", "Cells of", "choice", "", True, CHEMISTRIES),
    Asked("cells", "Cells in series", "whole", "10", True),
    Asked("capacity", "Capacity", "charge", "3 Ah", True),
    Asked("resistance", "Resistance, if measured", "resistance", "80 mohm"),
    Asked("level", "Charge at the start", "fraction", "95 %"),
    Asked("wiring", "Wires of each motor", "resistance", "10 mohm"),
    Asked("current_limit", "Controller's limit", "current", "40 A"),
    Asked("other_current", "Everything else draws", "current", "5 A"),
    Asked("main_breaker", "Main breaker or fuse", "breaker", "40 A"),
    Asked("motor_breaker", "Breaker of each motor", "breaker", "20 A"),
)
BREAKER = Asked("kind", "when it trips it", "choice", "", options=BREAKERS)
WHEEL = (
    Asked("motors", "Motors on its shaft", "whole", "1"),
    Asked("inertia", "Moment of inertia", "moment of inertia", "20 kg cm^2", True),
    Asked("friction", "Friction", "torque", "0.006 N m"),
    Asked("speed", "Set point", "spin", "1900 rpm", True),
    Asked("ball_inertia", "A ball adds", "moment of inertia", "4.9 kg cm^2"),
    Asked("rim_speed_before", "or rim speed before a shot", "speed", "20 m/s"),
    Asked("rim_speed_after", "and after it", "speed", "16 m/s"),
)
WINDING = (
    Asked("motors", "Motors on its shaft", "whole", "1"),
    Asked("inertia", "Shaft's moment of inertia", "moment of inertia", "1 kg cm^2"),
    Asked("friction", "Shaft's friction", "torque", "0.05 N m"),
    Asked("turn", "Turn from shot to shot", "angle", "360 deg"),
    Asked("wound", "of which it winds", "angle", "330 deg"),
    Asked("stiffness", "Spring", "stiffness", "900 N/m"),
    Asked("preload", "Preload", "length", "40 mm"),
    Asked("stroke", "Stroke", "length", "90 mm"),
    Asked("slide_friction", "Friction of the slide", "force", "5 N"),
    Asked("shape", "Pulled with", "choice", "", options=SHAPES),
    Asked("taper", "Spiral: last radius over first", "number", "0.5"),
    Asked("torque", "or one torque, without a spring", "torque", "1.2 N m"),
    Asked("torques", "or torques in even steps", "quantities", "0.4 N m, 0.9 N m"),
)
MATCH = (
    Asked("length", "Length", "time", "150 s", True),
    Asked("feed", "Least time between balls", "time", "0.1 s"),
    Asked("ready", "A ball goes at", "fraction", "98 %"),
    Asked("stop", "After a burst", "choice", "", options=STOPS),
    Asked("brake_resistance", "Braking resistor", "resistance", "0.1 ohm"),
    Asked("air", "Air", "temperature", "22 degC"),
)
BURST = (
    Asked("start", "Starts at", "time", "4 s", True),
    Asked("shots", "Shots", "whole", "4"),
    Asked("times", "Times", "whole", "15"),
    Asked("every", "every", "time", "9 s"),
)
SEARCH = (
    Asked("teeth", "Tooth counts that you own", "wholes", "12, 18, 24, 36, 60"),
    Asked("motors", "Numbers of motors", "wholes", "1, 2, 3, 4"),
    Asked("stages", "Most stages", "whole", "2"),
    Asked("least_ratio", "Ratio from", "number", "1.5"),
    Asked("most_ratio", "to", "number", "9"),
    Asked("inertias", "Wheels", "quantities", "8 kg cm^2, 20 kg cm^2"),
    Asked("recovery", "Longest recovery", "time", "0.3 s"),
    Asked("ready_after", "Longest wait for the first shot", "time", "1.5 s"),
    Asked("most_motors", "Most motors", "whole", "4"),
    Asked("motor_current", "Most current of a motor", "current", "60 A"),
    Asked("battery_current", "Most current of the battery", "current", "100 A"),
    Asked("lowest_voltage", "Least voltage of the battery", "voltage", "7 V"),
)
SINGLE: dict[str, tuple[str, tuple[Asked, ...]]] = {
    "supply": ("Battery, wires, breakers", SUPPLY),
    "wheel": ("Wheel", WHEEL),
    "winding": ("Piston that is wound", WINDING),
    "match": ("Match", MATCH),
    "search": ("Search: what may be built, and limits", SEARCH),
}
LISTS: dict[str, tuple[str, tuple[Asked, ...]]] = {
    "motor": ("Motor", MOTOR),
    "stage": ("Stage", STAGE),
    "burst": ("Bursts", BURST),
}
ORDER = ("motor", "stage", "supply", "wheel", "winding", "match", "burst", "search")
