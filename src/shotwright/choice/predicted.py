"""Hit probability of a launcher on paper, from the spreads that its file states. Never a measurement."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.choice.predicted_records import PredictedHit, SetTo
from shotwright.flight.crossing import Crossings
from shotwright.flight.launches import launch_arrays
from shotwright.flight.model import FlightModel
from shotwright.flight.opening import passes
from shotwright.flight.scored import scored
from shotwright.game.records import FiringPosition, Obstacle, Target
from shotwright.launcher.description import Described
from shotwright.launcher.reaching import Aims, aims_at, flown, misses, on_field
from shotwright.launcher.release import Releases
from shotwright.launcher.shares import VarianceShares, variance_shares
from shotwright.launcher.shots import drawn_inputs, varying

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

SEARCH_DRAWS = 400
DRAWS = 20_000
PLACE_X, PLACE_Y, HEADING = range(3)
PLACES = ("place x", "place y", "heading")
_METHOD = "from the stated spreads; the interval is the Monte Carlo error only"
AIM = "azimuth of the aim"
MOST_AIMS = 30  # of those found, spread over their range


@dataclass(frozen=True, slots=True)
class Shots:
    """Shots drawn about one setting. Arrays of one length n.

    Parameters
    ----------
    releases : Releases
        As they left.
    hits : ndarray of bool, shape (n,)
        Which score.
    along, cross : ndarray, shape (n,)
        Where they cross the opening's plane, from its middle; NaN where they don't. [m]
    """

    releases: Releases
    hits: BoolArray
    along: FloatArray
    cross: FloatArray


@dataclass(frozen=True, slots=True)
class Situation:
    """One launcher on paper at one firing position before one opening.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    described : Described
        The launcher.
    position : FiringPosition
        Where it stands, with its spread of place and heading.
    target : Target
        The opening.
    obstacles : sequence of Obstacle
        What may be in the way.
    """

    model: FlightModel
    described: Described
    position: FiringPosition
    target: Target
    obstacles: Sequence[Obstacle] = ()

    @property
    def columns(self) -> int:
        """How many standard normal draws a shot needs: the launcher's, then place and heading."""
        return len(varying(self.described, self.model.ball)) + len(PLACES)

    def hits(self, settings: Mapping[str, FloatArray], normals: FloatArray) -> BoolArray:
        """Say which shots score, for many settings at once.

        Parameters
        ----------
        settings : mapping of str to ndarray, shape (k, 1) or ()
            As for :meth:`shots`, one row for each of k settings. [SI]
        normals : ndarray, shape (n, d)
            Standard normal draws, the same at every setting. [-]

        Returns
        -------
        ndarray of bool, shape (k * n,)
            Setting by setting.
        """
        inputs = drawn_inputs(self.described, self.model.ball, settings, normals)
        inputs = {name: column.ravel() for name, column in inputs.items()}
        releases = self.described.release(inputs)
        times = len(releases) // len(normals)
        around = normals[:, -len(PLACES) :]
        azimuth = np.tile(settings[AIM] + self.position.heading_sd * around[:, HEADING], times)
        place = (
            np.tile(self.position.place_sd * around[:, PLACE_X], times),
            np.tile(self.position.place_sd * around[:, PLACE_Y], times),
        )
        launches = launch_arrays(
            self.model,
            *on_field(releases, self.position, azimuth, place),
            inputs["ball_mass"],
            inputs["ball_diameter"],
        )
        return scored(self.model, self.target, launches, obstacles=self.obstacles)

    def shots(self, settings: Mapping[str, float], normals: FloatArray, *, clear: bool = False) -> Shots:
        """Fly shots drawn about a setting.

        Parameters
        ----------
        settings : mapping of str to float
            What is set, with `AIM` for the direction of the aim line. [SI]
        normals : ndarray, shape (n, d)
            Standard normal draws, `columns` of them. [-]
        clear : bool
            Find where the shots cross as if there were no obstacles.

        Returns
        -------
        Shots
            n of them.
        """
        around = normals[:, -len(PLACES) :]
        inputs = drawn_inputs(self.described, self.model.ball, settings, normals)
        releases = self.described.release(inputs)
        azimuth = settings[AIM] + self.position.heading_sd * around[:, HEADING]
        place = self.position.place_sd * around[:, PLACE_X], self.position.place_sd * around[:, PLACE_Y]
        crossings = self._flown(releases, inputs, azimuth, place, self.obstacles)
        hits = passes(self.target, crossings, inputs["ball_diameter"] / 2)
        if clear and self.obstacles:
            crossings = self._flown(releases, inputs, azimuth, place, ())
        return Shots(releases, hits, *misses(self.position, self.target, crossings))

    def _flown(
        self,
        releases: Releases,
        inputs: Mapping[str, FloatArray],
        azimuth: FloatArray,
        place: tuple[FloatArray, FloatArray],
        obstacles: Sequence[Obstacle],
    ) -> Crossings:
        return flown(
            self.model,
            releases,
            self.position,
            self.target,
            azimuth,
            obstacles=obstacles,
            place=place,
            mass=inputs["ball_mass"],
            diameter=inputs["ball_diameter"],
        )


