"""What the notebook prints of a drive."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.notebook.blocks import Block


@dataclass(frozen=True, slots=True, eq=False)
class DrivePage:
    """A drive that the project keeps.

    Parameters
    ----------
    name : str
        What the crew calls it.
    blocks : tuple of Block
        Motors, match, pick, maps; made by the caller.
    cautions : tuple of str
        What can hurt.
    """

    name: str
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...] = ()
