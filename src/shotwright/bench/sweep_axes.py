"""The two inputs of a map, as a person names them: ``stroke``, ``stiffness = 600 N/m .. 1200 N/m``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.quantities import parse_quantity, unit_scale
from shotwright.game.records import Ball
from shotwright.launcher.description import Described
from shotwright.launcher.protocol import Input
from shotwright.launcher.reading import UNITS


@dataclass(frozen=True, slots=True)
class SweepAxis(Result):
    """One of the two inputs of a map.

    Parameters
    ----------
    name, label : str
        As in the launcher file, and as people write it.
    unit : str
        Unit of the values below.
    values : tuple of float
        Rising.
    """

    name: str
    label: str
    unit: str
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Axis:
    """An input, its range and the unit in which it is shown."""

    input: Input
    low: float
    high: float
    unit: str
    scale: float

    def shown(self, values: Sequence[float]) -> SweepAxis:
        """Return the values in the unit of the axis."""
        scaled = tuple(float(v) / self.scale for v in values)
        return SweepAxis(self.input.name, self.input.label, self.unit, scaled)


def read_axes(described: Described, ball: Ball, x: str | None, y: str | None) -> tuple[Axis, Axis]:
    """Read the two inputs of a map.

    Parameters
    ----------
    described : Described
        The launcher.
    ball : Ball
        Its ball.
    x, y : str, optional
        ``NAME``, or ``NAME = LOW .. HIGH``; None takes the next setting.

    Returns
    -------
    tuple of Axis
        Across and up.

    Raises
    ------
    BadInput
        No such input, no range, or one that makes no sense.
    """
    names = [one.name for one in described.settings]
    asked = [text for text in (x, y) if text is not None]
    rest = [name for name in names if name not in {_name_of(text) for text in asked}]
    wanted = [x if x is not None else (rest.pop(0) if rest else None), y]
    wanted[1] = y if y is not None else (rest.pop(0) if rest else None)
    if wanted[0] is None or wanted[1] is None:
        raise BadInput(
            f"{described.prototype!r} has {len(names)} settings in its launcher file, two are needed; name "
            "an input with its range: --y 'stiffness = 600 N/m .. 1200 N/m'",
            field="sweep",
        )
    first, second = (_axis(described, ball, text) for text in wanted if text is not None)
    if first.input.name == second.input.name:
        raise BadInput(f"{first.input.label} stands on both axes; name two inputs", field="sweep")
    return first, second


def _name_of(text: str) -> str:
    return text.partition("=")[0].strip().replace(" ", "_").casefold()


def _axis(described: Described, ball: Ball, text: str) -> Axis:
    """Read ``NAME`` or ``NAME = LOW .. HIGH``."""
    inputs = {one.name: one for one in described.inputs(ball)}
    name, ranged = _name_of(text), text.partition("=")[2].strip()
    if name not in inputs:
        known = ", ".join(inputs)
        raise BadInput(f"there is no input {name!r}; there is: {known}", field="sweep")
    one = inputs[name]
    if not ranged:
        try:
            setting = described.setting(name)
        except KeyError:
            raise BadInput(
                f"{one.label} is no setting; give its range: '{name} = LOW .. HIGH', with units",
                field="sweep",
            ) from None
        return Axis(one, setting.low, setting.high, setting.unit, setting.scale)
    ends = [end.strip() for end in ranged.split("..")]
    if len(ends) != 2:
        raise BadInput(f"{ranged!r} is no range; type LOW .. HIGH, e.g. 60 mm .. 120 mm", field=name)
    kind = UNITS[one.unit][0]
    low, high = (parse_quantity(end, kind, name) for end in ends)
    if not low < high:
        raise BadInput(f"{ranged} does not rise; type the lower end first", field=name)
    if low < one.low or high > one.high:
        raise BadInput(f"{ranged} is out of range; {one.low:g} to {one.high:g} {one.unit}", field=name)
    unit = ends[0].lstrip("+-−0123456789.,eE ").strip()
    return Axis(one, low, high, unit, unit_scale(unit, kind, name)[0] if unit else 1.0)
