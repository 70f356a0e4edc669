"""The work: launches, ball, air and plane of each case, and what counts as the right answer."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shotwright.flight import kernel
from shotwright.flight.crossing import fly_to_plane
from shotwright.flight.lanes import fly as lanes
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather

START = (0.0, 0.0, 0.4)
LIMIT = 6.0  # s
DIAMETER, MASS, DENSITY, VISCOSITY = 0.178, 0.140, 1.2, 1.2 * 1.5e-5
PER_METRE = 1 / 36  # spin decay of case B: a quarter in a second at 9 m/s
STEEP = 0.3  # m/s: a slower crossing of the plane multiplies any error
DRAWN = 100_000  # the draws depend on this number; fewer flights are the first ones of it


@dataclass(frozen=True)
class Launches:
    """Velocities [m/s] and spin vectors [rad/s], each of shape (n, 3)."""

    velocity: np.ndarray
    spin: np.ndarray

    def first(self, n: int) -> Launches:
        """The first n."""
        return Launches(self.velocity[:n], self.spin[:n])


@dataclass(frozen=True)
class Ends:
    """Status (1 plane, 2 floor, 4 time limit), time [s] and place [m] of each flight."""

    status: np.ndarray
    time: np.ndarray
    place: np.ndarray


@dataclass(frozen=True)
class Case:
    """A ball in its air and the plane that it flies to."""

    name: str
    model: FlightModel
    point: tuple[float, float, float]
    normal: tuple[float, float, float]

    def fly(self, launches: Launches, accuracy: float, tolerance: float | None = None):
        """Fly with the product's kernel."""
        return fly_to_plane(
            self.model,
            START,
            launches.velocity,
            launches.spin,
            self.point,
            self.normal,
            floor=0.0,
            time_limit=LIMIT,
            accuracy=accuracy,
            tolerance=tolerance,
            plain=False,
        )

    def across(self, status: np.ndarray, velocity: np.ndarray) -> np.ndarray:
        """Speed across the plane, or onto the floor where a flight ended there."""
        onto = np.where((status == 1)[:, None], self.normal, (0.0, 0.0, 1.0))
        return np.abs((velocity * onto).sum(axis=1))


def draw(n: int = DRAWN, seed: int = 12345) -> Launches:
    """Draw launches: speed, elevation, azimuth, backspin and its tilt, each uniform in a wide range."""
    rng = np.random.Generator(np.random.PCG64(seed))
    speed = rng.uniform(6, 14, n)
    el, az = np.radians(rng.uniform(20, 70, n)), np.radians(rng.uniform(-10, 10, n))
    spin, tilt = 2 * math.pi * rng.uniform(0, 60, n), np.radians(rng.uniform(-20, 20, n))
    ahead = np.column_stack([np.cos(el) * np.cos(az), np.cos(el) * np.sin(az), np.sin(el)])
    back = np.column_stack([np.sin(az), -np.cos(az), np.zeros(n)])
    up = np.column_stack([-np.sin(el) * np.cos(az), -np.sin(el) * np.sin(az), np.cos(el)])
    axis = np.cos(tilt)[:, None] * back + np.sin(tilt)[:, None] * up
    return Launches(speed[:, None] * ahead, spin[:, None] * axis)


def cases(names: list[str]) -> list[Case]:
    """A: constant drag, still air, lasting spin; B: drag crisis, wind, fading spin; z level, x upright."""
    planes = {"z": ((0.0, 0.0, 1.2), (0.0, 0.0, 1.0)), "x": ((4.0, 0.0, 0.0), (-1.0, 0.0, 0.0))}
    area = math.pi * DIAMETER**2 / 4
    decay = PER_METRE * 2 * 0.4 * MASS / (DENSITY * area)
    steady = Ball("A", DIAMETER, MASS, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
    falling = Ball(
        "B", DIAMETER, MASS, CoefficientLaw("drag-crisis"), CoefficientLaw("cross"), spin_decay=decay
    )
    air = {"gravity": 9.80665, "buoyancy": False, "density": DENSITY, "viscosity": VISCOSITY}
    models = {
        "A": flight_model(steady, Weather(), **air),
        "B": flight_model(falling, Weather(wind=(2.0, -1.0, 0.3)), **air),
    }
    return [Case(name, models[name[0]], *planes[name[1]]) for name in names]


@dataclass(frozen=True)
class Check:
    """How far a contestant's answers are off."""

    flights: int
    wrong: int
    steep_error: float
    scaled_error: float


def check(case: Case, found: Ends, exact) -> Check:
    """Compare with the reference: statuses, places of steep crossings, places times |v_n|/|v| of all."""
    n = len(found.status)
    status, place, velocity = exact.status[:n], exact.position[:n], exact.velocity[:n]
    right = found.status == status
    error = np.abs(found.place - place).max(axis=1)
    across = case.across(status, velocity)
    scaled = error * across / np.linalg.norm(velocity, axis=1)
    steep = right & (across >= STEEP)
    return Check(n, int((~right).sum()), float(error[steep].max()), float(scaled[right].max()))


@contextlib.contextmanager
def one_thread() -> Iterator[None]:
    """Keep the product's kernel to one core."""
    kept = lanes.cores, kernel._cores
    lanes.cores = kernel._cores = lambda: 1
    try:
        yield
    finally:
        lanes.cores, kernel._cores = kept
