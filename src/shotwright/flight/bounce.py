r"""Impact of a spinning ball with a surface that does not move.

The ball keeps its shape; the impact takes no time and moves nothing but velocity and spin. n is the unit
normal out of the surface, r the radius, I = alpha m r^2 the moment of inertia, v_n < 0 and v_t the parts of
the centre's velocity along n and along the surface. The ball's surface slips at the contact with

    s = v_t + r (n x omega).

- Along the normal: v_n' = -e_n v_n.
- Grip: the slip ends as s' = -e_t s; for that, friction changes v_t by -alpha (1 + e_t) s / (1 + alpha).
- Slide: where grip would need more than friction gives, the change is mu (1 + e_n) |v_n| against s.
- The impulse acts at the contact, so omega changes by -(n x dv_t) / (alpha r). Spin about n stays.

e_t = -1 is a surface without friction, 0 a ball that leaves rolling, 1 a perfect superball. The kinetic
energy never grows for e_n in [0, 1], e_t in [-1, 1].
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.game.records import Surface

FloatArray = NDArray[np.float64]

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Impacts(Result):
    """Velocity and spin after impacts, one row for each.

    Parameters
    ----------
    velocity : ndarray, shape (n, 3)
        Of the centre. [m/s]
    spin : ndarray, shape (n, 3)
        [rad/s]
    slid : ndarray of bool, shape (n,)
        True where the ball slid all through the impact, False where it gripped.
    energy_kept : ndarray, shape (n,)
        Kinetic energy after over before, spin included. [-]
    """

    velocity: FloatArray
    spin: FloatArray
    slid: NDArray[np.bool_]
    energy_kept: FloatArray


def impact(
    velocity: ArrayLike,
    spin: ArrayLike,
    normal: ArrayLike,
    radius: ArrayLike,
    inertia_factor: float,
    surface: Surface,
) -> Impacts:
    r"""Velocity and spin after an impact, for any number of balls.

    .. math::

        v_n' = -e_n v_n, \quad
        \Delta\vec v_t = -\min\!\Big(\frac{\alpha (1 + e_t)}{1 + \alpha}\,|\vec s|,\;
        \mu (1 + e_n) |v_n|\Big)\,\hat s, \quad
        \Delta\vec\omega = -\frac{\hat n \times \Delta\vec v_t}{\alpha r}

    Parameters
    ----------
    velocity, spin : array_like, shape (3,) or (n, 3)
        Before the impact. [m/s], [rad/s]
    normal : array_like, shape (3,) or (n, 3)
        Out of the surface, of any length. [-]
    radius : float or array_like, shape (n,)
        Of the ball. [m]
    inertia_factor : float
        alpha: 2/5 solid ball, 2/3 thin shell. [-]
    surface : Surface
        e_n, e_t and mu.

    Returns
    -------
    Impacts
        One row for each ball. A ball that moves away from the surface keeps velocity and spin.

    Raises
    ------
    BadInput
        A surface outside its range, a normal of no length, numbers that are not finite.

    Notes
    -----
    Left out: the ball's deformation in the impact but for the three numbers, friction against spin about the
    normal, and that e_n falls with the speed of impact.

    Examples
    --------
    Garwin's superball, thrown down at 45 degrees without spin:

    >>> ball = impact((5, 0, -5), (0, 0, 0), (0, 0, 1), 0.03, 0.4, Surface(1.0, 1.0, 10.0))
    >>> [round(float(v), 6) for v in ball.velocity[0]]
    [2.142857, 0.0, 5.0]

    References
    ----------
    R. L. Garwin, Am. J. Phys. 37, 88 (1969); R. Cross, "Grip-slip behavior of a bouncing ball", Am. J. Phys.
    70, 1093 (2002).
    """
    check_surface(surface, inertia_factor)
    v, w, n = (np.atleast_2d(np.asarray(one, dtype=float)) for one in (velocity, spin, normal))
    r = np.atleast_1d(np.asarray(radius, dtype=float))
    length = np.linalg.norm(n, axis=-1, keepdims=True)
    if not (np.isfinite(v).all() and np.isfinite(w).all() and (length > 0).all() and (r > 0).all()):
        raise BadInput(
            "an impact needs finite velocities and spins, a normal of some length and a radius above zero",
            field="impact",
        )
    v, w, n, r = np.broadcast_arrays(v, w, n / length, r[:, None])
    closing = np.sum(v * n, axis=1, keepdims=True)
    slip = v - closing * n + r * np.cross(n, w)
    size = np.linalg.norm(slip, axis=1, keepdims=True)
    grip = inertia_factor * (1 + surface.tangential) / (1 + inertia_factor) * size
    most = surface.friction * (1 + surface.restitution) * np.abs(closing)
    change = -np.minimum(grip, most) * slip / np.where(size > 0, size, 1.0)
    hits = closing < 0
    after = np.where(hits, v - (1 + surface.restitution) * closing * n + change, v)
    turned = np.where(hits, w - np.cross(n, change) / (inertia_factor * r), w)
    inertia = inertia_factor * r[:, 0] ** 2
    before_energy = np.sum(v**2, axis=1) + inertia * np.sum(w**2, axis=1)
    after_energy = np.sum(after**2, axis=1) + inertia * np.sum(turned**2, axis=1)
    kept = np.where(before_energy > 0, after_energy / np.where(before_energy > 0, before_energy, 1.0), 1.0)
    return Impacts(after, turned, np.asarray((grip > most) & hits)[:, 0], kept)


def collide(
    velocity: Vector,
    spin: Vector,
    normal: Vector,
    radius: float,
    inertia_factor: float,
    restitution: float,
    tangential: float,
    friction: float,
) -> tuple[Vector, Vector, bool]:
    """Velocity and spin after one impact: :func:`impact` for plain numbers, which also runs compiled.

    Parameters
    ----------
    velocity, spin : tuple of float
        Before the impact. [m/s], [rad/s]
    normal : tuple of float
        Unit vector out of the surface. [-]
    radius : float
        Of the ball. [m]
    inertia_factor : float
        alpha. [-]
    restitution, tangential, friction : float
        e_n, e_t and mu. [-]

    Returns
    -------
    tuple
        Velocity, spin, whether the ball slid.
    """
    vx, vy, vz = velocity
    wx, wy, wz = spin
    nx, ny, nz = normal
    closing = vx * nx + vy * ny + vz * nz
    if closing >= 0.0:
        return velocity, spin, False
    sx = vx - closing * nx + radius * (ny * wz - nz * wy)
    sy = vy - closing * ny + radius * (nz * wx - nx * wz)
    sz = vz - closing * nz + radius * (nx * wy - ny * wx)
    size = math.sqrt(sx * sx + sy * sy + sz * sz)
    share = inertia_factor * (1.0 + tangential) / (1.0 + inertia_factor)
    most = friction * (1.0 + restitution) * -closing
    slid = share * size > most
    if slid:
        share = most / size
    push = (1.0 + restitution) * closing
    twist = share / (inertia_factor * radius)
    return (
        (vx - push * nx - share * sx, vy - push * ny - share * sy, vz - push * nz - share * sz),
        (
            wx + twist * (ny * sz - nz * sy),
            wy + twist * (nz * sx - nx * sz),
            wz + twist * (nx * sy - ny * sx),
        ),
        slid,
    )


def check_surface(surface: Surface, inertia_factor: float) -> None:
    """Raise BadInput for a surface that would give energy, or a ball without inertia.

    Parameters
    ----------
    surface : Surface
        e_n, e_t and mu.
    inertia_factor : float
        alpha. [-]
    """
    if not 0.0 <= surface.restitution <= 1.0:
        raise BadInput(
            f"{surface.restitution:g} is not a coefficient of restitution; it lies between 0 and 1",
            field="restitution",
        )
    if not -1.0 <= surface.tangential <= 1.0:
        raise BadInput(
            f"{surface.tangential:g} is not a tangential restitution; it lies between -1 (no friction) and 1",
            field="tangential",
        )
    if not (surface.friction >= 0.0 and math.isfinite(surface.friction)):
        raise BadInput(
            f"{surface.friction:g} is not a coefficient of friction; it is 0 or more", field="friction"
        )
    if not (inertia_factor > 0.0 and math.isfinite(inertia_factor)):
        raise BadInput(
            f"{inertia_factor:g} is not an inertia factor; it is 2/5 for a solid ball, 2/3 for a thin shell",
            field="ball.inertia_factor",
        )
