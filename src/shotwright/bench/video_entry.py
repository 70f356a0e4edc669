"""Enter what a clip shows into a trial: launch values of its shots, with the clip and frames as evidence."""

from __future__ import annotations

import dataclasses
import math
import uuid
from collections.abc import Sequence
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.bench.results import ShotList
from shotwright.bench.video_results import FilmedLaunch, VideoResult
from shotwright.bench.workbook import opened
from shotwright.store.project_file import ProjectFile
from shotwright.trials.measure.launch_on_film import MeasuredLaunch
from shotwright.trials.records import Shot, Trial

_TURN = 2.0 * math.pi
_TWO_SIDED = 1.959964  # standard normal, 97.5 %
# The same clip and frames are the same shot: entering them twice makes no second one.
_NAMESPACE = uuid.UUID("5d1f3f0e-6a0e-5c6c-9f0b-0f6d3b0a7c21")


def enter_video(
    project: Path,
    trial: str,
    found: VideoResult,
    *,
    shot: int | None = None,
    only: Sequence[int] = (),
    replace: bool = False,
) -> ShotList:
    """Enter measured shots of a clip into a trial.

    Parameters
    ----------
    project : Path
        The project file.
    trial : str
        Name of the trial.
    found : VideoResult
        What the clip shows.
    shot : int, optional
        Number in the trial of the clip's first shot that is entered; those after it follow. Shots that are
        there keep their marks and get the launch; others are added. All are added behind the last when it is
        left out.
    only : sequence of int
        Numbers in the clip; all measured ones by default.
    replace : bool
        Whether measured launch values that are there may be replaced.

    Returns
    -------
    ShotList
        The shots as they are now.

    Raises
    ------
    BadInput
        No such trial or shot, nothing measured, or launch values are there already.
    """
    chosen = [one for one in found.shots if not only or one.number in only]
    missing = sorted(set(only) - {one.number for one in chosen})
    if missing:
        raise BadInput(f"the clip has no shot {missing[0]}; it has {len(found.shots)}", field="only")
    measured = [one for one in chosen if isinstance(one.launch, MeasuredLaunch)]
    if not measured:
        raise BadInput("nothing was measured on this clip that could be entered", field="trial")
    with opened(project) as file, file.transaction():
        target = _trial(file, trial)
        order = shot if shot is not None else file.next_order(trial)
        entered = [
            _enter(file, target, order + k, one, found, replace=replace, number_given=shot is not None)
            for k, one in enumerate(measured)
        ]
        target, words = _reading_error(file, target, trial)
    count = f"{len(entered)} launch{'es' if len(entered) > 1 else ''}"
    head = f"Entered {count} into {trial}, measured on {found.clip}."
    return ShotList((target,), (), tuple(entered), (head, *words))


def _trial(file: ProjectFile, name: str) -> Trial:
    trials = {one.name: one for one in file.trials()}
    if name not in trials:
        raise BadInput(
            f"there is no trial {name!r}; there is: {', '.join(trials) or 'none yet'}", field="trial"
        )
    return trials[name]


def _enter(
    file: ProjectFile,
    trial: Trial,
    order: int,
    one: FilmedLaunch,
    found: VideoResult,
    *,
    replace: bool,
    number_given: bool,
) -> Shot:
    uid = uuid.uuid5(_NAMESPACE, f"{trial.name}/{found.sha256}/{one.first_frame}").hex
    there = {s.order: s for s in file.shots(trial.name)}
    same = next((s for s in there.values() if s.uid == uid), None)
    shot = there.get(order) if number_given else same
    if shot is None:
        fresh = Shot(uid, trial.name, order if same is None else same.order, source=f"video {found.clip}")
        if same is None:
            file.add_shots([fresh])
        shot = same or fresh
    elif not replace and shot.uid != uid and (shot.speed is not None or shot.elevation is not None):
        raise BadInput(
            f"shot {shot.order} of {trial.name} has a measured launch already; replace it with "
            "--replace, or name another shot",
            field="shot",
        )
    return file.put_launch(with_launch(shot, one, found.sha256))


def with_launch(shot: Shot, one: FilmedLaunch, sha256: str) -> Shot:
    """Put a filmed launch into a shot.

    Parameters
    ----------
    shot : Shot
        Keeps its mark and all else.
    one : FilmedLaunch
        Measured.
    sha256 : str
        Of the clip.

    Returns
    -------
    Shot
        With speed, elevation, spin if a mark told it, their standard deviations, clip and frames.
    """
    launch = one.launch
    assert isinstance(launch, MeasuredLaunch)
    spin = None if isinstance(one.spin, NotEstimated) else one.spin.spin_rev_s
    return dataclasses.replace(
        shot,
        speed=float(launch.speed_m_s.value),
        speed_sd=_sd(launch.speed_m_s),
        elevation=math.radians(launch.elevation_deg.value),
        elevation_sd=math.radians(_sd(launch.elevation_deg)),
        spin=None if spin is None else _TURN * spin.value,
        spin_sd=None if spin is None else _TURN * _sd(spin),
        clip=sha256,
        first_frame=one.first_frame,
        last_frame=one.last_frame,
    )


def _sd(estimate: Estimate) -> float:
    """Standard deviation of a normal with this 95 % interval."""
    return float(estimate.high - estimate.low) / (2.0 * _TWO_SIDED)


def _reading_error(file: ProjectFile, trial: Trial, name: str) -> tuple[Trial, tuple[str, ...]]:
    """State the trial's reading error of speed and elevation from its shots, where nobody stated one."""
    shots = [s for s in file.shots(name, with_set_aside=False) if s.clip is not None]
    words: list[str] = []
    speeds = [s.speed_sd for s in shots if s.speed_sd is not None]
    if trial.speed_sd is None and speeds:
        trial = dataclasses.replace(trial, speed_sd=_typical(speeds))
        words.append(f"The trial's error of reading speed is now {trial.speed_sd:.2g} m/s, from these fits.")
    elevations = [s.elevation_sd for s in shots if s.elevation_sd is not None]
    if trial.elevation_sd is None and elevations:
        typical = _typical(elevations)
        trial = dataclasses.replace(trial, elevation_sd=typical)
        words.append(
            f"The trial's error of reading elevation is now {math.degrees(typical):.2g}°, from these fits."
        )
    if words:
        file.put_trials([trial])
    marked = [
        s for s in file.shots(name, with_set_aside=False) if s.along is not None or s.height is not None
    ]
    bare = sum(s.speed is None for s in marked)
    if bare:
        words.append(
            f"{bare} of {len(marked)} shots with a mark have no measured launch; hit and calibrate "
            "use launches once every shot with a mark has one."
        )
    return trial, tuple(words)


def _typical(errors: Sequence[float]) -> float:
    return math.sqrt(sum(sd * sd for sd in errors) / len(errors))
