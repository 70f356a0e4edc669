"""Fit polynomials to the shots of one line of fire, panel by panel, until flights agree with them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.flight.aiming import FASTEST
from shotwright.flight.crossing import Crossings, Status, fly_to_plane
from shotwright.flight.line_of_fire import LineOfFire
from shotwright.flight.model import launch_vectors
from shotwright.flight.surrogate_grid import GUARD, QUANTITIES, Panel, Piece, ShotSurrogate, quantities
from shotwright.flight.window_edges import refined_edges

FloatArray = NDArray[np.float64]

_ROWS = 14  # terms in elevation
_TERMS = 16  # terms in x, a multiple of 8
_BOUNDARY = 24  # terms of the boundary
_STRAY = 1e-9  # of a speed: what the boundary's last terms may be
_SLOWER = 0.97  # of the slowest speed: where the fit begins
_SLOWEST = 0.3  # of it: how far a boundary is followed that leaves the speeds within a panel
_FIRST = 48  # elevations at which the boundary is looked for first
_LADDER = 10
_CHECKS = 40  # flights that test a panel, above its boundary, and half as many below
_SAFE = 0.25  # of the tolerance: what the checks may be off
_DEEPEST = 7  # halvings of elevation
_MOST_PIECES = 4
_BISECTIONS = 14
_A_LITTLE = 1.002  # of the fastest speed: up to there the end of the elevations that cross is looked for
_BEYOND = 1.25  # of the fastest speed: how far a panel's boundary may climb
_DEEP = 2.0  # m under the floor, to which flights go on, so that nothing ends at the floor in the fit


@dataclass(slots=True)
class _Shots:
    """Flights of one line at one azimuth, counted."""

    line: LineOfFire
    azimuth: float
    speeds: tuple[float, float]
    tolerance: float
    flights: int = 0
    error: float = 0.0

    def fly(self, speed: FloatArray, elevation: FloatArray, *, on: bool) -> Crossings:
        """Fly settings, each (n,); `on` goes on below the floor. [m/s], [rad]."""
        self.flights += len(speed)
        line = self.line
        velocity, spin = launch_vectors(speed, elevation, self.azimuth, line.backspin(speed))
        _, _, normal = line.target.axes()
        floor = line.model.radius - _DEEP if on else None
        return fly_to_plane(
            line.model, line.point, velocity, spin, line.target.centre, normal, floor=floor, plain=False
        )

    def reach(self, speed: FloatArray, elevation: FloatArray) -> FloatArray:
        """Above zero for balls that cross: height over the floor, or what the normal speed is worth. [m]."""
        flown = self.fly(speed, elevation, on=True)
        _, _, normal = self.line.target.axes()
        across = (flown.velocity @ normal) ** 2 / (2.0 * self.line.model.gravity)
        height = flown.position[:, 2] - self.line.model.radius
        return np.where(flown.status == Status.CROSSED, np.minimum(height, across), -np.inf)

    def any_crosses(self, elevations: FloatArray) -> NDArray[np.bool_]:
        """Whether some ball within the speeds crosses at each elevation."""
        ladder = np.geomspace(self.speeds[0], _A_LITTLE * self.speeds[1], _LADDER)
        reach = self.reach(np.tile(ladder, len(elevations)), np.repeat(elevations, _LADDER))
        return np.asarray((reach.reshape(-1, _LADDER) >= 0.0).any(axis=1))

    def boundary(self, elevations: FloatArray, slowest: float) -> FloatArray:
        """Least speed above `slowest` that crosses, at each elevation: inf: none; 0: all do. [m/s]."""
        ladder = np.geomspace(slowest, _BEYOND * self.speeds[1], _LADDER)
        rows = np.arange(len(elevations))

        def reach(k: NDArray[np.intp], speed: FloatArray) -> FloatArray:
            return self.reach(speed, elevations[k])

        climbed = reach(np.repeat(rows, _LADDER), np.tile(ladder, len(rows))).reshape(len(rows), -1)
        crosses = climbed >= 0.0
        found = np.where(crosses[:, 0], 0.0, np.inf)
        k = rows[~crosses[:, 0] & crosses.any(axis=1)]
        if len(k):
            at = np.argmax(crosses[k], axis=1)
            over, under = ((ladder[i], climbed[k, i]) for i in (at, at - 1))
            found[k] = refined_edges(reach, k, over, under, tolerance=1e-11)
        return found


def shot_surrogate(
    line: LineOfFire,
    speed_range: tuple[float, float],
    elevation_range: tuple[float, float],
    *,
    azimuth: float | None = None,
    tolerance: float = 1e-6,
) -> ShotSurrogate:
    """Fit series to where the shots of a line of fire cross the opening's plane.

    Parameters
    ----------
    line : LineOfFire
        Release point, opening, spin. Its solids are not looked at.
    speed_range, elevation_range : tuple of float
        Settings to cover, lowest and highest. [m/s], [rad]
    azimuth : float, optional
        At which all are fired; None: straight at the opening. [rad]
    tolerance : float
        How far the crossing point may be from the flight's. [m]

    Returns
    -------
    ShotSurrogate
        Ready for grids.

    Raises
    ------
    BadInput
        Ranges that are empty or not finite, a tolerance that is not above zero.

    Notes
    -----
    Every panel is tested by flights that it was not fitted to, on both sides of its boundary; where they
    differ by more than a quarter of the tolerance, or in status, the panel is halved. Panels that 7 halvings
    do not mend are left to be flown, cell by cell.

    References
    ----------
    L. N. Trefethen (2013), Approximation Theory and Approximation Practice, SIAM: Chebyshev interpolants of
    analytic functions; from memory.
    """
    _checked(speed_range, elevation_range, tolerance)
    shots = _Shots(line, line.bearing if azimuth is None else azimuth, speed_range, tolerance)
    panels = [
        panel
        for low, high in _crossing_parts(shots, elevation_range)
        for panel in _panels(shots, low, high, 0)
    ]
    panels = _with_gaps(shots, panels, elevation_range)
    return ShotSurrogate(
        line, shots.azimuth, speed_range, elevation_range, tuple(panels), shots.flights, shots.error
    )


def _checked(speeds: tuple[float, float], elevations: tuple[float, float], tolerance: float) -> None:
    if not (math.isfinite(sum(speeds)) and 0.0 < speeds[0] < speeds[1] <= FASTEST):
        raise BadInput(
            f"{speeds[0]:g} to {speeds[1]:g} m/s is not a range of speed; type two speeds above zero and up "
            f"to {FASTEST:g} m/s, the slower first",
            field="speed_range",
        )
    if not (math.isfinite(sum(elevations)) and -math.pi / 2 < elevations[0] < elevations[1] < math.pi / 2):
        raise BadInput(
            f"{math.degrees(elevations[0]):g} to {math.degrees(elevations[1]):g} deg is not a range of "
            "elevation; type two angles between -90 and 90 deg, the lower first",
            field="elevation_range",
        )
    if not (math.isfinite(tolerance) and tolerance > 0.0):
        raise BadInput(f"{tolerance:g} m is not a tolerance; type one above zero", field="tolerance")


def _crossing_parts(shots: _Shots, span: tuple[float, float]) -> list[tuple[float, float]]:
    """Parts of the elevations at which some ball within the speeds crosses."""
    grid = np.linspace(*span, _FIRST)
    good = shots.any_crosses(grid)
    changes = np.flatnonzero(good[1:] != good[:-1])
    inside = np.where(good[changes], grid[changes], grid[changes + 1])
    outside = np.where(good[changes], grid[changes + 1], grid[changes])
    for _ in range(_BISECTIONS if len(changes) else 0):
        middle = 0.5 * (inside + outside)
        crosses = shots.any_crosses(middle)
        inside, outside = np.where(crosses, middle, inside), np.where(crosses, outside, middle)
    ends = [*([span[0]] if good[0] else []), *inside.tolist(), *([span[1]] if good[-1] else [])]
    return list(zip(ends[::2], ends[1::2], strict=True))


def _with_gaps(shots: _Shots, panels: list[Panel], span: tuple[float, float]) -> list[Panel]:
    """Leave the elevations between panels to be flown where a flight there crosses after all."""
    found: list[Panel] = []
    rng = np.random.default_rng(_CHECKS)  # any fixed places will do
    before = span[0]
    for panel in [*panels, None]:
        end = span[1] if panel is None else panel.low
        if end > before:
            elevation = rng.uniform(before, end, _CHECKS)
            flown = shots.fly(rng.uniform(*shots.speeds, _CHECKS), elevation, on=False)
            if (flown.status != Status.FLOOR).any():
                found.append(_left_out(shots, before, end))
        if panel is not None:
            found.append(panel)
            before = panel.high
    return found


def _left_out(shots: _Shots, low: float, high: float) -> Panel:
    """Return a panel whose cells are flown."""
    return Panel(low, high, np.zeros(1), True, shots.speeds[1], ())


def _panels(shots: _Shots, low: float, high: float, depth: int) -> list[Panel]:
    """Fit a panel, or halve it."""
    fitted = _panel(shots, low, high)
    if fitted is not None:
        return [fitted]
    if depth == _DEEPEST:
        return [_left_out(shots, low, high)]
    middle = 0.5 * (low + high)
    return [*_panels(shots, low, middle, depth + 1), *_panels(shots, middle, high, depth + 1)]


def _panel(shots: _Shots, low: float, high: float) -> Panel | None:
    """Fit one panel in as many pieces as it needs; None when it must be halved."""
    nodes = _nodes(_BOUNDARY, low, high)
    slowest = shots.boundary(nodes, _SLOWER * shots.speeds[0])
    if 0 < np.count_nonzero(slowest) < _BOUNDARY:
        slowest = shots.boundary(nodes, _SLOWEST * shots.speeds[0])
    if not np.isfinite(slowest).all() or 0.0 < np.count_nonzero(slowest) < _BOUNDARY:
        return None
    edge = bool(slowest[0] > 0.0)
    boundary = _series(_BOUNDARY) @ slowest if edge else np.array([_SLOWER * shots.speeds[0]])
    if edge and np.abs(boundary[-2:]).max() > _STRAY * slowest.max():
        return None
    fastest = max(_BEYOND * shots.speeds[1], 1.05 * float(slowest.max()))
    empty = Panel(low, high, boundary, edge, fastest, ())
    pieces = 1
    while pieces <= _MOST_PIECES:
        parts = tuple(_piece(shots, empty, k / pieces, (k + 1) / pieces) for k in range(pieces))
        if any(one is None for one in parts):
            return None
        panel = Panel(low, high, boundary, edge, fastest, tuple(one for one in parts if one is not None))
        in_elevation, in_speed = _tails(panel)
        if max(in_elevation, in_speed) < _SAFE * shots.tolerance:
            return panel if _agrees(shots, panel) else None
        if in_elevation > in_speed:
            return None
        pieces *= 2
    return None


def _piece(shots: _Shots, panel: Panel, low: float, high: float) -> Piece | None:
    """Fly the nodes of a piece; None when one of them does not cross."""
    elevation, x = _nodes(_ROWS, panel.low, panel.high), _nodes(_TERMS, low, high)
    slowest = panel.slowest(elevation)
    speed = slowest[:, None] + (panel.fastest - slowest)[:, None] * x**2
    flown = shots.fly(speed.ravel(), np.repeat(elevation, _TERMS), on=True)
    if (flown.status != Status.CROSSED).any():
        return None
    values = quantities(shots.line, flown).reshape(QUANTITIES, _ROWS, _TERMS)
    return Piece(low, high, _series(_ROWS) @ values @ _series(_TERMS).T)


def _tails(panel: Panel) -> tuple[float, float]:
    """Size of the last terms of the crossing point's series: in elevation, and in speed. [m]."""
    series = np.abs(np.array([piece.series[1:3] for piece in panel.pieces]))
    return float(series[:, :, -2:].sum(axis=(2, 3)).max()), float(series[:, :, :, -2:].sum(axis=(2, 3)).max())


