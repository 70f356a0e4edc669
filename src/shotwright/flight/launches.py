"""Launches checked and packed: as arrays for the lanes, as rows of states and balls for the careful path."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.model import FlightModel

FloatArray = NDArray[np.float64]


class LaunchArrays(NamedTuple):
    """Launches in the field's axes; each array has one row for all flights, or one for each.

    Parameters
    ----------
    place, velocity, spin : ndarray, shape (1, 3) or (n, 3)
        [m], [m/s], [rad/s]
    mass, diameter : ndarray, shape (1,) or (n,)
        [kg], [m]
    """

    place: FloatArray
    velocity: FloatArray
    spin: FloatArray
    mass: FloatArray
    diameter: FloatArray

    def flights(self) -> int:
        """Count the flights."""
        return next((len(one) for one in self if len(one) != 1), 1)

    def some(self, chosen: NDArray[np.intp]) -> LaunchArrays:
        """Return the chosen flights only."""
        return LaunchArrays(*(one if len(one) == 1 else one[chosen] for one in self))


def launch_arrays(
    model: FlightModel,
    position: ArrayLike,
    velocity: ArrayLike,
    spin: ArrayLike,
    mass: ArrayLike | None = None,
    diameter: ArrayLike | None = None,
) -> LaunchArrays:
    """Check launches.

    Parameters
    ----------
    model : FlightModel
        Its ball's mass and diameter stand for those that are not given.
    position, velocity, spin : array_like, shape (3,) or (n, 3)
        [m], [m/s], [rad/s]
    mass, diameter : array_like, shape (n,), optional
        [kg], [m]

    Returns
    -------
    LaunchArrays
        The same numbers.

    Raises
    ------
    BadInput
        A number that is not finite, shapes that don't fit, a mass or diameter that is not positive.
    """
    found = LaunchArrays(
        _triples(position, "position"),
        _triples(velocity, "velocity"),
        _triples(spin, "spin"),
        _positive(model.ball.mass if mass is None else mass, "mass", "kg"),
        _positive(model.ball.diameter if diameter is None else diameter, "diameter", "m"),
    )
    lengths = {len(one) for one in found if len(one) != 1}
    if len(lengths) > 1:
        raise BadInput(
            f"{sorted(lengths)} rows do not fit together; each input has one row or one per flight",
            field="velocity",
        )
    return found


def state_rows(model: FlightModel, launches: LaunchArrays) -> tuple[FloatArray, FloatArray]:
    """Pack releases and balls for `path.fly`.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    launches : LaunchArrays
        n flights.

    Returns
    -------
    starts : ndarray, shape (n, 7)
        `motion.State` of each release. [m], [m/s], [rad/s]
    bodies : ndarray, shape (n, 11)
        `motion.Body` of each ball. [SI, as each of its fields says]
    """
    place, v, w, m, d = launches
    n = launches.flights()
    magnitude = np.linalg.norm(w, axis=1)
    starts = np.empty((n, 7))
    starts[:, 0:3] = place
    starts[:, 3:6] = v - np.asarray(model.wind)
    starts[:, 6] = magnitude
    area, volume = math.pi / 4 * d**2, math.pi / 6 * d**3
    floating = model.density * volume / m if model.buoyancy else 0.0
    bodies = np.empty((n, 11))
    bodies[:, 0] = model.density * area / (2 * m)
    bodies[:, 1] = d / 2
    bodies[:, 2] = model.gravity * (1.0 - floating)
    bodies[:, 3] = model.ball.spin_decay * model.density * area / (2 * model.ball.inertia_factor * m)
    bodies[:, 4] = model.density * d / model.viscosity
    bodies[:, 5:8] = w / np.where(magnitude > 0, magnitude, 1.0)[:, None]
    bodies[:, 8:11] = model.wind
    return starts, bodies


def _triples(values: ArrayLike, name: str) -> FloatArray:
    rows = np.atleast_2d(np.asarray(values, dtype=float))
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise BadInput(f"shape {np.shape(values)} is not (3,) or (n, 3)", field=name)
    if not np.isfinite(rows).all():
        bad = ~np.isfinite(rows).all(axis=1)
        raise BadInput(
            f"row {int(np.argmax(bad))} is {rows[np.argmax(bad)].tolist()}, not finite", field=name
        )
    return rows


def _positive(values: ArrayLike, name: str, unit: str) -> FloatArray:
    row = np.atleast_1d(np.asarray(values, dtype=float))
    good = np.isfinite(row) & (row > 0)
    if row.ndim != 1 or not good.all():
        shown = row.ravel()[np.argmin(good.ravel())]
        raise BadInput(
            f"{shown:g} {unit} is not a {name}; it must be greater than zero", field=f"ball.{name}"
        )
    return row
