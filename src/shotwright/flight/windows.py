"""What a firing position needs from the launcher: every speed and elevation that scores.

The window is the set of (speed, elevation) whose ball passes the opening from its front, its surface clear of
the edge all the way, and clear of everything that stands between. The shot is aimed straight at the middle of
the opening.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.flight.aiming import FASTEST
from shotwright.flight.blocked import free_intervals, intervals_among, what_blocks, why_unreached
from shotwright.flight.chance import Aim, Scatter, surroundings
from shotwright.flight.forgiving import SpreadOfLaunch, most_forgiving_aim
from shotwright.flight.line_of_fire import LineOfFire, line_of_fire
from shotwright.flight.model import FlightModel, extrapolations
from shotwright.flight.needed_shots import NeededShot, describe_shot
from shotwright.flight.slowest import minimum_speed_aim, slowest_scoring_aim
from shotwright.flight.window_edges import Interval, scoring_intervals
from shotwright.game.records import FiringPosition, Game, Obstacle, Target

FloatArray = NDArray[np.float64]

# Assumed where nothing has been measured yet: a launcher of middling steadiness.
ASSUMED_SCATTER = Scatter(speed=0.02, elevation=math.radians(0.7), azimuth=math.radians(0.7))
SPEED_RANGE = (0.5, 20.0)  # m/s; assumed, faster than any throw indoors should be
ELEVATION_RANGE = (math.radians(5.0), math.radians(85.0))
ELEVATION_STEPS = 81


@dataclass(frozen=True, slots=True)
class ShotWindow(Result):
    """What one firing position needs from the launcher for one target.

    Parameters
    ----------
    position, target : str
        Names in the game.
    release_height_m : float
        Height of the ball's centre at release. [m]
    spin_parameter : float, optional
        S = r omega / v of every shot; None with a fixed spin. [-]
    spin_rev_s : float, optional
        Fixed backspin; None where the spin follows the speed. [rev/s]
    defended : bool
        Whether the game's defenders stand in the way.
    speed_range_m_s : tuple of float
        Slowest and fastest speed looked at. [m/s]
    elevations_deg, azimuths_deg : tuple of float
        Elevations looked at, rising at an even step, and the azimuth at which each is fired. [deg]
    intervals_m_s : tuple of tuple of (float, float)
        For each elevation the intervals of speed that score, rising; empty where none does. [m/s]
    minimum_speed : NeededShot, optional
        The slowest shot that scores; None when blocked.
    minimum_speed_through_centre : NeededShot, optional
        The slowest shot whose centre crosses the middle of the opening, whatever stands in the way and
        whether or not it touches the edge; None when no speed up to 60 m/s gets there.
    most_forgiving : NeededShot, optional
        The shot with the largest hit probability for the launch spread below; None when blocked.
    scatter_speed, scatter_elevation_deg, scatter_azimuth_deg : float
        Launch spread behind the hit probabilities: standard deviations of the speed as a fraction of it, and
        of the angles. Placement, heading and balls of the game come on top. [-], [deg], [deg]
    scatter_origin : str
        ``"assumed"`` or ``"given"``.
    blocked : bool
        Whether no shot scores.
    reason : str
        Why not; empty when some shot does.
    words : tuple of str
        The window in plain sentences.
    """

    position: str
    target: str
    release_height_m: float
    spin_parameter: float | None
    spin_rev_s: float | None
    defended: bool
    speed_range_m_s: tuple[float, float]
    elevations_deg: tuple[float, ...]
    azimuths_deg: tuple[float, ...]
    intervals_m_s: tuple[tuple[Interval, ...], ...]
    minimum_speed: NeededShot | None
    minimum_speed_through_centre: NeededShot | None
    most_forgiving: NeededShot | None
    scatter_speed: float
    scatter_elevation_deg: float
    scatter_azimuth_deg: float
    scatter_origin: str
    blocked: bool
    reason: str
    words: tuple[str, ...]

    def scores(self, speed_m_s: float, row: int) -> bool:
        """Whether a speed scores at elevation number `row`."""
        return any(low <= speed_m_s <= high for low, high in self.intervals_m_s[row])


def shot_window(
    model: FlightModel,
    game: Game,
    position: FiringPosition,
    target: Target,
    *,
    release_height: float,
    spin_parameter: float = 0.0,
    spin: float | None = None,
    speed_range: tuple[float, float] | None = None,
    elevation_range: tuple[float, float] = ELEVATION_RANGE,
    elevation_steps: int = ELEVATION_STEPS,
    defended: bool = False,
    scatter: Scatter | None = None,
    draft: bool = False,
) -> ShotWindow:
    """Find every speed and elevation that scores from one position, and the shots worth knowing.

    Each elevation's intervals of speed end where the ball's surface touches the edge of the opening, an
    obstacle or a defender; the ends are closed in upon to 1e-9 m/s. Shots are aimed straight at the middle of
    the opening; in a crosswind the azimuth is the one that carries the ball through its middle.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    game : Game
        Obstacles, defenders, spreads of the ball.
    position : FiringPosition
        Where from.
    target : Target
        The opening.
    release_height : float
        Of the ball's centre over the floor. [m]
    spin_parameter : float
        S = r omega / v, backspin positive: the spin follows the speed. [-]
    spin : float, optional
        Fixed backspin in place of `spin_parameter`. [rad/s]
    speed_range : tuple of float, optional
        Slowest and fastest speed of the launcher; None: 0.5 to 20 m/s. [m/s]
    elevation_range : tuple of float
        Lowest and highest elevation. [rad]
    elevation_steps : int
        How many elevations, ends included. [-]
    defended : bool
        Whether the game's defenders stand in the way.
    scatter : Scatter, optional
        Launch spread behind the hit probabilities, of scalars; None: 2 % in speed and 0.7 deg in elevation
        and azimuth, which is assumed.
    draft : bool
        Good enough to be drawn while something is dragged: ends to 1e-4 m/s, the slowest shot only on the
        elevations looked at and none through the centre, hit probabilities over 256 balls.

    Returns
    -------
    ShotWindow
        The window; `blocked` with its reason when nothing scores.

    Raises
    ------
    BadInput
        Ranges that are empty or not finite, a release below the ball's radius.

    Notes
    -----
    The opening's edge is a line without thickness. The hit probability of the shown shots is counted over
    1024 evenly spread balls, good to about one percentage point.
    """
    speeds = _checked(speed_range or SPEED_RANGE, elevation_range, elevation_steps)
    obstacles = list(game.obstacles)
    robots = [defender.solid for defender in game.defenders]
    solids = [*obstacles, *robots] if defended else obstacles
    line = line_of_fire(
        model,
        target,
        position,
        release_height,
        spin_parameter=spin_parameter,
        spin=spin,
        solids=solids,
        draft=draft,
    )
    elevations = np.linspace(*elevation_range, elevation_steps)
    aims = line.centre_aims(elevations)
    azimuths = azimuths_of(line, elevations, aims)
    free = free_intervals(line, elevations, azimuths, speeds, aims)
    found = intervals_among(line, elevations, azimuths, free, solids)
    spread = SpreadOfLaunch(scatter or ASSUMED_SCATTER, surroundings(position, game.ball), game.ball)

    reason = ""
    if not any(free):
        reason = why_unreached(line, elevations, azimuths, speeds, aims)
    elif not any(found):
        defenders = game.defenders if defended else ()
        reason = what_blocks(line, elevations, azimuths, free, obstacles, defenders)
    shots = _shots(line, elevations, azimuths, (aims, found), spread, (obstacles, robots))
    return _window(
        line, position, speeds, elevations, azimuths, found, shots, spread.scatter, scatter, defended, reason
    )


def azimuths_of(line: LineOfFire, elevations: FloatArray, aims: Sequence[Aim | None]) -> FloatArray:
    """Azimuth at which each elevation is fired: straight at the opening, or against a crosswind.

    Parameters
    ----------
    line : LineOfFire
        Release point and opening.
    elevations : ndarray, shape (k,)
        [rad]
    aims : sequence of Aim or None
        Aims through the middle, one for each elevation.

    Returns
    -------
    ndarray, shape (k,)
        [rad]
    """
    known = np.array([k for k, aim in enumerate(aims) if aim is not None])
    if not line.crosswind or not len(known):
        return np.full(len(elevations), line.bearing)
    turned = np.array([aim.azimuth for aim in aims if aim is not None])
    return np.asarray(np.interp(elevations, elevations[known], turned))


def scoring_elevations(
    line: LineOfFire,
    speeds: FloatArray,
    *,
    elevation_range: tuple[float, float] = ELEVATION_RANGE,
    steps: int = ELEVATION_STEPS,
) -> list[list[Interval]]:
    """Find, for each speed, the intervals of elevation that score when nothing stands in the way.

    Parameters
    ----------
    line : LineOfFire
        Release point and opening.
    speeds : ndarray, shape (k,)
        [m/s]
    elevation_range : tuple of float
        Lowest and highest elevation. [rad]
    steps : int
        Elevations looked at first. [-]

    Returns
    -------
    list of list of (float, float)
        Intervals of each speed. [rad]
    """
    grid = np.linspace(*elevation_range, steps)
    azimuths = (
        azimuths_of(line, grid, line.centre_aims(grid)) if line.crosswind else np.full(steps, line.bearing)
    )

    def margin(k: NDArray[np.intp], elevation: FloatArray) -> FloatArray:
        return line.margin(speeds[k], elevation, np.interp(elevation, grid, azimuths))

    return scoring_intervals(margin, len(speeds), grid)


def _checked(speeds: tuple[float, float], elevations: tuple[float, float], steps: int) -> tuple[float, float]:
    if not (math.isfinite(speeds[0] + speeds[1]) and 0.0 < speeds[0] <= speeds[1] <= FASTEST):
        raise BadInput(
            f"{speeds[0]:g} to {speeds[1]:g} m/s is not a range of speed; type two speeds above zero and up "
            f"to {FASTEST:g} m/s, the slower first",
            field="speed_range",
        )
    low, high = (math.degrees(angle) for angle in elevations)
    if not (math.isfinite(low + high) and -90.0 < low <= high < 90.0):
        raise BadInput(
            f"{low:g} to {high:g} deg is not a range of elevation; type two angles between -90 and 90 deg, "
            "the lower first",
            field="elevation_range",
        )
    if steps < 1 or (steps == 1) != (low == high):
        raise BadInput(
            f"{steps} elevations from {low:g} to {high:g} deg do not fit together; a range needs at least 2, "
            "a single elevation is 1",
            field="elevation_steps",
        )
    return speeds


def _shots(
    line: LineOfFire,
    elevations: FloatArray,
    azimuths: FloatArray,
    found: tuple[Sequence[Aim | None], list[list[Interval]]],
    spread: SpreadOfLaunch,
    solids: tuple[Sequence[Obstacle], Sequence[Obstacle]],
) -> tuple[NeededShot | None, NeededShot | None, NeededShot | None]:
    """The slowest shot, the slowest through the middle, the most forgiving; None where there is none."""
    aims, intervals = found
    slowest = forgiving = None
    if any(intervals):
        aim = slowest_scoring_aim(line, elevations, azimuths, intervals)
        slowest = describe_shot("minimum speed", line, aim, spread, *solids)
        aim = most_forgiving_aim(line, elevations, azimuths, intervals, spread)
        forgiving = describe_shot("most forgiving", line, aim, spread, *solids)
    centred = None if line.draft else minimum_speed_aim(line, aims, elevations)
    through = None
    if centred is not None:
        through = describe_shot("minimum speed through the centre", line, centred, spread, *solids)
    return slowest, through, forgiving


def _window(
    line: LineOfFire,
    position: FiringPosition,
    speeds: tuple[float, float],
    elevations: FloatArray,
    azimuths: FloatArray,
    found: list[list[Interval]],
    shots: tuple[NeededShot | None, NeededShot | None, NeededShot | None],
    scatter: Scatter,
    given: Scatter | None,
    defended: bool,
    reason: str,
) -> ShotWindow:
    degrees = np.asarray(np.round(np.degrees(elevations), 10), dtype=float)
    slowest, through, forgiving = shots
    origin = "assumed" if given is None else "given"
    spread_words = (
        f"{100 * float(scatter.speed):.3g} % in speed, {math.degrees(float(scatter.elevation)):.3g}° in "
        f"elevation, {math.degrees(float(scatter.azimuth)):.3g}° in azimuth ({origin})"
    )
    return ShotWindow(
        position=position.name,
        target=line.target.name,
        release_height_m=float(line.point[2]),
        spin_parameter=line.spin_parameter if line.spin is None else None,
        spin_rev_s=None if line.spin is None else line.spin / (2 * math.pi),
        defended=defended,
        speed_range_m_s=speeds,
        elevations_deg=tuple(degrees.tolist()),
        azimuths_deg=tuple(np.degrees(azimuths).tolist()),
        intervals_m_s=tuple(tuple(one) for one in found),
        minimum_speed=slowest,
        minimum_speed_through_centre=through,
        most_forgiving=forgiving,
        scatter_speed=float(scatter.speed),
        scatter_elevation_deg=math.degrees(float(scatter.elevation)),
        scatter_azimuth_deg=math.degrees(float(scatter.azimuth)),
        scatter_origin=origin,
        blocked=slowest is None,
        reason=reason,
        words=_words(line, degrees, found, slowest, forgiving, spread_words, reason),
    )


def _words(
    line: LineOfFire,
    degrees: FloatArray,
    found: list[list[Interval]],
    slowest: NeededShot | None,
    forgiving: NeededShot | None,
    spread_words: str,
    reason: str,
) -> tuple[str, ...]:
    if slowest is None or forgiving is None:
        return (reason,)
    rows = [k for k, one in enumerate(found) if one]
    step = f" in steps of {degrees[1] - degrees[0]:.3g}°" if len(degrees) > 1 else ""
    split = sum(1 for one in found if len(one) > 1)
    reach = (
        f"{len(rows)} of {len(degrees)} elevations{step} score, from {degrees[rows[0]]:.3g} to "
        f"{degrees[rows[-1]]:.3g}°"
    )
    slow = f"slowest shot that scores: {slowest.speed_m_s:.4g} m/s at {slowest.elevation_deg:.3g}°"
    best = (
        f"most forgiving shot: {forgiving.speed_m_s:.4g} m/s at {forgiving.elevation_deg:.3g}°; "
        f"{100 * forgiving.hit_probability:.0f} % score with a launch spread of {spread_words}"
    )
    sentences = [reach, slow, best]
    if split:
        sentences.append(f"solids in the way split the speeds in two or more parts at {split} elevations")
    if forgiving.meets:
        sentences.append(f"that shot would hit the {forgiving.meets}, were it standing in the way")
    least = forgiving.speed_m_s * math.cos(math.radians(forgiving.elevation_deg))
    spin = 2 * math.pi * forgiving.spin_rev_s
    sentences += extrapolations(line.model, [least, forgiving.speed_m_s], spin)
    return tuple(sentences)
