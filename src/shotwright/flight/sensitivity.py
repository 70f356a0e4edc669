"""How the crossing point moves with each launch value, place and ball."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.flight.crossing import NO_FLOOR, Crossings, Status, fly_to_plane
from shotwright.flight.lanes.kinds import lane_laws
from shotwright.flight.model import FlightModel, launch_vectors

FloatArray = NDArray[np.float64]

COLUMNS = ("speed", "elevation", "azimuth", "spin", "x", "y", "mass", "diameter")

# Neighbours in lanes err alike, and their differences by far less. Those flown alone each choose their own
# steps, so that they are flown more tightly.
_TOLERANCE = 1e-12
# Five-point rule: error (step)^4 f'''''/30, and rounding near 1e-12/step.
_NODES = np.array([-2.0, -1.0, 1.0, 2.0])
_WEIGHTS = np.array([1.0, -8.0, 8.0, -1.0]) / 12.0
_FRACTION = 1e-3  # step of speed, mass, diameter as a fraction
_TURN = 1e-3  # step of the angles [rad]
_SURFACE_SPEED = 3e-4  # step of the spin as a fraction of the speed, at the ball's surface


@dataclass(frozen=True, slots=True)
class Sensitivities(Result):
    """Crossing points and their derivatives, one row for each launch.

    Parameters
    ----------
    crossing : ndarray, shape (n, 2)
        (u, w) of the crossing from the plane's point; NaN where there is none. [m]
    jacobian : ndarray, shape (n, 2, 8)
        Derivatives of (u, w) by speed [m/s], elevation, azimuth [rad], spin [rad/s], x, y [m], mass [kg],
        diameter [m]; NaN where a neighbouring flight does not cross.
    crossings : Crossings
        The flights themselves.
    """

    crossing: FloatArray
    jacobian: FloatArray
    crossings: Crossings


def plane_axes(normal: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Axes (u, w, normal) of a plane: the same as those of a target with this normal.

    Parameters
    ----------
    normal : array_like, shape (3,)
        Any length. [-]

    Returns
    -------
    tuple of ndarray
        Unit vectors u (level), w = normal x u, normal.

    Examples
    --------
    A floor: u points left, w back towards the launcher that fires along x.

    >>> u, w, _ = plane_axes((0, 0, 1))
    >>> u.tolist(), w.tolist()
    ([0.0, 1.0, 0.0], [-1.0, 0.0, 0.0])
    """
    n = np.asarray(normal, dtype=float)
    n = n / np.linalg.norm(n)
    azimuth = math.atan2(n[1], n[0])
    u = np.array([-math.sin(azimuth) + 0.0, math.cos(azimuth), 0.0])
    return u, np.cross(n, u), n


