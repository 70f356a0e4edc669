"""A shot on record gets launch values from a video; everything else of it stays."""

from __future__ import annotations

import dataclasses

import pytest

from shotwright.base.errors import BadInput
from shotwright.store.folder import export_folder, import_folder
from shotwright.store.project_file import ProjectFile
from shotwright.trials.records import Prototype, Shot, Trial

CLIP = "3c" * 32


@pytest.fixture
def project(tmp_path):
    with ProjectFile.create(tmp_path / "a.shotwright", "Lantern crew") as project:
        project.put_prototypes([Prototype("catapult", elevation_low=0.9, elevation_high=0.9)])
        project.put_trials([Trial("low", "catapult")])
        project.add_shots([Shot("a", "low", 1, along=3.1, cross=0.1, source="typed", speed=5.0)])
        yield project


def measured(shot):
    return dataclasses.replace(
        shot,
        speed=6.1,
        elevation=0.8,
        speed_sd=0.02,
        elevation_sd=0.004,
        clip=CLIP,
        first_frame=3,
        last_frame=9,
    )


def test_only_the_launch_changes_and_the_journal_keeps_what_was_there(project):
    shot = project.shots()[0]
    after = project.put_launch(dataclasses.replace(measured(shot), along=99.0, remark="not taken"))

    assert after == measured(shot)
    assert project.shots() == (after,)
    assert "(before: speed 5.0 m/s)" in project.journal()[-1][1]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"clip": "abc"}, "SHA-256"),
        ({"clip": None}, "SHA-256"),
        ({"first_frame": 12}, "no range"),
        ({"last_frame": None}, "no range"),
    ],
)
def test_evidence_that_names_no_frames_is_refused(project, change, words):
    shot = project.shots()[0]
    with pytest.raises(BadInput, match=words):
        project.put_launch(dataclasses.replace(measured(shot), **change))

    assert project.shots() == (shot,)


def test_out_and_back_to_the_byte(project, tmp_path):
    project.put_launch(measured(project.shots()[0]))
    export_folder(project, tmp_path / "one")
    import_folder(tmp_path / "one", tmp_path / "b.shotwright")
    with ProjectFile.open(tmp_path / "b.shotwright") as again:
        assert again.shots() == project.shots()
        export_folder(again, tmp_path / "two")

    for file in (tmp_path / "one").iterdir():
        assert (tmp_path / "two" / file.name).read_bytes() == file.read_bytes(), file.name
