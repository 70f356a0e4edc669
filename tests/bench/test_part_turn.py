"""A kept cam winds: the work of its drawn turn is that of the spring."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.drives import find_drive
from shotwright.bench.kept_parts import kept_part
from shotwright.bench.part_turn import part_turn, take_turn, winding_parts, with_turn
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.winding import winding
from shotwright.bench.workbook import read_workbook

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "a.shotwright"
    create_project(path, name="a", game=YARD / "game.toml")
    for name in ("prototypes.toml", "launchers.toml", "parts.toml", "piston-drive.toml"):
        import_into(path, YARD / name)
    return path


def test_the_turn_of_a_cam_does_the_work_of_its_spring(project: Path) -> None:
    """Closed form: k/2 (b^2 - a^2), friction left out; the nose adds what it loses again."""
    name = winding_parts(read_workbook(project))[0]
    turn, wound = part_turn(project, name)
    figures = kept_part(project, name).part.figures
    assert turn.work == pytest.approx(figures["usable_j"], rel=0.01)
    assert wound < turn.angles[-1] == pytest.approx(6.283185307179586)
    assert min(turn.torques) >= 0
    found = winding(with_turn(find_drive(None, project), project, name))
    assert found.work_j == pytest.approx(turn.work, rel=1e-12)
    assert abs(found.run.run.balance) < 1e-9
    assert any("from its drawn outline" in words for words in found.words)


def test_it_is_kept_in_the_file_of_the_drive(project: Path) -> None:
    name = winding_parts(read_workbook(project))[0]
    before = take_turn(project, "Yard piston drive", name)
    assert before == (YARD / "piston-drive.toml").read_text(encoding="utf-8")
    kept = find_drive(None, project).needed_winding().turn
    assert kept.work == pytest.approx(part_turn(project, name)[0].work, rel=1e-3)


def test_a_part_that_winds_nothing_is_refused(project: Path) -> None:
    with pytest.raises(BadInput, match="there is no part 'none'"):
        part_turn(project, "none")
