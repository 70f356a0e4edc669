"""A comparison of prototypes as records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotwright.base.estimate import Estimated, NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.permutation import PermutationTest
from shotwright.statistics.spread_ratio import SpreadRatio
from shotwright.trials.records import Origin, Surface


@dataclass(frozen=True, slots=True)
class Side(Result):
    """One of the things compared: a trial, or all trials of a prototype pooled.

    Parameters
    ----------
    label : str
        The prototype, with the trial behind it where it has several.
    prototype : str
        Its name.
    trials : tuple of str
        Trials behind it.
    origin : {"measured", "simulated"}
        Simulated as soon as one trial is.
    surface : {"floor", "plane"}
        What was marked.
    first_axis : {"along", "height"}
        Name of the first axis.
    shots, freedom : int
        Shots that count, and degrees of freedom of each axis: shots less trials. [-]
    reach_m, mean_cross_m : Estimate or NotEstimated
        Mean point of impact, first axis and cross. [m]
    sigma_m : Estimate or NotEstimated
        Root of the mean variance of both axes, about each trial's own mean point. [m]
    tightest : float, optional
        Chance to have the smallest sigma of all sides that have one. [-]
    flagged : int
        Shots that stand off the others of their trial. They count, and make intervals too narrow. [-]
    """

    label: str
    prototype: str
    trials: tuple[str, ...]
    origin: Origin
    surface: Surface
    first_axis: Literal["along", "height"]
    shots: int
    freedom: int
    reach_m: Estimated
    mean_cross_m: Estimated
    sigma_m: Estimated
    tightest: float | None
    flagged: int = 0


@dataclass(frozen=True, slots=True)
class PairComparison(Result):
    """Two sides set against each other.

    Parameters
    ----------
    first, second : str
        Labels.
    spread : SpreadRatio or NotEstimated
        Second over first; its interval allows for scatter longer than wide (Satterthwaite).
    spread_test : PermutationTest or NotEstimated
        Decides, as it needs no shape.
    spread_p_adjusted : float, optional
        Its p, adjusted for all pairs (Holm). [-]
    reach_difference_m : Estimate or NotEstimated
        Second less first, first axis. [m]
    centre_test : PermutationTest or NotEstimated
        Mean points.
    centre_p_adjusted : float, optional
        Its p, adjusted for all pairs (Holm). [-]
    centre_hotelling_p : float, optional
        p of Hotelling's two-sample test, unadjusted. [-]
    more_shots, more_shots_if_ratio : int and float, optional
        How many more of each would show the ratio thought possible with the wanted power. [-]
    more_shots_for_ratio_seen : int, optional
        The same for the ratio seen; None when the ratio is so near 1 that over a million would be needed. [-]
    words : str
        The finding in plain sentences.
    """

    first: str
    second: str
    spread: SpreadRatio | NotEstimated
    spread_test: PermutationTest | NotEstimated
    spread_p_adjusted: float | None
    reach_difference_m: Estimated
    centre_test: PermutationTest | NotEstimated
    centre_p_adjusted: float | None
    centre_hotelling_p: float | None
    more_shots: int | None
    more_shots_if_ratio: float
    more_shots_for_ratio_seen: int | None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Comparison(Result):
    """All sides and all pairs.

    Parameters
    ----------
    sides : tuple of Side
        In the order given.
    pairs : tuple of PairComparison
        Every two of them.
    spread_omnibus, centre_omnibus : PermutationTest or NotEstimated
        Do any spreads, any mean points differ; for three sides or more.
    pooled : bool
        Whether trials of one prototype were pooled.
    power : float
        Wanted chance to show a true difference, for the planner. [-]
    words : tuple of str
        Plain sentences.
    """

    sides: tuple[Side, ...]
    pairs: tuple[PairComparison, ...]
    spread_omnibus: PermutationTest | NotEstimated
    centre_omnibus: PermutationTest | NotEstimated
    pooled: bool
    power: float
    words: tuple[str, ...] = ()
