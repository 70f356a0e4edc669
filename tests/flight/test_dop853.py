"""The Runge-Kutta formula against a library's coefficients, and its order."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from scipy.integrate import DOP853

from shotwright.flight import dop853
from shotwright.flight.dop853 import advance
from shotwright.flight.drag import pack_drag
from shotwright.flight.lift import pack_lift
from shotwright.flight.motion import Body, acceleration
from shotwright.game.records import CoefficientLaw

LAWS = pack_drag(CoefficientLaw("constant", 0.47)), pack_lift(CoefficientLaw("cross"))
FOAM = Body(0.10886992991475, 0.089, 9.80665, 0.025, 12000.0, 0.0, -1.0, 0.0, 0.5, -0.3, 0.1)
START = (0.0, 0.0, 0.6, 10 * math.cos(0.96), 0.4, 10 * math.sin(0.96), 50.0)


def ours(letter: str) -> dict[tuple[int, ...], float]:
    pattern = re.compile(rf"{letter}(\d\d)(?:_(\d\d))?")
    found = ((pattern.fullmatch(name), value) for name, value in vars(dop853).items())
    return {tuple(int(g) - 1 for g in m.groups() if g): value for m, value in found if m}


@pytest.mark.authority
def test_coefficients_are_those_of_a_library():
    stages = DOP853.n_stages
    rows = np.zeros((stages, stages))
    for (i, j), value in ours("A").items():
        rows[i, j] = value
    np.testing.assert_array_equal(rows, np.asarray(DOP853.A)[:stages, :stages])
    for letter, theirs in (("B", DOP853.B), ("D", DOP853.E3), ("E", DOP853.E5)):
        row = np.zeros(len(theirs))
        for (i,), value in ours(letter).items():
            row[i] = value
        np.testing.assert_array_equal(row, theirs)
    place = np.zeros(stages)
    for (i,), value in ours("Q").items():
        place[i] = value
    np.testing.assert_allclose(place, DOP853.B @ rows, atol=1e-15)
    assert place.sum() == pytest.approx(0.5, abs=1e-15)


def fly(step: float, steps: int) -> np.ndarray:
    state = START
    for _ in range(steps):
        state, _ = advance(state, acceleration(*state[3:], FOAM, *LAWS), step, FOAM, *LAWS)
    return np.array(state)


def test_order_is_eight():
    # halving the step divides the error by 2^8 = 256, for place, velocity and spin
    exact = fly(0.005, 200)
    coarse, fine = (np.abs(fly(1.0 / n, n) - exact).max() for n in (4, 8))
    assert 2**7.3 < coarse / fine < 2**9.5
    assert fine < 1e-8


def test_estimate_is_not_smaller_than_the_error():
    for h in (0.1, 0.2, 0.3, 0.4):
        rate = acceleration(*START[3:], FOAM, *LAWS)
        once, estimate = advance(START, rate, h, FOAM, *LAWS)
        state = START
        for _ in range(20):
            state, _ = advance(state, acceleration(*state[3:], FOAM, *LAWS), h / 20, FOAM, *LAWS)
        error = math.dist(once[3:6], state[3:6])
        assert error <= estimate
        assert estimate < 1e-3


def test_without_forces_the_step_is_exact():
    still = Body(0.0, 0.1, 9.80665, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    start = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 0.0)
    state, estimate = advance(start, acceleration(*start[3:], still, *LAWS), 0.5, still, *LAWS)
    np.testing.assert_allclose(state[:3], (3.0, 4.5, 3.0 + 3.0 - 9.80665 / 8), rtol=1e-15)
    assert estimate < 1e-14
