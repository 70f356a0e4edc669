"""The verbs ``motor``, ``ratio`` and ``heat`` as a person types them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotwright.cli.main import main

YARD = str(Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard" / "drive.toml")

PISTON = YARD.replace("drive.toml", "piston-drive.toml")


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def test_motor(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "motor", YARD, "--voltage", "12 V", "--json")
    rows = json.loads(out)["rows"]
    assert code == 0
    # closed form: (V - I0 R)/K of the 550 class is 1950 rad/s
    assert rows[0]["free_speed_rpm"] == pytest.approx(18621.128, rel=1e-6)
    code, out, _ = run(capsys, "motor")
    assert "typical values without a source" in " ".join(out.split())
    assert "Caution" in out


def test_a_motor_from_readings(capsys: pytest.CaptureFixture[str]) -> None:
    # closed form: R 0.15, K 0.006, I0 2 at 12 V give exactly these
    rows = ("12 V, 5 A, 1875 rad/s, 0.018 N m", "12 V, 20 A, 1500 rad/s, 0.108 N m")
    code, out, _ = run(capsys, "motor", *(part for row in rows for part in ("--reading", row)), "--json")
    assert code == 0
    found = json.loads(out)
    assert found["rows"][0]["stall_torque_n_m"] == pytest.approx(0.468, rel=1e-9)
    assert "my motor, from 2 readings, 95 %: resistance 150" in found["words"][0]
    code, _, err = run(capsys, "motor", "--reading", "12 V, 5 A")
    assert code == 2
    assert "is not voltage, current, speed, torque" in err
    code, _, err = run(capsys, "motor", YARD, "--reading", rows[0])
    assert code == 2
    assert "stands alone" in err


def test_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "ratio", "--wanted", "3", "--teeth", "12,18,36")
    assert code == 0
    assert "12 drives 36, ratio 3 (+0 %)" in out
    code, _, err = run(capsys, "ratio", "--wanted", "3", "--teeth", "12,x")
    assert code == 2
    assert "type whole numbers" in err


def test_a_project_keeps_drives(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SHOTWRIGHT_PROJECT", raising=False)
    code, _, err = run(capsys, "ratio")
    assert code == 2
    assert "no .shotwright file in this folder" in err
    assert run(capsys, "new", "crew")[0] == 0
    code, _, err = run(capsys, "heat")
    assert code == 2
    assert "shotwright import drive.toml" in err
    assert run(capsys, "import", YARD)[0] == 0
    kept = run(capsys, "heat", "--json")[1]
    assert json.loads(kept)["name"] == "Yard wheel drive"
    assert kept == run(capsys, "heat", YARD, "--json")[1]
    assert run(capsys, "import", PISTON)[0] == 0
    code, _, err = run(capsys, "winding")
    assert code == 2
    assert "2 drives; name one with --drive: Yard wheel drive, Yard piston drive" in err
    code, out, _ = run(capsys, "winding", "--drive", "yard piston drive", "--svg", "turn.svg")
    assert code == 0
    assert "shots a minute" in " ".join(out.split())
    assert (tmp_path / "turn.svg").read_text(encoding="utf-8").startswith("<svg")
    code, _, err = run(capsys, "heat", YARD, "--drive", "x")
    assert code == 2
    assert "leave it out" in err
    assert json.loads(
        run(capsys, "motor", "--project", "crew.shotwright", "--drive", "Yard wheel drive", "--json")[1]
    )


def test_heat(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out, _ = run(capsys, "heat", YARD, "--stop", "clutch", "--svg", str(tmp_path / "match.svg"))
    assert code == 0
    assert "60 of 60 shots fired" in out
    assert "one-way clutch" in " ".join(out.split())
    assert (tmp_path / "match.svg").read_text(encoding="utf-8").startswith("<svg")
    code, _, err = run(capsys, "heat", str(tmp_path / "none.toml"))
    assert code == 2
    assert "there is no such file" in err
