"""Compile everything that is compiled, before anybody waits for it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context

from shotwright.base.cache_folder import cache_folder, remove_old_folders
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent


@dataclass(frozen=True, slots=True)
class WarmUp(Result):
    """What was compiled, or found compiled.

    Parameters
    ----------
    names : tuple of str
        What it is called.
    seconds : tuple of float
        How long each took. [s]
    folder : str
        Where compiled code is kept.
    kept : bool
        False when the folder can't be written.
    removed : int
        Folders of other versions that were removed.
    words : tuple of str
        The same in plain sentences.
    """

    names: tuple[str, ...]
    seconds: tuple[float, ...]
    folder: str
    kept: bool
    removed: int
    words: tuple[str, ...]


def warm_up(*, progress: Progress = silent) -> WarmUp:
    """Compile everything that is compiled, or load it to see that it is there.

    Parameters
    ----------
    progress : Progress
        Told how far it is.

    Returns
    -------
    WarmUp
        What was compiled, and where it is kept.
    """
    started = time.perf_counter()
    names = tuple(name for name, _ in STEPS)
    workers = min(os.cpu_count() or 1, _MOST_AT_ONCE)
    # processes, since a compiler keeps the interpreter to itself; each leaves its part in the folder
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        waiting = {pool.submit(_timed, work): name for name, work in STEPS}
        seconds: dict[str, float] = {}
        progress(0.0, "compiling")
        for done in as_completed(waiting):
            seconds[waiting[done]] = done.result()
            progress(len(seconds) / len(STEPS), f"{len(seconds)} of {len(STEPS)} ready")
    folder = cache_folder()
    kept = any(folder.glob("*.nbi"))
    words = f"All {len(names)} parts are ready after {time.perf_counter() - started:.0f} s, "
    words += f"kept in {folder}." if kept else f"but {folder} can't be written, so nothing is kept."
    removed = remove_old_folders(folder)
    return WarmUp(names, tuple(seconds[name] for name in names), str(folder), kept, removed, (words,))


def _timed(work: Callable[[], None]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def _flights(drag: str, decay: float) -> None:
    import numpy as np

    from shotwright.flight.crossing import fly_to_plane
    from shotwright.flight.model import flight_model
    from shotwright.flight.opening import edge_clearance
    from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

    ball = Ball("ball", 0.2, 0.2, CoefficientLaw(drag, 0.5), CoefficientLaw("cross"), spin_decay=decay)
    velocity = np.tile([5.0, 0.0, 6.0], (_MANY, 1))
    ring = Target("ring", (3.0, 0.0, 1.0), 0.0, np.pi / 2, radius=0.5)
    model, up = flight_model(ball, Weather()), (0, 0, 1)
    found = fly_to_plane(model, (0, 0, 1), velocity, (0, -9, 0), ring.centre, up, snap=True, plain=False)
    edge_clearance(ring, found, ball.radius, plain=False)


def _throws() -> None:
    import numpy as np

    from shotwright.flight.chance import Aim, Scatter, Surroundings
    from shotwright.flight.model import flight_model
    from shotwright.flight.throws import counted_hits
    from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

    ball = Ball("ball", 0.2, 0.2, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
    ring = Target("ring", (3.0, 0.0, 1.0), 0.0, np.pi / 2, radius=0.5)
    aim, spread = Aim(np.array([0.0, 0.0, 1.0]), 7.0, 1.0, 0.0, 0.2), Scatter(0.01, 0.01, 0.01)
    counted_hits(flight_model(ball, Weather()), ring, aim, spread, Surroundings(), _MANY, 1, ball=ball)


def _bounces() -> None:
    import numpy as np

    from shotwright.flight.model import flight_model
    from shotwright.flight.rebound import follow_bounces
    from shotwright.game.records import Ball, CoefficientLaw, Surface, Weather

    ball = Ball("ball", 0.2, 0.2, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
    velocity = np.tile([5.0, 0.0, 6.0], (_MANY, 1))
    floor = Surface(0.7, 0.1, 0.5)
    follow_bounces(
        flight_model(ball, Weather()), None, (0, 0, 1), velocity, (0, -9, 0), bounces=1, floor=floor
    )


def _polygons() -> None:
    import numpy as np

    from shotwright.statistics.polygon_kernel import sum_over_edges

    sum_over_edges(np.zeros((1, 2)), np.array([[1.0, 0.0, 1.0]]), np.zeros((3, 2, 1)), np.inf)


def _hits() -> None:
    import numpy as np

    from shotwright.flight.chance import Aim, Scatter, Surroundings
    from shotwright.flight.model import flight_model
    from shotwright.flight.scoring_chance import scoring_chance
    from shotwright.flight.scoring_launches import scoring_launches
    from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

    ball = Ball("ball", 0.2, 0.2, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
    ring = Target("ring", (3.0, 0.0, 1.0), 0.0, np.pi / 2, radius=0.5)
    start = np.array([0.0, 0.0, 0.5])
    found = scoring_launches(flight_model(ball, Weather()), ring, start, np.radians([55.0, 58.0, 61.0]), 0.2)
    if found is not None:
        aim = Aim(start, float(found.middle[1, 0]), float(found.elevation[1]), 0.0, 0.2)
        ready = scoring_chance(found, Surroundings())
        ready.of([aim], Scatter(0.02, 0.01, 0.01))
        ready.hits(aim, Scatter(0.02, 0.01, 0.01), np.zeros((1, 8)))


def _wheels() -> None:
    from shotwright.launcher.slipping import Passage, Surface, run

    surfaces = [
        Surface("wheel", 1.0, 0.0, 0.6, 20.0, 0.2, normal_force=100.0),
        Surface("hood", -1.0, 0.0, 0.6, normal_force=100.0),
    ]
    run(Passage(0.14, 0.09, 0.4, 1.0, 0.0, 0.3), surfaces)


def _grids() -> None:
    import numpy as np

    from shotwright.flight.line_of_fire import line_of_fire
    from shotwright.flight.model import flight_model
    from shotwright.flight.surrogate import shot_surrogate
    from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Target, Weather

    ball = Ball("ball", 0.2, 0.2, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
    ring = Target("ring", (3.0, 0.0, 1.0), 0.0, np.pi / 2, radius=0.5)
    spot = FiringPosition("spot", 0.0, 0.0, 0.0, 0.0)
    line = line_of_fire(flight_model(ball, Weather()), ring, spot, 1.0, spin_parameter=0.1)
    shot_surrogate(line, (7.0, 8.0), (0.9, 1.0), tolerance=1e-3).on_grid(np.array([7.5]), np.array([0.95]))


def _matches() -> None:
    from shotwright.powertrain.drive_sweep import Choices, sweep_drives
    from shotwright.powertrain.motor import generic_motors
    from shotwright.powertrain.supply import Supply, generic_battery
    from shotwright.powertrain.train import Train, stage
    from shotwright.powertrain.wheel_duty import Burst, Duty

    choices = Choices(generic_motors()[1:2], (1,), (Train((stage("spur", 3.0),)),), (1e-3,))
    supply = Supply(generic_battery("NiMH", 10, 3.0))
    sweep_drives(choices, supply, Duty(100.0, 1e-4, (Burst(0.0, 1),), match=2.0), workers=1)


def _plans() -> None:
    import numpy as np

    from shotwright.match.case import Chances, match_case
    from shotwright.match.records import (
        LauncherPace,
        MatchFile,
        MatchPosition,
        MatchRobot,
        MatchTimes,
        Plan,
        Station,
    )
    from shotwright.match.run import run_plan

    spot, shed = MatchPosition("spot", 1.0, 0.0, hit=0.5, points=1.0), Station("shed", 2.0, 0.0, 1.0)
    plan = Plan("plan", ("spot",), ("shed",))
    robot = MatchRobot((0.0, 0.0), 1.0, 1.0, 1, 1)
    file = MatchFile(MatchTimes(10.0), robot, LauncherPace(1.0), (spot,), (shed,), (), (plan,))
    run_plan(match_case(file, plan), Chances(np.random.SeedSequence(1), 2, 0, 1))


_MOST_AT_ONCE = 4  # processes; each takes some hundred megabytes
_MANY = 40  # more than are flown by the plain equations
# what is compiled, and a little work that needs it
STEPS: tuple[tuple[str, Callable[[], None]], ...] = (
    ("flights with steady drag", partial(_flights, "constant", 0.0)),
    ("with spin decay", partial(_flights, "constant", 0.1)),
    ("with a drag crisis", partial(_flights, "drag-crisis", 0.1)),
    ("with other laws", partial(_flights, "haider-levenspiel", 0.1)),
    ("throws", _throws),
    ("bounces", _bounces),
    ("polygons", _polygons),
    ("hit probabilities", _hits),
    ("wheel launchers", _wheels),
    ("matches of drives", _matches),
    ("matches of plans", _plans),
    ("grids of shots", _grids),
)
