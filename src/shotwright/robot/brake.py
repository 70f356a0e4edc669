"""Standing still while pushed: pads on the floor, pressed by air or by springs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.robot.air import BORES, AirSupply, Cylinder, strokes_isothermal


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand(Result):
    """The robot and its pads on the floor.

    Parameters
    ----------
    mass : float
        Of the robot. [kg]
    wheel_grip : float
        Friction of the wheels that don't turn. [-]
    pad_grip : float
        Friction of the pads. [-]
    held_share : float
        Share of the weight on wheels that are locked; 0 when all roll. [-]
    """

    mass: float
    wheel_grip: float
    pad_grip: float
    held_share: float = 1.0

    def __post_init__(self) -> None:
        if not (self.mass > 0 and self.wheel_grip > 0 and self.pad_grip > 0):
            raise BadInput("mass and both frictions must be above zero", field="brake")
        if not 0 <= self.held_share <= 1:
            raise BadInput(f"{self.held_share:g} is no share; 0 to 1", field="held share")

    @property
    def weight(self) -> float:
        """On the floor. [N]."""
        return self.mass * STANDARD_GRAVITY


@dataclass(frozen=True, slots=True)
class Opponent(Result):
    """A robot that pushes.

    Parameters
    ----------
    mass : float
        [kg]
    grip : float
        Of its wheels. [-]
    motor_force : float
        What its motors can give at most; infinite when not known. [N]
    """

    mass: float
    grip: float
    motor_force: float = math.inf

    @property
    def force(self) -> float:
        """The smaller of its traction and its motors. [N]."""
        return min(self.grip * self.mass * STANDARD_GRAVITY, self.motor_force)


def holding_force(stand: Stand, pad_force: float) -> float:
    """Force that the robot stands against: mu_p F + mu_w (W - F) while F <= W, then mu_p W.

    Pads take load off the wheels. Pressed harder than the robot's weight they lift it: the wheels hang, and
    more force holds no more. Pads with less friction than locked wheels make it worse.

    Parameters
    ----------
    stand : Stand
        Robot and pads.
    pad_force : float
        F, of all pads on the floor. [N]

    Returns
    -------
    float
        [N]
    """
    on_pads = min(max(pad_force, 0.0), stand.weight)
    return stand.pad_grip * on_pads + stand.wheel_grip * stand.held_share * (stand.weight - on_pads)


def needed_pad_force(stand: Stand, push: float) -> float | None:
    """Least force on the pads that stands against a push.

    Parameters
    ----------
    stand : Stand
        Robot and pads.
    push : float
        Of the opponent. [N]

    Returns
    -------
    float or None
        None where no pad force does. [N]
    """
    wheels = stand.wheel_grip * stand.held_share
    if push <= wheels * stand.weight:
        return 0.0
    if push > stand.pad_grip * stand.weight or stand.pad_grip <= wheels:
        return None
    return (push - wheels * stand.weight) / (stand.pad_grip - wheels)


@dataclass(frozen=True, slots=True)
class Hold(Result):
    """Whether the robot stands.

    Parameters
    ----------
    pad_force_n : float
        On the floor.
    weight_n : float
        Of the robot.
    lifts : bool
        Whether the pads lift the robot.
    held_n : float
        Force that it stands against.
    without_pads_n : float
        The same with the pads up.
    opponent_n : float
        What pushes.
    margin : float
        Held over pushed. [-]
    needed_pad_force_n : float, optional
        Least that would do; None where none does.
    """

    pad_force_n: float
    weight_n: float
    lifts: bool
    held_n: float
    without_pads_n: float
    opponent_n: float
    margin: float
    needed_pad_force_n: float | None


def hold(stand: Stand, pad_force: float, opponent: Opponent) -> Hold:
    """Set the brake against an opponent.

    Parameters
    ----------
    stand : Stand
        Robot and pads.
    pad_force : float
        Of all pads. [N]
    opponent : Opponent
        Who pushes.

    Returns
    -------
    Hold
        Force held, margin, and the least that would do.
    """
    held = holding_force(stand, pad_force)
    return Hold(
        pad_force_n=pad_force,
        weight_n=stand.weight,
        lifts=pad_force > stand.weight,
        held_n=held,
        without_pads_n=holding_force(stand, 0.0),
        opponent_n=opponent.force,
        margin=held / opponent.force,
        needed_pad_force_n=needed_pad_force(stand, opponent.force),
    )


@dataclass(frozen=True, slots=True)
class BoreRow(Result):
    """One bore of the standard series.

    Parameters
    ----------
    bore_mm : int
        [mm]
    force_n : float
        Of all cylinders on the pads.
    held_n : float
        What the robot then stands against.
    holds : bool
        Whether that is enough.
    lifts : bool
        Whether it lifts the robot.
    strokes : float
        Of one fill, slowly.
    """

    bore_mm: int
    force_n: float
    held_n: float
    holds: bool
    lifts: bool
    strokes: float


def bore_table(
    stand: Stand,
    opponent: Opponent,
    supply: AirSupply,
    cylinder: Cylinder,
    cylinders: int = 1,
    bores: Sequence[int] = BORES,
) -> tuple[BoreRow, ...]:
    """Try every bore of the standard series.

    Parameters
    ----------
    stand, opponent : Stand, Opponent
        Who stands and who pushes.
    supply : AirSupply
        Reservoir and regulator.
    cylinder : Cylinder
        Its bore is replaced; its rod where it would not fit.
    cylinders : int
        That press together.
    bores : sequence of int
        [mm]

    Returns
    -------
    tuple of BoreRow
        From small to large, ending with the second that lifts the robot.

    References
    ----------
    Bores: ISO 6432 and ISO 15552 (lists from memory).
    """
    rows, low = [], supply.atmosphere
    for bore in bores:
        one = replace(cylinder, bore=bore / 1000, rod=min(cylinder.rod, 0.5 * bore / 1000))
        force = cylinders * one.push(supply.regulated)
        held = holding_force(stand, force)
        rows.append(
            BoreRow(
                bore, force, held, held >= opponent.force, force > stand.weight,
                strokes_isothermal(
                    supply.pressure + low, supply.regulated + low, supply.volume, cylinders * one.cycle_volume
                ),
            )
        )  # fmt: skip
        if sum(row.lifts for row in rows) == 2:
            break
    return tuple(rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpringBrake(Result):
    """Pads pressed by springs, drawn up by a motor or by hand.

    Parameters
    ----------
    stiffness : float
        Of one spring. [N/m]
    preload : float
        Deflection with the pads on the floor. [m]
    stroke : float
        That the pads are drawn up. [m]
    springs : int
        Side by side.
    """

    stiffness: float
    preload: float
    stroke: float
    springs: int = 1

    @property
    def pad_force(self) -> float:
        """On the floor. [N]."""
        return self.springs * self.stiffness * self.preload

    @property
    def drawn_force(self) -> float:
        """With the pads up; what the latch holds. [N]."""
        return self.springs * self.stiffness * (self.preload + self.stroke)

    @property
    def stored(self) -> float:
        """Energy with the pads up: 1/2 k x^2 of the whole deflection. [J]."""
        return 0.5 * self.springs * self.stiffness * (self.preload + self.stroke) ** 2

    @property
    def work(self) -> float:
        """To draw them up once. [J]."""
        return self.stored - 0.5 * self.springs * self.stiffness * self.preload**2
