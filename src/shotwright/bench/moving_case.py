"""One prototype at one firing position, before it moves; and the settings that hit once it does."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.progress import Progress
from shotwright.bench.moving_records import MovingCurve
from shotwright.bench.workbook import Workbook
from shotwright.choice.hit import as_scatter, launcher_from_trials
from shotwright.choice.setting import best_setting, release_point
from shotwright.flight.aiming import aim_point, aims_through
from shotwright.flight.chance import Aim, Scatter, Surroundings, surroundings
from shotwright.flight.model import FlightModel, flight_model
from shotwright.flight.moving import STANDING, Motion, MovingAim
from shotwright.flight.moving_aims import (
    Limits,
    aims_at_elevation,
    aims_at_speed,
    arrives,
    follow,
    nearest_aim,
    setting_change,
)
from shotwright.flight.moving_chance import COLUMNS
from shotwright.flight.moving_family import FASTEST, ShotFamily, shot_family
from shotwright.game.records import FiringPosition, Game, Obstacle, Target
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]

_BALLS = 6000
_SEARCH_DRAWS = 120
_CURVE = np.linspace(-1.0, 1.0, 25)


@dataclass(frozen=True, slots=True)
class Case:
    """What is fixed before the motion is."""

    model: FlightModel
    game: Game
    prototype: Prototype
    position: FiringPosition
    target: Target
    obstacles: tuple[Obstacle, ...]
    point: FloatArray
    goal: FloatArray
    base: Aim
    scatter: Scatter | None
    no_chance: str
    origin: str
    around: Surroundings
    normals: FloatArray

    @property
    def bearing(self) -> float:
        """Direction of the target over the floor. [rad]."""
        flat = self.goal[:2] - self.point[:2]
        return math.atan2(flat[1], flat[0])

    @property
    def limits(self) -> Limits:
        """Of the prototype."""
        p = self.prototype
        return Limits(p.speed_low, p.speed_high, p.elevation_low, p.elevation_high)

    def family(self, motion: Motion) -> ShotFamily:
        """All settings that hit out of a motion."""
        fastest = 1.3 * self.prototype.speed_high if self.prototype.speed_high else FASTEST
        return shot_family(
            self.model,
            self.target,
            self.point,
            motion,
            self.base.spin_parameter,
            goal=self.goal,
            fastest=fastest,
        )


def make_case(
    book: Workbook,
    position: str | None,
    target: str | None,
    prototype: str | None,
    defended: bool,
    seed: int,
    progress: Progress,
) -> Case:
    """Collect what is fixed before the motion is: who fires, from where, at what, and how well.

    Parameters
    ----------
    book : Workbook
        The loaded project.
    position, target, prototype : str or None
        Which; None where there is only one.
    defended : bool
        With the defenders in the way.
    seed : int
        Of the draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Case
        With the best standing setting.

    Raises
    ------
    BadInput
        More than one position, target or prototype to choose from.
    NoAnswer
        Nothing hits even when standing.
    """
    game = book.needed_game()
    pairs = book.pairs(position, target)
    if len(pairs) != 1:
        some = ", ".join(f"{p.name} at {t.name}" for p, t in pairs[:6]) or "none"
        raise BadInput(f"name one position and one target; there is: {some}", field="position")
    prototypes = book.some_prototypes((prototype,) if prototype else ())
    if len(prototypes) != 1:
        names = ", ".join(p.name for p in prototypes) or "none yet"
        raise BadInput(f"name one prototype; there is: {names}", field="prototype")
    (place, opening), launcher = pairs[0], prototypes[0]
    model = flight_model(game.ball, game.weather)
    obstacles = (*game.obstacles, *(d.solid for d in game.defenders)) if defended else game.obstacles
    around = surroundings(place, game.ball, launcher.spin_parameter_sd)
    rng = np.random.default_rng([seed, 7])
    scatter, why, origin = None, "", "no trials"
    progress(0.05, "standing setting")
    point = release_point(launcher, place)
    try:
        spread = launcher_from_trials(model, game, launcher, book.trials_of(launcher.name), rng)
        scatter, origin = as_scatter(spread.spread), spread.origin
    except NoAnswer as reason:
        why = str(reason)
    normals = rng.standard_normal((_BALLS, len(COLUMNS)))
    if scatter is not None:
        some_draws = replace(
            scatter,
            **{f.name: np.ravel(getattr(scatter, f.name))[:_SEARCH_DRAWS] for f in fields(scatter)},
        )
        shot = best_setting(
            model, game.ball, launcher, place, opening, some_draws, around, obstacles, normals[:, :8]
        ).shot
        u, w, _ = opening.axes()
        goal = np.asarray(opening.centre) + shot.crossing[0] * u + shot.crossing[1] * w
        base = shot.aim
    else:
        middle = np.array([(launcher.elevation_low + launcher.elevation_high) / 2])
        (aim,) = aims_through(model, opening, point, middle, launcher.spin_parameter)
        if aim is None:
            raise NoAnswer(
                f"{launcher.name} does not reach {opening.name} from {place.name} even when standing"
            )
        base, goal = aim, aim_point(opening)
    return Case(
        model,
        game,
        launcher,
        place,
        opening,
        obstacles,
        point,
        goal,
        base,
        scatter,
        why,
        origin,
        around,
        normals,
    )


def standing_aim(case: Case, speed: float | None, elevation: float | None) -> MovingAim:
    """Find the setting without motion: the best one, or that with the held value nearest to it.

    Parameters
    ----------
    case : Case
        Who fires at what.
    speed, elevation : float or None
        Held value, at most one. [m/s], [rad]

    Returns
    -------
    MovingAim
        Without motion.
    """
    family = case.family(STANDING)
    if speed is not None:
        found = list(aims_at_speed(family, speed))
    elif elevation is not None:
        found = list(aims_at_elevation(family, elevation))
    else:
        nearest = nearest_aim(family, case.base, Limits())
        found = [nearest] if nearest is not None else []
    found = [one for one in found if arrives(family, case.target, one)] or found
    if not found:
        raise NoAnswer("no setting with the held value hits even when standing")
    return min(found, key=lambda one: setting_change(one.aim, case.base))


def moving_aims(
    case: Case, motion: Motion, standing: MovingAim, speed: float | None, elevation: float | None
) -> list[tuple[str, MovingAim]]:
    """Find the settings that hit out of a motion, each under its name.

    Parameters
    ----------
    case : Case
        Who fires at what.
    motion : Motion
        Of the robot.
    standing : MovingAim
        Setting without motion.
    speed, elevation : float or None
        Held value, at most one. [m/s], [rad]

    Returns
    -------
    list of (str, MovingAim)
        Empty when none hits.
    """
    try:
        family = case.family(motion)
    except NoAnswer:
        return []
    if speed is not None:
        return [("as asked", one) for one in aims_at_speed(family, speed)]
    if elevation is not None:
        return [("as asked", one) for one in aims_at_elevation(family, elevation)]
    found = []
    nearest = nearest_aim(family, standing.aim, case.limits)
    if nearest is not None:
        found.append(("least change", nearest))
    found += [("same elevation", one) for one in aims_at_elevation(family, standing.aim.elevation)]
    found += [("same speed", one) for one in aims_at_speed(family, standing.aim.speed)]
    kept: list[tuple[str, MovingAim]] = []
    for kind, one in found:
        if all(setting_change(one.aim, other.aim) > 1e-6 for _, other in kept):
            kept.append((kind, one))
    return kept


def bare_family(case: Case) -> ShotFamily:
    """A family without members: where from, where to, which ball."""
    return ShotFamily(
        case.model,
        case.point,
        case.goal,
        STANDING,
        case.base.spin_parameter,
        None,
        FASTEST,
        np.empty(0),
        np.empty((0, 3)),
    )


def aim_curves(
    case: Case, standing: MovingAim, motion: Motion, along: FloatArray, aside: FloatArray
) -> tuple[MovingCurve, ...]:
    """Follow the aim at the standing elevation over the robot's speed, towards the target and to its left.

    Parameters
    ----------
    case : Case
        Who fires at what.
    standing : MovingAim
        Setting without motion.
    motion : Motion
        Of the robot; sets how far the curves go.
    along, aside : ndarray, shape (2,)
        Unit vectors over the floor, towards the target and to its left. [-]

    Returns
    -------
    tuple of MovingCurve
        One for each direction.
    """
    top = max(2.0, 1.5 * math.hypot(*motion.velocity))
    family, still = bare_family(case), standing.aim
    curves = []
    for name, way in (("driving towards the target", along), ("driving to the left", aside)):
        leads: dict[float, tuple[float, float]] = {}
        for side in (1.0, -1.0):
            last = (standing.ball(case.model.radius)[0], standing.time)
            for share in sorted(s for s in _CURVE.tolist() if s * side >= 0 or s == 0)[:: int(side)]:
                x, y = share * top * way
                moving = replace(family, motion=Motion((float(x), float(y))))
                one = follow(moving, *last, lambda aim: aim.elevation - still.elevation)
                if one is None:
                    break
                last = (one.ball(case.model.radius)[0], one.time)
                if not arrives(moving, case.target, one):
                    continue
                turned = (one.aim.azimuth - still.azimuth + math.pi) % (2 * math.pi) - math.pi
                leads[share] = (math.degrees(turned), one.aim.speed)
        found = [leads.get(share) for share in _CURVE.tolist()]
        curves.append(
            MovingCurve(
                direction=name,
                robot_m_s=tuple((top * _CURVE).tolist()),
                lead_deg=tuple(None if one is None else one[0] for one in found),
                speed_m_s=tuple(None if one is None else one[1] for one in found),
            )
        )
    return tuple(curves)
