"""The field as plain shapes; one thing moved in the crew's own file."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.bench.field import (
    Moved,
    field_plan,
    game_text,
    look,
    move,
    moved_game,
    moved_text,
    set_game_text,
)
from shotwright.bench.projects import create_project, import_into
from shotwright.game.reading import game_from_text

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
TEXT = (YARD / "game.toml").read_text(encoding="utf-8")


@pytest.fixture
def project(tmp_path: Path) -> Path:
    file = tmp_path / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    return file


def test_everything_that_stands_on_the_field_is_on_the_plan(project: Path) -> None:
    plan = field_plan(project)
    assert (plan.length_m, plan.width_m) == (9.0, 6.0)
    assert [(i.kind, i.name) for i in plan.items] == [
        ("obstacle", "lamp post"),
        ("obstacle", "garden wall"),
        ("defender", "warden"),
        ("target", "lantern"),
        ("target", "window"),
        ("position", "rail"),
        ("position", "open yard"),
        ("position", "start corner"),
    ]
    rail = next(i for i in plan.items if i.name == "rail")
    assert (rail.x_m, rail.y_m, rail.place_sd_m) == (4.5, 0.4, 0.01)
    assert ("rail", "window") in plan.shots


@settings(max_examples=40, deadline=None)
@given(
    which=st.sampled_from(
        [("position", "rail"), ("target", "lantern"), ("obstacle", "garden wall"), ("defender", "warden")]
    ),
    x=st.floats(1.5, 7.5),
    y=st.floats(1.5, 4.5),
)
def test_a_thing_goes_where_it_is_taken_and_nothing_else_moves(
    which: tuple[str, str], x: float, y: float
) -> None:
    kind, name = which
    before, after = (game_from_text(t) for t in (TEXT, moved_text(TEXT, Moved(kind, name, x, y))))
    from shotwright.bench.field import _items

    for old, new in zip(_items(before), _items(after), strict=True):
        if (new.kind, new.name) == which:
            assert (new.x_m, new.y_m) == pytest.approx((x, y), abs=0.0011)
            shape = [(a - old.x_m, b - old.y_m) for a, b in old.outline_m]
            assert [(a - new.x_m, b - new.y_m) for a, b in new.outline_m] == [
                pytest.approx(p, abs=0.0011) for p in shape
            ]
        else:
            assert new == old


@settings(max_examples=40, deadline=None)
@given(
    which=st.sampled_from(
        [
            ("position", "rail"),
            ("target", "lantern"),
            ("obstacle", "garden wall"),
            ("obstacle", "lamp post"),
            ("defender", "warden"),
        ]
    ),
    x=st.floats(1.5, 7.5),
    y=st.floats(1.5, 4.5),
)
def test_what_is_held_stands_where_the_file_will_say(which: tuple[str, str], x: float, y: float) -> None:
    moved = Moved(*which, x, y)
    held = moved_game(game_from_text(TEXT), moved)
    written = game_from_text(moved_text(TEXT, moved))
    for one in ("positions", "targets", "obstacles", "defenders"):
        for a, b in zip(getattr(held, one), getattr(written, one), strict=True):
            if getattr(a, "solid", a) == getattr(b, "solid", b):
                continue
            # corners are written from the corner that the file names, to the millimetre
            ours, theirs = (getattr(c, "solid", c) for c in (a, b))
            assert a.name == which[1]
            if hasattr(ours, "footprint"):
                assert np.asarray(ours.footprint) == pytest.approx(np.asarray(theirs.footprint), abs=0.0011)
                assert (ours.bottom, ours.top) == (theirs.bottom, theirs.top)
            else:
                assert dataclasses.asdict(ours) == pytest.approx(dataclasses.asdict(theirs), abs=1e-9)


def test_comments_and_order_stay() -> None:
    lines = moved_text(TEXT, Moved("position", "rail", 4.25, 0.4)).splitlines()
    changed = [(a, b) for a, b in zip(TEXT.splitlines(), lines, strict=True) if a != b]
    assert changed == [('x = "4.5 m"', 'x = "4.25 m"')]


def test_moving_can_be_taken_back_to_the_letter(project: Path) -> None:
    before = move(project, Moved("target", "lantern", 7.0, 3.5))
    assert before == TEXT
    assert game_text(project) != TEXT
    set_game_text(project, before)
    assert game_text(project) == TEXT


@pytest.mark.parametrize("moved", [Moved("position", "moon", 1, 1), Moved("field", "rail", 1, 1)])
def test_what_is_not_there_cannot_be_moved(moved: Moved) -> None:
    with pytest.raises(BadInput):
        moved_text(TEXT, moved)
    with pytest.raises(BadInput):
        moved_game(game_from_text(TEXT), moved)


def test_a_look_from_a_held_place_changes_nothing_on_file(project: Path) -> None:
    here = look(project, "rail", "lantern", prototype="piston")
    there = look(project, "rail", "lantern", prototype="piston", moved=Moved("position", "rail", 5.5, 1.0))
    assert here.window_svg.startswith("<svg")
    assert here.words != there.words
    assert game_text(project) == TEXT


def test_a_wall_before_the_position_blocks_and_says_so(project: Path) -> None:
    text = TEXT.replace('top = "1 m"', 'top = "6 m"')
    set_game_text(project, text)
    seen = look(
        project, "rail", "window", prototype="piston", moved=Moved("obstacle", "garden wall", 6.0, 0.8)
    )
    assert seen.blocked is not None
