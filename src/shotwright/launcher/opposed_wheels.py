"""Two driven wheels with the ball between them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from shotwright.game.records import Ball
from shotwright.launcher.protocol import Amount, amount, choice
from shotwright.launcher.rolling import bite_angle
from shotwright.launcher.slipping import Passage, Surface
from shotwright.launcher.wheels import (
    Inputs,
    Layout,
    WheelLauncher,
    WheelRelease,
    mean_force,
    squeeze_drag,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpposedWheels(WheelLauncher):
    """Two equal wheels, side by side or one above the other, at equal or unequal speeds.

    Where both grip: v is the mean of the rim speeds and r omega half their difference: backspin when the
    lower wheel is faster, spin to the left when the right one is.

    Parameters
    ----------
    first_rim_speed, second_rim_speed : Amount
        Of the upper and the lower wheel, or of the left and the right one. [m/s]
    gap : Amount
        Between the wheels. [m]
    arrangement : str
        How they stand.
    contact_force : str
        ``"followed"``: the squeeze grows and falls as the ball passes, and pushes it back and forward;
        ``"even"``: the mean force over the same length, which is many times quicker to compute.
    """

    kind: ClassVar[str] = "opposed wheels"

    first_rim_speed: Amount = amount(
        "m/s", "rim speed of the upper or left wheel", low=0.0, high=200.0, role="setting"
    )
    second_rim_speed: Amount = amount(
        "m/s", "rim speed of the lower or right wheel", low=0.0, high=200.0, role="setting"
    )
    gap: Amount = amount("m", "gap between the wheels", low=0.0, role="setting")
    arrangement: str = choice(
        "How do the wheels stand?", ("one above the other", "side by side"), default="one above the other"
    )
    contact_force: str = choice(
        "Is the force followed along the path, or taken as even?", ("followed", "even"), default="followed"
    )

    def layout(self, inputs: Inputs) -> Layout:
        """Return surfaces and path for arrays of inputs."""
        x = {name: np.asarray(value, float) for name, value in inputs.items()}
        r, wheel = x["ball_diameter"] / 2, x["wheel_radius"]
        squeeze = np.maximum(x["ball_diameter"] - x["gap"], 0.0)
        axis, reach = wheel + x["gap"] / 2, wheel + r
        half = np.sqrt(np.maximum(reach**2 - axis**2, 0.0))
        arm = 1 - squeeze / 2 / r
        followed = self.contact_force == "followed"
        force = (
            np.zeros_like(half)
            if followed
            else mean_force(self.compression, *np.broadcast_arrays(reach, axis, half))
        )
        upright = self.arrangement == "one above the other"
        names = ("upper wheel", "lower wheel") if upright else ("left wheel", "right wheel")
        surfaces = tuple(
            Surface(
                name,
                back=sign * arm if upright else 0.0,
                side=0.0 if upright else sign * arm,
                grip=x["wheel_grip"],
                rim_speed=x[which],
                reduced_mass=x["wheel_inertia"] / wheel**2,
                drive=x["wheel_torque"] / wheel,
                normal_force=force,
                wheel_radius=wheel if followed else None,
                axis_distance=axis,
            )
            for name, which, sign in zip(
                names, ("first_rim_speed", "second_rim_speed"), (-1.0, 1.0), strict=True
            )
        )
        rolling = squeeze_drag(self.compression, r, squeeze, force, 2 * half)
        passage = Passage(
            mass=x["ball_mass"],
            radius=r,
            inertia_factor=x["inertia_factor"],
            speed=x["feed_speed"],
            start=-half,
            end=half,
            drag=0.0 if followed else rolling,  # followed: the way back of the squeeze has the loss
        )
        return Layout(passage, surfaces, 2, 2 * half, squeeze)

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""
        found = list(WheelRelease.cautions(self, ball))
        angle = bite_angle(self.wheel_radius.value, ball.radius, self.gap.value)
        if math.tan(angle) > self.wheel_grip.value:
            found.append(
                f"The wheels first touch the ball at {math.degrees(angle):.0f}° and don't draw it in by "
                f"themselves: tan({math.degrees(angle):.0f}°) = {math.tan(angle):.2f} is more than their "
                f"grip of {self.wheel_grip.value:.2f}. It must be pushed in, or squeezed less."
            )
        return tuple(found)
