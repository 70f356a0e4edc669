"""A project as a folder: out and back gives the same project and the same bytes."""

from __future__ import annotations

import contextlib
import datetime
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile, BadInput, ProjectProblem, ShotwrightError
from shotwright.store.folder import FILES, export_folder, import_folder, read_folder
from shotwright.store.project_file import ProjectFile
from shotwright.trials.measure.tables import read_shot_table
from shotwright.trials.records import Prototype, Shot, Trial

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
GAME = (EXAMPLES / "game.toml").read_text(encoding="utf-8")
PARTS = """# for Friday
[[part]]
name = "plate \\"A\\" ü"
kind = "hub-plate"
date = 2026-01-17
[part.inputs]
bore = "8 mm"
"""
ROBOT = (EXAMPLES / "robot.toml").read_text(encoding="utf-8")
MATCH = (EXAMPLES / "match.toml").read_text(encoding="utf-8")

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
DRIVE = (YARD / "drive.toml").read_text(encoding="utf-8")


def contents(folder):
    return {path.name: path.read_bytes() for path in Path(folder).iterdir()}


def everything(project):
    return (
        project.name,
        project.created,
        project.game_text(),
        project.launcher_texts(),
        project.drive_texts(),
        project.prototypes(),
        project.trials(),
        project.shots(),
        project.choices(),
        project.facts(),
        project.journal(),
        project.crew_files(),
    )


def fill(project):
    project.set_game(GAME)
    project.put_prototypes([Prototype("twin roller", mass=0.1 + 0.2), Prototype("catapult")])
    project.put_launchers((EXAMPLES / "launchers.toml").read_text(encoding="utf-8"))
    project.put_crew_file("match", MATCH)
    project.put_drive(DRIVE)
    project.put_crew_file("parts", PARTS)
    project.put_crew_file("robot", ROBOT)
    project.put_trials(
        [Trial("low", "twin roller", date=datetime.date(2026, 1, 17)), Trial("wall", "catapult")]
    )
    project.add_shots(
        [
            Shot(
                "a",
                "low",
                1,
                ball="7",
                along=1 / 3,
                cross=-0.25,
                remark='"flat",\nsaid Ü',
                source="shots.csv row 2",
            ),
            Shot("b", "low", 2, along=3.0, cross=0.25, hit=True),
            Shot("c", "wall", 1, height=2.0, cross=0.0, speed=9.0, elevation=0.9, spin=-3.0, hit=False),
        ]
    )
    project.set_aside("b", "wet, slipped")
    project.add_choice(
        {"date": datetime.date(2026, 2, 1), "prototype": "catapult", "reason": "r", "evidence": [0.1, None]}
    )
    project.set_fact("truth", {"ü": 0.1 + 0.2})


@pytest.fixture
def folder(tmp_path):
    with ProjectFile.create(tmp_path / "a.shotwright", "Lantern crew") as project:
        fill(project)
        export_folder(project, tmp_path / "out")
    return tmp_path / "out"


def test_out_and_back(folder, tmp_path):
    import_folder(folder, tmp_path / "b.shotwright")
    with (
        ProjectFile.open(tmp_path / "a.shotwright") as one,
        ProjectFile.open(tmp_path / "b.shotwright") as two,
    ):
        assert everything(one) == everything(two)
        export_folder(two, tmp_path / "again")

    assert contents(folder) == contents(tmp_path / "again")
    assert sorted(contents(folder)) == sorted(FILES)
    assert (folder / "game.toml").read_text(encoding="utf-8") == GAME


TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)
NAMES = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=8).filter(str.strip)
POSITIVE = st.floats(1e-300, 900.0)
MARK = st.none() | st.floats(-900, 900) | st.floats(allow_nan=False, allow_infinity=False)
ANGLE = st.floats(-1.5, 1.5)
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=6,
)


