r"""The two pitch curves that roll on each other: of the spiral gear, and of its rack.

Gear frame: axis at the origin, x to the right, y up; theta anticlockwise; P = r (cos theta, sin theta).
Rack frame: travel to the right; the rack's point that meets the gear after a travel x lies at (-x, r(x)), so
the curve is y = r(x) read from right to left. The gear turns clockwise and moves the rack to the right.

Arc lengths agree, ds^2 = dr^2 + r^2 dtheta^2 = dr^2 + dx^2: the curves roll without slip. Their curvatures
differ by dtheta/ds = cos(tau)/r, where tan(tau) = |dr/dx| is the tilt of the common tangent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import NoAnswer
from shotwright.build.pitch_law import RadiusLaw

FloatArray = NDArray[np.float64]
_PANELS = 96  # over the stroke; with five points each the arc is right to 1e-12 of itself
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)
_NEWTON = 6
_SETTLED = 1e-9  # m; the step after one so small is below the last digit


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Points of a pitch curve with their directions.

    Parameters
    ----------
    point : ndarray, shape (..., 2)
        P. [m]
    along : ndarray, shape (..., 2)
        t, unit tangent towards growing s.
    out : ndarray, shape (..., 2)
        n, unit normal, out of the body that carries the teeth.
    curvature : ndarray, shape (...)
        kappa with dt/ds = -kappa n: positive where the body bulges. [1/m]
    """

    point: FloatArray
    along: FloatArray
    out: FloatArray
    curvature: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class PitchCurves:
    """Pitch curves of gear and rack for one law and one scale.

    Parameters
    ----------
    law : RadiusLaw
        Shape g of the radius.
    scale : float
        T in r = T g; the torque where the law is of constant torque. [N m]
    margin : float
        How far the curves go on beyond both ends of the stroke, in travel. [m]
    """

    law: RadiusLaw
    scale: float
    margin: float
    _travel: FloatArray
    _arc: FloatArray
    _turn: FloatArray

    def __init__(self, law: RadiusLaw, scale: float, margin: float) -> None:
        for name, value in (("law", law), ("scale", float(scale)), ("margin", float(margin))):
            object.__setattr__(self, name, value)
        stroke = law.curve.stroke
        count = int(np.ceil(_PANELS * (1 + 2 * margin / stroke)))
        even = np.linspace(-margin, stroke + margin, count + 1)
        travel = np.union1d(np.concatenate([even, [0.0, stroke]]), law.corners)
        travel = travel[np.concatenate([[True], np.diff(travel) > 1e-12])]
        object.__setattr__(self, "_travel", travel)
        if not (law.shape(travel)[0] > 0).all():
            raise NoAnswer("the pitch radius falls to nothing within a pitch of the stroke's end")
        arc, turn = self._pieces(travel[:-1], np.diff(travel))
        start = int(np.argmin(np.abs(travel)))
        for name, steps in (("_arc", arc), ("_turn", turn)):
            total = np.concatenate([[0.0], np.cumsum(steps)])
            object.__setattr__(self, name, total - total[start])

    def _pieces(self, start: FloatArray, step: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Arc and turn over pieces of travel that stay within one panel."""
        x = start[..., None] + 0.5 * step[..., None] * (1 + _NODES)
        g, first, _ = self.law.shape(x)
        arc = np.sqrt(1 + (self.scale * first) ** 2) @ _WEIGHTS
        turn = (1 / (self.scale * g)) @ _WEIGHTS
        return 0.5 * step * arc, 0.5 * step * turn

    def _from_panel(self, travel: ArrayLike) -> tuple[FloatArray, FloatArray]:
        x = np.asarray(travel, dtype=float)
        i = np.clip(np.searchsorted(self._travel, x, side="right") - 1, 0, len(self._travel) - 2)
        arc, turn = self._pieces(self._travel[i], x - self._travel[i])
        return self._arc[i] + arc, self._turn[i] + turn

    @property
    def length(self) -> float:
        """Arc of either pitch curve over the stroke. [m]"""
        return float(self.arc(self.law.curve.stroke))

    @property
    def angle(self) -> float:
        """Angle of the turn over the stroke. [rad]"""
        return float(self.turn(self.law.curve.stroke))

    def radius(self, travel: ArrayLike) -> FloatArray:
        """Return r at a travel. [m]"""
        return self.scale * self.law.shape(travel)[0]

    def tilt(self, travel: ArrayLike) -> FloatArray:
        """Return the angle of the common tangent to the travel; positive where r falls. [rad]"""
        return np.asarray(np.arctan(-self.scale * self.law.shape(travel)[1]))

    def arc(self, travel: ArrayLike) -> FloatArray:
        """Return the arc s at a travel. [m]"""
        return self._from_panel(travel)[0]

    def turn(self, travel: ArrayLike) -> FloatArray:
        """Return the angle theta at a travel. [rad]"""
        return self._from_panel(travel)[1]

    def travel(self, arc: ArrayLike) -> FloatArray:
        """Return the travel at an arc s, the inverse of `arc`; beyond the curves that of their ends. [m]"""
        s = np.clip(np.asarray(arc, dtype=float), self._arc[0], self._arc[-1])
        x = np.interp(s, self._arc, self._travel)
        for _ in range(_NEWTON):
            first = self.scale * self.law.shape(x)[1]
            step = (self.arc(x) - s) / np.sqrt(1 + first**2)
            x = np.clip(x - step, self._travel[0], self._travel[-1])
            if np.abs(step).max(initial=0.0) < _SETTLED:
                break
        return np.asarray(x)

    def travel_at_turn(self, turn: ArrayLike) -> FloatArray:
        """Return the travel at an angle theta of the gear. [m]"""
        angle = np.clip(np.asarray(turn, dtype=float), self._turn[0], self._turn[-1])
        x = np.interp(angle, self._turn, self._travel)
        for _ in range(_NEWTON):
            step = (self.turn(x) - angle) * self.radius(x)
            x = x - step
            if np.abs(step).max(initial=0.0) < _SETTLED:
                break
        return np.asarray(x)

    def gear(self, arc: ArrayLike) -> Frame:
        """Pitch curve of the gear at arcs s."""
        x = self.travel(arc)
        g, first, second = (self.scale * part for part in self.law.shape(x))
        size = np.sqrt(1 + first**2)
        theta = self.turn(x)
        away = np.stack([np.cos(theta), np.sin(theta)], axis=-1)
        round_ = np.stack([-away[..., 1], away[..., 0]], axis=-1)
        along = (first[..., None] * away + round_) / size[..., None]
        out = np.stack([along[..., 1], -along[..., 0]], axis=-1)
        return Frame(g[..., None] * away, along, out, 1 / (g * size) - second / size**3)

    def rack(self, arc: ArrayLike) -> Frame:
        """Pitch curve of the rack at arcs s; its body lies above, so its normal points down to the gear."""
        x = self.travel(arc)
        g, first, second = (self.scale * part for part in self.law.shape(x))
        size = np.sqrt(1 + first**2)
        along = np.stack([-1 / size, first / size], axis=-1)
        out = np.stack([-along[..., 1], along[..., 0]], axis=-1)
        return Frame(np.stack([-x, g], axis=-1), along, out, second / size**3)


def scale_for_angle(law: RadiusLaw, angle: float) -> float:
    """Scale T with which a law takes this angle of turn over the stroke.

    Parameters
    ----------
    law : RadiusLaw
        Shape g.
    angle : float
        Theta. [rad]

    Returns
    -------
    float
        T = (integral of dx/g)/Theta. [N m]
    """
    return PitchCurves(law, 1.0, 0.0).angle / angle
