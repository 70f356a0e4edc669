"""Where wheels and ball end when every surface grips: the linear contact system and its kinematics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.plain import Result

FloatArray = NDArray[np.float64]

_CONSISTENT = 1e-9  # slip left over, as a share of the fastest surface, that counts as none


@dataclass(frozen=True, slots=True)
class GrippedState(Result):
    """What is left when all contacts that can grip do.

    Parameters
    ----------
    speed, backspin, sidespin : ndarray, shape (n,)
        Speed of the centre; surface speeds r omega of backspin and of spin about the upward axis. [m/s]
    rim_speeds : ndarray, shape (n, k)
        Surface speed of each contact afterwards. [m/s]
    impulses : ndarray, shape (n, k)
        On the ball, forward. [N s]
    slip_loss : ndarray, shape (n,)
        Energy turned to heat on the way there. [J]
    slip_left : ndarray, shape (n, k)
        Slip that no impulse can end. [m/s]
    all_grip : ndarray of bool, shape (n,)
        Whether there is none.
    """

    speed: FloatArray
    backspin: FloatArray
    sidespin: FloatArray
    rim_speeds: FloatArray
    impulses: FloatArray
    slip_loss: FloatArray
    slip_left: FloatArray
    all_grip: NDArray[np.bool_]


def gripped_state(
    mass: ArrayLike,
    inertia_factor: ArrayLike,
    arms: ArrayLike,
    rim_speeds: ArrayLike,
    reduced_masses: ArrayLike,
    start: ArrayLike = (0.0, 0.0, 0.0),
) -> GrippedState:
    """State of ball and wheels once every contact grips, from momentum and angular momentum alone.

    K J = s0, K_ij = (1 + (a_i a_j + c_i c_j)/alpha)/m + delta_ij/M_i, s0_i = u_i - v - a_i w_b - c_i w_s; the
    heat is s0'J/2: a perfectly inelastic collision in the slips. Friction, normal forces and the order in
    which the contacts grip don't matter.

    Parameters
    ----------
    mass, inertia_factor : float or ndarray, shape (n,)
        Of the ball; inertia is alpha m r^2. [kg], [-]
    arms : array_like, shape (k, 2) or (n, k, 2)
        (a, c) = (-sin psi, -cos psi) times arm/r; psi is the contact's place seen from behind, anticlockwise
        from the left. A wheel below has a = 1, one above a = -1. [-]
    rim_speeds : array_like, shape (k,) or (n, k)
        Before the shot; 0 for a hood or rail. [m/s]
    reduced_masses : array_like, shape (k,) or (n, k)
        I/R^2 of each wheel; inf for a surface that does not give way. [kg]
    start : array_like, shape (3,) or (n, 3)
        Speed and surface speeds of spin before. [m/s]

    Returns
    -------
    GrippedState
        One row for each shot.

    Notes
    -----
    With more than three contacts, or two fixed ones that contradict each other, no state has grip at all of
    them. The answer is then the one with the least sum of squared slips, which holds for equal grip only, and
    `all_grip` is False. With two contacts the spin across them stays what it was.
    """
    m, alpha = np.atleast_1d(np.asarray(mass, float)), np.atleast_1d(np.asarray(inertia_factor, float))
    lever = np.asarray(arms, float)
    lever = lever[None] if lever.ndim == 2 else lever
    u0, heavy = np.atleast_2d(np.asarray(rim_speeds, float)), np.atleast_2d(np.asarray(reduced_masses, float))
    y0 = np.atleast_2d(np.asarray(start, float))
    n = max(len(m), len(alpha), len(lever), len(u0), len(heavy), len(y0))
    k = u0.shape[1]
    rows = np.concatenate([np.ones((len(lever), k, 1)), lever], axis=2)
    rows, u0, y0 = (np.broadcast_to(x, (n, *x.shape[1:])) for x in (rows, u0, y0))
    give = np.column_stack([1 / m + 0 * alpha, 1 / (alpha * m), 1 / (alpha * m)])
    give, inverse = np.broadcast_to(give, (n, 3)), np.broadcast_to(1 / heavy, (n, k))
    coupling = np.einsum("nid,nd,njd->nij", rows, give, rows)
    coupling[:, np.arange(k), np.arange(k)] += inverse
    slip = u0 - np.einsum("nid,nd->ni", rows, y0)
    impulses = np.einsum("nij,nj->ni", np.linalg.pinv(coupling, rcond=1e-12, hermitian=True), slip)
    left = slip - np.einsum("nij,nj->ni", coupling, impulses)
    after = y0 + give * np.einsum("ni,nid->nd", impulses, rows)
    fastest = np.maximum(np.abs(u0).max(axis=1), np.abs(y0[:, 0])) + 1e-300
    return GrippedState(
        speed=after[:, 0],
        backspin=after[:, 1],
        sidespin=after[:, 2],
        rim_speeds=u0 - impulses * inverse,
        impulses=impulses,
        slip_loss=0.5 * np.einsum("ni,ni->n", slip, impulses),
        slip_left=left,
        all_grip=np.abs(left).max(axis=1) <= _CONSISTENT * fastest,
    )


@dataclass(frozen=True, slots=True)
class RollingState(Result):
    """Motion of a ball that rolls on surfaces of given velocities.

    Parameters
    ----------
    speed : float
        Along x. [m/s]
    spin : ndarray, shape (3,)
        [rad/s]
    slip : ndarray, shape (k, 2)
        Left at each contact: along the drive, and across it. [m/s]
    free : int
        Parts of the motion that no contact fixes; they are zero here.
    all_grip : bool
        Whether no slip is left.
    """

    speed: float
    spin: FloatArray
    slip: FloatArray
    free: int
    all_grip: bool


def rolling_state(places: ArrayLike, surface_velocities: ArrayLike) -> RollingState:
    """Find the speed and the spin of a ball that rolls without slip on moving surfaces: kinematics only.

    For contact i at p_i from the centre and surface velocity U_i: v x + omega x p_i = U_i in the tangent
    plane. The ball is guided along x. Canted wheels, whose velocity has a part across x, give rifle spin.

    Parameters
    ----------
    places : array_like, shape (k, 3)
        Contacts from the ball's centre, in the plane across x: (0, y, z). [m]
    surface_velocities : array_like, shape (k, 3)
        Velocity of each surface. [m/s]

    Returns
    -------
    RollingState
        Least motion where contacts leave it free, least squared slip where they contradict each other.

    Examples
    --------
    >>> state = rolling_state([[0, 0, -0.1], [0, 0, 0.1]], [[20, 0, 0], [0, 0, 0]])
    >>> round(float(state.speed), 9), round(float(-state.spin[1]), 9)
    (10.0, 100.0)
    """
    p, surface = np.asarray(places, float), np.asarray(surface_velocities, float)
    reach = np.linalg.norm(p, axis=1)
    across = np.column_stack([np.zeros(len(p)), -p[:, 2], p[:, 1]]) / reach[:, None]
    scale = reach.mean()  # unknowns (v, scale omega): one unit, so that "least" has a meaning
    along_rows = np.column_stack([np.ones(len(p)), np.zeros(len(p)), p[:, 2] / scale, -p[:, 1] / scale])
    across_rows = np.column_stack([np.zeros(len(p)), reach / scale, np.zeros((len(p), 2))])
    rows = np.concatenate([along_rows, across_rows])
    wanted = np.concatenate([surface[:, 0], np.einsum("ij,ij->i", surface, across)])
    found, _, rank, _ = np.linalg.lstsq(rows, wanted, rcond=1e-12)
    slip = wanted - rows @ found
    return RollingState(
        speed=float(found[0]),
        spin=np.asarray(found[1:] / scale),
        slip=slip.reshape(2, -1).T,
        free=4 - int(rank),
        all_grip=bool(np.abs(slip).max() <= _CONSISTENT * max(np.abs(surface).max(), 1e-300)),
    )
