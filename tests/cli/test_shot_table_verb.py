"""The verb ``shot-table`` as a person types it."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import pytest

from shotwright.bench.projects import create_project, import_into
from shotwright.cli.main import main

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    project = tmp_path / "yard.shotwright"
    create_project(project, game=YARD / "game.toml")
    for name in ("prototypes.toml", "trials.toml"):
        import_into(project, YARD / name)
    return tmp_path


def test_one_line_without_a_choice_and_without_shots(here, capsys):
    assert main(["shot-table"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("shotwright: prototype: name a prototype, or choose one; there is: hooded wheel")
    assert said.count("\n") == 1

    assert main(["shot-table", "piston"]) == 2
    assert "trial 'piston at 52' has no shot with a mark" in capsys.readouterr().err


def test_a_table_in_words_json_and_files(here, capsys):
    rows = ["trial,shot,along (m),left (m)"]
    # 7.6 m/s at 52 degrees, by hand: a few centimetres of scatter
    offsets = (-0.06, 0.02, 0.05, -0.01, 0.03, -0.04, 0.01)
    rows += [f"piston at 52,{k + 1},{5.2 + 2 * d:.3f},{d:.3f}" for k, d in enumerate(offsets)]
    (here / "shots.csv").write_text("\n".join(rows), encoding="utf-8")
    import_into(here / "yard.shotwright", here / "shots.csv")
    asked = [
        "shot-table",
        "piston",
        "--distances",
        "3.5 m .. 4.5 m",
        "--step",
        "50 cm",
        "--elevation",
        "56 deg",
    ]

    assert main([*asked, "--json", "--csv", "t.csv"]) == 0
    found = json.loads(capsys.readouterr().out)
    lines = [line for line in Path("t.csv").read_text(encoding="utf-8").splitlines() if line[0] != "#"]
    read = list(csv.DictReader(lines))

    assert [float(row["distance (m)"]) for row in read] == [3.5, 4.0, 4.5]
    assert [row["speed_m_s"] for row in found["rows"]] == pytest.approx(
        [float(row["launch speed (m/s)"]) for row in read], rel=1e-5
    )
    # closed form without air, v^2 = g d^2/(2 cos^2 (d tan - h)), is a lower bound; drag adds some percent
    for row in found["rows"]:
        d, angle = row["distance_m"], math.radians(56)
        least = math.sqrt(9.80665 * d**2 / (2 * math.cos(angle) ** 2 * (d * math.tan(angle) - 1.4)))
        assert 1.0 < row["speed_m_s"] / least < 1.1
