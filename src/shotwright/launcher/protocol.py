"""What every launcher model offers: named inputs with their spread, and releases from them."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, Protocol, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.game.records import Ball
from shotwright.launcher.release import Releases

FloatArray = NDArray[np.float64]
Role = Literal["setting", "build", "ball"]
AmountOrigin = Literal["stated", "measured", "assumed", "calibrated"]

BALL_INPUTS = ("ball_diameter", "ball_mass", "inertia_factor")


@dataclass(frozen=True, slots=True)
class Amount(Result):
    """A number of a launcher with its spread from shot to shot, SI.

    Parameters
    ----------
    value : float
        Mean.
    sd : float
        Standard deviation from shot to shot, same unit.
    origin : {"stated", "measured", "assumed", "calibrated"}
        Where the number comes from.
    doubt : float, optional
        Standard uncertainty of the mean itself, the same for all shots; None: not stated.
    """

    value: float
    sd: float = 0.0
    origin: AmountOrigin = "stated"
    doubt: float | None = None


@dataclass(frozen=True, slots=True)
class Input(Result):
    """One number that a release depends on, and that can be varied alone.

    Parameters
    ----------
    name : str
        Its name in the mapping that `release` takes, with underscores.
    unit : str
        SI unit; ``""`` for a plain number.
    value, sd : float
        Mean and standard deviation from shot to shot.
    low, high : float
        Range in which the model makes sense; draws are kept inside it.
    role : {"setting", "build", "ball"}
        What the crew turns between shots, what it builds, or what belongs to the ball.
    origin : {"stated", "measured", "assumed", "calibrated"}
        Where the value comes from.
    words : str
        What it is, in a few words.
    doubt : float, optional
        Standard uncertainty of the mean itself; None: not stated.
    """

    name: str
    unit: str
    value: float
    sd: float = 0.0
    low: float = -math.inf
    high: float = math.inf
    role: Role = "build"
    origin: AmountOrigin = "stated"
    words: str = ""
    doubt: float | None = None

    @property
    def label(self) -> str:
        """The name as people write it."""
        return self.name.replace("_", " ")


class Launcher(Protocol):
    """A launcher: a frozen record of its dimensions that answers for its releases."""

    @property
    def kind(self) -> str:
        """The trade's word: ``"wheel and hood"``, ``"spring piston"``, ..."""

    @property
    def name(self) -> str:
        """What the crew calls it."""

    def inputs(self, ball: Ball) -> tuple[Input, ...]:
        """Return every number that a release depends on, the ball's included."""

    def release(self, inputs: Mapping[str, ArrayLike]) -> Releases:
        """Return the releases for arrays of inputs, one row per shot."""

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""

    def amount(self, name: str) -> Amount:
        """Return the amount of that name; AttributeError when there is none."""

    def with_amounts(self, changes: Mapping[str, Amount | float]) -> Self:
        """Return the launcher with some amounts changed; a plain number keeps the spread."""


def amount(
    unit: str,
    words: str,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    role: Role = "build",
    default: Amount | None = None,
) -> Any:
    """Declare a field of a launcher record that holds an `Amount`; required when it has no default.

    Parameters
    ----------
    unit : str
        SI unit.
    words : str
        What it is, in a few words.
    low, high : float
        Allowed range.
    role : {"setting", "build"}
        What the crew turns between shots, or what it builds.
    default : Amount, optional
        Value when the crew states none.

    Returns
    -------
    dataclasses.Field
        A field with the metadata under ``"amount"``.
    """
    meta = {"amount": {"unit": unit, "words": words, "low": low, "high": high, "role": role}}
    if default is None:
        return dataclasses.field(metadata=meta)
    return dataclasses.field(default=default, metadata=meta)


def choice(words: str, options: tuple[str, ...], *, default: str | None = None) -> Any:
    """Declare a field of a launcher record that holds one of a few words.

    Parameters
    ----------
    words : str
        What is asked.
    options : tuple of str
        Allowed answers.
    default : str, optional
        Answer when the crew states none.

    Returns
    -------
    dataclasses.Field
        A field with the metadata under ``"choice"``.
    """
    meta = {"choice": {"words": words, "options": options}}
    if default is None:
        return dataclasses.field(metadata=meta)
    return dataclasses.field(default=default, metadata=meta)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mounted:
    """What all launcher records share: a name, where the ball leaves, and in which direction.

    Parameters
    ----------
    name : str
        What the crew calls it.
    elevation : Amount
        Direction in which the ball leaves, above the horizontal. [rad]
    azimuth : Amount
        Deviation of that direction from the aim line, to the left. [rad]
    release_height : Amount
        Height of the ball's centre at release. [m]
    """

    name: str
    elevation: Amount = amount(
        "rad", "direction of release above the horizontal", low=-1.5707, high=1.5707, role="setting"
    )
    release_height: Amount = amount("m", "height of the ball's centre at release", low=0.0)
    azimuth: Amount = amount("rad", "deviation from the aim line, to the left", default=Amount(0.0))

    def inputs(self, ball: Ball) -> tuple[Input, ...]:
        """Return the record's amounts in their order, then the ball's."""
        return (*amounts_of(self), *ball_inputs(ball))

    def amount(self, name: str) -> Amount:
        """Return the amount of that name; AttributeError when there is none."""
        held: Amount = getattr(self, name)
        return held

    def with_amounts(self, changes: Mapping[str, Amount | float]) -> Self:
        """Return a copy with some amounts changed; a plain number keeps the spread and the origin."""
        known = {one.name for one in amounts_of(self)}
        new: dict[str, Amount] = {}
        for name, value in changes.items():
            if name not in known:
                raise BadInput(f"no such amount; '{self.name}' has {', '.join(sorted(known))}", field=name)
            new[name] = (
                value
                if isinstance(value, Amount)
                else dataclasses.replace(getattr(self, name), value=float(value))
            )
        return dataclasses.replace(self, **new)  # type: ignore[arg-type]  # checked above


