"""The chance that a launch scores, for any aim and any scatter from one place at one opening."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.chance import Aim, Scatter, Surroundings
from shotwright.flight.scoring_integral import compiled, inner_rules, outer_rules
from shotwright.flight.scoring_judge import compiled_judge
from shotwright.flight.scoring_launches import ScoringLaunches

FloatArray = NDArray[np.float64]

_CHUNK = 1000  # scatters; below, a thread costs more than it saves


class _Packed(NamedTuple):
    """The edge as the compiled loop wants it: a cubic in each cell of elevation.

    Parameters
    ----------
    table : ndarray, shape (e - 1, m, 12)
        Coefficients by the share of the step: four of the speed, four of the azimuth, two each of their
        derivatives along the edge.
    spans : ndarray, shape (m,)
        From each place of the edge to the next; 0 where a piece ends.
    band : ndarray, shape (e - 1, 6)
        Four coefficients of the speed in the middle of the band, two of its half width.
    start, step : float
        Of the elevations. [rad]
    """

    table: FloatArray
    spans: FloatArray
    band: FloatArray
    start: float
    step: float


@dataclass(frozen=True, slots=True)
class ScoringChance:
    """Hit probability from one place at one opening, obstacles left out.

    Parameters
    ----------
    launches : ScoringLaunches
        What scores.
    around : Surroundings
        Placement and balls.
    packed : tuple
        As `scoring_chance` makes it.
    added : ndarray, shape (e, 5)
        What placement, balls and spin add at each elevation.
    """

    launches: ScoringLaunches
    around: Surroundings
    packed: _Packed
    added: FloatArray

    def of(self, aims: Sequence[Aim], scatter: Scatter, *, sliced: bool = False) -> FloatArray:
        """Hit probabilities of k aims for m scatters, shape (k, m).

        Parameters
        ----------
        aims : sequence of Aim
            From this place with this spin.
        scatter : Scatter
            Of m draws, or of scalars.
        sliced : bool
            Integrate by slices of elevation alone, in finer steps: another way, to check by.

        Returns
        -------
        ndarray, shape (k, m)
            Hit probabilities. [-]
        """
        given = np.broadcast_arrays(*(np.atleast_1d(np.asarray(one, dtype=float)) for one in _six(scatter)))
        speed, elevation, azimuth, d_speed, d_elevation, d_azimuth = given
        turned = azimuth**2 + self.around.heading_sd**2
        draws = np.concatenate(
            [
                np.column_stack(
                    [
                        aim.speed * (1 + d_speed),
                        aim.elevation + d_elevation,
                        aim.azimuth + d_azimuth,
                        aim.speed * speed,
                        elevation,
                        turned,
                    ]
                )
                for aim in aims
            ]
        )
        chance = np.empty(len(draws))
        rules = (*outer_rules(sliced), *inner_rules())
        run = compiled()

        def part(first: int) -> None:
            some = slice(first, first + _CHUNK)
            run(draws[some], *self.packed, self.added, *rules, chance[some])

        starts = range(0, len(draws), _CHUNK)
        workers = min(len(starts), os.cpu_count() or 1)
        if workers < 2:
            list(map(part, starts))
        else:
            part(0)
            with ThreadPoolExecutor(workers) as pool:
                list(pool.map(part, starts[1:]))
        return np.clip(chance, 0.0, 1.0).reshape(len(aims), -1)

    def hits(self, aim: Aim, scatter: Scatter, normals: FloatArray) -> NDArray[np.bool_]:
        """Say which of the same balls as `chance.flown_hits` score by this table.

        Parameters
        ----------
        aim : Aim
            The aim.
        scatter : Scatter
            Of scalars, or of one draw for each ball.
        normals : ndarray, shape (n, 8)
            Standard normal draws in the column order of the sensitivities. [-]

        Returns
        -------
        ndarray of bool, shape (n,)
            Which balls score.
        """
        z, around = normals, self.around
        elevation = aim.elevation + scatter.elevation_offset + scatter.elevation * z[:, 1]
        cells = len(self.packed.table)
        place = np.clip((elevation - self.packed.start) / self.packed.step, 0.0, cells)
        cell = np.minimum(place.astype(int), cells - 1)
        share = (place - cell)[:, None, None]
        sds = np.array(
            [around.spin_parameter_sd, around.place_sd, around.place_sd, around.mass_sd, around.diameter_sd]
        )
        moved = z[:, [3, 4, 5, 6, 7]] * sds
        other, curvature = (
            one[cell] + share * (one[cell + 1] - one[cell])
            for one in (self.launches.other, self.launches.other_curvature)
        )
        more = np.einsum("nij,nj->in", other, moved) + np.einsum("nij,nj->in", curvature, moved**2) / 2
        speed = aim.speed * (1 + scatter.speed_offset + scatter.speed * z[:, 0]) + more[0]
        turn = np.hypot(scatter.azimuth, around.heading_sd)
        azimuth = aim.azimuth + scatter.azimuth_offset + turn * z[:, 2] + more[1]
        score = np.zeros(len(z), dtype=np.bool_)
        compiled_judge()(
            np.column_stack([speed, elevation, azimuth]),
            self.packed.table,
            self.packed.spans,
            self.packed.start,
            self.packed.step,
            score,
        )
        return score


def scoring_chance(launches: ScoringLaunches, around: Surroundings) -> ScoringChance:
    """Prepare hit probabilities from one place at one opening.

    Parameters
    ----------
    launches : ScoringLaunches
        What scores.
    around : Surroundings
        Placement and balls.

    Returns
    -------
    ScoringChance
        Ready for any aim and scatter.
    """
    return ScoringChance(launches, around, _packed(launches), _added(launches, around))


def _six(scatter: Scatter) -> tuple[float | FloatArray, ...]:
    return (
        scatter.speed,
        scatter.elevation,
        scatter.azimuth,
        scatter.speed_offset,
        scatter.elevation_offset,
        scatter.azimuth_offset,
    )


def _packed(launches: ScoringLaunches) -> _Packed:
    pieces = launches.pieces
    columns = [launches.speed, launches.azimuth, pieces.along(launches.speed), pieces.along(launches.azimuth)]
    if np.sum(pieces.weighted(columns[0] * columns[3])) < 0:  # clockwise: take it the other way round
        columns = [sign * one[:, ::-1] for one, sign in zip(columns, (1, 1, -1, -1), strict=True)]
    table = np.concatenate(
        [_cubic(one) for one in columns[:2]] + [_straight(one) for one in columns[2:]], axis=2
    )
    spans = np.tile(np.append(np.diff(pieces.node), 0.0), pieces.count)
    high, low = launches.speed.max(axis=1), launches.speed.min(axis=1)
    band = np.concatenate([_cubic((high + low) / 2), _straight((high - low) / 2)], axis=1)
    step = float(launches.elevation[1] - launches.elevation[0])
    return _Packed(table, spans, band, float(launches.elevation[0]), step)


def _cubic(values: FloatArray) -> FloatArray:
    """Coefficients of the cubic with the values and slopes at both ends of each cell."""
    slopes = _slopes(values)
    y0, y1, s0, s1 = values[:-1], values[1:], slopes[:-1], slopes[1:]
    return np.stack([y0, s0, 3 * (y1 - y0) - 2 * s0 - s1, 2 * (y0 - y1) + s0 + s1], axis=-1)


def _straight(values: FloatArray) -> FloatArray:
    return np.stack([values[:-1], np.diff(values, axis=0)], axis=-1)


def _slopes(values: FloatArray) -> FloatArray:
    """Slope per step at each row: fourth order inside, second order beside the ends."""
    slopes = np.gradient(values, axis=0, edge_order=2 if len(values) > 2 else 1)
    if len(values) > 4:
        slopes[2:-2] = (8 * (values[3:-1] - values[1:-3]) - (values[4:] - values[:-4])) / 12
    return np.asarray(slopes)


def _added(launches: ScoringLaunches, around: Surroundings) -> FloatArray:
    """What placement, balls and spin add at each elevation.

    Columns: variances of speed and azimuth, their covariance, shifts of the means of speed and azimuth.
    """
    sds = np.array(
        [around.spin_parameter_sd, around.place_sd, around.place_sd, around.mass_sd, around.diameter_sd]
    )
    speed, azimuth = (launches.other * sds).transpose(1, 0, 2)
    shift = launches.other_curvature @ sds**2 / 2
    return np.column_stack([np.sum(speed**2, 1), np.sum(azimuth**2, 1), np.sum(speed * azimuth, 1), shift])
