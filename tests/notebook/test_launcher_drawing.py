"""Launchers drawn to scale: every kind has a drawing, and what is drawn has the sizes that were stated."""

from __future__ import annotations

import dataclasses
import math
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.game.records import Ball, CoefficientLaw
from shotwright.launcher.compression import Hertz
from shotwright.launcher.kinds import KINDS
from shotwright.launcher.opposed_wheels import OpposedWheels
from shotwright.launcher.protocol import Amount, Launcher
from shotwright.launcher.reading import launchers_from_text
from shotwright.launcher.three_wheels import ThreeWheels
from shotwright.launcher.wheel_and_hood import WheelAndHood
from shotwright.launcher.wheels_around import Around, WheelsAround
from shotwright.notebook.launcher_drawing import launcher_drawing
from shotwright.notebook.launcher_scenes import Round, Stroke, scenes_of

ROOT = Path(__file__).parents[2]
BALL = Ball("foam", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("none"))
COMMON = {
    "name": "paper <1>",
    "elevation": Amount(0.9),
    "release_height": Amount(0.5),
    "compression": Hertz(4e4),
}
WHEEL = {"wheel_radius": Amount(0.1), "wheel_inertia": Amount(0.002), "wheel_grip": Amount(0.6)}
HOOD = WheelAndHood(
    rim_speed=Amount(20.0),
    gap=Amount(0.158),
    wrap_angle=Amount(1.5),
    hood_grip=Amount(0.6),
    **COMMON,
    **WHEEL,
)
PAIR = OpposedWheels(
    first_rim_speed=Amount(18.0), second_rim_speed=Amount(22.0), gap=Amount(0.138), **COMMON, **WHEEL
)
TRIO = ThreeWheels(
    lower_rim_speed=Amount(20.0), upper_left_rim_speed=Amount(20.0), upper_right_rim_speed=Amount(20.0),
    spacing=Amount(0.1), gap=Amount(0.13), upper_grip=Amount(0.6), **COMMON, **WHEEL,
)  # fmt: skip
AROUND = WheelsAround(
    surfaces=(Around(name="top", place=Amount(math.pi / 2), grip=Amount(0.5), squeeze=Amount(0.01)),),
    contact_length=Amount(0.2),
    **COMMON,
)
WRITTEN = "\n".join(
    (ROOT / part).read_text(encoding="utf-8")
    for part in ("src/shotwright/bench/yard/launchers.toml", "docs/examples/launchers.toml")
)
ALL: tuple[Launcher, ...] = (HOOD, PAIR, dataclasses.replace(PAIR, arrangement="side by side"), TRIO,
    dataclasses.replace(TRIO, crown_radius=Amount(0.02)), AROUND,
    *(one.launcher for one in launchers_from_text(WRITTEN)),
)  # fmt: skip


def test_every_kind_is_drawn() -> None:
    assert {one.kind for one in ALL} == set(KINDS)
    assert all(scenes_of(one, 0.089) for one in ALL)


@pytest.mark.parametrize("launcher", ALL, ids=lambda one: one.kind)
@pytest.mark.parametrize("width", [320.0, 640.0])
def test_a_drawing_is_well_formed_and_stays_in_its_box(launcher: Launcher, width: float) -> None:
    drawing = launcher_drawing(launcher, BALL, key="one", width=width)
    root = ET.fromstring(drawing.svg())

    assert root.get("role") == "img"
    assert "to scale" in (root.findtext("{http://www.w3.org/2000/svg}title") or "")
    for circle in root.iter("{http://www.w3.org/2000/svg}circle"):
        x, r = float(circle.get("cx", "0")), float(circle.get("r", "0"))
        assert x - r >= -1
        assert x + r <= width + 1


@given(
    radius=st.floats(0.03, 0.2),
    gap=st.floats(0.1, 0.17),
    wrap=st.floats(0.3, 3.0),
    elevation=st.floats(0.1, 1.4),
)
@settings(max_examples=30, deadline=None)
def test_the_hood_stands_a_gap_away_from_the_wheel_and_the_ball_leaves_along_the_path(
    radius: float, gap: float, wrap: float, elevation: float
) -> None:
    launcher = HOOD.with_amounts(
        {"wheel_radius": radius, "gap": gap, "wrap_angle": wrap, "elevation": elevation}
    )
    (scene,) = scenes_of(launcher, BALL.radius)
    strokes = [part for part in scene.parts if isinstance(part, Stroke)]
    wheel = next(part for part in scene.parts if isinstance(part, Round))
    hood = strokes[1]

    assert wheel.radius == radius
    for x, y in hood.points:
        assert math.hypot(x, y) == pytest.approx(radius + gap, rel=1e-9)
    swept = math.acos(
        sum(a * b for a, b in zip(hood.points[0], hood.points[-1], strict=True)) / (radius + gap) ** 2
    )
    assert swept == pytest.approx(wrap if wrap <= math.pi else 2 * math.pi - wrap, abs=1e-6)
    (x0, y0), (x1, y1) = strokes[-1].points
    assert math.atan2(y1 - y0, x1 - x0) == pytest.approx(elevation)
    assert x0 * (x1 - x0) + y0 * (y1 - y0) == pytest.approx(0, abs=1e-9)  # square to the radius


def test_opposed_wheels_leave_the_gap_between_them() -> None:
    (scene,) = scenes_of(PAIR, BALL.radius)
    wheels = [part for part in scene.parts if isinstance(part, Round) and part.radius == 0.1]
    (x0, y0), (x1, y1) = wheels[0].centre, wheels[1].centre

    assert math.hypot(x1 - x0, y1 - y0) - 0.2 == pytest.approx(0.138)


def test_the_scale_bar_has_the_drawing_s_scale() -> None:
    drawing = launcher_drawing(PAIR, BALL, key="one", width=640.0)
    root = ET.fromstring(drawing.svg())
    space = "{http://www.w3.org/2000/svg}"
    words = next(t.text for t in root.iter(f"{space}text") if (t.text or "") in ("100 mm", "200 mm", "50 mm"))
    assert words is not None
    bar = [line for line in root.iter(f"{space}polyline") if line.get("stroke-width") == "2"][-1]
    left, right = (float(pair.split(",")[0]) for pair in (bar.get("points") or "").split())
    wheel = max(float(c.get("r", "0")) for c in root.iter(f"{space}circle"))

    # the wheels are 100 mm in radius
    assert (right - left) / float(words.split()[0]) == pytest.approx(wheel / 100, rel=0.01)
