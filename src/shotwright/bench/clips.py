"""Clips kept beside the project: taken in, shown frame by frame, searched once, measured at will."""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.bench.results import ShotList
from shotwright.bench.video_entry import enter_video
from shotwright.bench.video_results import VideoResult
from shotwright.bench.video_scale import TypedScale, tap_sd_for
from shotwright.bench.videos import TypedVideo, ball_on_film, measure_video
from shotwright.trials.measure.clip import ClipLimits, Found, find_in, open_clip, pictures_of

MOST_BYTES = 500_000_000
LIMITS = ClipLimits(most_bytes=MOST_BYTES, most_seconds=120.0, most_frames=30_000, work_seconds=900.0)
SHOWN_WIDTH = 960  # px; wide enough to tap on
_BLOCK = 24  # frames decoded at once for whoever scrubs
_TAP = 1.5 / 1600  # share of the width: a fingertip on a phone's screen, as for photos
_NAME = re.compile(r"[0-9a-f]{64}")
_READ_AT_ONCE = 1 << 20


@dataclass(frozen=True, slots=True)
class KeptClip(Result):
    """A clip beside the project.

    Parameters
    ----------
    name : str
        SHA-256 of the file.
    file : str
        What it was called.
    codec : str
        How it is compressed.
    frames : int
        As its index counts them.
    seconds : float
        How long it lasts.
    """

    name: str
    file: str
    codec: str
    frames: int
    seconds: float


@dataclass(frozen=True, slots=True)
class SearchedClip(Result):
    """A clip whose frames were looked at.

    Parameters
    ----------
    name : str
        SHA-256 of the file.
    width, height : int
        Of a frame, upright. [px]
    frames : int
        Looked at.
    times_s : tuple of float
        Of each.
    """

    name: str
    width: int
    height: int
    frames: int
    times_s: tuple[float, ...]


def clip_folder(project: Path) -> Path:
    """Return the folder beside a project file that keeps its clips."""
    return project.with_name(f"{project.name}.clips")


def keep_clip(project: Path, data: BinaryIO, name: str) -> KeptClip:
    """Keep a clip beside the project, as it came.

    Parameters
    ----------
    project : Path
        The project file.
    data : binary file
        The clip.
    name : str
        Its name, for messages.

    Returns
    -------
    KeptClip
        By what name it is asked for.

    Raises
    ------
    BadInput
        It is no clip, or one that takes too much; nothing is kept.
    """
    folder = clip_folder(project)
    there_before = folder.exists()
    folder.mkdir(exist_ok=True)
    fresh = folder / f".{abs(hash((name, id(data))))}.new"
    try:
        with fresh.open("wb") as file:
            shutil.copyfileobj(data, file, _READ_AT_ONCE)
        clip = open_clip(fresh, name, LIMITS)
        fresh.replace(folder / f"{clip.sha256}.clip")
    except BadInput:
        fresh.unlink(missing_ok=True)
        if not there_before:
            folder.rmdir()
        raise
    return KeptClip(clip.sha256, name, clip.head.codec, clip.head.frames, clip.head.seconds)


def clip_file(project: Path, name: str) -> Path:
    """Return the file of a clip that was kept.

    Raises
    ------
    BadInput
        No such clip.
    """
    file = clip_folder(project) / f"{name}.clip"
    if not _NAME.fullmatch(name) or not file.is_file():
        raise BadInput("this clip is not beside the project any more; send it again", field="clip")
    return file


def search_clip(project: Path, name: str, progress: Progress = silent) -> SearchedClip:
    """Look for the ball in a kept clip's frames, once.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Which clip.
    progress : Progress
        Told how far it is.

    Returns
    -------
    SearchedClip
        Size and times of its frames.
    """
    file = clip_file(project, name)
    found = _searched(file)
    if found is None:
        found = find_in(open_clip(file, "the clip", LIMITS), progress=progress)
        fresh = file.with_suffix(".new.npz")
        np.savez_compressed(
            fresh,
            size=np.array([found.width, found.height]),
            frames=found.frames,
            times=found.times,
            candidates=found.candidates,
        )
        fresh.replace(file.with_suffix(".npz"))
    return SearchedClip(name, found.width, found.height, len(found.frames), tuple(found.times.tolist()))


def _searched(file: Path) -> Found | None:
    held = file.with_suffix(".npz")
    if not held.is_file():
        return None
    with np.load(held, allow_pickle=False) as table:
        width, height = table["size"].tolist()
        return Found(width, height, table["frames"], table["times"], table["candidates"])


def clip_frame(project: Path, name: str, frame: int) -> Path:
    """Return the JPEG of one frame; its neighbours are decoded with it.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Which clip.
    frame : int
        Counted from 0.

    Returns
    -------
    Path
        A JPEG file, at most `SHOWN_WIDTH` wide.

    Raises
    ------
    BadInput
        No such clip or frame.
    """
    file = clip_file(project, name)
    if not 0 <= frame < LIMITS.most_frames:
        raise BadInput(f"the clip has no frame {frame}", field="frame")
    folder = file.with_suffix(".frames")
    wanted = folder / f"{frame}.jpg"
    if wanted.is_file():
        return wanted
    folder.mkdir(exist_ok=True)
    start = frame // _BLOCK * _BLOCK
    for one in pictures_of(open_clip(file, "the clip", LIMITS), range(start, start + _BLOCK), SHOWN_WIDTH):
        fresh = folder / f".{one.frame}.new"
        fresh.write_bytes(one.jpeg)
        fresh.replace(folder / f"{one.frame}.jpg")
    if not wanted.is_file():
        raise BadInput(f"the clip has no frame {frame}", field="frame")
    return wanted


def measure_clip(
    project: Path,
    name: str,
    scale: TypedScale,
    typed: TypedVideo,
    file_name: str,
    picture_width: float = 640.0,
) -> VideoResult:
    """Measure the shots on a kept clip from taps and what was typed.

    Parameters
    ----------
    project : Path
        The project file; its game gives ball and air.
    name : str
        Which clip; its frames were searched.
    scale : TypedScale
        Scale and vertical; the error of a tap is filled in.
    typed : TypedVideo
        What else is known.
    file_name : str
        What the clip was called.
    picture_width : float
        Of the residuals' picture. [px]

    Returns
    -------
    VideoResult
        Each shot's launch.

    Raises
    ------
    BadInput
        The clip was not searched yet, or something typed can't be read.
    """
    file = clip_file(project, name)
    found = _searched(file)
    if found is None:
        raise BadInput("the clip's frames were not looked at yet; send it again", field="clip")
    tapped = TypedScale(
        marks=scale.marks,
        distance=scale.distance,
        plumb=scale.plumb,
        points=scale.points,
        vertical=scale.vertical,
        tap_sd=tap_sd_for(found.width, _TAP),
    )
    model = ball_on_film(project)
    return measure_video(file, model, tapped, typed, name=file_name, found=found, picture_width=picture_width)


def accept_clip(
    project: Path, trial: str, result: VideoResult, only: int, shot: int | None = None
) -> ShotList:
    """Enter one shot of a measured clip into a trial.

    Parameters
    ----------
    project : Path
        The project file.
    trial : str
        Name of the trial.
    result : VideoResult
        What the clip shows.
    only : int
        Which shot of the clip.
    shot : int, optional
        Its number in the trial; a new shot by default.

    Returns
    -------
    ShotList
        The shot as it is now.
    """
    return enter_video(project, trial, result, shot=shot, only=(only,), replace=True)
