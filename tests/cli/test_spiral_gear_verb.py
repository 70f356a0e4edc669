"""The verb ``spiral-gear`` as a person types it, and what it writes."""

from __future__ import annotations

import json
import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from shotwright.build.force_curve import linear_force
from shotwright.build.gear_rolling import mesh
from shotwright.cli.main import main

READINGS = "travel [mm],force [N]\n0,61\n20,80\n40,97\n60,118\n90,145\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    code = main(["spiral-gear", *words, "--json"])
    shown = capsys.readouterr()
    assert code == 0, shown.err
    found = json.loads(shown.out)
    assert isinstance(found, dict)
    return found


def outline(file: Path) -> np.ndarray:
    """Longest closed line of a DXF, in metres."""
    drawn = ezdxf.readfile(file).modelspace()
    lines = [one for one in drawn if one.dxftype() == "LWPOLYLINE" and one.closed]
    return np.array(max(lines, key=len).get_points("xy")) / 1000


def test_the_written_gear_rolls_on_the_written_rack(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Both DXF are read back with ezdxf and rolled: torque within 1 %, travel within 0.02 mm of the law.

    The law of a linear spring is x0 + x = sqrt(x0^2 + (x1^2 - x0^2) theta/Theta).
    """
    found = told(capsys, "--out", "wind.dxf", "--turn", "250 deg", "--bolts", "0")
    gear = outline(next(folder.glob("wind*gear.dxf")))
    rack = outline(next(folder.glob("wind*rack.dxf")))
    angle = math.radians(250)
    turn = np.linspace(0, angle, 301)
    rolled = mesh(gear, rack, turn, math.pi * 0.0015)
    law = np.sqrt(0.09**2 + (0.18**2 - 0.09**2) * turn / angle) - 0.09
    assert np.abs(rolled.travel - law).max() < 20e-6
    assert np.abs(rolled.travel - law).max() < 1e-6  # found: 0.2 um
    torque = linear_force(900, 0.09, 0.09).force(rolled.travel) * rolled.rate
    even = 0.5 * 900 * (0.18**2 - 0.09**2) / angle
    assert np.abs(torque / even - 1).max() < 0.01
    assert rolled.play.min() > 0.09e-3  # 0.1 mm of backlash is the play, and nothing overlaps
    assert found["torque_n_m"] == pytest.approx(even, rel=1e-12)


def test_words_for_a_person(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["spiral-gear", "--material", "6 mm birch plywood", "--preload", "40 mm"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    for words in (
        "torque, on the drawn edges",
        "rack can fly back",
        "straight rack",
        "cable drum",
        "Module 1.5 mm (ISO 54, series I).",
        "tooth in bending",
        "Caution: Gear and rack draw in fingers",
    ):
        assert words in shown


def test_readings_from_a_file(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "spring.csv").write_text(READINGS, encoding="utf-8")
    found = told(capsys, "--readings", "spring.csv", "--fit", "meet", "--stroke", "90 mm", "--teeth", "20")
    assert "measured, 5 readings" in found["force_curve"]
    assert found["pitches"] == pytest.approx(20)
    assert abs(found["outline"]["torque_high"] - 1) < 0.01


@pytest.mark.parametrize(
    ("words", "told_why"),
    [
        (["--preload", "0 mm"], "preload"),
        (["--module", "two"], "module"),
        (["--way", "chain"], "way"),
        (["--turn", "250 deg", "--teeth", "21"], "not both"),
        (["--bore", "40 mm", "--turn", "250 deg"], "smaller bolt circle"),
    ],
)
def test_mistakes_end_in_one_line(
    words: list[str], told_why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["spiral-gear", *words]) == 2
    shown = capsys.readouterr()
    assert told_why in shown.err
    assert shown.err.count("\n") == 1
    assert shown.out == ""
