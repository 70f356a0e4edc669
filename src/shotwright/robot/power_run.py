"""Everything that runs at once over a match: current, sag, breaker, energy, and who has to wait."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from shotwright.powertrain.pieces import one_node
from shotwright.powertrain.supply import peukert_time
from shotwright.robot.power import Budget, Consumer, ConsumerRow, PowerRun

STEP = 0.25  # s
_TIME = 1e-9  # s, below which two moments are one


@dataclass(frozen=True, slots=True)
class _Running:
    """A consumer that runs: which, from when, until when."""

    which: int
    start: float
    end: float

    def breaks(self, one: Consumer) -> list[float]:
        """Times at which what it takes changes."""
        return [*(self.start + until for until, _ in one.profile), self.end]


@dataclass(slots=True)
class _Account:
    """What is kept of one consumer while the match runs."""

    one: Consumer
    times: int = 0
    energy: float = 0.0
    charge: float = 0.0
    longest: float = 0.0
    waited: int = 0
    forced: int = 0
    spans: list[tuple[float, float]] = field(default_factory=list)


@dataclass(slots=True)
class _Match:
    """State of the match."""

    time: float = 0.0
    drawn: float = 0.0
    image: float = 0.0
    image_most: float = 0.0
    books: dict[str, float] = field(default_factory=dict)
    peak: tuple[float, float, tuple[str, ...]] = (0.0, 0.0, ())
    lowest: tuple[float, float] = (math.inf, 0.0)
    too_low: float = 0.0
    first_low: float | None = None
    trips: float | None = None
    collapses: float | None = None
    used: float = 0.0
    record: list[tuple[float, float, float]] = field(default_factory=list)


def solve(volts: float, ohms: float, current: float, power: float) -> tuple[float, float, bool]:
    """Terminal voltage under currents and powers together: V^2 - (V_oc - R I) V + R P = 0, the larger root.

    Parameters
    ----------
    volts, ohms : float
        Open-circuit voltage and resistance of the battery. [V], [ohm]
    current, power : float
        Sums of what takes a current and of what takes a power. [A], [W]

    Returns
    -------
    voltage : float
        [V]
    drawn : float
        Current of the battery. [A]
    delivers : bool
        False where it can't; then it gives the most power that it has left.
    """
    left = volts - ohms * current
    root = left * left - 4 * ohms * power
    delivers = left > 0 and root >= 0
    voltage = 0.5 * (left + math.sqrt(root)) if delivers else 0.5 * max(left, 0.0)
    return voltage, (volts - voltage) / ohms if ohms > 0 else current + power / volts, delivers


def follow(budget: Budget, *, waiting: bool = True, step: float = STEP) -> PowerRun:
    """Follow the match: consumers run when wanted, or wait until there is room for them.

    Parameters
    ----------
    budget : Budget
        The match.
    waiting : bool
        False: everything runs when it is wanted.
    step : float
        Longest step; voltage and resistance of the battery stand still within one. [s]

    Returns
    -------
    PowerRun
        Currents, voltages, breaker, energy books.

    Notes
    -----
    There is room for a consumer when, with it and all that runs, the voltage stays above the lowest allowed
    and the main breaker would not trip before it ends. First by priority, then by when they were wanted.
    """
    accounts = [_Account(one) for one in budget.consumers]
    wanted = sorted((t, a.one.priority, i) for i, a in enumerate(accounts) for t in a.one.starts)
    wanted = [w for w in wanted if w[0] < budget.length - _TIME]
    running: list[_Running] = []
    queue: list[tuple[int, float, int]] = []
    now = _Match()
    while now.time < budget.length - _TIME:
        running = [one for one in running if one.end > now.time + _TIME]
        while wanted and wanted[0][0] <= now.time + _TIME:
            when, priority, i = wanted.pop(0)
            queue.append((priority, when, i))
        queue.sort()
        queue = _admit(budget, accounts, queue, running, now, waiting)
        ends = [t for one in running for t in one.breaks(accounts[one.which].one)]
        ends += [t for t, _, _ in wanted[:1]]
        ends += [when + accounts[i].one.wait for _, when, i in queue]
        until = min([now.time + step, budget.length, *(t for t in ends if t > now.time + _TIME)])
        _pass(budget, accounts, running, now, until - now.time)
    return _told(budget, accounts, now)


def _demand(
    accounts: Sequence[_Account], running: Sequence[_Running], time: float
) -> tuple[list[float], list[float]]:
    """Currents and powers that those who run ask for at a time."""
    currents = [accounts[one.which].one.current_at(time - one.start) for one in running]
    return currents, [accounts[one.which].one.power for one in running]


def _battery(budget: Budget, now: _Match) -> tuple[float, float]:
    supply = budget.supply
    level = supply.level - now.drawn / supply.battery.charge
    return supply.battery.voltage_at(level), supply.battery.resistance_at(level)


def _admit(
    budget: Budget,
    accounts: list[_Account],
    queue: list[tuple[int, float, int]],
    running: list[_Running],
    now: _Match,
    waiting: bool,
) -> list[tuple[int, float, int]]:
    """Let in whom there is room for; return those that wait on."""
    left = []
    for priority, when, i in queue:
        one, late = accounts[i].one, now.time - when
        new = _Running(i, now.time, now.time + one.duration)
        room = not waiting or _room(budget, accounts, [*running, new], now)
        if not room and late < one.wait - _TIME:
            left.append((priority, when, i))
            continue
        account = accounts[i]
        account.times += 1
        account.forced += int(not room)
        account.waited += int(late > _TIME)
        account.longest = max(account.longest, late)
        new = _Running(i, now.time, min(new.end, budget.length))
        account.spans.append((new.start, new.end))
        running.append(new)
    return left


def _room(budget: Budget, accounts: Sequence[_Account], running: Sequence[_Running], now: _Match) -> bool:
    """Whether voltage and main breaker stand what runs, the last of it new, until it ends."""
    volts, ohms = _battery(budget, now)
    breaker, image, time = budget.supply.main_breaker, now.image, now.time
    changes = {t for one in running for t in one.breaks(accounts[one.which].one)}
    for until in sorted(t for t in changes if now.time + _TIME < t <= running[-1].end):
        middle = 0.5 * (time + until)
        still = [one for one in running if one.end > middle]
        currents, powers = _demand(accounts, still, middle)
        taken = sum(currents) + budget.supply.other_current
        voltage, drawn, delivers = solve(volts, ohms, taken, sum(powers))
        if not delivers or voltage < budget.lowest_voltage:
            return False
        if breaker is not None:
            image = one_node(image, drawn**2, until - time, breaker.time_constant)
            if image >= (breaker.factor * breaker.rating) ** 2:
                return False
        time = until
    return True


def _pass(
    budget: Budget, accounts: list[_Account], running: Sequence[_Running], now: _Match, time: float
) -> None:
    """Let a step pass in which nothing starts or ends."""
    supply = budget.supply
    volts, ohms = _battery(budget, now)
    currents, powers = _demand(accounts, running, now.time + 0.5 * time)
    current, power = sum(currents), sum(powers)
    voltage, drawn, delivers = solve(volts, ohms, current + supply.other_current, power)
    # a battery that can't deliver gives its consumers of power what is left of the current
    amps = drawn - current - supply.other_current
    _add(now.books, "battery's resistance", ohms * drawn**2 * time)
    _add(now.books, "everything else that runs", voltage * supply.other_current * time)
    for one, own, asked in zip(running, currents, powers, strict=True):
        taken = own + (amps * asked / power if power > 0 else 0.0)
        account = accounts[one.which]
        account.energy += voltage * taken * time
        account.charge += taken * time
        _add(now.books, account.one.name, voltage * taken * time)
    _add(now.books, "", volts * drawn * time)
    if drawn > now.peak[0]:
        now.peak = (drawn, now.time, tuple(accounts[one.which].one.name for one in running))
    if voltage < now.lowest[0]:
        now.lowest = (voltage, now.time)
    if voltage < budget.lowest_voltage:
        now.too_low += time
        now.first_low = now.time if now.first_low is None else now.first_low
    if not delivers and now.collapses is None:
        now.collapses = now.time
    _breaker(budget, now, drawn, time)
    if drawn > 0:
        hours = peukert_time(supply.battery.charge / 3600, budget.rated_hours, drawn, budget.peukert)
        now.used += time / 3600 / hours
    now.record += [(now.time, drawn, voltage), (now.time + time, drawn, voltage)]
    now.drawn += drawn * time
    now.time += time


def _add(books: dict[str, float], name: str, joules: float) -> None:
    books[name] = books.get(name, 0.0) + joules


def _breaker(budget: Budget, now: _Match, drawn: float, time: float) -> None:
    breaker = budget.supply.main_breaker
    if breaker is None:
        return
    limit, before = (breaker.factor * breaker.rating) ** 2, now.image
    now.image = one_node(before, drawn**2, time, breaker.time_constant)
    now.image_most = max(now.image_most, now.image / limit)
    if now.trips is None and now.image >= limit:
        late = breaker.time_constant * math.log((drawn**2 - before) / (drawn**2 - limit))
        now.trips = now.time + late


def _told(budget: Budget, accounts: Sequence[_Account], now: _Match) -> PowerRun:
    supply, books = budget.supply, dict(now.books)
    battery = books.pop("", 0.0)
    times, currents, voltages = zip(*now.record, strict=True)
    return PowerRun(
        rows=tuple(
            ConsumerRow(a.one.name, a.one.motors, a.times, a.energy, a.charge, a.longest, a.waited, a.forced)
            for a in accounts
        ),
        peak_a=now.peak[0], peak_at_s=now.peak[1], peak_of=now.peak[2],
        lowest_v=now.lowest[0], lowest_at_s=now.lowest[1],
        too_low_s=now.too_low, first_too_low_s=now.first_low,
        breaker_used=None if supply.main_breaker is None else now.image_most,
        breaker_trips_s=now.trips, collapses_s=now.collapses,
        level=supply.level - now.drawn / supply.battery.charge,
        capacity_used=now.used, charge_c=now.drawn, from_battery_j=battery,
        energy_j={name: joules for name, joules in books.items() if joules},
        times_s=times, currents_a=currents, voltages_v=voltages,
        spans_s={a.one.name: tuple(a.spans) for a in accounts},
    )  # fmt: skip
