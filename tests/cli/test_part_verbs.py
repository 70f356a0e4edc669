"""The verbs that make parts, as a person types them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotwright.cli.main import main


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_plate_is_written_in_every_form_and_told_as_json(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    outs = [f"--out=a.{ending}" for ending in ("dxf", "svg", "pdf", "stl")]
    assert main(["plate", "hub", "--bore", "6 mm", "--picture", "p.svg", *outs, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["bore_m"] == 0.006
    assert told["sheets"][0]["holes"] == 5
    assert sorted(one.name for one in folder.iterdir()) == ["a.dxf", "a.pdf", "a.stl", "a.svg", "p.svg"]


def test_two_runs_write_the_same_bytes(folder: Path) -> None:
    for name in ("a", "b"):
        for ending in ("dxf", "pdf"):
            assert main(["plate", "wheel", "--date", "2026-01-17", "--out", f"{name}.{ending}"]) == 0
    assert (folder / "a.dxf").read_bytes() == (folder / "b.dxf").read_bytes()
    assert (folder / "a.pdf").read_bytes() == (folder / "b.pdf").read_bytes()


def test_a_part_is_kept_listed_written_again_and_removed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "crew"]) == 0
    assert main(["plate", "hood", "--wrap-angle", "80 deg", "--keep", "left"]) == 0
    assert "Kept 'left'." in capsys.readouterr().out
    assert main(["parts"]) == 0
    assert "hood-plate" in capsys.readouterr().out
    assert main(["parts", "left", "--out", "left.dxf"]) == 0
    assert "Wrote left.dxf." in capsys.readouterr().out
    assert main(["parts", "left", "--remove", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["parts"] == []


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["plate", "hub", "--bore", "4"], "shotwright: bore: '4' has no unit"),
        (["plate", "hub", "--out", "x.nc"], "has no ending that is known here"),
        (["plate", "hub", "--date", "soon"], "date: 'soon' is not a date"),
        (["plate", "hub", "--keep", "a"], "no .shotwright file in this folder"),
        (["plate", "hub", "--bolt-circle", "10 mm"], "holes at"),
        (["parts"], "no .shotwright file in this folder"),
    ],
)
def test_what_can_not_be_is_one_line_and_exit_code_2(
    typed: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(typed) == 2
    shown = capsys.readouterr().err
    assert said in shown
    assert shown.count("\n") == 1


@pytest.mark.parametrize("verb", ["cam", "spiral-gear"])
def test_a_wrong_reading_is_told_by_the_file_s_own_name(verb, tmp_path, capsys):
    readings = tmp_path / "scale.csv"
    readings.write_text("travel,force\n10 mm,abc\n20 mm,9 N\n", encoding="utf-8")
    assert main([verb, "--readings", str(readings)]) == 2
    told = capsys.readouterr().err
    assert "scale.csv, row 2, force: 'abc' does not start with a number" in told
    assert told.count("\n") == 1
