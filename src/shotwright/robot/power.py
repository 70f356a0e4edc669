"""A match as the battery sees it: who takes what and when, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.powertrain.supply import Supply


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumer(Result):
    """Something that takes current, at its times.

    Parameters
    ----------
    name : str
        What the crew calls it.
    starts : tuple of float
        When it is wanted. [s]
    duration : float
        Each time. [s]
    current : float
        It takes whatever the voltage. [A]
    power : float
        It takes whatever the voltage; a controller below full voltage does so. [W]
    motors : int
        In it.
    priority : int
        1 comes first.
    wait : float
        How long it may wait for the others. [s]
    profile : tuple of (float, float)
        Instead of `current`: until which time after its start it takes which current. [s], [A]
    """

    name: str
    starts: tuple[float, ...]
    duration: float
    current: float = 0.0
    power: float = 0.0
    motors: int = 0
    priority: int = 1
    wait: float = 0.0
    profile: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        if not (self.duration > 0 and self.current >= 0 and self.power >= 0 and self.wait >= 0):
            raise BadInput("duration must be above zero, nothing else below it", field=self.name)
        if self.current + self.power <= 0 and not self.profile:
            raise BadInput("takes neither current nor power", field=self.name)

    def current_at(self, elapsed: float) -> float:
        """Current so long [s] after its start. [A]."""
        for until, amps in self.profile:
            if elapsed < until:
                return amps
        return self.profile[-1][1] if self.profile else self.current


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget(Result):
    """A match as the battery sees it.

    Parameters
    ----------
    supply : Supply
        Battery, its charge at the start, main breaker, and what always runs.
    consumers : tuple of Consumer
        All others.
    length : float
        Of the match. [s]
    lowest_voltage : float
        Below it something stops working. [V]
    peukert : float
        Exponent of the battery; 1 where its capacity does not fall with the current. [-]
    rated_hours : float
        In which the capacity was stated to be drawn. [h]
    """

    supply: Supply
    consumers: tuple[Consumer, ...]
    length: float
    lowest_voltage: float = 0.0
    peukert: float = 1.0
    rated_hours: float = 1.0


@dataclass(frozen=True, slots=True)
class ConsumerRow(Result):
    """What became of one consumer.

    Parameters
    ----------
    name : str
        Which.
    motors, times : int
        In it; how often it ran.
    energy_j : float
        It took.
    charge_c : float
        It drew.
    longest_wait_s : float
        Before one of its starts.
    waited : int
        How often it waited.
    forced : int
        How often it ran although there was no room, because it could wait no longer.
    """

    name: str
    motors: int
    times: int
    energy_j: float
    charge_c: float
    longest_wait_s: float
    waited: int
    forced: int


@dataclass(frozen=True, slots=True)
class PowerRun(Result):
    """A match with its currents.

    Parameters
    ----------
    rows : tuple of ConsumerRow
        In the order of the file.
    peak_a, peak_at_s : float
        Largest current of the battery, and when.
    peak_of : tuple of str
        Who ran then.
    lowest_v, lowest_at_s : float
        At the battery's terminals.
    too_low_s : float
        Time below the lowest voltage allowed.
    first_too_low_s : float, optional
        When that began.
    breaker_used : float, optional
        Largest share of the main breaker's thermal image; at 1 it trips.
    breaker_trips_s : float, optional
        When it would have; the match goes on as if it had held.
    collapses_s : float, optional
        When the battery could not deliver the power asked for.
    level : float
        State of charge at the end. [-]
    capacity_used : float
        Share of the capacity, at these currents by Peukert. [-]
    charge_c, from_battery_j : float
        Drawn.
    energy_j : dict
        Where it went; the parts add up.
    times_s, currents_a, voltages_v : tuple of float
        The record; two rows share a time where something starts or ends.
    spans_s : dict
        For each consumer, when it ran: pairs of begin and end.
    """

    rows: tuple[ConsumerRow, ...]
    peak_a: float
    peak_at_s: float
    peak_of: tuple[str, ...]
    lowest_v: float
    lowest_at_s: float
    too_low_s: float
    first_too_low_s: float | None
    breaker_used: float | None
    breaker_trips_s: float | None
    collapses_s: float | None
    level: float
    capacity_used: float
    charge_c: float
    from_battery_j: float
    energy_j: dict[str, float]
    times_s: tuple[float, ...]
    currents_a: tuple[float, ...]
    voltages_v: tuple[float, ...]
    spans_s: dict[str, tuple[tuple[float, float], ...]]


@dataclass(frozen=True, slots=True)
class MotorCount(Result):
    """Motors of the whole robot against what the event allows.

    Parameters
    ----------
    by_part : dict
        Motors of each part.
    motors : int
        Together.
    allowed : int, optional
        None where no limit is stated.
    left : int, optional
        Allowed less used; below zero: too many.
    """

    by_part: dict[str, int]
    motors: int
    allowed: int | None
    left: int | None


def count_motors(by_part: dict[str, int], allowed: int | None) -> MotorCount:
    """Count the motors of all parts.

    Parameters
    ----------
    by_part : dict
        Motors of each part.
    allowed : int, optional
        By the event.

    Returns
    -------
    MotorCount
        The sum, and what is left.
    """
    total = sum(by_part.values())
    return MotorCount(by_part, total, allowed, None if allowed is None else allowed - total)
