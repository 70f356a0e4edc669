"""The brake of a robot: what holds, which bore, how many actuations, stored energy."""

from __future__ import annotations

import dataclasses

import numpy as np

from shotwright.bench.robot_results import BrakeResult
from shotwright.bench.robots import ROBOT_CAUTION, SIDE, FoundRobot
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.curve_panels import CurvePanel, PanelCurve, PanelMark, curve_panels
from shotwright.robot.air import (
    AirMatch,
    AirSupply,
    Cylinder,
    FastDraw,
    TankEnergy,
    air_match,
    strokes_adiabatic,
    strokes_isothermal,
    tank_energy,
)
from shotwright.robot.brake import BoreRow, Hold, bore_table, hold, holding_force
from shotwright.robot.description import BrakePart

_MATCH = 150.0  # s, where the power budget doesn't say
AIR_CAUTION = (
    "Use only tanks, valves and hoses rated for the pressure, with a relief valve; let the air out and look "
    "at the gauge before anything is opened; wear eye protection. Your event's rules and local law stand "
    "above this, and somebody licensed for pressure equipment above the tool."
)
SPRING_CAUTION = (
    "Drawn springs stay dangerous: block the pads before hands go under the robot, and let the springs out "
    "before work begins."
)


def brake(found: FoundRobot, *, width: float = SIDE) -> BrakeResult:
    """Work out the brake: what holds, which bore, how many actuations, stored energy.

    Parameters
    ----------
    found : FoundRobot
        The robot.
    width : float
        Of the picture. [px]

    Returns
    -------
    BrakeResult
        With its picture.
    """
    part = found.robot.part("brake")
    assert isinstance(part, BrakePart)
    length = found.robot.power.budget.length if found.robot.power is not None else _MATCH
    if part.spring is not None:
        return _by_springs(found, part, width)
    assert part.air is not None
    assert part.cylinder is not None
    air, cylinder, low = part.air, part.cylinder, part.air.atmosphere
    held = hold(part.stand, part.cylinders * cylinder.push(air.regulated), part.opponent)
    bores = bore_table(part.stand, part.opponent, air, cylinder, part.cylinders)
    cycle = part.cylinders * cylinder.cycle_volume
    slow = strokes_isothermal(air.pressure + low, air.regulated + low, air.volume, cycle)
    fast = strokes_adiabatic(air.pressure + low, air.regulated + low, air.volume, cycle)
    times = [length * (i + 0.5) / part.actuations for i in range(part.actuations)]
    match = air_match(air, cylinder, times, length, part.cylinders)
    tank = tank_energy(air.pressure, air.volume)
    words = [*_stand_words(held), *_bore_words(bores, cylinder), *_air_words(air, slow, fast, match, tank)]
    return BrakeResult(
        name=found.robot.name,
        kind="air",
        hold=held,
        bores=bores,
        strokes_slow=slow,
        fast=fast,
        match=match,
        tank=tank,
        stored_j=tank.most_j,
        drawn_force_n=None,
        actuation_j=None,
        svg=brake_drawing(part, held, match, key="brake", width=width).svg(),
        words=tuple(words),
        cautions=(f"The full tank holds up to {tank.most_j:.0f} J. {AIR_CAUTION}", ROBOT_CAUTION),
    )


def _by_springs(found: FoundRobot, part: BrakePart, width: float) -> BrakeResult:
    spring = part.spring
    assert spring is not None
    held = hold(part.stand, spring.pad_force, part.opponent)
    words = [
        *_stand_words(held),
        (
            f"Drawn up, the springs pull with {spring.drawn_force:.0f} N on their latch and hold "
            f"{spring.stored:.2f} J; drawing them up takes {spring.work:.2f} J each time, "
            f"{part.actuations * spring.work:.0f} J for {part.actuations} actuations. They need no air and "
            "hold without power."
        ),
    ]
    return BrakeResult(
        name=found.robot.name,
        kind="spring",
        hold=held,
        bores=(),
        strokes_slow=None,
        fast=None,
        match=None,
        tank=None,
        stored_j=spring.stored,
        drawn_force_n=spring.drawn_force,
        actuation_j=spring.work,
        svg=brake_drawing(part, held, None, key="brake", width=width).svg(),
        words=tuple(words),
        cautions=(f"Drawn springs hold {spring.stored:.1f} J. {SPRING_CAUTION}", ROBOT_CAUTION),
    )


