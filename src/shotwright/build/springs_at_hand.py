"""Springs at hand, searched for the one that gives the wanted launch energy over the wanted stroke."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

SOLID_RESERVE = 0.10  # of the deflection to solid that stays unused: common practice, no source


@dataclass(frozen=True, slots=True)
class SpringAtHand:
    """One kind of spring in the box.

    Parameters
    ----------
    name : str
        What the crew calls it.
    rate : float
        k. [N/m]
    most_deflection : float
        How far it may be bent: to solid less a reserve, or the maker's figure. [m]
    number : int
        How many there are.
    initial_tension : float
        Force before an extension spring opens. [N]
    mass : float
        Of one; 0 when not known. [kg]
    """

    name: str
    rate: float
    most_deflection: float
    number: int = 1
    initial_tension: float = 0.0
    mass: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is no spring."""
        for field, value in (("rate", self.rate), ("most_deflection", self.most_deflection)):
            if not (math.isfinite(value) and value > 0):
                raise BadInput(f"{value:g} must be above zero", field=field)
        if self.number < 1:
            raise BadInput(f"{self.number} springs; at least one", field="number")


@dataclass(frozen=True, slots=True)
class SpringWish(Result):
    """What the launcher wants of its spring.

    Parameters
    ----------
    energy_j : float
        Work of the stroke.
    stroke_m : float
        Of the piston.
    side_by_side : int
        Most springs that pull together.
    most_force_n : float
        Largest force when wound, all together; inf for any.
    most_preload_m : float
        Largest deflection at the front stop; inf for any.
    """

    energy_j: float
    stroke_m: float
    side_by_side: int = 1
    most_force_n: float = math.inf
    most_preload_m: float = math.inf


@dataclass(frozen=True, slots=True)
class SpringChoice(Result):
    """One kind of spring, so many side by side, against the wish.

    Parameters
    ----------
    name : str
        The spring.
    side_by_side : int
        How many pull together.
    fits : bool
        Whether the wish is met.
    preload_m : float, optional
        Deflection at the front stop that gives the energy; None when no preload does.
    front_n, wound_n : float, optional
        Force at both ends, all together.
    stored_j : float, optional
        All that sits in the wound springs.
    used : float, optional
        Share of the allowed deflection.
    reason : str
        Why it fails, or what speaks for it.
    """

    name: str
    side_by_side: int
    fits: bool
    preload_m: float | None
    front_n: float | None
    wound_n: float | None
    stored_j: float | None
    used: float | None
    reason: str


def judge_spring(spring: SpringAtHand, count: int, wish: SpringWish) -> SpringChoice:
    """Find the preload with which `count` of a spring give the wanted energy, and whether that can be.

    E = n (F_i S + k S x0 + k S^2/2), so x0 = (E/n - F_i S)/(k S) - S/2.

    Parameters
    ----------
    spring : SpringAtHand
        One kind.
    count : int
        Side by side.
    wish : SpringWish
        What is wanted.

    Returns
    -------
    SpringChoice
        With the reason.
    """
    k, s, pull = spring.rate, wish.stroke_m, spring.initial_tension
    x0 = (wish.energy_j / count - pull * s) / (k * s) - s / 2
    if x0 < -1e-12:
        least = count * (pull * s + 0.5 * k * s**2)
        reason = f"too stiff: it stores {least:.3g} J over the stroke even without preload"
        return SpringChoice(spring.name, count, False, None, None, None, None, None, reason)
    x0 = max(x0, 0.0)
    wound = x0 + s
    front, force = count * (pull + k * x0), count * (pull + k * wound)
    used = wound / spring.most_deflection
    reasons = []
    if used > 1 + 1e-12:
        reasons.append(
            f"needs {1e3 * wound:.3g} mm of deflection, {1e3 * spring.most_deflection:.3g} mm are allowed"
        )
    if force > wish.most_force_n * (1 + 1e-12):
        reasons.append(f"wound it pulls {force:.3g} N, more than {wish.most_force_n:.3g} N")
    if x0 > wish.most_preload_m * (1 + 1e-12):
        reasons.append(f"needs {1e3 * x0:.3g} mm of preload, more than {1e3 * wish.most_preload_m:.3g} mm")
    if not reasons:
        told = f"{100 * (1 - used):.0f} % of its deflection to spare"
        if x0 < 0.05 * wound:
            told += "; hardly any preload, so a snail cam needs a blend"
    else:
        told = "; ".join(reasons)
    stored = count * (pull * wound + 0.5 * k * wound**2)
    return SpringChoice(spring.name, count, not reasons, x0, front, force, stored, used, told)


def search_springs(springs: Sequence[SpringAtHand], wish: SpringWish) -> tuple[SpringChoice, ...]:
    """Judge all springs at hand; those that fit first.

    Of those that fit the one with the least force when wound leads: it asks least of motor, cam and frame.
    Forces that agree within 2 % are ranked by fewer springs. Of a kind that fails, only the count that comes
    nearest is told.

    Parameters
    ----------
    springs : sequence of SpringAtHand
        The box.
    wish : SpringWish
        What is wanted.

    Returns
    -------
    tuple of SpringChoice
        Ranked.

    Raises
    ------
    BadInput
        No spring, or a wish that is none.
    """
    if not springs:
        raise BadInput("the list holds no spring")
    if not (wish.energy_j > 0 and wish.stroke_m > 0):
        raise BadInput(f"energy {wish.energy_j:g} J and stroke {1e3 * wish.stroke_m:g} mm must be above zero")
    fit: list[SpringChoice] = []
    failed: list[SpringChoice] = []
    for spring in springs:
        most = min(spring.number, max(wish.side_by_side, 1))
        told = [judge_spring(spring, n, wish) for n in range(1, most + 1)]
        good = [one for one in told if one.fits]
        fit += good
        if not good:
            failed.append(min(told, key=lambda one: math.inf if one.used is None else one.used))
    step = math.log(1.02)
    fit.sort(key=lambda one: (round(math.log(one.wound_n or 1.0) / step), one.side_by_side, one.used))
    failed.sort(key=lambda one: math.inf if one.used is None else one.used)
    return (*fit, *failed)
