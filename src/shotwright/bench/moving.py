"""Aim a prototype from a driving and turning robot, and say what errors of the motion cost."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import Estimated, NotEstimated
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.moving_case import Case, aim_curves, bare_family, make_case, moving_aims, standing_aim
from shotwright.bench.moving_records import (
    MovingFall,
    MovingSetting,
    MovingShotResult,
    MovingSource,
)
from shotwright.bench.moving_words import moving_words
from shotwright.bench.workbook import read_workbook
from shotwright.choice.moving import MovingChance, moving_chance
from shotwright.flight.chance import Aim
from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_plane
from shotwright.flight.moving import Motion, MovingAim
from shotwright.flight.moving_aims import Limits, arrives
from shotwright.flight.moving_chance import COLUMNS, MotionErrors

FloatArray = NDArray[np.float64]

SEED = 1
_ERRORS = (0.0, 0.05, 0.1, 0.2, 0.3, 0.5)  # m/s
_GROUPS = {
    "launcher's speed": ("speed",),
    "launcher's elevation": ("elevation",),
    "launcher's azimuth and the robot's heading": ("azimuth",),
    "spin": ("spin parameter",),
    "robot's place": ("x", "y"),
    "balls": ("mass", "diameter"),
    "robot's speed": ("robot velocity x", "robot velocity y"),
    "turn rate": ("turn rate",),
    "release time": ("release time",),
}


def moving_shot(
    project: Path,
    *,
    position: str | None = None,
    target: str | None = None,
    prototype: str | None = None,
    toward: str = "0 m/s",
    left: str = "0 m/s",
    turn_rate: str = "0 deg/s",
    offset_toward: str = "0 m",
    offset_left: str = "0 m",
    speed: str | None = None,
    elevation: str | None = None,
    speed_error: str = "0 m/s",
    turn_error: str = "0 deg/s",
    delay: str = "0 s",
    delay_error: str = "0 s",
    ball_turns: bool = True,
    defended: bool = False,
    svg: Path | None = None,
    seed: int = SEED,
    progress: Progress = silent,
) -> MovingShotResult:
    """Find the setting that hits out of a motion, and the chance that it does.

    Parameters
    ----------
    project : Path
        The project file.
    position, target, prototype : str, optional
        Which; may be left out where there is only one. At release the ball is over the firing position.
    toward, left : str
        Velocity of the robot's turning centre as typed: towards the target, and to the left of that line.
    turn_rate : str
        Turning to the left is positive.
    offset_toward, offset_left : str
        From the turning centre to the release point, in the same directions.
    speed, elevation : str, optional
        Hold one of them; by default the setting that changes least is sought.
    speed_error, turn_error : str
        Standard deviations of what is not known of the motion.
    delay, delay_error : str
        From command to release: mean and standard deviation.
    ball_turns : bool
        Whether the ball turns with the robot until release.
    defended : bool
        With the defenders in the way.
    svg : Path, optional
        Where to draw the aim against the robot's speed.
    seed : int
        The same seed gives the same numbers.
    progress : Progress
        Told how far it is.

    Returns
    -------
    MovingShotResult
        Settings, chances, words. `settings` is empty when nothing reaches the target out of this motion.
    """
    if speed is not None and elevation is not None:
        raise BadInput("hold the speed or the elevation, not both", field="speed")
    book = read_workbook(project)
    case = make_case(book, position, target, prototype, defended, seed, progress)
    along = np.array([math.cos(case.bearing), math.sin(case.bearing)])
    aside = np.array([-along[1], along[0]])

    def on_the_floor(one: str, other: str, kind: str, field: str) -> tuple[float, float]:
        first, second = (
            parse_quantity(one, kind, field),
            parse_quantity(other, kind, field.replace("toward", "left")),
        )
        x, y = first * along + second * aside
        return float(x), float(y)

    motion = Motion(
        on_the_floor(toward, left, "speed", "toward"),
        parse_quantity(turn_rate, "spin", "turn_rate"),
        on_the_floor(offset_toward, offset_left, "length", "offset_toward"),
        ball_turns,
    )
    errors = MotionErrors(
        parse_quantity(speed_error, "speed", "speed_error"),
        parse_quantity(turn_error, "spin", "turn_error"),
        parse_quantity(delay_error, "time", "delay_error"),
    )
    late = parse_quantity(delay, "time", "delay")
    if late < 0:
        raise BadInput(f"{delay} is not a delay; the ball leaves after the command", field="delay")
    hold = (
        parse_quantity(speed, "speed", "speed") if speed else None,
        parse_quantity(elevation, "angle", "elevation") if elevation else None,
    )
    standing = standing_aim(case, *hold)
    found = moving_aims(case, motion, standing, *hold)
    progress(0.5, "chances")
    nothing = replace(errors, velocity=0.0, turn_rate=0.0, release_time=0.0)
    pairs = [(_described(case, kind, one, standing, errors), one) for kind, one in found]
    pairs.sort(key=lambda pair: not pair[0].usable)
    best = pairs[0][1] if pairs and pairs[0][0].usable else None
    falls, sources = _costs(case, best, errors, progress)
    beyond, to_left = _uncorrected(case, standing.aim, motion)
    release_speed = float(np.linalg.norm(motion.release_velocity))
    velocity = np.array(motion.velocity)
    result = MovingShotResult(
        prototype=case.prototype.name,
        position=case.position.name,
        target=case.target.name,
        origin=case.origin,
        toward_m_s=float(velocity @ along),
        left_m_s=float(velocity @ aside),
        turn_rate_deg_s=math.degrees(motion.turn_rate),
        release_speed_m_s=release_speed,
        delay_s=late,
        command_early_m=late * release_speed,
        standing=_described(case, "standing", standing, standing, nothing),
        settings=tuple(row for row, _ in pairs),
        uncorrected_beyond_m=beyond,
        uncorrected_left_m=to_left,
        falls=falls,
        sources=sources,
        curves=aim_curves(case, standing, motion, along, aside) if svg is not None else (),
        seed=seed,
        words=(),
    )
    if svg is not None:
        draw_aims(result, svg)
    progress(1.0, "done")
    return replace(result, words=moving_words(result))


def draw_aims(found: MovingShotResult, file: Path) -> None:
    """Write the picture of the aim against the robot's speed.

    Parameters
    ----------
    found : MovingShotResult
        With its curves.
    file : Path
        Where, as SVG.
    """
    from shotwright.notebook.figures.moving_aim import MotionCurve, moving_aim

    curves = [
        MotionCurve(
            one.direction,
            *(np.array(values, dtype=float) for values in (one.robot_m_s, one.lead_deg, one.speed_m_s)),
        )
        for one in found.curves
    ]
    title = f"Aim on the move: {found.prototype} from {found.position} at {found.target}"
    text = moving_aim(curves, key="moving", width=720.0, title=title).svg()
    try:
        file.write_text(text + "\n", encoding="utf-8")
    except OSError as reason:
        raise BadInput(f"can't write {str(file)!r}: {reason.strerror or reason}", field="svg") from None


def _described(
    case: Case, kind: str, one: MovingAim, standing: MovingAim, errors: MotionErrors
) -> MovingSetting:
    aim, still = one.aim, standing.aim
    velocity, spin = one.ball(case.model.radius)
    _, _, normal = case.target.axes()
    flown = fly_to_plane(
        case.model, case.point, velocity, spin, np.asarray(case.target.centre), normal, floor=NO_FLOOR
    )
    vx, vy, vz = flown.velocity[0]
    why = _why_not(case, one)
    level = math.hypot(velocity[0], velocity[1])
    chance: Estimated = NotEstimated(why or case.no_chance)
    if not why and case.scatter is not None:
        chance = _estimate(case, one, errors)
    turned = (aim.azimuth - still.azimuth + math.pi) % (2 * math.pi) - math.pi
    return MovingSetting(
        kind=kind,
        speed_m_s=aim.speed,
        elevation_deg=math.degrees(aim.elevation),
        azimuth_deg=math.degrees(aim.azimuth),
        spin_rev_s=aim.spin(case.model.radius) / (2 * math.pi),
        lead_deg=math.degrees(turned),
        speed_change_m_s=aim.speed - still.speed,
        elevation_change_deg=math.degrees(aim.elevation - still.elevation),
        flight_time_s=one.time,
        ball_speed_m_s=float(np.linalg.norm(velocity)),
        ball_elevation_deg=math.degrees(math.atan2(velocity[2], level)),
        entry_angle_deg=math.degrees(math.atan2(-vz, math.hypot(vx, vy))),
        usable=not why,
        why_not=why,
        hit_probability=chance,
    )


def _why_not(case: Case, one: MovingAim) -> str:
    """Reason why a setting can't be used; empty when it can."""
    p, aim = case.prototype, one.aim
    speeds = f"{p.speed_low or 0:.1f} to {p.speed_high or math.inf:.1f} m/s"
    if not Limits(p.speed_low, p.speed_high).allow(aim):
        return f"it needs {aim.speed:.1f} m/s, the prototype gives {speeds}"
    if not case.limits.allow(aim):
        return (
            f"it needs {math.degrees(aim.elevation):.1f}°, the prototype gives "
            f"{math.degrees(p.elevation_low):.1f} to {math.degrees(p.elevation_high):.1f}°"
        )
    family = replace(bare_family(case), motion=one.motion)
    if not arrives(family, case.target, one):
        return "the floor comes first, or the ball comes from behind"
    if not arrives(family, case.target, one, case.obstacles):
        return "something stands in the way"
    return ""