def _stand_words(held: Hold) -> list[str]:
    words = [
        (
            f"Pads pressed with {held.pad_force_n:.0f} N hold {held.held_n:.0f} N; without them the robot "
            f"stands against {held.without_pads_n:.0f} N. The opponent pushes with {held.opponent_n:.0f} N: "
            f"margin {held.margin:.2f}."
        )
    ]
    if held.lifts:
        words.append(
            f"That is more than the robot weighs ({held.weight_n:.0f} N): the pads LIFT it, the wheels "
            "hang, and more force holds no more."
        )
    if held.held_n < held.without_pads_n * (1 - 1e-12):
        words.append("The pads make it worse: they take load off wheels that grip better.")
    if held.needed_pad_force_n is None:
        words.append("No force on these pads stands against it: more grip or more weight is needed.")
    elif held.margin < 1:
        words.append(f"{held.needed_pad_force_n:.0f} N on the pads would do.")
    return words


def _bore_words(bores: tuple[BoreRow, ...], cylinder: Cylinder) -> list[str]:
    enough = [row for row in bores if row.holds]
    if not enough:
        return ["No bore of the standard series holds."]
    best = enough[0]
    word = "lifts the robot" if best.lifts else "does not lift the robot"
    return [
        (
            f"The smallest standard bore that holds is {best.bore_mm} mm ({word}), {best.strokes:.0f} "
            f"strokes of one fill; the file has {1000 * cylinder.bore:.3g} mm."
        )
    ]


def _air_words(air: AirSupply, slow: float, fast: FastDraw, match: AirMatch, tank: TankEnergy) -> list[str]:
    bar = 1e-5
    words = [
        (
            f"One fill gives {slow:.0f} strokes slowly, {fast.strokes:.0f} in a hurry (the tank then falls "
            f"to {fast.tank_k - 273.15:.0f} °C)."
        ),
        (
            f"Over the match {match.served} of {match.wanted} actuations get the full "
            f"{air.regulated * bar:.1f} bar; {match.end_gauge_pa * bar:.1f} bar are left. Of "
            f"{match.filled:.2f} L of air {match.used:.2f} L were used and {match.leaked:.2f} L leaked."
        ),
    ]
    if match.first_weak_s is not None:
        words.append(
            f"From {match.first_weak_s:.0f} s on they are weaker, down to "
            f"{match.least_gauge_pa * bar:.1f} bar."
        )
    words.append(
        f"Stored in the tank: {tank.brode_j:.0f} J (Brode), {tank.isothermal_j:.0f} J (isothermal work)."
    )
    return words


def brake_drawing(part: BrakePart, held: Hold, match: AirMatch | None, *, key: str, width: float) -> Drawing:
    """Draw force held against pad force, and the reservoir over the match.

    Parameters
    ----------
    part : BrakePart
        The brake.
    held : Hold
        As built.
    match : AirMatch, optional
        With air.
    key : str
        Unique on the page.
    width : float
        [px]

    Returns
    -------
    Drawing
        One or two panels.
    """
    forces = [float(f) for f in np.linspace(0.0, 1.3 * max(held.weight_n, held.pad_force_n), 60)]
    rolling = dataclasses.replace(part.stand, held_share=0.0)
    panels = [
        CurvePanel(
            "force on the pads [N]",
            "force held [N]",
            (
                PanelCurve("as the file says", [(f, holding_force(part.stand, f)) for f in forces]),
                PanelCurve("wheels not locked", [(f, holding_force(rolling, f)) for f in forces]),
            ),
            (PanelMark("as built", held.pad_force_n, held.held_n, "square"),),
            (("opponent", held.opponent_n),),
        )
    ]
    if match is not None and part.air is not None:
        points: list[tuple[float, float]] = []
        for when, gauge in zip(match.times_s, match.gauges_pa, strict=True):
            points.append((when, 1e-5 * gauge))
        panels.append(
            CurvePanel(
                "time [s]",
                "reservoir [bar]",
                (PanelCurve("pressure after each actuation", points),),
                levels=(("regulated pressure", 1e-5 * part.air.regulated),),
            )
        )
    return curve_panels(panels, key=key, width=width, title="Brake, predicted")
