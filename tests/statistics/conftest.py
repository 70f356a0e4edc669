"""What the statistics tests share: published tables, invented samples, sample generators."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

AUTHORITIES = Path(__file__).parents[1] / "authorities"


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20_26)


@pytest.fixture
def table() -> Callable[[str], list[list[float]]]:
    """Rows of numbers of a table in tests/authorities; a blank cell is NaN."""

    def read(name: str) -> list[list[float]]:
        with (AUTHORITIES / f"{name}.csv").open() as lines:
            rows = csv.reader(line for line in lines if not line.startswith("#"))
            return [[float(cell) if cell else float("nan") for cell in row] for row in rows]

    return read


@pytest.fixture
def samples() -> dict[str, np.ndarray]:
    """Three invented samples of 7 shots, cm."""
    return {
        "A": np.array(
            [(12.1, -3.4), (5.6, 8.9), (-7.2, 1.5), (3.3, -10.8), (9.4, 4.2), (-1.9, 6.1), (2.7, -5.5)]
        ),
        "B": np.array(
            [
                (21.4, -11.2),
                (-14.6, 9.9),
                (8.2, 23.5),
                (-19.3, -12.8),
                (15.4, 4.6),
                (-3.9, -24.1),
                (2.7, 16.5),
            ]
        ),
        "C": np.array(
            [(9.8, -6.1), (-11.4, 3.2), (4.4, 12.9), (-2.1, -14.2), (13.0, 6.6), (-8.7, -1.9), (1.1, 8.0)]
        ),
    }
