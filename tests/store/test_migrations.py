"""Project files of every version open for ever. tests/projects/ keeps one of each."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from shotwright.store import connection
from shotwright.store.project_file import ProjectFile
from shotwright.store.schema import APPLICATION_ID, MIGRATIONS

PROJECTS = Path(__file__).parents[1] / "projects"


def restore(version, folder):
    """Project file from its SQL, as a program of that version left it."""
    path = folder / f"v{version}.shotwright"
    script = (PROJECTS / f"v{version}.sql").read_text(encoding="utf-8")
    with sqlite3.connect(path) as database:
        database.executescript(script)
    database.close()
    return path


def test_every_version_has_its_file():
    kept = sorted(int(path.stem[1:]) for path in PROJECTS.glob("v*.sql"))

    assert kept == list(range(1, len(MIGRATIONS) + 1))


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS) + 1))
def test_old_file_opens(tmp_path, version):
    with ProjectFile.open(restore(version, tmp_path)) as project:
        assert project.name == "Kept for ever"
        assert [p.name for p in project.prototypes()] == ["twin roller", "catapult"]
        assert [t.name for t in project.trials()] == ["roller low", "catapult at the wall"]
        assert [(s.trial, s.order, s.set_aside) for s in project.shots()] == [
            ("roller low", 1, None),
            ("roller low", 2, "ball was wet"),
            ("catapult at the wall", 1, None),
        ]
        assert project.shots()[0].along == 3.1 + 0.1
        assert project.game().name == "Lantern Loft"
        assert project.choices()[0]["evidence"] == {"probability": 0.71}
        assert project.get_fact("truth") == {"speed_sd_m_s": 0.12}
        assert len(project.journal()) == (8, 9, 9, 10, 11)[version - 1]
        assert [one.name for one in project.drives()] == ([] if version < 5 else ["Yard wheel drive"])
        described = [] if version == 1 else ["catapult"]
        assert [one.prototype for one in project.launchers()] == described
        assert list(project.crew_files()) == ([] if version < 4 else ["match"])
        assert project.format_version == len(MIGRATIONS)


def test_what_was_measured_on_a_video_is_kept(tmp_path):
    with ProjectFile.open(restore(3, tmp_path)) as project:
        shot = project.shots()[2]
        assert (shot.speed_sd, shot.elevation_sd, shot.spin_sd) == (0.04, 0.005, None)
        assert (shot.clip, shot.first_frame, shot.last_frame) == ("ab" * 32, 31, 58)


def test_an_older_file_that_is_only_read_shows_its_shots(tmp_path):
    with ProjectFile.open(restore(2, tmp_path), read_only=True) as project:
        assert [s.clip for s in project.shots()] == [None, None, None]
        assert project.shots()[2].speed == 8.9


def test_an_older_file_that_is_only_read_holds_no_crew_file(tmp_path):
    with ProjectFile.open(restore(3, tmp_path), read_only=True) as project:
        assert project.format_version == 3
        assert project.crew_files() == {}


def test_an_older_file_that_is_only_read_describes_no_launcher(tmp_path):
    with ProjectFile.open(restore(1, tmp_path), read_only=True) as project:
        assert project.format_version == 1
        assert project.launchers() == ()
        assert project.drives() == ()


def test_an_older_file_is_copied_before_it_is_changed(tmp_path):
    path = restore(1, tmp_path)
    later = (
        *MIGRATIONS[:1],
        ("alter table shots add column wind real",),
        ("create table tools (a text) strict",),
    )
    with sqlite3.connect(path, isolation_level=None) as database:
        backup = connection.migrate(database, path, later)
        columns = [row[1] for row in database.execute("pragma table_info(shots)")]

        assert "wind" in columns
        assert database.execute("pragma user_version").fetchone() == (3,)
        assert database.execute("select count(*) from shots").fetchone() == (3,)
        assert connection.migrate(database, path, later) is None
    database.close()
    assert backup == tmp_path / "v1.shotwright.bak-v1"
    with ProjectFile.open(backup, read_only=True) as old:
        assert old.format_version == 1
        assert len(old.shots()) == 3


def test_a_migration_that_fails_leaves_the_file_as_it_was(tmp_path):
    path = restore(1, tmp_path)
    bad = (*MIGRATIONS[:1], ("alter table shots add column wind real", "create table shots (a) strict"))
    with sqlite3.connect(path, isolation_level=None) as database:
        with pytest.raises(sqlite3.OperationalError):
            connection.migrate(database, path, bad)

        assert database.execute("pragma user_version").fetchone() == (1,)
        assert "wind" not in [row[1] for row in database.execute("pragma table_info(shots)")]
    database.close()


def test_the_header_names_the_program(tmp_path):
    ProjectFile.create(tmp_path / "a", "x").close()

    # SQLite file format, section 1.3: the application id is a big-endian integer at offset 68.
    assert (tmp_path / "a").read_bytes()[68:72] == APPLICATION_ID.to_bytes(4, "big") == b"shot"
