"""The verb ``cam`` as a person types it, and what it writes."""

from __future__ import annotations

import json
import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from shotwright.build.cam_rolling import outline_torque, roll
from shotwright.build.force_curve import linear_force
from shotwright.build.snail_cam import Follower
from shotwright.cli.main import main

READINGS = "travel [mm],force [N]\n0,31\n20,50\n40,70\n60,95\n90,138\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    code = main(["cam", *words, "--json"])
    shown = capsys.readouterr()
    assert code == 0, shown.err
    found = json.loads(shown.out)
    assert isinstance(found, dict)
    return found


def test_the_written_drawing_asks_for_an_even_torque(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The DXF is read back with ezdxf, its longest closed line rolled under the follower: within 1 %."""
    found = told(capsys, "--out", "cam.dxf", "--rise", "300 deg", "--prime", "62 mm")
    drawn = ezdxf.readfile(folder / "cam.dxf").modelspace()
    lines = [one for one in drawn if one.dxftype() == "LWPOLYLINE" and one.closed]
    outline = max(lines, key=len)
    points = np.array(outline.get_points("xy")) / 1000
    turn = np.radians(np.arange(1, 300, 1.0))
    rolled = outline_torque(roll(points, Follower(0.008, 0.062), turn), linear_force(900, 0.04, 0.09))
    even = 6.885 / math.radians(300)  # W/Theta
    assert np.abs(rolled.torque / even - 1).max() < 0.01
    assert found["torque_n_m"] == pytest.approx(even, rel=1e-12)
    assert found["stored_j"] == pytest.approx(0.5 * 900 * 0.13**2, rel=1e-12)


def test_readings_give_a_cam(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "r.csv").write_text(READINGS, encoding="utf-8")
    smooth = told(capsys, "--readings", "r.csv")
    meet = told(capsys, "--readings", "r.csv", "--fit", "meet")
    assert smooth["stored_j"] is None  # nobody has read what the preload stores
    assert smooth["force_curve"] == "measured, 5 readings, smoothed"
    assert smooth["contact_deviation"] < 0.01
    assert meet["contact_deviation"] < 0.01
    # the trapezoid rule; bends between readings take less than 1 %
    by_hand = 0.02 * (31 + 50) / 2 + 0.02 * (50 + 70) / 2 + 0.02 * (70 + 95) / 2 + 0.03 * (95 + 138) / 2
    assert meet["usable_j"] == pytest.approx(by_hand, rel=0.01)
    assert smooth["usable_j"] == pytest.approx(by_hand, rel=0.01)


def test_a_cam_is_told_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cam", "--mass", "340 g", "--material", "birch plywood", "--seat", "keyway",
                 "--key-width", "3 mm", "--key-depth", "1.4 mm"]) == 0  # fmt: skip
    out = " ".join(capsys.readouterr().out.split())
    for words in ("even within 0.", "peak of a plain snail", "key in shear", "sides of the bolt holes",
                  "falls in 24.5 ms", "Caution: A snail cam lets go by itself",
                  "Wound it holds 7.6 J"):  # fmt: skip
        assert words in out
    assert main(["cam", "--mass", "2 kg", "--speed", "400 rpm"]) == 0
    assert "TOO FAST" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["--preload", "0 mm"], "infinitely steep"),
        (["--rise", "358 deg"], "no room is left for the drop"),
        (["--prime", "26 mm"], "for hub and wall"),
        (["--roller", "200 mm", "--prime", "101 mm", "--bore", "0 mm", "--bolts", "0"], "hub and wall"),
        (["--stroke", "90"], "stroke: '90' has no unit"),
        (["--readings", "none.csv"], "there is no such file"),
    ],
)
def test_what_cannot_be_is_one_line(typed: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cam", *typed]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert said in shown.err
    assert shown.err.count("\n") == 1
