"""Every kind of launcher that can be described, by the trade's word."""

from __future__ import annotations

from typing import Any

from shotwright.launcher.spring_piston import SpringPiston
from shotwright.launcher.throwing_arm import ThrowingArm

KINDS: dict[str, Any] = {one.kind: one for one in (SpringPiston, ThrowingArm)}
