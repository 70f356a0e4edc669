"""Write a picture to a file."""

from __future__ import annotations

from pathlib import Path

from shotwright.base.errors import BadInput


def write_picture(svg: str, path: Path) -> None:
    """Write a picture; replaces the file when it is there.

    Raises
    ------
    BadInput
        The file can't be written.
    """
    try:
        path.write_text(svg, encoding="utf-8")
    except OSError as reason:
        raise BadInput(f"can't be written ({reason.strerror})", file=str(path)) from None
