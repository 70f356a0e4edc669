"""``flight --bounces`` as a person types it."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from shotwright.cli.main import main

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "game.toml"
BALL = ("--diameter", "24cm", "--mass", "600g")


@pytest.fixture
def project(tmp_path):
    text = EXAMPLE.read_text(encoding="utf-8").replace("bounces = 0", "bounces = 2")
    (tmp_path / "game.toml").write_text(text, encoding="utf-8")
    path = tmp_path / "crew.shotwright"
    assert main(["new", str(path), "--game", str(tmp_path / "game.toml")]) == 0
    return str(path)


def run(capsys, *words: str) -> tuple[int, str, str]:
    capsys.readouterr()
    code = main(["flight", *words])
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def test_a_ball_bounces_off_the_floor(capsys):
    typed = (*BALL, "--speed", "6 m/s", "--elevation", "50deg", "--spin", "3 rev/s", "--release-height", "1m")
    floor = ("--bounces", "3", "--restitution", "0.75", "--tangential", "0.1", "--friction", "0.6")
    code, out, _ = run(capsys, *typed, *floor, "--json")
    found = json.loads(out)
    direct = json.loads(run(capsys, *typed, "--json")[1])
    first = found["bounces"][0]
    assert code == 0
    assert len(found["bounces"]) == 3
    # the first touch is the end of the plain flight; the impact by its closed form
    assert first["distance_m"] == pytest.approx(direct["distance_m"], abs=1e-8)
    assert first["speed_before_m_s"] == pytest.approx(direct["speed_m_s"], abs=1e-8)
    assert found["apex_m"] == pytest.approx(direct["apex_m"], abs=1e-9)
    down = direct["speed_m_s"] * math.sin(math.radians(direct["entry_angle_deg"]))
    up = first["speed_after_m_s"] * math.sin(math.radians(first["elevation_after_deg"]))
    assert up == pytest.approx(0.75 * down, abs=1e-7)
    assert first["backspin_before_rev_s"] == pytest.approx(3.0)
    assert first["backspin_after_rev_s"] < 0
    assert direct["bounces"] == []
    words = run(capsys, *typed, *floor)[1]
    assert "The ball bounces off the floor 3 times." in words
    assert "backspin before" in words


def test_at_a_target_of_the_game(capsys, project):
    typed = ("--project", project, "--target", "basket", "--elevation", "55deg", "--release-height", "50cm")
    clean = json.loads(run(capsys, *typed, "--speed", "7.3 m/s", "--json")[1])
    assert (clean["ended"], clean["bounces"]) == ("in basket", [])
    off = json.loads(run(capsys, *typed, "--speed", "7.8 m/s", "--json")[1])
    assert len(off["bounces"]) == 2  # what the game allows
    assert off["bounces"][0]["off"] == "the board of basket"
    one = json.loads(run(capsys, *typed, "--speed", "7.8 m/s", "--bounces", "1", "--json")[1])
    assert len(one["bounces"]) == 1
    assert one["ended"].endswith("no bounce left")
    other = json.loads(run(capsys, *typed, "--speed", "7.3 m/s", "--position", "Open Floor", "--json")[1])
    assert other["ended"] != "in basket"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--bounces", "2"), "say how the ball bounces off the floor"),
        (("--bounces", "2", "--restitution", "0.7"), "needs both --restitution and --friction"),
        (("--bounces", "2", "--restitution", "1.7", "--friction", "0.5"), "restitution"),
        (("--bounces", "2", "--restitution", "0.7", "--friction", "much"), "'much' is not a number"),
        (("--bounces", "2", "--to-distance", "3m"), "goes with neither bounces nor a target"),
        (("--position", "at the rail"), "a position goes with a target"),
    ],
)
def test_slips_take_one_line(capsys, more, said):
    code, out, err = run(capsys, *BALL, "--speed", "6 m/s", "--elevation", "50deg", *more)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_unknown_names_are_told(capsys, project):
    typed = ("--project", project, "--speed", "6 m/s", "--elevation", "50deg")
    assert (
        "there is no target 'bucket'; there is: upper lantern" in run(capsys, *typed, "--target", "bucket")[2]
    )
    there = run(capsys, *typed, "--target", "basket", "--position", "moon")[2]
    assert "there is no position 'moon'; there is: at the rail" in there
    assert "no position fires at gable" in run(capsys, *typed, "--target", "gable")[2]
