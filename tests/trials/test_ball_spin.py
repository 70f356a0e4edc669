"""Spin from a mark: drawn discs with known turns, alias limits, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import NoAnswer
from shotwright.trials.measure.ball_spin import spin_of, turning_sum


def disc(angle, mark, size=41, radius=16.0, seed=0):
    """A grey ball, lit from above, with a dark mark turned anticlockwise by `angle`."""
    y, x = np.mgrid[0:size, 0:size]
    dx, dy = (x - size // 2) / radius, (size // 2 - y) / radius
    along, across = math.cos(angle) * dx + math.sin(angle) * dy, -math.sin(angle) * dx + math.cos(angle) * dy
    grey = 160.0 + 25.0 * dy
    dark = np.abs(across) < 0.22 if mark == "stripe" else np.hypot(along - 0.55, across) < 0.3
    grey[dark] *= 0.3
    grey[np.hypot(dx, dy) > 1] = 90.0
    return grey + np.random.default_rng(seed).normal(0, 4, grey.shape)


def sums_of(times, rate, mark):
    fold = 2 if mark == "stripe" else 1
    return [
        turning_sum(disc(0.4 + rate * t, mark, seed=k), 20.0, 20.0, 16.0, fold) for k, t in enumerate(times)
    ], fold


@pytest.mark.parametrize(("mark", "limit"), [("dot", 30.0), ("stripe", 15.0)])
@pytest.mark.parametrize("rate", [-37.0, 12.0, 61.0])
def test_the_rate_is_read_back(mark, limit, rate):
    times = np.arange(40) / 60
    sums, fold = sums_of(times, rate, mark)
    found = spin_of(times, sums, fold, to_the_right=True)

    assert found.spin_rev_s.value == pytest.approx(rate / (2 * math.pi), abs=0.03)
    assert found.fastest_told_rev_s == pytest.approx(limit, rel=1e-6)
    assert found.explained > 0.8


def test_to_the_left_backspin_turns_the_other_way():
    times = np.arange(40) / 60
    sums, fold = sums_of(times, 25.0, "dot")

    assert spin_of(times, sums, fold, to_the_right=False).spin_rev_s.value < 0


@given(st.floats(1.0, 9.9).flatmap(lambda rate: st.sampled_from([rate, -rate])))
@settings(max_examples=15, deadline=None)
def test_what_is_too_fast_is_read_as_the_rate_that_looks_the_same(rev_s):
    # (a mark that stands still can't be told from shade)
    # the sampling theorem: rates a whole number of turns a frame apart leave the same pictures
    times = np.arange(30) / 20
    sums = np.exp(-1j * 2 * math.pi * (rev_s + 20.0) * times)
    found = spin_of(times, sums, 1, to_the_right=True)

    assert found.spin_rev_s.value == pytest.approx(rev_s, abs=1e-3)
    assert min(abs(one - rev_s - 20.0) for one in found.others_rev_s) < 1e-3
    told = spin_of(times, sums, 1, to_the_right=True, near=2 * math.pi * (rev_s + 19.0))
    assert told.spin_rev_s.value == pytest.approx(rev_s + 20.0, abs=1e-3)


def test_missing_frames_leave_the_limit_as_it_is():
    times = np.delete(np.arange(60) / 60, [7, 8, 9, 30, 41])
    sums, fold = sums_of(times, 20.0, "dot")
    found = spin_of(times, sums, fold, to_the_right=True)

    assert found.spin_rev_s.value == pytest.approx(20 / (2 * math.pi), abs=0.03)
    assert found.fastest_told_rev_s == pytest.approx(30.0)


def test_a_ball_without_a_mark_has_no_spin():
    times = np.arange(40) / 60
    rng = np.random.default_rng(1)
    with pytest.raises(NoAnswer, match="paint a larger"):
        spin_of(times, rng.normal(size=40) + 1j * rng.normal(size=40), 1, to_the_right=True)
    with pytest.raises(NoAnswer, match="at least 8"):
        spin_of(times[:5], np.ones(5, complex), 1, to_the_right=True)
