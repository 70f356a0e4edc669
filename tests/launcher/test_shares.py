"""Variance shares against published values, closed forms and another library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.special import ndtri

from shotwright.base.errors import BadInput
from shotwright.base.estimate import NotEstimated
from shotwright.launcher.shares import variance_shares


def _ishigami(quantiles: np.ndarray) -> dict[str, np.ndarray]:
    x = (2 * quantiles - 1) * math.pi
    return {"y": np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])}


def test_the_function_of_ishigami_and_homma() -> None:
    # Closed form for a = 7, b = 0.1 (Ishigami, Homma, 1990; Saltelli et al., Sensitivity Analysis, 2000):
    # S = 0.3139, 0.4424, 0; S_T = 0.5576, 0.4424, 0.2437.
    (found,) = variance_shares(["a", "b", "c"], {"y": "m"}, _ishigami, draws=4096)
    by_name = {share.input: share for share in found.shares}
    for name, first, total in (("a", 0.3139, 0.5576), ("b", 0.4424, 0.4424), ("c", 0.0, 0.2437)):
        assert by_name[name].first.value == pytest.approx(first, abs=0.03)
        assert by_name[name].total.value == pytest.approx(total, abs=0.03)
        assert by_name[name].first.low - 0.01 <= first <= by_name[name].first.high + 0.01
    assert found.draws == 4096 * 5
    assert [share.input for share in found.shares] == ["a", "b", "c"]


@settings(max_examples=8, deadline=None)
@given(st.lists(st.floats(0.2, 3.0), min_size=2, max_size=5))
def test_a_sum_of_normals_shares_by_variance(sds: list[float]) -> None:
    names = [f"x{i}" for i in range(len(sds))]
    (found,) = variance_shares(names, {"y": "m"}, lambda q: {"y": ndtri(q) @ np.array(sds)}, draws=2048)
    whole = sum(sd**2 for sd in sds)
    assert found.sd.value == pytest.approx(math.sqrt(whole), rel=0.05)
    for share in found.shares:
        wanted = sds[int(share.input[1:])] ** 2 / whole
        assert share.first.value == pytest.approx(wanted, abs=0.05)
        assert share.total.value == pytest.approx(wanted, abs=0.05)


def test_another_library_agrees() -> None:
    found = variance_shares(["a", "b", "c"], {"y": "m"}, _ishigami, draws=4096)[0]
    other = stats.sobol_indices(
        func=lambda x: _ishigami(x.T)["y"], n=4096, dists=[stats.uniform()] * 3, rng=np.random.default_rng(5)
    )
    for share in found.shares:
        k = "abc".index(share.input)
        assert share.first.value == pytest.approx(other.first_order[k], abs=0.04)
        assert share.total.value == pytest.approx(other.total_order[k], abs=0.04)


def test_same_seed_same_numbers_and_another_seed_others() -> None:
    first, again, other = (
        variance_shares(["a", "b", "c"], {"y": "m"}, _ishigami, draws=256, seed=seed) for seed in (3, 3, 4)
    )
    assert first == again
    assert first != other


def test_what_does_not_vary_or_gets_lost_says_so() -> None:
    def outputs(q: np.ndarray) -> dict[str, np.ndarray]:
        lost = np.where(q[:, 0] > 0.5, np.nan, 1.0)
        return {"same": np.ones(len(q)), "lost": lost}

    same, lost = variance_shares(["a"], {"same": "", "lost": "m"}, outputs, draws=64)
    assert isinstance(same.sd, NotEstimated)
    assert "same for all shots" in same.sd.reason
    assert isinstance(lost.sd, NotEstimated)
    assert "never get there" in lost.sd.reason
    assert variance_shares([], {"y": "m"}, outputs)[0].sd == NotEstimated("nothing varies")
    with pytest.raises(BadInput, match="power of two"):
        variance_shares(["a"], {"same": ""}, outputs, draws=100)
