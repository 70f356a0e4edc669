"""A phone's lens from a filmed chessboard, and single frames to read pixels from."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.trials.measure.clip import open_clip, pictures_of, work_on
from shotwright.trials.measure.lens import Lens


@dataclass(frozen=True, slots=True)
class LensFile(Result):
    """A lens measured on a filmed board.

    Parameters
    ----------
    file : str
        Where it was written.
    lens : Lens
        What was found.
    views : int
        Views of the board that were used.
    words : tuple of str
        In sentences.
    """

    file: str
    lens: Lens
    views: int
    words: tuple[str, ...]


def measure_lens(file: Path, columns: int, rows: int, to: Path, progress: Progress = silent) -> LensFile:
    """Measure a phone's lens on a clip of a chessboard.

    Parameters
    ----------
    file : Path
        The clip.
    columns, rows : int
        Inner corners of the board.
    to : Path
        The lens file to write.
    progress : Progress
        Told how far it is.

    Returns
    -------
    LensFile
        The lens.

    Raises
    ------
    BadInput
        The clip can't be used or the board is not seen often enough.
    """
    if not (3 <= columns <= 40 and 3 <= rows <= 40):
        raise BadInput("a board has 3 to 40 inner corners each way", field="board")
    clip = open_clip(file)
    every = max(1, clip.head.frames // 60)
    held = work_on(clip, {"work": "board", "columns": columns, "rows": rows, "every": every}, progress)
    views = int(held.pop("views"))
    lens = Lens(**held)
    corner = np.array([[0.0, 0.0]])
    bend = float(np.hypot(*(lens.straight(corner) - corner)[0]))
    try:
        to.write_text(json.dumps(lens.to_dict(), indent=2) + "\n", encoding="utf-8")
    except OSError as reason:
        raise BadInput(f"can't be written ({reason.strerror})", file=str(to)) from None
    words = (
        f"{views} views; the corners are met to {lens.error_px:.2f} px.",
        f"The lens moves the picture's corner by {bend:.0f} px.",
    )
    return LensFile(str(to), lens, views, words)


def write_still(file: Path, frame: int, to: Path) -> None:
    """Write one frame of a clip as JPEG, to read pixels from.

    Parameters
    ----------
    file : Path
        The clip.
    frame : int
        Counted from 0.
    to : Path
        The JPEG file.

    Raises
    ------
    BadInput
        No such frame, or the file can't be written.
    """
    shown = list(pictures_of(open_clip(file), [frame]))
    if not shown:
        raise BadInput(f"the clip has no frame {frame}", field="still")
    try:
        to.write_bytes(shown[0].jpeg)
    except OSError as reason:
        raise BadInput(f"can't be written ({reason.strerror})", file=str(to)) from None