def crossing_sensitivities(
    model: FlightModel,
    position: ArrayLike,
    speed: ArrayLike,
    elevation: ArrayLike,
    azimuth: ArrayLike,
    spin: ArrayLike,
    plane_point: ArrayLike,
    plane_normal: ArrayLike,
    *,
    mass: ArrayLike | None = None,
    diameter: ArrayLike | None = None,
) -> Sensitivities:
    """Differentiate the crossing point of flights to a plane.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    position : array_like, shape (3,) or (n, 3)
        Release point. [m]
    speed, elevation, azimuth, spin : float or ndarray, shape (n,)
        Launch values; spin is backspin. [m/s], [rad], [rad], [rad/s]
    plane_point, plane_normal : array_like, shape (3,)
        As in :func:`shotwright.flight.crossing.fly_to_plane`. A floor is the point (0, 0, radius) and the
        normal (0, 0, 1).
    mass, diameter : float or ndarray, shape (n,), optional
        Of each ball; None: the ball's mean. [kg], [m]

    Returns
    -------
    Sensitivities
        Points and derivatives. Columns: speed, elevation, azimuth, spin, x, y, mass, diameter.

    Raises
    ------
    BadInput
        As in :func:`shotwright.flight.crossing.fly_to_plane`.

    Notes
    -----
    Place: exact, since no force depends on it. The rest: five-point differences of flights in one batch,
    within 1e-6 of their size for every law, where the flight neither grazes the plane nor just touches a
    corner of its law (there the crossing bends sharply, and they can be off by a hundredth). The floor is
    left out, so that derivatives do not end there; the derivative by diameter is through the air alone, the
    plane stays where it is.
    """
    launches = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(one, dtype=float))
            for one in (
                speed,
                elevation,
                azimuth,
                spin,
                model.ball.mass if mass is None else mass,
                model.ball.diameter if diameter is None else diameter,
            )
        )
    )
    places = np.atleast_2d(np.asarray(position, dtype=float))
    if launches[0].ndim != 1 or len({len(places), len(launches[0])} - {1}) > 1:
        raise BadInput("launch values are one number or one row of n numbers", field="speed")
    n = max(len(places), len(launches[0])) if len(places) and len(launches[0]) else 0
    base = np.array([np.broadcast_to(one, (n,)) for one in launches])  # (6, n)
    place = np.broadcast_to(places, (n, 3))
    steps = _steps(base)
    flown = _fly_neighbours(model, place, base, steps, (plane_point, plane_normal))

    u, w, normal = plane_axes(plane_normal)
    points = (flown.position - np.asarray(plane_point, dtype=float)) @ np.column_stack([u, w])
    points[flown.status != Status.CROSSED] = np.nan
    crossing, around = points[:n], points[n:].reshape(len(base), len(_NODES), n, 2)
    by_launch = np.einsum("k,ckni->cni", _WEIGHTS, around) / steps[:, :, None]

    jacobian = np.empty((n, 2, len(COLUMNS)))
    jacobian[:, :, [0, 1, 2, 3, 6, 7]] = by_launch.transpose(1, 2, 0)
    velocity = flown.velocity[:n]
    for column, axis in ((4, 0), (5, 1)):
        slid = -velocity * (normal[axis] / (velocity @ normal))[:, None]
        slid[:, axis] += 1.0
        jacobian[:, :, column] = slid @ np.column_stack([u, w])
    jacobian[np.isnan(crossing[:, 0])] = np.nan
    return Sensitivities(crossing=crossing, jacobian=jacobian, crossings=flown.first(n))


def _steps(base: FloatArray) -> FloatArray:
    """Step of each difference, shape (6, n): speed, elevation, azimuth, spin, mass, diameter."""
    speed, radius = np.abs(base[0]), base[5] / 2
    turn = np.full(base.shape[1], _TURN)
    return np.array(
        [
            _FRACTION * np.maximum(speed, 1e-3),
            turn,
            turn,
            _SURFACE_SPEED * np.maximum(speed, 1e-3) / radius,
            _FRACTION * base[4],
            _FRACTION * base[5],
        ]
    )


def _fly_neighbours(
    model: FlightModel,
    place: FloatArray,
    base: FloatArray,
    steps: FloatArray,
    plane: tuple[ArrayLike, ArrayLike],
) -> Crossings:
    """Fly the launches themselves, then each with one value moved: 1 + 6 * 4 blocks of n."""
    blocks = [base]
    for column in range(len(base)):
        for node in _NODES:
            moved = base.copy()
            moved[column] += node * steps[column]
            blocks.append(moved)
    speed, elevation, azimuth, spin, mass, diameter = np.concatenate(blocks, axis=1)
    velocity, axis = launch_vectors(speed, elevation, azimuth, spin)
    return fly_to_plane(
        model,
        np.tile(place, (len(blocks), 1)),
        velocity,
        axis,
        *plane,
        floor=NO_FLOOR,
        mass=mass,
        diameter=diameter,
        tolerance=_TOLERANCE if lane_laws(model.drag, model.lift) is None else None,
    )
