"""Drive files and what is asked of them."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from shotwright.base.errors import BadFile, BadInput
from shotwright.base.toml_tables import Section
from shotwright.bench import drives
from shotwright.bench.drive_file import read_drive_file

ROOT = Path(__file__).parents[2]
YARD = ROOT / "src" / "shotwright" / "bench" / "yard" / "drive.toml"


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
    assert file.drive.supply.battery.charge == pytest.approx(3 * 3600)
    assert file.drive.wheel.inertia == pytest.approx(0.002)
    assert file.drive.train.ratio == 5
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
    assert file.duty.ball_inertia == pytest.approx(0.00049, rel=1e-5)


def test_heat_and_its_picture(tmp_path: Path) -> None:
    found = drives.match_heat(YARD)
    assert abs(found.run.balance) < 1e-9
    assert [row.stop for row in found.stops] == ["keep running", "brake", "coast", "clutch"]
    assert found.svg.startswith("<svg")
    assert json.dumps(found.to_dict())
    drives.write_picture(found.svg, tmp_path / "match.svg")
    with pytest.raises(BadInput, match="can't be written"):
        drives.write_picture(found.svg, tmp_path / "no" / "match.svg")


def test_ratio_search_picks_what_can_be_built(tmp_path: Path) -> None:
    file = changed(
        tmp_path,
        ("motors = [1, 2, 3, 4]", "motors = [1]"),
        ("teeth = [12, 15, 18, 24, 30, 36, 48, 60]", "teeth = [12, 30, 36]"),
        ("times = 15", "times = 3"),
        ('length = "150 s"', 'length = "40 s"'),
    )
    found = drives.ratio_search(file, workers=1)
    assert found.pairs
    assert all(a in (12, 30, 36) and b in (12, 30, 36) for a, b in found.pairs)
    assert any(one.startswith("The pick: 1 x") for one in found.words)
    assert found.search.low_battery
    assert json.dumps(found.to_dict())
    with pytest.raises(BadInput, match="no tooth counts"):
        drives.ratio_search(changed(tmp_path, ("teeth = [12, 15, 18, 24, 30, 36, 48, 60]\n", "")))


def test_every_key_is_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    known: set[str] = set()
    finish = Section.finish
    monkeypatch.setattr(
        Section, "finish", lambda self, *more: known.update(self._known) or finish(self, *more)
    )
    read_drive_file(YARD)
    page = (ROOT / "docs" / "file-format.md").read_text(encoding="utf-8")
    part = page[page.index("## The drive file") : page.index("## The project file")]
    explained = set(re.findall(r"\w+", " ".join(re.findall(r"`([^`\n]+)`", part))))
    # names of sections stand in brackets
    assert known - explained - {"motor", "stage", "supply", "wheel", "match", "burst", "search"} == set()
