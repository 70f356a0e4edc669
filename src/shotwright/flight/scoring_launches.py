"""Which launches from one place score at one opening: a closed curve of (speed, azimuth) at each elevation.

Found once by flying, with the ball's real path past the edge. The hit probability of any aim and any scatter
then is a normal integral over what lies inside the curves; see `scoring_chance`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.aiming import aims_through, beyond_direction
from shotwright.flight.crossing import Crossings, Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.opening import edge_clearance
from shotwright.flight.opening_edge import EdgePieces, edge_pieces, edge_places
from shotwright.flight.scoring_rows import Rows, closed_at_end, flipped, longest_run, runs_away
from shotwright.game.records import Target

FloatArray = NDArray[np.float64]

# What varies beside speed, elevation and azimuth. Each is carried as the change of speed and azimuth that
# moves the crossing point as far.
OTHERS = ("spin_parameter", "place_x", "place_y", "mass", "diameter")

STEP = math.radians(3.0)
LOWEST, HIGHEST = math.radians(4.0), math.radians(88.0)
_SPEED_STEP, _TURN_STEP = 2e-3, 2e-3  # fraction of the speed; rad
_SPIN_STEP, _BALL_STEP = 0.02, 0.02  # of S; fraction of mass and diameter
_SECANTS = 3
_FARTHEST = 1.6  # of the way to the edge of a straight path
_BENT = 2  # rows beside the limit of reach whose slopes are bent by the last one


@dataclass(frozen=True, slots=True)
class ScoringLaunches:
    """The launches from one place that score at one opening, elevation by elevation.

    Arrays have one row for each of e elevations, in even steps. Each row holds m places of a closed curve in
    (speed, azimuth); a launch inside scores.

    Parameters
    ----------
    point : ndarray, shape (3,)
        Release point. [m]
    spin_parameter : float
        S = r omega / v. [-]
    elevation : ndarray, shape (e,)
        In even steps. [rad]
    pieces : EdgePieces
        How the curve is cut.
    speed, azimuth : ndarray, shape (e, m)
        The curve. [m/s], [rad]
    middle : ndarray, shape (e, 2)
        Speed and azimuth through the middle of the opening. [m/s], [rad]
    per_offset : ndarray, shape (e, 2, 2)
        An aim o beyond the middle needs `middle + per_offset[:, 0] o + per_offset[:, 1] o^2`.
    other : ndarray, shape (e, 2, 5)
        What one unit of each of `OTHERS` is worth in speed and in azimuth.
    other_curvature : ndarray, shape (e, 2, 5)
        Second derivatives of the same.
    whole : tuple of float
        Elevations between which the curves tell all that scores. Beyond a finite end the scoring speeds run
        away to the limit of reach, where slower and faster shots meet; no cubic follows them there. [rad]
    """

    point: FloatArray
    spin_parameter: float
    elevation: FloatArray
    pieces: EdgePieces
    speed: FloatArray
    azimuth: FloatArray
    middle: FloatArray
    per_offset: FloatArray
    other: FloatArray
    other_curvature: FloatArray
    whole: tuple[float, float] = (-math.inf, math.inf)


def scoring_launches(
    model: FlightModel,
    target: Target,
    point: FloatArray,
    elevations: FloatArray,
    spin_parameter: float,
) -> ScoringLaunches | None:
    """Find which launches score, obstacles left out.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    point : ndarray, shape (3,)
        Release point. [m]
    elevations : ndarray, shape (e,)
        In even steps, 3 degrees or less. [rad]
    spin_parameter : float
        S; the spin follows the speed. [-]

    Returns
    -------
    ScoringLaunches or None
        For the longest run of elevations that score at all, closed at its ends; None when fewer than two do,
        or for a polygon with an inward corner.

    Notes
    -----
    At each elevation some twenty flights around the middle give a quadratic map from the plane back to
    (speed, azimuth). Each place of the edge is then found by three secant steps on the surface clearance of
    the real path, along a ray from the middle.
    """
    pieces = edge_pieces(target)
    if pieces is None:
        return None
    search = _Search(model, target, np.asarray(point, dtype=float), spin_parameter)
    aims = aims_through(model, target, point, elevations, spin_parameter)
    known = np.array([(a.speed, a.azimuth) if a is not None else (np.nan, np.nan) for a in aims])
    live = np.flatnonzero(np.isfinite(known[:, 0]))
    if len(live) < 2:
        return None
    through = search.fly(elevations[live], known[live])
    beyond = search.beyond()
    outline = [
        edge_places(target, through.velocity[i], model.radius, pieces, beyond) if ok else None
        for i, ok in enumerate(through.status == Status.CROSSED)
    ]
    kept = np.array([i for i, one in enumerate(outline) if one is not None], dtype=int)
    if len(kept) < 2:
        return None
    live = live[kept]
    centre, edge = (np.array([one[k] for one in outline if one is not None]) for k in (0, 1))
    found = search.curve(elevations[live], known[live], centre, edge)
    good = np.flatnonzero(np.isfinite(found.speed).all(axis=1))
    run = longest_run(live[good])
    if len(run) < 2:
        return None
    rows = Rows(*(getattr(found, name)[good[run]] for name in Rows.__slots__))
    first, last = int(live[good[run[0]]]), int(live[good[run[-1]]])
    step = elevations[1] - elevations[0]
    start = elevations[first]
    whole = (
        float(start + _BENT * step)
        if first > 0 and runs_away(flipped(rows), known[first - 1])
        else -math.inf,
        float(elevations[last] - _BENT * step)
        if last < len(elevations) - 1 and runs_away(rows, known[last + 1])
        else math.inf,
    )
    if first > 0:
        rows = flipped(closed_at_end(flipped(rows), known[:first][::-1]))
        start -= 2 * step
    if last < len(elevations) - 1:
        rows = closed_at_end(rows, known[last + 1 :])
    return ScoringLaunches(
        point=search.point,
        spin_parameter=spin_parameter,
        elevation=start + step * np.arange(len(rows.speed)),
        pieces=pieces,
        whole=whole,
        **{name: getattr(rows, name) for name in Rows.__slots__},
    )


def aims_near(launches: ScoringLaunches, elevation: FloatArray, offset: FloatArray) -> FloatArray:
    """Speed and azimuth that carry the ball so far beyond the middle, between the elevations.

    Parameters
    ----------
    launches : ScoringLaunches
        What scores.
    elevation : ndarray, shape (k,)
        [rad]
    offset : ndarray, shape (k,)
        Beyond the middle of the opening: farther for one that faces up, higher for an upright one. [m]

    Returns
    -------
    ndarray, shape (k, 2)
        [m/s], [rad]; NaN outside the elevations that score. Good to about 1e-3 of the opening's size.
    """
    o = offset[:, None]
    rows = np.column_stack([launches.middle, launches.per_offset.reshape(-1, 4)])
    found = cubic_between(launches.elevation, rows, elevation)
    return np.asarray(found[:, :2] + found[:, 2:4] * o + found[:, 4:6] * o * o)


def cubic_between(grid: FloatArray, rows: FloatArray, at: FloatArray) -> FloatArray:
    """Interpolate rows of an even grid by the cubic through the four nearest; NaN outside.

    Parameters
    ----------
    grid : ndarray, shape (e,)
        Even steps, two or more. [any]
    rows : ndarray, shape (e, c)
        Values. [any]
    at : ndarray, shape (k,)
        Where. [as the grid]

    Returns
    -------
    ndarray, shape (k, c)
        Values there.
    """
    count = min(4, len(grid))
    place = (at - grid[0]) / (grid[1] - grid[0])
    first = np.clip(np.floor(place).astype(int) - (count // 2 - 1), 0, len(grid) - count)
    found = np.zeros((len(at), rows.shape[1]))
    for k in range(count):
        weight = np.ones(len(at))
        for other in range(count):
            if other != k:
                weight = weight * (place - first - other) / (k - other)
        found += weight[:, None] * rows[first + k]
    found[(place < -1e-9) | (place > len(grid) - 1 + 1e-9)] = np.nan
    return found


@dataclass(frozen=True, slots=True)
class _Search:
    """Flights from one place at one opening."""

    model: FlightModel
    target: Target
    point: FloatArray
    spin_parameter: float

    def fly(
        self,
        elevation: FloatArray,
        launch: FloatArray,
        *,
        more_spin: float = 0.0,
        mass: float = 1.0,
        diameter: float = 1.0,
    ) -> Crossings:
        """Fly (speed, azimuth) pairs, shape (n, 2); mass and diameter as multiples of the ball's."""
        spin = (self.spin_parameter + more_spin) * launch[:, 0] / self.model.radius
        velocity, spins = launch_vectors(launch[:, 0], elevation, launch[:, 1], spin)
        return fly_to_plane(
            self.model,
            self.point,
            velocity,
            spins,
            np.asarray(self.target.centre),
            self.target.axes()[2],
            mass=np.full(len(launch), mass * self.model.ball.mass),
            diameter=np.full(len(launch), diameter * self.model.ball.diameter),
            plain=False,
        )

    def places(self, crossings: Crossings) -> FloatArray:
        """Crossing points (u, w), shape (n, 2); NaN where there is none. [m]."""
        u, w, _ = self.target.axes()
        place = (crossings.position - np.asarray(self.target.centre)) @ np.column_stack([u, w])
        place[crossings.status != Status.CROSSED] = np.nan
        return np.asarray(place)

    def beyond(self) -> FloatArray:
        """Direction (u, w) in the plane that a faster ball moves to."""
        u, w, normal = self.target.axes()
        flat = np.asarray(self.target.centre)[:2] - self.point[:2]
        direction = beyond_direction(normal, math.atan2(flat[1], flat[0]))
        return np.array([direction @ u, direction @ w])

    def curve(self, elevation: FloatArray, middle: FloatArray, centre: FloatArray, edge: FloatArray) -> Rows:
        """Find the edge of what scores; NaN rows where the middle itself does not score."""
        through = self.fly(elevation, middle)
        start = self.places(through)
        slope = self._slopes(elevation, middle)
        back: FloatArray = np.linalg.inv(slope).astype(float)
        curved = self._quadratic(elevation, middle, start, back, edge)
        speed, azimuth = self._edge(elevation, middle, start, curved, centre, edge)
        beyond = self.beyond()
        powers = np.array([curved @ _powers(beyond * share) for share in (1.0, -1.0)])
        per_offset = np.stack([(powers[0] - powers[1]) / 2, (powers[0] + powers[1]) / 2], axis=1)
        return Rows(speed, azimuth, middle, per_offset, *self._others(elevation, middle, through, back))

    def _slopes(self, elevation: FloatArray, middle: FloatArray) -> FloatArray:
        """Derivatives (e, 2, 2) of the crossing by speed and azimuth, from central differences."""
        n = len(middle)
        steps = np.stack([_SPEED_STEP * middle[:, 0], np.full(n, _TURN_STEP)])
        columns = []
        for k in range(2):
            moved = np.concatenate([middle, middle])
            moved[:n, k] += steps[k]
            moved[n:, k] -= steps[k]
            place = self.places(self.fly(np.tile(elevation, 2), moved))
            columns.append((place[:n] - place[n:]) / (2 * steps[k])[:, None])
        slope = np.stack(columns, axis=2)
        slope[~np.isfinite(slope).all(axis=(1, 2))] = np.eye(2)  # the row is dropped later: its middle misses
        return slope

    def _quadratic(
        self, elevation: FloatArray, middle: FloatArray, start: FloatArray, back: FloatArray, edge: FloatArray
    ) -> FloatArray:
        """Quadratic map (e, 2, 5) from a place in the plane, seen from the middle, to (speed, azimuth)."""
        n = len(middle)
        half = np.max(np.abs(edge - start[:, None]), axis=1)
        grid = np.array([(x, y) for x in (-0.8, 0.0, 0.8) for y in (-0.8, 0.0, 0.8) if x or y])
        wanted = half[:, None] * grid
        change = np.einsum("eij,ekj->eki", back, wanted)
        launch = middle[:, None] + change
        launch[..., 0] = np.maximum(launch[..., 0], 0.3 * middle[:, :1])
        place = self.places(self.fly(np.repeat(elevation, len(grid)), launch.reshape(-1, 2)))
        seen = place.reshape(n, len(grid), 2) - start[:, None]
        curved = np.zeros((n, 2, 5))
        curved[:, :, :2] = back
        for i in range(n):
            if np.isfinite(seen[i]).all():
                terms = _powers(seen[i].T).T
                curved[i] = np.linalg.lstsq(terms, launch[i] - middle[i], rcond=None)[0].T
        return curved

    def _edge(
        self,
        elevation: FloatArray,
        middle: FloatArray,
        start: FloatArray,
        curved: FloatArray,
        centre: FloatArray,
        edge: FloatArray,
    ) -> tuple[FloatArray, FloatArray]:
        """Speed and azimuth (e, m) at which the ball's surface just clears the edge."""
        n, m = edge.shape[:2]
        rows = np.repeat(np.arange(n), m)
        away = edge - centre[:, None]

        def launch_at(share: FloatArray) -> FloatArray:
            place = centre[:, None] + share[..., None] * away - start[:, None]
            terms = _powers(np.moveaxis(place, -1, 0))
            return np.asarray(middle[:, None] + np.einsum("eij,jem->emi", curved, terms))

        def clearance(share: FloatArray) -> FloatArray:
            flown = self.fly(elevation[rows], launch_at(share).reshape(-1, 2))
            return edge_clearance(self.target, flown, self.model.radius).reshape(n, m)

        inner = launch_at(np.zeros((n, m)))[:, 0]
        inside = edge_clearance(self.target, self.fly(elevation, inner), self.model.radius)
        known = np.where(inside > 0, inside, np.nan)[:, None] * np.ones(m)
        low, low_value = np.zeros((n, m)), known
        share = np.ones((n, m))
        for _ in range(_SECANTS):
            value = clearance(share)
            value = np.where(np.isfinite(value), value, -known)
            with np.errstate(divide="ignore", invalid="ignore"):
                step = value * (share - low) / (low_value - value)
            better = np.abs(value) < np.abs(low_value)
            following = np.clip(np.where(np.isfinite(step), share + step, share), 0.0, _FARTHEST)
            low, low_value = np.where(better, share, low), np.where(better, value, low_value)
            share = following
        found = launch_at(share)
        found[~np.isfinite(known)] = np.nan
        return found[..., 0], found[..., 1]

    def _others(
        self, elevation: FloatArray, middle: FloatArray, through: Crossings, back: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """What a unit of each other quantity is worth in speed and azimuth, (e, 2, 5), and its curvature."""
        moves = np.zeros((len(middle), 2, len(OTHERS)))
        curves = np.zeros_like(moves)
        start = self.places(through)
        ball = self.model.ball
        for column, name, step, unit in (
            (0, "more_spin", _SPIN_STEP, 1.0),
            (3, "mass", _BALL_STEP, ball.mass),
            (4, "diameter", _BALL_STEP, ball.diameter),
        ):
            around = 0.0 if name == "more_spin" else 1.0
            up, down = (
                self.places(self.fly(elevation, middle, **{name: around + sign * step})) for sign in (1, -1)
            )
            moves[:, :, column] = (up - down) / (2 * step * unit)
            curves[:, :, column] = (up - 2 * start + down) / (step * unit) ** 2
        u, w, normal = self.target.axes()
        for column, axis in ((1, 0), (2, 1)):
            across = through.velocity @ normal
            slid = -through.velocity * (normal[axis] / np.where(across == 0, np.nan, across))[:, None]
            slid[:, axis] += 1.0
            moves[:, :, column] = slid @ np.column_stack([u, w])
        worth, curvature = (np.einsum("eij,ejk->eik", back, np.nan_to_num(one)) for one in (moves, curves))
        return worth, curvature


def _powers(place: FloatArray) -> FloatArray:
    """x, y, x^2, x y, y^2 of places, shape (2, ...)."""
    x, y = place
    return np.stack([x, y, x * x, x * y, y * y])
