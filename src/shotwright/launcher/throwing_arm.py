"""The throwing arm as a launcher: its description, and its releases."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.game.records import Ball
from shotwright.launcher import arm
from shotwright.launcher.protocol import Amount, Mounted, amount, choice
from shotwright.launcher.release import Limit, Releases, spin_vectors
from shotwright.launcher.rows import columns_of
from shotwright.launcher.spring import rubber_energy

FloatArray = NDArray[np.float64]

_PLANE = (
    "Stand out of the arm's plane, before and behind it, keep fingers from the pivot and the latch, wear eye "
    "protection, and block the arm before a hand goes in."
)
_NONE = Amount(0.0, origin="assumed")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrowingArm(Mounted):
    """An arm that a spring or rubber turns about a pivot until a stop lets the ball go.

    The arm lies behind the pivot and swings up and over. Its angle is measured from the level behind the
    pivot, up positive; at the stop it stands at 90 degrees less the elevation of release.

    Parameters
    ----------
    name, elevation, azimuth
        As for every launcher; the stop sets the elevation.
    release_height : Amount
        Height of the ball's centre at the stop that the described elevation belongs to; at another stop the
        release point moves along the arm's circle. [m]
    drive : {"spring", "rubber"}
        An extension spring, or rubber by the neo-Hookean law.
    stiffness : Amount
        Of all springs together. [N/m]
    shear_modulus, section : Amount
        Of the rubber: modulus, and cross-section of all strands unstretched. [Pa], [m^2]
    rest_length : Amount
        Of spring or rubber, unstretched. [m]
    returned : Amount
        Energy that comes back of what was put in: 1 for a steel spring. [-]
    lever, anchor : Amount
        Distances from the pivot of the drive's end on the arm and of its fixed end. [m]
    anchor_angle : Amount
        Direction from the pivot to the fixed end, measured as the arm's angle. [rad]
    cocked_angle : Amount
        Angle of the arm at the latch. [rad]
    arm_length : Amount
        From pivot to the ball's centre. [m]
    arm_inertia : Amount
        Of the arm about the pivot, without ball. [kg m^2]
    arm_mass, arm_centre : Amount
        Mass of the arm, and distance of its centre of mass from the pivot. [kg], [m]
    """

    kind: ClassVar[str] = "throwing arm"

    drive: str = choice("what drives the arm?", ("spring", "rubber"))
    stiffness: Amount = amount("N/m", "stiffness of the springs together", low=0.0, default=_NONE)
    shear_modulus: Amount = amount("Pa", "shear modulus of the rubber", low=0.0, default=_NONE)
    section: Amount = amount("m^2", "cross-section of all strands of rubber", low=0.0, default=_NONE)
    rest_length: Amount = amount("m", "unstretched length of the drive", low=1e-4)
    returned: Amount = amount(
        "", "share of the energy that comes back", low=0.0, high=1.0, default=Amount(1.0, origin="assumed")
    )
    lever: Amount = amount("m", "pivot to the drive's end on the arm", low=1e-4)
    anchor: Amount = amount("m", "pivot to the drive's fixed end", low=1e-4)
    anchor_angle: Amount = amount(
        "rad", "direction of the fixed end from the pivot", low=-math.pi, high=2 * math.pi
    )
    cocked_angle: Amount = amount(
        "rad", "angle of the arm at the latch", low=-math.pi, high=math.pi / 2, role="setting"
    )
    arm_length: Amount = amount("m", "pivot to the ball's centre", low=1e-3)
    arm_inertia: Amount = amount("kg m^2", "inertia of the arm about the pivot", low=0.0)
    arm_mass: Amount = amount("kg", "mass of the arm", low=0.0, default=_NONE)
    arm_centre: Amount = amount("m", "pivot to the arm's centre of mass", low=0.0, default=_NONE)

    def __post_init__(self) -> None:
        """Refuse a drive without its numbers, and an arm that starts past its stop."""
        needed = ("stiffness",) if self.drive == "spring" else ("shear_modulus", "section")
        for name in needed:
            if not getattr(self, name).value > 0:
                raise BadInput(
                    f"is needed for a drive by {self.drive}, greater than zero", field=name.replace("_", " ")
                )
        if self.cocked_angle.value >= math.pi / 2 - self.elevation.value:
            raise BadInput(
                "the arm is past its stop already; the stop stands at 90 deg less the elevation",
                field="cocked angle",
            )

    def with_amounts(self, changes: Mapping[str, Amount | float]) -> Self:
        """Return a copy with some amounts changed; another stop also moves the release point."""
        # zero-argument super() does not work in a slotted dataclass, whose class is made twice
        changed = Mounted.with_amounts(self, changes)
        if "elevation" not in changes or "release_height" in changes:
            return changed
        rise = self.arm_length.value * (math.cos(changed.elevation.value) - math.cos(self.elevation.value))
        height = dataclasses.replace(self.release_height, value=self.release_height.value + rise)
        return dataclasses.replace(changed, release_height=height)

    def release(self, inputs: Mapping[str, ArrayLike]) -> Releases:
        """Return the releases for arrays of inputs, one row per shot."""
        x = columns_of(self, inputs)
        stop = math.pi / 2 - x["elevation"]
        cocked, relaxed = self._energy(x, x["cocked_angle"]), self._energy(x, stop)
        shot = arm.throw(
            x["returned"] * (cocked - relaxed),
            x["arm_inertia"],
            x["arm_length"],
            x["ball_mass"],
            arm_mass=x["arm_mass"],
            arm_centre=x["arm_centre"],
            start=x["cocked_angle"],
            stop=stop,
            radius=x["ball_diameter"] / 2,
            inertia_factor=x["inertia_factor"],
        )
        fires = shot.fires & (x["cocked_angle"] < stop)
        # Angle of the arm at the stop that the release height was stated for.
        stated = math.pi / 2 - self.elevation.value
        length, zero = x["arm_length"], np.zeros_like(shot.speed)
        point = np.column_stack(
            [
                length * (math.cos(stated) - np.cos(stop)),
                zero,
                x["release_height"] + length * (np.sin(stop) - math.sin(stated)),
            ]
        )
        taken = np.where(fires, cocked - relaxed, 0.0)
        return Releases(
            speed=np.where(fires, shot.speed, 0.0),
            elevation=x["elevation"],
            azimuth=x["azimuth"],
            spin=spin_vectors(x["elevation"], x["azimuth"], np.where(fires, -shot.turning, 0.0)),
            point=point,
            energy_taken=taken,
            stored_energy=cocked,
            motor_work=zero,
            ball_energy=np.where(fires, shot.ball, 0.0),
            losses={
                "arm stopped": np.where(fires, shot.arm, 0.0),
                "lifting": np.where(fires, shot.lifting, 0.0),
                "drive": (1 - x["returned"]) * taken,
            },
            rim_speeds=np.zeros((len(zero), 0)),
            limit=np.where(fires, Limit.ARM_STOPPED, Limit.NOT_THROWN).astype(np.uint8),
        )

    def _energy(self, x: Mapping[str, FloatArray], angle: FloatArray) -> FloatArray:
        """Energy in the drive with the arm at `angle`. [J]."""
        length = arm.drive_length(x["lever"], x["anchor"], x["anchor_angle"] - angle)
        if self.drive == "spring":
            return arm.spring_energy(x["stiffness"], x["rest_length"], length)
        return rubber_energy(length, x["rest_length"], x["section"], x["shear_modulus"])

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""
        x = columns_of(self, {one.name: one.value for one in self.inputs(ball)})
        cocked = float(self._energy(x, x["cocked_angle"])[0])
        shot = self.release(x)
        stopped = float(shot.losses["arm stopped"][0])
        return (
            f"The cocked arm holds {cocked:.3g} J in its {self.drive}.",
            _PLANE,
            f"The stop takes {stopped:.2g} J with each shot, and more without a ball: never fire it empty.",
        )
