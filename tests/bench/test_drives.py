"""Drive files and what is asked of them."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest

from shotwright.base.errors import BadFile, BadInput
from shotwright.base.toml_tables import Section
from shotwright.bench import drives
from shotwright.bench.match_heat import match_heat
from shotwright.bench.pictures import write_picture
from shotwright.bench.winding import winding
from shotwright.powertrain.drive_file import read_drive_file
from shotwright.powertrain.supply import Breaker
from shotwright.powertrain.train import worm

ROOT = Path(__file__).parents[2]
YARD = ROOT / "src" / "shotwright" / "bench" / "yard" / "drive.toml"
PISTON = YARD.with_name("piston-drive.toml")


def changed(tmp_path: Path, *swaps: tuple[str, str]) -> Path:
    text = YARD.read_text(encoding="utf-8")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    file = tmp_path / "drive.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_the_yard_file_is_read_in_si() -> None:
    file = read_drive_file(YARD)
    assert file.wheel is not None
    assert file.duty is not None
    assert file.supply.battery.charge == pytest.approx(3 * 3600)
    assert file.wheel.wheel.inertia == pytest.approx(0.002)
    assert file.wheel.train.ratio == 5
    assert len(file.duty.bursts) == 15
    assert file.motors[1].rotor_inertia == pytest.approx(3e-5)
    fit = file.fits["measured motor"]
    assert fit.resistance_ohm.low < fit.resistance_ohm.value < fit.resistance_ohm.high


def test_all_that_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    file = changed(
        tmp_path,
        ("cells = 10", 'cells = "ten"'),
        ('capacity = "3 Ah"', 'capacity = "3"'),
        ("teeth = [12, 60]", "teeth = [12]"),
    )
    with pytest.raises(BadFile) as caught:
        read_drive_file(file)
    told = str(caught.value)
    assert len(told.splitlines()) == 3
    assert "'3' has no unit; type it with one, e.g. 3 Ah or 3000 mAh" in told
    assert "is not a pair of tooth counts" in told


def test_a_sheet_that_does_not_agree_with_itself_is_told(tmp_path: Path) -> None:
    sheet = (
        'name = "sheet"\nvoltage = "12 V"\nfree_speed = "18000 rpm"\nfree_current = "2 A"\n'
        'stall_torque = "0.7 N m"\nstall_current = "80 A"'
    )
    file = read_drive_file(changed(tmp_path, ('class = "12 V 550 class"', sheet)))
    assert any("does not agree with itself" in note for note in file.notes)


def test_the_rim_drop_of_a_launcher_is_taken(tmp_path: Path) -> None:
    file = read_drive_file(
        changed(
            tmp_path,
            (
                'ball_inertia = "4.9 kg cm^2"',
                'rim_speed_before = "20 m/s"\nrim_speed_after = "16.064257 m/s"',
            ),
        )
    )
    # closed form: J (u0/u1 - 1) = .002 * .049/.2
    assert file.duty is not None
    assert file.duty.ball_inertia == pytest.approx(0.00049, rel=1e-5)


def test_heat_and_its_picture(tmp_path: Path) -> None:
    found = match_heat(read_drive_file(YARD))
    assert abs(found.run.balance) < 1e-9
    assert [row.stop for row in found.stops] == ["keep running", "brake", "coast", "clutch"]
    assert found.svg.startswith("<svg")
    assert json.dumps(found.to_dict())
    write_picture(found.svg, tmp_path / "match.svg")
    with pytest.raises(BadInput, match="can't be written"):
        write_picture(found.svg, tmp_path / "no" / "match.svg")


def test_ratio_search_picks_what_can_be_built(tmp_path: Path) -> None:
    file = changed(
        tmp_path,
        ("motors = [1, 2, 3, 4]", "motors = [1]"),
        ("teeth = [12, 15, 18, 24, 30, 36, 48, 60]", "teeth = [12, 30, 36]"),
        ("times = 15", "times = 3"),
        ('length = "150 s"', 'length = "40 s"'),
    )
    found = drives.ratio_search(read_drive_file(file), workers=1)
    assert found.pairs
    assert all(a in (12, 30, 36) and b in (12, 30, 36) for a, b in found.pairs)
    assert any(one.startswith("The pick: 1 x") for one in found.words)
    assert found.search.low_battery
    assert json.dumps(found.to_dict())
    with pytest.raises(BadInput, match="no tooth counts"):
        drives.ratio_search(
            read_drive_file(changed(tmp_path, ("teeth = [12, 15, 18, 24, 30, 36, 48, 60]\n", "")))
        )


def test_a_breaker_may_be_a_table(tmp_path: Path) -> None:
    table = '{ rating = "9 A", kind = "self-resetting", time_constant = "2 s", closes_at = "50 %" }'
    path = changed(tmp_path, ('motor_breaker = "20 A"', f"motor_breaker = {table}"))
    file = read_drive_file(path)
    assert file.supply.motor_breaker == Breaker(9.0, 2.0, 1.05, 0.5)
    found = match_heat(file)
    assert any("trips after" in one and "cuts the motors" in one for one in found.words)
    assert found.run.open_s["motor breaker"] > 0
    with pytest.raises(BadFile, match="belongs to a self-resetting one"):
        read_drive_file(changed(tmp_path, ('"20 A"', '{ rating = "9 A", closes_at = "50 %" }')))


def test_a_speed_that_is_not_reached_is_told(tmp_path: Path) -> None:
    file = read_drive_file(changed(tmp_path, ('speed = "1900 rpm"', 'speed = "4393 rpm"')))
    assert any("rpm at most, and 4305 rpm are needed" in one for one in match_heat(file).words)


def test_a_worm_follows_from_lead_and_friction(tmp_path: Path) -> None:
    stage = 'kind = "worm"\nratio = 30.0\nlead_angle = "3 deg"\nfriction = 0.1'
    swaps = (('kind = "spur"\nteeth = [12, 60]', stage), ('stop = "brake"', 'stop = "keep running"'))
    file = read_drive_file(changed(tmp_path, *swaps))
    assert file.wheel is not None
    one = worm(30.0, math.radians(3), 0.1)
    assert (file.wheel.train.efficiency, file.wheel.train.back_efficiency) == (one.efficiency, 0.0)
    with pytest.raises(BadFile, match="needs both lead_angle and friction"):
        read_drive_file(changed(tmp_path, (swaps[0][0], stage.replace("friction = 0.1", ""))))
    with pytest.raises(BadFile, match="belong to a worm"):
        read_drive_file(changed(tmp_path, (swaps[0][0], stage.replace("worm", "spur"))))


def test_readings_share_the_voltage_of_their_motor(tmp_path: Path) -> None:
    text = YARD.read_text(encoding="utf-8")
    path = tmp_path / "drive.toml"
    rows = text.replace('[[motor.reading]]\nvoltage = "12 V"\n', "[[motor.reading]]\n")
    path.write_text(
        rows.replace('rotor_inertia = "0.3', 'voltage = "12 V"\nrotor_inertia = "0.3'), encoding="utf-8"
    )
    assert read_drive_file(path).fits == read_drive_file(YARD).fits


def test_a_piston_is_wound() -> None:
    file = read_drive_file(PISTON)
    found = winding(file)
    # closed form: k/2 ((x0 + s)^2 - x0^2) and friction of the slide
    assert found.stored_j == pytest.approx(450 * (0.165**2 - 0.05**2), rel=1e-12)
    assert found.work_j == pytest.approx(found.stored_j + 5 * 0.115, rel=1e-9)
    assert found.run.run.energy_j["shots"] == pytest.approx(60 * found.work_j, rel=1e-9)
    assert found.turn_svg.startswith("<svg")
    assert found.match_svg.startswith("<svg")
    assert json.dumps(found.to_dict())
    with pytest.raises(BadInput, match="drives no wheel"):
        match_heat(file)
    with pytest.raises(BadInput, match="winds no piston"):
        winding(read_drive_file(YARD))


@pytest.mark.parametrize(
    ("swap", "problem"),
    [
        (('stiffness = "900 N/m"', ""), "needs one of torque, torques, or a spring's stiffness"),
        (('stiffness = "900 N/m"', 'torque = "1 N m"\nstiffness = "900 N/m"'), "it has torque and stiffness"),
        (('wound = "330 deg"', 'wound = "400 deg"'), "is larger than the turn"),
        (('shape = "spiral"', 'shape = "snail"'), "is not one of"),
        (('stroke = "115 mm"', 'stroke = "115"'), "has no unit"),
    ],
)
def test_what_a_winding_can_not_be(tmp_path: Path, swap: tuple[str, str], problem: str) -> None:
    text = PISTON.read_text(encoding="utf-8")
    assert swap[0] in text
    path = tmp_path / "piston.toml"
    path.write_text(text.replace(*swap, 1), encoding="utf-8")
    with pytest.raises(BadFile) as caught:
        read_drive_file(path)
    assert problem in str(caught.value)


def test_shapes_that_wind_do_the_same_work(tmp_path: Path) -> None:
    """The spring does not care how it is pulled: every shape takes k/2 ((x0+s)^2 - x0^2) + F s."""
    text = PISTON.read_text(encoding="utf-8")
    spring = text[text.index("stiffness") : text.index("wound")]
    path = tmp_path / "piston.toml"
    largest = {}
    for shape in ("even travel", "even torque", "spiral"):
        path.write_text(text.replace('shape = "spiral"', f'shape = "{shape}"'), encoding="utf-8")
        if shape != "spiral":
            path.write_text(path.read_text().replace("taper = 0.55\n", ""), encoding="utf-8")
        turn = read_drive_file(path).needed_winding().turn
        assert turn.work == pytest.approx(450 * (0.165**2 - 0.05**2) + 5 * 0.115, rel=1e-9)
        largest[shape] = max(turn.torques)
    assert largest["even torque"] < largest["spiral"] < largest["even travel"]
    path.write_text(text.replace(spring, 'torques = ["1 N m", "3 N m"]\n'), encoding="utf-8")
    turn = read_drive_file(path).needed_winding().turn
    assert turn.work == pytest.approx(2 * math.radians(330), rel=1e-12)


def test_every_key_is_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    known: set[str] = set()
    finish = Section.finish
    monkeypatch.setattr(
        Section, "finish", lambda self, *more: known.update(self._known) or finish(self, *more)
    )
    read_drive_file(YARD)
    read_drive_file(PISTON)
    page = (ROOT / "docs" / "file-format.md").read_text(encoding="utf-8")
    part = page[page.index("## The drive file") : page.index("## The project file")]
    explained = set(re.findall(r"\w+", " ".join(re.findall(r"`([^`\n]+)`", part))))
    # names of sections stand in brackets
    assert (
        known - explained - {"motor", "stage", "supply", "wheel", "match", "burst", "search", "winding"}
        == set()
    )
