"""The power budget of a robot file: who takes what, when, and who may wait."""

from __future__ import annotations

import math

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section, check_unique
from shotwright.powertrain.supply import Supply
from shotwright.robot.description import ORIGINS, Origin, PowerPart, TakenFrom
from shotwright.robot.power import Budget, Consumer

_MOST = 10_000  # starts of one consumer
_LONGEST = 3600.0  # s; no match is longer, so it is a slip of the unit
_ANY = 1.0  # stands in until another part fills it in


def power_from(part: Section, supply: Supply) -> PowerPart | None:
    """Read the section of the power budget.

    Parameters
    ----------
    part : Section
        The table.
    supply : Supply
        Battery and main breaker.

    Returns
    -------
    PowerPart or None
        None after a problem.
    """
    before = len(part.problems)
    length = part.quantity("length", "time", "150 s", above=0.0, most=_LONGEST)
    lowest = part.quantity("lowest_voltage", "voltage", "8 V", 0.0, least=0.0)
    peukert = part.number("peukert", 1.0, "1.2", least=1.0, most=2.0)
    hours = part.quantity("rated_time", "time", "20 h", 3600.0, above=0.0) / 3600
    named, consumers, taken = [], [], []
    if "load" not in part:
        part.problem("there is no [[power.load]]; at least one is needed")
    for number, one in enumerate(part.sections("load"), 1):
        one.place = f"[[power.load]] {number}"
        name = one.name("sprints")
        named.append((one, name))
        origin, found, stated = _load(one, name, length)
        if found is not None:
            consumers.append(found)
        if origin is not None:
            taken.append(TakenFrom(name, origin, stated))
    check_unique(named, "load")
    motors = {}
    for key, value in part.section("motors", required=False).values.items():
        if type(value) is int and value >= 0:
            motors[key] = value
        else:
            part.problem(f"{value!r} is not a number of motors", f"motors, {key}")
    part.finish()
    if len(part.problems) > before:
        return None
    budget = Budget(
        supply=supply,
        consumers=tuple(consumers),
        length=length,
        lowest_voltage=lowest,
        peukert=peukert,
        rated_hours=hours,
    )
    return PowerPart(budget=budget, taken=tuple(taken), motors=motors)


def _load(part: Section, name: str, length: float) -> tuple[Origin | None, Consumer | None, bool]:
    before = len(part.problems)
    origin: Origin | None = None
    if "of" in part:
        origin = part.choice("of", ORIGINS)  # type: ignore[assignment]  # one of ORIGINS, or noted
    current = part.quantity("current", "current", "6 A", 0.0, above=0.0)
    power = part.quantity("power", "power", "70 W", 0.0, above=0.0)
    part.know("of")
    if ("of" in part) + ("current" in part) + ("power" in part) != 1:
        part.problem('needs one of: of = "sprint", current = "6 A", power = "70 W"')
    stated = "duration" in part
    needed = origin is None or origin == "push"  # how long a push lasts is the crew's to say
    duration = part.quantity("duration", "time", "2 s", None if needed else _ANY, above=0.0)
    start = part.quantity("start", "time", "5 s", 0.0, least=0.0)
    times = part.whole("times", 1) or 1
    every = part.quantity("every", "time", "10 s", None if times > 1 else 1.0, above=0.0)
    motors = part.whole("motors", 0) or 0
    priority = part.whole("priority", 1) or 1
    wait = part.quantity("wait", "time", "2 s", 0.0, least=0.0)
    part.finish()
    if not math.isnan(start + length) and start >= length:
        part.problem(f"begins after the match, which lasts {length:g} s", "start")
    if len(part.problems) > before:
        return None, None, stated
    starts = [start + i * every for i in range(min(times, _MOST))]
    try:
        found = Consumer(
            name=name,
            starts=tuple(t for t in starts if t < length),
            duration=duration,
            current=_ANY if origin is not None else current,
            power=power,
            motors=motors,
            priority=priority,
            wait=wait,
        )
    except BadInput as bad:
        part.problem(bad.problem, bad.field)
        return None, None, stated
    return origin, found, stated
