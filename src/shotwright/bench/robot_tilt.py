"""The tilt of a robot: locking, holding, slewing, and what its backlash costs in hits."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import numpy as np

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import Estimate, NotEstimated, in_words
from shotwright.base.progress import Progress, silent
from shotwright.bench.robot_results import HoldRow, TiltResult
from shotwright.bench.robots import SIDE, FoundRobot
from shotwright.choice.hit import launcher_from_trials
from shotwright.flight.model import flight_model
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.curve_panels import CurvePanel, PanelCurve, PanelMark, curve_panels
from shotwright.robot.description import TiltPart
from shotwright.robot.elevations import ElevationWay, elevation_ways
from shotwright.robot.slewing import Slew, running, slew
from shotwright.robot.tilt import Locking, Tilt, backlash_sd, locking, worm_torques

SEED = 1
_USUAL = (45.0, 55.0, 65.0)  # degrees, where nothing says which elevations are needed
_PLAY_NAMES = {
    "any elevation, no play": "Any elevation without play",
    "worm": "The worm with its backlash",
    "pins": "Pins in holes",
    "fixed": "One fixed elevation",
}
WORM_CAUTION = (
    "A worm is no brake: vibration lowers its friction. Block the launcher mechanically before hands go "
    "under it, and keep fingers out of worm and wheel."
)


def tilt(
    found: FoundRobot,
    *,
    hits: bool = True,
    fixed: bool = True,
    seed: int = SEED,
    width: float = SIDE,
    progress: Progress = silent,
) -> TiltResult:
    """Work out the tilt: locking, holding, slewing, and what its backlash costs in hits.

    Parameters
    ----------
    found : FoundRobot
        The robot; a project with trials of the launcher that rides on it tells the hits.
    hits : bool
        Whether to work out the hits; it takes some seconds.
    fixed : bool
        Also the best single elevation.
    seed : int
        Of the draws.
    width : float
        Of the picture. [px]
    progress : Progress
        Told how far it is.

    Returns
    -------
    TiltResult
        With its picture.
    """
    part = found.robot.part("tilt")
    assert isinstance(part, TiltPart)
    one, sd = part.tilt, backlash_sd(part.tilt.backlash)
    ways: tuple[ElevationWay, ...] | NotEstimated = NotEstimated("it was not asked for")
    if hits:
        ways = _ways(found, part, fixed, seed, progress)
    needed = _needed(found, part, ways)
    holds = tuple(_hold_row(one, elevation) for elevation in needed)
    slews: list[Slew] = []
    weak = ""
    for a, b in pairwise(needed):
        try:
            slews += [
                slew(one, math.radians(a), math.radians(b)),
                slew(one, math.radians(b), math.radians(a)),
            ]
        except NoAnswer as reason:
            weak = f"The motor is too weak: {reason}."
            break
    locked = locking(one.worm)
    words = [*_lock_words(locked), *_hold_words(holds, slews), *([weak] if weak else [])]
    words.append(
        f"Backlash of {math.degrees(one.backlash):.2g}° adds {math.degrees(sd):.2g}° to the elevation spread "
        "where the launcher rests anywhere in it; a spring or the weight that keeps it against one side "
        "takes most of that away."
    )
    words += _way_words(ways, part.pin_time)
    return TiltResult(
        name=found.robot.name,
        locking=locked,
        holds=holds,
        slews=tuple(slews),
        backlash_deg=math.degrees(one.backlash),
        backlash_sd_deg=math.degrees(sd),
        ways=ways,
        pin_time_s=part.pin_time,
        svg=tilt_drawing(one, needed, key="tilt", width=width).svg(),
        words=tuple(words),
        cautions=(WORM_CAUTION,),
    )


def redrawn(found: FoundRobot, told: TiltResult, width: float) -> TiltResult:
    """Return a tilt that is worked out already with its picture drawn for another width.

    Parameters
    ----------
    found : FoundRobot
        The robot that it was worked out for.
    told : TiltResult
        What was found.
    width : float
        Of the picture. [px]

    Returns
    -------
    TiltResult
        Its numbers as they are.
    """
    part = found.robot.part("tilt")
    assert isinstance(part, TiltPart)
    needed = tuple(row.elevation_deg for row in told.holds)
    return dataclasses.replace(told, svg=tilt_drawing(part.tilt, needed, key="tilt", width=width).svg())


def _ways(
    found: FoundRobot, part: TiltPart, fixed: bool, seed: int, progress: Progress
) -> tuple[ElevationWay, ...] | NotEstimated:
    book, name = found.book, found.launcher
    if book is None or book.game is None:
        return NotEstimated("there is no project with a game")
    if name is None:
        return NotEstimated('no launcher is chosen, and the robot file names none: launcher = "twin roller"')
    known = {p.name: p for p in book.prototypes}
    if name not in known:
        raise BadInput(
            f"there is no prototype {name!r}; there is: {', '.join(known) or 'none yet'}", field="launcher"
        )
    model = flight_model(book.game.ball, book.game.weather)
    try:
        launcher = launcher_from_trials(
            model, book.game, known[name], book.trials_of(name), np.random.default_rng([seed, 0])
        )
    except NoAnswer as reason:
        return NotEstimated(str(reason))
    return elevation_ways(
        model,
        book.game,
        launcher,
        book.pairs(None, None),
        backlash=part.tilt.backlash,
        pins=part.pins,
        pin_play=part.pin_play,
        fixed=fixed,
        seed=seed,
        progress=progress,
    )


def _needed(
    found: FoundRobot, part: TiltPart, ways: tuple[ElevationWay, ...] | NotEstimated
) -> tuple[float, ...]:
    """Elevations that the firing positions need [deg]; else those of the pins, or of the prototype."""
    if not isinstance(ways, NotEstimated):
        chosen = next((way.elevations_deg for way in ways if way.name == "worm"), ())
        if chosen:
            return chosen
    if part.pins:
        return tuple(math.degrees(pin) for pin in part.pins)
    book, name = found.book, found.launcher
    rider = next((p for p in book.prototypes if p.name == name), None) if book is not None else None
    if rider is not None and rider.elevation_high > rider.elevation_low:
        return (math.degrees(rider.elevation_low), math.degrees(rider.elevation_high))
    return _USUAL


def _hold_row(one: Tilt, elevation: float) -> HoldRow:
    torque = one.weight_torque(math.radians(elevation))
    up, down = worm_torques(one.worm, torque)
    try:
        amps: float | None = running(one, torque).motor_a
    except NoAnswer:
        amps = None
    return HoldRow(elevation, torque, up, down, amps)


def _lock_words(found: Locking) -> list[str]:
    told = (
        f"Worm: lead {found.lead_deg:.2f}°, efficiency {100 * found.efficiency:.0f} % while it raises. "
        f"Locking at rest has a margin of {found.margin:.2f} (1 is needed), {found.shaken_margin:.2f} "
        "when shaken."
    )
    if not found.locks:
        return [told, "It does not lock: the weight drives it back. A brake or a counterweight has to hold."]
    if not found.locks_shaken:
        return [told, "It locks at rest, but vibration may let it creep: drive over the floor and look."]
    return [told, "It locks, also when shaken as much as the file says."]


def _hold_words(holds: tuple[HoldRow, ...], slews: list[Slew]) -> list[str]:
    worst = max(holds, key=lambda row: row.torque_n_m)
    words = [
        f"The weight turns it with {worst.torque_n_m:.2f} N m at {worst.elevation_deg:.1f}°; raising takes "
        + ("more than the motor gives." if worst.motor_a is None else f"{worst.motor_a:.1f} A.")
    ]
    if slews:
        slow = max(slews, key=lambda row: row.time_s)
        words.append(
            f"The longest move, {slow.from_deg:.1f}° to {slow.to_deg:.1f}°, takes {slow.time_s:.2f} s."
        )
    return words


def _way_words(ways: tuple[ElevationWay, ...] | NotEstimated, pin_time: float) -> list[str]:
    if isinstance(ways, NotEstimated):
        return [f"What tilting costs in hits is not worked out: {ways.reason}."]
    words = []
    for way in ways:
        used = ", ".join(f"{one:.1f}°" for one in way.elevations_deg) or "none"
        missed = sum(row.elevation_deg is None for row in way.rows)
        tail = f"; {missed} not reached" if missed else ""
        words.append(
            f"{_PLAY_NAMES[way.name]} ({used}): {100 * way.mean_probability:.0f} % hits over all "
            f"positions{tail}."
        )
    worm = next(way for way in ways if way.name == "worm")
    costs = [(row, row.loss) for row in worm.rows if isinstance(row.loss, Estimate)]
    if costs:
        row, loss = max(costs, key=lambda one: one[1].value)
        words.append(
            f"The worm's backlash costs most from {row.position} at {row.target}: "
            f"{in_words(loss, 'points of hit probability', 100.0)}."
        )
    if pin_time > 0 and any(way.name == "pins" for way in ways):
        words.append(f"Moving the pin takes {pin_time:g} s, which the match has to give.")
    return words


def tilt_drawing(one: Tilt, needed: tuple[float, ...], *, key: str, width: float) -> Drawing:
    """Draw torque of the weight and current of the motor against elevation.

    Parameters
    ----------
    one : Tilt
        The drive.
    needed : tuple of float
        Elevations that are marked. [deg]
    key : str
        Unique on the page.
    width : float
        [px]

    Returns
    -------
    Drawing
        Two panels.
    """
    elevations = [float(a) for a in np.linspace(0.0, 90.0, 46)]
    rows = [_hold_row(one, a) for a in elevations]

    def amps(row: HoldRow, raising: bool) -> float:
        try:
            return running(one, row.torque_n_m, raising=raising).motor_a
        except NoAnswer:
            return math.nan

    torque = CurvePanel(
        "elevation [°]",
        "torque at the pivot [N m]",
        (PanelCurve("weight", [(row.elevation_deg, row.torque_n_m) for row in rows]),),
        tuple(
            PanelMark("needed elevations", a, one.weight_torque(math.radians(a)), "diamond") for a in needed
        ),
    )
    current = CurvePanel(
        "elevation [°]",
        "current [A]",
        tuple(
            PanelCurve(name, [(row.elevation_deg, amps(row, raising)) for row in rows])
            for name, raising in (("raising", True), ("lowering", False))
        ),
    )
    return curve_panels((torque, current), key=key, width=width, title="Tilt, predicted")
