"""Projects as a crew makes them: bring in, bring in again, take out, and trials with hardly any shots."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from shotwright.base.errors import BadInput, ShotwrightError
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.bench.choosing import choose
from shotwright.bench.evidence import compare, dispersion, hit_probabilities
from shotwright.bench.projects import copy_project, create_project, export_project, import_into, summary
from shotwright.bench.shots import add_shot, list_shots, set_aside, take_back
from shotwright.bench.workbook import read_workbook

GAME = """
[game]
name = "Test Yard"
origin = "invented"

[field]
length = "9 m"
width = "6 m"

[ball]
name = "ball"
diameter = "150 mm"
mass = "165 g"
hollow = "solid"
drag = { constant = 0.48, origin = "assumed" }
lift = "cross"

[[target]]
name = "lantern"
shape = "circle"
x = "5 m"
y = "3 m"
z = "1.2 m"
faces = "up"
diameter = "90 cm"
points = 3

[[position]]
name = "rail"
x = "1 m"
y = "3 m"
place_sd = "10 mm"
heading_sd = "0.4 deg"

[limits]
mass = "6 kg"
"""
PROTOTYPES = """
[[prototype]]
name = "hood"
release_height = "50 cm"
elevation_low = "55 deg"
elevation_high = "55 deg"
mass = "3 kg"

[[prototype]]
name = "twin"
release_height = "50 cm"
elevation_low = "50 deg"
elevation_high = "50 deg"
mass = "4 kg"
"""
TRIALS = """
[[trial]]
name = "H1"
prototype = "hood"
elevation = "55 deg"

[[trial]]
name = "W1"
prototype = "twin"
elevation = "50 deg"
"""
SHOTS = """trial,shot,along (cm),left (cm)
H1,1,421,3
H1,2,405,-6
H1,3,433,10
H1,4,412,1
H1,5,418,-8
"""
BAD_ROWS = SHOTS + "H1,6,n.a. m,2\nH1,7,424,5\n"


def put(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project with game, prototypes and trials, and no shot yet."""
    path = tmp_path / "yard.shotwright"
    create_project(path, name="Yard", game=put(tmp_path, "game.toml", GAME))
    import_into(path, put(tmp_path, "prototypes.toml", PROTOTYPES))
    import_into(path, put(tmp_path, "trials.toml", TRIALS))
    return path


@pytest.fixture
def with_shots(project: Path, tmp_path: Path) -> Path:
    assert import_into(project, put(tmp_path, "shots.csv", SHOTS)).new_shots == 5
    return project


# ---- start and bring in


def test_a_new_project_says_what_comes_next(tmp_path: Path) -> None:
    made = create_project(tmp_path / "yard")
    assert made.file.endswith("yard.shotwright")
    assert made.name == "yard"
    assert made.game is None
    assert [w.split(":")[0] for w in made.words] == ["Next", "Next"]
    with pytest.raises(BadInput, match=r"no game yet.*import game\.toml"):
        hit_probabilities(Path(made.file))


def test_a_project_is_not_written_over_unasked(project: Path) -> None:
    with pytest.raises(ShotwrightError, match="or replace it with --overwrite"):
        create_project(project)
    assert summary(project).prototypes == ("hood", "twin")
    assert create_project(project, overwrite=True).prototypes == ()


def test_a_bad_game_leaves_no_project_behind(tmp_path: Path) -> None:
    broken = put(tmp_path, "game.toml", GAME.replace('diameter = "150 mm"', 'diameter = "150"'))
    with pytest.raises(ShotwrightError, match="diameter"):
        create_project(tmp_path / "yard.shotwright", game=broken)
    assert not (tmp_path / "yard.shotwright").exists()


def test_everything_comes_in(with_shots: Path) -> None:
    found = summary(with_shots)
    assert found.game == "Test Yard"
    assert found.positions == ("rail",)
    assert found.targets == ("lantern",)
    assert found.prototypes == ("hood", "twin")
    assert found.trials == ("H1", "W1")
    assert (found.shots, found.set_aside) == (5, 0)
    assert found.words == ()
    shots = list_shots(with_shots, "H1").shots
    assert [s.order for s in shots] == [1, 2, 3, 4, 5]
    assert shots[0].along == pytest.approx(4.21)
    assert shots[0].cross == pytest.approx(0.03)  # left is positive
    assert shots[0].source == "shots.csv row 2"