@st.composite
def projects(draw):
    names = draw(st.lists(NAMES, min_size=1, max_size=3, unique=True))
    prototypes = [
        Prototype(
            name=name,
            mechanism=draw(TEXT),
            release_height=draw(st.floats(0, 900)),
            elevation_low=min(low := draw(ANGLE), high := draw(ANGLE)),
            elevation_high=max(low, high),
            speed_low=draw(st.none() | st.floats(0, 10)),
            speed_high=draw(st.none() | st.floats(10, 300)),
            spin_parameter=draw(st.floats(-2, 2)),
            spin_parameter_sd=draw(st.floats(0, 1)),
            motors=draw(st.none() | st.integers(0, 9)),
            stored_energy=draw(st.none() | st.floats(0, 1e6)),
            mass=draw(st.none() | POSITIVE),
            length=draw(st.none() | POSITIVE),
            width=draw(st.none() | POSITIVE),
            height=draw(st.none() | POSITIVE),
            remark=draw(TEXT),
        )
        for name in names
    ]
    trials = [
        Trial(
            name=name,
            prototype=draw(st.sampled_from(names)),
            date=draw(st.none() | st.dates()),
            setting=draw(TEXT),
            elevation=draw(st.none() | ANGLE),
            release_height=draw(st.none() | st.floats(0, 900)),
            spin_parameter=draw(st.none() | st.floats(-2, 2)),
            surface=draw(st.sampled_from(["floor", "plane"])),
            surface_at=draw(st.floats(0, 900)),
            mark_sd=draw(st.floats(0, 1)),
            speed_sd=draw(st.none() | st.floats(0, 9)),
            elevation_sd=draw(st.none() | st.floats(0, 1)),
            same_ball=draw(st.booleans()),
            position=draw(st.none() | NAMES),
            target=draw(st.none() | NAMES),
            origin=draw(st.sampled_from(["measured", "simulated"])),
            remark=draw(TEXT),
        )
        for name in draw(st.lists(NAMES, max_size=3, unique=True))
    ]
    uids = draw(st.lists(NAMES, max_size=6, unique=True)) if trials else []
    shots = [
        Shot(
            uid=uid,
            trial=draw(st.sampled_from(trials)).name,
            order=number,
            ball=draw(st.none() | TEXT.filter(bool)),
            along=draw(MARK),
            cross=draw(MARK),
            height=draw(MARK),
            speed=draw(MARK),
            elevation=draw(MARK),
            spin=draw(MARK),
            speed_sd=draw(MARK),
            spin_sd=draw(MARK),
            hit=draw(st.none() | st.booleans()),
            remark=draw(TEXT),
            set_aside=draw(st.none() | TEXT.filter(bool)),
            source=draw(TEXT),
            **draw(st.sampled_from([{}, {"clip": "0f" * 32, "first_frame": 0, "last_frame": 71}])),
        )
        for number, uid in zip(draw(st.permutations(range(1, len(uids) + 1))), uids, strict=True)
    ]
    choices = [
        {
            "date": draw(st.dates()),
            "prototype": draw(st.sampled_from(names)),
            "reason": reason,
            "evidence": draw(PLAIN),
        }
        for reason in draw(st.lists(TEXT.filter(str.strip), max_size=2))
    ]
    return prototypes, trials, shots, choices, draw(st.dictionaries(NAMES, PLAIN, max_size=2)), draw(TEXT)


@pytest.mark.slow
@given(projects())
@settings(max_examples=40, deadline=None)
def test_any_project_out_and_back(project):
    prototypes, trials, shots, choices, facts, comment = project
    game = GAME + "".join(f"# {line}\r\n" for line in comment.split() if line.isprintable())
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        with ProjectFile.create(home / "a", "crew") as one:
            one.set_game(game)
            one.put_prototypes(prototypes)
            one.put_trials(trials)
            assert one.add_shots(shots) == len(shots)
            for choice in choices:
                one.add_choice(choice)
            for key, value in facts.items():
                one.set_fact(key, value)
            assert one.prototypes() == tuple(prototypes)
            assert one.trials() == tuple(trials)
            assert sorted(one.shots(), key=lambda s: s.uid) == sorted(shots, key=lambda s: s.uid)
            assert one.choices() == tuple(choices)
            assert one.facts() == facts
            export_folder(one, home / "out")
            import_folder(home / "out", home / "b")
            with ProjectFile.open(home / "b") as two:
                assert everything(one) == everything(two)
                export_folder(two, home / "again")
        assert contents(home / "out") == contents(home / "again")


