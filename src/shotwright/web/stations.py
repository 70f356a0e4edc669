"""What a page is called and asks."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Station:
    """A page on the way from rule book to robot.

    Parameters
    ----------
    path : str
        Where it stands.
    name : str
        On the strip of pages.
    asks : str
        The question that it answers.
    """

    path: str
    name: str
    asks: str
