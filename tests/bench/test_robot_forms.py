"""The form of a robot: fields both ways, tables added and taken out, comments that stay."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile, BadInput
from shotwright.bench import robot_forms as forms
from shotwright.bench.entry import understood
from shotwright.bench.form_tables import field_of
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.robot_fields import SECTIONS
from shotwright.bench.robot_text import example_text, typed_robot, with_robot_table, without_robot_table
from shotwright.robot.reading import robot_from_text

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
TEXT = example_text()


@pytest.fixture
def project(tmp_path: Path) -> Path:
    made = tmp_path / "yard.shotwright"
    create_project(made, game=YARD / "game.toml")
    import_into(made, YARD / "prototypes.toml")
    return made


def values_of(form: forms.RobotForm) -> dict[str, str]:
    """Return what the page would send."""
    groups = [*form.shared, *(group for section in form.sections for group in section.groups)]
    rows = [row for group in groups for row in (group.fields, *group.rows)]
    return {one.name: one.value for row in rows for one in row}


def test_a_form_that_nobody_touched_changes_nothing(project: Path) -> None:
    assert forms.robot_form(project) is None
    forms.start_robot(project)
    form = forms.robot_form(project)
    assert form is not None
    assert form.invented
    assert forms.save_robot(project, values_of(form)) == TEXT
    assert forms.robot_text(project) == TEXT


FIELDS = {
    "mass": "{} kg",
    "opponent.mass": "{} kg",
    "drive-base.wheelbase": "{} cm",
    "drive-base.push.force": "{} N",
    "drive-base.stage.1.efficiency": "0.{}",
    "tilt.pressure_angle": "2{} deg",
    "feed.recovery": "{} s",
    "brake.wheel_grip": "0.{}",
    "brake.air.leak_time": "{} s",
    "power.rated_time": "{} h",
    "power.load.0.wait": "{} s",
    "supply.other_current": "{} A",
}


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(FIELDS)), st.integers(1, 9))
def test_one_field_changes_one_line(name: str, number: int) -> None:
    typed = FIELDS[name].format(number)
    wanted = tomllib.loads(TEXT)
    table: Any = wanted
    *places, key = name.split(".")
    for place in places:
        table = table[int(place) if isinstance(table, list) else place]
    table[key] = float(typed) if " " not in typed else typed
    text = typed_robot(TEXT, {name: typed})
    assert tomllib.loads(text) == wanted
    assert len(set(TEXT.splitlines()) - set(text.splitlines())) <= 1  # comments and other lines stay
    robot_from_text(text)
    del table[key]
    assert tomllib.loads(typed_robot(text, {name: ""})) == wanted


@pytest.mark.parametrize("section", SECTIONS)
def test_each_section_is_taken_out_and_added_again(section: str) -> None:
    less = without_robot_table(TEXT, section)
    part = section.replace("-", "_")
    assert getattr(robot_from_text(less), part) is None
    assert getattr(robot_from_text(with_robot_table(less, section)), part) == getattr(
        robot_from_text(TEXT), part
    )


@pytest.mark.parametrize("section", SECTIONS)
def test_a_section_is_added_to_a_robot_that_has_little(section: str) -> None:
    bare = 'mass = "9 kg"\n\n[supply]\nchemistry = "NiMH"\ncells = 10\ncapacity = "3 Ah"\n'
    found = robot_from_text(with_robot_table(bare, section))
    assert getattr(found, section.replace("-", "_")) is not None
    own = bare + '\n[[motor]]\nclass = "12 V 550 class"\nname = "ours"\n'
    assert getattr(robot_from_text(with_robot_table(own, section)), section.replace("-", "_")) is not None


def test_springs_take_the_place_of_air_and_back() -> None:
    springs = with_robot_table(TEXT, "brake.spring")
    brake = robot_from_text(springs).brake
    assert brake is not None
    assert (brake.air, brake.spring is not None) == (None, True)
    assert robot_from_text(with_robot_table(springs, "brake.air")).brake == robot_from_text(TEXT).brake
    with pytest.raises(BadInput, match="can't be added"):
        with_robot_table(TEXT, "brake.air")


def test_tables_of_lists_come_and_go() -> None:
    more = with_robot_table(with_robot_table(TEXT, "power.load"), "power.load")
    assert [one["name"] for one in tomllib.loads(more)["power"]["load"]][-2:] == ["load 1", "load 2"]
    robot_from_text(more)
    assert without_robot_table(without_robot_table(more, "power.load.6"), "power.load.5") == TEXT
    one = without_robot_table(TEXT, "drive-base.sprint.1")
    with pytest.raises(BadInput, match="is the last one"):
        without_robot_table(one, "drive-base.sprint.0")
    direct = robot_from_text(without_robot_table(TEXT, "tilt.stage.0")).tilt
    assert direct is not None
    assert direct.tilt.train.ratio == 1.0


def test_a_motor_with_another_name_stays_where_it_is() -> None:
    found = robot_from_text(typed_robot(TEXT, {"motor.0.by": "12 V 550 class", "motor.0.name": "big one"}))
    assert found.drive_base is not None
    assert found.drive_base.base.motor.name == "big one"


def test_motors_of_other_parts_are_typed_by_name() -> None:
    text = typed_robot(TEXT, {"power.motors": "arm 1, ball lift 2"})
    power = robot_from_text(text).power
    assert power is not None
    assert power.motors == {"arm": 1, "ball lift": 2}
    assert typed_robot(text, {"power.motors": ""}) == TEXT
    with pytest.raises(BadFile) as told:
        robot_from_text(typed_robot(TEXT, {"power.motors": "arm"}))
    assert field_of(told.value.problems[0].field) == "power.motors.arm"


def test_what_nobody_says_any_more_is_no_empty_table() -> None:
    text = typed_robot(TEXT, {f"drive-base.push.{key}": "" for key in ("times", "time", "force")})
    assert "push" not in tomllib.loads(text)["drive-base"]


@pytest.mark.parametrize(
    ("name", "typed", "field"),
    [
        ("mass", "14", "mass"),
        ("motor.0.limit", "hot", "motor.0.limit"),
        ("supply.main_breaker", "60", "supply.main_breaker"),
        ("opponent.grip", "", "opponent.grip"),
        ("drive-base.stage.1.teeth", "12", "drive-base.stage.1.teeth"),
        ("drive-base.sprint.0.distance", "3", "drive-base.sprint.0.distance"),
        ("drive-base.push.time", "6", "drive-base.push.time"),
        ("drive-base.search.least_ratio", "50", "drive-base.search.least_ratio"),
        ("tilt.pins", "50 deg, 60", "tilt.pins"),
        ("brake.air.regulated", "9 bar", "brake.air.regulated"),
        ("power.load.1.of", "shove", "power.load.1.of"),
    ],
)
def test_what_is_wrong_names_its_field(project: Path, name: str, typed: str, field: str) -> None:
    forms.start_robot(project)
    with pytest.raises(BadFile) as told:
        forms.save_robot(project, {name: typed})
    assert field in [field_of(one.field) for one in told.value.problems]
    assert forms.robot_text(project) == TEXT


def test_a_robot_is_begun_once_and_forgotten(project: Path) -> None:
    assert forms.start_robot(project) is None
    with pytest.raises(BadInput, match="keeps a robot already"):
        forms.start_robot(project)
    assert forms.put_robot_text(project, None) == TEXT
    assert forms.robot_form(project) is None
    with pytest.raises(BadInput, match="keeps no robot any more"):
        forms.save_robot(project, {"mass": "9 kg"})


def test_an_example_names_no_launcher_that_the_project_lacks(tmp_path: Path) -> None:
    empty = tmp_path / "empty.shotwright"
    create_project(empty)
    forms.start_robot(empty)
    assert robot_from_text(forms.robot_text(empty) or "").launcher is None


def test_lists_and_small_lengths_are_read_back() -> None:
    assert understood("50 deg, 0.9 rad", "list of angle").words == "= 50.00 °, 51.57 °"
    assert understood("1.25 mm", "length").words == "= 1.25 mm"
    assert understood("4 bar", "pressure").words == "= 4.00 bar"
    with pytest.raises(BadInput, match="nothing is typed"):
        understood(" , ", "list of angle")
