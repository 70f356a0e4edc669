"""What the notebook prints of a part."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.build.outline import Drawing as Sheet


@dataclass(frozen=True, slots=True, eq=False)
class PartPage:
    """A part that the crew keeps.

    Parameters
    ----------
    name, kind : str
        What the crew calls it, and what it is, in words.
    date : str
        When it was kept.
    typed : tuple of (str, str)
        What was typed for it: field and value.
    rows : tuple of (str, str)
        Its figures.
    sheets : tuple of Drawing
        Its drawings.
    torque : tuple of (float, float)
        Turn [deg] and torque [N m].
    others : tuple of (str, tuple)
        The same of other ways: name and curve.
    words, cautions : tuple of str
        What to know, what can hurt.
    problem : str
        Why it could not be made again; "" when it was.
    """

    name: str
    kind: str
    date: str
    typed: tuple[tuple[str, str], ...] = ()
    rows: tuple[tuple[str, str], ...] = ()
    sheets: tuple[Sheet, ...] = ()
    torque: tuple[tuple[float, float], ...] = ()
    others: tuple[tuple[str, tuple[tuple[float, float], ...]], ...] = ()
    words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    problem: str = ""
