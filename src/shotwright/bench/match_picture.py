"""The points of match plans as a picture."""

from __future__ import annotations

from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.match.results import MatchPlans
from shotwright.notebook.figures.match_points import match_points

_SIDE = 720.0  # px


def match_svg(found: MatchPlans) -> str:
    """Return the points of each plan as an SVG picture."""
    return match_points(found.plans, key="match", width=_SIDE).svg()


def write_match_picture(found: MatchPlans, path: Path) -> None:
    """Write the points of each plan as an SVG picture; replaces the file when it is there.

    Raises
    ------
    BadInput
        The file can't be written.
    """
    try:
        path.write_text(match_svg(found), encoding="utf-8")
    except OSError as reason:
        raise BadInput(f"can't be written ({reason.strerror})", file=str(path)) from None