def _chance(case: Case, one: MovingAim, errors: MotionErrors) -> MovingChance:
    assert case.scatter is not None
    return moving_chance(
        case.model,
        case.target,
        one,
        case.scatter,
        case.around,
        errors,
        case.normals,
        obstacles=case.obstacles,
    )


def _estimate(case: Case, one: MovingAim, errors: MotionErrors) -> Estimated:
    try:
        return _chance(case, one, errors).estimate
    except NoAnswer as reason:
        return NotEstimated(str(reason))


def _costs(
    case: Case, best: MovingAim | None, errors: MotionErrors, progress: Progress
) -> tuple[tuple[MovingFall, ...], tuple[MovingSource, ...]]:
    """Hit probability against the error of the robot's speed, and what the scatter is made of."""
    if best is None or case.scatter is None:
        return (), ()
    falls = []
    for k, sd in enumerate(_ERRORS):
        progress(0.5 + 0.4 * k / len(_ERRORS), f"speed known to {sd:g} m/s")
        falls.append(MovingFall(sd, _estimate(case, best, replace(errors, velocity=sd))))
    try:
        shares = _chance(case, best, errors).shot.shares(case.scatter, case.around, errors)
    except NoAnswer:
        return tuple(falls), ()
    by_name = dict(zip(COLUMNS, shares.tolist(), strict=True))
    sources = [MovingSource(name, sum(by_name[c] for c in columns)) for name, columns in _GROUPS.items()]
    return tuple(falls), tuple(sorted(sources, key=lambda one: -one.share))


def _uncorrected(case: Case, standing: Aim, motion: Motion) -> tuple[float | None, float | None]:
    """Where the ball of the standing setting crosses, beyond and to the left of the point aimed at."""
    velocity, spin = MovingAim(standing, motion, 0.0).ball(case.model.radius)
    u, w, normal = case.target.axes()
    flown = fly_to_plane(case.model, case.point, velocity, spin, np.asarray(case.target.centre), normal)
    if flown.status[0] != Status.CROSSED:
        return None, None
    away = np.array([math.cos(case.bearing), math.sin(case.bearing), 1.0])
    beyond = away - (away @ normal) * normal
    beyond /= np.linalg.norm(beyond)
    left = np.array([-math.sin(case.bearing), math.cos(case.bearing), 0.0])
    left = (left @ u) * u + (left @ w) * w
    gap = flown.position[0] - case.goal
    return float(gap @ beyond), float(gap @ (left / np.linalg.norm(left)))
