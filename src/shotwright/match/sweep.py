"""Matches of several plans and variants with the same chances, in chunks."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.match.case import Chances, MatchCase
from shotwright.match.run import run_plan

FloatArray = NDArray[np.float64]

CHUNK = 500  # matches; so many fit a processor's cache with their chances


@dataclass(frozen=True, slots=True)
class MatchSweep:
    """Runs a chunk of matches of every case; small enough to travel to a worker.

    Parameters
    ----------
    cases : tuple of MatchCase
        Plans and variants.
    seed : int
        Of all chances.
    """

    cases: tuple[MatchCase, ...]
    seed: int

    def __call__(self, chunk: tuple[int, int]) -> FloatArray:
        """Return totals of chunk (number, matches), shape (cases, matches, 14), the same whoever runs it."""
        number, matches = chunk
        first = self.cases[0]
        seed = np.random.SeedSequence(self.seed, spawn_key=(number,))
        chances = Chances(seed, matches, len(first.stay), len(first.depots))
        drawn = chances.drawn(1)
        rows = np.arange(number * CHUNK, number * CHUNK + matches)
        told = np.empty((len(self.cases), matches, 14))
        for k, case in enumerate(self.cases):
            hit = np.atleast_2d(case.hit)
            mine = dataclasses.replace(case, hit=hit[rows % len(hit)])
            told[k] = run_plan(mine, chances, drawn)
        return told

    @staticmethod
    def chunks(matches: int) -> tuple[tuple[int, int], ...]:
        """Cut a number of matches into chunks; always the same ones."""
        starts = range(0, matches, CHUNK)
        return tuple((number, min(CHUNK, matches - at)) for number, at in enumerate(starts))
