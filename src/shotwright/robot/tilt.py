"""Tilting the launcher by a worm: efficiency, self-locking, holding, backlash."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.supply import Supply
from shotwright.powertrain.train import Stage, Train, worm

_QUARTER = math.pi / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class WormDrive(Result):
    """A worm and its wheel.

    Parameters
    ----------
    threads : int
        Of the worm.
    teeth : int
        Of the wheel.
    module : float
        Axial. [m]
    diameter : float
        Pitch diameter of the worm. [m]
    pressure : float
        Normal pressure angle. [rad]
    friction : float
        While it runs. [-]
    static_friction : float
        At rest; it decides about locking. [-]
    vibration : float
        Share of the static friction that shaking takes away. [-]
    """

    threads: int
    teeth: int
    module: float
    diameter: float
    friction: float
    static_friction: float
    pressure: float = math.radians(20.0)
    vibration: float = 0.5

    def __post_init__(self) -> None:
        if not 0 < self.lead < _QUARTER or not 0 < self.pressure < _QUARTER:
            raise BadInput("module, diameter and threads make no worm", field="worm")
        if not (self.friction > 0 and self.static_friction > 0 and 0 <= self.vibration < 1):
            raise BadInput("friction must be above zero, the share lost by vibration below one", field="worm")

    @property
    def lead(self) -> float:
        """Lead angle, tan l = m z1/d1. [rad]."""
        return math.atan(self.module * self.threads / self.diameter)

    @property
    def ratio(self) -> float:
        """Turns of the worm for one of the wheel. [-]."""
        return self.teeth / self.threads

    @property
    def stage(self) -> Stage:
        """As a stage of a train, running."""
        return worm(self.ratio, self.lead, self.friction, self.pressure)


@dataclass(frozen=True, slots=True)
class Locking(Result):
    """Whether a worm holds by itself.

    Parameters
    ----------
    lead_deg, critical_lead_deg : float
        Lead angle, and the largest that locks at rest.
    efficiency, back_efficiency : float
        While it runs, motor drives wheel and wheel drives motor. [-]
    margin : float
        Static friction over what locking needs, f/(cos p tan l); above 1 it locks at rest. [-]
    shaken_margin : float
        The same with the share that vibration takes. [-]
    locks, locks_shaken : bool
        Whether each margin is 1 or more.
    """

    lead_deg: float
    critical_lead_deg: float
    efficiency: float
    back_efficiency: float
    margin: float
    shaken_margin: float
    locks: bool
    locks_shaken: bool


def locking(drive: WormDrive) -> Locking:
    """Self-locking of a worm: f >= cos p tan l with static friction.

    Parameters
    ----------
    drive : WormDrive
        The worm.

    Returns
    -------
    Locking
        Margins at rest and shaken.

    Notes
    -----
    Vibration lowers the friction at the teeth; by how much no formula tells. A worm is no brake for anything
    that can hurt a person: block the launcher before a hand goes under it.

    References
    ----------
    Shigley's Mechanical Engineering Design, worm efficiency (eq. 13-46, from memory). Mott, Machine Elements
    in Mechanical Design, p. 343: lead angles up to about 5 degrees lock.
    """
    stage = drive.stage
    need = math.cos(drive.pressure) * math.tan(drive.lead)
    margin = drive.static_friction / need
    shaken = margin * (1 - drive.vibration)
    return Locking(
        lead_deg=math.degrees(drive.lead),
        critical_lead_deg=math.degrees(critical_lead(drive.static_friction, drive.pressure)),
        efficiency=stage.efficiency,
        back_efficiency=stage.back_efficiency,
        margin=margin,
        shaken_margin=shaken,
        locks=margin >= 1,
        locks_shaken=shaken >= 1,
    )


def critical_lead(friction: float, pressure: float = math.radians(20.0)) -> float:
    """Largest lead angle that locks: tan l = f/cos p.

    Parameters
    ----------
    friction : float
        Static. [-]
    pressure : float
        Normal pressure angle. [rad]

    Returns
    -------
    float
        [rad]
    """
    return math.atan(friction / math.cos(pressure))


def holding_torque(mass: float, arm: float, elevation: float) -> float:
    """Torque of the launcher's weight about its pivot: m g a cos(elevation).

    Parameters
    ----------
    mass : float
        Of what tilts. [kg]
    arm : float
        From pivot to centre of mass. [m]
    elevation : float
        Of the line from the pivot to it. [rad]

    Returns
    -------
    float
        [N m]
    """
    return mass * STANDARD_GRAVITY * arm * math.cos(elevation)


def worm_torques(drive: WormDrive, torque: float) -> tuple[float, float]:
    """Torque at the worm to raise a load, and to lower it: T/(i e) and -(T/i) e_b.

    Parameters
    ----------
    drive : WormDrive
        The worm.
    torque : float
        At the wheel. [N m]

    Returns
    -------
    raising, lowering : float
        Positive: the motor has to drive. A lowering torque below zero means that the load drives it. [N m]
    """
    stage = drive.stage
    return torque / (stage.ratio * stage.efficiency), -torque / stage.ratio * stage.back_efficiency


@dataclass(frozen=True, slots=True, kw_only=True)
class Tilt(Result):
    """What tilts the launcher.

    Parameters
    ----------
    mass, arm : float
        Of what tilts; from pivot to centre of mass. [kg], [m]
    lean : float
        Elevation of that line when the launcher is level. [rad]
    inertia : float
        About the pivot. [kg m^2]
    worm : WormDrive
        The last stage.
    train : Train
        From the motor to the worm.
    motor : Motor
        One of them.
    supply : Supply
        Battery, wires, controller.
    backlash : float
        Play at the launcher, from one stop to the other. [rad]
    """

    mass: float
    arm: float
    worm: WormDrive
    train: Train
    motor: Motor
    supply: Supply
    inertia: float
    lean: float = 0.0
    backlash: float = 0.0

    def weight_torque(self, elevation: float) -> float:
        """Torque of the weight at an elevation of the launcher [rad]. [N m]."""
        return holding_torque(self.mass, self.arm, elevation + self.lean)


def backlash_sd(backlash: float) -> float:
    """Elevation spread of a play that the launcher rests in anywhere: b/sqrt(12).

    Parameters
    ----------
    backlash : float
        From one stop to the other. [rad]

    Returns
    -------
    float
        Standard deviation. [rad]
    """
    return backlash / math.sqrt(12.0)
