"""Clips from a phone: checked, then decoded by a process of its own within limits of time and memory."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.trials.measure.clip_boxes import ClipHead, read_head
from shotwright.trials.measure.clip_decode import NOT_INSTALLED, too_many_pixels

FloatArray = NDArray[np.float64]

_READ_AT_ONCE = 1 << 20


@dataclass(frozen=True, slots=True)
class ClipLimits:
    """How much of everything a clip may take.

    Parameters
    ----------
    most_bytes : int
        Of the file.
    most_seconds : float
        Length of the clip. [s]
    most_pixels : int
        Of one frame; 4K video has 8.8 million at most.
    most_frames : int
        In one go.
    memory : int
        Of the process that decodes. [bytes]
    work_seconds : float
        Of that process's clock. [s]
    stall_seconds : float
        Without a frame. [s]
    """

    most_bytes: int = 4_000_000_000
    most_seconds: float = 900.0
    most_pixels: int = 9_500_000
    most_frames: int = 150_000
    memory: int = 4_000_000_000
    work_seconds: float = 1800.0
    stall_seconds: float = 15.0


@dataclass(frozen=True, slots=True)
class Clip:
    """A clip that can be decoded.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        How messages name it.
    sha256 : str
        Of the file.
    head : ClipHead
        What its index says.
    limits : ClipLimits
        What it may take.
    """

    path: Path
    name: str
    sha256: str
    head: ClipHead
    limits: ClipLimits = field(default_factory=ClipLimits)


@dataclass(frozen=True, slots=True)
class Found:
    """What was found in a clip's frames.

    Parameters
    ----------
    width, height : int
        Of a frame, upright. [px]
    frames : ndarray of int, shape (k,)
        Numbers of the frames that were looked at.
    times : ndarray, shape (k,)
        Their times. [s]
    candidates : ndarray, shape (m, 9)
        Frame, x, y, radius, length [px], direction [rad], fit, contrast, likeness to a shadow; see
        `clip_blobs`.
    """

    width: int
    height: int
    frames: NDArray[np.int64]
    times: FloatArray
    candidates: FloatArray


def open_clip(path: Path, name: str = "", limits: ClipLimits | None = None) -> Clip:
    """Check a clip and name it by its content; nothing is decoded yet.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        How messages name it; its file name by default.
    limits : ClipLimits, optional
        What it may take.

    Returns
    -------
    Clip
        Ready to be decoded.

    Raises
    ------
    BadInput
        OpenCV is not installed, or the file is no clip, cut off, too long or too large.
    """
    limits = limits or ClipLimits()
    name = name or path.name
    if find_spec("cv2") is None:
        raise BadInput(NOT_INSTALLED, field="clip")
    if not path.is_file():
        raise BadInput(f"{name}: there is no such file", field="clip")
    size = path.stat().st_size
    if size > limits.most_bytes:
        raise BadInput(
            f"{name}: has {size / 1e9:.1f} GB, at most {limits.most_bytes / 1e9:.1f} are read; cut it",
            field="clip",
        )
    head = read_head(path, name)
    if head.width * head.height > limits.most_pixels:
        raise BadInput(too_many_pixels(name, head.width, head.height, limits.most_pixels), field="clip")
    if head.seconds > limits.most_seconds:
        raise BadInput(
            f"{name}: lasts {head.seconds:.0f} s, at most {limits.most_seconds:.0f} are read; cut it",
            field="clip",
        )
    return Clip(path, name, _sha256(path), head, limits)


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while part := file.read(_READ_AT_ONCE):
            digest.update(part)
    return digest.hexdigest()


def find_in(clip: Clip, first: int = 0, last: int | None = None, progress: Progress = silent) -> Found:
    """Look for what could be a ball in a clip's frames.

    Parameters
    ----------
    clip : Clip
        The clip.
    first, last : int, optional
        Only these frames, counted from 0.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Found
        Times and candidates.

    Raises
    ------
    BadInput
        The clip can't be decoded within its limits.
    """
    result: dict[str, Any] = {}
    for line in _child(clip, {"work": "find", "first": first, "last": last}):
        if "frame" in line:
            whole = last or clip.head.frames or 1
            progress(min((line["frame"] - first) / max(whole - first, 1), 1.0), "looking for the ball")
        result = line.get("result", result)
    times = np.array(result["times"], dtype=float).reshape(-1, 2)
    candidates = np.array(result["candidates"], dtype=float).reshape(-1, 9)
    return Found(result["width"], result["height"], times[:, 0].astype(np.int64), times[:, 1], candidates)


@dataclass(frozen=True, slots=True)
class Picture:
    """One frame as JPEG.

    Parameters
    ----------
    frame : int
        Its number.
    time : float
        [s]
    jpeg : bytes
        The picture.
    width, height : int
        Of the frame in the clip, whatever the picture's size. [px]
    """

    frame: int
    time: float
    jpeg: bytes
    width: int
    height: int


def pictures_of(clip: Clip, frames: Sequence[int], width: int | None = None) -> Iterator[Picture]:
    """Hand out frames as JPEG.

    Parameters
    ----------
    clip : Clip
        The clip.
    frames : sequence of int
        Which, counted from 0.
    width : int, optional
        Made smaller to this. [px]

    Yields
    ------
    Picture
        By rising number; frames beyond the clip's end are left out.
    """
    if not frames:
        return
    for line in _child(clip, {"work": "pictures", "frames": [int(k) for k in frames], "width": width}):
        if "picture" in line:
            one = line["picture"]
            data = base64.b64decode(one["jpeg"])
            yield Picture(one["frame"], one["time"], data, one["width"], one["height"])


def patches_of(
    clip: Clip, spots: Sequence[tuple[int, float, float]], half: int
) -> list[tuple[int, int, int, FloatArray]]:
    """Cut small grey squares out of frames.

    Parameters
    ----------
    clip : Clip
        The clip.
    spots : sequence of (frame, x, y)
        Where. [px]
    half : int
        Half a square's side. [px]

    Returns
    -------
    list of (frame, left, top, ndarray)
        Those that lie within their frame.
    """
    result: dict[str, Any] = {"patches": []}
    request = {"work": "patches", "spots": [list(map(float, spot)) for spot in spots], "half": half}
    for line in _child(clip, request):
        result = line.get("result", result)
    return [(int(k), int(x), int(y), np.array(part, dtype=float)) for k, x, y, part in result["patches"]]


def work_on(clip: Clip, request: dict[str, Any], progress: Progress = silent) -> dict[str, Any]:
    """Have the child do some other work on a clip and return its result.

    Parameters
    ----------
    clip : Clip
        The clip.
    request : dict
        ``work`` and what it needs.
    progress : Progress
        Told how far it is.

    Returns
    -------
    dict
        Plain data.
    """
    result: dict[str, Any] = {}
    for line in _child(clip, request):
        if "frame" in line and clip.head.frames:
            progress(min(line["frame"] / clip.head.frames, 1.0), "looking at the clip")
        result = line.get("result", result)
    return result


def _child(clip: Clip, request: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Start the child, hand it the request, yield its lines; end it when it stalls or takes too long."""
    limits = clip.limits
    whole = {
        "path": str(clip.path.resolve()),
        "name": clip.name,
        "most_pixels": limits.most_pixels,
        "most_frames": limits.most_frames,
        "memory": limits.memory,
        "seconds": int(2 * limits.work_seconds) + 1,
        **request,
    }
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    environment.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1", MKL_NUM_THREADS="1")
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", "shotwright.trials.measure.clip_child"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=environment,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    lines: queue.Queue[bytes | None] = queue.Queue()
    reader = threading.Thread(target=_read_lines, args=(process.stdout, lines), daemon=True)
    reader.start()
    try:
        process.stdin.write(json.dumps(whole).encode())
        process.stdin.close()
        yield from _answers(clip, lines)
    finally:
        process.kill()
        process.wait()
        reader.join()
        process.stdout.close()


def _read_lines(stream: IO[bytes], lines: queue.Queue[bytes | None]) -> None:
    for line in stream:
        lines.put(line)
    lines.put(None)


def _answers(clip: Clip, lines: queue.Queue[bytes | None]) -> Iterator[dict[str, Any]]:
    limits, begin = clip.limits, time.monotonic()
    while True:
        try:
            line = lines.get(timeout=limits.stall_seconds)
        except queue.Empty:
            raise BadInput(
                f"{clip.name}: no frame came for {limits.stall_seconds:.0f} s, it is damaged; copy it again",
                field="clip",
            ) from None
        if time.monotonic() - begin > limits.work_seconds:
            raise BadInput(
                f"{clip.name}: takes longer than {limits.work_seconds:.0f} s; name the frames, or cut it",
                field="clip",
            )
        if line is None:
            raise BadInput(
                f"{clip.name}: the decoder gave up on it, it is damaged or too large; copy it again or film "
                "with fewer pixels",
                field="clip",
            )
        answer = json.loads(line)
        if "problem" in answer:
            raise BadInput(answer["problem"], field="clip")
        yield answer
        if "result" in answer:
            return
