"""Any number of driven wheels and fixed surfaces around the ball."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Self

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.game.records import Ball
from shotwright.launcher.compression import Compression
from shotwright.launcher.impulse import gripped_state
from shotwright.launcher.protocol import Amount, Input, Mounted, amount, amounts_of, ball_inputs
from shotwright.launcher.slipping import Passage, Surface
from shotwright.launcher.wheels import FEED, LOST, OFFSET, Inputs, Layout, WheelRelease


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """One driven wheel or fixed surface that touches the ball.

    Parameters
    ----------
    name : str
        What the crew calls it.
    place : Amount
        Angle of the contact seen from behind the ball, anticlockwise from the right: 90° above, 180° on the
        left, 270° below. [rad]
    rim_speed : Amount
        0 for a fixed surface. [m/s]
    radius, inertia : Amount
        Of the wheel; an inertia of 0 stands for a surface that does not move, or is held at its
        speed. [m], [kg m^2]
    torque : Amount
        Of the motor while the ball passes. [N m]
    grip : Amount
        Friction coefficient. [-]
    squeeze : Amount
        How far it presses into the ball, along its own normal. [m]
    """

    name: str
    place: Amount = amount("rad", "place seen from behind, anticlockwise from the right", low=-6.3, high=6.3)
    rim_speed: Amount = amount(
        "m/s", "rim speed", low=-200.0, high=200.0, role="setting", default=Amount(0.0)
    )
    radius: Amount = amount("m", "radius of the wheel", low=1e-4, default=Amount(0.05, 0.0, "assumed"))
    inertia: Amount = amount("kg m^2", "inertia; 0 for a fixed surface", low=0.0, default=Amount(0.0))
    torque: Amount = amount("N m", "motor torque during the shot", default=Amount(0.0))
    grip: Amount = amount("", "friction coefficient", low=0.0, high=5.0)
    squeeze: Amount = amount("m", "how far it presses into the ball", low=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelsAround(Mounted, WheelRelease):
    """Wheels and surfaces all around a ball that they hold over a straight path.

    Two contacts leave the spin across them as it was, three fix all of it, more contradict each other in
    general: then some slip however long the contact is, and the release says so.

    Parameters
    ----------
    surfaces : tuple of Around
        At least one, with different names.
    contact_length : Amount
        Length of the path along which they touch the ball. [m]
    feed_speed, energy_lost, release_offset, compression
        As for every wheel launcher.
    """

    kind: ClassVar[str] = "wheels around the ball"

    surfaces: tuple[Around, ...] = field(metadata={"parts": Around})
    contact_length: Amount = amount("m", "length of the contact", low=1e-4)
    feed_speed: Amount = FEED
    energy_lost: Amount = LOST
    release_offset: Amount = OFFSET
    compression: Compression = field(metadata={"compression": True})

    def __post_init__(self) -> None:
        """Refuse a launcher without surfaces, or with two of one name."""
        names = [one.name for one in self.surfaces]
        if not names or len(set(names)) < len(names):
            raise BadInput("needs surfaces, each with its own name", field="surfaces")

    def inputs(self, ball: Ball) -> tuple[Input, ...]:
        """Return the amounts of the launcher, those of each surface behind its name, and the ball's."""
        parts = tuple(
            dataclasses.replace(item, name=prefixed(one.name, item.name))
            for one in self.surfaces
            for item in amounts_of(one)
        )
        return (*amounts_of(self), *parts, *ball_inputs(ball))

    def amount(self, name: str) -> Amount:
        """Return the amount of that name, a surface's behind its own; AttributeError when there is none."""
        for one in self.surfaces:
            for part in _PARTS:
                if prefixed(one.name, part) == name:
                    held: Amount = getattr(one, part)
                    return held
        return Mounted.amount(self, name)

    def with_amounts(self, changes: Mapping[str, Amount | float]) -> Self:
        """Return a copy with some amounts changed; a plain number keeps the spread and the origin."""
        rest = dict(changes)
        surfaces = []
        for one in self.surfaces:
            new: dict[str, Amount] = {}
            for item in amounts_of(one):
                value = rest.pop(prefixed(one.name, item.name), None)
                if value is not None:
                    held: Amount = getattr(one, item.name)
                    new[item.name] = (
                        value if isinstance(value, Amount) else dataclasses.replace(held, value=float(value))
                    )
            surfaces.append(dataclasses.replace(one, **new))  # type: ignore[arg-type]  # amounts only
        return Mounted.with_amounts(dataclasses.replace(self, surfaces=tuple(surfaces)), rest)

    def layout(self, inputs: Inputs) -> Layout:
        """Return surfaces and path for arrays of inputs; driven ones first."""
        x = {name: np.asarray(value, float) for name, value in inputs.items()}
        r = x["ball_diameter"] / 2
        held = []
        deepest = np.zeros_like(r)
        drag = np.zeros_like(r)
        for one in sorted(self.surfaces, key=lambda s: s.inertia.value <= 0):
            part = {key: x[prefixed(one.name, key)] for key in _PARTS}
            squeeze = np.maximum(part["squeeze"], 0.0)
            arm = 1 - squeeze / r
            force = self.compression.force(2 * squeeze)
            with np.errstate(divide="ignore"):
                heavy = np.where(part["inertia"] > 0, part["inertia"], np.inf) / part["radius"] ** 2
            held.append(
                Surface(
                    one.name,
                    back=-np.sin(part["place"]) * arm,
                    side=np.cos(part["place"]) * arm,
                    grip=part["grip"],
                    rim_speed=part["rim_speed"],
                    reduced_mass=heavy,
                    drive=part["torque"] / part["radius"],
                    normal_force=force,
                )
            )
            deepest = np.maximum(deepest, squeeze)
            rolling = self.compression.loss * (3 / 16) * np.sqrt(squeeze / r) * force
            entry = self.compression.loss * self.compression.work(2 * squeeze) / 2
            drag = drag + rolling + entry / x["contact_length"]
        passage = Passage(
            mass=x["ball_mass"],
            radius=r,
            inertia_factor=x["inertia_factor"],
            speed=x["feed_speed"],
            start=0.0,
            end=x["contact_length"],
            drag=drag,
        )
        driven = sum(one.inertia.value > 0 for one in self.surfaces)
        return Layout(
            passage, tuple(held), driven, np.broadcast_to(x["contact_length"], r.shape), 2 * deepest
        )

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""
        found = list(WheelRelease.cautions(self, ball))
        laid = self.layout({one.name: np.array([one.value]) for one in self.inputs(ball)})
        end = gripped_state(
            ball.mass,
            ball.inertia_factor,
            [[float(np.ravel(s.back)[0]), float(np.ravel(s.side)[0])] for s in laid.surfaces],
            [float(np.ravel(s.rim_speed)[0]) for s in laid.surfaces],
            [np.inf] * len(laid.surfaces),
        )
        if not end.all_grip[0]:
            found.append(
                f"The {len(laid.surfaces)} surfaces contradict each other: no motion of the ball grips them "
                f"all, and at least one slips by {abs(end.slip_left[0]).max():.2g} m/s however long the "
                "contact is. It wears the ball and makes the spin depend on grip."
            )
        return tuple(found)


_PARTS = tuple(one.name for one in dataclasses.fields(Around) if "amount" in one.metadata)


def prefixed(surface: str, name: str) -> str:
    """Name of a surface's amount among the launcher's inputs.

    Parameters
    ----------
    surface, name : str
        Of the surface; of its amount.

    Returns
    -------
    str
        With underscores.
    """
    return f"{surface.replace(' ', '_')}_{name}"
