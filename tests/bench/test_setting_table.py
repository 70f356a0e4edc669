"""Hit probability over a grid of settings, on the package's invented game."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.setting_table import setting_table
from shotwright.bench.shots import add_shot
from shotwright.cli.main import main

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
# Marks that nobody fired: invented for this test, cm along and to the left.
MARKS = ((498, 3), (527, 8), (525, -2), (512, -6), (506, 5), (519, 1), (510, -9), (516, 4))
SMALL = {"speeds": 9, "elevations": 3, "draws": 60, "slowest": "7 m/s", "fastest": "9 m/s"}


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("settings") / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    import_into(file, YARD / "trials.toml")
    for along, left in MARKS:
        add_shot(file, "hood at 56", along=f"{along} cm", cross=f"{left} cm")
    return file


def test_every_position_and_the_setting_for_all(project: Path) -> None:
    found = setting_table(project, workers=1, **SMALL)
    assert {(g.position, g.target) for g in found.grids} == {
        ("rail", "lantern"), ("rail", "window"), ("open yard", "lantern"), ("start corner", "lantern")
    }  # fmt: skip
    for grid in found.grids:
        assert len(grid.hit_probability) == len(grid.elevations_deg) == 3
        every = [p for row in grid.hit_probability for p in row]
        assert len(every) == 27
        assert grid.best_hit_probability == max(every)
        assert grid.speed_low_m_s <= grid.best_speed_m_s <= grid.speed_high_m_s  # type: ignore[operator]
    assert found.flights == 4 * 27 * 60
    assert any("twin wheels: no hit probability" in words for words in found.words)
    rail = next(g for g in found.grids if (g.position, g.target) == ("rail", "lantern"))
    assert rail.best_hit_probability > 0.7  # type: ignore[operator]


@pytest.mark.slow
def test_one_worker_and_two_give_the_same_table(project: Path) -> None:
    one = setting_table(project, position="rail", target="lantern", workers=1, **SMALL)
    two = setting_table(project, position="rail", target="lantern", workers=2, **SMALL)
    assert one == two
    other = setting_table(project, position="rail", target="lantern", workers=1, **SMALL, seed=2)
    assert other.grids != one.grids


def test_what_can_not_be_asked(project: Path) -> None:
    with pytest.raises(BadInput, match="at least 1 speed"):
        setting_table(project, draws=0)
    with pytest.raises(BadInput, match="no speeds from 9 to 7"):
        setting_table(project, slowest="9 m/s", fastest="7 m/s")
    with pytest.raises(NoAnswer, match="piston"):
        setting_table(project, prototypes=("piston",))


def test_the_verb(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["settings", "--project", str(project), "--position", "rail", "--workers", "1", "--speeds", "9"]
    given += ["--elevations", "3", "--draws", "50", "--slowest", "7 m/s", "--fastest", "9 m/s"]
    assert main(given) == 0
    shown = capsys.readouterr().out
    assert "Best settings" in shown
    assert "hooded wheel" in shown
    assert main([*given, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["draws"] == 50
    assert main([*given[:-2], "--fastest", "9 m/s", "--scheduler", "tcp://127.0.0.1:1"]) == 2
    assert "the cluster has its own workers" in capsys.readouterr().err
