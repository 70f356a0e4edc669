r"""A cable on a spiral drum: the third way to wind a spring with even torque.

A cable that leaves the drum along the travel has the torque F times its distance h from the axis, and the
drum takes it up at dx = h dtheta. The distance of a tangent from the axis, over its direction, is the support
function of the drum, so h(theta) = T/F(x(theta)) is met exactly by the edge

.. math:: P(\theta) = h\, e_r + h'\, e_\theta, \quad \rho = h + h''

(primes: d/dtheta), which a cable follows only where rho > 0. The line of the cable is its middle: the edge
lies half a cable deeper. Frames as for the gear: the drum turns clockwise, the cable comes in from the left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.build.force_curve import ForceCurve
from shotwright.build.gear_rolling import turned
from shotwright.build.pitch_curve import PitchCurves
from shotwright.build.teeth import without_repeats

FloatArray = NDArray[np.float64]
_NEWTON = 12


@dataclass(frozen=True, slots=True, eq=False)
class Drum:
    """A drum, drawn.

    Parameters
    ----------
    curves : PitchCurves
        Law of the cable's distance from the axis.
    edge : ndarray, shape (n, 2)
        Closed outline in the drum's frame, anticlockwise. [m]
    groove : int
        How many of its points, from the first, carry the cable.
    cable : float
        Diameter of the cable. [m]
    roundness : float
        Least radius of curvature under the cable. [m]
    """

    curves: PitchCurves
    edge: FloatArray
    groove: int
    cable: float
    roundness: float


def draw_drum(curves: PitchCurves, cable: float, *, points: int = 721) -> Drum:
    """Draw a drum.

    Parameters
    ----------
    curves : PitchCurves
        Law of the distance.
    cable : float
        Diameter of the cable. [m]
    points : int
        Of the part that carries the cable.

    Returns
    -------
    Drum
        Closed by a round part at the smallest radius and a straight step.

    Raises
    ------
    NoAnswer
        A hollow edge, which a cable would bridge.
    """
    turn = np.linspace(0.0, curves.angle, points)
    x = curves.travel_at_turn(turn)
    g, first, second = (curves.scale * part for part in curves.law.shape(x))
    slope, bend = g * first, g * (first**2 + g * second)
    rho = g + bend - cable / 2
    if not (rho > 0).all():
        raise NoAnswer(
            "the drum would be hollow, and a cable bridges a hollow; take a longer turn, more preload or a "
            "thinner cable"
        )
    away = np.column_stack([np.cos(turn), np.sin(turn)])
    round_ = np.column_stack([-away[:, 1], away[:, 0]])
    line = (g - cable / 2)[:, None] * away + slope[:, None] * round_
    polar = np.arctan2(line[[-1, 0], 1], line[[-1, 0], 0])
    sweep = (polar[1] - polar[0]) % (2 * math.pi)
    back = polar[0] + np.linspace(0.0, sweep, max(16, points // 6))
    low = float(np.hypot(*line[-1]))
    arc = low * np.column_stack([np.cos(back), np.sin(back)])[1:]
    edge = without_repeats(np.concatenate([line, arc]))
    return Drum(curves, edge, len(line), cable, float(rho.min()))


@dataclass(frozen=True, slots=True, eq=False)
class Pull:
    """What a drawn drum does to a cable.

    Parameters
    ----------
    turn : ndarray, shape (n,)
        [rad]
    travel : ndarray, shape (n,)
        Of the cable's end. [m]
    torque : ndarray, shape (n,)
        [N m]
    """

    turn: FloatArray
    travel: FloatArray
    torque: FloatArray


def pull(
    drum: Drum,
    curve: ForceCurve,
    *,
    distance: float = math.inf,
    height: float = 0.0,
    positions: int = 181,
) -> Pull:
    """Wind the cable on the drawn drum and see what torque that takes, from the corners alone.

    Parameters
    ----------
    drum : Drum
        Its corners.
    curve : ForceCurve
        Of the spring.
    distance : float
        Of the cable's end behind the axis when wound, on its guide; inf for a cable that stays level. [m]
    height : float
        Of the guide above the axis, for a finite distance. [m]
    positions : int
        Angles over the turn.

    Returns
    -------
    Pull
        Travel and torque.

    Notes
    -----
    The cable's length from its fixing on the drum to its end stays the same: straight piece, and sides of the
    drum under it.

    Raises
    ------
    NoAnswer
        The step between the drum's largest and smallest radius comes round under the cable.
    """
    turn = np.linspace(0.0, drum.curves.angle, positions)
    line = drum.edge[: drum.groove]
    laid = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    found = np.empty((positions, 2))
    travel, length, last = 0.0, math.nan, 0
    for k, angle in enumerate(turn):
        stands = turned(line, math.pi / 2 - float(angle))
        for _ in range(_NEWTON):
            at, lies, arm, lean = _lie(
                stands, laid, drum.cable / 2, end=(distance + curve.stroke - travel, height)
            )
            lies += drum.cable / 2 * float(angle) - (travel if math.isinf(distance) else 0.0)
            if math.isnan(length):
                length = lies
            step = (lies - length) / lean
            travel += step
            if abs(step) < 1e-12:
                break
        if at < last - len(line) // 4:
            raise NoAnswer(
                f"after {math.degrees(float(angle)):.0f} degrees the drum's own step comes round under the "
                "cable; take a shorter turn, more preload or a soft start"
            )
        found[k], last = (travel, arm / lean), at
    return Pull(turn, found[:, 0], np.asarray(curve.force(found[:, 0]) * found[:, 1]))


def _lie(
    stands: FloatArray, laid: FloatArray, half: float, end: tuple[float, float]
) -> tuple[int, float, float, float]:
    """Corner where the cable meets the drum, length up to a constant, arm about the axis, cosine of its lean.

    The end lies `end` to the left of the axis and above it. The cable's middle runs half a cable above the
    edge; round the drum it is longer than the edge by half a cable times the angle it bends.
    """
    if math.isinf(end[0]):
        at = int(np.argmax(stands[:, 1]))
        return at, float(stands[at, 0] + laid[at]), float(stands[at, 1]) + half, 1.0
    away = stands + np.array([end[0], -end[1]])
    reach = np.hypot(away[:, 0], away[:, 1])
    leans = np.arctan2(away[:, 1], away[:, 0]) + np.arcsin(half / reach)
    at = int(np.argmax(leans))
    lean = float(leans[at])
    straight = math.sqrt(float(reach[at]) ** 2 - half**2)
    c, s = math.cos(lean), math.sin(lean)
    return at, straight + float(laid[at]) + half * lean, c * end[1] + s * end[0], c
