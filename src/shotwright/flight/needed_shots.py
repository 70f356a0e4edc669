"""A shot worth knowing at a firing position, and what it is like."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shotwright.base.plain import Result
from shotwright.flight.chance import Aim
from shotwright.flight.crossing import Status
from shotwright.flight.forgiving import SpreadOfLaunch
from shotwright.flight.line_of_fire import LineOfFire
from shotwright.game.records import Obstacle

FloatArray = NDArray[np.float64]
ShotKind = Literal["minimum speed", "minimum speed through the centre", "most forgiving", "given"]

BALLS_DRAFT = 256  # good to two or three
BALLS_FLOWN = 1024  # for the hit probability that is shown; good to one percentage point


@dataclass(frozen=True, slots=True)
class NeededShot(Result):
    """One shot from a firing position, and what it is like.

    Parameters
    ----------
    kind : str
        Why it is shown: ``"minimum speed"`` (the slowest that scores), ``"minimum speed through the
        centre"`` (the slowest whose ball's centre crosses the middle of the opening), ``"most forgiving"``,
        ``"given"``.
    speed_m_s, elevation_deg, azimuth_deg : float
        Launch values. [m/s], [deg], [deg]
    spin_rev_s, spin_parameter : float
        Backspin, and S = r omega / v. [rev/s], [-]
    entry_angle_deg : float
        Angle of the path below the horizontal where it crosses the opening; negative when still rising. [deg]
    apex_m : float
        Greatest height of the ball's centre over the floor on the way. [m]
    flight_time_s : float
        From release to the opening. [s]
    edge_clearance_m : float
        Between the ball's surface and the edge of the opening; negative when it touches. [m]
    obstacle_clearance_m, defender_clearance_m : float, optional
        Least distance of the ball's surface from an obstacle, from a defender's robot; None without any, and
        0 when it is hit. [m]
    meets : str
        The first solid that the ball hits on its way, a defender too; empty when it hits none.
    hit_probability : float
        For the launch spread of the window.
    """

    kind: ShotKind
    speed_m_s: float
    elevation_deg: float
    azimuth_deg: float
    spin_rev_s: float
    spin_parameter: float
    entry_angle_deg: float
    apex_m: float
    flight_time_s: float
    edge_clearance_m: float
    obstacle_clearance_m: float | None
    defender_clearance_m: float | None
    meets: str
    hit_probability: float


def describe_shot(
    kind: ShotKind,
    line: LineOfFire,
    aim: Aim,
    spread: SpreadOfLaunch,
    obstacles: Sequence[Obstacle],
    defenders: Sequence[Obstacle],
) -> NeededShot:
    """Fly one shot and say what it is like.

    Parameters
    ----------
    kind : str
        Why it is shown.
    line : LineOfFire
        Release point, opening, and the solids that count for the hit probability.
    aim : Aim
        The shot; its path must cross the opening's plane from the front.
    spread : SpreadOfLaunch
        For the hit probability.
    obstacles, defenders : sequence of Obstacle
        For the clearances.

    Returns
    -------
    NeededShot
        The record.
    """
    launch = (np.array([aim.speed]), np.array([aim.elevation]), np.array([aim.azimuth]))
    flown = line.fly(*launch)
    clear = [_clearance(line, launch, solids) for solids in (obstacles, defenders)]
    velocity = flown.velocity[0]
    spin = aim.spin(line.model.radius)
    return NeededShot(
        kind=kind,
        speed_m_s=aim.speed,
        elevation_deg=math.degrees(aim.elevation),
        azimuth_deg=math.degrees(aim.azimuth),
        spin_rev_s=spin / (2 * math.pi),
        spin_parameter=aim.spin_parameter,
        entry_angle_deg=math.degrees(math.asin(-velocity[2] / float(np.linalg.norm(velocity)))),
        apex_m=float(flown.apex_height[0]),
        flight_time_s=float(flown.time[0]),
        edge_clearance_m=float(line.clear_of_edge(flown)[0]),
        obstacle_clearance_m=clear[0],
        defender_clearance_m=clear[1],
        meets=_first_met(line, launch, [*obstacles, *defenders]) if 0.0 in clear else "",
        hit_probability=float(spread.chances(line, [aim], BALLS_DRAFT if line.draft else BALLS_FLOWN)[0]),
    )


def _clearance(
    line: LineOfFire, launch: tuple[FloatArray, FloatArray, FloatArray], solids: Sequence[Obstacle]
) -> float | None:
    """Least distance from solids; 0 when one is hit, None without any."""
    if not solids:
        return None
    flown = line.fly(*launch, solids)
    return 0.0 if flown.status[0] == Status.OBSTACLE else float(flown.clearance[0])


def _first_met(
    line: LineOfFire, launch: tuple[FloatArray, FloatArray, FloatArray], solids: Sequence[Obstacle]
) -> str:
    """Name of the solid that the ball hits first, or nothing."""
    met: list[tuple[float, str]] = []
    for solid in solids:
        flown = line.fly(*launch, [solid])
        if flown.status[0] == Status.OBSTACLE:
            met.append((float(flown.time[0]), solid.name))
    return min(met)[1] if met else ""
