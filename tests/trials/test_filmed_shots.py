"""The whole way from a compressed clip to launch values, on simulated films with a known truth.

The standard set: 60 frames a second, 1280 x 720, a ball of 32 pixels; each film makes one thing hard. The
bounds are those that the documentation states: speed within 1 %, elevation within 0.3 degrees.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from shotwright.trials.measure.ball_tracks import tracks_in
from shotwright.trials.measure.clip import find_in, open_clip
from shotwright.trials.measure.flight_plane import (
    level_camera,
    plane_by_ball,
    plane_by_length,
    vertical_by_line,
)
from shotwright.trials.measure.launch_on_film import measure_launch
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, even_times, places_of

SHOT = FilmedShot(0.25, 7.0, math.radians(55), spin=20.0)
STANDARD = {
    "tilted": (Camera(roll=math.radians(2.3)), {}),
    "long exposure": (Camera(roll=math.radians(-1.0)), {"exposure": 1 / 75}),
    "dark, noisy and flickering": (Camera(), {"noise": 9.0, "flicker": 0.02, "colour": (60.0, 80.0, 110.0)}),
    "a person, shadows": (Camera(roll=math.radians(1.0)), {"walker": True, "shadow": True}),
}


def measure(model, film, rate, path, rng, shots=1):
    """Taps of half a pixel on two marks and a plumb line, then everything that `video` does."""
    clip = open_clip(path)
    found = find_in(clip)
    tracks = tracks_in(found.frames, found.times, found.candidates, diameter=model.ball.diameter)
    tracks = [track for track in tracks if not track.after_bounce]
    assert len(tracks) == shots
    pixels, _ = film.camera.pixels(np.array([[0.4, 0, 2.2], [3.9, 0, 2.2], [2.5, 0, 1.0], [2.5, 0, 3.0]]))
    a, b, low, top = map(tuple, (pixels + rng.normal(0, 0.5, pixels.shape)).tolist())
    plane = plane_by_length(a, b, 3.5, vertical_by_line(top, low, 0.5), 0.5)
    return [(track, measure_launch(track, plane, model)[0]) for track in tracks]


def truth_at(film, shot, time):
    """Speed and elevation in the middle of the exposure that begins at `time`."""
    t = time + film.exposure / 2
    places = places_of(film, shot, np.array([t - 1e-4, t + 1e-4]))
    (vx, _, vz) = (places[1] - places[0]) / 2e-4
    return math.hypot(vx, vz), math.degrees(math.atan2(vz, vx))


def check(film, shot, track, found):
    speed, elevation = truth_at(film, shot, track.points[0].time)
    assert found.speed_m_s.value == pytest.approx(speed, rel=0.01)
    assert found.elevation_deg.value == pytest.approx(elevation, abs=0.3)
    # half a width beyond the interval: four films are no study of its coverage, a wrong one would be far off
    reach = 0.75 * (found.speed_m_s.high - found.speed_m_s.low)
    assert abs(found.speed_m_s.value - speed) < reach


@pytest.mark.slow
@pytest.mark.parametrize("name", STANDARD)
def test_the_standard_set(ball_model, write_film, name):
    camera, options = STANDARD[name]
    film = Film(camera, ball_model, (SHOT,), even_times(60, 1.3), seed=7, **options)
    [(track, found)] = measure(ball_model, film, 60, write_film(film, 60), np.random.default_rng(5))

    check(film, SHOT, track, found)
    assert found.drag_scale.low < 1.0 < found.drag_scale.high or abs(found.drag_scale.value - 1) < 0.08
    assert min(p.confidence for p in track.points) > 0.2


@pytest.mark.slow
@pytest.mark.parametrize(("rate", "exposure"), [(30, 1 / 60), (120, 1 / 250), (240, 1 / 500)])
def test_other_rates(ball_model, write_film, rate, exposure):
    camera = Camera(width=640, height=360, scale=106.5)
    film = Film(camera, ball_model, (SHOT,), even_times(rate, 1.25), exposure=exposure, seed=3)
    [(track, found)] = measure(ball_model, film, rate, write_film(film, rate), np.random.default_rng(6))

    check(film, SHOT, track, found)
    assert len(track.points) > 0.55 * rate


def test_the_ball_gives_the_scale_and_several_shots_are_told_apart(ball_model, write_film):
    camera = Camera(width=640, height=360, scale=106.5)
    shots = (FilmedShot(0.2, 6.6, math.radians(55)), FilmedShot(1.5, 6.1, math.radians(50)))
    film = Film(camera, ball_model, shots, even_times(60, 2.6), seed=9, walker=True)
    clip = open_clip(write_film(film, 60))
    found = find_in(clip)
    tracks = tracks_in(found.frames, found.times, found.candidates, diameter=0.15)

    assert len([t for t in tracks if not t.after_bounce]) == 2
    for shot, track in zip(shots, [t for t in tracks if not t.after_bounce], strict=True):
        plane = plane_by_ball(track.radius, 0.02 * track.radius, 0.15, 0.001, (0.0, 359.0), level_camera())
        launch, _ = measure_launch(track, plane, ball_model, scaled_by_ball=True)
        speed, elevation = truth_at(film, shot, track.points[0].time)
        assert launch.speed_m_s.value == pytest.approx(speed, rel=0.02)
        assert launch.elevation_deg.value == pytest.approx(elevation, abs=0.5)
