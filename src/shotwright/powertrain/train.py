"""Gears, chains and belts between motor and wheel: ratio, losses, and what can be built from owned parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

Kind = Literal["spur", "chain", "belt", "planetary", "worm"]
KINDS: tuple[Kind, ...] = ("spur", "chain", "belt", "planetary", "worm")

# efficiency of one stage, and where it comes from
EFFICIENCY: dict[Kind, tuple[float, str]] = {
    "spur": (0.965, "95 to 98 % for spur and helical gears: howengineeringworks.com; printed ones: measure"),
    "chain": (0.965, "95 to 98 %, roller chain, from memory"),
    "belt": (0.965, "95 to 98 %, up to 10 % less out of line or over-tight: a belt maker's note"),
    "planetary": (0.97, "about 97 % a stage, from memory"),
    "worm": (math.nan, "from lead angle and friction: Shigley eq. 13-46, from memory"),
}


@dataclass(frozen=True, slots=True)
class Stage(Result):
    """One stage of a train.

    Parameters
    ----------
    kind : {"spur", "chain", "belt", "planetary", "worm"}
        What it is.
    ratio : float
        Turns in for one turn out. [-]
    efficiency : float
        Share of the power that comes out, motor drives wheel. [-]
    back_efficiency : float
        The same when the wheel drives the motor; 0 or less: it locks. [-]
    source : str
        Of the efficiency.
    teeth : tuple of int
        Driving and driven, if it has them.
    """

    kind: Kind
    ratio: float
    efficiency: float
    back_efficiency: float
    source: str
    teeth: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not (self.ratio > 0 and math.isfinite(self.ratio)):
            raise BadInput(f"{self.ratio:g} is not a ratio; it must be greater than zero", field="ratio")
        if not 0 < self.efficiency <= 1:
            raise BadInput(
                f"{self.efficiency:g} is not an efficiency; it must be above 0 and at most 1",
                field="efficiency",
            )


def stage(kind: Kind, ratio: float, efficiency: float | None = None, teeth: tuple[int, ...] = ()) -> Stage:
    """Stage of a kind, with the trade's efficiency when none is stated.

    Parameters
    ----------
    kind : {"spur", "chain", "belt", "planetary", "worm"}
        What it is; a worm needs its efficiency: see :func:`worm`.
    ratio : float
        Turns in for one turn out. [-]
    efficiency : float, optional
        As measured. [-]
    teeth : tuple of int
        Driving and driven.

    Returns
    -------
    Stage
        It loses the same share in both directions.
    """
    usual, source = EFFICIENCY[kind]
    if efficiency is None and math.isnan(usual):
        raise BadInput("a worm needs its efficiency: it follows from lead angle and friction", field="worm")
    value = usual if efficiency is None else efficiency
    return Stage(kind, ratio, value, value, source if efficiency is None else "stated", teeth)


def worm(ratio: float, lead: float, friction: float, pressure: float = math.radians(20)) -> Stage:
    """Worm and wheel: e = (cos p - f tan l)/(cos p + f cot l), back (cos p - f cot l)/(cos p + f tan l).

    Parameters
    ----------
    ratio : float
        Teeth of the wheel over threads of the worm. [-]
    lead : float
        Lead angle l. [rad]
    friction : float
        Coefficient f. [-]
    pressure : float
        Normal pressure angle p. [rad]

    Returns
    -------
    Stage
        Self-locking where the back efficiency is 0 or less; vibration can still undo it.

    References
    ----------
    Shigley's Mechanical Engineering Design, eq. 13-46 (from memory).
    """
    cos, tan = math.cos(pressure), math.tan(lead)
    ahead = (cos - friction * tan) / (cos + friction / tan)
    back = (cos - friction / tan) / (cos + friction * tan)
    return Stage("worm", ratio, ahead, back, EFFICIENCY["worm"][1])


@dataclass(frozen=True, slots=True)
class Train(Result):
    """Stages in a row, from motor to wheel.

    Parameters
    ----------
    stages : tuple of Stage
        None: the motor sits on the wheel's shaft.
    """

    stages: tuple[Stage, ...] = ()

    @property
    def ratio(self) -> float:
        """Turns of the motor for one turn of the wheel. [-]."""
        return math.prod(one.ratio for one in self.stages)

    @property
    def efficiency(self) -> float:
        """Share of the power that reaches the wheel. [-]."""
        return math.prod(one.efficiency for one in self.stages)

    @property
    def back_efficiency(self) -> float:
        """Share of the wheel's power that reaches the motor; 0 when a stage locks. [-]."""
        return math.prod(max(one.back_efficiency, 0.0) for one in self.stages)


