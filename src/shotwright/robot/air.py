"""Compressed air: force of a cylinder, strokes of a filled reservoir, leak, and the energy in the tank."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

ATMOSPHERE = 100_000.0  # Pa, reference atmosphere of ISO 8778 (values from memory)
GAMMA = 1.4  # of air
# Bores in mm: ISO 6432 (8 to 25) and ISO 15552 (32 and up); lists from memory
SMALL_BORES = (8, 10, 12, 16, 20, 25)
LARGE_BORES = (32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 320)
BORES = SMALL_BORES + LARGE_BORES

Action = Literal["single", "double"]
ACTIONS: tuple[Action, ...] = ("single", "double")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder(Result):
    """A pneumatic cylinder.

    Parameters
    ----------
    bore, rod, stroke : float
        [m]
    action : {"single", "double"}
        Whether air also drives it back.
    spring : float
        Of the return spring, out. [N]
    friction : float
        Share of the pressure force that its seals take. [-]
    """

    bore: float
    stroke: float
    rod: float = 0.0
    action: Action = "single"
    spring: float = 0.0
    friction: float = 0.0

    def __post_init__(self) -> None:
        if not (self.bore > self.rod >= 0 and self.stroke > 0):
            raise BadInput("bore must be larger than the rod, the stroke above zero", field="bore")
        if not (self.spring >= 0 and 0 <= self.friction < 1):
            raise BadInput("spring force can't be below zero, friction must be a share", field="cylinder")

    @property
    def area(self) -> float:
        """Of the piston. [m^2]."""
        return math.pi / 4 * self.bore**2

    @property
    def cycle_volume(self) -> float:
        """Air that one stroke out, and back where air drives it, fills. [m^3]."""
        back = self.area - math.pi / 4 * self.rod**2 if self.action == "double" else 0.0
        return (self.area + back) * self.stroke

    def push(self, gauge: float) -> float:
        """Force out at a gauge pressure [Pa]. [N]."""
        return gauge * self.area * (1 - self.friction) - self.spring

    def pull(self, gauge: float) -> float:
        """Force back at a gauge pressure [Pa], or of the spring. [N]."""
        if self.action == "single":
            return self.spring
        return gauge * (self.area - math.pi / 4 * self.rod**2) * (1 - self.friction)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirSupply(Result):
    """A reservoir that is filled before the match, and its regulator. Gauge pressures.

    Parameters
    ----------
    volume : float
        Of all reservoirs. [m^3]
    pressure : float
        Full. [Pa]
    regulated : float
        Behind the regulator. [Pa]
    leak : float
        Share of the absolute pressure lost in a second. [1/s]
    atmosphere : float
        Absolute. [Pa]
    """

    volume: float
    pressure: float
    regulated: float
    leak: float = 0.0
    atmosphere: float = ATMOSPHERE

    def __post_init__(self) -> None:
        if not (self.volume > 0 and self.pressure > 0 and self.leak >= 0):
            raise BadInput("volume and pressure must be above zero, the leak not below it", field="reservoir")
        if not 0 < self.regulated <= self.pressure:
            raise BadInput(
                f"{self.regulated:.4g} Pa is not between 0 and the full pressure, {self.pressure:.4g} Pa",
                field="regulated",
            )


def leak_rate(full: float, drop: float, time: float, atmosphere: float = ATMOSPHERE) -> float:
    """Leak from a test: what is filled loses `drop` in a time; -ln(1 - drop/p)/t, the flow follows p.

    Parameters
    ----------
    full, drop : float
        Gauge pressure at the start, and what it lost. [Pa]
    time : float
        [s]
    atmosphere : float
        Absolute. [Pa]

    Returns
    -------
    float
        Share of the absolute pressure in a second. [1/s]

    Notes
    -----
    A leak is choked above about 0.9 bar gauge (from memory): its flow then goes with the absolute pressure.
    """
    return -math.log1p(-drop / (full + atmosphere)) / time


def strokes_isothermal(full: float, working: float, reservoir: float, cycle: float) -> float:
    """Strokes of a regulated cylinder until the reservoir is down to the working pressure, slowly.

    n = (p_r - p_w) V_r/(p_w V_cycle), absolute pressures.

    Parameters
    ----------
    full, working : float
        Absolute. [Pa]
    reservoir, cycle : float
        Volumes. [m^3]

    Returns
    -------
    float
        [-]
    """
    return (full - working) * reservoir / (working * cycle)


@dataclass(frozen=True, slots=True)
class FastDraw(Result):
    """A reservoir emptied so fast that it takes no heat.

    Parameters
    ----------
    strokes : float
        Until the working pressure.
    drawn : float
        Share of the air. [-]
    tank_k : float
        Temperature of what is left.
    rewarmed_pa : float
        Absolute pressure once it has warmed again.
    """

    strokes: float
    drawn: float
    tank_k: float
    rewarmed_pa: float


def strokes_adiabatic(
    full: float, working: float, reservoir: float, cycle: float, temperature: float = 293.15
) -> FastDraw:
    """Strokes when they follow fast: what is left expands, 1 - (p_w/p_r)^(1/gamma) of the air is drawn.

    Parameters
    ----------
    full, working : float
        Absolute. [Pa]
    reservoir, cycle : float
        Volumes. [m^3]
    temperature : float
        At the start; also that of the air in the cylinder. [K]

    Returns
    -------
    FastDraw
        Fewer strokes than slowly, a cold tank, and pressure that comes back.
    """
    drawn = 1 - (working / full) ** (1 / GAMMA)
    return FastDraw(
        strokes=drawn * full * reservoir / (working * cycle),
        drawn=drawn,
        tank_k=temperature * (working / full) ** (1 - 1 / GAMMA),
        rewarmed_pa=full * (1 - drawn),
    )


def unregulated_pressure(full: float, reservoir: float, cycle: float, strokes: float) -> float:
    """Pressure after strokes without regulator, the cylinder emptied each time: p_0 (V_r/(V_r + V_s))^n.

    Parameters
    ----------
    full : float
        Absolute. [Pa]
    reservoir, cycle : float
        Volumes. [m^3]
    strokes : float
        n. [-]

    Returns
    -------
    float
        Absolute. [Pa]
    """
    return float(full * (reservoir / (reservoir + cycle)) ** strokes)


@dataclass(frozen=True, slots=True)
class TankEnergy(Result):
    """Energy in a tank of compressed air, by four definitions.

    Parameters
    ----------
    brode_j : float
        (p1 - p0) V/(gamma - 1): what safety distances start from; the largest up to about 840 kPa gauge.
    isentropic_j, isothermal_j, available_j : float
        Work of an expansion without heat, at even temperature, and that less what pushes the air away.
    """

    brode_j: float
    isentropic_j: float
    isothermal_j: float
    available_j: float

    @property
    def most_j(self) -> float:
        """The largest of the four: what a caution should tell. [J]."""
        return max(self.brode_j, self.isentropic_j, self.isothermal_j, self.available_j)


def tank_energy(gauge: float, volume: float, atmosphere: float = 101_325.0) -> TankEnergy:
    """Energy of a tank by Brode, isentropic, isothermal, and available.

    Parameters
    ----------
    gauge : float
        Pressure. [Pa]
    volume : float
        [m^3]
    atmosphere : float
        Absolute. [Pa]

    Returns
    -------
    TankEnergy
        All four.

    References
    ----------
    Brode's and Baker's formulas, from memory.
    """
    p = gauge + atmosphere
    ratio = atmosphere / p
    slow = p * volume * -math.log(ratio)
    return TankEnergy(
        brode_j=gauge * volume / (GAMMA - 1),
        isentropic_j=p * volume / (GAMMA - 1) * (1 - ratio ** (1 - 1 / GAMMA)),
        isothermal_j=slow,
        available_j=slow - p * volume * (1 - ratio),
    )


@dataclass(frozen=True, slots=True)
class AirMatch(Result):
    """A reservoir over a match.

    Parameters
    ----------
    wanted, served : int
        Actuations asked for, and those at the regulator's full pressure.
    first_weak_s : float, optional
        When the first one got less.
    least_gauge_pa : float
        Behind the regulator at the weakest actuation; the regulated pressure when there was none.
    end_gauge_pa : float
        In the reservoir at the end.
    filled, used, leaked, left : float
        Air in litres at the reference pressure; used, leaked and left add up to what was filled.
    times_s, gauges_pa : tuple of float
        Reservoir pressure after each actuation and at the end.
    """

    wanted: int
    served: int
    first_weak_s: float | None
    least_gauge_pa: float
    end_gauge_pa: float
    filled: float
    used: float
    leaked: float
    left: float
    times_s: tuple[float, ...]
    gauges_pa: tuple[float, ...]


def air_match(
    supply: AirSupply, cylinder: Cylinder, times: Sequence[float], length: float, cylinders: int = 1
) -> AirMatch:
    """Follow the reservoir's pressure over a match at even temperature, with its leak.

    Parameters
    ----------
    supply : AirSupply
        Filled when the match begins.
    cylinder : Cylinder
        One of them.
    times : sequence of float
        When each actuation (out and back) happens. [s]
    length : float
        Of the match. [s]
    cylinders : int
        That move together.

    Returns
    -------
    AirMatch
        Actuations served, pressures, and the books of the air.

    Notes
    -----
    A reservoir below the regulated pressure gives what it has: the cylinder then fills from it, both ending
    at one pressure. Between strokes the tank takes up the heat that it lost; strokes in a hurry find it
    colder and get fewer: see :func:`strokes_adiabatic`.
    """
    volume, low = supply.volume, supply.atmosphere
    cycle = cylinders * cylinder.cycle_volume
    set_ = supply.regulated + low
    p, now, used, leaked = supply.pressure + low, 0.0, 0.0, 0.0
    served, first_weak, least = 0, None, supply.regulated
    rows: list[tuple[float, float]] = [(0.0, supply.pressure)]
    for when in [*sorted(t for t in times if t <= length), math.inf]:
        span = min(when, length) - now
        after = max(p * math.exp(-supply.leak * span), low)
        leaked += (p - after) * volume
        p, now = after, now + span
        if math.isinf(when):
            break
        # the piston starts against its end: all the air of the stroke comes from the reservoir
        reached = max(min(set_, p * volume / (volume + cycle)), low)
        drawn = min(reached * cycle, (p - low) * volume)
        if reached >= set_ * (1 - 1e-12):
            served += 1
        elif first_weak is None:
            first_weak = now
        least = min(least, reached - low)
        p -= drawn / volume
        used += drawn
        rows.append((now, p - low))
    rows.append((length, p - low))
    times_s, gauges = zip(*rows, strict=True)
    litres = 1000 / low
    return AirMatch(
        len([t for t in times if t <= length]), served, first_weak, least, p - low,
        (supply.pressure + low) * volume * litres, used * litres, leaked * litres, p * volume * litres,
        times_s, gauges,
    )  # fmt: skip
