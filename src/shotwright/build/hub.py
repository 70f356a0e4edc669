"""How a part sits on its shaft and to its neighbour: bore, keyway or flat, bolt circle."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.build.outline import CHORD, Loop, arc, circle


@dataclass(frozen=True, slots=True)
class Keyway:
    """A slot in the bore for a parallel key.

    Parameters
    ----------
    width : float
        Of the key. [m]
    depth : float
        From the bore's round to the bottom of the slot, on the slot's middle line. [m]
    """

    width: float
    depth: float


@dataclass(frozen=True, slots=True)
class Flat:
    """A flat on the shaft: a bore like the letter D.

    Parameters
    ----------
    across : float
        From the flat to the far side of the bore. [m]
    """

    across: float


@dataclass(frozen=True, slots=True)
class BoltCircle:
    """Equal holes evenly on a circle.

    Parameters
    ----------
    count : int
        How many.
    diameter : float
        Of the circle through their centres. [m]
    hole : float
        Diameter of a hole. [m]
    start : float
        Polar angle of the first. [rad]
    """

    count: int
    diameter: float
    hole: float
    start: float = 0.0

    def centres(self, at: tuple[float, float] = (0.0, 0.0)) -> tuple[tuple[float, float], ...]:
        """Centres of the holes about `at`. [m]"""
        turns = [self.start + 2 * math.pi * number / self.count for number in range(self.count)]
        r = self.diameter / 2
        return tuple((at[0] + r * math.cos(turn), at[1] + r * math.sin(turn)) for turn in turns)


@dataclass(frozen=True, slots=True)
class Hub:
    """Middle of a part that turns.

    Parameters
    ----------
    bore : float
        Diameter; 0 for none. [m]
    seat : Keyway or Flat, optional
        What keeps it from turning on the shaft; it stands at polar angle `angle`.
    bolts : BoltCircle, optional
        Round it.
    angle : float
        Polar angle of the key or flat. [rad]
    """

    bore: float = 0.0
    seat: Keyway | Flat | None = None
    bolts: BoltCircle | None = None
    angle: float = 0.0

    def reach_m(self) -> float:
        """Distance from the axis to the farthest point that is cut away. [m]"""
        reach = self.bore / 2
        if isinstance(self.seat, Keyway):
            reach = math.hypot(self.bore / 2 + self.seat.depth, self.seat.width / 2)
        if self.bolts is not None:
            reach = max(reach, (self.bolts.diameter + self.bolts.hole) / 2)
        return reach


def hub_loops(
    hub: Hub, centre: tuple[float, float] = (0.0, 0.0), *, chord: float = CHORD
) -> tuple[Loop, ...]:
    """Loops of a hub: the bore first, then the bolt holes.

    Parameters
    ----------
    hub : Hub
        Its sizes.
    centre : tuple of float
        The axis. [m]
    chord : float
        Largest distance between a curve and its chords. [m]

    Returns
    -------
    tuple of Loop
        To be cut out.

    Raises
    ------
    BadInput
        A size that can't be.
    """
    bore = (bore_loop(hub, chord=chord).moved(centre),) if hub.bore else ()
    if hub.seat is not None and not hub.bore:
        raise BadInput("a key or flat needs a bore", field="bore")
    if hub.bolts is None:
        return bore
    bolts = hub.bolts
    if bolts.count < 1:
        raise BadInput(f"{bolts.count} bolts can't stand on a circle; leave the circle out", field="bolts")
    for name, value in (("bolt circle", bolts.diameter), ("bolt hole", bolts.hole)):
        if not value > 0:
            raise BadInput(f"{1000 * value:g} mm is not a diameter; it must be greater than 0", field=name)
    return (*bore, *(circle(at, bolts.hole / 2, chord=chord) for at in bolts.centres(centre)))


def bore_loop(hub: Hub, *, chord: float = CHORD) -> Loop:
    """Bore about the origin, with its keyway or flat.

    Parameters
    ----------
    hub : Hub
        With a bore.
    chord : float
        Largest distance between a curve and its chords. [m]

    Returns
    -------
    Loop
        Anticlockwise.

    Raises
    ------
    BadInput
        A key wider than the bore, a flat that is none.
    """
    r = hub.bore / 2
    if not r > 0:
        raise BadInput(f"{1000 * hub.bore:g} mm is not a bore; it must be greater than 0", field="bore")
    if hub.seat is None:
        return circle((0.0, 0.0), r, chord=chord)
    if isinstance(hub.seat, Keyway):
        width, depth = hub.seat.width, hub.seat.depth
        if not 0 < width < hub.bore or not 0 < depth <= hub.bore:
            raise BadInput(
                f"a key {1000 * width:g} mm wide and {1000 * depth:g} mm deep does not fit a bore of"
                f" {1000 * hub.bore:g} mm; both must be greater than 0, the width less than the bore",
                field="keyway",
            )
        half = math.asin(width / hub.bore)
        bottom = np.array([[r + depth, -width / 2], [r + depth, width / 2]])
        around = arc((0.0, 0.0), r, half, 2 * math.pi - half, chord=chord)
        return Loop(np.concatenate([bottom, around])).moved((0.0, 0.0), hub.angle)
    across = hub.seat.across
    if not r < across < hub.bore:
        raise BadInput(
            f"{1000 * across:g} mm across the flat does not fit a bore of {1000 * hub.bore:g} mm; it must be"
            " more than half the bore and less than the bore",
            field="flat",
        )
    half = math.acos((across - r) / r)
    return Loop(arc((0.0, 0.0), r, half, 2 * math.pi - half, chord=chord)).moved((0.0, 0.0), hub.angle)


def hub_of(given: Mapping[str, Any]) -> Hub:
    """Hub from the answers to the fields of `shotwright.build.hub_fields`.

    Parameters
    ----------
    given : mapping
        Values by key, SI.

    Returns
    -------
    Hub
        As asked for.

    Raises
    ------
    BadInput
        A keyway or a flat without its sizes.
    """
    seat: Keyway | Flat | None = None
    if given["seat"] == "keyway":
        seat = Keyway(_wanted(given, "key_width"), _wanted(given, "key_depth"))
    elif given["seat"] == "flat":
        seat = Flat(_wanted(given, "flat_across"))
    bolts = None
    if given["bolts"]:
        bolts = BoltCircle(given["bolts"], _wanted(given, "bolt_circle"), _wanted(given, "bolt_hole"))
    return Hub(given["bore"] or 0.0, seat, bolts)


def _wanted(given: Mapping[str, Any], key: str) -> float:
    if given.get(key) is None:
        raise BadInput("is needed here; type e.g. 3 mm", field=key)
    return float(given[key])


def hub_rows(hub: Hub) -> tuple[tuple[str, str], ...]:
    """Figures of a hub in words."""
    rows = [("bore", f"{1000 * hub.bore:.4g} mm" if hub.bore else "none")]
    if isinstance(hub.seat, Keyway):
        rows.append(("keyway", f"{1000 * hub.seat.width:.4g} x {1000 * hub.seat.depth:.4g} mm"))
    elif isinstance(hub.seat, Flat):
        rows.append(("across the flat", f"{1000 * hub.seat.across:.4g} mm"))
    if hub.bolts:
        held = hub.bolts
        words = f"{held.count} x {1000 * held.hole:.4g} mm on a circle of {1000 * held.diameter:.4g} mm"
        rows.append(("bolt holes", words))
    return tuple(rows)
