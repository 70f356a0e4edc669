"""What the shots show: dispersion, comparison, how many shots, hit probability."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import NotEstimated
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.results import DispersionResult, HitTable
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.choice.hit import Launcher, hit_probability, launcher_from_trials, spread_summary
from shotwright.choice.records import HitDraws, HitProbability, SpreadSummary
from shotwright.flight.model import flight_model
from shotwright.trials.comparison import compare_trials
from shotwright.trials.comparison_records import Comparison
from shotwright.trials.dispersion import trial_dispersion
from shotwright.trials.planning import ShotPlan, plan_shots

SEED = 1


def dispersion(project: Path, trial: str | None = None) -> DispersionResult:
    """Say what each trial shows, or one of them."""
    book = read_workbook(project)
    return dispersion_of(book, (trial,) if trial else ())


def dispersion_of(book: Workbook, trials: tuple[str, ...] = ()) -> DispersionResult:
    """Say what the trials of a loaded project show."""
    chosen = book.some_trials(trials)
    if not chosen:
        raise BadInput("there is no trial yet; bring in shots: shotwright import shots.csv --trial NAME")
    return DispersionResult(tuple(trial_dispersion(t, s, rng=np.random.default_rng(SEED)) for t, s in chosen))


def compare(
    project: Path, *, prototypes: tuple[str, ...] = (), pooled: bool = False, seed: int = SEED
) -> Comparison:
    """Set prototypes against each other, trial by trial, or pooled within each prototype.

    Parameters
    ----------
    project : Path
        The project file.
    prototypes : tuple of str
        Names; empty: all.
    pooled : bool
        Take all trials of a prototype together, each about its own mean.
    seed : int
        Seed of the permutations.

    Returns
    -------
    Comparison
        Every pair, with its intervals.

    Raises
    ------
    BadInput
        Fewer than two trials with shots, or an unknown prototype.
    """
    book = read_workbook(project)
    names = {p.name for p in book.some_prototypes(prototypes)}
    trials = [(t, s) for t, s in book.trials if t.prototype in names and s]
    if len(trials) < 2:
        raise BadInput(f"comparing needs two trials with shots; there is {len(trials)}", field="compare")
    return compare_trials(trials, rng=np.random.default_rng(seed), pooled=pooled)


def sample_size(
    *,
    ratio: float | None = None,
    shots: int | None = None,
    hit_rate: str | None = None,
    width: str | None = None,
    power: str = "80 %",
) -> ShotPlan:
    """Tell how many shots a comparison or a hit rate needs, before firing.

    Parameters
    ----------
    ratio : float, optional
        Spread ratio thought possible.
    shots : int, optional
        Shots fired already.
    hit_rate, width, power : str, optional
        Fractions as typed: expected hit rate, half-width of its interval, chance to see a ratio.

    Returns
    -------
    ShotPlan
        Numbers and words.
    """
    if ratio is None and hit_rate is None:
        ratio = 1.5
    return plan_shots(
        ratio=ratio,
        power=parse_quantity(power, "fraction", "power"),
        current=shots or 0,
        hit_rate=parse_quantity(hit_rate, "fraction", "hit_rate") if hit_rate else None,
        half_width=parse_quantity(width, "fraction", "width") if width else 0.1,
    )


def hit_probabilities(
    project: Path,
    *,
    prototypes: tuple[str, ...] = (),
    position: str | None = None,
    target: str | None = None,
    defended: bool = False,
    seed: int = SEED,
    progress: Progress = silent,
) -> HitTable:
    """Find the hit probability of each prototype at each firing position.

    Parameters
    ----------
    project : Path
        The project file.
    prototypes : tuple of str
        Only these.
    position, target : str, optional
        Only this one.
    defended : bool
        With the defenders in the way.
    seed : int
        The same seed gives the same numbers.
    progress : Progress
        Told how far it is.

    Returns
    -------
    HitTable
        Every prototype at every position, with intervals.
    """
    book = read_workbook(project)
    return hits_of(
        book,
        prototypes=prototypes,
        position=position,
        target=target,
        defended=defended,
        seed=seed,
        progress=progress,
    )[0]


def hits_of(
    book: Workbook,
    *,
    prototypes: tuple[str, ...] = (),
    position: str | None = None,
    target: str | None = None,
    defended: bool = False,
    seed: int = SEED,
    progress: Progress = silent,
) -> tuple[HitTable, tuple[HitDraws, ...]]:
    """Do the work of `hit_probabilities` on a loaded project; also return the draws, for ranking.

    Parameters
    ----------
    book : Workbook
        The loaded project; must hold a game.
    prototypes : tuple of str
        Names; empty: all.
    position, target : str, optional
        One firing position, one target; all when None.
    defended : bool
        With the game's defenders in the way.
    seed : int
        Seed of the draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    table : HitTable
        Hit probabilities, in words and numbers.
    draws : tuple of HitDraws
        The draws behind them.
    """
    game = book.needed_game()
    model = flight_model(game.ball, game.weather)
    pairs = book.pairs(position, target)
    launchers: list[Launcher] = []
    spreads: list[SpreadSummary] = []
    words: list[str] = []
    for number, prototype in enumerate(book.some_prototypes(prototypes)):
        trials = book.trials_of(prototype.name)
        flagged = sum(
            len(trial_dispersion(t, s, rng=np.random.default_rng(SEED)).outliers) for t, s in trials if s
        )
        rng = np.random.default_rng([seed, number])
        try:
            launcher = launcher_from_trials(model, game, prototype, trials, rng, flagged=flagged)
        except NoAnswer as reason:
            nothing = NotEstimated(str(reason))
            spreads.append(SpreadSummary(prototype.name, nothing, nothing, nothing, nothing, 0, ()))
            words.append(f"{prototype.name}: no hit probability, because {reason}.")
            continue
        launchers.append(launcher)
        spreads.append(spread_summary(launcher))
        if any(t.same_ball for t, _ in trials):
            words.append(
                f"{prototype.name} was fired with one and the same ball; a match uses many and scatters more."
            )
    rows: list[HitProbability] = []
    draws: list[HitDraws] = []
    for i, (place, opening) in enumerate(pairs):
        for k, launcher in enumerate(launchers):
            progress(
                (i * len(launchers) + k) / (len(pairs) * len(launchers)),
                f"{launcher.prototype.name} from {place.name} at {opening.name}",
            )
            row, drawn = hit_probability(model, game, launcher, place, opening, seed, defended=defended)
            rows.append(row)
            draws += [drawn] if drawn is not None else []
    progress(1.0, "done")
    words += _beyond(book, rows)
    return HitTable(tuple(spreads), tuple(rows), tuple(words)), tuple(draws)


def _beyond(book: Workbook, rows: list[HitProbability]) -> list[str]:
    """Say where a setting asks for more speed than the launcher's own file can give."""
    from shotwright.launcher.reaching import greatest_speed

    words = []
    for name in dict.fromkeys(row.prototype for row in rows):
        described = book.launcher_of(name)
        if described is None:
            continue
        most = greatest_speed(described, book.needed_game().ball)
        asked = [r for r in rows if r.prototype == name and r.setting and r.setting.speed_m_s > 1.005 * most]
        if asked:
            where = ", ".join(dict.fromkeys(f"{r.position} at {r.target}" for r in asked))
            need = max(row.setting.speed_m_s for row in asked if row.setting)
            words.append(
                f"{name}: its launcher file throws no faster than {most:.3g} m/s, yet {where} would need "
                f"{need:.3g} m/s, which its speeds in prototypes.toml allow. One of the two is wrong: "
                "fire from there before you believe it."
            )
    return words
