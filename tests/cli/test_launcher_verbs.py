"""The verbs about prototypes on paper, as a person calls them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotwright.cli.main import main

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.chdir(tmp_path)
    assert main(["new", "yard", "--game", str(YARD / "game.toml")]) == 0
    assert main(["import", str(YARD / "prototypes.toml")]) == 0
    capsys.readouterr()
    return tmp_path / "yard.shotwright"


def test_without_a_launcher_file_predict_says_what_to_do(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["predict"]) == 2
    assert "no launcher file yet" in capsys.readouterr().err
    assert main(["predict", "piston"]) == 2
    assert "no launcher file describes 'piston'" in capsys.readouterr().err


def test_predict_prints_plain_words_and_json(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", str(YARD / "launchers.toml")]) == 0
    assert "Read launcher" in capsys.readouterr().out
    arguments = ["predict", "piston", "--position", "rail", "--target", "lantern", "--draws", "128"]
    assert main(arguments) == 0
    shown = capsys.readouterr().out
    for part in (
        "PREDICTED",
        "Nothing here was measured",
        "Never fire without a ball",
        "Share of the variance",
    ):
        assert part in shown
    assert main([*arguments, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    (one,) = found["prototypes"]
    assert one["origin"] == one["release"]["origin"] == one["hits"][0]["origin"] == "predicted"
    assert one["hits"][0]["reaches"] is True
    assert 0.9 < one["hits"][0]["probability"]["value"] <= 1
    assert one["release"]["stored_energy_j"] > one["release"]["energy_taken_j"]
    assert {s["output"] for s in one["sources"][0]["shares"]} == {"speed", "along", "cross", "hit"}


def test_sweep_writes_a_map_and_says_what_is_wrong(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", str(YARD / "launchers.toml")]) == 0
    capsys.readouterr()
    assert main(["sweep", "piston", "--cells", "12", "--svg", "map.svg"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "Nothing was measured" in shown
    assert "rail at lantern: elevation 50 to 62 deg, stroke" in shown
    picture = (project.parent / "map.svg").read_text(encoding="utf-8")
    assert picture.startswith("<svg")
    assert "predicted" in picture
    hit = [
        "sweep",
        "piston",
        "--show",
        "hit",
        "--cells",
        "5",
        "--draws",
        "20",
        "--y",
        "stiffness=600 N/m .. 1000 N/m",
    ]
    assert main([*hit, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["origin"] == "predicted"
    assert found["y"]["values"] == [600, 700, 800, 900, 1000]
    assert (len(found["hit_probability"]), found["draws"]) == (5, 20)
    for wrong, told in (
        (["--x", "stroke", "--y", "stroke"], "stands on both axes"),
        (["--y", "stiffness"], "stiffness is no setting; give its range"),
        (["--y", "strok"], "there is no input 'strok'"),
        (["--y", "stiffness = 1 N/m .. 1 N/m"], "does not rise"),
        (["--y", "stiffness = 4"], "is no range"),
    ):
        assert main(["sweep", "piston", *wrong]) == 2
        assert told in capsys.readouterr().err
