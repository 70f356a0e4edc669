"""The robot file of the yard, and what is asked of it."""

from __future__ import annotations

import contextlib
import json
import math
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile, BadInput, NoAnswer
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.base.toml_tables import Section
from shotwright.bench.projects import create_project, export_project, import_into
from shotwright.bench.robot_brake import brake
from shotwright.bench.robot_feed import feed
from shotwright.bench.robot_pages import robot_pages
from shotwright.bench.robot_power import power
from shotwright.bench.robot_tilt import tilt
from shotwright.bench.robots import FoundRobot, drive_base, find_robot
from shotwright.bench.workbook import opened, read_workbook
from shotwright.powertrain.wheel_duty import recovery_time
from shotwright.robot.filled import filled_budget, motors_of
from shotwright.robot.reading import robot_from_text

ROOT = Path(__file__).parents[2]
YARD = ROOT / "src" / "shotwright" / "bench" / "yard"
TEXT = (YARD / "robot.toml").read_text(encoding="utf-8")


def changed(*swaps: tuple[str, str]) -> str:
    text = TEXT
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    return text


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project with game, prototypes and robot; without trials."""
    project = tmp_path_factory.mktemp("yard") / "yard.shotwright"
    create_project(project, game=YARD / "game.toml")
    for name in ("prototypes.toml", "robot.toml"):
        import_into(project, YARD / name)
    return project


def test_the_yard_file_is_read_in_si() -> None:
    robot = robot_from_text(TEXT)
    assert robot.drive_base is not None
    assert robot.drive_base.base.wheel_radius == pytest.approx(0.05)
    assert robot.drive_base.base.train.ratio == pytest.approx(14.0)
    assert robot.tilt is not None
    assert robot.tilt.tilt.backlash == pytest.approx(math.radians(0.6))
    assert robot.brake is not None
    assert robot.brake.air is not None
    assert robot.brake.air.volume == pytest.approx(0.5e-3)
    assert robot.brake.air.pressure == pytest.approx(8e5)
    assert robot.power is not None
    assert [one.origin for one in robot.power.taken] == ["sprint", "push", "tilt"]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('mass = "14 kg"', 'mass = "14"', "robot.toml, mass: '14' has no unit; type it with one, e.g. 120 g"),
        ("threads = 1", "treads = 1", "robot.toml, [tilt], treads: is not a key here; did you mean threads?"),
        ("teeth = [12, 48]", "teeth = [12]", "robot.toml, [[drive-base.stage]] 1, teeth: [12] is not a pair"),
        ('of = "push"', 'of = "shove"', "robot.toml, [[power.load]] 2 \"pushes\", of: 'shove' is not one of"),
        ('regulated = "4 bar"', 'regulated = "9 bar"', "is not between 0 and the full pressure"),
        ('speed = "0.9 m/s"', 'speed = "0.9 m"', "[feed], speed: '0.9 m': 'm' is not a unit of speed"),
        ("[brake.air]", "[brake.oil]", "robot.toml, [brake]: needs either [brake.air] or [brake.spring]"),
        ("pins = [", "pins = 7 # [", "robot.toml, [tilt], pins: 7 is not a list of elevations"),
        ("least_ratio = 5.0", "least_ratio = 50.0", "50 is not below the largest, 30"),
        ('length = "150 s"', 'length = "150 h"', "must be greater than 0, at most 3600"),
        ('distance = "3 m"', 'distance = "3 km"', "must be greater than 0, at most 100"),
        ('power = "70 W"', "", 'needs one of: of = "sprint", current = "6 A", power = "70 W"'),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_by_file_and_field(old: str, new: str, told: str) -> None:
    with pytest.raises(BadFile) as caught:
        robot_from_text(changed((old, new)))
    assert told in str(caught.value)


def test_all_that_is_wrong_is_told_at_once() -> None:
    text = changed(
        ('mass = "14 kg"', "mass = 14"), ("pad_grip = 1.1", "pad_grip = -1"), ("cells = 10", 'cells = "x"')
    )
    with pytest.raises(BadFile) as caught:
        robot_from_text(text)
    assert len(caught.value.problems) == 3


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_no_slip_of_the_pen_is_more_than_a_message(data: st.DataObject) -> None:
    """Any value replaced by any other: the file is read, or every problem is a line."""
    lines = TEXT.splitlines()
    places = [i for i, line in enumerate(lines) if " = " in line]
    place = data.draw(st.sampled_from(places))
    value = data.draw(
        st.sampled_from(['"1"', '"-3 m"', "0", "-1", "[]", '"nan kg"', "true", '"0 V"', "1e9", '"x"', "{}"])
    )
    lines[place] = lines[place].split(" = ")[0] + " = " + value
    try:
        robot = robot_from_text("\n".join(lines))
    except BadInput as bad:
        told = str(bad).splitlines()
    else:
        told = []
        for ask in (drive_base, brake, power):
            with contextlib.suppress(BadInput, NoAnswer):
                ask(FoundRobot(robot, None))
    assert all(len(line) < 400 for line in told)


def test_every_key_is_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    known: set[str] = set()
    finish = Section.finish
    monkeypatch.setattr(
        Section, "finish", lambda self, *args: known.update(self._known) or finish(self, *args)
    )
    robot_from_text(TEXT)
    springs = re.sub(
        r"\[brake\.air\].*?(?=\n\[power\])",
        '[brake.spring]\nstiffness = "2 N/mm"\npreload = "3 cm"\nstroke = "2 cm"\n',
        TEXT,
        flags=re.S,
    )
    assert robot_from_text(springs).brake is not None
    page = (ROOT / "docs" / "robot.md").read_text(encoding="utf-8")
    drives = (ROOT / "docs" / "file-format.md").read_text(encoding="utf-8")
    explained = set(re.findall(r"[\w-]+", " ".join(re.findall(r"`([^`\n]+)`", page + drives))))
    assert len(known) > 80
    assert known - explained == set()


def test_a_project_keeps_its_robot(yard: Path, tmp_path: Path) -> None:
    assert read_workbook(yard).crew_files["robot"] == TEXT
    with opened(yard, read_only=True) as file:
        assert "robot set" in [what for _, what in file.journal()]
    export_project(yard, tmp_path / "out")
    assert (tmp_path / "out" / "robot.toml").read_text(encoding="utf-8") == TEXT
    again = tmp_path / "again.shotwright"
    import_into(again, tmp_path / "out")
    assert read_workbook(again).crew_files["robot"] == TEXT
    with pytest.raises(BadInput, match=r"import robot\.toml"):
        find_robot(None, _empty(tmp_path))


def _empty(folder: Path) -> Path:
    path = folder / "empty.shotwright"
    create_project(path)
    return path


def test_the_drive_base(yard: Path) -> None:
    found = drive_base(find_robot(None, yard))
    assert found.sprints[0].followed_s == pytest.approx(found.sprints[0].time_s, rel=0.01)
    assert found.map.pick.cost_s <= min(row.cost_s for row in found.map.rows)
    assert any(row.ratio == pytest.approx(14.0) for row in found.map.rows)
    assert found.trains[0].ratio == pytest.approx(found.map.pick.ratio)  # what the gears can make
    assert found.svg.startswith("<svg")
    told = json.dumps(found.to_dict(), allow_nan=False)
    assert '"origin": "predicted"' in told
    assert any("limited by the grip of the wheels" in words for words in found.words)
    assert found.heat_limit_n == pytest.approx(found.push.force_n)  # six seconds are short
    long = robot_from_text(changed(('time = "6 s"', 'time = "60 s"')))
    slow = drive_base(FoundRobot(long, None))
    assert slow.heat_limit_n < 0.9 * slow.push.force_n
    assert slow.held.held_s < 60


def test_the_feed_needs_a_ball_and_tells_of_jams(yard: Path) -> None:
    found = feed(find_robot(None, yard))
    assert found.ball == "felt ball"
    assert found.rate.capacity == 4
    with pytest.raises(BadInput, match="the ball"):
        feed(FoundRobot(robot_from_text(TEXT), None))
    book = read_workbook(yard)
    wide = robot_from_text(changed(('width = "156 mm"', 'width = "295 mm"')))
    assert any("JAMS" in words for words in feed(FoundRobot(wide, book)).words)
    slick = robot_from_text(changed(('squeeze = "6 N"', 'squeeze = "0.5 N"')))
    assert any("too little" in words for words in feed(FoundRobot(slick, book)).words)


def test_the_feed_asks_the_drive_for_the_recovery(tmp_path: Path) -> None:
    project = tmp_path / "yard.shotwright"
    create_project(project, game=YARD / "game.toml")
    silent = robot_from_text(changed(('recovery = "0.3 s"\n', "")))
    unknown = feed(FoundRobot(silent, read_workbook(project)))
    assert unknown.recovery_s is None
    assert unknown.rate.limited_by == "feed"
    import_into(project, YARD / "drive.toml")
    book = read_workbook(project)
    found = feed(FoundRobot(silent, book))
    assert found.recovery_s == pytest.approx(recovery_time(*book.drive().needed_wheel()))
    assert any("Yard wheel drive" in words for words in found.words)


def test_the_brake_by_air_and_by_springs() -> None:
    found = brake(FoundRobot(robot_from_text(TEXT), None))
    assert found.match is not None
    assert found.match.served == found.match.wanted == 20
    assert found.tank is not None
    assert found.stored_j == pytest.approx(found.tank.most_j)
    assert any(f"{found.stored_j:.0f} J" in words for words in found.cautions)
    springs = re.sub(
        r"\[brake\.air\].*?(?=\n\[power\])",
        '[brake.spring]\nstiffness = "2 N/mm"\npreload = "3 cm"\nstroke = "2 cm"\n',
        TEXT,
        flags=re.S,
    )
    pressed = brake(FoundRobot(robot_from_text(springs), None))
    assert pressed.stored_j == pytest.approx(0.5 * 2000 * 0.05**2)
    assert pressed.hold.pad_force_n == pytest.approx(60.0)
    small = changed(('reservoir = "0.5 L"', 'reservoir = "0.05 L"'))
    short = brake(FoundRobot(robot_from_text(small), None))
    assert short.match is not None
    assert short.match.served < 20
    assert any("weaker" in words for words in short.words)


def test_the_power_budget_takes_from_the_other_parts() -> None:
    robot = robot_from_text(TEXT)
    budget, taken = filled_budget(robot)
    by_name = {one.name: one for one in taken}
    assert by_name["pushes"].duration_s == pytest.approx(3.0)  # the file's own
    assert by_name["sprints"].motors == 4
    assert by_name["sprints"].peak_a > by_name["sprints"].current_a > 20
    assert next(one for one in budget.consumers if one.name == "tilting").duration < 1.0
    found = power(FoundRobot(robot, None))
    assert found.motors.motors == 8
    assert found.motors.left == 2
    late = {row.name: row.longest_wait_s for row in found.waiting.rows}
    assert late["sprints"] == 0
    assert max(late.values()) <= 3.0
    few = robot_from_text(changed(("most_motors = 10", "most_motors = 6")))
    assert any("2 more than the 6 allowed" in words for words in power(FoundRobot(few, None)).words)
    no_tilt = re.sub(r"\[tilt\].*?(?=\n\[feed\])", "", TEXT, flags=re.S)
    with pytest.raises(BadInput, match=r"\[tilt\] is missing"):
        filled_budget(robot_from_text(no_tilt))
    assert motors_of(robot_from_text(no_tilt)).motors == 7


def test_a_tilt_without_trials_says_so(yard: Path) -> None:
    found = tilt(find_robot(None, yard))
    assert isinstance(found.ways, NotEstimated)
    assert "hooded wheel" in found.ways.reason
    assert found.slews
    assert found.locking.locks
    assert not found.locking.locks_shaken
    with pytest.raises(BadInput, match="there is no prototype"):
        tilt(FoundRobot(robot_from_text(changed(('"hooded wheel"', '"sling"'))), find_robot(None, yard).book))


def test_the_pages_of_the_notebook(yard: Path) -> None:
    book = read_workbook(yard)
    pages = robot_pages(book)
    assert [page.key for page in pages] == ["drive-base", "tilt", "feed", "brake", "power"]
    assert all(not page.problem for page in pages)
    for page in pages:
        assert page.draw is not None
        assert page.draw("key", 560.0).svg().startswith("<svg")
    cautions = [words for page in pages for words in page.cautions]
    assert len(cautions) == len(set(cautions)) >= 6
    assert robot_pages(read_workbook(_no_robot(yard))) == ()


def _no_robot(yard: Path) -> Path:
    path = yard.parent / "none.shotwright"
    create_project(path, game=YARD / "game.toml", overwrite=True)
    return path


@pytest.mark.slow
def test_backlash_in_hits(yard: Path, tmp_path: Path) -> None:
    """With shots of the launcher: more play never helps, and pins lie in their holes."""
    from shotwright.bench.demonstration import _fire

    project = tmp_path / "lantern.shotwright"
    create_project(project, game=YARD / "game.toml")
    for name in ("prototypes.toml", "trials.toml"):
        (tmp_path / name).write_text((YARD / name).read_text(encoding="utf-8"), encoding="utf-8")
    _fire(tmp_path, project)
    for name in ("prototypes.toml", "trials.toml", "shots.csv"):
        import_into(project, tmp_path / name)
    loose = robot_from_text(changed(('backlash = "0.6 deg"', 'backlash = "20 deg"')))
    found = tilt(FoundRobot(loose, read_workbook(project)))
    assert isinstance(found.ways, tuple)
    ways = {way.name: way for way in found.ways}
    assert ways["worm"].play_sd_deg == pytest.approx(20 / math.sqrt(12))
    assert ways["worm"].mean_probability < ways["any elevation, no play"].mean_probability - 0.03
    assert set(ways["pins"].elevations_deg) <= {50.0, 54.0, 58.0, 62.0}
    assert len(ways["fixed"].elevations_deg) == 1
    for row in ways["worm"].rows:
        assert isinstance(row.loss, Estimate)
        assert row.loss.value > -0.005
