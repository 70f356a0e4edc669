"""A direct-current motor from its data sheet: speed, torque, current, and how both follow temperature."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

ROOM = CELSIUS_ZERO + 20.0  # K; data sheets of small motors state their values near it
COPPER = 0.00393  # 1/K at 20 degC, annealed copper: IEC 60028
FERRITE = -0.002  # 1/K, strength of ferrite magnets, from memory
COPPER_ZERO = 235.0  # K, constant of the resistance method: IEC 60034-1


@dataclass(frozen=True, slots=True)
class Sheet(Result):
    """What a data sheet says of a motor, at one voltage.

    Parameters
    ----------
    voltage : float
        At which all others were measured. [V]
    free_speed, free_current : float
        Without load. [rad/s], [A]
    stall_torque, stall_current : float
        Held still. [N m], [A]
    """

    voltage: float
    free_speed: float
    free_current: float
    stall_torque: float
    stall_current: float


@dataclass(frozen=True, slots=True)
class Thermal(Result):
    """Two places that hold heat: the winding, and the case around it.

    Parameters
    ----------
    winding_capacity, case_capacity : float
        Heat per kelvin. [J/K]
    winding_to_case, case_to_air : float
        Thermal resistances. [K/W]
    """

    winding_capacity: float
    case_capacity: float
    winding_to_case: float
    case_to_air: float


@dataclass(frozen=True, slots=True)
class SelfResetting(Result):
    """A self-resetting protection (PTC) in series with the motor: warm, it cuts the current by itself.

    Parameters
    ----------
    resistance : float
        Cold. [ohm]
    thermal_resistance : float
        To the air. [K/W]
    capacity : float
        Heat per kelvin. [J/K]
    switch_temperature : float
        Above it the resistance jumps. [K]
    falls : float
        Cooler by this much than the switch temperature, its resistance is low again (typical, no source). [K]
    """

    resistance: float
    thermal_resistance: float
    capacity: float
    switch_temperature: float
    falls: float = 40.0

    @property
    def closes_below(self) -> float:
        """Temperature at which it lets current through again. [K]."""
        return self.switch_temperature - self.falls

    @property
    def time_constant(self) -> float:
        """Of its warming. [s]."""
        return self.thermal_resistance * self.capacity

    def hold_current(self, air: float) -> float:
        """Largest current that it carries for ever: sqrt((T_sw - T_air)/(R R_th)). [A], air in [K]."""
        return math.sqrt(
            max(self.switch_temperature - air, 0.0) / (self.resistance * self.thermal_resistance)
        )

    def trip_time(self, current: float, air: float) -> float:
        """Time to trip from cold, -tau ln(1 - (I_hold/I)^2); infinite below the hold current. [s]."""
        share = (self.hold_current(air) / current) ** 2 if current else math.inf
        return -self.time_constant * math.log1p(-share) if share < 1 else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor(Result):
    """A brushed motor as a linear model: V = I R + K omega, torque = K (I - I0).

    Parameters
    ----------
    name : str
        What the crew calls it.
    resistance : float
        Of the winding at 20 degC. [ohm]
    constant : float
        K at 20 degC. [V s/rad], the same as [N m/A]
    free_current : float
        I0, what its own friction takes. [A]
    rotor_inertia : float
        [kg m^2]
    thermal : Thermal
        Where its heat goes.
    copper_coefficient, magnet_coefficient : float
        Change of resistance and of K per kelvin. [1/K]
    limit : float
        Highest temperature of the winding. [K]
    protection : SelfResetting, optional
        Self-resetting protection in series.
    source : str
        Where the numbers come from.
    """

    name: str
    resistance: float
    constant: float
    free_current: float
    rotor_inertia: float
    thermal: Thermal
    copper_coefficient: float = COPPER
    magnet_coefficient: float = FERRITE
    limit: float = CELSIUS_ZERO + 100.0
    protection: SelfResetting | None = None
    source: str = "stated"

    def __post_init__(self) -> None:
        for field in ("resistance", "constant", "rotor_inertia"):
            _positive(getattr(self, field), f"{self.name}, {field.replace('_', ' ')}")
        for part in dataclasses.fields(self.thermal):
            _positive(getattr(self.thermal, part.name), f"{self.name}, {part.name.replace('_', ' ')}")
        if not self.free_current >= 0:
            raise BadInput(
                f"{self.free_current:g} A is not allowed; it must be 0 or more",
                field=f"{self.name}, free current",
            )

    def at(self, winding: float, magnet: float | None = None) -> Motor:
        """Return the motor with the resistance and constant it has when warm.

        Parameters
        ----------
        winding, magnet : float
            Temperatures; the magnet's is that of the winding when left out. [K]

        Returns
        -------
        Motor
            With both values changed and coefficients of 0.

        Raises
        ------
        BadInput
            So hot that the magnets of the model are gone.
        """
        magnet = winding if magnet is None else magnet
        return dataclasses.replace(
            self,
            resistance=self.resistance * (1 + self.copper_coefficient * (winding - ROOM)),
            constant=self.constant * (1 + self.magnet_coefficient * (magnet - ROOM)),
            copper_coefficient=0.0,
            magnet_coefficient=0.0,
        )


@dataclass(frozen=True, slots=True)
class MotorCurve(Result):
    """What a motor does at one voltage.

    Parameters
    ----------
    voltage : float
        At its terminals. [V]
    free_speed_rad_s, stall_current_a, stall_torque_n_m : float
        Ends of its line.
    peak_power_w, peak_power_current_a : float
        Largest power at the shaft, at half the free speed.
    best_efficiency : float
        Largest share of the electric power that reaches the shaft. [-]
    best_current_a, best_speed_rad_s, best_power_w : float
        Where that is.
    """

    voltage: float
    free_speed_rad_s: float
    stall_current_a: float
    stall_torque_n_m: float
    peak_power_w: float
    peak_power_current_a: float
    best_efficiency: float
    best_current_a: float
    best_speed_rad_s: float
    best_power_w: float


def motor_curve(motor: Motor, voltage: float, extra_resistance: float = 0.0) -> MotorCurve:
    """Line of a motor at a voltage: T = T_s (1 - omega/omega_f), with its two best points.

    P_max = T_s omega_f/4 at omega_f/2; largest efficiency (1 - sqrt(I0/I_s))^2 at I = sqrt(I0 I_s).

    Parameters
    ----------
    motor : Motor
        At its temperature; see :meth:`Motor.at`.
    voltage : float
        [V]
    extra_resistance : float
        In series with it: wires, battery. [ohm]

    Returns
    -------
    MotorCurve
        Its ends and best points.

    Raises
    ------
    BadInput
        The voltage does not even turn it.

    Notes
    -----
    Linear: friction that does not depend on speed, no armature reaction, a voltage without ripple.
    """
    r, k, idle = motor.resistance + extra_resistance, motor.constant, motor.free_current
    stall = voltage / r
    if not stall > idle:
        raise BadInput(
            f"{voltage:g} V drives {stall:.3g} A through it, less than its own friction takes ({idle:g} A)",
            field=motor.name,
        )
    free, torque = (voltage - idle * r) / k, k * (stall - idle)
    best = math.sqrt(idle * stall)
    speed = (voltage - best * r) / k
    return MotorCurve(
        voltage=voltage,
        free_speed_rad_s=free,
        stall_current_a=stall,
        stall_torque_n_m=torque,
        peak_power_w=torque * free / 4,
        peak_power_current_a=(stall + idle) / 2,
        best_efficiency=(1 - math.sqrt(idle / stall)) ** 2,
        best_current_a=best,
        best_speed_rad_s=speed,
        best_power_w=k * (best - idle) * speed,
    )


def constants_of(sheet: Sheet) -> tuple[float, float, float]:
    """Resistance and the two constants that a data sheet implies.

    R = V/I_s; K_t = T_s/(I_s - I0) from torque; K_e = (V - I0 R)/omega_f from speed.

    Parameters
    ----------
    sheet : Sheet
        The data sheet.

    Returns
    -------
    resistance, torque_constant, speed_constant : float
        [ohm], [N m/A], [V s/rad]. In the linear model both constants are the same number.

    Raises
    ------
    BadInput
        Not the data of a motor.
    """
    for field in dataclasses.fields(sheet):
        value = getattr(sheet, field.name)
        if field.name != "free_current":
            _positive(value, field.name.replace("_", " "))
    if not 0 <= sheet.free_current < sheet.stall_current:
        raise BadInput(
            f"{sheet.free_current:g} A is not between 0 and the stall current, {sheet.stall_current:g} A",
            field="free current",
        )
    resistance = sheet.voltage / sheet.stall_current
    by_torque = sheet.stall_torque / (sheet.stall_current - sheet.free_current)
    by_speed = (sheet.voltage - sheet.free_current * resistance) / sheet.free_speed
    return resistance, by_torque, by_speed


def from_sheet(name: str, sheet: Sheet, rotor_inertia: float, thermal: Thermal, **more: object) -> Motor:
    """Motor from a data sheet; K is the geometric mean of the two constants that the sheet implies.

    Parameters
    ----------
    name : str
        What the crew calls it.
    sheet : Sheet
        Its data.
    rotor_inertia : float
        [kg m^2]
    thermal : Thermal
        Where its heat goes.
    **more
        Other fields of :class:`Motor`.

    Returns
    -------
    Motor
        The linear model.
    """
    resistance, by_torque, by_speed = constants_of(sheet)
    return Motor(
        name=name,
        resistance=resistance,
        constant=math.sqrt(by_torque * by_speed),
        free_current=sheet.free_current,
        rotor_inertia=rotor_inertia,
        thermal=thermal,
        **more,  # type: ignore[arg-type]  # the fields of the record above
    )


def winding_temperature(ratio: float, cold: float) -> float:
    """Temperature of a copper winding from its resistance: T = ratio (k + T_cold) - k, k = 235 K.

    Parameters
    ----------
    ratio : float
        Resistance warm over cold. [-]
    cold : float
        Temperature when cold. [K]

    Returns
    -------
    float
        [K]

    References
    ----------
    IEC 60034-1, resistance method.
    """
    return ratio * (COPPER_ZERO + cold - CELSIUS_ZERO) - COPPER_ZERO + CELSIUS_ZERO


def generic_motors() -> tuple[Motor, ...]:
    """Return motor classes that ship with the tool: typical values, no source; measure your own.

    Returns
    -------
    tuple of Motor
        From small to large.
    """
    typical = "typical values, no source"
    small = Thermal(6.0, 60.0, 6.0, 14.0)
    middle = Thermal(15.0, 90.0, 4.0, 10.0)
    large = Thermal(35.0, 200.0, 2.5, 6.0)
    return (
        Motor(
            name="7.2 V geared class",
            resistance=0.3,
            constant=0.0045,
            free_current=0.6,
            rotor_inertia=6e-6,
            thermal=small,
            source=typical,
        ),
        Motor(
            name="12 V 550 class",
            resistance=0.15,
            constant=0.006,
            free_current=2.0,
            rotor_inertia=1.5e-5,
            thermal=middle,
            source=typical,
        ),
        Motor(
            name="12 V 775 class",
            resistance=0.09,
            constant=0.0061,
            free_current=1.8,
            rotor_inertia=3.0e-5,
            thermal=large,
            source=typical,
        ),
        Motor(
            name="12 V geared class",
            resistance=1.2,
            constant=0.018,
            free_current=0.3,
            rotor_inertia=1.0e-5,
            thermal=middle,
            source=typical,
        ),
    )


def _positive(value: float, field: str) -> None:
    if not (value > 0 and math.isfinite(value)):
        raise BadInput(f"{value:g} is not allowed; it must be greater than zero", field=field)
