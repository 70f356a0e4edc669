"""Three driven wheels: one below the ball and two above it, spaced apart."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from shotwright.game.records import Ball
from shotwright.launcher.compression import Compression
from shotwright.launcher.protocol import Amount, amount
from shotwright.launcher.slipping import Passage, Surface
from shotwright.launcher.wheels import (
    Inputs,
    Layout,
    WheelLauncher,
    WheelRelease,
    mean_force,
    squeeze_drag,
)

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreeWheels(WheelLauncher):
    """One wheel below the ball, two above it that touch it left and right of the middle.

    Where all grip, with cos phi from sin phi = spacing/(2 r): v = (u_t + u_b cos phi)/(1 + cos phi) and
    r omega = (u_b - u_t)/(1 + cos phi). Spacing alone makes no backspin; see :meth:`findings`.

    Parameters
    ----------
    lower_rim_speed, upper_left_rim_speed, upper_right_rim_speed : Amount
        In the middle of each tread. [m/s]
    spacing : Amount
        Across the path, between the places where the upper wheels touch the ball. [m]
    gap : Amount
        Height between the surfaces of the lower and the upper wheels. [m]
    crown_radius : Amount
        Radius of the upper treads' cross section where it is rounded; 0 for a flat tread. [m]
    upper_grip : Amount
        Friction coefficient of ball on the upper wheels. [-]
    """

    kind: ClassVar[str] = "three wheels"

    lower_rim_speed: Amount = amount(
        "m/s", "rim speed of the lower wheel", low=0.0, high=200.0, role="setting"
    )
    upper_left_rim_speed: Amount = amount(
        "m/s", "rim speed of the upper left wheel", low=0.0, high=200.0, role="setting"
    )
    upper_right_rim_speed: Amount = amount(
        "m/s", "rim speed of the upper right wheel", low=0.0, high=200.0, role="setting"
    )
    spacing: Amount = amount("m", "distance of the upper contacts across the path", low=0.0)
    gap: Amount = amount("m", "height between lower and upper wheels", low=0.0, role="setting")
    crown_radius: Amount = amount(
        "m", "radius of a rounded tread's cross section; 0 is flat", low=0.0, default=Amount(0.0)
    )
    upper_grip: Amount = amount("", "friction coefficient of ball on the upper wheels", low=0.0, high=5.0)

    def layout(self, inputs: Inputs) -> Layout:
        """Return surfaces and path for arrays of inputs; the force is even along the path."""
        x = {name: np.asarray(value, float) for name, value in inputs.items()}
        r, wheel = x["ball_diameter"] / 2, x["wheel_radius"]
        sin = np.minimum(x["spacing"] / (2 * r), 0.99)
        cos = np.sqrt(1 - sin**2)
        squeeze = np.maximum(r * (1 + cos) - x["gap"], 0.0)
        below, above = settled(self.compression, squeeze, cos)
        axis = wheel + r - below
        half = np.sqrt(np.maximum((wheel + r) ** 2 - axis**2, 0.0))
        force = mean_force(self.compression, *np.broadcast_arrays(wheel + r, axis, half))
        rolls = wheel - x["crown_radius"] * (1 - cos)
        lower = Surface(
            "lower wheel",
            back=1 - below / r,
            side=0.0,
            grip=x["wheel_grip"],
            rim_speed=x["lower_rim_speed"],
            reduced_mass=x["wheel_inertia"] / wheel**2,
            drive=x["wheel_torque"] / wheel,
            normal_force=force,
        )
        upper = tuple(
            Surface(
                f"upper {side} wheel",
                back=-cos * (1 - above / r),
                side=sign * sin * (1 - above / r),
                grip=x["upper_grip"],
                rim_speed=x[f"upper_{side}_rim_speed"] * rolls / wheel,
                reduced_mass=x["wheel_inertia"] / rolls**2,
                drive=x["wheel_torque"] / rolls,
                normal_force=force / (2 * cos),
            )
            for side, sign in (("left", -1.0), ("right", 1.0))
        )
        passage = Passage(
            mass=x["ball_mass"],
            radius=r,
            inertia_factor=x["inertia_factor"],
            speed=x["feed_speed"],
            start=0.0,
            end=2 * half,
            drag=squeeze_drag(self.compression, r, squeeze, force, 2 * half),
        )
        return Layout(passage, (lower, *upper), 3, 2 * half, squeeze)

    def findings(self, ball: Ball) -> tuple[str, ...]:
        """Say which of the ways by which a spaced pair can matter are at work here.

        Parameters
        ----------
        ball : Ball
            The ball.

        Returns
        -------
        tuple of str
            One sentence for each.
        """
        r = ball.radius
        cos = math.sqrt(1 - min(self.spacing.value / (2 * r), 0.99) ** 2)
        upper = (self.upper_left_rim_speed.value + self.upper_right_rim_speed.value) / 2
        found = [
            (
                f"Squeeze: the spacing takes {1e3 * r * (1 - cos):.1f} mm off the ball's height between the "
                "wheels; the same gap squeezes it that much less."
            )
        ]
        if abs(self.lower_rim_speed.value - upper) > 1e-9 * max(upper, 1.0):
            found.append(
                f"Speeds: the rim speeds differ, and the spacing makes the spin {2 / (1 + cos):.2f} times "
                "what the same difference gives without it."
            )
        elif self.crown_radius.value <= 0:
            found.append(
                "Speeds: equal rim speeds on flat treads give no backspin, whatever the spacing. Wheels that "
                "slow down during the shot even give a little topspin: two above lose less speed than one "
                "below."
            )
        if self.crown_radius.value > 0 and cos < 1:
            slower = self.crown_radius.value * (1 - cos) / self.wheel_radius.value
            found.append(
                f"Tread: the ball rides on the shoulders of the rounded upper treads, where they move "
                f"{100 * slower:.2g} % slower; that makes backspin."
            )
        if self.upper_grip.value < self.wheel_grip.value:
            found.append(
                "Grip: the upper wheels have less of it. While all slip, that makes backspin; it is gone "
                "once all grip."
            )
        return tuple(found)

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""
        return (*WheelRelease.cautions(self, ball), *self.findings(ball))


def settled(compression: Compression, squeeze: FloatArray, cos: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Share out a squeeze so that the ball's forces balance: N_below = 2 N_above cos phi.

    Parameters
    ----------
    compression : Compression
        Force against squeeze of both sides of the ball; one contact takes half.
    squeeze : ndarray, shape (n,)
        Of the whole, upright. [m]
    cos : ndarray, shape (n,)
        cos phi of the upper contacts. [-]

    Returns
    -------
    below, above : ndarray, shape (n,)
        Squeeze at the lower and at each upper contact, along its own normal. [m]
    """
    low, high = np.zeros_like(squeeze), np.array(squeeze, float)
    for _ in range(60):
        below = (low + high) / 2
        above = (squeeze - below) / cos
        too_much = compression.force(2 * below) > 2 * cos * compression.force(2 * above)
        low, high = np.where(too_much, low, below), np.where(too_much, below, high)
    below = (low + high) / 2
    return below, np.asarray((squeeze - below) / cos)
