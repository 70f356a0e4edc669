"""Battery, wires, controller and breaker: what is left of the voltage when everything runs at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class Battery(Result):
    """A battery: open-circuit voltage and internal resistance against state of charge.

    Parameters
    ----------
    name : str
        What the crew calls it.
    charge : float
        When full. [C]
    levels : tuple of float
        States of charge, rising from 0 to 1. [-]
    voltages, resistances : tuple of float
        Of the whole battery at those; straight lines between. [V], [ohm]
    source : str
        Where the numbers come from.
    """

    name: str
    charge: float
    levels: tuple[float, ...]
    voltages: tuple[float, ...]
    resistances: tuple[float, ...]
    source: str = "stated"

    def __post_init__(self) -> None:
        if not self.charge > 0:
            raise BadInput(
                f"{self.charge:g} C is not a charge; it must be above zero", field=f"{self.name}, charge"
            )
        if not len(self.levels) == len(self.voltages) == len(self.resistances) >= 1:
            raise BadInput("levels, voltages and resistances must be lists of one length", field=self.name)
        if any(b <= a for a, b in pairwise(self.levels)):
            raise BadInput("states of charge must rise from one to the next", field=f"{self.name}, levels")
        if min(self.voltages) <= 0 or min(self.resistances) < 0:
            raise BadInput(
                "voltages must be above zero, resistances not below it", field=f"{self.name}, voltages"
            )

    def voltage_at(self, level: float) -> float:
        """Open-circuit voltage at a state of charge. [V]."""
        return _between(level, self.levels, self.voltages)

    def resistance_at(self, level: float) -> float:
        """Internal resistance at a state of charge. [ohm]."""
        return _between(level, self.levels, self.resistances)


def _between(x: float, points: Sequence[float], values: Sequence[float]) -> float:
    if x <= points[0]:
        return values[0]
    for (a, b), (va, vb) in zip(pairwise(points), pairwise(values), strict=True):
        if x <= b:
            return va + (vb - va) * (x - a) / (b - a)
    return values[-1]


# One cell: voltage against state of charge 0, 0.1, 0.5, 0.9, 1; resistance of a cell of 1 Ah.
_LEVELS = (0.0, 0.1, 0.5, 0.9, 1.0)
_CELLS: dict[str, tuple[tuple[float, ...], float]] = {
    "NiMH": ((1.00, 1.18, 1.27, 1.33, 1.40), 0.06),
    "lead-acid": ((1.88, 1.95, 2.04, 2.11, 2.13), 0.022),
    "Li-ion": ((3.00, 3.45, 3.70, 4.05, 4.20), 0.2),
}
CHEMISTRIES = tuple(_CELLS)


def generic_battery(chemistry: str, cells: int, amp_hours: float, resistance: float | None = None) -> Battery:
    """Battery of a chemistry: typical open-circuit voltages, and a cell's resistance falling with its size.

    Parameters
    ----------
    chemistry : {"NiMH", "lead-acid", "Li-ion"}
        Of the cells.
    cells : int
        In series.
    amp_hours : float
        When full. [Ah]
    resistance : float, optional
        Of the whole battery as measured; else that of an old 1 Ah cell, scaled by 1/Ah. [ohm]

    Returns
    -------
    Battery
        Its resistance doubles towards empty (typical, no source).

    Raises
    ------
    BadInput
        No such chemistry, no cells or no charge.

    Notes
    -----
    Modern Li-ion cells for high currents have far less resistance: measure, two loads are enough.

    References
    ----------
    Resistances: Larminie 2003, as given in a table of BMC Chemistry 6, S1-S2 (2012). Voltages: typical, no
    source.
    """
    if chemistry not in _CELLS:
        raise BadInput(f"{chemistry!r} is not known; one of {', '.join(_CELLS)}", field="chemistry")
    if cells < 1 or not amp_hours > 0:
        raise BadInput(f"{cells} cells of {amp_hours:g} Ah; both must be above zero", field="battery")
    volts, one = _CELLS[chemistry]
    whole = cells * one / amp_hours if resistance is None else resistance
    return Battery(
        name=f"{cells} x {chemistry}, {amp_hours:g} Ah",
        charge=3600.0 * amp_hours,
        levels=_LEVELS,
        voltages=tuple(cells * v for v in volts),
        resistances=tuple(whole * factor for factor in (2.0, 1.4, 1.0, 1.0, 1.0)),
        source="typical values, no source"
        if resistance is not None
        else "typical; 1 Ah cells, Larminie 2003",
    )


BREAKERS = ("stays open", "self-resetting")


@dataclass(frozen=True, slots=True)
class Breaker(Result):
    """A breaker or fuse as a thermal image: it trips, and cuts, when its filtered I^2 reaches (k I_b)^2.

    Parameters
    ----------
    rating : float
        Current I_b printed on it. [A]
    time_constant : float
        Of its warming. [s]
    factor : float
        k, what it carries for ever over its rating. [-]
    closes_at : float
        Share of (k I_b)^2 to which its image falls before it closes by itself; 0: it stays open, as a fuse
        or a breaker that is reset by hand. [-]
    """

    rating: float
    time_constant: float = 30.0
    factor: float = 1.05
    closes_at: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.closes_at < 1:
            raise BadInput(
                f"{self.closes_at:g} is not allowed; it must be 0, or below 1", field="breaker, closes at"
            )
        if not (self.rating > 0 and self.time_constant > 0 and self.factor > 0):
            raise BadInput("rating, time constant and factor must be above zero", field="breaker")

    def trip_time(self, current: float, before: float = 0.0) -> float:
        """Time to trip, t = tau ln((I^2 - I_p^2)/(I^2 - (k I_b)^2)); infinite when it holds.

        Parameters
        ----------
        current : float
            From now on. [A]
        before : float
            Current carried for a long time before. [A]

        Returns
        -------
        float
            [s]

        References
        ----------
        IEC 60255-149, cold curve as the case I_p = 0.
        """
        limit = self.factor * self.rating
        if before >= limit:
            return 0.0
        if current <= limit:
            return math.inf
        return self.time_constant * math.log((current**2 - before**2) / (current**2 - limit**2))

    @property
    def open_time(self) -> float:
        """Time without current until it closes by itself, tau ln(1/share); infinite: it stays open. [s]."""
        return -self.time_constant * math.log(self.closes_at) if self.closes_at > 0 else math.inf


@dataclass(frozen=True, slots=True)
class Supply(Result):
    """What feeds the motors.

    Parameters
    ----------
    battery : Battery
        The battery.
    level : float
        State of charge at the start. [-]
    wiring : float
        Wires and controller, of each motor. [ohm]
    current_limit : float
        Of the controller, for each motor. [A]
    other_current : float
        Everything else that runs at once. [A]
    main_breaker : Breaker, optional
        Carries all current of the battery.
    motor_breaker : Breaker, optional
        One for each motor.
    """

    battery: Battery
    level: float = 1.0
    wiring: float = 0.0
    current_limit: float = math.inf
    other_current: float = 0.0
    main_breaker: Breaker | None = None
    motor_breaker: Breaker | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.level <= 1:
            raise BadInput(
                f"{self.level:g} is not a state of charge; 0 to 1 are allowed", field="state of charge"
            )
        if not (self.wiring >= 0 and self.other_current >= 0 and self.current_limit > 0):
            raise BadInput("wiring and other current can't be below zero, the limit not zero", field="supply")


@dataclass(frozen=True, slots=True)
class Sag(Result):
    """What is left of a battery's voltage.

    Parameters
    ----------
    current_a : float
        Drawn. [A]
    voltage_v : float
        At its terminals. [V]
    power_w : float
        Delivered. [W]
    """

    current_a: float
    voltage_v: float
    power_w: float


def sag(battery: Battery, level: float, current: float) -> Sag:
    """Terminal voltage under a current: V = V_oc - I R_b.

    Parameters
    ----------
    battery : Battery
        The battery.
    level : float
        State of charge. [-]
    current : float
        All that runs at once. [A]

    Returns
    -------
    Sag
        Current, voltage and power.

    Raises
    ------
    NoAnswer
        More than it delivers into a dead short.
    """
    open_voltage, resistance = battery.voltage_at(level), battery.resistance_at(level)
    left = open_voltage - current * resistance
    if left < 0:
        raise NoAnswer(
            f"{current:g} A is more than {battery.name} delivers, shorted {open_voltage / resistance:.4g} A"
        )
    return Sag(current, left, left * current)


def current_for_power(battery: Battery, level: float, power: float) -> Sag:
    """Find the current for a wanted power: I = (V_oc - sqrt(V_oc^2 - 4 R_b P))/(2 R_b), the smaller root.

    Parameters
    ----------
    battery : Battery
        The battery.
    level : float
        State of charge. [-]
    power : float
        Wanted at its terminals. [W]

    Returns
    -------
    Sag
        Current, voltage and power.

    Raises
    ------
    NoAnswer
        More than V_oc^2/(4 R_b), the most it delivers.
    """
    volts, ohms = battery.voltage_at(level), battery.resistance_at(level)
    root = volts**2 - 4 * ohms * power
    if root < 0:
        raise NoAnswer(
            f"{power:.4g} W is more than {battery.name} delivers, at most {volts**2 / (4 * ohms):.4g} W"
        )
    return sag(battery, level, 2 * power / (volts + math.sqrt(root)))


def peukert_time(amp_hours: float, hours: float, current: float, exponent: float) -> float:
    """Time that a battery lasts at a current, by Peukert: t = H (C/(I H))^k.

    Parameters
    ----------
    amp_hours : float
        C, capacity when emptied in `hours`. [Ah]
    hours : float
        H. [h]
    current : float
        I. [A]
    exponent : float
        k, 1.1 to 1.3 for lead-acid (from memory). [-]

    Returns
    -------
    float
        [h]
    """
    return hours * math.pow(amp_hours / (current * hours), exponent)
