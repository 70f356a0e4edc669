"""What is told of a spring: by its dimensions, by readings, or found in a list."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.plain import Result
from shotwright.build.coil_spring import CoilInUse
from shotwright.build.force_readings import MeasuredSpring
from shotwright.build.springs_at_hand import SpringChoice, SpringWish


@dataclass(frozen=True, slots=True)
class TubeInUse(Result):
    """An elastic tube stretched from its front stop, by the law of ideal rubber.

    Parameters
    ----------
    front_n, wound_n : float
        Force at both ends of the stroke.
    usable_j, stored_j : float
        Work of the stroke; all that sits in the stretched tube.
    most_stretch : float
        Length when wound over free length. [-]
    start_rate_n_m : float
        Stiffness of the first millimetres.
    """

    front_n: float
    wound_n: float
    usable_j: float
    stored_j: float
    most_stretch: float
    start_rate_n_m: float


@dataclass(frozen=True, slots=True)
class SpringReport(Result):
    """A spring, told.

    Parameters
    ----------
    title : str
        What was asked.
    preload_m, stroke_m : float, optional
        At the front stop; of the piston.
    coil : CoilInUse, optional
        A coil by its dimensions.
    tube : TubeInUse, optional
        An elastic tube.
    measured : MeasuredSpring, optional
        From readings.
    wish : SpringWish, optional
        What was searched for.
    choices : tuple of SpringChoice
        What the list holds, those that fit first.
    curve_mm_n : tuple of (float, float)
        Travel from the front stop and force while winding.
    svg : str
        The picture; empty for a search.
    words, cautions : tuple of str
        What to know, what can hurt.
    """

    title: str
    preload_m: float | None = None
    stroke_m: float | None = None
    coil: CoilInUse | None = None
    tube: TubeInUse | None = None
    measured: MeasuredSpring | None = None
    wish: SpringWish | None = None
    choices: tuple[SpringChoice, ...] = ()
    curve_mm_n: tuple[tuple[float, float], ...] = ()
    svg: str = ""
    words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
