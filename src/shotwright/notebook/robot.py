"""What the notebook prints of the robot around the launcher."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shotwright.notebook.blocks import Table
from shotwright.notebook.drawing import Drawing


@dataclass(frozen=True, slots=True, eq=False)
class RobotPage:
    """One part of the robot.

    Parameters
    ----------
    key : str
        Unique among them; letters and hyphens.
    title : str
        ``"Drive base"``.
    words, cautions : tuple of str
        What was found, what can hurt.
    tables : tuple of Table
        Its figures.
    caption : str
        Of the picture.
    draw : callable, optional
        Takes a unique key and a width [px], gives the drawing.
    problem : str
        Why it could not be worked out; "" when it was.
    """

    key: str
    title: str
    words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    caption: str = ""
    draw: Callable[[str, float], Drawing] | None = None
    problem: str = ""
