"""The project file keeps what it is given, and refuses what it could not give back."""

from __future__ import annotations

import dataclasses
import datetime
import math
from pathlib import Path

import pytest

from shotwright.base.errors import BadFile, BadInput, ProjectProblem
from shotwright.store.project_file import ProjectFile
from shotwright.trials.records import Prototype, Shot, Trial

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
GAME = (EXAMPLES / "game.toml").read_text(encoding="utf-8")
FULL_PROTOTYPE = Prototype(
    name="twin roller",
    mechanism="opposed wheels",
    release_height=0.55,
    elevation_low=math.radians(52),
    elevation_high=math.radians(52.1),
    speed_low=5.0,
    speed_high=11.0,
    spin_parameter=0.15,
    spin_parameter_sd=0.02,
    motors=2,
    stored_energy=18.0,
    mass=3.1,
    length=0.4,
    width=0.38,
    height=0.1 + 0.2,
    remark="gap 120 mm\nsecond line",
)
FULL_TRIAL = Trial(
    name="Tür 1",
    prototype="twin roller",
    date=datetime.date(2026, 1, 17),
    setting='2400 rpm "low"',
    elevation=math.radians(52),
    release_height=0.56,
    spin_parameter=0.1,
    surface="plane",
    surface_at=4.0,
    mark_sd=0.005,
    speed_sd=0.05,
    elevation_sd=0.01,
    same_ball=True,
    position="at the rail",
    target="upper lantern",
    origin="simulated",
    remark="doors shut",
)
FULL_SHOT = Shot(
    uid="k1",
    trial="Tür 1",
    order=1,
    ball="A",
    along=1 / 3,
    cross=-0.1,
    height=2.2,
    speed=9.1,
    elevation=0.9,
    spin=math.pi,
    hit=False,
    remark='=soft, "flat"',
    set_aside="slipped",
    source="shots.csv row 7",
)


def shot(order, /, **kwargs):
    shot = Shot(uid=f"u{order}", trial="Tür 1", order=order, along=3.0, cross=0.0)
    return dataclasses.replace(shot, **kwargs)


@pytest.fixture
def project(tmp_path):
    with ProjectFile.create(tmp_path / "crew.shotwright", "Lantern crew") as project:
        project.put_prototypes([FULL_PROTOTYPE, Prototype("catapult")])
        project.put_trials([FULL_TRIAL, Trial("second", "catapult")])
        yield project


def reopened(project):
    project.close()
    return ProjectFile.open(project.path)


def test_every_field_comes_back(project):
    project.add_shots([FULL_SHOT, shot(2, hit=True), Shot("k3", "second", 1, hit=None)])
    project.set_game(GAME)
    project.add_choice(
        {"date": datetime.date(2026, 2, 1), "prototype": "catapult", "reason": "why", "evidence": {"p": 0.7}}
    )
    project.set_fact("truth", {"speed_sd": 0.1 + 0.2, "list": [1, None, "ü"]})
    with reopened(project) as again:
        assert again.name == "Lantern crew"
        assert again.prototypes() == (FULL_PROTOTYPE, Prototype("catapult"))
        assert again.trials() == (FULL_TRIAL, Trial("second", "catapult"))
        assert again.shots() == (FULL_SHOT, shot(2, hit=True), Shot("k3", "second", 1))
        assert again.shots("second") == (Shot("k3", "second", 1),)
        assert [s.order for s in again.shots("Tür 1", with_set_aside=False)] == [2]
        assert again.game_text() == GAME
        assert again.game().name == "Lantern Loft"
        assert again.get_fact("truth") == {"speed_sd": 0.1 + 0.2, "list": [1, None, "ü"]}
        assert again.get_fact("nothing") is None
        assert again.choices() == (
            {
                "date": datetime.date(2026, 2, 1),
                "prototype": "catapult",
                "reason": "why",
                "evidence": {"p": 0.7},
            },
        )
        assert again.created.tzinfo is not None
        assert [what for _, what in again.journal()][-3:] == [
            "1 shot added to trial 'second'",
            "game 'Lantern Loft' set",
            "prototype 'catapult' chosen",
        ]


def test_records_have_no_field_that_the_tables_lack(project):
    # A record that grows must come with a migration.
    for kind, table in ((Prototype, "prototypes"), (Trial, "trials"), (Shot, "shots")):
        columns = {row[1] for row in project._rows(f"pragma table_info({table})")} - {"number"}
        assert columns == {field.name for field in dataclasses.fields(kind)}


