"""A launcher's model with its parameters open: releases and marks for many sets of parameters at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_floor, fly_to_plane
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import CoefficientLaw
from shotwright.launcher.description import Described
from shotwright.launcher.release import Releases, spin_vectors
from shotwright.trials.records import Trial
from shotwright.trials.unknowns import (
    DRAG_SCALE,
    ELEVATION_OFFSET,
    ENERGY_SHARE,
    LIFT_SCALE,
    Unknown,
)

FloatArray = NDArray[np.float64]

_NODES = {"drag": 4, "lift": 3}  # Chebyshev's, of each scale; a polynomial in between


@dataclass(frozen=True, slots=True)
class LearnedModel:
    """A launcher and its ball's flight, with open parameters.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    described : Described
        The launcher.
    unknowns : tuple of Unknown
        What is open.
    """

    model: FlightModel
    described: Described
    unknowns: tuple[Unknown, ...]

    def values(self, coordinates: FloatArray) -> dict[str, FloatArray]:
        """Turn coordinates, shape (m, p), into values by name, each of shape (m,)."""
        return {one.name: one.values(coordinates[:, i]) for i, one in enumerate(self.unknowns)}

    def release(
        self, values: Mapping[str, FloatArray], settings: Mapping[str, ArrayLike], n: int
    ) -> Releases:
        """Releases at a setting for n sets of parameters; mean ball unless `settings` say otherwise.

        Parameters
        ----------
        values : mapping of str to ndarray, shape (n,)
            Parameters.
        settings : mapping of str to float or ndarray, shape (n,)
            Inputs that differ from the file's. [SI]
        n : int
            How many.

        Returns
        -------
        Releases
            With the ball's share of the energy and the offset of the elevation applied.
        """
        inputs: dict[str, ArrayLike] = dict(self.described.means(self.model.ball))
        inputs.update({name: value for name, value in values.items() if name in inputs})
        inputs.update(settings)
        filled = {name: np.broadcast_to(np.asarray(value, dtype=float), n) for name, value in inputs.items()}
        out = self.described.release(filled)
        slower = np.sqrt(np.broadcast_to(values.get(ENERGY_SHARE, np.ones(1)), n))
        offset = np.broadcast_to(values.get(ELEVATION_OFFSET, np.zeros(1)), n)
        turned = out.elevation + offset
        return dataclasses.replace(
            out,
            speed=out.speed * slower,
            elevation=turned,
            spin=_tilted(out, offset) * slower[:, None],
        )

    def marks(self, out: Releases, values: Mapping[str, FloatArray], trial: Trial) -> FloatArray:
        """First axis of the marks of releases, each flown with its own scales of drag and lift.

        The flights of all releases are computed at a few values of each scale (Chebyshev's nodes of the range
        asked for) and read off the polynomial through them.

        Parameters
        ----------
        out : Releases
            n releases.
        values : mapping of str to ndarray, shape (n,)
            Parameters.
        trial : Trial
            Says on what surface marks are read.

        Returns
        -------
        ndarray, shape (n,)
            Along or height; NaN where a ball does not get there. [m]
        """
        scales = [
            (law, np.broadcast_to(values[name], len(out)))
            for law, name in (("drag", DRAG_SCALE), ("lift", LIFT_SCALE))
            if name in values
        ]
        return self._marks(out, scales, {}, trial)

    def _marks(
        self,
        out: Releases,
        scales: Sequence[tuple[str, FloatArray]],
        fixed: Mapping[str, float],
        trial: Trial,
    ) -> FloatArray:
        if not scales:
            return self._fly(out, fixed, trial)
        (law, wanted), rest = scales[0], scales[1:]
        low, high, count = float(wanted.min()), float(wanted.max()), _NODES[law]
        if high - low < 1e-12:
            return self._marks(out, rest, {**fixed, law: low}, trial)
        nodes = (low + high) / 2 + (high - low) / 2 * np.cos(np.pi * (np.arange(count) + 0.5) / count)
        at_nodes = [self._marks(out, rest, {**fixed, law: float(node)}, trial) for node in nodes]
        return _interpolated(nodes, np.array(at_nodes), wanted)

    def _fly(self, out: Releases, scale: Mapping[str, float], trial: Trial) -> FloatArray:
        model = self._scaled(scale)
        position, velocity, spin = out.in_field(0.0, 0.0, 0.0)
        radius = model.radius
        if trial.surface == "floor":
            point, normal, axis = (0.0, 0.0, trial.surface_at + radius), (0.0, 0.0, 1.0), 0
        else:
            point, normal, axis = (trial.surface_at, 0.0, 0.0), (-1.0, 0.0, 0.0), 2
        floor = NO_FLOOR if trial.surface == "floor" else None
        found = fly_to_plane(model, position, velocity, spin, point, normal, floor=floor)
        return np.where(found.status == Status.CROSSED, found.position[:, axis], np.nan)

    def ranges(self, out: Releases, values: Mapping[str, FloatArray]) -> FloatArray:
        """Where releases meet the floor, from below the release point; NaN when they don't. [m]."""
        drag = float(np.mean(values.get(DRAG_SCALE, np.ones(1))))
        lift = float(np.mean(values.get(LIFT_SCALE, np.ones(1))))
        if all(np.ptp(values.get(name, np.ones(1))) < 1e-12 for name in (DRAG_SCALE, LIFT_SCALE)):
            position, velocity, spin = out.in_field(0.0, 0.0, 0.0)
            found = fly_to_floor(self._scaled({"drag": drag, "lift": lift}), position, velocity, spin)
            return np.where(found.status == Status.FLOOR, found.position[:, 0], np.nan)
        return self.marks(out, values, Trial("range", self.described.prototype))

    def _scaled(self, scale: Mapping[str, float]) -> FlightModel:
        ball = self.model.ball
        laws: dict[str, CoefficientLaw] = {}
        for law, factor in scale.items():
            held: CoefficientLaw = getattr(ball, law)
            laws[law] = dataclasses.replace(held, scale=held.scale * factor)
        if not laws:
            return self.model
        return flight_model(
            dataclasses.replace(ball, **laws),  # type: ignore[arg-type]  # drag and lift only
            self.model.weather,
            gravity=self.model.gravity,
            buoyancy=self.model.buoyancy,
            density=self.model.density,
            viscosity=self.model.viscosity,
        )


def _tilted(out: Releases, offset: FloatArray) -> FloatArray:
    """Spin vectors turned with the direction of flight by `offset` in elevation."""
    e, a = out.elevation, out.azimuth
    forward = np.column_stack([np.cos(e) * np.cos(a), np.cos(e) * np.sin(a), np.sin(e)])
    left = np.column_stack([-np.sin(a), np.cos(a), np.zeros_like(a)])
    up = np.cross(forward, left)
    back, side, rifle = (
        -(out.spin * left).sum(axis=1),
        (out.spin * up).sum(axis=1),
        (out.spin * forward).sum(axis=1),
    )
    return spin_vectors(e + offset, a, back, side, rifle)


def _interpolated(nodes: FloatArray, at_nodes: FloatArray, wanted: FloatArray) -> FloatArray:
    """Lagrange's polynomial through `at_nodes`, shape (k, n), read at `wanted`, shape (n,)."""
    total = np.zeros(len(wanted))
    for i, node in enumerate(nodes):
        weight = np.ones(len(wanted))
        for j, other in enumerate(nodes):
            if i != j:
                weight *= (wanted - other) / (node - other)
        total += weight * at_nodes[i]
    return total
