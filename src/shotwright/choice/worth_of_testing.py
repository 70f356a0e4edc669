r"""What more shots would be worth before choosing: the expected gain in hit probability.

More shots change a choice only where they change which prototype looks best. Before they are fired, what they
will show can be drawn from the posterior. The expected value of sample information is

.. math:: E_D \max_p E[h_p | D] - \max_p E[h_p]

with h the hit probability of prototype p and D the marks to come. It is never negative, grows with the number
of shots, and ends at the value of knowing every launcher's spread.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.plain import Result
from shotwright.choice.records import HitDraws
from shotwright.game.records import Game
from shotwright.trials.spread import LaunchSpread, TrialEvidence

FloatArray = NDArray[np.float64]

SHOTS = (5, 10, 20)
EACH = "each"
_DEGREE = 3
_PAIRINGS = 25  # ways to put draws of one prototype beside draws of another
_RESAMPLES = 40
_HARDLY = 0.5  # points; below, more shots would hardly change the choice
_JITTER = 1e-12  # of the trace: a spread of zero has no Cholesky root
_ALL = 1 - 1e-6


@dataclass(frozen=True, slots=True)
class SampleGain(Result):
    """Expected gain from more shots of one prototype, or of each.

    Parameters
    ----------
    shots : int
        More shots; 0: every launcher's spread known exactly.
    of : str
        Prototype, or ``"each"``.
    gain_percent : float
        Percentage points of hit probability that choosing after them gains on average.
    standard_error_percent : float
        Of the simulation.
    """

    shots: int
    of: str
    gain_percent: float
    standard_error_percent: float


@dataclass(frozen=True, slots=True)
class WorthOfTesting(Result):
    r"""What more shots would be worth before choosing by hit probability.

    Parameters
    ----------
    best : str
        Prototype with the largest mean hit probability now.
    hit_percent : float
        That mean, over the firing positions. [%]
    gains : tuple of SampleGain
        For some numbers of shots, of each prototype and of one alone.
    perfect : SampleGain
        The most that any number of shots could bring.
    words : tuple of str
        The same in a plain sentence.
    """

    best: str
    hit_percent: float
    gains: tuple[SampleGain, ...]
    perfect: SampleGain
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Contender:
    """A prototype in question.

    Parameters
    ----------
    name : str
        Its name.
    hits : ndarray, shape (m,)
        Draws of its hit probability. [-]
    spread : LaunchSpread
        The draws of the launcher that they belong to, in the same order.
    evidence : tuple of TrialEvidence
        Its trials; more shots are fired as in the largest of them.
    """

    name: str
    hits: FloatArray
    spread: LaunchSpread
    evidence: tuple[TrialEvidence, ...]


def contenders_of(names: Sequence[str], draws: Sequence[HitDraws], game: Game) -> list[Contender]:
    """Collect the prototypes with their mean hit probability over the firing positions.

    Parameters
    ----------
    names : sequence of str
        Prototypes that may be chosen.
    draws : sequence of HitDraws
        Of all of them.
    game : Game
        Its firing positions; from each, the target that brings the most points is fired at.

    Returns
    -------
    list of Contender
        Those whose launcher is known; a position that can't be served counts as no hit.
    """
    wanted = {p.name for p, _ in game.shots_wanted()}
    found = []
    for name in names:
        own = [d for d in draws if d.prototype == name and d.spread is not None]
        if not own or own[0].spread is None:
            continue
        best: dict[str, HitDraws] = {}
        for d in own:
            known = best.get(d.position)
            if known is None or d.points * d.by_marks.mean() > known.points * known.by_marks.mean():
                best[d.position] = d
        hits = sum((best[p].by_marks for p in sorted(wanted) if p in best), np.zeros(len(own[0].by_marks)))
        found.append(Contender(name, hits / max(len(wanted), 1), own[0].spread, own[0].evidence))
    return found


def worth_of_testing(
    contenders: Sequence[Contender], rng: np.random.Generator, *, shots: Sequence[int] = SHOTS
) -> WorthOfTesting | None:
    """Find the expected gain in hit probability from more shots before choosing.

    Parameters
    ----------
    contenders : sequence of Contender
        Prototypes; the draws of one are independent of those of another.
    rng : numpy.random.Generator
        Draws the marks to come.
    shots : sequence of int
        Numbers of further shots, 2 or more each. [-]

    Returns
    -------
    WorthOfTesting or None
        None with fewer than two prototypes: there is nothing to choose.

    Notes
    -----
    For each posterior draw one trial to come is simulated. The posterior mean of the hit probability, given
    what the trial shows, is a regression of the draws on its logarithmic variances (a cubic). What more shots
    would do for the calibration of the one that is chosen is left out: it can be calibrated after the choice.

    References
    ----------
    H. Raiffa, R. Schlaifer (1961), Applied Statistical Decision Theory, and M. Strong, J. E. Oakley,
    A. Brennan, P. Breeze (2015), Estimating the expected value of sample information using the probabilistic
    sensitivity analysis sample, Med. Decis. Making 35, 570-583 (both from memory).
    """
    if len(contenders) < 2:
        return None
    hits = [c.hits for c in contenders]
    gains = []
    for n in shots:
        seen = [marks_to_come(c.evidence, c.spread, n, rng) for c in contenders]
        gains.append(_gain(n, EACH, hits, seen, rng))
        for k, one in enumerate(contenders):
            alone = [s if i == k else None for i, s in enumerate(seen)]
            gains.append(_gain(n, one.name, hits, alone, rng))
    known = [
        np.log(np.maximum(np.column_stack([c.spread.speed, c.spread.elevation, c.spread.azimuth]), 1e-9))
        for c in contenders
    ]
    perfect = _gain(0, EACH, hits, known, rng)
    best = max(contenders, key=lambda c: float(c.hits.mean()))
    words = _words(gains, perfect)
    return WorthOfTesting(best.name, 100 * float(best.hits.mean()), tuple(gains), perfect, words)


def marks_to_come(
    evidence: Sequence[TrialEvidence], spread: LaunchSpread, shots: int, rng: np.random.Generator
) -> FloatArray:
    """Draw what a further trial would show of its marks' covariance.

    Parameters
    ----------
    evidence : sequence of TrialEvidence
        The trials so far; the further one is fired as the largest of them.
    spread : LaunchSpread
        Posterior draws, shape (m,).
    shots : int
        Of the further trial. [-]
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    ndarray, shape (m, q)
        One trial for each draw: logarithms of the variances along (and of measured speed or elevation) and
        across, then the correlations of the former in Fisher's z. [-]
    """
    trial = max(evidence, key=lambda e: e.shots)
    d_speed, d_elevation = trial.in_plane[:, 0] * trial.speed, trial.in_plane[:, 1]
    true = (
        np.multiply.outer(spread.speed**2, np.outer(d_speed, d_speed))
        + np.multiply.outer(spread.elevation**2, np.outer(d_elevation, d_elevation))
        + trial.in_plane_known
    )
    rows = true.shape[1]
    root = np.linalg.cholesky(true + _JITTER * np.eye(rows) * np.trace(true, axis1=1, axis2=2)[:, None, None])
    balls = np.einsum("mij,mjn->min", root, rng.standard_normal((len(true), rows, shots - 1)))
    seen = balls @ balls.transpose(0, 2, 1) / (shots - 1)
    cross = (trial.cross * spread.azimuth) ** 2 + trial.cross_known
    across = cross * rng.chisquare(shots - 1, len(cross)) / (shots - 1)
    variances = np.column_stack([np.diagonal(seen, axis1=1, axis2=2), across])
    first, second = np.triu_indices(rows, 1)
    sds = np.sqrt(variances)
    correlation = seen[:, first, second] / np.maximum(sds[:, first] * sds[:, second], 1e-300)
    return np.column_stack(
        [np.log(np.maximum(variances, 1e-300)), np.arctanh(np.clip(correlation, -_ALL, _ALL))]
    )


def expected_gain(
    utilities: Sequence[FloatArray],
    summaries: Sequence[FloatArray | None],
    rng: np.random.Generator,
) -> tuple[float, float]:
    """Expected value of sample information when choosing the best of several.

    Parameters
    ----------
    utilities : sequence of ndarray, shape (m,)
        Posterior draws of what each option is worth. [any]
    summaries : sequence of ndarray, shape (m, q), or None
        For each option and draw, what the data to come would show; None: no data of it. [any]
    rng : numpy.random.Generator
        For pairing independent draws and for the standard error.

    Returns
    -------
    gain : float
        Of choosing after the data instead of now, in the unit of the utilities.
    standard_error : float
        Of the simulation, from draws with replacement.

    Examples
    --------
    Data that say nothing gain nothing.

    >>> rng = np.random.default_rng(1)
    >>> worth = [rng.normal(0.5, 0.1, 4000), rng.normal(0.5, 0.1, 4000)]
    >>> gain, error = expected_gain(worth, [None, None], rng)
    >>> round(gain, 12)
    0.0
    """
    fitted = [_given(u, s) for u, s in zip(utilities, summaries, strict=True)]
    shifts = rng.integers(len(utilities[0]), size=(_PAIRINGS, len(utilities)))
    gain = _mean_gain(fitted, shifts)
    again = []
    for _ in range(_RESAMPLES):
        rows = [rng.integers(len(u), size=len(u)) for u in utilities]
        one = [
            _given(u[r], None if s is None else s[r])
            for u, s, r in zip(utilities, summaries, rows, strict=True)
        ]
        again.append(_mean_gain(one, shifts))
    return gain, float(np.std(again, ddof=1))


def _mean_gain(fitted: Sequence[FloatArray], shifts: NDArray[np.int64]) -> float:
    """Mean of the best posterior mean, less the best of the means, over several pairings."""
    most = [
        np.max([np.roll(f, s) for f, s in zip(fitted, row, strict=True)], axis=0).mean() for row in shifts
    ]
    return float(np.mean(most) - max(f.mean() for f in fitted))


def _given(utility: FloatArray, summary: FloatArray | None) -> FloatArray:
    """Mean utility given what the data show: a cubic regression on the summaries."""
    if summary is None:
        return np.full(len(utility), utility.mean())
    spread = summary.std(axis=0)
    used = (summary[:, spread > 1e-9] - summary.mean(axis=0)[spread > 1e-9]) / spread[spread > 1e-9]
    columns = [np.ones(len(utility))]
    for degree in range(1, _DEGREE + 1):
        for pick in itertools.combinations_with_replacement(range(used.shape[1]), degree):
            columns.append(np.prod(used[:, pick], axis=1))
    terms = np.column_stack(columns)
    found = terms @ np.linalg.lstsq(terms, utility, rcond=None)[0]
    return np.asarray(np.clip(found, utility.min(), utility.max()) + 0.0)


def _gain(
    shots: int,
    of: str,
    hits: Sequence[FloatArray],
    summaries: Sequence[FloatArray | None],
    rng: np.random.Generator,
) -> SampleGain:
    gain, error = expected_gain(hits, summaries, rng)
    return SampleGain(shots, of, 100 * gain, 100 * error)


def gain_lines(worth: WorthOfTesting) -> tuple[str, ...]:
    """Write the table as one line for each number of shots.

    Parameters
    ----------
    worth : WorthOfTesting
        The figures.

    Returns
    -------
    tuple of str
        Such as ``"10 more shots: of each +1.21 ± 0.10 points, of A alone +0.40 ± 0.05 points."``.
    """
    lines = []
    for n in dict.fromkeys(g.shots for g in worth.gains):
        parts = [
            f"of {g.of}{'' if g.of == EACH else ' alone'} {gain_cell(g)}" for g in worth.gains if g.shots == n
        ]
        lines.append(f"{n} more shots: {', '.join(parts)}.")
    return (*lines, f"Every spread known exactly: {gain_cell(worth.perfect)}.")


def gain_cell(gain: SampleGain) -> str:
    """Write a gain with the standard error of its simulation."""
    return f"{gain.gain_percent:+.2f} ± {gain.standard_error_percent:.2f} points"


def _words(gains: Sequence[SampleGain], perfect: SampleGain) -> tuple[str, ...]:
    """One sentence on the middle number of shots, and on the most there is to gain."""
    each = [g for g in gains if g.of == EACH]
    shown = each[len(each) // 2]
    alone = max((g for g in gains if g.shots == shown.shots and g.of != EACH), key=lambda g: g.gain_percent)
    told = (
        f"Choosing by hit probability, {shown.shots} more shots of each before choosing would gain "
        f"{_points(shown)} on average, {shown.shots} of {alone.of} alone {_points(alone)}; knowing every "
        f"spread exactly would gain {_points(perfect)}."
    )
    if perfect.gain_percent < _HARDLY:
        told += " More shots would hardly change the choice: fire them to calibrate the one you choose."
    return (told,)


def _points(gain: SampleGain) -> str:
    number = f"{max(gain.gain_percent, 0.0):.1f}"
    return "less than 0.1 points" if number == "0.0" else f"{number} point{'' if number == '1.0' else 's'}"
