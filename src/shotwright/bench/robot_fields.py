"""What the form of a robot asks, table by table of its file."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from shotwright.bench.drive_fields import MOTOR, STAGE, SUPPLY, Asked
from shotwright.robot.air import ACTIONS
from shotwright.robot.description import ORIGINS
from shotwright.robot.feed import CARRIERS
from shotwright.robot.sprint_run import STARTS

COUNTS = "counts"  # kind of a field that holds whole numbers by name
TOP = (
    Asked("name", "Called", "text", "Yard robot"),
    Asked("mass", "Mass, ready to play", "mass", "14 kg", True),
    Asked("most_motors", "Most motors that the event allows", "whole", "10"),
    Asked("launcher", "Launcher on it", "choice", "as the project chose", options=("",)),
    Asked("launcher_motors", "Motors in it", "whole", "2"),
)
OPPONENT = (
    Asked("mass", "Mass", "mass", "16 kg"),
    Asked("grip", "Grip on the floor", "number", "0.9"),
    Asked("motor_force", "Its motors give", "force", "200 N"),
)
_MOTOR = Asked("motor", "Motor", "choice", "")
DRIVE = (
    _MOTOR,
    Asked("motors", "Number of them", "whole", "4", True),
    Asked("wheel_diameter", "Wheel diameter", "length", "100 mm", True),
    Asked("grip", "Grip on the floor", "number", "0.9", True),
    Asked("driven_share", "Weight on driven wheels", "fraction", "100 %"),
    Asked("rolling", "Rolling resistance over weight", "number", "0.02"),
    Asked("wheel_inertia", "Inertia of all wheels", "moment of inertia", "8 kg cm^2"),
    Asked("wheelbase", "Wheelbase", "length", "34 cm"),
    Asked("track", "Track", "length", "40 cm"),
    Asked("start", "The driver starts", "choice", "", options=STARTS),
)
SPRINT = (
    Asked("distance", "Distance", "length", "3 m", True),
    Asked("times", "Times in a match", "whole", "18"),
)
PUSH = (
    Asked("times", "Times in a match", "whole", "6"),
    Asked("time", "Each lasts", "time", "6 s"),
    Asked("force", "Against", "force", "120 N"),
)
SEARCH = (
    Asked("least_ratio", "Ratio from", "number", "5"),
    Asked("most_ratio", "to", "number", "30"),
    Asked("teeth", "Tooth counts that you own", "wholes", "12, 18, 24, 36, 60"),
    Asked("stages", "Most stages", "whole", "2"),
)
TILT = (
    _MOTOR,
    Asked("mass", "Mass that tilts", "mass", "3 kg", True),
    Asked("arm", "Pivot to centre of mass", "length", "160 mm", True),
    Asked("lean", "That line's elevation at level", "angle", "0 deg"),
    Asked("inertia", "Inertia about the pivot", "moment of inertia", "0.12 kg m^2"),
    Asked("threads", "Threads of the worm", "whole", "1"),
    Asked("teeth", "Teeth of its wheel", "whole", "30", True),
    Asked("module", "Module", "length", "1 mm", True),
    Asked("worm_diameter", "Worm's diameter", "length", "16 mm", True),
    Asked("pressure_angle", "Pressure angle", "angle", "20 deg"),
    Asked("friction", "Friction, running", "number", "0.08", True),
    Asked("static_friction", "Friction at rest", "number", "0.1"),
    Asked("vibration", "Share of it that shaking takes", "fraction", "50 %"),
    Asked("backlash", "Backlash, stop to stop", "angle", "0.6 deg"),
    Asked("pins", "or pins at", "list of angle", "50 deg, 58 deg"),
    Asked("pin_play", "Play of a pin", "angle", "0.2 deg"),
    Asked("pin_time", "Time to move the pin", "time", "8 s"),
)
FEED = (
    Asked("carrier", "Balls are carried by", "choice", "", True, CARRIERS),
    Asked("speed", "Speed of belt or rim", "speed", "0.9 m/s", True),
    Asked("pitch", "Ball to ball", "length", "165 mm", True),
    Asked("length", "Length of the channel", "length", "65 cm", True),
    Asked("width", "Width of the channel", "length", "156 mm", True),
    Asked("friction", "Friction of the sides", "number", "0.6", True),
    Asked("squeeze", "Force of each side", "force", "6 N", True),
    Asked("slope", "Slope upwards", "angle", "35 deg"),
    Asked("acceleration", "Acceleration at the start", "acceleration", "3 m/s^2"),
    Asked("wall_friction", "Friction of the walls", "number", "0.4"),
    Asked("recovery", "Launcher's recovery", "time", "0.3 s"),
    Asked("collect_every", "A ball is collected every", "time", "3 s"),
)
BRAKE = (
    Asked("pad_grip", "Friction of the pads", "number", "1.1", True),
    Asked("wheel_grip", "of locked wheels", "number", "0.9"),
    Asked("held_share", "Weight on locked wheels", "fraction", "100 %"),
    Asked("actuations", "Actuations in a match", "whole", "20"),
)
AIR = (
    Asked("reservoir", "Volume of all reservoirs", "volume", "0.5 L", True),
    Asked("pressure", "Full, by the gauge", "pressure", "8 bar", True),
    Asked("regulated", "Regulated to", "pressure", "4 bar", True),
    Asked("bore", "Bore", "length", "20 mm", True),
    Asked("stroke", "Stroke", "length", "30 mm", True),
    Asked("rod", "Rod", "length", "8 mm"),
    Asked("action", "Cylinder", "choice", "", options=ACTIONS),
    Asked("spring", "Return spring", "force", "12 N"),
    Asked("friction", "Share that seals take", "fraction", "8 %"),
    Asked("cylinders", "How many", "whole", "1"),
    Asked("leak_drop", "Leak test: pressure lost", "pressure", "0.1 bar"),
    Asked("leak_time", "in", "time", "60 s"),
)
SPRING = (
    Asked("stiffness", "Stiffness", "stiffness", "2000 N/m", True),
    Asked("preload", "Deflection, pads down", "length", "30 mm", True),
    Asked("stroke", "Drawn up by", "length", "20 mm", True),
    Asked("springs", "How many", "whole", "2"),
)
POWER = (
    Asked("length", "Length of the match", "time", "150 s", True),
    Asked("lowest_voltage", "Lowest voltage allowed", "voltage", "7.5 V"),
    Asked("peukert", "Peukert's exponent", "number", "1.1"),
    Asked("rated_time", "Capacity was stated for", "time", "1 h"),
    Asked("motors", "Motors of other parts", COUNTS, "arm 1, lift 2"),
)
LOAD = (
    Asked("name", "Called", "text", "feeding", True),
    Asked("of", "Takes as much as a", "choice", "its own, below", options=("", *ORIGINS)),
    Asked("current", "or a current", "current", "6 A"),
    Asked("power", "or a power", "power", "70 W"),
    Asked("start", "Starts at", "time", "5 s"),
    Asked("duration", "Lasts", "time", "1.5 s"),
    Asked("times", "Times", "whole", "18"),
    Asked("every", "every", "time", "8 s"),
    Asked("motors", "Motors in it", "whole", "1"),
    Asked("priority", "Priority, 1 first", "whole", "3"),
    Asked("wait", "May wait", "time", "2 s"),
)
# Title and fields of each table, by its place in the file; "" is the top of the file.
SINGLE: dict[str, tuple[str, tuple[Asked, ...]]] = {
    "": ("The robot", TOP),
    "opponent": ("Opponent that pushes", OPPONENT),
    "supply": ("Battery, wires, breakers", SUPPLY),
    "drive-base": ("Drive base", DRIVE),
    "drive-base.push": ("Pushes", PUSH),
    "drive-base.search": ("Ratio map: what is tried", SEARCH),
    "tilt": ("Tilt by a worm", TILT),
    "feed": ("Feed", FEED),
    "brake": ("Brake", BRAKE),
    "brake.air": ("Pads pressed by air", AIR),
    "brake.spring": ("Pads pressed by springs", SPRING),
    "power": ("Match", POWER),
}
LISTS: dict[str, tuple[str, tuple[Asked, ...]]] = {
    "motor": ("Motor", MOTOR),
    "drive-base.stage": ("Drive stage", STAGE),
    "drive-base.sprint": ("Sprint", SPRINT),
    "tilt.stage": ("Tilt stage", STAGE),
    "power.load": ("Load", LOAD),
}
# Lists that may be empty, and tables that go when nothing is typed into them.
MAY_BE_EMPTY = ("drive-base.stage", "tilt.stage")
OPTIONAL = ("opponent", "drive-base.push", "drive-base.search")
# Sections of the page: key, title, tables, what can be added to them.
SHARED = ("", "opponent", "motor", "supply")
SECTIONS: dict[str, tuple[str, tuple[str, ...], tuple[tuple[str, str], ...]]] = {
    "drive-base": (
        "Drive base",
        ("drive-base", "drive-base.stage", "drive-base.sprint", "drive-base.push", "drive-base.search"),
        (("drive-base.stage", "Add a drive stage"), ("drive-base.sprint", "Add a sprint")),
    ),
    "tilt": ("Tilt", ("tilt", "tilt.stage"), (("tilt.stage", "Add a tilt stage"),)),
    "feed": ("Feed and storage", ("feed",), ()),
    "brake": ("Brake", ("brake", "brake.air", "brake.spring"), ()),
    "power": ("Power budget", ("power", "power.load"), (("power.load", "Add a load"),)),
}


def asked_with(
    asked: tuple[Asked, ...], motors: Sequence[str], launchers: Sequence[str] = ()
) -> tuple[Asked, ...]:
    """Return what a table asks, with the motors and launchers that there are to choose from.

    Parameters
    ----------
    asked : tuple of Asked
        Of the table.
    motors : sequence of str
        Kinds in the robot file.
    launchers : sequence of str
        Prototypes of the project.

    Returns
    -------
    tuple of Asked
        The same fields.
    """
    found = []
    for one in asked:
        if one.key == "motor":
            one = dataclasses.replace(one, options=tuple(motors), needed=len(motors) != 1)
        elif one.key == "launcher":
            one = dataclasses.replace(one, options=("", *launchers))
        found.append(one)
    return tuple(found)
