"""Shots and trials as the pages and the command line log them."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.shots import add_shot, add_trial, list_shots

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    file = tmp_path / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    return file


def test_the_same_uid_is_the_same_shot(project: Path) -> None:
    add_trial(project, {"name": "a", "prototype": "piston"})
    first = add_shot(project, "a", along="4 m", cross="1 cm", uid="u1")
    again = add_shot(project, "a", along="5 m", cross="1 cm", uid="u1")
    assert again.shots[0].along == first.shots[0].along == 4.0
    assert again.words == ("Shot 1 of a was logged already.",)
    assert len(list_shots(project).shots) == 1


def test_shots_without_a_number_take_the_next_one(project: Path) -> None:
    add_trial(project, {"name": "a", "prototype": "piston"})
    orders = [add_shot(project, "a", along="4 m", cross="0 m").shots[0].order for _ in range(3)]
    assert orders == [1, 2, 3]


def test_a_trial_keeps_what_was_typed(project: Path) -> None:
    typed = {
        "name": " wall ",
        "prototype": "piston",
        "elevation": "45 deg",
        "surface": "plane",
        "surface_at": "3.2 m",
        "mark_sd": "",
    }
    add_trial(project, typed)
    (trial,) = list_shots(project).trials
    assert (trial.name, trial.surface, trial.surface_at, trial.mark_sd) == ("wall", "plane", 3.2, 0.01)
    assert trial.elevation == pytest.approx(0.7853981633974483)
    assert trial.date is not None


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"prototype": "piston"}, "name"),
        ({"name": "a"}, "prototype"),
        ({"name": "a", "prototype": "piston", "elevation": "45"}, "elevation"),
        ({"name": "a", "prototype": "piston", "surface": "wall"}, "surface"),
        ({"name": "a", "prototype": "nobody's"}, "prototype"),
        ({"name": "taken", "prototype": "piston"}, "name"),
    ],
)
def test_what_is_wrong_with_a_trial_is_told_by_its_field(
    project: Path, typed: dict[str, str], field: str
) -> None:
    add_trial(project, {"name": "taken", "prototype": "piston"})
    with pytest.raises(BadInput) as wrong:
        add_trial(project, typed)
    assert wrong.value.field is not None
    assert field in wrong.value.field
    assert len(list_shots(project).trials) == 1
