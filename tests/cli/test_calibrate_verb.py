"""The verb ``calibrate``, as a person calls it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotwright.cli.main import main

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
SHOTS = """trial,order,along,cross
piston at 52,1,5.31 m,0 mm
piston at 52,2,5.22 m,10 mm
piston at 52,3,5.35 m,-20 mm
piston at 52,4,5.27 m,5 mm
piston at 62,1,4.52 m,0 mm
piston at 62,2,4.43 m,10 mm
piston at 62,3,4.55 m,-20 mm
piston at 62,4,4.49 m,5 mm
"""


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "shots.csv").write_text(SHOTS, encoding="utf-8")
    assert main(["new", "yard", "--game", str(YARD / "game.toml")]) == 0
    for name in ("prototypes", "launchers", "trials"):
        assert main(["import", str(YARD / f"{name}.toml")]) == 0
    assert main(["import", "shots.csv"]) == 0
    capsys.readouterr()
    return tmp_path / "yard.shotwright"


def test_calibrate_prints_measured_beside_predicted(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["calibrate", "piston", "--at", "stroke 95 mm"]) == 0
    shown = capsys.readouterr().out

    for part in (
        "SIMULATED",
        "MEASURED",
        "predicted on paper",
        "PREDICTED by the calibrated model",
        "energy share",
    ):
        assert part in shown
    assert "restitution" not in shown


def test_calibrate_json_is_its_result(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calibrate", "piston", "--at", "stroke 95 mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)

    assert found["origin"] == "predicted"
    assert found["predictions"][0]["fired"] is False
    assert [t["trial"] for t in found["trials"]] == ["piston at 52", "piston at 62"]
    assert found["trials"][0]["rows"][0]["measured"]["value"] == pytest.approx(5.2875)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["hooded wheel"], "no trial of 'hooded wheel' can be used: hood at 56: 0 shots with a mark"),
        (
            ["piston", "--trial", "twin at 55"],
            "is no trial of 'piston'; its trials: piston at 52",
        ),
        (["piston", "--at", "strok 95 mm"], "'strok 95 mm' is no amount of the launcher"),
        (["piston", "--at", "the same"], "names no amount of the launcher; its settings: elevation, stroke"),
    ],
)
def test_what_is_wrong_is_one_line(
    project: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], said: str
) -> None:
    assert main(["calibrate", *arguments]) == 2
    error = capsys.readouterr().err

    assert said in error
    assert len(error.strip().splitlines()) == 1
