"""Drives by form: what is read back is what was typed, and comments stay."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile, BadInput
from shotwright.bench import drive_forms as forms
from shotwright.bench.drive_text import take_drive, typed_text, with_table, without_table
from shotwright.bench.form_tables import field_of
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.recovery import recovery_at, recovery_picture
from shotwright.powertrain.drive_file import drive_from_text
from shotwright.powertrain.wheel_duty import recovery_time

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
WHEEL, PISTON = ((YARD / name).read_text(encoding="utf-8") for name in ("drive.toml", "piston-drive.toml"))


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "a.shotwright"
    create_project(path, name="a")
    import_into(path, YARD / "drive.toml")
    import_into(path, YARD / "piston-drive.toml")
    return path


def fields(form: forms.DriveForm) -> dict[str, str]:
    cells = [one for group in form.groups for one in (*group.fields, *(c for row in group.rows for c in row))]
    return {one.name: one.value for one in cells}


@pytest.mark.parametrize("name", ["Yard wheel drive", "Yard piston drive"])
def test_what_was_not_changed_stays_to_the_byte(project: Path, name: str) -> None:
    form = forms.drive_form(project, name)
    assert form is not None
    assert typed_text(form.text, fields(form)) == form.text


def test_one_change_changes_one_line(project: Path) -> None:
    form = forms.drive_form(project)
    assert form is not None
    changed = typed_text(form.text, fields(form) | {"wheel.speed": "2000 rpm", "search.motors": "1 2"})
    assert changed == form.text.replace("1900 rpm", "2000 rpm").replace("[1, 2, 3, 4]", "[1, 2]")
    found = drive_from_text(changed)
    assert found.counts == (1, 2)


def test_faults_name_their_fields(project: Path) -> None:
    form = forms.drive_form(project)
    assert form is not None
    typed = fields(form) | {
        "supply.cells": "ten",
        "motor.1.reading.1.torque": "0.1",
        "burst.0.shots": "0",
        "stage.0.teeth": "12",
        "name": "",
    }
    with pytest.raises(BadFile) as caught:
        forms.save_drive(project, form.name, typed)
    named = {field_of(one.field) for one in caught.value.problems}
    assert {"supply.cells", "motor.1.reading.1.torque", "burst.0.shots", "stage.0.teeth"} <= named
    again = forms.drive_form(project)
    assert again is not None
    assert again.text == form.text


def test_a_drive_is_renamed_and_no_other_is_overwritten(project: Path) -> None:
    form = forms.drive_form(project, "Yard wheel drive")
    assert form is not None
    typed = fields(form)
    with pytest.raises(BadInput, match="already"):
        forms.save_drive(project, form.name, typed | {"name": "Yard piston drive"})
    before, found = forms.save_drive(project, form.name, typed | {"name": "wheels"})
    assert before == form.text
    assert found.name == "wheels"
    again = forms.drive_form(project)
    assert again is not None
    assert again.names == ("Yard piston drive", "wheels")


def test_tables_come_and_go() -> None:
    for key in ("motor", "stage", "burst", "winding"):
        more = drive_from_text(with_table(WHEEL, key))
        less = drive_from_text(WHEEL)
        assert len(more.motors) == len(less.motors) + (key == "motor")
        assert (more.winding is not None) == (key == "winding")
    assert without_table(with_table(WHEEL, "stage"), "stage.1") == WHEEL
    assert drive_from_text(without_table(WHEEL, "stage.0")).wheel.train.ratio == 1.0  # type: ignore[union-attr]
    for place in ("motor.9", "supply", "stage", "name"):
        with pytest.raises(BadInput):
            without_table(WHEEL, place)
    for key in ("supply", "wheel", "no"):
        with pytest.raises(BadInput):
            with_table(WHEEL, key)


def test_what_is_picked_is_built() -> None:
    found = drive_from_text(take_drive(WHEEL, ((12, 30), (12, 36)), 0.0008, "measured motor", 3))
    assert found.wheel is not None
    assert (found.wheel.motors, found.wheel.motor.name) == (3, "measured motor")
    assert found.wheel.train.ratio == pytest.approx(7.5)
    assert found.wheel.wheel.inertia == pytest.approx(0.0008)


def test_the_map_and_a_place_of_it_agree_with_the_closed_form() -> None:
    file = drive_from_text(WHEEL)
    assert file.wheel is not None
    assert file.duty is not None
    spot = recovery_at(file, file.wheel.train.ratio, file.wheel.wheel.inertia)
    assert spot.recovery_s == pytest.approx(recovery_time(file.wheel, file.duty), rel=1e-12)
    assert spot.train is not None
    assert spot.train.error == 0
    picture = recovery_picture(file, 700.0)
    low, high = picture.ratios
    assert low < file.wheel.train.ratio < high
    assert 0 < picture.left < picture.left + picture.width < 700
    never = recovery_at(file, 60.0, 0.002)
    assert never.recovery_s is None
    assert "never ready" in never.words[0]
    with pytest.raises(BadInput):
        recovery_at(file, 0.0, 0.002)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_whatever_is_typed_is_kept_or_told(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    text = data.draw(st.sampled_from([WHEEL, PISTON]))
    known = {
        **{f"supply.{key}": "" for key in ("cells", "level", "main_breaker", "main_breaker.kind")},
        **{f"motor.0.{key}": "" for key in ("by", "name", "limit", "reading.0.speed")},
        **{f"stage.{i}.{key}": "" for i in range(3) for key in ("kind", "teeth", "ratio", "efficiency")},
        **{f"winding.{key}": "" for key in ("wound", "torque", "torques", "taper", "shape")},
        **{f"search.{key}": "" for key in ("teeth", "inertias", "most_motors")},
        "burst.0.start": "4 s",
        "match.length": "150 s",
    }
    names = data.draw(st.lists(st.sampled_from(sorted(known)), min_size=1, max_size=4, unique=True))
    values = st.one_of(
        st.text(max_size=12),
        st.sampled_from(["1", "0", "-3", "12, 60", "nan", "1e400", "90 deg", "3 A", "my readings"]),
    )
    typed = known | {name: data.draw(values) for name in names}
    with contextlib.suppress(BadInput):  # and nothing else
        drive_from_text(typed_text(text, typed))