def _agrees(shots: _Shots, panel: Panel) -> bool:
    """Fly settings between the nodes, and below the boundary; keep the largest difference."""
    rng = np.random.default_rng(_CHECKS)  # any fixed places will do
    elevation = panel.low + (panel.high - panel.low) * rng.uniform(0.0, 1.0, _CHECKS)
    elevation[:4] = panel.low, panel.high, panel.low, panel.high
    slowest = panel.slowest(elevation)
    x = rng.uniform(0.0, 1.0, _CHECKS)
    speed = np.maximum(slowest + (panel.fastest - slowest) * x**2, slowest + 2.0 * GUARD)
    below = _CHECKS // 2
    if panel.edge:
        # half of the misses just under the boundary, half anywhere
        share = np.where(np.arange(below) % 2 == 0, 1.0 - 2.0 * GUARD, rng.uniform(0.3, 1.0, below))
        speed, elevation = (
            np.append(speed, slowest[:below] * share),
            np.append(elevation, elevation[:below]),
        )
    flown = shots.fly(speed, elevation, on=False)
    expected = np.arange(len(speed)) < _CHECKS
    if ((flown.status == Status.CROSSED) != expected).any() or (
        flown.status[~expected] != Status.FLOOR
    ).any():
        return False
    found = np.array([_value(panel, v, e) for v, e in zip(speed[:_CHECKS], elevation, strict=False)])
    off = np.abs(found - quantities(shots.line, flown)[1:3, :_CHECKS].T).max()
    if off > _SAFE * shots.tolerance:
        return False
    shots.error = max(shots.error, float(off))
    return True


def _value(panel: Panel, speed: float, elevation: float) -> FloatArray:
    """Crossing point of one setting, by numpy's own evaluation of the series."""
    slowest = float(panel.slowest(np.array(elevation)))
    x = math.sqrt(max(speed - slowest, 0.0) / (panel.fastest - slowest))
    piece = next(one for one in panel.pieces if x <= one.high)
    scaled = (2.0 * x - piece.low - piece.high) / (piece.high - piece.low)
    at = float(panel.scaled(np.array(elevation)))
    return np.array([chebyshev.chebval2d(at, scaled, one) for one in piece.series[1:3]])


def _nodes(count: int, low: float = -1.0, high: float = 1.0) -> FloatArray:
    """Chebyshev's nodes of the first kind."""
    unit = -np.cos(math.pi * (np.arange(count) + 0.5) / count)
    return np.asarray(0.5 * (low + high) + 0.5 * (high - low) * unit)


def _series(count: int) -> FloatArray:
    """Takes values at the nodes to coefficients, (count, count)."""
    found = 2.0 / count * chebyshev.chebvander(_nodes(count), count - 1).T
    found[0] *= 0.5
    return np.asarray(found)
