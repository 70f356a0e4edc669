"""Every kind of launcher that can be described, by the trade's word."""

from __future__ import annotations

from typing import Any

from shotwright.launcher.opposed_wheels import OpposedWheels
from shotwright.launcher.spring_piston import SpringPiston
from shotwright.launcher.three_wheels import ThreeWheels
from shotwright.launcher.throwing_arm import ThrowingArm
from shotwright.launcher.wheel_and_hood import WheelAndHood
from shotwright.launcher.wheels_around import WheelsAround

KINDS: dict[str, Any] = {
    one.kind: one
    for one in (WheelAndHood, OpposedWheels, ThreeWheels, WheelsAround, SpringPiston, ThrowingArm)
}
