"""The spring piston as a launcher: its description, and its releases."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.game.records import Ball
from shotwright.launcher import piston, tip
from shotwright.launcher.protocol import Amount, Mounted, amount, choice
from shotwright.launcher.release import Limit, Releases, spin_vectors
from shotwright.launcher.rows import columns_of
from shotwright.launcher.spring import RAYLEIGH, spring_share

FloatArray = NDArray[np.float64]

LINE, FREE = "guided ball or yielding tip", "rigid tip on a free ball"
_EYES = (
    "Keep fingers out of the stroke and away from the latch, wear eye protection, and block the piston "
    "before a hand goes in."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpringPiston(Mounted):
    """A piston that a compressed coil spring drives.

    Parameters
    ----------
    name, elevation, release_height, azimuth
        As for every launcher.
    action : {"push", "strike"}
        Whether the ball lies against the piston from the start, or waits at the end of its stroke.
    tip : {"centre", "guided ball or yielding tip", "rigid tip on a free ball"}
        What holds when the piston strikes off the centre: a ball in a tube or trough, or a tip that can give
        sideways, trades speed for spin; a rigid tip on a free ball turns its direction.
    spring_inertia : {"a third", "exact frequency"}
        Share of the spring's mass that moves: Rayleigh's rule, or from the exact lowest frequency.
    stiffness : Amount
        [N/m]
    preload, stroke : Amount
        Compression at the front stop; travel from the latch to the front stop. [m]
    piston_mass, spring_mass : Amount
        [kg]
    friction : Amount
        Of the piston in its guide. [N]
    gap : Amount
        How far ahead of the cocked piston a pushed ball lies: the loading position. [m]
    restitution : Amount
        Of piston and ball, for a strike. [-]
    strike_height : Amount
        Of the tip above the ball's centre, for a strike. [m]
    tip_grip : Amount
        Friction coefficient of tip and ball. [-]
    stop_depth : Amount
        Way in which the front stop brings the piston to rest; 0 when not known. [m]
    """

    kind: ClassVar[str] = "spring piston"

    action: str = choice("does the piston push the ball or strike it?", ("push", "strike"))
    tip: str = choice(
        "what holds off the centre: the ball guided or the tip free to give, or neither?",
        ("centre", LINE, FREE),
        default="centre",
    )
    spring_inertia: str = choice(
        "share of the spring's mass that moves", ("a third", "exact frequency"), default="a third"
    )
    stiffness: Amount = amount("N/m", "stiffness of the spring", low=1e-3)
    preload: Amount = amount("m", "compression of the spring at the front stop", low=0.0, role="setting")
    stroke: Amount = amount("m", "travel from latch to front stop", low=1e-4, role="setting")
    piston_mass: Amount = amount("kg", "mass of the piston", low=1e-6)
    spring_mass: Amount = amount("kg", "mass of the spring", low=0.0, default=Amount(0.0, origin="assumed"))
    friction: Amount = amount(
        "N", "friction of the piston in its guide", low=0.0, default=Amount(0.0, origin="assumed")
    )
    gap: Amount = amount("m", "gap between cocked piston and ball", low=0.0, default=Amount(0.0))
    restitution: Amount = amount(
        "",
        "coefficient of restitution of piston and ball",
        low=0.0,
        high=1.0,
        default=Amount(0.5, origin="assumed"),
    )
    strike_height: Amount = amount(
        "m", "height of the tip above the ball's centre", role="setting", default=Amount(0.0)
    )
    tip_grip: Amount = amount(
        "", "friction coefficient of tip and ball", low=1e-3, default=Amount(0.5, origin="assumed")
    )
    stop_depth: Amount = amount("m", "depth over which the front stop gives", low=0.0, default=Amount(0.0))

    def __post_init__(self) -> None:
        """Refuse answers that contradict each other."""
        off_centre = self.strike_height.value != 0
        if self.action == "push" and off_centre:
            raise BadInput(
                'needs action = "strike"; a ball that is pushed is carried through its centre',
                field="strike height",
            )
        if self.action == "strike" and off_centre and self.tip == "centre":
            raise BadInput(
                f'the piston strikes off the centre; say "{LINE}" (speed is traded for spin) or "{FREE}" '
                "(the ball's direction turns)",
                field="tip",
            )
        if self.action == "push" and self.gap.value >= self.stroke.value:
            raise BadInput("is not less than the stroke; the piston never meets the ball", field="gap")

    def release(self, inputs: Mapping[str, ArrayLike]) -> Releases:
        """Return the releases for arrays of inputs, one row per shot."""
        x = columns_of(self, inputs)
        return self._struck(x) if self.action == "strike" else self._pushed(x)

    def _share(self, x: Mapping[str, FloatArray], end_mass: FloatArray) -> FloatArray | float:
        return spring_share(x["spring_mass"], end_mass) if self.spring_inertia != "a third" else RAYLEIGH

    def _pushed(self, x: Mapping[str, FloatArray]) -> Releases:
        shot = piston.push(
            *_spring(x),
            x["ball_mass"],
            friction=x["friction"],
            elevation=x["elevation"],
            gap=x["gap"],
            spring_share=self._share(x, x["piston_mass"] + x["ball_mass"]),
        )
        limit = np.where(shot.fires, Limit.PUSHED, Limit.NOT_THROWN)
        return _releases(x, shot, x["elevation"], np.zeros_like(shot.speed), limit)

    def _struck(self, x: Mapping[str, FloatArray]) -> Releases:
        share = self._share(x, x["piston_mass"])
        free = piston.free_piston(
            *_spring(x),
            friction=x["friction"],
            elevation=x["elevation"],
            spring_share=share,
        )
        hammer = x["piston_mass"] + share * x["spring_mass"]
        model = tip.free_strike if self.tip == FREE else tip.guided_strike
        hit = model(
            free.piston_speed,
            hammer,
            x["ball_mass"],
            x["ball_diameter"] / 2,
            x["inertia_factor"],
            x["strike_height"],
            restitution=x["restitution"],
            grip=x["tip_grip"],
        )
        after = 0.5 * hammer * hit.hammer_speed**2
        shot = piston.PistonShot(
            speed=hit.speed,
            piston_speed=hit.hammer_speed,
            stored=free.stored,
            usable=free.usable,
            ball=free.piston - after - hit.loss,
            piston=after,
            friction=free.friction,
            lifting=free.lifting,
            impact=hit.loss,
            held=free.held,
            fires=free.fires,
        )
        limit = np.where(hit.slips, Limit.TIP_SLIPPED, Limit.STRUCK)
        limit = np.where(free.fires & (hit.speed > 0), limit, Limit.NOT_THROWN)
        notes = (_GAINS,) if np.any(hit.loss < -1e-9 * free.usable) else ()
        return _releases(x, shot, x["elevation"] + hit.direction, hit.spin, limit, notes)

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""
        held = {one.name: one.value for one in self.inputs(ball)}
        free = piston.free_piston(*_spring(held), friction=held["friction"])
        dry = f"Never fire without a ball: the piston would reach {float(free.piston_speed):.2g} m/s"
        if self.stop_depth.value > 0:
            force = float(piston.mean_stop_force(free.piston, self.stop_depth.value))
            dry += (
                f", and its stop, {1000 * self.stop_depth.value:.2g} mm deep, would bear "
                f"{round(force, 1 - math.floor(math.log10(force))):.0f} N on the average, more at the peak"
            )
        else:
            dry += f" and give {float(free.piston):.2g} J to its stop"
        left = 0.5 * held["stiffness"] * held["preload"] ** 2
        return (
            f"The cocked spring holds {float(free.stored):.3g} J; {left:.2g} J stay in it after the shot.",
            _EYES,
            dry + ".",
        )


Spring = tuple[ArrayLike, ArrayLike, ArrayLike, ArrayLike, ArrayLike]


def _spring(x: Mapping[str, ArrayLike]) -> Spring:
    return x["stiffness"], x["preload"], x["stroke"], x["piston_mass"], x["spring_mass"]


_GAINS = (
    "For some shots the coefficient of restitution is too high for so oblique a strike; energy would appear "
    "from nowhere, and they are not to be used."
)


def _releases(
    x: Mapping[str, FloatArray],
    shot: piston.PistonShot,
    elevation: FloatArray,
    backspin: FloatArray,
    limit: NDArray[np.signedinteger],
    notes: tuple[str, ...] = (),
) -> Releases:
    thrown = limit != Limit.NOT_THROWN
    zero = np.zeros_like(shot.speed)
    return Releases(
        speed=np.where(thrown, shot.speed, 0.0),
        elevation=np.where(thrown, elevation, x["elevation"]),
        azimuth=x["azimuth"],
        spin=spin_vectors(elevation, x["azimuth"], np.where(thrown, backspin, 0.0)),
        point=np.column_stack([zero, zero, x["release_height"]]),
        energy_taken=shot.usable - shot.held,
        stored_energy=shot.stored,
        motor_work=zero,
        ball_energy=shot.ball,
        losses={
            "piston stopped": shot.piston,
            "friction": shot.friction,
            "lifting": shot.lifting,
            "strike": shot.impact,
        },
        rim_speeds=np.zeros((len(zero), 0)),
        limit=limit.astype(np.uint8),
        notes=notes,
    )
