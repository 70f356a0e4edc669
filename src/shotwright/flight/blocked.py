"""Why no shot from a firing position scores, in plain words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.aiming import FASTEST, aim_point
from shotwright.flight.chance import Aim
from shotwright.flight.crossing import Status
from shotwright.flight.line_of_fire import LineOfFire
from shotwright.flight.window_edges import Interval, cut_intervals, scoring_intervals
from shotwright.game.records import Defender, Obstacle

FloatArray = NDArray[np.float64]

SLOWEST = 0.5  # m/s
GRID_SPEEDS = 28


def free_intervals(
    line: LineOfFire,
    elevations: FloatArray,
    azimuths: FloatArray,
    speeds: tuple[float, float],
    aims: Sequence[Aim | None] = (),
) -> list[list[Interval]]:
    """Speeds that score at each elevation when nothing stands in the way.

    Parameters
    ----------
    line : LineOfFire
        Release point and opening.
    elevations, azimuths : ndarray, shape (k,)
        [rad]
    speeds : tuple of float
        Slowest and fastest. [m/s]
    aims : sequence of Aim or None
        Aims through the middle of the opening, one for each elevation: where to look first.

    Returns
    -------
    list of list of (float, float)
        Intervals of each elevation. [m/s]
    """

    def margin(k: NDArray[np.intp], speed: FloatArray) -> FloatArray:
        return line.margin(speed, elevations[k], azimuths[k])

    grid = np.geomspace(*speeds, GRID_SPEEDS) if speeds[1] > speeds[0] else np.array([speeds[0]])
    grid[0], grid[-1] = speeds  # rounding moves the ends of the range
    known = [
        (k, aim.speed) for k, aim in enumerate(aims) if aim is not None and speeds[0] < aim.speed < speeds[1]
    ]
    likely = np.array([k for k, _ in known], dtype=np.intp), np.array([v for _, v in known])
    return scoring_intervals(margin, len(elevations), grid, likely, tolerance=line.closeness)


def intervals_among(
    line: LineOfFire,
    elevations: FloatArray,
    azimuths: FloatArray,
    free: list[list[Interval]],
    solids: Sequence[Obstacle],
) -> list[list[Interval]]:
    """Keep the parts of free intervals whose shots clear the solids.

    Parameters
    ----------
    line : LineOfFire
        Release point and opening.
    elevations, azimuths : ndarray, shape (k,)
        [rad]
    free : list of list of (float, float)
        What :func:`free_intervals` gave. [m/s]
    solids : sequence of Obstacle
        What stands in the way.

    Returns
    -------
    list of list of (float, float)
        Intervals of each elevation. [m/s]
    """
    if not solids:
        return free

    def margin(k: NDArray[np.intp], speed: FloatArray) -> FloatArray:
        return line.margin_among(speed, elevations[k], azimuths[k], solids)

    return cut_intervals(margin, free, tolerance=line.closeness)


def why_unreached(
    line: LineOfFire,
    elevations: FloatArray,
    azimuths: FloatArray,
    speeds: tuple[float, float],
    aims: Sequence[Aim | None],
) -> str:
    """Say why no shot scores though nothing stands in the way.

    Parameters
    ----------
    line : LineOfFire
        Release point and opening.
    elevations, azimuths : ndarray, shape (k,)
        [rad]
    speeds : tuple of float
        Slowest and fastest allowed. [m/s]
    aims : sequence of Aim or None
        Aims through the middle of the opening, one for each elevation, at any speed.

    Returns
    -------
    str
        The reason.
    """
    name = line.target.name
    _, _, normal = line.target.axes()
    behind = float((line.point - aim_point(line.target)) @ normal) <= 0.0
    if behind and normal[2] <= 0.0:
        return f"blocked: the position lies behind the {name}, which takes balls from its front only"
    tried = f"elevations of {_degrees(elevations[0])} to {_degrees(elevations[-1])}"
    anyhow = free_intervals(line, elevations, azimuths, (SLOWEST, FASTEST))
    scoring = [one for found in anyhow for one in found]
    if scoring:
        least, most = min(low for low, _ in scoring), max(high for _, high in scoring)
        if least > speeds[1]:
            return (
                f"out of reach up to {speeds[1]:.4g} m/s: the slowest shot that scores in the {name} "
                f"needs {least:.3g} m/s"
            )
        if most < speeds[0]:
            return f"{speeds[0]:.4g} m/s is too fast: the fastest shot that scores has {most:.3g} m/s"
        return f"no shot of {speeds[0]:.4g} to {speeds[1]:.4g} m/s scores at {tried}"
    reached = [aim for aim in aims if aim is not None]
    if not reached:
        return f"out of reach: at {tried} no path up to {FASTEST:g} m/s comes to the {name} from its front"
    return _does_not_fit(line, reached, tried)


def _does_not_fit(line: LineOfFire, reached: Sequence[Aim], tried: str) -> str:
    """The ball gets to the opening but touches its edge: at what angle, and by how much."""
    target, radius = line.target, line.model.radius
    speed, elevation, azimuth = np.array([(a.speed, a.elevation, a.azimuth) for a in reached]).T
    flown = line.fly(speed, elevation, azimuth)
    _, _, normal = target.axes()
    across = -(flown.velocity @ normal) / np.linalg.norm(flown.velocity, axis=1)
    steepest = math.degrees(math.asin(float(np.max(across))))
    if target.radius is not None and radius < target.radius:
        wanted = math.degrees(math.asin(radius / target.radius))
        if steepest < wanted:
            where = "below the horizontal" if normal[2] > 1 - 1e-9 else "to its plane"
            return (
                f"the ball does not fit: it passes the {target.name} at {wanted:.3g}° {where} or more, "
                f"and {tried} bring it in at {steepest:.3g}° at most"
            )
    short = -float(np.max(line.margin(speed, elevation, azimuth)))
    return (
        f"the ball does not fit through the {target.name}: at {tried} its middle path still overlaps the "
        f"edge by {1000 * short:.3g} mm"
    )


def what_blocks(
    line: LineOfFire,
    elevations: FloatArray,
    azimuths: FloatArray,
    free: list[list[Interval]],
    obstacles: Sequence[Obstacle],
    defenders: Sequence[Defender],
) -> str:
    """Say which solid stops every shot that would score.

    Parameters
    ----------
    line : LineOfFire
        Release point and opening.
    elevations, azimuths : ndarray, shape (k,)
        [rad]
    free : list of list of (float, float)
        Speeds that would score; not all empty. [m/s]
    obstacles : sequence of Obstacle
        Obstacles of the field.
    defenders : sequence of Defender
        Defenders that stand in the way.

    Returns
    -------
    str
        The reason; it names one solid where one alone is enough.
    """
    name = line.target.name

    def stops(solids: Sequence[Obstacle]) -> bool:
        return not any(intervals_among(line, elevations, azimuths, free, solids))

    for solid in obstacles:
        if stops([solid]):
            if _starts_inside(line, solid):
                return f"blocked: the release point lies inside the {solid.name} or touches it"
            return f"blocked: every path that reaches the {name} hits the {solid.name}"
    if stops(obstacles):
        return f"blocked: every path that reaches the {name} hits one of {_listed(obstacles)}"
    for defender in defenders:
        if stops([defender.solid]):
            return f"blocked: every path that reaches the {name} hits the defender {defender.name}"
    for defender in defenders:
        if stops([*obstacles, defender.solid]):
            return (
                f"blocked: every path that reaches the {name} hits the defender {defender.name} "
                f"or one of {_listed(obstacles)}"
            )
    return f"blocked: every path that reaches the {name} hits a defender or an obstacle"


def _starts_inside(line: LineOfFire, solid: Obstacle) -> bool:
    """Whether the ball touches a solid where it is released."""
    still = line.fly(np.array([1.0]), np.array([math.pi / 4]), np.array([line.bearing]), [solid])
    return bool(still.status[0] == Status.OBSTACLE and still.time[0] == 0.0)


def _listed(solids: Sequence[Obstacle]) -> str:
    return ", ".join(f"the {solid.name}" for solid in solids)


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.3g}°"
