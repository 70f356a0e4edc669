"""Many flights through the compiled lanes, on all cores."""

from __future__ import annotations

import itertools
import math
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from shotwright.base.cores import usable_cores
from shotwright.flight.lanes import layout
from shotwright.flight.lanes.build import compiled_lanes
from shotwright.flight.lanes.kinds import STEPS, LaneLaws
from shotwright.flight.lanes.smoothness import widths
from shotwright.flight.launches import LaunchArrays
from shotwright.flight.model import FlightModel
from shotwright.flight.step_curve import Plane

FloatArray = NDArray[np.float64]

_NEAR_REST = 1.0  # of |u|/|a|
_LONGEST = 0.6  # s
CHUNK = 4096  # flights; below, a thread costs more than it saves
_CHUNKS_A_CORE = 4


def fly_in_lanes(
    model: FlightModel,
    laws: LaneLaws,
    launches: LaunchArrays,
    plane: Plane,
    floor: float | None,
    time_limit: float,
    accuracy: float,
) -> tuple[NDArray[np.uint8], FloatArray]:
    """Fly all launches to the first of plane, floor and time limit.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    laws : LaneLaws
        Its laws.
    launches : LaunchArrays
        n flights.
    plane : Plane
        The plane to cross.
    floor : float, optional
        Height of the ball's centre that ends a flight; None: its radius. [m]
    time_limit : float
        [s]
    accuracy : float
        Of the place, one of `STEPS`, times |v|/|v_n|. [m]

    Returns
    -------
    status : ndarray of uint8, shape (n,)
        As `path.fly`; 0 where a flight is too delicate for large steps and must be flown with more care.
    values : ndarray, shape (n, 15)
        Time, place, velocity, acceleration, jerk, apex height, apex time.
    """
    n = launches.flights()
    status, values = np.empty(n, np.uint8), np.empty((n, layout.VALUES))
    inputs = [_own(one) for one in launches]
    steps = steps_of(launches)
    par = settings(model, laws, plane, floor, time_limit, accuracy)
    table = np.full(layout.WIDTHS, math.inf) if laws.law is None else widths(laws.law)
    run = compiled_lanes(laws.drag, decay=laws.drag != "steady" or model.ball.spin_decay > 0)

    def chunk(edges: tuple[int, int]) -> None:
        run(*edges, *inputs, steps, par, table, workspace(), np.empty(layout.LANES, np.int64), status, flat)

    flat = values.reshape(-1)
    workers = min(cores(), n // CHUNK)
    if workers < 2:
        chunk((0, n))
        return status, values
    parts = min(_CHUNKS_A_CORE * workers, n // CHUNK)
    edges = np.linspace(0, n, parts + 1).astype(int).tolist()
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(chunk, itertools.pairwise(edges)))
    return status, values


def _own(values: FloatArray) -> FloatArray:
    """Return the numbers in one row that may be written: the loops are compiled for such arrays only."""
    row = np.ascontiguousarray(values, dtype=float)
    _, read_only = row.__array_interface__["data"]
    return (row.copy() if read_only else row).reshape(-1)


def steps_of(launches: LaunchArrays) -> NDArray[np.int64]:
    """How far it is from flight to flight in each input, and from number to number of a vector.

    Parameters
    ----------
    launches : LaunchArrays
        n flights.

    Returns
    -------
    ndarray, shape (6,)
        0 where one row serves all flights.
    """
    rows = [one.size // len(one) if len(one) > 1 else 0 for one in launches]
    return np.array([*rows, 1])


def settings(
    model: FlightModel,
    laws: LaneLaws,
    plane: Plane,
    floor: float | None,
    time_limit: float,
    accuracy: float,
) -> FloatArray:
    """Put what is the same for all flights into one row, in the order of `layout.ETA` and so on.

    Parameters
    ----------
    model, laws, plane, floor, time_limit, accuracy
        As in :func:`fly_in_lanes`.

    Returns
    -------
    ndarray, shape (22,)
        The row.
    """
    eta, wide = STEPS[accuracy]
    return np.array(
        [
            eta,
            _NEAR_REST,
            wide,
            _LONGEST,
            time_limit,
            laws.p,
            laws.q,
            laws.drag_part,
            laws.lift_part,
            model.ball.spin_decay / model.ball.inertia_factor,
            model.density,
            math.pi / 6 * model.density if model.buoyancy else 0.0,
            model.gravity,
            model.density / model.viscosity,
            math.inf if floor is None else floor,
            *model.wind,
            plane.x,
            plane.y,
            plane.z,
            plane.offset,
        ]
    )


def workspace() -> FloatArray:
    """Make the array that one thread works in, at the begin of a line of the cache.

    Returns
    -------
    ndarray
        `layout.WORKSPACE` zeros.
    """
    spare = np.zeros(layout.WORKSPACE + 8)
    first = (-spare.ctypes.data // 8) % 8
    return spare[first : first + layout.WORKSPACE]


def cores() -> int:
    """Count the cores that this process may use.

    Returns
    -------
    int
        At least 1.
    """
    return usable_cores()
