"""A snail cam from what the crew gives: sizes chosen, edge drawn, and everything judged on the drawn edge."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.build.cam_outline import CamOutline, Drop, cam_outline
from shotwright.build.cam_rolling import OutlineTorque, outline_torque, roll
from shotwright.build.force_curve import ForceCurve
from shotwright.build.snail_cam import (
    EvenTorque,
    Follower,
    fall_time,
    least_prime_radius,
    pitch_curve,
    plain_peak_ratio,
)

FloatArray = NDArray[np.float64]
_USUAL = Drop()
ROUNDNESS = 2.0  # roller radii: least curvature of the pitch curve (guide, Norton, from memory)


@dataclass(frozen=True, slots=True, eq=False)
class CamWish:
    """What a cam shall do.

    Parameters
    ----------
    curve : ForceCurve
        Of the spring while it is wound.
    rise, blend : float
        Angle over which it winds; of that with rising torque. [rad]
    roller : float
        Radius of the follower's roller. [m]
    offset : float
        Of the follower's line. [m]
    prime : float, optional
        Prime radius; the least that keeps the guides when left out. [m]
    pressure_angle : float
        Largest allowed where the prime radius is chosen. [rad]
    inner : float
        Least radius of the low sector: hub and wall. [m]
    drop : Drop
        Clearance and relief.
    friction : float
        Of the follower in its guide. [-]
    """

    curve: ForceCurve
    rise: float
    roller: float
    blend: float = 0.0
    offset: float = 0.0
    prime: float | None = None
    pressure_angle: float = math.radians(30)
    inner: float = 0.0
    drop: Drop = _USUAL
    friction: float = 0.0


@dataclass(frozen=True, slots=True)
class CamFigures(Result):
    """What a cam asks for and gives.

    Parameters
    ----------
    torque_n_m : float
        Constant torque without friction.
    most_torque_n_m : float
        Largest with the friction of the follower's guide.
    plain_peak_n_m, plain_over_constant : float
        Peak of a plain snail of the same rise, and what that is of the constant torque.
    usable_j : float
        Work of the stroke.
    stroke_m : float
        Of the follower.
    rise_deg, blend_deg : float
        Angles.
    roller_m, prime_m, base_m, low_m, largest_m : float
        Radii: of the roller, to its centre when low, of the base circle, of the low sector, of the nose.
    offset_m : float
        Of the follower's line.
    pressure_angle_deg, pressure_angle_at_deg : float
        Largest, and where.
    least_curvature_m : float
        Of the pitch curve where it bulges; undercut begins at the roller's radius.
    start_rate_m_rad : float
        How fast the follower is picked up.
    contact_n : float
        Largest force between roller and edge, without friction.
    release_deg : float
        Where the roller leaves the nose.
    nose_turn_deg, nose_angle_deg : float
        Turn over the nose; angle of the material there.
    sink_m, lost_j : float
        How far the roller sinks over the nose; work that at most is lost there.
    low_sector_deg : float
        From release to the next rise.
    contact_deviation, mean_deviation : float
        Largest deviation from constant torque on the drawn edge: at a place of contact; of the mean over half
        a degree. Beyond the blend.
    corners : int
        Of the drawn edge.
    """

    torque_n_m: float
    most_torque_n_m: float
    plain_peak_n_m: float
    plain_over_constant: float
    usable_j: float
    stroke_m: float
    rise_deg: float
    blend_deg: float
    roller_m: float
    prime_m: float
    base_m: float
    low_m: float
    largest_m: float
    offset_m: float
    pressure_angle_deg: float
    pressure_angle_at_deg: float
    least_curvature_m: float
    start_rate_m_rad: float
    contact_n: float
    release_deg: float
    nose_turn_deg: float
    nose_angle_deg: float
    sink_m: float
    lost_j: float
    low_sector_deg: float
    contact_deviation: float
    mean_deviation: float
    corners: int


@dataclass(frozen=True, slots=True, eq=False)
class CamDesign:
    """A cam, drawn and judged.

    Parameters
    ----------
    law : EvenTorque
        Its lift.
    follower : Follower
        With the prime radius that was given or chosen.
    edge : CamOutline
        To be cut.
    figures : CamFigures
        In numbers.
    torque : OutlineTorque
        Over one turn, from the drawn edge.
    """

    law: EvenTorque
    follower: Follower
    edge: CamOutline
    figures: CamFigures
    torque: OutlineTorque


def design_cam(wish: CamWish, *, coarse: bool = False) -> CamDesign:
    """Choose what is left open, draw the edge, roll the roller on it, and judge it.

    Parameters
    ----------
    wish : CamWish
        What it shall do.
    coarse : bool
        For a preview: a corner a degree, and no judgement on the torque's last percent.

    Returns
    -------
    CamDesign
        With the edge.

    Raises
    ------
    BadInput, NoAnswer
        A size that can't be, or no cam that does it.
    """
    law = EvenTorque(wish.curve, wish.rise, wish.blend)
    need = wish.inner + wish.drop.clearance + wish.roller
    if wish.prime is None:
        prime = least_prime_radius(
            law, wish.roller, offset=wish.offset, pressure_angle=wish.pressure_angle, roundness=ROUNDNESS,
            at_least=max(need, _for_the_flank(wish)),
        )  # fmt: skip
    else:
        prime = wish.prime
    if prime < need - 1e-9:
        raise BadInput(
            f"{1e3 * prime:.4g} mm leaves {1e3 * (prime - wish.roller - wish.drop.clearance):.4g} mm for hub "
            f"and wall, which need {1e3 * wish.inner:.4g} mm: take {1e3 * need:.4g} mm or more, or a smaller "
            "hub",
            field="prime",
        )
    follower = Follower(wish.roller, prime, wish.offset)
    edge = cam_outline(law, follower, wish.drop, coarse=coarse)
    turn = np.linspace(0.0, 2 * math.pi, (361 if coarse else 721))
    told = outline_torque(roll(edge.points, follower, turn), wish.curve)
    return CamDesign(law, follower, edge, _figures(wish, law, follower, edge, told), told)


def _for_the_flank(wish: CamWish) -> float:
    """Prime radius with which the leaning drop flank still meets the low sector, a little on the large side.

    The flank passes the axis at r_f + |offset| + R tan(relief) at most, R being the nose's distance.
    """
    lean = math.tan(wish.drop.relief)
    beside = 2 * wish.roller + abs(wish.offset) + wish.drop.clearance
    return 1.02 * (beside + wish.curve.stroke * lean) / (1 - lean)


def _figures(
    wish: CamWish, law: EvenTorque, follower: Follower, edge: CamOutline, told: OutlineTorque
) -> CamFigures:
    curve = wish.curve
    look = np.linspace(0.0, law.rise, 721)
    y, first, _ = law.lift(look)
    path = pitch_curve(law, follower, look)
    phi = np.abs(path.pressure_angle)
    worst = int(np.argmax(phi))
    bulging = path.radius[path.radius > 0]
    winding = (told.turn > law.blend) & (told.turn < law.rise)
    pairs = winding[1:] & winding[:-1]
    guide = 1 - wish.friction * np.tan(path.pressure_angle)
    if not (guide > 0).all():
        raise BadInput(
            f"with a friction of {wish.friction:g} the follower jams in its guide at a pressure angle of "
            f"{math.degrees(phi[worst]):.3g} deg; raise the prime radius",
            field="friction",
        )
    sunk = float(curve.work(max(curve.stroke - edge.sink, 0.0)))
    return CamFigures(
        torque_n_m=law.torque,
        most_torque_n_m=float((law.torque_at(look) / guide).max()),
        plain_peak_n_m=plain_peak_ratio(curve) * curve.total_work / law.rise,
        plain_over_constant=plain_peak_ratio(curve) * curve.total_work / law.rise / law.torque,
        usable_j=curve.total_work,
        stroke_m=curve.stroke,
        rise_deg=math.degrees(law.rise),
        blend_deg=math.degrees(law.blend),
        roller_m=follower.roller,
        prime_m=follower.prime,
        base_m=follower.base,
        low_m=edge.low_radius,
        largest_m=edge.nose_radius,
        offset_m=follower.offset,
        pressure_angle_deg=math.degrees(phi[worst]),
        pressure_angle_at_deg=math.degrees(look[worst]),
        least_curvature_m=float(bulging.min()) if bulging.size else math.inf,
        start_rate_m_rad=float(first[0]),
        contact_n=float((curve.force(y) / np.cos(path.pressure_angle)).max()),
        release_deg=math.degrees(edge.release),
        nose_turn_deg=math.degrees(edge.nose_turn),
        nose_angle_deg=math.degrees(edge.nose_angle),
        sink_m=edge.sink,
        lost_j=curve.total_work - sunk,
        low_sector_deg=360 - math.degrees(edge.release),
        contact_deviation=float(np.abs(told.torque[winding] / law.torque - 1).max(initial=0.0)),
        mean_deviation=float(np.abs(told.mean[pairs] / law.torque - 1).max(initial=0.0)),
        corners=len(edge.points),
    )


@dataclass(frozen=True, slots=True)
class Fall(Result):
    """Whether the follower is down before the cam comes round.

    Parameters
    ----------
    time_s : float
        From the release to the front stop.
    turn_deg : float
        How far the cam turns meanwhile.
    spare_deg : float
        Of the low sector.
    most_speed_rad_s : float
        Cam's speed at which nothing would be spare.
    pick_up_m_s : float
        Speed with which the follower is picked up.
    """

    time_s: float
    turn_deg: float
    spare_deg: float
    most_speed_rad_s: float
    pick_up_m_s: float


def fall_beside(design: CamDesign, mass: float, speed: float) -> Fall:
    """Compare the fall with the cam's turning.

    Parameters
    ----------
    design : CamDesign
        The cam.
    mass : float
        What the spring drives. [kg]
    speed : float
        Of the cam. [rad/s]

    Returns
    -------
    Fall
        With what is spare.
    """
    time = fall_time(design.law.curve, mass)
    low = 2 * math.pi - design.edge.release
    return Fall(
        time_s=time,
        turn_deg=math.degrees(speed * time),
        spare_deg=math.degrees(low - speed * time),
        most_speed_rad_s=low / time,
        pick_up_m_s=design.figures.start_rate_m_rad * speed,
    )
