"""Do the 95 % intervals hold? A small version of the coverage study, with fixed seeds."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

STUDY = Path(__file__).parents[2] / "benchmarks" / "coverage_study.py"
CREWS = 150


@pytest.fixture(scope="module")
def study() -> ModuleType:
    spec = importlib.util.spec_from_file_location("coverage_study", STUDY)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["coverage_study"] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
@pytest.mark.parametrize(
    ("shots", "share_known", "least"),
    [
        # 150 crews at 95 %: binomial standard error 1.8 points, so below 90 % would be nearly three of them.
        (5, True, 0.90),
        (7, True, 0.90),
        (5, False, 0.90),
        (7, False, 0.90),
    ],
)
def test_intervals_of_simulated_crews_hold_their_truth(
    study: ModuleType, shots: int, share_known: bool, least: float
) -> None:
    found = study.summary(list(study.crews(CREWS, shots, 11, share_known=share_known)))
    assert found["crews"] == CREWS
    assert least <= found["covered"] <= 1.0
    assert abs(found["bias"]) <= 0.05
    # An interval that holds everything says nothing.
    assert found["width"] < 0.75
