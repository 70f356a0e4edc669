"""The kinds of files that a project keeps whole, as the crew wrote them: one text for each kind.

A new kind takes one entry here. Its text is read and checked on the way in, stands in the journal, and is a
file of that name in the exported folder.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shotwright.build.orders import orders_from_text
from shotwright.match.reading import match_from_text
from shotwright.robot.reading import SECTIONS, robot_from_text


@dataclass(frozen=True, slots=True)
class CrewFile:
    """One kind of file.

    Parameters
    ----------
    file_name : str
        In the exported folder.
    what : str
        How messages and the journal name it.
    marks : tuple of str
        Top-level sections that tell such a file from others.
    check : callable
        Takes text and file name; raises BadInput for a text that is none.
    """

    file_name: str
    what: str
    marks: tuple[str, ...]
    check: Callable[[str, str], object]


CREW_FILES: dict[str, CrewFile] = {
    "match": CrewFile("match.toml", "match plans", ("plan",), match_from_text),
    "parts": CrewFile("parts.toml", "parts", ("part",), orders_from_text),
    "robot": CrewFile("robot.toml", "robot", SECTIONS, robot_from_text),
}


def kind_of(sections: Mapping[str, object]) -> str | None:
    """Return the kind of a parsed TOML file, by the first mark that it holds; None for any other."""
    for kind, one in CREW_FILES.items():
        if any(mark in sections for mark in one.marks):
            return kind
    return None
