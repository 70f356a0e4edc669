"""Simulated trials with a known truth: what a launcher with a given spread would leave on the floor.

For tests, coverage studies and the demo. What comes out is marked as simulated.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.plain import Result
from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.game.records import Ball
from shotwright.trials.records import Prototype, Shot, Trial

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Truth(Result):
    """The hidden spread of a simulated launcher.

    Parameters
    ----------
    prototype : str
        Which launcher.
    speed_spread : float
        Standard deviation of speed as a fraction of speed. [-]
    elevation_sd_deg, azimuth_sd_deg : float
        Standard deviations. [deg]
    """

    prototype: str
    speed_spread: float
    elevation_sd_deg: float
    azimuth_sd_deg: float


@dataclass(frozen=True, slots=True)
class BallSet:
    """Balls that are told apart, each with its own size and mass.

    Parameters
    ----------
    names : tuple of str
        Marks on the balls.
    mass, diameter : ndarray, shape (k,)
        [kg], [m]
    """

    names: tuple[str, ...]
    mass: FloatArray
    diameter: FloatArray


def draw_balls(ball: Ball, count: int, rng: np.random.Generator) -> BallSet:
    """Draw a set of balls with the ball's own spread of mass and diameter.

    Parameters
    ----------
    ball : Ball
        Means and standard deviations of mass and diameter.
    count : int
        How many balls.
    rng : numpy.random.Generator
        Where chance comes from.

    Returns
    -------
    BallSet
        Balls named A, B, C and on.
    """
    return BallSet(
        names=tuple(
            "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[i % 26] + (str(i // 26) if i >= 26 else "") for i in range(count)
        ),
        mass=ball.mass + ball.mass_sd * rng.standard_normal(count),
        diameter=ball.diameter + ball.diameter_sd * rng.standard_normal(count),
    )


def simulate_trial(
    model: FlightModel,
    prototype: Prototype,
    trial: Trial,
    truth: Truth,
    speed: float,
    shots: int,
    rng: np.random.Generator,
    *,
    balls: BallSet | None = None,
) -> tuple[Shot, ...]:
    """Fire `shots` balls of a simulated launcher and read their marks.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    prototype : Prototype
        Release height and spin.
    trial : Trial
        Elevation, surface and reading error; its name goes on the shots.
    truth : Truth
        The launcher's hidden spread.
    speed : float
        Mean launch speed. [m/s]
    shots : int
        How many.
    rng : numpy.random.Generator
        Source of the scatter.
    balls : BallSet, optional
        Fired in turn; without it every ball is the mean ball.

    Returns
    -------
    tuple of Shot
        With marks; a ball that never reaches an upright plane has none.
    """
    elevation_set = trial.elevation if trial.elevation is not None else prototype.elevation_low
    speeds = speed * (1 + truth.speed_spread * rng.standard_normal(shots))
    elevations = elevation_set + np.radians(truth.elevation_sd_deg) * rng.standard_normal(shots)
    azimuths = np.radians(truth.azimuth_sd_deg) * rng.standard_normal(shots)
    ratio = trial.spin_parameter if trial.spin_parameter is not None else prototype.spin_parameter
    ratios = ratio + prototype.spin_parameter_sd * rng.standard_normal(shots)
    velocity, spin = launch_vectors(speeds, elevations, azimuths, ratios * speeds / model.radius)
    height = trial.release_height if trial.release_height is not None else prototype.release_height
    turn = np.arange(shots) % len(balls.names) if balls else None
    on_floor = trial.surface == "floor"
    point = np.array(
        [0.0, 0.0, trial.surface_at + model.radius] if on_floor else [trial.surface_at, 0.0, 0.0]
    )
    normal = np.array([0.0, 0.0, 1.0] if on_floor else [-1.0, 0.0, 0.0])
    flown = fly_to_plane(
        model,
        np.array([0.0, 0.0, height]),
        velocity,
        spin,
        point,
        normal,
        floor=NO_FLOOR if on_floor else None,
        mass=balls.mass[turn] if balls is not None and turn is not None else None,
        diameter=balls.diameter[turn] if balls is not None and turn is not None else None,
    )
    read = flown.position + trial.mark_sd * rng.standard_normal((shots, 3))
    return tuple(
        Shot(
            uid=f"simulated-{trial.name}-{i + 1}",
            trial=trial.name,
            order=i + 1,
            ball=balls.names[turn[i]] if balls is not None and turn is not None else None,
            along=float(read[i, 0]) if on_floor else None,
            height=None if on_floor else float(read[i, 2]),
            cross=float(read[i, 1]),
            source="simulated",
        )
        for i in range(shots)
        if flown.status[i] == Status.CROSSED
    )
