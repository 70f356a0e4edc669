"""Whether single launches lie inside the edge of what scores."""

from __future__ import annotations

import functools
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

PARTS = 4  # chords between two places of the edge


def judge(
    balls: FloatArray,
    table: FloatArray,
    spans: FloatArray,
    start: float,
    step: float,
    score: NDArray[np.bool_],
) -> None:
    """Say which launches lie inside the edge; the plain form of what `compiled_judge` returns.

    Parameters
    ----------
    balls : ndarray, shape (n, 3)
        Speed, elevation, azimuth. [m/s], [rad], [rad]
    table, spans, start, step
        As for `scoring_integral.integrate`.
    score : ndarray of bool, shape (n,)
        Filled. [-]
    """
    cells, places = table.shape[0], table.shape[1]
    edge_at = np.empty((places, 4))
    for i in range(balls.shape[0]):
        x = min(max((balls[i, 1] - start) / step, 0.0), float(cells))
        j = min(int(x), cells - 1)
        u = x - j
        for m in range(places):
            for k in range(2):
                a, b, c, d = 4 * k, 4 * k + 1, 4 * k + 2, 4 * k + 3
                value = table[j, m, a] + u * (table[j, m, b] + u * (table[j, m, c] + u * table[j, m, d]))
                edge_at[m, k] = value - balls[i, 2 * k]
                edge_at[m, 2 + k] = table[j, m, 8 + 2 * k] + u * table[j, m, 9 + 2 * k]
        # a ray from the launch towards higher speed crosses the edge an odd number of times
        inside = False
        for m in range(places):
            span = spans[m]
            if span == 0.0:
                continue
            x0, y0, x1, y1 = edge_at[m, 0], edge_at[m, 1], edge_at[m + 1, 0], edge_at[m + 1, 1]
            a_x, a_y, b_x, b_y = (
                edge_at[m, 2] * span,
                edge_at[m, 3] * span,
                edge_at[m + 1, 2] * span,
                edge_at[m + 1, 3] * span,
            )
            c_x, d_x = 3 * (x1 - x0) - 2 * a_x - b_x, a_x + b_x - 2 * (x1 - x0)
            c_y, d_y = 3 * (y1 - y0) - 2 * a_y - b_y, a_y + b_y - 2 * (y1 - y0)
            here_x, here_y = x0, y0
            for k in range(1, PARTS + 1):
                w = k / PARTS
                there_x, there_y = x1, y1
                if k < PARTS:
                    there_x = x0 + w * (a_x + w * (c_x + w * d_x))
                    there_y = y0 + w * (a_y + w * (c_y + w * d_y))
                if (here_y > 0.0) != (there_y > 0.0):
                    crossing = here_x - here_y * (there_x - here_x) / (there_y - here_y)
                    if crossing > 0.0:
                        inside = not inside
                here_x, here_y = there_x, there_y
        score[i] = inside


@functools.cache
def compiled_judge() -> Callable[..., None]:
    """Return `judge` compiled.

    Returns
    -------
    callable
        Takes what `judge` takes.
    """
    from shotwright.flight.kernel import compile_plain

    return compile_plain(judge, cache=True)
