"""Derivatives of the crossing to 1e-6 of their size: random launches, every law of drag and of lift."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_plane
from shotwright.flight.drag import DRAG_LAWS
from shotwright.flight.lift import LIFT_LAWS
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.sensitivity import COLUMNS, crossing_sensitivities, plane_axes
from shotwright.game.records import Ball, CoefficientLaw, Weather

CENTRE, NORMAL = np.array([4.0, 0.3, 1.8]), np.array([-0.5, 0.1, 0.85])
# Steps of the check, in the order of the columns: two orders of size away from those of the code.
STEPS = np.array([0.06, 0.008, 0.008, 1.5, 0.02, 0.02, 0.004, 0.004])
TABLE = {
    "drag": ((1e4, 0.52), (8e4, 0.47), (2e5, 0.40), (6e5, 0.36)),
    "lift": ((0.0, 0.0), (0.3, 0.18), (0.8, 0.30), (2.0, 0.38)),
}


def law(kind: str, name: str) -> CoefficientLaw:
    constant = {"drag": 0.47, "lift": 0.15}[kind] if name == "constant" else None
    return CoefficientLaw(name, constant, TABLE[kind] if name == "table" else ())


def richardson(model, launches: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Central differences at four steps, each half the last, extrapolated; and how far that has settled."""
    n, columns = launches.shape
    u, w, _ = plane_axes(NORMAL)
    halves = 0.5 ** np.arange(4)
    moved = launches[None, None, None] + np.multiply.outer(
        np.multiply.outer(np.array([1.0, -1.0]), halves), np.diag(STEPS)[:, None, :] * np.ones((1, n, 1))
    )
    speed, elevation, azimuth, spin, x, y, mass, diameter = moved.reshape(-1, columns).T
    velocity, axis = launch_vectors(speed, elevation, azimuth, spin)
    found = fly_to_plane(
        model, np.column_stack([x, y, np.full(len(x), 0.6)]), velocity, axis, CENTRE, NORMAL,
        floor=NO_FLOOR, mass=mass, diameter=diameter, tolerance=1e-13,
    )  # fmt: skip
    points = (found.position - CENTRE) @ np.column_stack([u, w])
    points[found.status != Status.CROSSED] = np.nan
    plus, minus = points.reshape(2, 4, columns, n, 2)
    table = (plus - minus) / (2 * STEPS[None, :, None, None] * halves[:, None, None, None])
    for order in (4.0, 16.0, 64.0):
        last = table[-1]
        table = (order * table[1:] - table[:-1]) / (order - 1)
    return table[0].transpose(1, 2, 0), np.abs(table[0] - last).transpose(1, 2, 0)


PAIRS = sorted(
    {*itertools.product(DRAG_LAWS, ["cross", "none"]), *itertools.product(["constant", "table"], LIFT_LAWS)}
)


@pytest.mark.parametrize(("drag", "lift"), PAIRS, ids=lambda name: name)
def test_to_a_millionth_for_every_law(drag: str, lift: str) -> None:
    """Against another differentiation: other steps, another rule, tighter flights.

    Left out are launches whose differences do not settle: a few flights just touch a corner of their law, as
    when the spin parameter at the apex comes to the end of the data, and there the crossing has no second
    derivative.
    """
    ball = Ball("b", 0.178, 0.140, law("drag", drag), law("lift", lift), spin_decay=0.05)
    model = flight_model(ball, Weather(wind=(0.6, -0.4, 0.0)))
    rng = np.random.default_rng(sum(map(ord, drag + lift)))
    n = 12
    launches = np.column_stack(
        [
            rng.uniform(8.5, 12.0, n), rng.uniform(0.75, 1.05, n), rng.uniform(-0.1, 0.2, n),
            rng.uniform(20.0, 60.0, n), np.zeros(n), rng.uniform(-0.2, 0.2, n),
            rng.uniform(0.12, 0.16, n), rng.uniform(0.17, 0.185, n),
        ]
    )  # fmt: skip
    speed, elevation, azimuth, spin, x, y, mass, diameter = launches.T
    places = np.column_stack([x, y, np.full(n, 0.6)])
    found = crossing_sensitivities(
        model, places, speed, elevation, azimuth, spin, CENTRE, NORMAL, mass=mass, diameter=diameter
    ).jacobian
    theirs, unsettled = richardson(model, launches)
    # a column that is nothing, as spin without lift, is compared in metres over its step
    size = np.maximum(np.linalg.norm(theirs, axis=1, keepdims=True), 1e-3 / STEPS)
    both = np.isfinite(found).all(axis=(1, 2)) & (unsettled < 1e-7 * size).all(axis=(1, 2))
    assert both.sum() >= n // 2
    relative = np.abs(found - theirs) / size
    worst = np.nanmax(relative[both], axis=(0, 1))
    assert worst.max() <= 1e-6, dict(zip(COLUMNS, worst.tolist(), strict=True))