def test_an_earlier_export_is_brought_up_to_date_and_other_files_are_left(folder, tmp_path):
    (folder / "photo.jpg").write_bytes(b"x")
    with ProjectFile.create(tmp_path / "c.shotwright", "Lantern crew") as project:
        export_folder(project, folder)

    assert sorted(contents(folder)) == sorted(
        {*FILES, "photo.jpg"}
        - {"game.toml", "launchers.toml", "match.toml", "parts.toml", "robot.toml", "drive-1.toml"}
    )


def test_a_folder_with_files_of_somebody_else_is_not_overwritten(tmp_path):
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "game.toml").write_text("mine")
    with ProjectFile.create(tmp_path / "c.shotwright", "c") as project:
        with pytest.raises(ProjectProblem, match=r"holds game.toml, but is no exported project"):
            export_folder(project, tmp_path / "other")
        with pytest.raises(ProjectProblem, match="can't be written"):
            export_folder(project, tmp_path / "c.shotwright")


def test_the_shots_file_is_also_read_by_the_reader_of_tables(folder):
    reading = read_shot_table(folder / "shots.csv")

    assert reading.problems == ()
    assert [(s.uid, s.trial, s.order, s.set_aside) for s in reading.shots] == [
        ("a", "low", 1, None),
        ("b", "low", 2, "wet, slipped"),
        ("c", "wall", 1, None),
    ]
    assert reading.shots[0].along == 1 / 3
    assert reading.shots[2].spin == -3.0


def test_a_folder_without_the_optional_files(tmp_path):
    (tmp_path / "f").mkdir()
    (tmp_path / "f" / "project.toml").write_text(
        'format = 1\nname = "x"\ncreated = 2026-01-17T18:30:00+00:00\n'
    )
    import_folder(tmp_path / "f", tmp_path / "x.shotwright")
    with ProjectFile.open(tmp_path / "x.shotwright") as project:
        assert (project.name, project.prototypes(), project.game()) == ("x", (), None)


SLIPS = [
    (
        "project.toml",
        "format = 5",
        "format = 9",
        "project.toml, format: 9 is newer than this shotwright knows",
    ),
    ("project.toml", "created = ", "created = 1 #", "project.toml, created: 1 is not a time"),
    ("robot.toml", '"4 in"', '"4"', "robot.toml, [drive-base], wheel_diameter: '4' has no unit"),
    ("match.toml", '"150 s"', '"150 m"', "match.toml, [match], length: '150 m': 'm' is not a unit of time"),
    ("game.toml", 'mass = "130 g"', "mass = 130", "[ball] \"foam ball\", mass: '130' has no unit"),
    (
        "prototypes.toml",
        "mass = ",
        "mas = ",
        'prototypes.toml, [[prototype]] 1 "twin roller", mas: is not a key',
    ),
    (
        "trials.toml",
        'prototype = "catapult"',
        'prototype = "x"',
        'trials.toml, [[trial]] 2 "wall", prototype: there is',
    ),
    ("shots.csv", "c,wall,1", "c,wall,one", "shots.csv, row 4, order: 'one' is not a shot number"),
    ("shots.csv", "c,wall,1", "c,low,1", "shots.csv, row 4, order: 1 is in row 2 already"),
    ("shots.csv", "c,wall,1", "a,wall,1", "shots.csv, row 4, uid: 'a' is in row 2 already"),
    ("shots.csv", "c,wall,1", "c,roof,1", "shots.csv, row 4, trial: there is no trial 'roof' in trials.toml"),
    ("shots.csv", "c,wall,1", ",wall,1", "shots.csv, row 4, uid: '' is not a name"),
    ("shots.csv", "c,wall,1", "c,wall,1,", "shots.csv, row 4: has 15 cells, the header 14"),
    ("shots.csv", "9.0", "nan", "shots.csv, row 4, speed: 'nan' is not a number"),
    ("shots.csv", ",no,", ",nope,", "shots.csv, row 4, hit: 'nope' is neither yes, no nor empty"),
    ("shots.csv", "along (m)", "along (cm)", "shots.csv, row 1: 'along (cm)' is not a column here"),
    ("shots.csv", 'said Ü"', "said Ü", "shots.csv, row 2: can't be read as CSV"),
    (
        "choices.toml",
        "date = 2026-02-01",
        'date = "soon"',
        "choices.toml, [[choice]] 1, date: soon is not a date",
    ),
    ("choices.toml", '"catapult"', '"x"', "prototype: there is no prototype 'x' in prototypes.toml"),
    ("choices.toml", '"[0.1, null]"', '"[0.1"', "evidence: '[0.1' is not JSON"),
    ("facts.json", "{", "[", "facts.json: is not JSON"),
    ("journal.csv", "20", "x", "journal.csv, row 2, at: "),
]


