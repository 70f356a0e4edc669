"""Lines along which a field on a grid has one value."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Edge = tuple[int, int, int]  # row, column, 0 along x or 1 along y

# Corner signs of a cell (south-west, south-east, north-west, north-east, as bits) -> pairs of its edges that
# a line joins; S, E, N, W. The two cells with opposite corners alike are told apart by the middle.
_S, _E, _N, _W = range(4)
_PAIRS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((_S, _W),),
    2: ((_S, _E),),
    3: ((_W, _E),),
    4: ((_W, _N),),
    5: ((_S, _N),),
    7: ((_N, _E),),
    8: ((_N, _E),),
    10: ((_S, _N),),
    11: ((_W, _N),),
    12: ((_W, _E),),
    13: ((_S, _E),),
    14: ((_S, _W),),
}
_SADDLES = {
    (6, True): ((_S, _W), (_N, _E)),
    (6, False): ((_S, _E), (_W, _N)),
    (9, True): ((_S, _E), (_W, _N)),
    (9, False): ((_S, _W), (_N, _E)),
}


def level_lines(x: FloatArray, y: FloatArray, field: FloatArray, level: float = 0.0) -> list[FloatArray]:
    """Trace where a field on a rectangular grid passes a value, by linear interpolation along cell edges.

    Parameters
    ----------
    x : ndarray, shape (nx,)
        Rising. [unit of x]
    y : ndarray, shape (ny,)
        Rising. [unit of y]
    field : ndarray, shape (ny, nx)
        Values; a cell with a NaN at a corner is left out. [unit of the field]
    level : float
        [unit of the field]

    Returns
    -------
    list of ndarray, shape (k, 2)
        Lines as points (x, y); a closed one ends where it begins.

    Notes
    -----
    Exact where the field is linear between neighbours; otherwise off by about an eighth of its second
    difference over its slope.
    """
    above = field > level
    finite = np.isfinite(field)
    whole = finite[:-1, :-1] & finite[:-1, 1:] & finite[1:, :-1] & finite[1:, 1:]
    code = above[:-1, :-1] * 1 + above[:-1, 1:] * 2 + above[1:, :-1] * 4 + above[1:, 1:] * 8
    segments = []
    for row, column in zip(*np.nonzero(whole & (code != 0) & (code != 15)), strict=True):
        corner = int(code[row, column])
        pairs: tuple[tuple[int, int], ...]
        if corner in (6, 9):
            middle = bool(np.mean(field[row : row + 2, column : column + 2]) > level)
            pairs = _SADDLES[corner, middle]
        else:
            pairs = _PAIRS[corner]
        segments += [(_edge(int(row), int(column), a), _edge(int(row), int(column), b)) for a, b in pairs]
    return [np.array([_point(x, y, field, level, edge) for edge in chain]) for chain in _chains(segments)]


def _edge(row: int, column: int, side: int) -> Edge:
    if side == _S:
        return row, column, 0
    if side == _N:
        return row + 1, column, 0
    return (row, column, 1) if side == _W else (row, column + 1, 1)


def _point(x: FloatArray, y: FloatArray, field: FloatArray, level: float, edge: Edge) -> tuple[float, float]:
    row, column, upright = edge
    here = field[row, column]
    there = field[row + 1, column] if upright else field[row, column + 1]
    share = (level - here) / (there - here)
    if upright:
        return float(x[column]), float(y[row] + share * (y[row + 1] - y[row]))
    return float(x[column] + share * (x[column + 1] - x[column])), float(y[row])


def _chains(segments: list[tuple[Edge, Edge]]) -> list[list[Edge]]:
    """Join segments that share an edge."""
    at: dict[Edge, list[Edge]] = {}
    for a, b in segments:
        at.setdefault(a, []).append(b)
        at.setdefault(b, []).append(a)
    chains = []
    # ends first, so that an open line is walked from one of them; what is left are rings
    for start in sorted(at, key=lambda edge: len(at[edge])):
        if not at[start]:
            continue
        chain = [start]
        while at[chain[-1]]:
            following = at[chain[-1]].pop()
            at[following].remove(chain[-1])
            chain.append(following)
        chains.append(chain)
    return chains
