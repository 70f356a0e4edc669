"""The flight equations compiled, and run over many flights on all cores.

The equations are written once, as plain functions (`path.fly` and all that it calls). Here they are compiled
together, at the first use, and kept on disk with the text of all the files they came from as the key.

No compiled loop starts threads of its own: chunks of flights run in Python threads with the interpreter lock
released, so any number of callers may fly at the same time, and results don't depend on the number of cores.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import FunctionType
from typing import Any, cast

import numba
import numpy as np
from numpy.typing import NDArray

from shotwright.base.compiled import Compiled, text_of, with_compiled_callees
from shotwright.base.cores import usable_cores
from shotwright.flight.dop853 import advance
from shotwright.flight.drag import drag_of
from shotwright.flight.laws import PackedLaw
from shotwright.flight.lift import lift_of
from shotwright.flight.motion import Body, acceleration
from shotwright.flight.path import WIDTH, fly
from shotwright.flight.step_curve import Plane

FloatArray = NDArray[np.float64]

# run at each of twelve stages: a call would cost more than the work, and its tables a reference count
_INLINED = (acceleration, drag_of, lift_of)
# sums of the stages may be reordered and fused; nothing is assumed about infinities and NaN
_LIBERTIES = {"contract", "reassoc", "arcp", "nsz"}
_CHUNK = 1000  # flights; below, a thread costs more than it saves


def fly_many(
    starts: FloatArray,
    bodies: FloatArray,
    drag: PackedLaw,
    lift: PackedLaw,
    plane: Plane,
    floors: FloatArray,
    solids: Sequence[float],
    time_limit: float,
    tolerance: float,
) -> tuple[NDArray[np.uint8], FloatArray]:
    """Fly many balls with the compiled equations.

    Parameters
    ----------
    starts : ndarray, shape (n, 7)
        `motion.State` of each release. [m], [m/s], [rad/s]
    bodies : ndarray, shape (n, 11)
        `motion.Body` of each ball. [SI, as each of its fields says]
    drag, lift : PackedLaw
        The balls' coefficients.
    plane : Plane
        The plane to cross.
    floors : ndarray, shape (n,)
        Height of the ball's centre when it touches the floor. [m]
    solids : sequence of float
        Obstacles as `obstacles.pack_obstacles` gives them. [m]
    time_limit : float
        [s]
    tolerance : float
        Allowed estimate of the velocity's error in one step. [m/s]

    Returns
    -------
    status : ndarray of uint8, shape (n,)
        See `path.fly`.
    values : ndarray, shape (n, 16)
        See `path.Values`.
    """
    n = len(starts)
    status, values = np.zeros(n, np.uint8), np.empty((n, WIDTH))
    run = compiled_rows()
    laws = with_arrays(drag), with_arrays(lift)
    row = np.asarray(solids, dtype=float)

    def chunk(edges: tuple[int, int]) -> None:
        run(*edges, starts, bodies, *laws, plane, floors, row, time_limit, tolerance, status, values)

    workers = min(_cores(), n // _CHUNK)
    if workers < 2:
        chunk((0, n))
        return status, values
    edges = np.linspace(0, n, 4 * workers + 1).astype(int).tolist()
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(chunk, itertools.pairwise(edges)))
    return status, values


@functools.cache
def compiled_rows() -> Callable[..., None]:
    """Return the compiled loop over flights; the first call of a new version compiles for some seconds.

    Returns
    -------
    callable
        Takes what `_rows` takes.
    """
    return compile_plain(_rows, cache=True)


def _rows(
    first: int,
    last: int,
    starts: FloatArray,
    bodies: FloatArray,
    drag: PackedLaw,
    lift: PackedLaw,
    plane: Plane,
    floors: FloatArray,
    solids: Sequence[float],
    time_limit: float,
    tolerance: float,
    status: NDArray[np.uint8],
    values: FloatArray,
) -> None:
    for i in range(first, last):
        s, b = starts[i], bodies[i]
        start = (s[0], s[1], s[2], s[3], s[4], s[5], s[6])
        body = Body(b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10])
        code, found = fly(start, body, drag, lift, plane, floors[i], solids, time_limit, tolerance)
        status[i] = code
        for k in range(WIDTH):
            values[i, k] = found[k]


def compile_plain(function: Callable[..., Any], *, cache: bool) -> Callable[..., Any]:
    """Compile a plain function together with the plain functions of this room that it calls.

    Parameters
    ----------
    function : function
        Its own module's functions, and this room's, are compiled with it.
    cache : bool
        Whether to keep the result on disk, once for each installation.

    Returns
    -------
    callable
        The compiled function.
    """
    assert isinstance(function, FunctionType)
    linked = with_compiled_callees(function, "shotwright.flight.", _options)
    if not cache:
        return cast(Callable[..., Any], numba.njit(**_options(function))(linked))
    name = f"flight {function.__module__.rpartition('.')[2].replace('_', ' ')}"
    return Compiled(linked, text_of(Path(__file__).parent), name, **_options(function))


def _options(function: FunctionType) -> dict[str, Any]:
    return {
        "error_model": "numpy",
        "nogil": True,
        "forceinline": function in _INLINED,
        "fastmath": _LIBERTIES if function is advance or function in _INLINED else False,
    }


def with_arrays(law: PackedLaw) -> PackedLaw:
    """Return the law with arrays for its curve, the form that the compiled equations take.

    Parameters
    ----------
    law : PackedLaw
        With plain sequences.

    Returns
    -------
    PackedLaw
        The same numbers.
    """
    knots, pieces, breaks = (
        cast(Sequence[float], np.asarray(one, dtype=float)) for one in (law.knots, law.pieces, law.breaks)
    )
    return law._replace(knots=knots, pieces=pieces, breaks=breaks)


def _cores() -> int:
    """Cores that this process may use."""
    return usable_cores()
