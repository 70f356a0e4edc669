"""Which balls would score if the flight were linear around the aim: a short cut, checked by flying."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from shotwright.flight.chance import LinearShot, Scatter, Surroundings

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
        Of scalars, or of one draw for each ball.
    around : Surroundings
        Placement and balls.
    normals : ndarray, shape (n, 8)
        Standard normal draws in the column order of the sensitivities. [-]

    Returns
    -------
    ndarray of bool, shape (n,)
        Which balls would score.
    """
    j, speed, n = shot.jacobian, shot.aim.speed, len(normals)
    moved = normals * np.column_stack(
        [
            np.broadcast_to(sd, (n,))
            for sd in (
                np.multiply(one.speed, speed),
                one.elevation,
                np.hypot(one.azimuth, around.heading_sd),
                0.0,
                around.place_sd,
                around.place_sd,
                around.mass_sd,
                around.diameter_sd,
            )
        ]
    )
    moved[:, 0] += np.multiply(one.speed_offset, speed)
    moved[:, 1] += one.elevation_offset
    moved[:, 2] += one.azimuth_offset
    points = shot.crossing + moved @ j.T
    points = points + np.multiply.outer(normals[:, 3] * around.spin_parameter_sd, shot.spin_parameter_effect)
    return np.asarray(shapely.contains_xy(shapely.Polygon(shot.region), points[:, 0], points[:, 1]))
