"""The [winding] of a drive file: a piston that a cam or a spiral gear draws back, turn by turn."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.toml_tables import Section
from shotwright.powertrain.wheel_duty import Burst, Drive
from shotwright.powertrain.winding_duty import Turn, even_turn, spring_turn

SHAPES = ("even travel", "even torque", "spiral")
_STEPS = 36  # of a turn that pulls a spring


@dataclass(frozen=True, slots=True)
class Winding(Result):
    """A piston that is wound over a match.

    Parameters
    ----------
    drive : Drive
        Motors and train; its wheel is the shaft of cam or gear.
    turn : Turn
        Torque from shot to shot.
    bursts : tuple of Burst
        When shots are commanded.
    match : float
        Length. [s]
    air : float
        Temperature. [K]
    stored : float
        What the spring gives back in a shot, friction of the slide not taken off; 0 when only torque is
        known. [J]
    """

    drive: Drive
    turn: Turn
    bursts: tuple[Burst, ...]
    match: float
    air: float
    stored: float


@dataclass(frozen=True, slots=True)
class WindingPart:
    """What [winding] says.

    Parameters
    ----------
    turn : Turn
        Torque from shot to shot.
    motors : int
        On the shaft.
    inertia, friction : float
        Of the shaft. [kg m^2], [N m]
    stored : float
        In the spring. [J]
    """

    turn: Turn
    motors: int
    inertia: float
    friction: float
    stored: float


def read_winding(part: Section) -> WindingPart | None:
    """Read a [winding]: a torque, torques in even steps, or a spring and the shape that pulls it.

    Parameters
    ----------
    part : Section
        The table.

    Returns
    -------
    WindingPart or None
        None after a problem.
    """
    before = len(part.problems)
    motors = part.whole("motors", 1) or 1
    inertia = part.quantity("inertia", "moment of inertia", "1 kg cm^2", 1e-4, above=0.0)
    friction = part.quantity("friction", "torque", "0.05 N m", 0.0, least=0.0)
    whole = part.quantity("turn", "angle", "360 deg", 2 * math.pi, above=0.0)
    wound = part.quantity("wound", "angle", "330 deg", min(math.radians(330), whole), above=0.0)
    if wound > whole:
        part.problem("is larger than the turn from shot to shot", "wound")
    ways = [key for key in ("torque", "torques", "stiffness") if key in part]
    if len(ways) != 1:
        problem = "needs one of torque, torques, or a spring's stiffness"
        part.problem(problem if not ways else f"{problem}; it has {' and '.join(ways)}")
    turn, stored = None, 0.0
    if ways == ["torque"]:
        torque = part.quantity("torque", "torque", "1.2 N m", least=0.0)
        turn = even_turn(torque, wound, whole) if len(part.problems) == before else None
    elif ways == ["torques"]:
        turn = _measured(part, wound, whole, before)
    elif ways == ["stiffness"]:
        turn, stored = _spring(part, wound, whole, before)
    part.finish()
    if turn is None or len(part.problems) > before:
        return None
    return WindingPart(turn, motors, inertia, friction, stored)


def _with_free_end(turn: Turn, whole: float) -> Turn:
    if turn.angles[-1] >= whole * (1 - 1e-12):
        return turn
    return Turn((*turn.angles, whole), (*turn.torques, 0.0))


def _measured(part: Section, wound: float, whole: float, before: int) -> Turn | None:
    values = part.raw("torques")
    if not isinstance(values, list) or not values:
        part.problem(f'{values!r} is not a list; e.g. torques = ["0.4 N m", "0.9 N m"]', "torques")
        return None
    torques = tuple(part.parse("torques", one, "torque", least=0.0) for one in values)
    if len(part.problems) > before:
        return None
    angles = tuple(np.linspace(0.0, wound, len(torques) + 1).tolist())
    return _with_free_end(Turn(angles, torques), whole)


def _spring(part: Section, wound: float, whole: float, before: int) -> tuple[Turn | None, float]:
    stiffness = part.quantity("stiffness", "stiffness", "900 N/m", above=0.0)
    preload = part.quantity("preload", "length", "40 mm", 0.0, least=0.0)
    stroke = part.quantity("stroke", "length", "90 mm", above=0.0)
    rubbing = part.quantity("slide_friction", "force", "3 N", 0.0, least=0.0)
    shape = part.choice("shape", SHAPES, SHAPES[0])
    taper = part.number("taper", 0.5, above=0.0) if shape == "spiral" else 1.0
    if len(part.problems) > before:
        return None, 0.0
    stored = 0.5 * stiffness * ((preload + stroke) ** 2 - preload**2)
    if shape == "even torque":
        return even_turn((stored + rubbing * stroke) / wound, wound, whole), stored
    angles = np.linspace(0.0, wound, _STEPS + 1)
    first = 2 * stroke / (wound * (1 + taper))
    radii = np.linspace(first, first * taper, _STEPS + 1)
    try:
        turn = spring_turn(stiffness, preload, radii.tolist(), angles.tolist(), rubbing)
    except BadInput as bad:
        part.problem(bad.problem, bad.field)
        return None, 0.0
    return _with_free_end(turn, whole), stored
