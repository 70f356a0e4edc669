"""How often the 95 % intervals of a launch measured on video hold the truth.

    python benchmarks/video_coverage.py [tracks] [films]

Tracks: centres of a simulated flight with normal errors, fitted with taps that err too; drag, spin, speed and
elevation are drawn from wide ranges, drag's logarithm with 0.25 and S with 0 to 0.35. Films: the same from
compressed clips of 60 frames a second at 640 x 360, so that errors of shade, background and codec are in.
"""

from __future__ import annotations

import dataclasses
import math
import sys
import tempfile
from pathlib import Path

import cv2
import numpy as np
from scipy.special import stdtrit

from shotwright.base.errors import NoAnswer
from shotwright.bench.videos import ball_on_film
from shotwright.trials.measure.ball_tracks import Track, TrackPoint, tracks_in
from shotwright.trials.measure.clip import find_in, open_clip
from shotwright.trials.measure.flight_fit import ELEVATION, SPEED, fit_flight
from shotwright.trials.measure.flight_plane import plane_by_length, vertical_by_line
from shotwright.trials.measure.launch_on_film import measure_launch
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, even_times, frames_of, places_of

TAP = 0.7
NOISE = 0.3


def drawn(rng, model):
    """A ball of its own drag, and a shot."""
    real = dataclasses.replace(model, drag=model.drag._replace(scale=math.exp(rng.normal(0, 0.25))))
    v = rng.uniform(5.5, 7.5)
    spin = rng.uniform(0, 0.35) * v / model.radius
    return real, FilmedShot(0.25, v, math.radians(rng.uniform(40, 62)), spin=spin, z=0.7)


def plane_of(camera, rng):
    pixels, _ = camera.pixels(np.array([[0.4, 0, 2.2], [3.9, 0, 2.2], [2.5, 0, 1.0], [2.5, 0, 3.0]]))
    a, b, low, top = map(tuple, (pixels + rng.normal(0, TAP, pixels.shape)).tolist())
    return plane_by_length(a, b, 3.5, vertical_by_line(top, low, TAP), TAP)


def by_track(count, model, rng):
    camera, inside = Camera(), np.zeros(2)
    times = np.arange(60) / 60
    for _ in range(count):
        real, shot = drawn(rng, model)
        shot = dataclasses.replace(shot, start=0.0)
        places = places_of(Film(camera, real, (shot,), times), shot, times)
        there = np.isfinite(places[:, 0])
        pixels, per_metre = camera.pixels(places[there])
        pixels = pixels + rng.normal(0, NOISE, pixels.shape)
        rows = zip(times[there].tolist(), pixels.tolist(), (model.radius * per_metre).tolist(), strict=True)
        points = tuple(TrackPoint(k, t, x, y, r, 0.0, 1.0) for k, (t, (x, y), r) in enumerate(rows))
        fit = fit_flight(Track(points), plane_of(camera, rng), model)
        half = stdtrit(fit.freedom, 0.975) * np.array([fit.sd(SPEED), fit.sd(ELEVATION)])
        inside += np.abs(fit.values[[SPEED, ELEVATION]] - [shot.speed, shot.elevation]) <= half
    return inside / count


def by_film(count, model, rng, folder):
    camera, inside, seen, worst = Camera(width=640, height=360, scale=106.5), np.zeros(2), 0, np.zeros(2)
    for k in range(count):
        real, shot = drawn(rng, model)
        roll = math.radians(rng.uniform(-2, 2))
        film = Film(
            dataclasses.replace(camera, roll=roll), real, (shot,), even_times(60, 1.3), seed=k, noise=2.5
        )
        path = folder / f"{k}.mp4"
        writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), 60, (640, 360))
        for picture in frames_of(film):
            writer.write(picture)
        writer.release()
        found = find_in(open_clip(path))
        path.unlink()
        tracks = tracks_in(found.frames, found.times, found.candidates, diameter=0.15)
        try:
            launch, _ = measure_launch(tracks[0], plane_of(film.camera, rng), model)
        except (NoAnswer, IndexError) as reason:
            print(f"film {k}: {reason}")
            continue
        middle = tracks[0].points[0].time + film.exposure / 2
        places = places_of(film, shot, np.array([middle - 1e-4, middle + 1e-4]))
        vx, _, vz = (places[1] - places[0]) / 2e-4
        truth = (math.hypot(vx, vz), math.degrees(math.atan2(vz, vx)))
        for i, (one, true) in enumerate(zip((launch.speed_m_s, launch.elevation_deg), truth, strict=True)):
            inside[i] += one.low <= true <= one.high
            worst[i] = max(worst[i], abs(one.value - true) / (true / 100 if i == 0 else 1.0))
        seen += 1
    return inside / max(seen, 1), seen, worst


def main() -> None:
    tracks = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    films = int(sys.argv[2]) if len(sys.argv) > 2 else 60
    model = ball_on_film(None, "150 mm", "165 g", "0.48")
    rng = np.random.default_rng(2026)
    speed, elevation = by_track(tracks, model, rng)
    print(f"{tracks} tracks: speed {100 * speed:.1f} %, elevation {100 * elevation:.1f} % inside their 95 %")
    with tempfile.TemporaryDirectory() as folder:
        (speed, elevation), seen, worst = by_film(films, model, rng, Path(folder))
    print(f"{seen} films: speed {100 * speed:.1f} %, elevation {100 * elevation:.1f} % inside their 95 %")
    print(f"worst error: speed {worst[0]:.2f} %, elevation {worst[1]:.3f} deg")


if __name__ == "__main__":
    main()
