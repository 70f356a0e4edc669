"""A piece of a sweep as a small frozen record with its own seed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from shotwright.base.errors import BadInput

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Chunk(Generic[Item]):
    """One piece of a sweep. Its random draws depend on its number, never on who computes it.

    Parameters
    ----------
    index : int
        Number in the sweep, from 0.
    seed : int
        Seed of the whole sweep.
    item : object
        What to compute; small, and of frozen records, since it travels.
    """

    index: int
    seed: int
    item: Item

    def rng(self) -> np.random.Generator:
        """Return the chunk's own generator: child number `index` of the sweep's seed sequence."""
        return np.random.default_rng(np.random.SeedSequence(self.seed, spawn_key=(self.index,)))


def seeded(items: Sequence[Item], seed: int) -> tuple[Chunk[Item], ...]:
    """Make chunks of items, each with its own stream of random numbers.

    Parameters
    ----------
    items : sequence
        What each chunk computes, in order.
    seed : int
        Seed of the sweep, not negative.

    Returns
    -------
    tuple of Chunk
        Their generators are those of ``SeedSequence(seed).spawn(len(items))``.

    Raises
    ------
    BadInput
        A negative seed.
    """
    if seed < 0:
        raise BadInput(f"{seed} is not a seed; type a whole number of 0 or more", field="seed")
    return tuple(Chunk(index, seed, item) for index, item in enumerate(items))


def counted(done: int, of: int) -> str:
    """Return how far a sweep is, in words."""
    return f"{done} of {of} chunks"
