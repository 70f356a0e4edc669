"""The jolt of a shot, from the launcher model into the drive."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.drives import find_drive
from shotwright.bench.launcher_jolt import jolt_of, take_jolt, wheel_prototypes, with_jolt
from shotwright.bench.match_heat import match_heat
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.workbook import read_workbook

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "a.shotwright"
    create_project(path, name="a", game=YARD / "game.toml")
    for name in ("prototypes.toml", "launchers.toml", "drive.toml"):
        import_into(path, YARD / name)
    return path


def test_the_jolt_takes_what_the_model_says_the_wheel_loses(project: Path) -> None:
    """Identity: J (w0 - w1) of the model is J w0 m/(J + m) of the drive, so both slow to the same speed."""
    book = read_workbook(project)
    assert wheel_prototypes(book) == ("hooded wheel", "twin wheels")
    for prototype in wheel_prototypes(book):
        jolt = jolt_of(book, prototype)
        described = book.launcher_of(prototype)
        assert described is not None
        means = described.means(book.needed_game().ball)
        shot = described.release(means)
        inertia, radius = means["wheel_inertia"], means["wheel_radius"]
        assert jolt.speed_rad_s == pytest.approx(jolt.rim_before_m_s / radius)
        slowed = jolt.rim_before_m_s * inertia / (inertia + jolt.ball_inertia_kg_m2)
        assert slowed == pytest.approx(float(np.min(shot.rim_speeds[0])), rel=1e-12)
    with pytest.raises(BadInput, match="no launcher file with driven wheels; there is: hooded wheel"):
        jolt_of(book, "piston")


def test_it_goes_into_the_match_and_into_the_file(project: Path) -> None:
    jolt = jolt_of(read_workbook(project), "hooded wheel")
    file = with_jolt(find_drive(None, project), jolt)
    assert file.duty is not None
    assert file.duty.ball_inertia == jolt.ball_inertia_kg_m2
    assert any("hooded wheel" in words for words in match_heat(file).words)
    before = take_jolt(project, "Yard wheel drive", "hooded wheel")
    assert before == (YARD / "drive.toml").read_text(encoding="utf-8")
    kept = find_drive(None, project)
    assert kept.duty is not None
    assert kept.duty.ball_inertia == pytest.approx(jolt.ball_inertia_kg_m2, rel=1e-3)
    assert kept.duty.speed == pytest.approx(jolt.speed_rad_s, abs=math.pi / 60)
    assert len(kept.duty.bursts) == 15
