"""The geometry of each kind of launcher as lines, rings and labels, in metres.

The ball is thrown to the right. Views: from the side, from above, or from behind.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from shotwright.launcher.opposed_wheels import OpposedWheels
from shotwright.launcher.protocol import Launcher
from shotwright.launcher.spring_piston import SpringPiston
from shotwright.launcher.three_wheels import ThreeWheels
from shotwright.launcher.throwing_arm import ThrowingArm
from shotwright.launcher.wheel_and_hood import WheelAndHood
from shotwright.launcher.wheels_around import WheelsAround

Point = tuple[float, float]
FAINT = "3 3"
_AXIS = "9 3 2 3"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points. [m]."""

    points: tuple[Point, ...]
    colour: str = "ink"
    width: float = 1.4
    dash: str = ""
    head: bool = False


@dataclass(frozen=True, slots=True)
class Round:
    """A circle; `filled` names the colour of a faint filling. [m]."""

    centre: Point
    radius: float
    colour: str = "ink"
    dash: str = ""
    filled: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """Words beside a point. [m]."""

    at: Point
    words: str


@dataclass(frozen=True, slots=True)
class Scene:
    """One view of a launcher.

    Parameters
    ----------
    view : str
        ``"from the side"``, ``"from above"``, ``"from behind"``.
    parts : tuple
        What is drawn, in this order.
    """

    view: str
    parts: tuple[Stroke | Round | Label, ...]


def scenes_of(launcher: Launcher, ball_radius: float) -> tuple[Scene, ...]:
    """Views of a launcher's contact geometry at its stated dimensions.

    Parameters
    ----------
    launcher : Launcher
        Any of the kinds.
    ball_radius : float
        [m]

    Returns
    -------
    tuple of Scene
        One or two; empty for a kind that has no drawing.
    """
    if isinstance(launcher, WheelAndHood):
        return (Scene("from the side", tuple(_hood(launcher, ball_radius))),)
    if isinstance(launcher, OpposedWheels):
        upright = launcher.arrangement == "one above the other"
        view = "from the side" if upright else "from above"
        return (Scene(view, tuple(_opposed(launcher, ball_radius))),)
    if isinstance(launcher, ThreeWheels):
        behind = Scene("from behind", tuple(_three_behind(launcher, ball_radius)))
        return behind, Scene("from the side", tuple(_three_side(launcher, ball_radius)))
    if isinstance(launcher, WheelsAround):
        return (Scene("from behind", tuple(_around(launcher, ball_radius))),)
    if isinstance(launcher, SpringPiston):
        return (Scene("from the side", tuple(_piston(launcher, ball_radius))),)
    if isinstance(launcher, ThrowingArm):
        return (Scene("from the side", tuple(_arm(launcher, ball_radius))),)
    return ()


def polar(centre: Point, radius: float, angle: float) -> Point:
    """Point of a circle; angle anticlockwise from the right. [m], [rad].

    Parameters
    ----------
    centre : tuple of float
        [m]
    radius : float
        [m]
    angle : float
        [rad]

    Returns
    -------
    tuple of float
        [m]
    """
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def _arc(centre: Point, radius: float, start: float, end: float, **look: str) -> Stroke:
    steps = max(8, int(abs(end - start) / 0.05))
    points = tuple(polar(centre, radius, start + (end - start) * i / steps) for i in range(steps + 1))
    return Stroke(points, colour=look.get("colour", "ink"), dash=look.get("dash", ""), head="head" in look)


def _wheel(centre: Point, radius: float, sense: float, words: str) -> Iterator[Stroke | Round | Label]:
    """Draw a wheel with its axle and the sense in which it turns (1 anticlockwise)."""
    yield Round(centre, radius, "s0", filled="s0")
    yield Round(centre, 0.04 * radius, "s0", filled="s0")
    middle = math.pi / 2 if sense < 0 else -math.pi / 2
    yield _arc(centre, 0.6 * radius, middle + 0.9 * -sense, middle + 0.9 * sense, colour="s0", head="yes")
    yield Label((centre[0], centre[1]), words)