def test_the_same_shots_twice_add_nothing(project):
    shots = [shot(n) for n in range(1, 6)]

    assert project.add_shots(shots) == 5
    assert project.add_shots([*shots, shot(6)]) == 1
    assert project.next_order("Tür 1") == 7
    assert project.next_order("second") == 1
    assert project.add_shots([]) == 0


def test_two_shots_with_one_number_name_both_and_keep_nothing(project):
    project.add_shots([shot(1, source="a.csv row 2")])
    with pytest.raises(BadInput) as caught:
        project.add_shots([shot(2), shot(1, uid="other", source="b.csv row 9")])

    said = str(caught.value)
    assert said.startswith("order: shot 1 of trial 'Tür 1' is there already, from a.csv row 2 (uid u1)")
    assert "the new one: b.csv row 9 (uid other)" in said
    assert [s.uid for s in project.shots()] == ["u1"]


def test_set_aside_and_take_back(project):
    project.add_shots([shot(1), shot(2)])

    assert project.set_aside("u1", "foot slipped").set_aside == "foot slipped"
    assert [s.set_aside for s in project.shots()] == ["foot slipped", None]
    with pytest.raises(BadInput, match="is set aside already: foot slipped"):
        project.set_aside("u1", "again")
    assert project.take_back("u1").set_aside is None
    with pytest.raises(BadInput, match="is not set aside"):
        project.take_back("u1")
    with pytest.raises(BadInput, match="say why"):
        project.set_aside("u2", "  ")
    with pytest.raises(BadInput, match="there is no shot with uid 'u9'"):
        project.set_aside("u9", "why")
    assert [what for _, what in project.journal()][-2:] == [
        "shot 1 of trial 'Tür 1' set aside: foot slipped",
        "shot 1 of trial 'Tür 1' taken back (was set aside: foot slipped)",
    ]


def test_a_name_that_is_known_is_replaced_and_its_shots_stay(project):
    project.add_shots([shot(1)])
    project.put_prototypes([dataclasses.replace(FULL_PROTOTYPE, mass=2.0)])
    project.put_trials([dataclasses.replace(FULL_TRIAL, remark="changed")])

    assert [p.mass for p in project.prototypes()] == [2.0, None]
    assert [t.remark for t in project.trials()] == ["changed", ""]
    assert len(project.shots("Tür 1")) == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"along": math.nan}, "along: nan is not a finite number"),
        ({"speed": math.inf}, "speed: inf is not a finite number"),
        ({"order": 0}, "order: 0 is not a shot number"),
        ({"order": 10**10}, "is not a shot number"),
        ({"uid": " "}, "uid: ' ' is not a name"),
        ({"uid": "a\nb"}, "is not a name"),
        ({"trial": "none"}, "trial: there is no trial 'none'; known: Tür 1, second"),
        ({"remark": "\ud800"}, "remark: '\\ud800' holds half a character"),
        ({"remark": "a\x00"}, "remark: holds a zero byte"),
    ],
)
def test_shots_that_can_not_be_kept(project, change, said):
    with pytest.raises(BadInput) as caught:
        project.add_shots([shot(2), shot(1, **change)])

    assert said in str(caught.value)
    assert project.shots() == ()


@pytest.mark.parametrize(
    ("record", "said"),
    [
        (Prototype(" "), "is not a name"),
        (Prototype("a", mass=math.nan), "mass: 'nan kg' does not start with a number"),
        (Prototype("a", mass=-1.0), "mass: -1.0 kg is not allowed"),
        (Prototype("a", elevation_low=2.0, elevation_high=3.0), "between -90 and 90 deg"),
        (Prototype("a", release_height=5000.0), "more than 1000 m"),
        (Trial("t", "nobody"), "there is no prototype 'nobody'"),
        (Trial("t", "catapult", mark_sd=-0.1), "mark_sd: -0.1 m is not allowed"),
        (Trial("t\n", "catapult"), "is not a name"),
    ],
)
def test_records_that_can_not_be_kept(project, record, said):
    put = project.put_prototypes if isinstance(record, Prototype) else project.put_trials
    with pytest.raises(BadInput) as caught:
        put([record])

    assert said in str(caught.value)


