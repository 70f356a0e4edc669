"""One firing position, one target, one ball: what all shots from there have in common."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.aiming import AIM_TOLERANCE, aim_point, aims_through
from shotwright.flight.chance import Aim
from shotwright.flight.crossing import COARSE, FINE, Crossings, Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.opening import edge_clearance
from shotwright.flight.window_edges import EDGE_TOLERANCE
from shotwright.game.records import FiringPosition, Obstacle, Target

FloatArray = NDArray[np.float64]

DRAFT_TOLERANCE = 1e-4  # m/s


@dataclass(frozen=True, slots=True, eq=False)
class LineOfFire:
    """Shots from one release point at one opening.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    point : ndarray, shape (3,)
        Release point of the ball's centre. [m]
    spin_parameter : float
        S = r omega / v: the spin follows the speed. [-]
    spin : float, optional
        Fixed backspin that does not follow the speed; then `spin_parameter` is not used. [rad/s]
    solids : tuple of Obstacle
        What stands in the way.
    draft : bool
        Good enough for a drawing, in a third of the time: crossings to 1e-6 m, speeds to 1e-4 m/s.
    """

    model: FlightModel
    target: Target
    point: FloatArray
    spin_parameter: float
    spin: float | None
    solids: tuple[Obstacle, ...]
    draft: bool = False

    @property
    def closeness(self) -> float:
        """How near edges and aims are closed in upon. [m/s]."""
        return DRAFT_TOLERANCE if self.draft else EDGE_TOLERANCE

    @property
    def bearing(self) -> float:
        """Azimuth from the release point to the centre of the opening. [rad]."""
        flat = aim_point(self.target)[:2] - self.point[:2]
        return math.atan2(flat[1], flat[0])

    @property
    def crosswind(self) -> bool:
        """Whether the wind pushes the ball out of the vertical plane through the opening's centre."""
        wind = self.model.wind
        across = -wind[0] * math.sin(self.bearing) + wind[1] * math.cos(self.bearing)
        return abs(across) > 1e-9

    def backspin(self, speed: FloatArray) -> FloatArray:
        """Backspin of launches, shape of `speed`. [rad/s]."""
        if self.spin is not None:
            return np.full(np.shape(speed), self.spin)
        return self.spin_parameter * np.asarray(speed) / self.model.radius

    def aim(self, speed: float, elevation: float, azimuth: float) -> Aim:
        """Return one shot as an aim; its spin parameter is the one at this speed."""
        spin = float(self.backspin(np.array(speed)))
        return Aim(self.point, speed, elevation, azimuth, spin * self.model.radius / speed)

    def fly(
        self,
        speed: FloatArray,
        elevation: FloatArray,
        azimuth: FloatArray,
        solids: Sequence[Obstacle] = (),
    ) -> Crossings:
        """Fly launches, each (m,), to the plane of the opening. [m/s], [rad], [rad]."""
        velocity, spin = launch_vectors(speed, elevation, azimuth, self.backspin(speed))
        _, _, normal = self.target.axes()
        return fly_to_plane(
            self.model,
            self.point,
            velocity,
            spin,
            self.target.centre,
            normal,
            obstacles=tuple(solids),
            snap=not self.draft,
            plain=False,
            accuracy=COARSE if self.draft else FINE,
        )

    def margin(self, speed: FloatArray, elevation: FloatArray, azimuth: FloatArray) -> FloatArray:
        """How far launches stay clear of the opening's edge; -inf where the plane is not reached. [m]."""
        return self.clear_of_edge(self.fly(speed, elevation, azimuth))

    def margin_among(
        self, speed: FloatArray, elevation: FloatArray, azimuth: FloatArray, solids: Sequence[Obstacle]
    ) -> FloatArray:
        """Like `margin`, clear of the solids as well; -inf where one is hit. [m]."""
        flown = self.fly(speed, elevation, azimuth, solids)
        return np.minimum(self.clear_of_edge(flown), flown.clearance)

    def clear_of_edge(self, flown: Crossings) -> FloatArray:
        """How far flights of this line stayed clear of the edge; -inf without a crossing. [m]."""
        found = edge_clearance(self.target, flown, self.model.radius, plain=False)
        return np.where(flown.status == Status.CROSSED, found, -np.inf)

    def centre_aims(self, elevations: FloatArray, near: FloatArray | None = None) -> list[Aim | None]:
        """For each elevation (k,), the aim through the centre of the opening, or None. [rad]."""
        return aims_through(
            self.model,
            self.target,
            self.point,
            elevations,
            self.spin_parameter,
            spin=self.spin,
            near=near,
            tolerance=DRAFT_TOLERANCE if self.draft else AIM_TOLERANCE,
        )


def line_of_fire(
    model: FlightModel,
    target: Target,
    position: FiringPosition,
    release_height: float,
    *,
    spin_parameter: float = 0.0,
    spin: float | None = None,
    solids: Sequence[Obstacle] = (),
    draft: bool = False,
) -> LineOfFire:
    """Put a release point before an opening.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    position : FiringPosition
        Where the robot stands.
    release_height : float
        Of the ball's centre over the floor. [m]
    spin_parameter : float
        S = r omega / v, backspin positive; the spin follows the speed. [-]
    spin : float, optional
        Fixed backspin instead. [rad/s]
    solids : sequence of Obstacle
        What stands in the way.
    draft : bool
        As in :class:`LineOfFire`.

    Returns
    -------
    LineOfFire
        The line.

    Raises
    ------
    BadInput
        A release below the ball's radius, or a number that is not finite.
    """
    if not (math.isfinite(release_height) and release_height >= model.radius):
        raise BadInput(
            f"{release_height:g} m is not a height that the ball's centre can leave from; it must be at "
            f"least the ball's radius, {model.radius:g} m",
            field="release_height",
        )
    if not math.isfinite(spin_parameter):
        raise BadInput(f"{spin_parameter} is not a spin parameter; type e.g. 0.15", field="spin_parameter")
    if spin is not None and not math.isfinite(spin):
        raise BadInput(f"{spin} rad/s is not a spin; type e.g. 3 rev/s", field="spin")
    point = np.array([position.x, position.y, release_height])
    return LineOfFire(model, target, point, spin_parameter, spin, tuple(solids), draft)