def predict_hit(
    situation: Situation, seed: int = 1, draws: int = DRAWS
) -> tuple[PredictedHit, dict[str, float] | None]:
    """Predict the hit probability at the best setting.

    The setting is searched among those whose mean shot crosses the middle of the opening and scores, with
    the same draws for all; the probability is then flown with fresh draws.

    Parameters
    ----------
    situation : Situation
        Launcher, place, opening.
    seed : int
        Of the draws.
    draws : int
        Shots flown at the best setting.

    Returns
    -------
    predicted : PredictedHit
        The prediction.
    settings : dict of str to float, or None
        The setting for :meth:`Situation.shots`; None when none reaches. [SI]
    """
    aims = aims_at(
        situation.model,
        situation.described,
        situation.position,
        situation.target,
        obstacles=situation.obstacles,
    )
    if not aims.scores.any():
        return _out_of_reach(situation, aims, seed), None
    rng = np.random.default_rng([seed, 1])
    settings = _best(situation, aims, rng.standard_normal((SEARCH_DRAWS, situation.columns)))
    shots = situation.shots(settings, rng.standard_normal((draws, situation.columns)), clear=True)
    return _found(situation, aims, settings, shots, seed), settings


def hit_shares(
    situation: Situation, settings: Mapping[str, float], *, draws: int = 1024, seed: int = 1
) -> tuple[VarianceShares, ...]:
    """Find what share of the variance of speed, landing point and hit comes from each input.

    Parameters
    ----------
    situation : Situation
        Launcher, place, opening.
    settings : mapping of str to float
        As :func:`predict_hit` returns it. [SI]
    draws : int
        A power of two; draws x (inputs + 2) shots are flown.
    seed : int
        Of the draws.

    Returns
    -------
    tuple of VarianceShares
        Of speed, along, cross and hit.
    """
    from scipy.special import ndtri

    names = [one.name for one in varying(situation.described, situation.model.ball)]
    spreads = (situation.position.place_sd, situation.position.place_sd, situation.position.heading_sd)
    moving = [i for i, sd in enumerate(spreads) if sd > 0]
    used = [*range(len(names)), *(len(names) + i for i in moving)]

    def outputs(quantiles: FloatArray) -> dict[str, FloatArray]:
        normals = np.zeros((len(quantiles), situation.columns))
        normals[:, used] = ndtri(np.clip(quantiles, 1e-12, 1 - 1e-12))
        shots = situation.shots(settings, normals, clear=True)
        hits = shots.hits.astype(float)
        return {"speed": shots.releases.speed, "along": shots.along, "cross": shots.cross, "hit": hits}

    units = {"speed": "m/s", "along": "m", "cross": "m", "hit": ""}
    labels = [*names, *(PLACES[i] for i in moving)]
    return variance_shares(labels, units, outputs, draws=draws, seed=seed)


def hits_if_halved(
    situation: Situation, settings: Mapping[str, float], name: str, *, seed: int = 1, draws: int = DRAWS
) -> float:
    """Hit probability when the spread of one input is halved, at the same setting and with the same draws.

    Parameters
    ----------
    situation : Situation
        Launcher, place, opening.
    settings : mapping of str to float
        As :func:`predict_hit` returns it. [SI]
    name : str
        An input, or one of `PLACES`.
    seed, draws : int
        As for :func:`predict_hit`.

    Returns
    -------
    float
        [-]
    """
    rng = np.random.default_rng([seed, 1])
    rng.standard_normal((SEARCH_DRAWS, situation.columns))
    normals = rng.standard_normal((draws, situation.columns))
    names = [*(one.name for one in varying(situation.described, situation.model.ball)), *PLACES]
    normals[:, names.index(name)] *= 0.5
    return float(situation.shots(settings, normals).hits.mean())


