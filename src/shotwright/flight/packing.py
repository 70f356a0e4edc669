"""Releases and balls as the rows that the equations of motion read."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.model import FlightModel

FloatArray = NDArray[np.float64]


def pack_releases(
    model: FlightModel,
    position: ArrayLike,
    velocity: ArrayLike,
    spin: ArrayLike,
    mass: ArrayLike | None = None,
    diameter: ArrayLike | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Check releases and pack them, one row for each flight.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    position, velocity, spin : array_like, shape (3,) or (n, 3)
        [m], [m/s], [rad/s]
    mass, diameter : array_like, shape (n,), optional
        Of each ball; the model's by default. [kg], [m]

    Returns
    -------
    starts : ndarray, shape (n, 7)
        `motion.State` of each release.
    bodies : ndarray, shape (n, 11)
        `motion.Body` of each ball.

    Raises
    ------
    BadInput
        A number that is not finite, shapes that don't fit, a mass or diameter that is not positive.
    """
    place, v, w = (
        _triples(one, name) for one, name in ((position, "position"), (velocity, "velocity"), (spin, "spin"))
    )
    m = _positive(model.ball.mass if mass is None else mass, "mass", "kg")
    d = _positive(model.ball.diameter if diameter is None else diameter, "diameter", "m")
    lengths = {len(one) for one in (place, v, w, m, d) if len(one) != 1} or {1}
    if len(lengths) > 1:
        raise BadInput(
            f"{sorted(lengths)} rows do not fit together; each input has one row or one per flight",
            field="velocity",
        )
    n = lengths.pop()
    size = np.linalg.norm(w, axis=1)
    starts = np.empty((n, 7))
    starts[:, 0:3], starts[:, 3:6], starts[:, 6] = place, v - np.asarray(model.wind), size
    area, volume = math.pi / 4 * d**2, math.pi / 6 * d**3
    bodies = np.empty((n, 11))
    bodies[:, 0] = model.density * area / (2 * m)
    bodies[:, 1] = d / 2
    bodies[:, 2] = model.gravity * (1.0 - (model.density * volume / m if model.buoyancy else 0.0))
    bodies[:, 3] = model.ball.spin_decay * model.density * area / (2 * model.ball.inertia_factor * m)
    bodies[:, 4] = model.density * d / model.viscosity
    bodies[:, 5:8] = w / np.where(size > 0, size, 1.0)[:, None]
    bodies[:, 8:11] = model.wind
    return starts, bodies


def _triples(values: ArrayLike, name: str) -> FloatArray:
    rows = np.atleast_2d(np.asarray(values, dtype=float))
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise BadInput(f"shape {np.shape(values)} is not (3,) or (n, 3)", field=name)
    bad = ~np.isfinite(rows).all(axis=1)
    if bad.any():
        row = int(np.argmax(bad))
        raise BadInput(f"row {row} is {rows[row].tolist()}, not finite", field=name)
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
