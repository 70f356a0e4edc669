"""What a registry of coefficient laws holds, and the packed form that the equations of motion read."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from shotwright.base.errors import BadInput
from shotwright.flight.spline import clamped_spline, spline_minimum
from shotwright.game.records import CoefficientLaw

Variable = Literal["reynolds", "spin_parameter", "none"]

CONSTANT = 0
TABLE = 1


@dataclass(frozen=True, slots=True)
class Law:
    """One entry of a registry.

    Parameters
    ----------
    code : int
        Number by which the equations of motion know the law.
    function : callable or None
        Coefficient of one number, the law's variable; None for ``"constant"`` and ``"table"``, whose numbers
        come with the ball.
    variable : {"reynolds", "spin_parameter", "none"}
        What the coefficient depends on.
    low, high : float
        Range of the variable for which the law is stated. [-]
    source : str
        Author, year, title; and how sure we are of the coefficients.
    breaks : tuple of float
        Values of the variable at which the law has a corner or a jump. [-]
    """

    code: int
    function: Callable[[float], float] | None
    variable: Variable
    low: float
    high: float
    source: str
    breaks: tuple[float, ...] = ()


class PackedLaw(NamedTuple):
    """A law ready for the equations of motion: numbers only."""

    code: int
    scale: float
    constant: float
    knots: Sequence[float]
    pieces: Sequence[float]
    breaks: Sequence[float]


def pack_law(law: CoefficientLaw, registry: Mapping[str, Law], field: str) -> PackedLaw:
    """Check a law against its registry and pack it.

    Parameters
    ----------
    law : CoefficientLaw
        What the game's file says of the ball.
    registry : mapping of str to Law
        The laws by name.
    field : str
        ``"ball.drag"`` or ``"ball.lift"``, for the message.

    Returns
    -------
    PackedLaw
        Code and numbers.

    Raises
    ------
    BadInput
        Unknown name, a number that is missing or not finite, a table out of order.
    """
    if law.name not in registry:
        raise BadInput(f"{law.name!r} is not a law; choose one of {', '.join(registry)}", field=field)
    if not math.isfinite(law.scale) or law.scale < 0:
        raise BadInput(f"{law.scale} is not a scale; it must be a number, 0 or more", field=f"{field}.scale")
    constant = 0.0
    knots: tuple[float, ...] = (0.0, 1.0)
    pieces: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    breaks = registry[law.name].breaks
    if law.name == "constant":
        if law.constant is None or not math.isfinite(law.constant):
            raise BadInput("the constant law needs its coefficient, e.g. 0.5", field=f"{field}.constant")
        constant = law.constant
    if law.name == "table":
        knots, pieces = _packed_table(law.table, field)
        breaks = knots
    return PackedLaw(registry[law.name].code, law.scale, constant, knots, pieces, breaks)


def stated_range(law: CoefficientLaw, registry: Mapping[str, Law]) -> tuple[float, float]:
    """Return the range of the variable for which a law is stated; for a table, that of its points.

    Parameters
    ----------
    law : CoefficientLaw
        The law.
    registry : mapping of str to Law
        The laws by name.

    Returns
    -------
    tuple of float
        Low and high end. [-]
    """
    if law.name == "table":
        return law.table[0][0], law.table[-1][0]
    return registry[law.name].low, registry[law.name].high


def check_not_negative(packed: PackedLaw, field: str) -> None:
    """Raise BadInput when the coefficient is negative somewhere: drag never pushes."""
    least = spline_minimum(packed.knots, packed.pieces) if packed.code == TABLE else packed.constant
    if least < 0:
        raise BadInput(
            f"the drag coefficient falls to {least:.3g}; it must not be negative. "
            "In a table, add points where it changes quickly",
            field=field,
        )


def _packed_table(
    table: tuple[tuple[float, float], ...], field: str
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    if len(table) < 2:
        raise BadInput(f"a table needs at least 2 points, this one has {len(table)}", field=f"{field}.table")
    for number, (x, y) in enumerate(table, 1):
        if not (math.isfinite(x) and math.isfinite(y)):
            raise BadInput(f"point {number} is ({x}, {y}); both must be numbers", field=f"{field}.table")
    for number, (one, two) in enumerate(itertools.pairwise(table), 1):
        if not two[0] > one[0]:
            raise BadInput(
                f"point {number + 1} ({two[0]:g}) does not lie after point {number} ({one[0]:g}); sort the "
                "points and type each once",
                field=f"{field}.table",
            )
    return clamped_spline([x for x, _ in table], [y for _, y in table])
