"""Hit probability over the whole floor: which places are worth driving to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.floor_result import FloorMap, make_floor_map
from shotwright.bench.sweeps.run import run_chunks
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.choice.floor_map import (
    Floor,
    FloorMapper,
    FloorValues,
    checked_error,
    floor_mapper,
    floor_of,
    rounds_of,
)
from shotwright.choice.hit import Launcher, as_scatter, launcher_from_trials
from shotwright.flight.chance import surroundings
from shotwright.flight.model import flight_model
from shotwright.game.records import FiringPosition, Game, Target
from shotwright.trials.dispersion import trial_dispersion

IntArray = NDArray[np.intp]

SEED = 1
DRAWS = 1000
STEP = "5 cm"
_IN_PROCESS = 4000  # places below which starting workers takes longer than the work


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a person asked for, looked up."""

    game: Game
    launcher: Launcher
    target: Target
    placement: FiringPosition
    floor: Floor
    defended: bool
    seed: int


def floor_map(
    project: Path,
    prototype: str | None = None,
    *,
    target: str | None = None,
    placed_as: str | None = None,
    x: str | None = None,
    y: str | None = None,
    step: str = STEP,
    draws: int = DRAWS,
    defended: bool = False,
    seed: int = SEED,
    workers: int | None = None,
    scheduler: str | None = None,
    progress: Progress = silent,
    shown: Callable[[FloorMap], None] | None = None,
) -> FloorMap:
    """Map the hit probability of a prototype over the floor, with the best setting at each place.

    Parameters
    ----------
    project : Path
        The project file.
    prototype : str, optional
        Its name; the only one with trials by default.
    target : str, optional
        The opening; the first of the game by default.
    placed_as : str, optional
        A firing position whose spread of place and heading holds everywhere; the first by default.
    x, y : str, optional
        Part of the floor, as typed: ``"0 m .. 8 m"``; all of it by default.
    step : str
        Between places, as typed.
    draws : int
        Draws of the launch spread at each place.
    defended : bool
        With the defenders in the way.
    seed : int
        The same seed gives the same numbers, however many workers there are.
    workers : int, optional
        Processes; one for each core by default.
    scheduler : str, optional
        Address of a Dask scheduler.
    progress : Progress
        Told how far it is; may raise to stop.
    shown : callable, optional
        Given the map after each round, coarse first; the last one is the result without its check.

    Returns
    -------
    FloorMap
        Numbers, table, picture.

    Raises
    ------
    BadInput
        An unknown name, a range or step that does not fit.
    NoAnswer
        No trial to go by, or wind.
    """
    asked = _asked(read_workbook(project), prototype, target, placed_as, (x, y), step, draws, defended, seed)
    mapper = _mapper(asked)
    count = len(asked.floor.x) * len(asked.floor.y)
    kept: list[FloorValues] = []

    def seen(values: FloorValues) -> None:
        kept[:] = [values]
        if shown is not None:
            shown(_result(asked, mapper, values, None))

    last = rounds_of(mapper, _runner(count, workers, scheduler, progress), seen)
    progress(0.99, "flying a check")
    found = _result(asked, last, kept[0], checked_error(last, kept[0], seed))
    progress(1.0, "done")
    return found


def _runner(
    count: int, workers: int | None, scheduler: str | None, progress: Progress
) -> Callable[[FloorMapper, Sequence[IntArray]], list[FloorValues]]:
    """Run chunks of a round: a small one here, a large one in workers."""
    done = 0

    def run(mapper: FloorMapper, chunks: Sequence[IntArray]) -> list[FloorValues]:
        nonlocal done
        places = sum(len(chunk) for chunk in chunks)
        begun = done

        def tell(fraction: float, what: str = "") -> None:  # noqa: ARG001 - chunks mean nothing to a person
            share = min((begun + fraction * places) / count, 1.0)
            progress(0.98 * share, f"{round(100 * share)} % of {count} places")

        here = places < _IN_PROCESS and scheduler is None
        found = run_chunks(chunks, mapper, workers=1 if here else workers, scheduler=scheduler, progress=tell)
        done += places
        return found

    return run


