"""Which balls would score if the flight were linear around the aim: a short cut, checked by flying."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from shotwright.flight.chance import COLUMNS, LinearShot, Scatter, Surroundings

FloatArray = NDArray[np.float64]


def linear_hits(
    shot: LinearShot, one: Scatter, around: Surroundings, normals: FloatArray
) -> NDArray[np.bool_]:
    """Say which of the same balls as `flown_hits` would score if the flight were linear around the aim.

    Parameters
    ----------
    shot : LinearShot
        The aim, and how the crossing point moves with each quantity.
    one : Scatter
        Of scalars: the launcher's spread.
    around : Surroundings
        Placement and balls.
    normals : ndarray, shape (n, 8)
        Standard normal draws in the column order of the sensitivities. [-]

    Returns
    -------
    ndarray of bool, shape (n,)
        Which balls would score.
    """
    j, speed = shot.jacobian, shot.aim.speed
    sds = np.array(
        [
            one.speed * speed,
            one.elevation,
            np.hypot(one.azimuth, around.heading_sd),
            0.0,
            around.place_sd,
            around.place_sd,
            around.mass_sd,
            around.diameter_sd,
        ],
        dtype=float,
    )
    shift = np.zeros(COLUMNS)
    shift[:3] = one.speed_offset * speed, one.elevation_offset, one.azimuth_offset
    points = shot.crossing + (normals * sds + shift) @ j.T
    points = points + np.multiply.outer(normals[:, 3] * around.spin_parameter_sd, shot.spin_parameter_effect)
    return np.asarray(shapely.contains_xy(shapely.Polygon(shot.region), points[:, 0], points[:, 1]))
