"""The whole way of a clip, from decoding to fitted launches, against decoding alone, and its memory.

    python benchmarks/video_speed.py [clip]

Both are done on the same clip in turns, several times; the ratio of the best times counts. Without a clip of
your own it is a simulated one of 30 s, MPEG-4 at 1280 x 720 and 60 frames a second, a shot every four seconds
and a person who walks. That codec decodes faster than what phones write, H.264 and HEVC: give it such a clip.
Then a clip of ten minutes at 640 x 360 is made by repeating frames, and the most memory is read (Linux only).
"""

from __future__ import annotations

import math
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import cv2
import numpy as np

from shotwright.bench.video_scale import TypedScale
from shotwright.bench.videos import ball_on_film, measure_video
from shotwright.trials.measure.clip import open_clip
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, even_times, frames_of

ROUNDS = 3
RATE = 60
DECODE = """
import sys
from shotwright.trials.measure.clip_decode import frames_in
print(sum(1 for _ in frames_in(sys.argv[1], "clip", 10**7)))
"""


def write(film: Film, path: Path, repeat: int = 1) -> None:
    size = (film.camera.width, film.camera.height)
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), RATE, size)
    pictures = list(frames_of(film)) if repeat > 1 else frames_of(film)
    for _ in range(repeat):
        for picture in pictures:
            writer.write(picture)
    writer.release()


def decode_alone(path: Path) -> tuple[float, int]:
    begin = time.perf_counter()
    out = subprocess.run(
        [sys.executable, "-c", DECODE, str(path)], check=True, capture_output=True, text=True
    )
    return time.perf_counter() - begin, int(out.stdout)


def whole_way(path: Path, model) -> tuple[float, int]:
    begin = time.perf_counter()
    found = measure_video(path, model, TypedScale())
    return time.perf_counter() - begin, sum(not hasattr(shot.launch, "reason") for shot in found.shots)


def main() -> None:
    seconds = 30.0
    model = ball_on_film(None, "150 mm", "165 g", "0.48")
    starts = np.arange(0.5, seconds - 1.5, 4.0)
    shots = tuple(FilmedShot(float(s), 6.8, math.radians(56), spin=15.0) for s in starts)
    with tempfile.TemporaryDirectory() as folder:
        clip = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(folder) / "clip.mp4"
        if len(sys.argv) == 1:
            write(Film(Camera(), model, shots, even_times(RATE, seconds), walker=True, shadow=True), clip)
        alone, whole = [], []
        for _ in range(ROUNDS):
            took, frames = decode_alone(clip)
            alone.append(took)
            took, measured = whole_way(clip, model)
            whole.append(took)
        ratio = min(alone) / min(whole)
        print(f"{open_clip(clip).head.codec}, {frames} frames, {measured} shots measured")
        print(
            f"decoding alone {frames / min(alone):.0f} frames a second, whole way {frames / min(whole):.0f}"
        )
        print(f"whole way at {ratio:.2f} of the frame rate of decoding alone (wanted: 0.50 or more)")
        long = Path(folder) / "long.mp4"
        small = Camera(width=640, height=360, scale=106.5)
        write(Film(small, model, shots[:1], even_times(RATE, 4.0)), long, repeat=round(600 / 4))
        before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
        took, measured = whole_way(long, model)
        most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
        own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(f"ten minutes ({open_clip(long).head.frames} frames): {took:.0f} s, {measured} shots measured")
        print(f"most memory: child {max(most, before) / 1e3:.0f} MB, parent {own / 1e3:.0f} MB")


if __name__ == "__main__":
    main()
