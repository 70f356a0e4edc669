"""From a clip to a trial: what is typed, what is entered, and what later chapters make of it."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import cv2
import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.base.estimate import NotEstimated
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.shots import add_shot, list_shots
from shotwright.bench.video_entry import enter_video
from shotwright.bench.video_lens import write_still
from shotwright.bench.video_scale import TypedScale
from shotwright.bench.videos import TypedVideo, ball_on_film, measure_video
from shotwright.bench.workbook import read_workbook
from shotwright.flight.model import flight_model
from shotwright.store.folder import export_folder, import_folder
from shotwright.store.project_file import ProjectFile
from shotwright.trials.launch import trial_evidence
from shotwright.trials.measure.ball_tracks import tracks_in
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, even_times, frames_of
from shotwright.trials.trial_data import trial_data

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
TRIAL = "piston at 62"
CAMERA = Camera(width=640, height=360, scale=106.5, roll=math.radians(1.0))
SHOTS = (
    FilmedShot(0.2, 6.6, math.radians(60), spin=24.0, z=0.6),
    FilmedShot(1.5, 6.3, math.radians(59), spin=24.0, z=0.6),
)


@pytest.fixture(scope="module")
def ball():
    return ball_on_film(None, "150 mm", "165 g", "0.48")


@pytest.fixture(scope="module")
def clip(tmp_path_factory, ball):
    """Two shots with a dot on the ball, 90 frames a second."""
    film = Film(CAMERA, ball, SHOTS, even_times(90, 2.75), exposure=1 / 800, noise=2.0, mark="dot", seed=4)
    path = tmp_path_factory.mktemp("clip") / "two.mp4"
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), 90, (640, 360))
    for picture in frames_of(film):
        writer.write(picture)
    writer.release()
    return path


def typed_scale():
    pixels, _ = CAMERA.pixels(np.array([[0.4, 0, 2.2], [3.9, 0, 2.2], [2.5, 0, 1.0], [2.5, 0, 3.0]]))
    a, b, low, top = (f"{x:.2f},{y:.2f}" for x, y in pixels)
    return TypedScale(marks=f"{a} {b}", distance="3.5 m", plumb=f"{top} {low}", tap_sd=0.3)


@pytest.fixture(scope="module")
def measured(clip, ball):
    release, _ = CAMERA.pixels(np.array([[SHOTS[0].x, 0, SHOTS[0].z]]))
    typed = TypedVideo(release="{:.2f},{:.2f}".format(*release[0]), mark="dot")
    return measure_video(clip, ball, typed_scale(), typed)


@pytest.fixture
def project(tmp_path):
    file = tmp_path / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    import_into(file, YARD / "trials.toml")
    return file


def test_two_shots_with_speed_elevation_and_spin(measured):
    assert [shot.number for shot in measured.shots] == [1, 2]
    for shot, truth in zip(measured.shots, SHOTS, strict=True):
        assert shot.launch.speed_m_s.value == pytest.approx(truth.speed, rel=0.01)
        assert shot.launch.elevation_deg.value == pytest.approx(math.degrees(truth.elevation), abs=0.3)
        assert shot.spin.spin_rev_s.value == pytest.approx(truth.spin / (2 * math.pi), rel=0.01)
        assert shot.spin.fastest_told_rev_s == pytest.approx(45, rel=1e-3)
        assert shot.spin.others_rev_s[1] == pytest.approx(truth.spin / (2 * math.pi) - 90, abs=0.1)
        assert shot.svg.startswith("<svg")
        assert "svg" not in shot.to_dict()
    assert len(measured.sha256) == 64


def test_a_clip_becomes_evidence_of_shots_that_have_marks(project, measured):
    for k in range(3):
        add_shot(project, TRIAL, along=f"{4.0 + 0.1 * k} m", cross="0 m")
    entered = enter_video(project, TRIAL, measured, shot=2)

    one, two, three = list_shots(project, TRIAL).shots
    assert (one.speed, one.clip) == (None, None)
    assert (two.along, three.along) == (4.1, 4.2)
    assert two.clip == three.clip == measured.sha256
    assert (two.first_frame, two.last_frame) == (measured.shots[0].first_frame, measured.shots[0].last_frame)
    assert two.speed == pytest.approx(measured.shots[0].launch.speed_m_s.value)
    assert two.spin == pytest.approx(24.0, rel=0.01)
    trial = entered.trials[0]
    assert trial.speed_sd == pytest.approx(two.speed_sd, rel=0.5)
    assert any("1 of 3 shots with a mark have no measured launch" in words for words in entered.words)
    with pytest.raises(BadInput, match="has a measured launch already"):
        enter_video(project, TRIAL, measured, shot=3)
    enter_video(project, TRIAL, measured, shot=2, replace=True)


def test_entering_twice_makes_no_second_shot(project, measured):
    for _ in range(2):
        enter_video(project, TRIAL, measured)

    assert [s.order for s in list_shots(project, TRIAL).shots] == [1, 2]


def test_out_and_back_to_the_byte(project, measured, tmp_path):
    enter_video(project, TRIAL, measured)
    with ProjectFile.open(project) as file:
        export_folder(file, tmp_path / "one")
    import_folder(tmp_path / "one", tmp_path / "again.shotwright")
    with ProjectFile.open(tmp_path / "again.shotwright") as file:
        export_folder(file, tmp_path / "two")

    for file in (tmp_path / "one").iterdir():
        assert (tmp_path / "two" / file.name).read_bytes() == file.read_bytes()


@pytest.mark.slow
def test_hit_and_calibrate_take_the_measured_launch(project, measured):
    for k in range(4):
        add_shot(project, TRIAL, along=f"{4.0 + 0.1 * k} m", cross=f"{0.02 * k} m")
    enter_video(project, TRIAL, measured, shot=1)
    enter_video(project, TRIAL, dataclasses.replace(measured, sha256="7" * 64), shot=3)
    book = read_workbook(project)
    [(trial, shots)] = book.some_trials((TRIAL,))
    prototype = next(p for p in book.prototypes if p.name == trial.prototype)
    model = flight_model(book.game.ball, book.game.weather)
    with_launch = trial_evidence(model, book.game.ball, prototype, trial, shots)
    bare = tuple(dataclasses.replace(s, speed=None, elevation=None, spin=None) for s in shots)
    without = trial_evidence(model, book.game.ball, prototype, trial, bare)

    # the marks' row alone against rows for marks, speed and elevation
    assert without.in_plane.shape == (1, 2)
    assert with_launch.in_plane.shape == (3, 2)
    assert with_launch.in_plane_known[1, 1] == pytest.approx(trial.speed_sd**2)
    assert with_launch.elevation == pytest.approx(np.mean([s.elevation for s in shots]))
    import_into(project, YARD / "launchers.toml")
    described = read_workbook(project).launcher_of(trial.prototype)
    if described is not None:
        assert "speed" in trial_data(described, book.game.ball, trial, shots).rows


def test_what_was_found_is_measured_again_without_decoding(clip, ball, measured):
    from shotwright.trials.measure.clip import find_in, open_clip

    found = find_in(open_clip(clip))
    again = measure_video(clip, ball, typed_scale(), found=found)
    assert [s.launch.speed_m_s.value > 0 for s in again.shots] == [True, True]
    track = tracks_in(found.frames, found.times, found.candidates, diameter=0.15)[0]
    spot = track.points[4]
    moved = (f"{spot.frame}={spot.x + 6:.1f},{spot.y:.1f}", f"{track.points[5].frame}=")
    corrected = measure_video(clip, ball, typed_scale(), TypedVideo(moved=moved), found=found)
    rows = {row.frame: row for row in corrected.shots[0].track}

    assert rows[spot.frame].by_hand
    assert not rows[spot.frame].used
    assert track.points[5].frame not in rows
    slow = measure_video(clip, ball, typed_scale(), TypedVideo(filmed_at=720.0), found=found)
    assert all(isinstance(s.launch, NotEstimated) and "its clock" in s.launch.reason for s in slow.shots)


@pytest.mark.parametrize(
    ("scale", "typed", "words"),
    [
        ({"marks": "1,2 3,4"}, {}, "belong together"),
        ({"marks": "1,2", "distance": "1 m"}, {}, "not two pixels"),
        ({"marks": "a,2 3,4", "distance": "1 m"}, {}, "is no pixel"),
        ({"marks": "1,2 3,4", "distance": "1 m"}, {}, "pixels apart"),
        ({"marks": "1,2 300,4", "distance": "-1 m"}, {}, "distance"),
        (
            {"marks": "1,2 300,4", "distance": "1 m", "stick": "1,2 3,4", "stick_length": "1 m"},
            {},
            "give one",
        ),
        ({"plumb": "1,2 1,90", "level": "1,2 90,2"}, {}, "give one"),
        ({"points": ("1,2 0m,0m",)}, {}, "at least four"),
        ({"points": ("1,2",)}, {}, "no known point"),
        ({"vertical": "sideways"}, {}, "neither camera nor gravity"),
        ({"lens": Path("none.lens")}, {}, "can't be read"),
        ({}, {"first": 9, "last": 3}, "no range"),
        ({}, {"filmed_at": 0.0}, "no rate"),
        ({}, {"moved": ("57",)}, "no correction"),
        ({}, {"moved": ("99999=1,2",)}, "was not looked at"),
        ({}, {"drag": "much"}, "not a number"),
        ({}, {"mark": "star"}, "neither dot nor stripe"),
        ({}, {"readout": "5"}, "has no unit"),
    ],
)
def test_what_can_not_be_read_is_told(clip, ball, found, scale, typed, words):
    with pytest.raises(BadInput, match=words):
        measure_video(clip, ball, TypedScale(**scale), TypedVideo(**typed), found=found)


@pytest.fixture(scope="module")
def found(clip):
    from shotwright.trials.measure.clip import find_in, open_clip

    return find_in(open_clip(clip), 0, 110)


def test_a_still_is_written(clip, tmp_path):
    write_still(clip, 30, tmp_path / "still.jpg")

    assert cv2.imread(str(tmp_path / "still.jpg")).shape == (360, 640, 3)
    with pytest.raises(BadInput, match="no frame 9999"):
        write_still(clip, 9999, tmp_path / "none.jpg")


def test_a_ball_must_be_known():
    with pytest.raises(BadInput, match="how large and heavy"):
        ball_on_film(None, "15 cm")