def reflected_inertia(wheel: float, train: Train, rotor: float, motors: int = 1) -> float:
    """Inertia that the wheel's shaft feels while motors drive it: J = J_w + eta G^2 N J_m.

    Parameters
    ----------
    wheel : float
        Of the wheel alone. [kg m^2]
    train : Train
        Between them.
    rotor : float
        Of one motor. [kg m^2]
    motors : int
        On the shaft.

    Returns
    -------
    float
        [kg m^2]
    """
    return wheel + train.efficiency * train.ratio**2 * motors * rotor


@dataclass(frozen=True, slots=True)
class BuildableTrain(Result):
    """A train from owned gears.

    Parameters
    ----------
    pairs : tuple of tuple of int
        Driving and driven teeth of each stage.
    ratio : float
        Exact. [-]
    error : float
        Its ratio over the wanted one, minus 1. [-]
    size : int
        Sum of all teeth: with one module, a measure of space.
    """

    pairs: tuple[tuple[int, int], ...]
    ratio: float
    error: float
    size: int

    @property
    def stages(self) -> int:
        """How many."""
        return len(self.pairs)


def _pairs(teeth: Sequence[int], smallest: int) -> list[tuple[int, int]]:
    owned = sorted({int(one) for one in teeth})
    if not owned or owned[0] < 1:
        raise BadInput("no tooth counts; list those that you own, e.g. 12, 15, 24, 36, 60")
    return [(a, b) for a in owned for b in owned if a >= smallest and a != b]


def all_trains(
    teeth: Sequence[int], most_stages: int = 2, smallest_driver: int = 1
) -> list[tuple[float, int, tuple[tuple[int, int], ...]]]:
    """List every ratio that owned gears can make, with the fewest stages and smallest sum of teeth.

    Parameters
    ----------
    teeth : sequence of int
        Tooth counts owned, any number of each.
    most_stages : int
        1 to 3.
    smallest_driver : int
        Fewest teeth that may drive.

    Returns
    -------
    list of (ratio, teeth in all, pairs)
        By ratio. [-]
    """
    pairs = _pairs(teeth, smallest_driver)
    if not 1 <= most_stages <= 3:
        raise BadInput(f"{most_stages} stages; 1 to 3 can be searched", field="stages")
    best: dict[float, tuple[int, int, tuple[tuple[int, int], ...]]] = {}
    level: dict[float, tuple[int, tuple[tuple[int, int], ...]]] = {1.0: (0, ())}
    for count in range(1, most_stages + 1):
        grown: dict[float, tuple[int, tuple[tuple[int, int], ...]]] = {}
        for size, before in level.values():
            for pair in pairs:
                chain = tuple(sorted((*before, pair)))
                ratio = math.prod(b for _, b in chain) / math.prod(a for a, _ in chain)
                total = size + sum(pair)
                if ratio not in grown or (total, chain) < grown[ratio]:
                    grown[ratio] = (total, chain)
        for ratio, (size, chain) in grown.items():
            best.setdefault(ratio, (count, size, chain))  # fewer stages came first
        level = grown
    return [(ratio, size, chain) for ratio, (_, size, chain) in sorted(best.items())]


def nearest_trains(
    wanted: float, teeth: Sequence[int], most_stages: int = 2, show: int = 5, smallest_driver: int = 1
) -> tuple[BuildableTrain, ...]:
    """Trains from owned gears that come nearest to a ratio, ranked by error, then stages, then size.

    Parameters
    ----------
    wanted : float
        Ratio. [-]
    teeth : sequence of int
        Tooth counts owned, any number of each.
    most_stages : int
        1 to 3.
    show : int
        How many.
    smallest_driver : int
        Fewest teeth that may drive.

    Returns
    -------
    tuple of BuildableTrain
        Nearest first.

    Raises
    ------
    BadInput
        No ratio, or no gears.

    Notes
    -----
    Of trains with the same ratio only the one with fewest stages and teeth is listed. Whether the shafts
    fit, and whether the gears mesh (module, pitch), is for the crew to see.

    Examples
    --------
    >>> nearest_trains(3.0, [12, 18, 36])[0].pairs
    ((12, 36),)
    """
    if not (wanted > 0 and math.isfinite(wanted)):
        raise BadInput(f"{wanted:g} is not a ratio; it must be greater than zero", field="ratio")
    found = [
        BuildableTrain(pairs, ratio, ratio / wanted - 1, size)
        for ratio, size, pairs in all_trains(teeth, most_stages, smallest_driver)
    ]
    if not found:
        raise BadInput("one tooth count makes no ratio; list two or more", field="teeth")
    # errors that agree to the last printed digit are ties: fewer stages win
    found.sort(key=lambda one: (round(abs(one.error), 9), one.stages, one.size))
    return tuple(found[:show])