def amounts_of(record: Any) -> tuple[Input, ...]:
    """Read the amounts of a launcher record as inputs; raises BadInput for one outside its range.

    Parameters
    ----------
    record : dataclass
        A launcher record whose fields were declared by :func:`amount`.

    Returns
    -------
    tuple of Input
        In the order of the fields.
    """
    found = []
    for one in dataclasses.fields(record):
        meta = one.metadata.get("amount")
        if meta is None:
            continue
        held: Amount = getattr(record, one.name)
        if not (math.isfinite(held.value) and meta["low"] <= held.value <= meta["high"]):
            raise BadInput(
                f"{held.value:g} {meta['unit']} is out of range; allowed {meta['low']:g} to {meta['high']:g}",
                field=one.name.replace("_", " "),
            )
        if not (math.isfinite(held.sd) and held.sd >= 0):
            raise BadInput(
                f"{held.sd:g} is not a spread; type a standard deviation of 0 or more",
                field=f"{one.name.replace('_', ' ')} sd",
            )
        found.append(
            Input(one.name, value=held.value, sd=held.sd, origin=held.origin, doubt=held.doubt, **meta)
        )
    return tuple(found)


def ball_inputs(ball: Ball) -> tuple[Input, ...]:
    """Return diameter, mass and inertia factor of a ball as inputs, with the spread over the set.

    Parameters
    ----------
    ball : Ball
        The ball.

    Returns
    -------
    tuple of Input
        Named as in `BALL_INPUTS`.
    """
    return (
        Input(
            "ball_diameter",
            "m",
            ball.diameter,
            ball.diameter_sd,
            1e-6,
            math.inf,
            "ball",
            words="diameter of the ball",
        ),
        Input("ball_mass", "kg", ball.mass, ball.mass_sd, 1e-9, math.inf, "ball", words="mass of the ball"),
        Input(
            "inertia_factor",
            "",
            ball.inertia_factor,
            0.0,
            1e-6,
            1.0,
            "ball",
            words="alpha in I = alpha m r^2 of the ball",
        ),
    )


def input_arrays(
    launcher: Launcher, ball: Ball, given: Mapping[str, ArrayLike] | None = None
) -> dict[str, FloatArray]:
    """Fill a mapping for `release`: what is given, and the mean of everything else.

    Parameters
    ----------
    launcher : Launcher
        The launcher.
    ball : Ball
        The ball.
    given : mapping of str to array_like, optional
        Inputs that are varied; shapes (n,) or single numbers.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Every input of the launcher.

    Raises
    ------
    BadInput
        A name that the launcher does not have.
    """
    inputs = launcher.inputs(ball)
    given = given or {}
    unknown = set(given) - {one.name for one in inputs}
    if unknown:
        raise BadInput(
            f"no such input; '{launcher.name}' has {', '.join(one.name for one in inputs)}",
            field=sorted(unknown)[0],
        )
    columns = [np.asarray(given.get(one.name, one.value), dtype=float) for one in inputs]
    spread = np.broadcast_arrays(np.zeros(1), *columns)[1:]
    return {one.name: column for one, column in zip(inputs, spread, strict=True)}


def draw_inputs(launcher: Launcher, ball: Ball, n: int, rng: np.random.Generator) -> dict[str, FloatArray]:
    """Draw the inputs of n shots from their spreads: independent normals, kept in range.

    Parameters
    ----------
    launcher : Launcher
        The launcher.
    ball : Ball
        The ball.
    n : int
        Shots.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Every input of the launcher.
    """
    return {
        one.name: np.clip(one.value + one.sd * rng.standard_normal(n), one.low, one.high)
        if one.sd > 0
        else np.full(n, one.value)
        for one in launcher.inputs(ball)
    }
