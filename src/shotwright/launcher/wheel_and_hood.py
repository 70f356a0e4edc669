"""One driven wheel and a fixed hood around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from shotwright.game.records import Ball
from shotwright.launcher.protocol import Amount, amount, choice, input_arrays
from shotwright.launcher.rolling import hood_share_needed
from shotwright.launcher.slipping import Passage, Surface
from shotwright.launcher.wheels import Inputs, Layout, WheelLauncher, WheelRelease, squeeze_drag


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelAndHood(WheelLauncher):
    """A wheel that rolls the ball along a hood about the same axis.

    Where both grip, the ball leaves at half the rim speed with backspin r omega = v: the wheel is the sun,
    the hood the ring and the ball the planet of an epicyclic gear. The hood's friction pushes the ball
    forward.

    Parameters
    ----------
    rim_speed : Amount
        [m/s]
    gap : Amount
        Diameter of the largest ball that passes without being squeezed. [m]
    wrap_angle : Amount
        Angle about the wheel's axis over which hood and wheel hold the ball. [rad]
    hood_grip : Amount
        Friction coefficient of ball on hood. [-]
    rail_angle : Amount
        Angle from the middle plane at which two rails touch the ball; 0 for a hood that touches in the
        middle. [rad]
    feed_lag : Amount
        Length of path lost where the ball meets the wheel late. [m]
    entry_length : Amount
        Length over which the squeeze builds up. [m]
    inertia_on_curve : str
        Whether the ball's own inertia on the curved path, m v^2/rho, loads the hood and unloads the wheel.
    """

    kind: ClassVar[str] = "wheel and hood"

    rim_speed: Amount = amount("m/s", "rim speed of the wheel", low=0.0, high=200.0, role="setting")
    gap: Amount = amount("m", "largest ball that passes unsqueezed", low=0.0, role="setting")
    wrap_angle: Amount = amount(
        "rad", "angle over which hood and wheel hold the ball", low=0.01, high=6.28, role="setting"
    )
    hood_grip: Amount = amount("", "friction coefficient of ball on hood", low=0.0, high=5.0)
    rail_angle: Amount = amount(
        "rad", "angle of two rails from the middle plane", low=0.0, high=1.3, default=Amount(0.0)
    )
    feed_lag: Amount = amount("m", "length of contact lost on feeding", default=Amount(0.0))
    entry_length: Amount = amount(
        "m", "length over which the squeeze builds up", low=0.0, default=Amount(0.0, 0.0, "assumed")
    )
    inertia_on_curve: str = choice(
        "Does the ball's inertia on the curved path count?", ("counted", "left out"), default="counted"
    )

    def layout(self, inputs: Inputs) -> Layout:
        """Return surfaces and path for arrays of inputs."""
        x = {name: np.asarray(value, float) for name, value in inputs.items()}
        r, wheel = x["ball_diameter"] / 2, x["wheel_radius"]
        squeeze = np.maximum(x["ball_diameter"] - x["gap"], 0.0)
        arm, path = 1 - squeeze / 2 / r, wheel + r - squeeze / 2
        length = np.maximum(path * x["wrap_angle"] - x["feed_lag"], 0.0)
        force, cos = self.compression.force(squeeze), np.cos(x["rail_angle"])
        wheel_surface = Surface(
            "wheel",
            back=arm,
            side=0.0,
            grip=x["wheel_grip"],
            rim_speed=x["rim_speed"],
            reduced_mass=x["wheel_inertia"] / wheel**2,
            drive=x["wheel_torque"] / wheel,
            normal_force=force,
            curve_share=-0.5,
        )
        # two rails share the force, each at an angle: N/(2 cos) apiece
        hood = Surface(
            "hood",
            back=-arm * cos,
            side=0.0,
            grip=x["hood_grip"],
            normal_force=force / cos,
            curve_share=0.5 / cos,
        )
        passage = Passage(
            mass=x["ball_mass"],
            radius=r,
            inertia_factor=x["inertia_factor"],
            speed=x["feed_speed"],
            start=0.0,
            end=length,
            path_radius=path if self.inertia_on_curve == "counted" else np.inf,
            entry_length=x["entry_length"],
            drag=squeeze_drag(self.compression, r, squeeze, force, length),
        )
        return Layout(passage, (wheel_surface, hood), 1, length, squeeze)

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""
        found = list(WheelRelease.cautions(self, ball))
        inputs = input_arrays(self, ball)
        share = float(
            inputs["hood_grip"][0]
            / max(float(inputs["wheel_grip"][0]), 1e-12)
            / np.cos(inputs["rail_angle"][0])
        )
        needed = hood_share_needed(ball.inertia_factor)
        if share < needed:
            found.append(
                f"The hood has {share:.2f} times the wheel's friction; below {needed:.2f} the ball slides on "
                "it at first, and leaves slower with more spin if the contact ends before it rolls. The "
                "hood's friction pushes the ball forward: a slippery hood is a slower one."
            )
        return tuple(found)