def _asked(
    book: Workbook,
    prototype: str | None,
    target: str | None,
    placed_as: str | None,
    ranges: tuple[str | None, str | None],
    step: str,
    draws: int,
    defended: bool,
    seed: int,
) -> _Asked:
    game = book.needed_game()
    if draws < 20:
        raise BadInput(f"{draws} draws say nothing of an interval; at least 20", field="draws")
    if placed_as is not None and placed_as.casefold() not in {p.name.casefold() for p in game.positions}:
        known = ", ".join(p.name for p in game.positions)
        raise BadInput(f"there is no position {placed_as!r}; there is: {known}", field="placed-as")
    position = next(
        (p for p in game.positions if placed_as is None or p.name.casefold() == placed_as.casefold()), None
    )
    if position is None or not game.targets:
        raise BadInput("the game needs a firing position and a target", field="game")
    book.pairs(None, target)  # an unknown target is named there
    opening = next(t for t in game.targets if target is None or t.name.casefold() == target.casefold())
    spans = [
        _range(text, name, (0.0, size))
        for text, name, size in zip(ranges, ("x", "y"), (game.field_length, game.field_width), strict=True)
    ]
    floor = floor_of(spans[0], spans[1], parse_quantity(step, "length", "step"))
    return _Asked(game, _launcher(book, prototype, draws, seed), opening, position, floor, defended, seed)


def _launcher(book: Workbook, name: str | None, draws: int, seed: int) -> Launcher:
    """Draw the launch spread of the prototype asked for, or of the only one with shots."""
    game = book.needed_game()
    chosen = book.some_prototypes((name,) if name else ())
    fired = [p for p in chosen if any(shots for _, shots in book.trials_of(p.name))]
    if name is None and len(fired) > 1:
        names = ", ".join(p.name for p in fired)
        raise BadInput(f"{len(fired)} prototypes have trials; name one of {names}", field="prototype")
    if not fired:
        who = f"prototype {name!r} has" if name else "there is"
        raise NoAnswer(f"{who} no trial to go by; fire some shots and bring them in")
    trials = book.trials_of(fired[0].name)
    flagged = sum(
        len(trial_dispersion(t, s, rng=np.random.default_rng(SEED)).outliers) for t, s in trials if s
    )
    model = flight_model(game.ball, game.weather)
    rng = np.random.default_rng([seed, 0])
    return launcher_from_trials(model, game, fired[0], trials, rng, flagged=flagged, draws=draws)


def _range(text: str | None, name: str, whole: tuple[float, float]) -> tuple[float, float]:
    if text is None:
        return whole
    ends = [end.strip() for end in text.split("..")]
    if len(ends) != 2:
        raise BadInput(f"{text!r} is no range; type LOW .. HIGH, e.g. 0 m .. 8 m", field=name)
    low, high = (parse_quantity(end, "length", name) for end in ends)
    if not whole[0] <= low < high <= whole[1]:
        raise BadInput(
            f"{text} is no part of the floor, which runs from 0 m to {whole[1]:g} m; the lower end first",
            field=name,
        )
    return low, high


def _mapper(asked: _Asked) -> FloorMapper:
    game, launcher = asked.game, asked.launcher
    solids = game.obstacles
    if asked.defended:
        solids += tuple(defender.solid for defender in game.defenders)
    return floor_mapper(
        flight_model(game.ball, game.weather),
        game.ball,
        launcher.prototype,
        asked.target,
        as_scatter(launcher.spread),
        surroundings(asked.placement, game.ball, launcher.prototype.spin_parameter_sd),
        solids,
        asked.floor,
        asked.seed,
    )


def _result(
    asked: _Asked, mapper: FloorMapper, values: FloorValues, checked: tuple[float, float, int] | None
) -> FloorMap:
    return make_floor_map(
        asked.game,
        asked.launcher,
        asked.target,
        asked.placement,
        mapper,
        values,
        defended=asked.defended,
        checked=checked,
        seed=asked.seed,
    )
