"""Log shots one by one; set one aside, take it back."""

from __future__ import annotations

import uuid
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity
from shotwright.bench.results import ShotList
from shotwright.bench.workbook import load, opened
from shotwright.store.project_file import ProjectFile
from shotwright.trials.records import Shot

_KINDS = {
    "along": "length",
    "cross": "length",
    "height": "length",
    "speed": "speed",
    "elevation": "angle",
    "spin": "spin",
}


def add_shot(
    project: Path,
    trial: str,
    *,
    order: int | None = None,
    ball: str | None = None,
    along: str | None = None,
    cross: str | None = None,
    height: str | None = None,
    speed: str | None = None,
    elevation: str | None = None,
    spin: str | None = None,
    hit: bool | None = None,
    remark: str = "",
) -> ShotList:
    """Log one shot.

    Parameters
    ----------
    project : Path
        The project file.
    trial : str
        Name of the trial.
    order : int, optional
        Its number; the next one by default.
    ball : str, optional
        Which ball.
    along, cross, height, speed, elevation, spin : str, optional
        As typed, with unit.
    hit : bool, optional
        Whether it scored.
    remark : str
        Anything.

    Returns
    -------
    ShotList
        The shot as it was understood.
    """
    typed = {
        "along": along,
        "cross": cross,
        "height": height,
        "speed": speed,
        "elevation": elevation,
        "spin": spin,
    }
    values = {k: parse_quantity(v, _KINDS[k], k) for k, v in typed.items() if v is not None}
    if not values and hit is None:
        raise BadInput("a shot needs a mark, a measured value, or whether it hit", field="shot")
    with opened(project) as file:
        _known_trial(file, trial)
        shot = Shot(
            uid=uuid.uuid4().hex,
            trial=trial,
            order=order if order is not None else file.next_order(trial),
            ball=ball,
            hit=hit,
            remark=remark,
            source="typed",
            **values,  # type: ignore[arg-type]
        )
        file.add_shots([shot])
    return ShotList((), (), (shot,), (f"Logged shot {shot.order} of {trial}.",))


def _known_trial(file: ProjectFile, trial: str) -> None:
    known = [t.name for t in file.trials()]
    if trial not in known:
        raise BadInput(
            f"there is no trial {trial!r}; there is: {', '.join(known) or 'none yet, bring in trials.toml'}",
            field="trial",
        )


def list_shots(project: Path, trial: str | None = None) -> ShotList:
    """List the shots of a project or of one trial, those set aside too."""
    with opened(project, read_only=True) as file:
        book = load(file)
        if trial is not None:
            _known_trial(file, trial)
    trials = tuple(t for t, _ in book.trials if trial in (None, t.name))
    shots = tuple(s for t, group in book.trials for s in group if trial in (None, t.name))
    aside = sum(s.set_aside is not None for s in shots)
    return ShotList(trials, book.prototypes, shots, (f"{len(shots)} shots, {aside} of them set aside.",))


def set_aside(project: Path, trial: str, order: int, reason: str) -> ShotList:
    """Leave a shot out of every figure, for a reason that stays on record.

    Parameters
    ----------
    project : Path
        The project file.
    trial : str
        Name of the trial.
    order : int
        The shot's number in it.
    reason : str
        Why; stays on record.

    Returns
    -------
    ShotList
        The shot, and how to undo it.
    """
    with opened(project) as file:
        shot = file.set_aside(_find(file, trial, order).uid, reason)
    return ShotList(
        (), (), (shot,), (f"Shot {order} of {trial} is set aside: {reason}. Undo: log take-back.",)
    )


def take_back(project: Path, trial: str, order: int) -> ShotList:
    """Let a shot that was set aside count again.

    Parameters
    ----------
    project : Path
        The project file.
    trial : str
        Name of the trial.
    order : int
        The shot's number in it.

    Returns
    -------
    ShotList
        The shot.
    """
    with opened(project) as file:
        shot = file.take_back(_find(file, trial, order).uid)
    return ShotList((), (), (shot,), (f"Shot {order} of {trial} counts again.",))


def _find(file: ProjectFile, trial: str, order: int) -> Shot:
    _known_trial(file, trial)
    for shot in file.shots(trial):
        if shot.order == order:
            return shot
    raise BadInput(f"trial {trial!r} has no shot {order}", field="order")