def test_the_same_file_again_adds_nothing(with_shots: Path, tmp_path: Path) -> None:
    again = import_into(with_shots, tmp_path / "shots.csv")
    assert (again.new_shots, again.known_shots) == (0, 5)
    assert summary(with_shots).shots == 5


def test_a_longer_file_of_the_same_name_adds_its_new_rows(with_shots: Path, tmp_path: Path) -> None:
    more = import_into(with_shots, put(tmp_path, "shots.csv", SHOTS + "H1,6,415,0\n"))
    assert (more.new_shots, more.known_shots) == (1, 5)
    assert summary(with_shots).shots == 6


def test_rows_that_cannot_be_read_block_until_told_otherwise(project: Path, tmp_path: Path) -> None:
    bad = put(tmp_path, "shots.csv", BAD_ROWS)
    blocked = import_into(project, bad)
    assert not blocked.imported
    assert [(p.row, p.field) for p in blocked.problems] == [(7, "along")]
    assert "--skip-bad-rows" in blocked.words[-1]
    assert summary(project).shots == 0
    passed = import_into(project, bad, skip_bad_rows=True)
    assert passed.imported
    assert passed.new_shots == 6
    assert [s.order for s in list_shots(project).shots] == [1, 2, 3, 4, 5, 7]


def test_a_dry_run_writes_nothing(project: Path, tmp_path: Path) -> None:
    report = import_into(project, put(tmp_path, "shots.csv", SHOTS), dry_run=True)
    assert report.new_shots == 5
    assert not report.imported
    assert report.words[0] == "Would read 5 new shots from shots.csv."
    assert summary(project).shots == 0


