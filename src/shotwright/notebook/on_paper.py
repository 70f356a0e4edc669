"""What the notebook prints of a prototype on paper. Predicted, never measured.

Other rooms fill `drawing` and `calibration` with blocks of their own; the rest comes from a prediction.
"""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.estimate import Estimate, Estimated
from shotwright.notebook.blocks import Block


@dataclass(frozen=True, slots=True)
class ShareBar:
    """What one input does to the variance of one output.

    Parameters
    ----------
    input : str
        In words: ``"wheel speed"``.
    alone, in_all : Estimate
        First-order and total index, 0 to 1; their interval is the Monte Carlo error.
    """

    input: str
    alone: Estimate
    in_all: Estimate


@dataclass(frozen=True, slots=True)
class ShareGroup:
    """Shares of the variance of one output.

    Parameters
    ----------
    name : str
        ``"distance, rail to lantern"``.
    bars : tuple of ShareBar
        The largest first.
    """

    name: str
    bars: tuple[ShareBar, ...]


@dataclass(frozen=True, slots=True)
class PaperHit:
    """One firing position.

    Parameters
    ----------
    position, target : str
        Names.
    setting_words, reach_words : str
        Best setting, and over which settings it reaches; empty when out of reach.
    chance : Estimate or NotEstimated
        Predicted hit probability; the interval is the Monte Carlo error.
    along_sd_m, cross_sd_m : float, optional
        Predicted scatter at the opening.
    """

    position: str
    target: str
    setting_words: str
    reach_words: str
    chance: Estimated
    along_sd_m: float | None
    cross_sd_m: float | None


@dataclass(frozen=True, slots=True)
class PaperPage:
    """The page of one prototype on paper.

    Parameters
    ----------
    prototype, kind : str
        Name and mechanism.
    figures : tuple of (str, str)
        Name and value of each figure of the release.
    energies : tuple of (str, float)
        Where the energy of a shot goes. [J]
    hits : tuple of PaperHit
        One for each firing position and target.
    shares : tuple of ShareGroup
        What to fix first.
    share_words, cautions, notes : tuple of str
        In plain sentences.
    drawing : tuple of Block
        The mechanism to scale; before the figures.
    calibration : tuple of Block
        Predicted against measured; after the shares.
    """

    prototype: str
    kind: str
    figures: tuple[tuple[str, str], ...]
    energies: tuple[tuple[str, float], ...]
    hits: tuple[PaperHit, ...]
    shares: tuple[ShareGroup, ...]
    share_words: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    drawing: tuple[Block, ...] = ()
    calibration: tuple[Block, ...] = ()
