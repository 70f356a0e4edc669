"""The fewest notches, against integer programming."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from shotwright.tuning.notches import fewest_notches, reach_of


def least_by_programming(spans, low, high):
    """Fewest intervals that cover every piece between their ends; None where some piece is open."""
    cuts = np.unique([low, high, *(min(max(v, low), high) for span in spans for v in span)])
    middles = (cuts[:-1] + cuts[1:]) / 2
    covers = np.array([[a <= m <= b for a, b in spans] for m in middles], dtype=float)
    if not covers.any(axis=1).all():
        return None
    count = len(spans)
    found = milp(
        np.ones(count),
        constraints=LinearConstraint(covers, 1, np.inf),
        integrality=np.ones(count),
        bounds=Bounds(0, 1),
    )
    return round(found.fun)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(-5, 40), st.integers(1, 15)), min_size=1, max_size=18))
def test_as_few_as_integer_programming_finds(raw):
    spans = [(float(a), float(a + length)) for a, length in raw]
    cover = fewest_notches(spans, 0.0, 30.0)
    least = least_by_programming(spans, 0.0, 30.0)

    assert (least is None) == bool(cover.gaps)
    if least is not None:
        assert len(cover.chosen) == least
        ends = [0.0, *(v for span in cover.spans for v in span), 30.0]
        assert ends == sorted(ends)
        assert cover.spans[0][0] == 0.0
        assert cover.spans[-1][1] == 30.0
        for k, (a, b) in zip(cover.chosen, cover.spans, strict=True):
            assert spans[k][0] <= a < b <= spans[k][1]


def test_gaps_are_named():
    cover = fewest_notches([(1.0, 2.0), None, (3.0, 5.0)], 0.0, 6.0)

    assert cover.chosen == (0, 2)
    assert cover.gaps == ((0.0, 1.0), (2.0, 3.0), (5.0, 6.0))
    assert fewest_notches([None], 0.0, 1.0).gaps == ((0.0, 1.0),)


def test_reach_runs_to_where_the_level_is_crossed():
    distances = np.array([1.0, 2.0, 3.0, 4.0])
    chances = np.array([[0.2, 0.9], [0.8, 0.85], [0.6, 0.1], [0.0, 0.9]])

    first, second = reach_of(distances, chances, 0.5)
    assert first == pytest.approx((1.5, 3.0 + 1 / 6))
    assert second == pytest.approx((1.0, 2.0 + 0.35 / 0.75))
    assert reach_of(distances, chances, 0.95) == [None, None]
