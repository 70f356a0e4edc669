"""What tilting costs in hits: backlash of a worm, pins in holes, or one fixed elevation."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.choice.hit import Launcher, hit_probability
from shotwright.choice.records import HitDraws, HitProbability
from shotwright.flight.model import FlightModel
from shotwright.game.records import FiringPosition, Game, Target
from shotwright.robot.tilt import backlash_sd

FloatArray = NDArray[np.float64]
Pair = tuple[FiringPosition, Target]

_SAME = math.radians(0.01)  # elevations closer than that are one


@dataclass(frozen=True, slots=True)
class ElevationRow(Result):
    """One firing position with one way to tilt.

    Parameters
    ----------
    position, target : str
        Which.
    elevation_deg, speed_m_s : float, optional
        Setting; None where it is not reached.
    probability : Estimate or NotEstimated
        Of a hit.
    loss : Estimate or NotEstimated
        Hit probability given away against a tilt without play, draw by draw. [-]
    """

    position: str
    target: str
    elevation_deg: float | None
    speed_m_s: float | None
    probability: Estimated
    loss: Estimated


@dataclass(frozen=True, slots=True)
class ElevationWay(Result):
    """One way to tilt, over all firing positions.

    Parameters
    ----------
    name : str
        ``"any elevation, no play"``, ``"worm"``, ``"pins"`` or ``"fixed"``.
    elevations_deg : tuple of float
        That it uses.
    play_sd_deg : float
        Elevation spread from its play.
    rows : tuple of ElevationRow
        One for each position and target.
    mean_probability : float
        Over all rows; a position that is not reached counts as 0. [-]
    """

    name: str
    elevations_deg: tuple[float, ...]
    play_sd_deg: float
    rows: tuple[ElevationRow, ...]
    mean_probability: float


def elevation_ways(
    model: FlightModel,
    game: Game,
    launcher: Launcher,
    pairs: Sequence[Pair],
    *,
    backlash: float,
    pins: Sequence[float] = (),
    pin_play: float = 0.0,
    fixed: bool = True,
    seed: int = 1,
    progress: Progress = silent,
) -> tuple[ElevationWay, ...]:
    """Set the ways to tilt side by side, each at its best settings.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    game : Game
        Targets and obstacles.
    launcher : Launcher
        The prototype with the spread that its trials showed.
    pairs : sequence of (FiringPosition, Target)
        What has to be served.
    backlash : float
        Of the worm at the launcher, stop to stop. [rad]
    pins : sequence of float
        Elevations of holes; empty: no pins are compared. [rad]
    pin_play : float
        In a hole. [rad]
    fixed : bool
        Also find the best single elevation.
    seed : int
        Of the draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    tuple of ElevationWay
        Without play, the worm, pins, and the best single elevation of those that the positions would choose.

    Notes
    -----
    The play adds backlash/sqrt(12) to the elevation spread of the trials, which are taken to have been fired
    with the launcher held still. Where the launcher always rests against the same stop, less is lost.
    """
    low, high = launcher.prototype.elevation_low, launcher.prototype.elevation_high
    holes = [pin for pin in sorted(pins) if low - _SAME <= pin <= high + _SAME]
    steps = len(pairs) * (2 + min(len(holes), 2) + (len(pairs) if fixed else 0))
    asks = _Asks(model, game, launcher, seed, steps, progress, {})
    play, pin_sd = backlash_sd(backlash), backlash_sd(pin_play)
    free = [asks.best(pair, 0.0, None) for pair in pairs]
    worm = [asks.best(pair, play, None) for pair in pairs]
    ways = [
        _way("any elevation, no play", 0.0, pairs, free, free),
        _way("worm", play, pairs, worm, free),
    ]
    if holes:
        chosen = [
            max((asks.best(pair, pin_sd, hole) for hole in _nearest(holes, wanted)), key=_value)
            for pair, wanted in zip(pairs, free, strict=True)
        ]
        ways.append(_way("pins", pin_sd, pairs, chosen, free))
    held = [[asks.best(pair, 0.0, one) for pair in pairs] for one in (_candidates(free) if fixed else [])]
    if held:
        best = max(held, key=lambda rows: sum(map(_value, rows)))
        ways.append(_way("fixed", 0.0, pairs, best, free))
    return tuple(ways)


_Answer = tuple[HitProbability, HitDraws | None]


@dataclass(frozen=True, slots=True)
class _Asks:
    """Hit probabilities asked so far."""

    model: FlightModel
    game: Game
    launcher: Launcher
    seed: int
    steps: int
    progress: Progress
    known: dict[tuple[str, str, float, float | None], _Answer]

    def best(self, pair: Pair, play: float, elevation: float | None) -> _Answer:
        """Best setting of a pair with a play [rad, sd], at one elevation [rad] or at any."""
        key = (pair[0].name, pair[1].name, play, elevation)
        if key not in self.known:
            self.progress(min(len(self.known) / self.steps, 1.0), f"{pair[0].name} to {pair[1].name}")
            one = with_play(self.launcher, play)
            if elevation is not None:
                held = dataclasses.replace(one.prototype, elevation_low=elevation, elevation_high=elevation)
                one = dataclasses.replace(one, prototype=held)
            self.known[key] = hit_probability(self.model, self.game, one, *pair, self.seed)
        return self.known[key]


def with_play(launcher: Launcher, play: float) -> Launcher:
    """Return a launcher whose elevation scatters more.

    Parameters
    ----------
    launcher : Launcher
        With its posterior draws.
    play : float
        Standard deviation that is added, squares summed. [rad]

    Returns
    -------
    Launcher
        The same trials, more spread.
    """
    if play <= 0:
        return launcher
    spread = dataclasses.replace(launcher.spread, elevation=np.hypot(launcher.spread.elevation, play))
    return dataclasses.replace(launcher, spread=spread)


def _value(answer: _Answer) -> float:
    found = answer[0].model
    return found.value if isinstance(found, Estimate) else 0.0


def _nearest(holes: Sequence[float], wanted: _Answer) -> Sequence[float]:
    """The two holes nearest to the elevation that a position would choose; all where it has none."""
    setting = wanted[0].setting
    if setting is None:
        return holes
    return sorted(holes, key=lambda hole: abs(hole - math.radians(setting.elevation_deg)))[:2]


def _candidates(free: Sequence[_Answer]) -> list[float]:
    """Elevations that the positions choose by themselves, each once."""
    found: list[float] = []
    for row, _ in free:
        if row.setting is not None:
            elevation = math.radians(row.setting.elevation_deg)
            if all(abs(elevation - one) > _SAME for one in found):
                found.append(elevation)
    return sorted(found)


def _way(
    name: str, play: float, pairs: Sequence[Pair], answers: Sequence[_Answer], free: Sequence[_Answer]
) -> ElevationWay:
    rows = tuple(
        ElevationRow(
            place.name,
            opening.name,
            None if one.setting is None else one.setting.elevation_deg,
            None if one.setting is None else one.setting.speed_m_s,
            one.model,
            _loss(before, drawn),
        )
        for (place, opening), (one, drawn), (_, before) in zip(pairs, answers, free, strict=True)
    )
    used = sorted({round(row.elevation_deg, 2) for row in rows if row.elevation_deg is not None})
    mean = sum(map(_value, answers)) / len(answers) if answers else 0.0
    return ElevationWay(name, tuple(used), math.degrees(play), rows, mean)


def _loss(before: HitDraws | None, after: HitDraws | None) -> Estimated:
    if before is None:
        return NotEstimated("the position is not reached with any elevation")
    gone = before.by_marks - (after.by_marks if after is not None else 0.0)
    low, high = np.quantile(gone, (0.025, 0.975))
    return Estimate(float(np.mean(gone)), float(low), float(high), method="difference draw by draw")
