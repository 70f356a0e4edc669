"""The process that decodes: one request in, lines of JSON out, within limits of memory and time.

A decoder reads what strangers wrote. Here it can crash, hang or fill its memory, and the program that asked
goes on. ``python -m shotwright.trials.measure.clip_child`` reads one request from standard input.
"""

from __future__ import annotations

import base64
import contextlib
import json
import os
import queue
import sys
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

from shotwright.base.errors import BadInput
from shotwright.trials.measure.clip_decode import Frame, frames_in, load_opencv

_AHEAD = 4  # frames decoded while one is looked at
_NOTE_EVERY = 0.3  # s
_JPEG_QUALITY = 88


def say(what: dict[str, Any]) -> None:
    """Write one line."""
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


def limit_process(memory: int, seconds: int) -> None:
    """Have the system end this process when it takes more; on Windows only the parent's clock does."""
    try:
        import resource
    except ImportError:
        return
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))


def decoded_ahead(frames: Iterator[Frame]) -> Iterator[Frame]:
    """Decode in a thread of its own while the frame before is looked at."""
    line: queue.Queue[Frame | BaseException | None] = queue.Queue(_AHEAD)

    def work() -> None:
        try:
            for frame in frames:
                line.put(frame)
            line.put(None)
        except BaseException as wrong:  # noqa: BLE001 - raised again where the frames are used
            line.put(wrong)

    threading.Thread(target=work, daemon=True).start()
    while (item := line.get()) is not None:
        if isinstance(item, BaseException):
            raise item
        yield item


def _teller() -> Callable[[int, float], None]:
    last = 0.0

    def told(number: int, at: float) -> None:
        nonlocal last
        now = time.monotonic()
        if now - last > _NOTE_EVERY:
            last = now
            say({"frame": number, "time": at})

    return told


def find(request: dict[str, Any]) -> None:
    """Look for what could be a ball in every frame."""
    from shotwright.trials.measure.clip_blobs import candidates_in

    cv2 = load_opencv()
    cv2.setNumThreads(1)  # the decoder has its own threads; more here would only get in its way
    frames = frames_in(
        request["path"], request["name"], request["most_pixels"], request.get("first", 0), request.get("last")
    )
    size: list[int] = []

    def sized() -> Iterator[Frame]:
        for frame in decoded_ahead(frames):
            if not size:
                size.extend((frame.picture.shape[1], frame.picture.shape[0]))
            if frame.number >= request["most_frames"]:
                raise BadInput(
                    f"{request['name']}: has more than {request['most_frames']} frames; cut it, or name them",
                    field="clip",
                )
            yield frame

    times: list[tuple[int, float]] = []
    found: list[list[float]] = []
    for number, at, candidates in candidates_in(cv2, sized(), _teller()):
        times.append((number, round(at, 7)))
        found.extend([number, *(round(v, 4) for v in one[1:])] for one in candidates)
    say({"result": {"width": size[0], "height": size[1], "times": times, "candidates": found}})


def pictures(request: dict[str, Any]) -> None:
    """Hand out frames as JPEG, whole or the part around a point, made smaller when asked."""
    cv2 = load_opencv()
    wanted = sorted(set(request["frames"]))
    told = _teller()
    for frame in frames_in(request["path"], request["name"], request["most_pixels"], 0, wanted[-1]):
        told(frame.number, frame.time)
        if frame.number not in wanted:
            continue
        picture, high, wide = frame.picture, *frame.picture.shape[:2]
        width = min(request.get("width") or wide, wide)
        if width < wide:
            size = (width, max(1, round(high * width / wide)))
            picture = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
        good, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
        if good:
            text = base64.b64encode(data.tobytes()).decode()
            say(
                {
                    "picture": {
                        "frame": frame.number,
                        "time": frame.time,
                        "jpeg": text,
                        "width": wide,
                        "height": high,
                    }
                }
            )
    say({"result": {}})


def patches(request: dict[str, Any]) -> None:
    """Hand out small grey parts of frames around given centres: for what is painted on the ball."""
    import numpy as np

    spots = {int(k): (x, y) for k, x, y in request["spots"]}
    half, told = int(request["half"]), _teller()
    first, last = min(spots), max(spots)
    found = []
    for frame in frames_in(request["path"], request["name"], request["most_pixels"], first, last):
        told(frame.number, frame.time)
        if frame.number not in spots:
            continue
        x, y = spots[frame.number]
        left, top = round(x) - half, round(y) - half
        part = frame.picture[max(top, 0) : top + 2 * half + 1, max(left, 0) : left + 2 * half + 1]
        if part.shape[:2] == (2 * half + 1, 2 * half + 1):
            grey = part.astype(np.float32).mean(axis=2)
            found.append([frame.number, left, top, np.round(grey, 1).tolist()])
    say({"result": {"patches": found}})


def board(request: dict[str, Any]) -> None:
    """Find a chessboard's inner corners in frames spread over the clip, and the lens that bends them so."""
    from shotwright.trials.measure.lens_board import lens_from_frames

    say({"result": lens_from_frames(request, _teller())})


WORK: dict[str, Callable[[dict[str, Any]], None]] = {
    "find": find,
    "pictures": pictures,
    "patches": patches,
    "board": board,
}


def main() -> int:
    """Read one request, do it, answer."""
    request = json.load(sys.stdin)
    # what the decoder's own libraries write goes nowhere
    with open(os.devnull, "w") as nowhere:  # noqa: PTH123 - os.devnull is no path of ours
        os.dup2(nowhere.fileno(), 2)
    try:
        load_opencv()  # our own libraries come before the limit: it is meant for the clip
        limit_process(int(request["memory"]), int(request["seconds"]))
        WORK[request["work"]](request)
    except BadInput as bad:
        say({"problem": bad.problem})
    except MemoryError:
        say({"problem": f"{request['name']}: takes more memory than a clip may; film with fewer pixels"})
    except Exception as reason:  # noqa: BLE001 - whatever a decoder throws at a damaged file ends in one line
        kind = type(reason).__name__
        if "Insufficient memory" in str(reason) or "bad allocation" in str(reason):
            say({"problem": f"{request['name']}: takes more memory than a clip may; film with fewer pixels"})
        else:
            say({"problem": f"{request['name']}: can't be decoded ({kind}); copy the clip again"})
    return 0


if __name__ == "__main__":
    code = main()
    sys.stdout.flush()
    os._exit(code)  # a decoder's thread that hangs must not keep the process