def _squeezed(centre: Point, radius: float, across: float, angle: float) -> Stroke:
    """Outline of a ball pressed to half-height `across` along the direction `angle`."""
    points = []
    for i in range(73):
        t = 2 * math.pi * i / 72
        a, b = across * math.cos(t), radius * math.sin(t)
        points.append(
            (
                centre[0] + a * math.cos(angle) - b * math.sin(angle),
                centre[1] + a * math.sin(angle) + b * math.cos(angle),
            )
        )
    return Stroke(tuple(points), "s1", 1.8)


def _throw(at: Point, angle: float, length: float, words: str) -> Iterator[Stroke | Label]:
    end = polar(at, length, angle)
    yield Stroke((at, end), "s1", 2.0, head=True)
    yield Label(end, words)


def _mm(value: float) -> str:
    return f"{1e3 * value:.4g} mm"


def _hood(one: WheelAndHood, r: float) -> Iterator[Stroke | Round | Label]:
    elevation, wheel = one.elevation.value, one.wheel_radius.value
    squeeze = max(2 * r - one.gap.value, 0.0)
    across = r - squeeze / 2
    path, end = wheel + across, elevation + math.pi / 2
    start = end + one.wrap_angle.value
    yield from _wheel((0.0, 0.0), wheel, -1.0, f"wheel R {_mm(wheel)}")
    yield _arc((0.0, 0.0), path + across, end, start, colour="ink")
    yield _arc((0.0, 0.0), path + across + 0.04 * wheel, end, start, colour="ink")
    yield Label(polar((0.0, 0.0), path + across, (start + 2 * end) / 3), "hood")
    yield _arc((0.0, 0.0), path, end, start, colour="soft", dash=_AXIS)
    yield Round(polar((0.0, 0.0), path, start), r, "s1", FAINT)
    release = polar((0.0, 0.0), path, end)
    yield _squeezed(release, r, across, end)
    for angle in (start, end):
        yield Stroke(((0.0, 0.0), polar((0.0, 0.0), path, angle)), "soft", 1.0, FAINT)
    yield Label(
        polar((0.0, 0.0), 0.75 * wheel, (start + end) / 2),
        f"wrap {math.degrees(one.wrap_angle.value):.4g}°",
    )
    yield Label(polar(release, across, end), f"gap {_mm(one.gap.value)}, squeeze {_mm(squeeze)}")
    yield from _throw(release, elevation, 2.2 * r, f"release {math.degrees(elevation):.4g}°")


def _opposed(one: OpposedWheels, r: float) -> Iterator[Stroke | Round | Label]:
    upright = one.arrangement == "one above the other"
    angle, wheel = one.elevation.value if upright else 0.0, one.wheel_radius.value
    axis = wheel + one.gap.value / 2
    squeeze = max(2 * r - one.gap.value, 0.0)
    half = math.sqrt(max((wheel + r) ** 2 - axis**2, 0.0))
    names = ("upper", "lower") if upright else ("left", "right")
    for name, side, sense in ((names[0], 1.0, 1.0), (names[1], -1.0, -1.0)):
        centre = polar((0.0, 0.0), axis, angle + side * math.pi / 2)
        yield from _wheel(centre, wheel, sense, f"{name} wheel R {_mm(wheel)}")
    yield Stroke(
        (polar((0.0, 0.0), -1.6 * half - r, angle), polar((0.0, 0.0), half + r, angle)), "soft", 1.0, _AXIS
    )
    for place in (-half, half):
        yield Round(polar((0.0, 0.0), place, angle), r, "s1", FAINT)
    yield _squeezed((0.0, 0.0), r, r - squeeze / 2, angle + math.pi / 2)
    yield Label((0.0, 0.0), f"gap {_mm(one.gap.value)}, squeeze {_mm(squeeze)}")
    yield Label(polar((0.0, 0.0), -half, angle), f"first touch, {_mm(2 * half)} of contact")
    release = f"release {math.degrees(one.elevation.value):.4g}°" + ("" if upright else " up")
    yield from _throw(polar((0.0, 0.0), half, angle), angle, 2.0 * r, release)