def test_a_game_that_is_none_is_not_kept(project):
    project.set_game(GAME)
    with pytest.raises(BadFile, match="mass"):
        project.set_game(GAME.replace('mass = "130 g"', "mass = 130"), "new.toml")

    assert project.game_text() == GAME


@pytest.mark.parametrize(
    ("choice", "said"),
    [
        ({"prototype": "x", "reason": "r"}, "there is no prototype 'x'; known: twin roller, catapult"),
        ({"prototype": "catapult", "reason": " "}, "say why"),
        ({"prototype": "catapult", "reason": "r", "evidence": math.nan}, "can't be kept as JSON"),
        ({"prototype": "catapult", "reason": "r", "evidence": object()}, "can't be kept as JSON"),
    ],
)
def test_choices_that_can_not_be_kept(project, choice, said):
    with pytest.raises(BadInput, match=said):
        project.add_choice(choice)

    assert project.choices() == ()


def test_a_group_of_changes_is_kept_whole_or_not_at_all(project):
    def stumble():
        with project.transaction():
            project.add_shots([shot(1)])
            project.set_fact("a", 1)
            project.add_shots([shot(2, order=1)])

    with pytest.raises(BadInput, match="is there already"):
        stumble()

    assert project.shots() == ()
    assert project.get_fact("a") is None
    with project.transaction():
        project.add_shots([shot(1)])
        project.set_fact("a", 1)
    assert (len(project.shots()), project.get_fact("a")) == (1, 1)


def test_ten_thousand_shots(project):
    shots = [shot(n, along=n / 7, cross=-n / 11) for n in range(1, 10_001)]

    assert project.add_shots(shots) == 10_000
    assert project.shots() == tuple(shots)


def test_one_file_is_left_after_closing(project):
    project.add_shots([shot(1)])
    project.close()
    project.close()

    assert [p.name for p in project.path.parent.iterdir()] == ["crew.shotwright"]
    with pytest.raises(ProjectProblem, match="is closed"):
        project.shots()


def test_an_edition_changes_with_what_is_held_and_not_with_housekeeping(project):
    seen = [project.edition()]
    for change in (
        lambda: project.add_shots([shot(1)]),
        lambda: project.set_aside("u1", "slipped"),
        lambda: project.put_prototypes([Prototype("third")]),
        lambda: project.set_fact("seed", 7),
        lambda: project.set_fact("seed", 8),
        lambda: project.add_choice({"prototype": "catapult", "reason": "light"}),
    ):
        change()
        seen.append(project.edition())
    assert len(set(seen)) == len(seen)
    before = project.path.stat().st_mtime_ns
    with reopened(project) as again:
        assert again.edition() == seen[-1]
    assert project.path.stat().st_mtime_ns != before  # the same content, tidied into one file


def test_copy_while_open_is_whole(project, tmp_path):
    project.add_shots([shot(1)])
    project.copy_to(tmp_path / "copy.shotwright")
    project.add_shots([shot(2)])
    with ProjectFile.open(tmp_path / "copy.shotwright") as copy:
        assert [s.order for s in copy.shots()] == [1]
        assert copy.name == "Lantern crew"
        assert copy.format_version == project.format_version
    with pytest.raises(ProjectProblem, match="is there already"):
        project.copy_to(tmp_path / "copy.shotwright")


def test_create_replaces_only_projects_and_only_when_told(project, tmp_path):
    project.close()
    with pytest.raises(ProjectProblem, match="is there already"):
        ProjectFile.create(project.path, "other")
    with ProjectFile.create(project.path, "other", overwrite=True) as other:
        assert (other.name, other.shots()) == ("other", ())
    (tmp_path / "letter.txt").write_text("Dear judges")
    with pytest.raises(ProjectProblem, match="not a project file"):
        ProjectFile.create(tmp_path / "letter.txt", "other", overwrite=True)
    assert (tmp_path / "letter.txt").read_text() == "Dear judges"
    with pytest.raises(ProjectProblem, match="there is no folder"):
        ProjectFile.create(tmp_path / "no" / "a.shotwright", "x")
    with pytest.raises(BadInput, match="is not a name"):
        ProjectFile.create(tmp_path / "b.shotwright", "")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["crew.shotwright", "letter.txt"]


def test_names_of_files_may_hold_anything(tmp_path):
    path = tmp_path / "a ?#%20 ü.shotwright"
    ProjectFile.create(path, "x").close()
    with ProjectFile.open(path) as project:
        assert project.name == "x"