def _best(situation: Situation, aims: Aims, normals: FloatArray) -> dict[str, float]:
    rows = np.flatnonzero(aims.scores)
    rows = rows[np.unique(np.linspace(0, len(rows) - 1, min(len(rows), MOST_AIMS)).round().astype(int))]
    candidates = [{**aims.at(int(row)), AIM: float(aims.azimuth[row])} for row in rows]
    shots = [situation.shots(one, normals) for one in candidates]

    def worth(k: int) -> tuple[float, float]:
        spread = np.hypot(np.nanstd(shots[k].along), np.nanstd(shots[k].cross))
        return float(shots[k].hits.mean()), -float(spread)

    return candidates[max(range(len(candidates)), key=worth)]


def _found(
    situation: Situation, aims: Aims, settings: Mapping[str, float], shots: Shots, seed: int
) -> PredictedHit:
    described, mean = situation.described, float(shots.hits.mean())
    half = 1.96 * math.sqrt(max(mean * (1 - mean), 0.25 / len(shots.hits)) / len(shots.hits))
    chance = Estimate(mean, max(mean - half, 0.0), min(mean + half, 1.0), 0.95, _METHOD)
    reach = []
    for one in described.settings:
        kept = aims.values[one.name][aims.scores]
        reach.append((one.label, one.shown(float(kept.min())), one.shown(float(kept.max()))))
    setting = tuple(SetTo(s.name, settings[s.name], s.shown(settings[s.name])) for s in described.settings)
    releases = shots.releases
    along, cross = float(np.nanstd(shots.along)), float(np.nanstd(shots.cross))
    told = ", ".join(f"{one.name.replace('_', ' ')} {one.shown}" for one in setting) or "its one setting"
    where = f"{described.prototype} from {situation.position.name} at {situation.target.name}"
    words = (
        f"{where}: {chance_words(mean)} predicted with {told}; scatter {1000 * along:.0f} mm along, "
        f"{1000 * cross:.0f} mm across."
    )
    return PredictedHit(
        prototype=described.prototype,
        position=situation.position.name,
        target=situation.target.name,
        reaches=True,
        reach=tuple(reach),
        setting=setting,
        speed_m_s=float(releases.speed.mean()),
        elevation_deg=math.degrees(float(releases.elevation.mean())),
        azimuth_deg=math.degrees(settings[AIM]),
        backspin_rev_s=float(releases.backspin.mean()) / (2 * math.pi),
        probability=chance,
        along_sd_m=along,
        cross_sd_m=cross,
        draws=len(shots.hits),
        seed=seed,
        words=(words,),
    )


def chance_words(chance: float) -> str:
    """Write a chance in percent without claiming certainty.

    Parameters
    ----------
    chance : float
        [-]

    Returns
    -------
    str
        ``"97 %"``, ``"over 99 %"``.
    """
    if chance > 0.995:
        return "over 99 %"
    return "under 1 %" if chance < 0.005 else f"{100 * chance:.0f} %"


def _out_of_reach(situation: Situation, aims: Aims, seed: int) -> PredictedHit:
    described = situation.described
    if not described.settings:
        reason = "its one setting does not score there"
    elif len(aims) == 0:
        reason = "no setting carries the ball there"
    else:
        reason = "every shot that would carry there is stopped on its way or touches the edge"
    where = f"{described.prototype} from {situation.position.name} at {situation.target.name}"
    return PredictedHit(
        prototype=described.prototype,
        position=situation.position.name,
        target=situation.target.name,
        reaches=False,
        reach=(),
        setting=(),
        speed_m_s=None,
        elevation_deg=None,
        azimuth_deg=None,
        backspin_rev_s=None,
        probability=NotEstimated(reason),
        along_sd_m=None,
        cross_sd_m=None,
        draws=0,
        seed=seed,
        words=(f"{where}: out of reach, because {reason}.",),
    )
