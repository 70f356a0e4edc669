"""Compile everything that is compiled, before anybody waits for it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

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
    seconds = []
    for i, (name, work) in enumerate(STEPS):
        progress(i / len(STEPS), name)
        started = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - started)
    progress(1.0, "done")
    folder = cache_folder()
    kept = any(folder.glob("*.nbi"))
    names = tuple(name for name, _ in STEPS)
    words = f"{_listed(names).capitalize()} ready after {sum(seconds):.1f} s, "
    words += f"kept in {folder}." if kept else f"but {folder} can't be written, so nothing is kept."
    removed = remove_old_folders(folder)
    return WarmUp(names, tuple(seconds), str(folder), kept, removed, (words,))


def _listed(names: tuple[str, ...]) -> str:
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _flights() -> None:
    import numpy as np

    from shotwright.flight.crossing import fly_to_plane
    from shotwright.flight.model import flight_model
    from shotwright.flight.opening import edge_clearance
    from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

    velocity = np.tile([5.0, 0.0, 6.0], (_MANY, 1))
    ring = Target("ring", (3.0, 0.0, 1.0), 0.0, np.pi / 2, radius=0.5)
    steady, falling = CoefficientLaw("constant", 0.5), CoefficientLaw("drag-crisis")
    # laws that the lanes know, without and with spin decay, and one that they leave to the equations alone
    alone = CoefficientLaw("haider-levenspiel")
    for drag, decay in ((steady, 0.0), (steady, 0.1), (falling, 0.1), (alone, 0.1)):
        ball = Ball("ball", 0.2, 0.2, drag, CoefficientLaw("cross"), spin_decay=decay)
        model, up = flight_model(ball, Weather()), (0, 0, 1)
        found = fly_to_plane(model, (0, 0, 1), velocity, (0, -9, 0), ring.centre, up, snap=True)
    edge_clearance(ring, found, ball.radius)


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


_MANY = 40  # more than are flown by the plain equations
# what is compiled, and a little work that needs it
STEPS: tuple[tuple[str, Callable[[], None]], ...] = (
    ("flight kernels", _flights),
    ("throws", _throws),
    ("bounces", _bounces),
    ("polygon kernel", _polygons),
    ("hit probabilities", _hits),
    ("wheel launchers", _wheels),
)
