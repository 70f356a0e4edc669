"""What is told of the robot around the launcher, as frozen results."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotwright.base.estimate import NotEstimated
from shotwright.base.plain import Result
from shotwright.powertrain.train import BuildableTrain
from shotwright.robot.air import AirMatch, FastDraw, TankEnergy
from shotwright.robot.brake import BoreRow, Hold
from shotwright.robot.drive_base import Push
from shotwright.robot.elevations import ElevationWay
from shotwright.robot.feed import FireRate, JamMargin, Traction
from shotwright.robot.filled import Taken
from shotwright.robot.power import MotorCount, PowerRun
from shotwright.robot.pushing import HeldPush
from shotwright.robot.ratio_map import RatioMap
from shotwright.robot.slewing import Slew
from shotwright.robot.tilt import Locking
from shotwright.robot.turning import Turning


@dataclass(frozen=True, slots=True)
class SprintRow(Result):
    """One sprint of the match.

    Parameters
    ----------
    distance_m : float
        From rest.
    times : int
        In a match.
    time_s, end_speed_m_s : float
        Closed form, eased off at the limit of grip.
    limited_by : str
        What holds the force at first.
    followed_s : float
        The same in steps, with sag and heat.
    full_voltage_s, spun_s : float
        Without easing off, and how long the wheels then spin.
    peak_a, lowest_v : float
        Of the battery, as the driver starts.
    energy_j : float
        From the battery.
    """

    distance_m: float
    times: int
    time_s: float
    end_speed_m_s: float
    limited_by: str
    followed_s: float
    full_voltage_s: float
    spun_s: float
    peak_a: float
    lowest_v: float
    energy_j: float


@dataclass(frozen=True, slots=True)
class DriveBaseResult(Result):
    """The drive base of a robot.

    Parameters
    ----------
    name : str
        Of the robot.
    ratio, top_speed_m_s : float
        As built.
    sprints : tuple of SprintRow
        Of the mix.
    push : Push
        Most at rest.
    held : HeldPush
        The mix's push until something gives way.
    heat_limit_n : float
        Largest push that can be held as long as the mix wants.
    turning : Turning or NotEstimated
        On the spot.
    map : RatioMap
        Over ratios, with the pick.
    trains : tuple of BuildableTrain
        Nearest to the pick, from the gears owned.
    svg : str
        The ratio map and the sprint.
    words, cautions : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    name: str
    ratio: float
    top_speed_m_s: float
    sprints: tuple[SprintRow, ...]
    push: Push
    held: HeldPush
    heat_limit_n: float
    turning: Turning | NotEstimated
    map: RatioMap
    trains: tuple[BuildableTrain, ...]
    svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class HoldRow(Result):
    """The weight at one elevation.

    Parameters
    ----------
    elevation_deg : float
        Of the launcher.
    torque_n_m : float
        At the pivot.
    raising_n_m, lowering_n_m : float
        At the worm; below zero the load drives it.
    motor_a : float, optional
        While raising; None where the motor is too weak.
    """

    elevation_deg: float
    torque_n_m: float
    raising_n_m: float
    lowering_n_m: float
    motor_a: float | None


@dataclass(frozen=True, slots=True)
class TiltResult(Result):
    """The tilt of a robot.

    Parameters
    ----------
    name : str
        Of the robot.
    locking : Locking
        Whether the worm holds by itself.
    holds : tuple of HoldRow
        At the elevations that are needed.
    slews : tuple of Slew
        Between them, in their order.
    backlash_deg, backlash_sd_deg : float
        Stop to stop; what it adds to the elevation spread.
    ways : tuple of ElevationWay, or NotEstimated
        Worm, pins and one fixed elevation in hits.
    pin_time_s : float
        To move the pin.
    svg : str
        Weight torque and motor current against elevation.
    words, cautions : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    name: str
    locking: Locking
    holds: tuple[HoldRow, ...]
    slews: tuple[Slew, ...]
    backlash_deg: float
    backlash_sd_deg: float
    ways: tuple[ElevationWay, ...] | NotEstimated
    pin_time_s: float
    svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class FeedResult(Result):
    """The feed of a robot.

    Parameters
    ----------
    name : str
        Of the robot.
    ball : str
        Of the game.
    ball_speed_m_s, feed_interval_s : float
        Of the feed.
    recovery_s : float, optional
        Of the launcher: of the robot file, or of the drive that the project keeps; None when neither tells.
    traction : Traction
        On the ball.
    rate : FireRate
        Burst and sustained.
    jam : JamMargin
        Of a full channel.
    svg : str
        Push of a full channel against its width.
    words, cautions : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    name: str
    ball: str
    ball_speed_m_s: float
    feed_interval_s: float
    recovery_s: float | None
    traction: Traction
    rate: FireRate
    jam: JamMargin
    svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class BrakeResult(Result):
    """The brake of a robot.

    Parameters
    ----------
    name : str
        Of the robot.
    kind : {"air", "spring"}
        What presses the pads.
    hold : Hold
        Against the opponent.
    bores : tuple of BoreRow
        Of the standard series; empty for springs.
    strokes_slow : float, optional
        Of one fill, at even temperature.
    fast : FastDraw, optional
        In a hurry.
    match : AirMatch, optional
        The reservoir over a match.
    tank : TankEnergy, optional
        Stored in the reservoir.
    stored_j : float
        The largest of the tank's energies, or that of the drawn springs.
    drawn_force_n : float, optional
        That a latch holds, with springs.
    actuation_j : float, optional
        Work of drawing the springs up once.
    svg : str
        Force held against pad force; reservoir over the match.
    words, cautions : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    name: str
    kind: str
    hold: Hold
    bores: tuple[BoreRow, ...]
    strokes_slow: float | None
    fast: FastDraw | None
    match: AirMatch | None
    tank: TankEnergy | None
    stored_j: float
    drawn_force_n: float | None
    actuation_j: float | None
    svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class PowerResult(Result):
    """The power budget of a robot.

    Parameters
    ----------
    name : str
        Of the robot.
    at_once : PowerRun
        Everything when it is wanted.
    waiting : PowerRun
        With those that may wait.
    taken : tuple of Taken
        What follows from other parts.
    motors : MotorCount
        Against the event's limit.
    svg : str
        Who runs when; current and voltage.
    words, cautions : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    name: str
    at_once: PowerRun
    waiting: PowerRun
    taken: tuple[Taken, ...]
    motors: MotorCount
    svg: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"
