"""The verb ``spring`` as a person types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotwright.cli.main import main

COIL = ("--wire", "2.5 mm", "--outside", "27.5 mm", "--turns", "30", "--free-length", "220 mm")
READINGS = """travel [mm],force [kg],way
0,3.1,loading
30,6.4,loading
60,10.1,loading
90,14.2,loading
60,9.0,unloading
30,5.6,unloading
0,2.6,unloading
90,13.9,back
"""
BOX = """# the box in the drawer
name,rate [N/m],free_length [mm],solid_length [mm],number
grey,900,200,40,2
black,4000,150,40,1
"""


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    shown = capsys.readouterr()
    return code, " ".join(shown.out.split()), shown.err


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    code = main([*words, "--json"])
    shown = capsys.readouterr()
    assert code == 0, shown.err
    found = json.loads(shown.out)
    assert isinstance(found, dict)
    return found


def test_coil_by_its_dimensions(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    picture = tmp_path / "spring.svg"
    words = ("spring", *COIL, "--preload", "40 mm", "--stroke", "90 mm")
    coil = told(capsys, *words)["coil"]
    # k = G d^4/(8 D^3 n) with D 25 mm, n 28, G 11.85 Mpsi
    rate = 11.85e6 * 6894.757293168361 * 0.0025**4 / (8 * 0.025**3 * 28)
    assert coil["rate_n_m"] == pytest.approx(rate, rel=1e-12)
    assert coil["usable_j"] == pytest.approx(0.5 * rate * (0.13**2 - 0.04**2), rel=1e-12)
    code, out, _ = run(capsys, *words, "--picture", str(picture))
    assert code == 0
    assert "It can buckle" in out
    assert "Caution: A wound spring" in out
    assert picture.read_text(encoding="utf-8").startswith("<svg")


def test_extension_spring_has_hooks(capsys: pytest.CaptureFixture[str]) -> None:
    found = told(
        capsys, "spring", "--kind", "extension", *COIL, "--tension", "8 N", "--preload", "40 mm",
        "--stroke", "90 mm",
    )  # fmt: skip
    coil = found["coil"]
    assert coil["front_n"] == pytest.approx(8 + 0.04 * coil["rate_n_m"])
    assert coil["buckles"] is None
    assert any("Hooks" in one for one in found["cautions"])


def test_tube(capsys: pytest.CaptureFixture[str]) -> None:
    tube = told(
        capsys, "spring", "--kind", "tube", "--outside", "10 mm", "--inside", "6 mm",
        "--free-length", "250 mm", "--stroke", "250 mm",
    )["tube"]  # fmt: skip
    # Treloar's law at twice the length, G 0.4 MPa
    assert tube["wound_n"] == pytest.approx(35.1858377202, rel=1e-9)
    assert tube["usable_j"] == pytest.approx(5.02654824574, rel=1e-9)


def test_readings_of_a_scale(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "r.csv"
    file.write_text(READINGS, encoding="utf-8")
    found = told(capsys, "spring", "--readings", str(file))["measured"]
    assert found["readings"] == 8
    # a straight line through the four weights, by hand: slope 0.1233.. kg/mm
    assert found["rate_n_m"]["value"] == pytest.approx(9.80665 * 123.3333333, rel=1e-6)
    assert found["loss"]["low"] < found["loss"]["value"] < found["loss"]["high"]
    _, out, _ = run(capsys, "spring", "--readings", str(file))
    assert "taken as weights" in out


def test_readings_typed_one_by_one(capsys: pytest.CaptureFixture[str]) -> None:
    found = told(capsys, "spring", "--reading", "0 in, 8 lbf", "--reading", "3.5 in, 26 lbf")
    assert found["curve_mm_n"][-1] == pytest.approx([88.9, 26 * 4.4482216152605])
    assert "reason" in found["measured"]["rate_n_m"]
    _, out, _ = run(capsys, "spring", "--reading", "0 mm, 36 N", "--reading", "90 mm, 117 N")
    assert "6.885 J at 900 N/m" in out


def test_search_at_hand(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "box.csv"
    file.write_text(BOX, encoding="utf-8")
    words = ("spring", "--at-hand", str(file), "--energy", "6.885 J", "--stroke", "90 mm")
    found = told(capsys, *words)
    assert [(one["name"], one["fits"]) for one in found["choices"]] == [("grey", True), ("black", False)]
    assert found["choices"][0]["preload_m"] == pytest.approx(0.04, rel=1e-9)
    _, out, _ = run(capsys, *words)
    assert "too stiff" in out
    toml = tmp_path / "box.toml"
    toml.write_text(
        '[[spring]]\nname = "coil"\nwire = "2.5 mm"\noutside = "27.5 mm"\nturns = 30\n'
        'free_length = "260 mm"\n',
        encoding="utf-8",
    )
    choice = told(capsys, "spring", "--at-hand", str(toml), "--energy", "6.885 J", "--stroke", "90 mm")[
        "choices"
    ][0]
    assert choice["fits"]
    # 9/10 of the way to solid may be used: 260 - 30 x 2.5 mm
    assert choice["used"] == pytest.approx((choice["preload_m"] + 0.09) / (0.9 * 0.185), rel=1e-9)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("travel [mm],force [N]\n0,36\nx,5\n10,\n", "row 3, travel: 'x'"),
        ("distance,speed\n1,2\n", "names no travel and force"),
        ("travel [mm],force [N],way\n0,36,sideways\n10,40,loading\n", "neither loading nor unloading"),
        ("travel [mm],force [N]\n0,36\n", "at least two"),
        ("0 mm, 36\n1 mm, 37\n", "has no unit"),
    ],
)
def test_bad_readings_are_named(
    text: str, message: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "r.csv"
    file.write_text(text, encoding="utf-8")
    code, out, err = run(capsys, "spring", "--readings", str(file))
    assert (code, out) == (2, "")
    assert message in err


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("name,rate [N/m]\ngrey,900\n", "most_deflection: is missing"),
        ("name,rate [N/m],most_deflection [mm]\ngrey,-5,100\n", "must be greater than 0"),
        ("name,rate [N/m],most_deflection [mm],colour\ngrey,5,100,red\n", "colour: is not a key here"),
        ("name\n", "holds no spring"),
        ("name,rate [N/m],most_deflection [mm]\na,5,100\na,6,100\n", "already the name"),
    ],
)
def test_bad_lists_are_named(
    text: str, message: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "box.csv"
    file.write_text(text, encoding="utf-8")
    code, _, err = run(capsys, "spring", "--at-hand", str(file), "--energy", "7 J", "--stroke", "90 mm")
    assert code == 2
    assert message in err


def test_nothing_to_tell_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert "give its dimensions" in run(capsys, "spring")[2]
    assert "needs --energy and --stroke" in run(capsys, "spring", "--at-hand", "x.csv")[2]
    code, _, err = run(capsys, "spring", *COIL, "--stroke", "200 mm")
    assert code == 2
    assert "coils touch" in err
