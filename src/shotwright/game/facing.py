"""The key ``faces`` of a game file: where the front of something flat looks."""

from __future__ import annotations

import math

from shotwright.base.toml_tables import Section
from shotwright.game.ball_and_air import AZIMUTHS, read_azimuth

_UP_DOWN = {"up": math.pi / 2, "down": -math.pi / 2}
_FACES = '"-x", "up", an azimuth such as "180 deg", or { azimuth = "180 deg", elevation = "30 deg" }'


def read_faces(section: Section, front: str) -> tuple[float, float]:
    """Read ``faces``: azimuth and elevation of the normal out of the front.

    Parameters
    ----------
    section : Section
        The table; problems are added to it.
    front : str
        What the front is, for the message when the key is missing.

    Returns
    -------
    tuple of float
        NaN after a problem. [rad]
    """
    value = section.raw("faces")
    if isinstance(value, dict):
        inner = Section(value, f"{section.place}, faces", section.file, section.problems)
        azimuth = read_azimuth(inner, "azimuth")
        elevation = inner.quantity(
            "elevation",
            "angle",
            "30 deg",
            0.0,
            least=-math.pi / 2,
            most=math.pi / 2,
            allowed="between -90 and 90 deg",
        )
        inner.finish()
        return azimuth, elevation
    word = value.strip().lower() if isinstance(value, str) else ""
    if word in _UP_DOWN:
        return 0.0, _UP_DOWN[word]
    if word in AZIMUTHS:
        return AZIMUTHS[word], 0.0
    if value is None:
        section.problem(f"is missing: {front}; {_FACES}", "faces")
        return math.nan, math.nan
    if word and not any(letter.isdigit() for letter in word):
        section.problem(f"{value!r} is not a direction; {_FACES}", "faces")
        return math.nan, math.nan
    return section.parse("faces", value, "angle"), 0.0
