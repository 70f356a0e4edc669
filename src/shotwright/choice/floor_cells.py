"""Best setting and hit probability at many places on the floor, all by arrays.

Every place has the same candidates: elevations of the table, each aimed a little short of the middle of the
opening, at it, or beyond. Their chances are exact integrals over the linearised flight for a middling draw of
the spread; the best one, moved to the top of the parabolas through its neighbours, is then integrated for
every draw.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.choice.aim_table import (
    AWAY,
    BY_DIAMETER,
    BY_ELEVATION,
    BY_MASS,
    BY_SPEED,
    BY_SPIN,
    SPEED,
    UP,
    AimTable,
)
from shotwright.flight.aiming import aim_point
from shotwright.flight.chance import Scatter, Surroundings
from shotwright.flight.opening_region import scoring_regions
from shotwright.game.records import Target
from shotwright.statistics.polygon import normal_in_polygon

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

SCORES, OUT_OF_REACH, BEHIND, TOO_TIGHT, BLOCKED, TAKEN = range(6)

_OFFSETS = np.linspace(-0.6, 0.6, 5)  # in units of half the opening's depth
_AT_ONCE = 16  # places whose draws are integrated in one call


@dataclass(frozen=True, slots=True, eq=False)
class FloorCase:
    """What all places of a map share.

    Parameters
    ----------
    table : AimTable
        Shots through the middle of the opening.
    target : Target
        The opening.
    radius : float
        Of the ball. [m]
    speeds : tuple of float
        Slowest and fastest that the launcher can be set to. [m/s]
    scatter : Scatter
        Draws of the launch spread, arrays of m.
    around : Surroundings
        Placement and balls.
    """

    table: AimTable
    target: Target
    radius: float
    speeds: tuple[float, float]
    scatter: Scatter
    around: Surroundings


@dataclass(frozen=True, slots=True)
class Settings:
    """The best setting at each of n places.

    Parameters
    ----------
    code : ndarray of int, shape (n,)
        Whether it scores, or why not.
    place : ndarray, shape (n, 2)
        On the floor. [m]
    row : ndarray, shape (n,)
        Elevation, counted in steps of the table. [-]
    beyond : ndarray, shape (n,)
        How far beyond the middle of the opening is aimed. [m]
    chance : ndarray, shape (n,)
        For the middling spread; NaN where nothing scores. [-]
    columns : ndarray, shape (n, 8)
        Of the table, at the setting.
    """

    code: IntArray
    place: FloatArray
    row: FloatArray
    beyond: FloatArray
    chance: FloatArray
    columns: FloatArray

    def put(self, rows: IntArray, others: Settings) -> None:
        """Enter the settings of some places."""
        for name in self.__dataclass_fields__:
            getattr(self, name)[rows] = getattr(others, name)

    def some(self, rows: IntArray) -> Settings:
        """Return those of some places."""
        return Settings(
            self.code[rows],
            self.place[rows],
            self.row[rows],
            self.beyond[rows],
            self.chance[rows],
            self.columns[rows],
        )


@dataclass(frozen=True, slots=True)
class Shots:
    """Linearised flights: n shots.

    Parameters
    ----------
    jacobian : ndarray, shape (n, 2, 8)
        Crossing point by speed [m/s], elevation, azimuth [rad], spin parameter, x, y [m], mass [kg], diameter
        [m].
    middle : ndarray, shape (n, 2)
        Crossing point of the mean shot when it is aimed at the middle. [m]
    way : ndarray, shape (n, 2)
        Direction in the opening's plane that a faster ball moves to. [-]
    corners : ndarray, shape (n, k, 2)
        Scoring region. [m]
    good : ndarray of bool, shape (n,)
        Whether the ball comes from the front and fits.
    front : ndarray of bool, shape (n,)
        Whether it comes from the front.
    """

    jacobian: FloatArray
    middle: FloatArray
    way: FloatArray
    corners: FloatArray
    good: NDArray[np.bool_]
    front: NDArray[np.bool_]


def shots_at(case: FloorCase, places: FloatArray, columns: FloatArray) -> Shots:
    """Turn rows of the table into linearised flights to the opening.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    places : ndarray, shape (n, 2)
        On the floor. [m]
    columns : ndarray, shape (n, 8)
        Of the table; NaN where out of reach. [SI, as the table says]

    Returns
    -------
    Shots
        One for each row.
    """
    axes = np.array(case.target.axes())
    middle = aim_point(case.target)
    flat = middle[:2] - places
    distance = np.linalg.norm(flat, axis=1)
    away = flat / distance[:, None]
    zero = np.zeros(len(places))
    known: NDArray[np.bool_] = np.all(np.isfinite(columns), axis=1)
    c = np.where(known[:, None], columns, 1.0)
    velocity = np.column_stack([away * c[:, AWAY, None], c[:, UP]])
    speed = np.linalg.norm(velocity, axis=1)
    square = np.column_stack([-away * (c[:, UP] / speed)[:, None], c[:, AWAY] / speed])
    left = np.column_stack([-away[:, 1], away[:, 0], zero]) * distance[:, None]
    one = np.ones(len(places))
    moves = np.stack(
        [
            square * c[:, BY_SPEED, None],
            square * c[:, BY_ELEVATION, None],
            left,
            square * c[:, BY_SPIN, None],
            np.column_stack([one, zero, zero]),
            np.column_stack([zero, one, zero]),
            square * c[:, BY_MASS, None],
            square * c[:, BY_DIAMETER, None],
        ],
        axis=1,
    )  # (n, 8, 3)
    across = velocity @ axes[2]
    front = known & (across < -1e-6 * speed)
    along = velocity / np.where(front, across, -1.0)[:, None]
    slid = moves - (moves @ axes[2])[:, :, None] * along[:, None, :]
    jacobian = np.swapaxes(slid @ axes[:2].T, 1, 2)
    beyond = np.column_stack([away, one])
    beyond -= (beyond @ axes[2])[:, None] * axes[2]
    way = (beyond / np.linalg.norm(beyond, axis=1)[:, None]) @ axes[:2].T
    local = np.where(front[:, None], velocity @ axes.T, [0.0, 0.0, 1.0])
    corners, fits = scoring_regions(case.target, local, case.radius)
    centre = (middle - np.asarray(case.target.centre)) @ axes[:2].T
    return Shots(jacobian, np.tile(centre, (len(places), 1)), way, corners, front & fits, front)


def crossing_scatter(
    case: FloorCase, shots: Shots, speeds: FloatArray, scatter: Scatter
) -> tuple[FloatArray, FloatArray]:
    """Mean shift (n, m, 2) and covariance (n, m, 2, 2) of the crossing point, for n shots and m draws.

    Parameters
    ----------
    case : FloorCase
        Placement and balls.
    shots : Shots
        n of them.
    speeds : ndarray, shape (n,)
        Of the shots. [m/s]
    scatter : Scatter
        m draws.

    Returns
    -------
    tuple of ndarray
        [m], [m^2]
    """
    j = shots.jacobian.copy()
    j[:, :, 0] *= speeds[:, None]  # spread and offset of the speed are shares of it
    a, one = case.around, np.ones(np.size(scatter.speed))
    variances = np.array(
        [
            one * scatter.speed**2,
            one * scatter.elevation**2,
            one * (np.square(scatter.azimuth) + a.heading_sd**2),
        ]
    )
    fixed = np.square([a.spin_parameter_sd, a.place_sd, a.place_sd, a.mass_sd, a.diameter_sd])
    products = np.einsum("npc,nqc->ncpq", j, j)
    covariance = np.einsum("cm,ncpq->nmpq", variances, products[:, :3])
    covariance += np.einsum("c,ncpq->npq", fixed, products[:, 3:])[:, None]
    shifts = np.array(
        [one * scatter.speed_offset, one * scatter.elevation_offset, one * scatter.azimuth_offset]
    )
    return np.einsum("cm,npc->nmp", shifts, j[:, :, :3]), covariance


def middling(scatter: Scatter) -> Scatter:
    """One scatter that stands for all draws in a search: medians, with what the offsets add.

    Parameters
    ----------
    scatter : Scatter
        m draws.

    Returns
    -------
    Scatter
        Arrays of one.
    """

    def size(spread: float | FloatArray, offset: float | FloatArray) -> FloatArray:
        return np.array([float(np.sqrt(np.median(np.square(spread)) + np.median(np.square(offset))))])

    return Scatter(
        speed=size(scatter.speed, scatter.speed_offset),
        elevation=size(scatter.elevation, scatter.elevation_offset),
        azimuth=size(scatter.azimuth, scatter.azimuth_offset),
    )


def half_depth(target: Target) -> float:
    """Half the extent of an opening along its w axis. [m].

    Parameters
    ----------
    target : Target
        The opening.
    """
    if target.radius is not None:
        return target.radius
    return (max(w for _, w in target.corners) - min(w for _, w in target.corners)) / 2


def candidates(case: FloorCase, places: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, IntArray]:
    """Chances of every candidate at every place.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    places : ndarray, shape (n, 2)
        On the floor. [m]

    Returns
    -------
    chance : ndarray, shape (n, j, 5)
        For the middling spread, at each elevation and offset; NaN where the candidate is none. [-]
    offsets : ndarray, shape (5,)
        How far beyond the middle. [m]
    rows : ndarray, shape (n, j, 8)
        Of the table.
    code : ndarray of int, shape (n,)
        `SCORES`, or why there is no candidate.
    """
    distance = np.linalg.norm(aim_point(case.target)[:2] - places, axis=1)
    rows = case.table.at(distance)
    n, j, _ = rows.shape
    speed = rows[:, :, SPEED]
    with np.errstate(invalid="ignore"):
        reached = (speed >= case.speeds[0]) & (speed <= case.speeds[1])
    usable = np.where(reached[:, :, None], rows, np.nan)
    where = np.repeat(places, j, axis=0)
    shots = shots_at(case, where, usable.reshape(n * j, -1))
    offsets = half_depth(case.target) * _OFFSETS
    chance = np.full((n * j, len(offsets)), np.nan)
    own = np.flatnonzero(shots.good)
    if len(own):
        some = Shots(*(getattr(shots, name)[own] for name in Shots.__dataclass_fields__))
        _, covariance = crossing_scatter(
            case, some, usable.reshape(n * j, -1)[own, SPEED], middling(case.scatter)
        )
        mean = some.middle[:, None] + offsets[:, None] * some.way[:, None]
        chance[own] = normal_in_polygon(
            mean.reshape(-1, 2),
            np.repeat(covariance[:, 0], len(offsets), axis=0),
            np.repeat(some.corners, len(offsets), axis=0),
        ).reshape(-1, len(offsets))
    good, front = shots.good.reshape(n, j).any(axis=1), shots.front.reshape(n, j).any(axis=1)
    in_reach = reached.any(axis=1)
    code = np.where(good, SCORES, np.where(front, TOO_TIGHT, np.where(in_reach, BEHIND, OUT_OF_REACH)))
    return chance.reshape(n, j, -1), offsets, rows, code


def best_settings(case: FloorCase, places: FloatArray) -> Settings:
    """Choose the setting of each place.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    places : ndarray, shape (n, 2)
        On the floor. [m]

    Returns
    -------
    Settings
        One for each place.
    """
    chance, offsets, rows, code = candidates(case, places)
    n, _, k = chance.shape
    flat = np.where(np.isnan(chance), -1.0, chance).reshape(n, -1)
    best = np.argmax(flat, axis=1)
    row, column = np.divmod(best, k)
    i = np.arange(n)
    place = row + _top(chance[i, :, column], row)
    beyond = offsets[column] + _top(chance[i, row], column) * (offsets[1] - offsets[0])
    found = np.where(code == SCORES, flat[i, best], np.nan)
    return Settings(code, places, place, beyond, found, case.table.between(rows, place))


def _top(values: FloatArray, at: IntArray) -> FloatArray:
    """Where the parabola through the best value and its neighbours is highest, in steps from it."""
    n, k = values.shape
    inside = (at > 0) & (at < k - 1)
    i = np.arange(n)
    left, right = values[i, np.maximum(at - 1, 0)], values[i, np.minimum(at + 1, k - 1)]
    bend = left + right - 2.0 * values[i, at]
    with np.errstate(invalid="ignore", divide="ignore"):
        step = 0.5 * (left - right) / bend
    good = inside & np.isfinite(step) & (bend < 0.0)
    return np.where(good, np.clip(step, -0.5, 0.5), 0.0)


def chances(case: FloorCase, settings: Settings) -> FloatArray:
    """Hit probability of each place's setting for every draw.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    settings : Settings
        n places that score.

    Returns
    -------
    ndarray, shape (n, m)
        [-]
    """
    shots = shots_at(case, settings.place, settings.columns)
    shift, covariance = crossing_scatter(case, shots, settings.columns[:, SPEED], case.scatter)
    mean = (shots.middle + settings.beyond[:, None] * shots.way)[:, None] + shift
    n, m, _ = mean.shape
    found = np.zeros((n, m))
    for begin in range(0, n, _AT_ONCE):
        part = slice(begin, begin + _AT_ONCE)
        found[part] = normal_in_polygon(
            mean[part].reshape(-1, 2),
            covariance[part].reshape(-1, 2, 2),
            np.repeat(shots.corners[part], m, axis=0),
        ).reshape(-1, m)
    found[~shots.good] = 0.0
    return found


def launch_values(case: FloorCase, settings: Settings) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Speed, elevation and azimuth of each place's setting.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    settings : Settings
        n places that score.

    Returns
    -------
    tuple of ndarray, each of shape (n,)
        [m/s], [rad], [rad]
    """
    shots = shots_at(case, settings.place, settings.columns)
    by_speed = np.einsum("np,np->n", shots.jacobian[:, :, 0], shots.way)
    speed = settings.columns[:, SPEED] + settings.beyond / np.where(by_speed == 0.0, np.inf, by_speed)
    flat = aim_point(case.target)[:2] - settings.place
    return speed, case.table.elevation_at(settings.row), np.arctan2(flat[:, 1], flat[:, 0])
