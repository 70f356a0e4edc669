"""How long work reports itself, and how a person stops it."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Told by long work how far it is; may raise :class:`shotwright.base.errors.Cancelled`."""

    def __call__(self, fraction: float, what: str = "") -> None:
        """Take note of `fraction` done, 0 to 1, and of the step's name."""


def silent(fraction: float, what: str = "") -> None:
    """Progress that nobody watches."""