def _tread(middle: Point, width: float, depth: float, angle: float) -> Stroke:
    """Draw a wheel seen edge on: tread centred at `middle`, body on the far side along `angle`."""
    ux, uy = math.cos(angle), math.sin(angle)
    corners = [
        (-width / 2, 0.0),
        (width / 2, 0.0),
        (width / 2, depth),
        (-width / 2, depth),
        (-width / 2, 0.0),
    ]
    return Stroke(
        tuple((middle[0] - a * uy + b * ux, middle[1] + a * ux + b * uy) for a, b in corners), "s0", 1.6
    )


def _three_behind(one: ThreeWheels, r: float) -> Iterator[Stroke | Round | Label]:
    sin = min(one.spacing.value / (2 * r), 0.99)
    cos = math.sqrt(1 - sin * sin)
    squeeze = max(r * (1 + cos) - one.gap.value, 0.0)
    width = 0.5 * r
    top, bottom = r * cos - squeeze / 2, -(r - squeeze / 2)
    yield Round((0.0, 0.0), r, "s1", filled="s1")
    yield _tread((0.0, bottom), 2 * width, 0.9 * r, -math.pi / 2)
    crown = one.crown_radius.value
    for side in (-1.0, 1.0):
        edge = side * one.spacing.value / 2
        if crown > 0:
            # the crown's circle touches the ball at the angle phi
            centre = (side * (r + crown) * sin, (r + crown) * cos - squeeze / 2)
            yield _arc(centre, crown, -math.pi, 0.0, colour="s0")
            yield _tread((centre[0], centre[1]), 2 * min(crown, width), 0.9 * r, math.pi / 2)
        else:
            yield _tread((edge + side * width / 2, top), width, 0.9 * r, math.pi / 2)
        yield Stroke(((0.0, 0.0), (edge, r * cos)), "soft", 1.0, FAINT)
    yield Stroke(((-one.spacing.value / 2, top), (one.spacing.value / 2, top)), "soft", 1.0)
    yield Label((0.0, top), f"spacing {_mm(one.spacing.value)}, φ {math.degrees(math.asin(sin)):.3g}°")
    yield Label((0.0, bottom), f"gap {_mm(one.gap.value)}, squeeze {_mm(squeeze)}")
    yield Label((-one.spacing.value / 2 - width, top + 0.6 * r), "upper left wheel")
    yield Label((one.spacing.value / 2 + width, top + 0.6 * r), "upper right wheel")
    yield Label((0.0, bottom - 0.6 * r), "lower wheel (widths not to scale)")


def _three_side(one: ThreeWheels, r: float) -> Iterator[Stroke | Round | Label]:
    sin = min(one.spacing.value / (2 * r), 0.99)
    cos = math.sqrt(1 - sin * sin)
    squeeze = max(r * (1 + cos) - one.gap.value, 0.0)
    wheel, angle = one.wheel_radius.value, one.elevation.value
    up, down = wheel + r * cos - squeeze / 2, wheel + r - squeeze / 2
    yield from _wheel(
        polar((0.0, 0.0), up, angle + math.pi / 2),
        wheel,
        1.0,
        f"upper wheels R {_mm(wheel)}, left and right of this plane",
    )
    yield from _wheel(
        polar((0.0, 0.0), down, angle - math.pi / 2), wheel, -1.0, f"lower wheel R {_mm(wheel)}"
    )
    yield Round((0.0, 0.0), r, "s1", filled="s1")
    yield from _throw((0.0, 0.0), angle, 2.2 * r, f"release {math.degrees(angle):.4g}°")


