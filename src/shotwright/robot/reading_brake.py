"""The brake of a robot file: pads pressed by air or by springs."""

from __future__ import annotations

import math

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section
from shotwright.robot.air import ACTIONS, Action, AirSupply, Cylinder, leak_rate
from shotwright.robot.brake import Opponent, SpringBrake, Stand
from shotwright.robot.description import BrakePart


def brake_from(
    part: Section, mass: float, wheel_grip: float | None, opponent: Opponent | None
) -> BrakePart | None:
    """Read the section of the brake.

    Parameters
    ----------
    part : Section
        The table.
    mass : float
        Of the robot. [kg]
    wheel_grip : float, optional
        Of the drive base's wheels; the file may state another. [-]
    opponent : Opponent, optional
        Who pushes.

    Returns
    -------
    BrakePart or None
        None after a problem.
    """
    before = len(part.problems)
    pads = part.number("pad_grip", None, "1.1", above=0.0)
    wheels = part.number("wheel_grip", wheel_grip, "0.9", above=0.0)
    share = part.quantity("held_share", "fraction", "100 %", 1.0, least=0.0, most=1.0)
    actuations = part.whole("actuations", 1) or 1
    if opponent is None:
        part.problem('nobody pushes; state [opponent] with mass = "14 kg" and grip = 0.9')
    if ("air" in part) == ("spring" in part):
        part.problem("needs either [brake.air] or [brake.spring]")
    air = cylinder = spring = None
    cylinders = 1
    pressed, sprung = part.section("air", required=False), part.section("spring", required=False)
    if "air" in part:
        air, cylinder, cylinders = _air(pressed)
    if "spring" in part:
        spring = _spring(sprung)
    part.finish()
    if len(part.problems) > before or opponent is None:
        return None
    stand = Stand(mass=mass, wheel_grip=wheels, pad_grip=pads, held_share=share)
    return BrakePart(
        stand=stand,
        opponent=opponent,
        actuations=actuations,
        air=air,
        cylinder=cylinder,
        cylinders=cylinders,
        spring=spring,
    )


def _air(part: Section) -> tuple[AirSupply | None, Cylinder | None, int]:
    before = len(part.problems)
    volume = part.quantity("reservoir", "volume", "0.5 L", above=0.0)
    full = part.quantity("pressure", "pressure", "8 bar", above=0.0)
    regulated = part.quantity("regulated", "pressure", "4 bar", above=0.0)
    bore = part.quantity("bore", "length", "20 mm", above=0.0)
    stroke = part.quantity("stroke", "length", "30 mm", above=0.0)
    rod = part.quantity("rod", "length", "8 mm", 0.0, least=0.0)
    action: Action = part.choice("action", ACTIONS, "single")  # type: ignore[assignment]  # one of ACTIONS
    back = part.quantity("spring", "force", "12 N", 0.0, least=0.0)
    seals = part.quantity("friction", "fraction", "8 %", 0.0, least=0.0, most=0.9)
    count = part.whole("cylinders", 1) or 1
    drop = part.quantity("leak_drop", "pressure", "0.1 bar", 0.0, least=0.0)
    time = part.quantity("leak_time", "time", "60 s", 60.0, above=0.0)
    part.finish()
    if not math.isnan(drop + full) and drop > full:
        part.problem("the leak test lost more than there was", "leak_drop")
    if len(part.problems) > before:
        return None, None, count
    try:
        cylinder = Cylinder(
            bore=bore,
            stroke=stroke,
            rod=rod,
            action=action,
            spring=back if action == "single" else 0.0,
            friction=seals,
        )
        leak = leak_rate(full, drop, time)
        return AirSupply(volume=volume, pressure=full, regulated=regulated, leak=leak), cylinder, count
    except BadInput as bad:
        part.problem(bad.problem, bad.field)
        return None, None, count


def _spring(part: Section) -> SpringBrake | None:
    before = len(part.problems)
    stiffness = part.quantity("stiffness", "stiffness", "2000 N/m", above=0.0)
    preload = part.quantity("preload", "length", "30 mm", above=0.0)
    stroke = part.quantity("stroke", "length", "20 mm", above=0.0)
    springs = part.whole("springs", 1) or 1
    part.finish()
    if len(part.problems) > before:
        return None
    return SpringBrake(stiffness=stiffness, preload=preload, stroke=stroke, springs=springs)
