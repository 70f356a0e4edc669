"""What an MP4 or MOV file says of itself, read from its boxes without decoding a frame.

A file of this kind is a list of boxes, each with its length and a name of four letters. The box ``moov`` is
the index: tracks, their codec, size and frame times. Reading it first gives a broken file its own words, in
milliseconds and without a decoder.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from shotwright.base.errors import BadInput

MOST_INDEX = 64_000_000  # bytes; ten minutes at 240 frames a second need about five million
MOST_BOXES = 4_000
_FIRST = {b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"}
_HOLDERS = {b"moov", b"trak", b"mdia", b"minf", b"stbl", b"edts"}
_CODECS = {
    "avc1": "H.264", "avc3": "H.264", "hvc1": "HEVC", "hev1": "HEVC", "mp4v": "MPEG-4", "av01": "AV1",
    "vp09": "VP9", "apch": "ProRes", "apcn": "ProRes", "jpeg": "JPEG", "mjpa": "JPEG",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ClipHead:
    """The index of a clip.

    Parameters
    ----------
    codec : str
        The trade's name, or the four letters of one that we don't know.
    width, height : int
        As stored, before the clip is turned. [px]
    frames : int
        As the index counts them; 0 in a file written in pieces, which has no count.
    seconds : float
        Sum of the frames' durations. [s]
    even : bool
        Whether all frames but the last last equally long.
    """

    codec: str
    width: int
    height: int
    frames: int
    seconds: float
    even: bool


def read_head(path: Path, name: str) -> ClipHead:
    """Read the index of an MP4 or MOV file.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        How messages name it.

    Returns
    -------
    ClipHead
        Of its first picture track.

    Raises
    ------
    BadInput
        No such file, another kind of file, cut off, without pictures, or without a frame.
    """
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            index = _index(file, size, name)
    except OSError as reason:
        raise BadInput(f"{name}: can't be read ({reason.strerror})", field="clip") from None
    try:
        tracks = _tracks(index)
    except (struct.error, IndexError, ValueError):
        raise BadInput(f"{name}: its index is damaged; copy the clip again", field="clip") from None
    pictures = [track for track in tracks if track.get("kind") == b"vide"]
    if not pictures:
        kinds = "only sound" if any(t.get("kind") == b"soun" for t in tracks) else "no pictures"
        raise BadInput(f"{name}: holds {kinds}; film the shot with the camera on", field="clip")
    head = _head(pictures[0])
    in_pieces = any(kind == b"mvex" for kind, _ in _boxes(index))  # then the pieces hold the counts
    if not in_pieces and (head.frames == 0 or head.seconds <= 0):
        raise BadInput(f"{name}: holds no frame; film it again", field="clip")
    return head


def _index(file: BinaryIO, size: int, name: str) -> bytes:
    """Bytes of the box moov."""
    if size == 0:
        raise BadInput(f"{name}: is empty; copy the clip again", field="clip")
    at, first = 0, True
    for _ in range(MOST_BOXES):
        file.seek(at)
        start = file.read(16)
        if len(start) < 8:
            break
        length, kind = struct.unpack(">I4s", start[:8])
        skip = 8
        if length == 1 and len(start) == 16:
            length, skip = struct.unpack(">Q", start[8:])[0], 16
        elif length == 0:
            length = size - at
        if first and kind not in _FIRST:
            raise BadInput(
                f"{name}: is no MP4 or MOV clip, whatever its name says; send the phone's own file",
                field="clip",
            )
        first = False
        if length < skip:
            raise BadInput(f"{name}: is damaged at byte {at}; copy the clip again", field="clip")
        if kind == b"moov":
            if length > MOST_INDEX:
                raise BadInput(f"{name}: its index is larger than any phone's; is it a clip?", field="clip")
            body = file.read(0) if at + length > size else _body(file, at + skip, length - skip)
            if not body:
                break
            return body
        at += length
    raise BadInput(
        f"{name}: was cut off, its index is missing; stop filming before copying, and copy it again",
        field="clip",
    )


def _body(file: BinaryIO, at: int, length: int) -> bytes:
    file.seek(at)
    return file.read(length)


def _boxes(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = 0
    while at + 8 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        skip = 8
        if length == 1:
            length, skip = struct.unpack_from(">Q", data, at + 8)[0], 16
        elif length == 0:
            length = len(data) - at
        if length < skip or at + length > len(data):
            raise ValueError("a box is longer than what holds it")
        yield kind, data[at + skip : at + length]
        at += length


def _tracks(index: bytes) -> list[dict[str, bytes]]:
    tracks = []
    for kind, body in _boxes(index):
        if kind == b"trak":
            parts: dict[str, bytes] = {}
            _collect(body, parts, 0)
            tracks.append(parts)
    return tracks


def _collect(data: bytes, parts: dict[str, bytes], depth: int) -> None:
    for kind, body in _boxes(data):
        if kind in _HOLDERS and depth < 8:
            _collect(body, parts, depth + 1)
        elif kind == b"hdlr" and "kind" not in parts:
            parts["kind"] = body[8:12]
        elif kind in (b"mdhd", b"stsd", b"stts"):
            parts.setdefault(kind.decode(), body)


def _head(track: dict[str, bytes]) -> ClipHead:
    try:
        clock = struct.unpack_from(">I", track["mdhd"], 20 if track["mdhd"][0] == 1 else 12)[0]
        entry = track["stsd"][8:]
        letters = entry[4:8].decode("latin-1")
        width, height = struct.unpack_from(">HH", entry, 32)
        count = struct.unpack_from(">I", track["stts"], 4)[0]
        runs = [struct.unpack_from(">II", track["stts"], 8 + 8 * k) for k in range(count)]
    except (KeyError, struct.error, IndexError):
        return ClipHead("", 0, 0, 0, 0.0, True)
    frames = sum(n for n, _ in runs)
    ticks = sum(n * span for n, span in runs)
    spans = {span for n, span in runs[:-1]} | ({runs[-1][1]} if runs and runs[-1][0] > 1 else set())
    even = not spans or max(spans) - min(spans) <= 1
    return ClipHead(
        _CODECS.get(letters, letters), width, height, frames, ticks / clock if clock else 0.0, even
    )