def _around(one: WheelsAround, r: float) -> Iterator[Stroke | Round | Label]:
    yield Round((0.0, 0.0), r, "s1", filled="s1")
    for part in one.surfaces:
        angle = part.place.value
        touch = polar((0.0, 0.0), r - part.squeeze.value, angle)
        driven = part.inertia.value > 0
        yield _tread(touch, 0.7 * r, 0.8 * r if driven else 0.15 * r, angle)
        speed = f", {part.rim_speed.value:.4g} m/s" if driven else ", fixed"
        yield Label(polar((0.0, 0.0), 1.4 * r if driven else 1.05 * r, angle), f"{part.name}{speed}")


def _piston(one: SpringPiston, r: float) -> Iterator[Stroke | Round | Label]:
    angle, stroke = one.elevation.value, one.stroke.value
    face = 0.7 * r

    def at(along: float, across: float = 0.0) -> Point:
        return polar(polar((0.0, 0.0), along, angle), across, angle + math.pi / 2)

    offset = one.strike_height.value if one.action == "strike" else 0.0
    waits = r if one.action == "strike" else -stroke + one.gap.value + r
    back = -stroke - one.preload.value - 1.2 * r
    turns, coils = 14, []
    for i in range(2 * turns + 1):
        coils.append(at(back + (-stroke - back) * i / (2 * turns), 0.45 * face * (-1) ** i + offset))
    yield Stroke(tuple(coils), "s2", 1.4)
    yield Stroke((at(back, -face), at(back, face)), "ink", 2.0)
    yield Label(at(back, -face), "rear end of the spring: not to scale")
    for along, dash in ((-stroke, ""), (0.0, FAINT)):
        corners = [(-0.12 * r, -face), (0.0, -face), (0.0, face), (-0.12 * r, face), (-0.12 * r, -face)]
        yield Stroke(tuple(at(along + a, b + offset) for a, b in corners), "s0", 1.6, dash)
    yield Label(at(-stroke, face + offset), "piston at the latch")
    yield Label(at(0.0, -face + offset), "front stop")
    yield Stroke((at(-stroke, -1.15 * face), at(0.0, -1.15 * face)), "soft", 1.0)
    yield Label(at(-stroke / 2, -1.15 * face), f"stroke {_mm(stroke)}, preload {_mm(one.preload.value)}")
    yield Round(at(waits), r, "s1", filled="s1")
    if one.action == "push":
        yield Round(at(r), r, "s1", FAINT)
    if offset:
        yield Label(
            at(0.0, offset), f"strikes {_mm(abs(offset))} {'above' if offset > 0 else 'below'} the centre"
        )
    yield from _throw(at(r), angle, 2.0 * r, f"release {math.degrees(angle):.4g}°")


def _arm(one: ThrowingArm, r: float) -> Iterator[Stroke | Round | Label]:
    length, lever = one.arm_length.value, one.lever.value
    stop = math.pi / 2 - one.elevation.value
    origin = (0.0, 0.0)

    def on(distance: float, angle: float) -> Point:
        # angles are measured from the level behind the pivot, upwards
        return polar(origin, distance, math.pi - angle)

    anchor = on(one.anchor.value, one.anchor_angle.value)
    for angle, dash, words in ((one.cocked_angle.value, "", "cocked"), (stop, FAINT, "at the stop")):
        yield Stroke((origin, on(length, angle)), "s0", 2.4, dash)
        yield Stroke((on(lever, angle), anchor), "s2", 1.6, dash)
        yield Round(on(length, angle), r, "s1", dash, filled="" if dash else "s1")
        yield Label(on(0.6 * length, angle), words)
    turning = _arc(
        origin, length, math.pi - one.cocked_angle.value, math.pi - stop, colour="soft", dash=_AXIS
    )
    yield turning
    yield Round(origin, 0.03 * length, "ink", filled="ink")
    yield Label(origin, "pivot")
    yield Round(anchor, 0.02 * length, "s2", filled="s2")
    yield Label(anchor, f"{one.drive}'s fixed end")
    yield Label(on(length, one.cocked_angle.value), f"arm {_mm(length)}, lever {_mm(lever)}")
    yield from _throw(
        on(length, stop), one.elevation.value, 2.2 * r, f"release {math.degrees(one.elevation.value):.4g}°"
    )
