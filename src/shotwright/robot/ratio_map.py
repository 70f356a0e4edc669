"""Sprint time against pushing force over ratios, and the ratio for a crew's own mix of both."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.robot.drive_base import DriveBase, push
from shotwright.robot.pushing import hold_times
from shotwright.robot.sprint import sprint


@dataclass(frozen=True, slots=True)
class Mix(Result):
    """What a match asks of the drive base.

    Parameters
    ----------
    sprints : tuple of (float, int)
        Distance [m] and how often.
    pushes : int
        How often it is pushed, or pushes.
    push_time : float
        How long each has to be held. [s]
    push_force : float
        Against what: force of the opponent. [N]
    """

    sprints: tuple[tuple[float, int], ...]
    pushes: int = 0
    push_time: float = 0.0
    push_force: float = math.inf

    def __post_init__(self) -> None:
        if not self.sprints:
            raise BadInput("no sprint is stated; give at least one distance", field="sprint")
        if any(not (far > 0 and times >= 1) for far, times in self.sprints):
            raise BadInput("a sprint needs a distance above zero, at least once", field="sprint")


@dataclass(frozen=True, slots=True)
class RatioRow(Result):
    """What one ratio does in the match.

    Parameters
    ----------
    ratio : float
        [-]
    top_speed_m_s : float
        Of the robot.
    sprint_s : float
        All sprints of the match together.
    push_force_n : float
        Most at rest; grip, current limit or motors.
    limited_by : str
        Which.
    hold_s : float
        How long the mix's push can be held; 0 when it is not reached.
    lost_s : float
        Seconds of pushing that the match asks for and the base can't hold.
    cost_s : float
        Sprints and lost seconds together: what the pick keeps small.
    motor_a : float
        Current of each motor in the mix's push.
    """

    ratio: float
    top_speed_m_s: float
    sprint_s: float
    push_force_n: float
    limited_by: str
    hold_s: float
    lost_s: float
    cost_s: float
    motor_a: float


@dataclass(frozen=True, slots=True)
class RatioMap(Result):
    """All ratios, and the picks.

    Parameters
    ----------
    rows : tuple of RatioRow
        By ratio.
    pick : RatioRow
        Least cost.
    fastest, strongest : RatioRow
        Shortest sprints; largest pushing force, then shortest sprints.
    needed_force_n : float
        Force of the mix's push: the opponent's, or traction where that is less.
    """

    rows: tuple[RatioRow, ...]
    pick: RatioRow
    fastest: RatioRow
    strongest: RatioRow
    needed_force_n: float


def ratio_map(base: DriveBase, mix: Mix, ratios: Sequence[float], *, progress: Progress = silent) -> RatioMap:
    """Try every ratio on the mix.

    Parameters
    ----------
    base : DriveBase
        The base; its ratio is replaced.
    mix : Mix
        Sprints and pushes of a match.
    ratios : sequence of float
        [-]
    progress : Progress
        Told how far it is.

    Returns
    -------
    RatioMap
        Rows, pick, ends.

    Raises
    ------
    NoAnswer
        With no ratio the robot moves.

    Notes
    -----
    The cost counts seconds: all sprints, and of each push what the motors, a protection or the heat of a
    winding does not let the robot hold. A push that the tread can't take is held at the limit of grip,
    since no ratio helps there.
    """
    needed = min(mix.push_force, base.traction)
    rows = []
    for i, ratio in enumerate(sorted(ratios)):
        progress(i / len(ratios), f"ratio {ratio:.3g}")
        try:
            rows.append(_row(base.geared(ratio), mix, needed))
        except NoAnswer:
            continue
    if not rows:
        raise NoAnswer("with none of the ratios the motors move the robot")
    strongest = max(row.push_force_n for row in rows)
    return RatioMap(
        rows=tuple(rows),
        pick=min(rows, key=lambda row: row.cost_s),
        fastest=min(rows, key=lambda row: row.sprint_s),
        strongest=min(
            (row for row in rows if row.push_force_n >= strongest * (1 - 1e-9)),
            key=lambda row: row.sprint_s,
        ),
        needed_force_n=needed,
    )


def _row(base: DriveBase, mix: Mix, needed: float) -> RatioRow:
    times = [(sprint(base, far), often) for far, often in mix.sprints]
    took = sum(one.time_s * often for one, often in times)
    most, wanted = push(base), push(base, wanted=needed)
    held = 0.0
    if mix.pushes:
        held = hold_times(base, (needed,), longest=max(mix.push_time, 1.0))[0]
    lost = mix.pushes * max(mix.push_time - held, 0.0)
    return RatioRow(
        ratio=base.train.ratio,
        top_speed_m_s=times[0][0].top_speed_m_s,
        sprint_s=took,
        push_force_n=most.force_n,
        limited_by=most.limited_by,
        hold_s=held,
        lost_s=lost,
        cost_s=took + lost,
        motor_a=wanted.motor_a,
    )


def even_ratios(low: float, high: float, count: int = 40) -> tuple[float, ...]:
    """Return ratios evenly spaced on a logarithmic scale.

    Parameters
    ----------
    low, high : float
        Ends. [-]
    count : int
        How many.

    Returns
    -------
    tuple of float
        Rising. [-]
    """
    return tuple(low * (high / low) ** (i / (count - 1)) for i in range(count))
