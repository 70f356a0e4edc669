"""A drive base on paper: its force against speed, its traction, and what it can push with."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.powertrain.motor import Motor
from shotwright.powertrain.recovery_map import with_ratio
from shotwright.powertrain.supply import Supply
from shotwright.powertrain.train import Train


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveBase(Result):
    """What drives the robot over the floor.

    Parameters
    ----------
    mass : float
        Of the whole robot, ready to play. [kg]
    wheel_radius : float
        Of the driven wheels. [m]
    grip : float
        Coefficient of friction of their tread on the floor; from a spring scale, or assumed. [-]
    motor : Motor
        Kind.
    motors : int
        How many.
    train : Train
        From a motor to its wheel.
    supply : Supply
        Battery, wires, controllers, breakers.
    driven_share : float
        Part of the weight that stands on driven wheels. [-]
    rolling : float
        Rolling resistance over weight. [-]
    wheel_inertia : float
        Of all wheels and what turns with them, without rotors. [kg m^2]
    wheelbase, track : float, optional
        Distance of the axles, and of the wheels left and right. [m]
    """

    mass: float
    wheel_radius: float
    grip: float
    motor: Motor
    motors: int
    train: Train
    supply: Supply
    driven_share: float = 1.0
    rolling: float = 0.0
    wheel_inertia: float = 0.0
    wheelbase: float | None = None
    track: float | None = None

    def __post_init__(self) -> None:
        for name in ("mass", "wheel_radius", "grip", "motors"):
            if not getattr(self, name) > 0:
                raise BadInput(
                    f"{getattr(self, name):g} is not allowed; it must be greater than zero",
                    field=name.replace("_", " "),
                )
        if not 0 < self.driven_share <= 1:
            raise BadInput(f"{self.driven_share:g} is no share of the weight; 0 to 1", field="driven share")
        if not (self.rolling >= 0 and self.wheel_inertia >= 0):
            raise BadInput("rolling resistance and wheel inertia can't be below zero", field="drive base")

    @property
    def weight(self) -> float:
        """Force on the floor. [N]."""
        return self.mass * STANDARD_GRAVITY

    @property
    def traction(self) -> float:
        """Largest force of the driven wheels on the floor: mu phi m g. [N]."""
        return self.grip * self.driven_share * self.weight

    @property
    def drag(self) -> float:
        """Rolling resistance. [N]."""
        return self.rolling * self.weight

    def geared(self, ratio: float) -> DriveBase:
        """Return the same base with another ratio, its losses as they are."""
        return dataclasses.replace(self, train=with_ratio(self.train, ratio))


@dataclass(frozen=True, slots=True)
class ForceLine(Result):
    """Force of all motors on the floor against speed: F = F0 (1 - v/v_f), up to what the controllers allow.

    Parameters
    ----------
    free_speed_m_s : float
        v_f, where the motors push no more.
    stall_force_n : float
        F0, at rest and full voltage; the floor may not take it.
    limit_force_n : float
        At the controllers' current limit; infinite without one.
    newtons_per_ampere : float
        Of the current of each motor above its free current.
    effective_mass_kg : float
        m_e = m + (J_w + eta N J_m G^2)/r^2.
    loop_ohm : float
        That each motor sees: winding, wires, protection and its share of the battery.
    voltage_v : float
        Left of the battery's after everything else that runs.
    """

    free_speed_m_s: float
    stall_force_n: float
    limit_force_n: float
    newtons_per_ampere: float
    effective_mass_kg: float
    loop_ohm: float
    voltage_v: float


def force_line(base: DriveBase, *, winding: float | None = None, case: float | None = None) -> ForceLine:
    """Line of force against speed with the battery as it starts.

    v_f = (V - I0 R_t) r/(K G), F0 = eta G N K (V/R_t - I0)/r, R_t = R + R_wires + N R_battery.

    Parameters
    ----------
    base : DriveBase
        The base.
    winding, case : float, optional
        Temperatures of the motors; 20 degC when left out. [K]

    Returns
    -------
    ForceLine
        Ends of the line, effective mass.

    Raises
    ------
    NoAnswer
        The battery does not even turn the motors.
    """
    motor = base.motor if winding is None else base.motor.at(winding, case)
    supply, ratio = base.supply, base.train.ratio
    ohms = supply.battery.resistance_at(supply.level)
    volts = supply.battery.voltage_at(supply.level) - ohms * supply.other_current
    own = 0.0 if motor.protection is None else motor.protection.resistance
    loop = motor.resistance + supply.wiring + own + base.motors * ohms
    if volts <= motor.free_current * loop:
        raise NoAnswer(f"{volts:.3g} V do not turn {base.motors} x {motor.name}")
    push = base.train.efficiency * ratio * base.motors * motor.constant / base.wheel_radius
    turning = base.wheel_inertia + base.train.efficiency * base.motors * motor.rotor_inertia * ratio**2
    return ForceLine(
        free_speed_m_s=(volts - motor.free_current * loop) * base.wheel_radius / (motor.constant * ratio),
        stall_force_n=push * (volts / loop - motor.free_current),
        limit_force_n=push * (supply.current_limit - motor.free_current)
        if math.isfinite(supply.current_limit)
        else math.inf,
        newtons_per_ampere=push,
        effective_mass_kg=base.mass + turning / base.wheel_radius**2,
        loop_ohm=loop,
        voltage_v=volts,
    )


@dataclass(frozen=True, slots=True)
class Push(Result):
    """What the robot pushes with, standing against something.

    Parameters
    ----------
    force_n : float
        The smallest of the three below.
    limited_by : {"grip", "current limit", "motors", "wanted"}
        Which one that is; "wanted" when no more was asked for.
    grip_force_n, limit_force_n, motor_force_n : float
        Traction; at the controllers' current limit; at full voltage.
    motor_a, battery_a : float
        Current of each motor, and of the battery with everything else that runs.
    slip_a : float
        Current of each motor at which the wheels slip.
    margin : float
        Force of the motors over traction: above 1 the wheels slip before the motors stall. [-]
    """

    force_n: float
    limited_by: str
    grip_force_n: float
    limit_force_n: float
    motor_force_n: float
    motor_a: float
    battery_a: float
    slip_a: float
    margin: float


def push(base: DriveBase, *, wanted: float = math.inf) -> Push:
    """Pushing force at rest: the smaller of traction and motors; cold, with the battery as it starts.

    Parameters
    ----------
    base : DriveBase
        The base.
    wanted : float
        Push no harder than this. [N]

    Returns
    -------
    Push
        Force, what limits it, and the currents.
    """
    line = force_line(base)
    idle = base.motor.free_current
    ways = {
        "grip": base.traction,
        "current limit": line.limit_force_n,
        "motors": line.stall_force_n,
    }
    limited_by = min(ways, key=lambda name: ways[name])
    force = min(ways[limited_by], wanted)
    current = idle + force / line.newtons_per_ampere
    return Push(
        force_n=force,
        limited_by=limited_by if force == ways[limited_by] else "wanted",
        grip_force_n=base.traction,
        limit_force_n=line.limit_force_n,
        motor_force_n=line.stall_force_n,
        motor_a=current,
        battery_a=stall_battery_current(base, current),
        slip_a=idle + base.traction / line.newtons_per_ampere,
        margin=min(line.limit_force_n, line.stall_force_n) / base.traction,
    )


def stall_battery_current(base: DriveBase, current: float, resistance: float | None = None) -> float:
    """Current of the battery while every motor holds a current at rest, all else that runs included.

    The controllers take just the power that windings and wires turn into heat: below full voltage the
    battery gives less than the motors carry.

    Parameters
    ----------
    base : DriveBase
        The base.
    current : float
        Of each motor. [A]
    resistance : float, optional
        Of a winding, when warm. [ohm]

    Returns
    -------
    float
        [A]

    Raises
    ------
    NoAnswer
        More than the battery delivers.
    """
    supply = base.supply
    own = 0.0 if base.motor.protection is None else base.motor.protection.resistance
    ohms = base.motor.resistance if resistance is None else resistance
    heat = base.motors * current**2 * (ohms + supply.wiring + own)
    line = force_line(base)
    resting = supply.battery.resistance_at(supply.level)
    root = line.voltage_v**2 - 4 * resting * heat
    if root < -1e-9 * line.voltage_v**2:
        raise NoAnswer(f"{heat:.4g} W for {base.motors} motors is more than {supply.battery.name} delivers")
    root = max(root, 0.0)
    return 2 * heat / (line.voltage_v + math.sqrt(root)) + supply.other_current
