"""A robot as its file describes it: five parts, each of which may still be missing."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.powertrain.supply import Supply
from shotwright.robot.air import AirSupply, Cylinder
from shotwright.robot.brake import Opponent, SpringBrake, Stand
from shotwright.robot.drive_base import DriveBase
from shotwright.robot.feed import Feed
from shotwright.robot.power import Budget
from shotwright.robot.ratio_map import Mix
from shotwright.robot.sprint_run import Start
from shotwright.robot.tilt import Tilt

Origin = Literal["sprint", "push", "turn", "tilt"]
ORIGINS: tuple[Origin, ...] = ("sprint", "push", "turn", "tilt")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivePart(Result):
    """The section of the drive base.

    Parameters
    ----------
    base : DriveBase
        As built.
    mix : Mix
        Sprints and pushes of a match.
    start : {"eased", "full voltage"}
        How the driver starts.
    opponent : Opponent, optional
        Who is pushed.
    ratios : tuple of float
        That are tried. [-]
    teeth : tuple of int
        Tooth counts owned.
    """

    base: DriveBase
    mix: Mix
    start: Start
    opponent: Opponent | None
    ratios: tuple[float, float]
    teeth: tuple[int, ...] = ()
    stages: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltPart(Result):
    """The section of the tilt.

    Parameters
    ----------
    tilt : Tilt
        Worm, motor, launcher.
    pins : tuple of float
        Elevations of holes for a pin. [rad]
    pin_play : float
        At the launcher, in a hole. [rad]
    pin_time : float
        To move the pin by hand or by a mechanism. [s]
    """

    tilt: Tilt
    pins: tuple[float, ...] = ()
    pin_play: float = 0.0
    pin_time: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BrakePart(Result):
    """The section of the brake.

    Parameters
    ----------
    stand : Stand
        Robot and pads.
    opponent : Opponent
        Who pushes.
    actuations : int
        Wanted in a match.
    air : AirSupply, optional
        With air.
    cylinder : Cylinder, optional
        One of them.
    cylinders : int
        How many.
    spring : SpringBrake, optional
        With springs.
    """

    stand: Stand
    opponent: Opponent
    actuations: int
    air: AirSupply | None = None
    cylinder: Cylinder | None = None
    cylinders: int = 1
    spring: SpringBrake | None = None


@dataclass(frozen=True, slots=True)
class TakenFrom(Result):
    """A consumer whose power follows from another part.

    Parameters
    ----------
    name : str
        Of the consumer.
    origin : {"sprint", "push", "turn", "tilt"}
        Of its current, and where none is stated of its duration.
    own_duration : bool
        Whether the file states a duration.
    """

    name: str
    origin: Origin
    own_duration: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerPart(Result):
    """The section of the power budget.

    Parameters
    ----------
    budget : Budget
        Those consumers that state their own take are complete; others are filled in from the other parts.
    taken : tuple of TakenFrom
        Consumers that take what another part takes.
    motors : dict
        Motors of parts that take no part in the budget.
    """

    budget: Budget
    taken: tuple[TakenFrom, ...] = ()
    motors: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Robot(Result):
    """All that a robot file says.

    Parameters
    ----------
    name : str
        What the crew calls it.
    mass : float
        Ready to play. [kg]
    supply : Supply
        Battery and breakers, shared by all parts.
    most_motors : int, optional
        That the event allows.
    launcher : str, optional
        Prototype that rides on it.
    launcher_motors : int, optional
        In it.
    drive_base, tilt, feed, brake, power
        The five parts; None where the file has no such section.
    notes : tuple of str
        What does not agree, or is assumed.
    """

    name: str
    mass: float
    supply: Supply
    most_motors: int | None = None
    launcher: str | None = None
    launcher_motors: int | None = None
    drive_base: DrivePart | None = None
    tilt: TiltPart | None = None
    feed: Feed | None = None
    brake: BrakePart | None = None
    power: PowerPart | None = None
    notes: tuple[str, ...] = ()

    def part(self, section: str) -> object:
        """Return a part, or say that its section is missing."""
        found = getattr(self, section.replace("-", "_"))
        if found is None:
            raise BadInput(f"the section [{section}] is missing", file="robot.toml")
        return found