@pytest.mark.parametrize(("name", "old", "new", "said"), SLIPS, ids=[f"{s[0]} {s[2]}" for s in SLIPS])
def test_each_slip_in_a_folder_is_named_and_no_file_is_made(folder, tmp_path, name, old, new, said):
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        import_folder(folder, tmp_path / "b.shotwright")

    assert said in str(caught.value), str(caught.value)
    assert not (tmp_path / "b.shotwright").exists()


def test_problems_of_all_files_are_told_at_once(folder):
    for name, old, new in (
        ("game.toml", '"130 g"', "1"),
        ("shots.csv", "c,wall,1", "c,wall,x"),
        ("facts.json", "{", ""),
    ):
        path = folder / name
        path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadFile) as caught:
        read_folder(folder)

    assert [problem.file for problem in caught.value.problems] == ["game.toml", "shots.csv", "facts.json"]


def test_folders_that_are_none(tmp_path):
    with pytest.raises(BadInput, match="there is no such folder"):
        import_folder(tmp_path / "none", tmp_path / "x")
    with pytest.raises(BadInput, match=r"holds no project.toml"):
        import_folder(tmp_path, tmp_path / "x")


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    home = tmp_path_factory.mktemp("sound")
    with ProjectFile.create(home / "a.shotwright", "crew") as project:
        fill(project)
        export_folder(project, home / "out")
    return contents(home / "out")


@given(st.sampled_from(FILES), st.binary(max_size=40), st.integers(0, 400))
@settings(max_examples=80, deadline=None)
def test_any_damage_is_read_or_refused_in_words(sound, name, data, place):
    with tempfile.TemporaryDirectory() as home:
        folder = Path(home) / "out"
        folder.mkdir()
        for file, text in sound.items():
            damaged = text[:place] + data + text[place + len(data) :] if file == name else text
            (folder / file).write_bytes(damaged)
        with contextlib.suppress(ShotwrightError):
            import_folder(folder, Path(home) / "b.shotwright")


def test_drives_are_numbered_and_old_numbers_go(tmp_path):
    with ProjectFile.create(tmp_path / "a.shotwright", "crew") as project:
        project.put_drive(DRIVE)
        second = DRIVE.replace("Yard wheel drive", "second")
        project.put_drive(second)
        export_folder(project, tmp_path / "out")
        assert (tmp_path / "out" / "drive-2.toml").read_bytes() == second.encode()
        import_folder(tmp_path / "out", tmp_path / "b.shotwright")
        with ProjectFile.open(tmp_path / "b.shotwright") as other:
            assert other.drive_texts() == project.drive_texts()
            assert [one.name for one in other.drives()] == ["Yard wheel drive", "second"]
        project.drop_drive("Yard wheel drive")
        (tmp_path / "out" / "drive-9.toml").write_text("of somebody else")
        export_folder(project, tmp_path / "out")
        assert sorted(path.name for path in (tmp_path / "out").glob("drive-*")) == [
            "drive-1.toml",
            "drive-9.toml",
        ]
        with pytest.raises(BadInput, match="there is no drive 'Yard wheel drive'; known: second"):
            project.drop_drive("Yard wheel drive")


def test_a_drive_that_can_not_be_read_is_told_with_its_file(folder, tmp_path):
    text = (folder / "drive-1.toml").read_text(encoding="utf-8")
    (folder / "drive-1.toml").write_text(text.replace("cells = 10", 'cells = "ten"'), encoding="utf-8")
    with pytest.raises(BadFile, match=r"drive-1.toml, \[supply\], cells: 'ten' is not a whole number"):
        import_folder(folder, tmp_path / "b.shotwright")
    assert not (tmp_path / "b.shotwright").exists()
