"""Log shots one by one; set one aside, take it back."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity
from shotwright.bench.results import ShotList
from shotwright.bench.workbook import load, opened
from shotwright.store.project_file import ProjectFile
from shotwright.trials.records import Shot, Trial

_KINDS = {
    "along": "length",
    "cross": "length",
    "height": "length",
    "speed": "speed",
    "elevation": "angle",
    "spin": "spin",
}

_TRIAL_KINDS = {
    "elevation": "angle",
    "release_height": "length",
    "surface_at": "length",
    "mark_sd": "length",
    "speed_sd": "speed",
    "elevation_sd": "angle",
}
_TRIAL_WORDS = ("name", "prototype", "setting", "surface", "position", "target", "remark")


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
    uid: str | None = None,
    source: str = "typed",
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
    uid : str, optional
        Made where the shot was logged. The same uid again is the same shot: it is not logged twice, and what
        is on record already is returned. A new one by default.
    source : str
        Where it came from.

    Returns
    -------
    ShotList
        The shot as it was understood.

    Raises
    ------
    BadInput
        Nothing was measured, a value can't be read, the trial is not there, or the number is taken.
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
    # The number is taken and used in one transaction: two phones may log at the same moment.
    with opened(project) as file, file.transaction():
        _known_trial(file, trial)
        known = next((s for s in file.shots() if s.uid == uid), None) if uid else None
        if known is not None:
            return ShotList((), (), (known,), (f"Shot {known.order} of {known.trial} was logged already.",))
        shot = Shot(
            uid=uid or uuid.uuid4().hex,
            trial=trial,
            order=order if order is not None else file.next_order(trial),
            ball=ball,
            hit=hit,
            remark=remark,
            source=source,
            **values,  # type: ignore[arg-type]
        )
        file.add_shots([shot])
    return ShotList((), (), (shot,), (f"Logged shot {shot.order} of {trial}.",))


def add_trial(project: Path, typed: Mapping[str, str]) -> ShotList:
    """Start a trial from what was typed into a form.

    Parameters
    ----------
    project : Path
        The project file.
    typed : mapping of str to str
        Fields of a trial by name, quantities with their unit; empty ones are left at their usual value.
        ``name`` and ``prototype`` are needed.

    Returns
    -------
    ShotList
        The trial as it was understood.

    Raises
    ------
    BadInput
        A field is missing, can't be read, or the name is taken.
    """
    given = {field: text.strip() for field, text in typed.items() if text.strip()}
    for field in ("name", "prototype"):
        if field not in given:
            raise BadInput(f"give the trial a {field}", field=field)
    values: dict[str, object] = {}
    for field, text in given.items():
        if field in _TRIAL_KINDS:
            values[field] = parse_quantity(text, _TRIAL_KINDS[field], field)
        elif field in _TRIAL_WORDS:
            values[field] = text
    if values.get("surface", "floor") not in ("floor", "plane"):
        raise BadInput("marks lie on the floor or on an upright plane", field="surface")
    trial = Trial(date=datetime.datetime.now().astimezone().date(), **values)  # type: ignore[arg-type]
    with opened(project) as file, file.transaction():
        if trial.name in {t.name for t in file.trials()}:
            raise BadInput(
                f"there is a trial {trial.name!r} already; give this one another name", field="name"
            )
        file.put_trials([trial])
    return ShotList((trial,), (), (), (f"Started trial {trial.name} of {trial.prototype}.",))


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