def test_two_shots_with_one_number_are_told_apart(with_shots: Path, tmp_path: Path) -> None:
    clash = put(tmp_path, "other.csv", "trial,shot,along (cm),left (cm)\nH1,8,400,0\nH1,3,400,0\n")
    with pytest.raises(BadInput, match=r"shot 3 of trial 'H1' is there already, from shots\.csv row 4"):
        import_into(with_shots, clash)
    # Nothing of that file came in, its good row neither.
    assert summary(with_shots).shots == 5
    twice = put(tmp_path, "twice.csv", "trial,shot,along (cm),left (cm)\nH1,9,400,0\nH1,9,401,0\n")
    report = import_into(with_shots, twice)
    assert not report.imported
    assert "in row 2 already" in report.problems[0].reason


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("a.pdf", "x", r"\.pdf is not read"),
        ("a.toml", "[other]\nx = 1\n", "neither"),
        ("a.toml", "x = ", "(is not|read as) TOML"),
    ],
)
def test_files_of_another_kind_are_refused(
    project: Path, tmp_path: Path, name: str, text: str, says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        import_into(project, put(tmp_path, name, text))


def test_a_missing_file_is_told(project: Path, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no such file"):
        import_into(project, tmp_path / "none.csv")


# ---- log


def test_shots_are_logged_set_aside_and_taken_back(with_shots: Path) -> None:
    logged = add_shot(with_shots, "H1", along="4.2 m", cross="-3 cm", hit=True).shots[0]
    assert (logged.order, logged.along, logged.cross, logged.hit) == (6, 4.2, -0.03, True)
    set_aside(with_shots, "H1", 6, "slipped on the ramp")
    assert summary(with_shots).set_aside == 1
    assert dispersion(with_shots, "H1").trials[0].shots_used == 5
    take_back(with_shots, "H1", 6)
    assert dispersion(with_shots, "H1").trials[0].shots_used == 6


def test_logging_says_what_is_wrong(with_shots: Path) -> None:
    with pytest.raises(BadInput, match="there is no trial 'H9'; there is: H1, W1"):
        add_shot(with_shots, "H9", along="4 m")
    with pytest.raises(BadInput, match="needs a mark"):
        add_shot(with_shots, "H1")
    with pytest.raises(BadInput, match="along"):
        add_shot(with_shots, "H1", along="4")
    with pytest.raises(BadInput, match="has no shot 17"):
        set_aside(with_shots, "H1", 17, "gone")
    assert summary(with_shots).shots == 5


# ---- take out


def test_export_and_import_make_the_same_project(with_shots: Path, tmp_path: Path) -> None:
    set_aside(with_shots, "H1", 2, "slipped")
    folder = tmp_path / "out"
    written = export_project(with_shots, folder)
    assert {"game.toml", "prototypes.toml", "trials.toml", "shots.csv"} <= {
        Path(f).name for f in written.files
    }
    other = tmp_path / "other.shotwright"
    create_project(other, name="Yard")
    report = import_into(other, folder)
    assert report.kind == "folder"
    assert report.new_shots == 5
    assert read_workbook(other) == read_workbook(with_shots)
    assert import_into(other, folder).new_shots == 0


def test_export_does_not_mix_with_other_files(with_shots: Path, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="holds other files"):
        export_project(with_shots, tmp_path)


def test_export_does_not_lose_what_was_typed_into_an_earlier_one(with_shots: Path, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    export_project(with_shots, folder)
    export_project(with_shots, folder)  # nothing changed: nothing to lose
    typed = (folder / "prototypes.toml").read_text(encoding="utf-8") + "# from the workshop\n"
    (folder / "prototypes.toml").write_text(typed, encoding="utf-8")
    with pytest.raises(BadInput, match=r"prototypes\.toml does not say.*--overwrite"):
        export_project(with_shots, folder)
    assert (folder / "prototypes.toml").read_text(encoding="utf-8") == typed
    export_project(with_shots, folder, overwrite=True)
    assert "workshop" not in (folder / "prototypes.toml").read_text(encoding="utf-8")


def test_a_copy_holds_the_same(with_shots: Path, tmp_path: Path) -> None:
    copy_project(with_shots, tmp_path / "copy.shotwright")
    assert read_workbook(tmp_path / "copy.shotwright") == read_workbook(with_shots)


# ---- hardly any shots


@pytest.mark.parametrize("shots", [0, 1, 2])
def test_a_trial_with_hardly_any_shots_gets_reasons_not_numbers(project: Path, shots: int) -> None:
    for k in range(shots):
        add_shot(project, "H1", along=f"{4 + 0.1 * k} m", cross="2 cm")
    found = dispersion(project, "H1").trials[0]
    assert found.shots_used == shots
    if shots < 2:
        assert isinstance(found.sd_first_m, NotEstimated)
        assert isinstance(found.sigma_m, NotEstimated)
    table = hit_probabilities(project, prototypes=("hood",))
    assert table.rows == ()
    assert isinstance(table.spreads[0].speed_percent, NotEstimated)
    assert "hood: no hit probability, because" in table.words[0]


def test_choosing_without_evidence_chooses_nobody(project: Path) -> None:
    found = choose(project)
    assert found.admitted == ()
    with pytest.raises(BadInput, match="compar"):
        compare(project)


# ---- the choice


@pytest.mark.slow
def test_a_choice_is_recorded_with_its_evidence(with_shots: Path) -> None:
    with pytest.raises(BadInput, match="say why"):
        choose(with_shots, decide="hood")
    with pytest.raises(BadInput, match="there is no prototype 'other'"):
        choose(with_shots, decide="other", reason="because")
    found = choose(with_shots, decide="hood", reason="the only one that was fired")
    assert found.admitted == ("hood",)
    assert found.recorded is not None
    assert found.recorded.prototype == "hood"
    assert found.recorded.evidence["trials"] == {"H1": 5, "W1": 0}
    assert any("On record: hood" in w for w in found.words)
    with pytest.raises(BadInput, match="twin"):
        choose(with_shots, decide="twin", reason="looks good")


def test_hit_probability_of_the_project(with_shots: Path) -> None:
    table = hit_probabilities(with_shots, prototypes=("hood",), seed=3)
    assert len(table.rows) == 1
    assert isinstance(table.rows[0].probability, Estimate)
    assert table.rows[0].origin == "measured"
    with pytest.raises(BadInput, match="there is no position 'moon'; there is: rail"):
        hit_probabilities(with_shots, position="moon")


def test_the_demo_game_reads(tmp_path: Path) -> None:
    yard = resources.files("shotwright.bench") / "yard"
    text = (yard / "game.toml").read_text(encoding="utf-8")
    made = create_project(tmp_path / "demo", game=put(tmp_path, "game.toml", text))
    assert made.game == "Lantern Yard"
