"""What a clip says of one shot: launch values with their intervals, or the reason why it can't say."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.base.plain import Result
from shotwright.flight.lift import NONE, lift_of
from shotwright.flight.model import FlightModel
from shotwright.trials.measure.ball_tracks import Track, second_rate
from shotwright.trials.measure.flight_fit import (
    DRAG,
    ELEVATION,
    LIFT,
    SPEED,
    FittedFlight,
    Priors,
    X,
    Z,
    fit_flight,
    settle,
)
from shotwright.trials.measure.flight_plane import FlightPlane

FloatArray = NDArray[np.float64]

LEAST_FRAMES = 6
GRAVITY_RANGE = 0.05  # of 9.8: beyond it clock or scale are wrong
SIZE_RANGE = 0.04  # share by which the ball may grow or shrink while it flies in one plane
_WORST_SPEED, _WORST_ELEVATION = 0.05, math.radians(3.0)
_LITTLE_TOLD = 0.85  # of the prior's standard deviation: then the clip has said next to nothing
_METHOD = "least squares through the track, Student's t"


@dataclass(frozen=True, slots=True)
class MeasuredLaunch(Result):
    """One shot as a clip shows it.

    Parameters
    ----------
    first_frame, last_frame : int
        The frames used, counted from 0.
    frames_used, frames_left_out : int
        Frames in which the ball was found and counts; those that lie too far off the path.
    speed_m_s, elevation_deg : Estimate
        At release.
    release_time_s : float
        On the clip's clock.
    release_x_m, release_z_m : Estimate
        Release point in the flight plane, from its origin.
    drag_scale : Estimate or NotEstimated
        Factor on the drag law of the game's ball.
    lift_coefficient : Estimate or NotEstimated
        Effective, at release: what lift the path shows, whatever made it.
    spin_from_lift_rev_s : Estimate or NotEstimated
        Backspin that would make this lift by the ball's law; an effect, no count of turns.
    gravity_m_s2 : Estimate
        What gravity comes to when it is fitted too.
    size_change_percent : Estimate
        By how much the ball grows along the path.
    centre_sd_px : float
        Standard deviation of a centre, each axis.
    correlation : float
        Of the errors of speed and elevation. [-]
    to_the_right : bool
        Which way it flies in the picture.
    cautions : tuple of str
        What to know before it is used.
    """

    first_frame: int
    last_frame: int
    frames_used: int
    frames_left_out: int
    speed_m_s: Estimate
    elevation_deg: Estimate
    release_time_s: float
    release_x_m: Estimate
    release_z_m: Estimate
    drag_scale: Estimated
    lift_coefficient: Estimated
    spin_from_lift_rev_s: Estimated
    gravity_m_s2: Estimate
    size_change_percent: Estimate
    centre_sd_px: float
    correlation: float
    to_the_right: bool
    cautions: tuple[str, ...]


def measure_launch(
    track: Track,
    plane: FlightPlane,
    model: FlightModel,
    priors: Priors | None = None,
    release: tuple[float, float] | None = None,
    *,
    scaled_by_ball: bool = False,
) -> tuple[MeasuredLaunch, FittedFlight]:
    """Fit a track and say what it shows, or why it can't.

    Parameters
    ----------
    track : Track
        The ball, frame by frame; pixels with the lens straightened.
    plane : FlightPlane
        From pixels to metres.
    model : FlightModel
        Ball and air.
    priors : Priors, optional
        On drag and lift.
    release : tuple of float, optional
        Where the ball left the launcher: the path is carried back to the point nearest to it. The first
        frame of the track by default. [px]
    scaled_by_ball : bool
        Whether the ball's size gave the scale, so that it can't check it.

    Returns
    -------
    MeasuredLaunch, FittedFlight
        The launch, and the fit behind it.

    Raises
    ------
    NoAnswer
        Too few frames, a clock or scale that makes gravity another, a ball that leaves the plane, a path
        that is none of a ball, or so little of it that nothing follows.
    """
    if len(track.points) < LEAST_FRAMES:
        raise NoAnswer(
            f"the ball is seen in {len(track.points)} frames; at least {LEAST_FRAMES} are needed: film with "
            "more frames a second, or from further away"
        )
    change, change_sd = size_change(track, plane)
    if abs(change) - 2.0 * change_sd > SIZE_RANGE:
        raise NoAnswer(
            f"the ball {'grows' if change > 0 else 'shrinks'} by {100 * abs(change):.0f} % along its path: "
            "it leaves the plane that the scale holds for; film square to the flight"
        )
    _check_parabola(track, plane)
    settled = settle(track, plane, model, priors)
    _check_gravity(settled.gravity, settled.gravity_sd)
    start = None if release is None else _time_near(track, release)
    fit = fit_flight(track, plane, model, priors, start, settled)
    used = int(fit.kept.sum())
    if used < LEAST_FRAMES:
        raise NoAnswer(
            f"only {used} of {len(track.points)} points lie on one path; correct the track by hand"
        )
    if fit.sigma > max(0.25 * track.radius, 1.5):
        raise NoAnswer(
            f"the points lie {fit.sigma:.1f} pixels off any path of a ball; name the frames of the flight"
        )
    if fit.sd(SPEED) > _WORST_SPEED * fit.values[SPEED] or fit.sd(ELEVATION) > _WORST_ELEVATION:
        raise NoAnswer(
            f"speed would be known to {100 * fit.sd(SPEED) / fit.values[SPEED]:.0f} % and elevation to "
            f"{math.degrees(fit.sd(ELEVATION)):.0f}° only: too little of the flight is seen"
        )
    cautions = _cautions(track, plane, model, fit, release is None, scaled_by_ball=scaled_by_ball)
    return _told(
        track,
        model,
        priors or Priors(),
        fit,
        (settled.gravity, settled.gravity_sd),
        (change, change_sd),
        cautions,
    ), fit


def _check_parabola(track: Track, plane: FlightPlane) -> None:
    """Refuse at once what falls far too fast or slowly: a parabola is within a third of any ball's fall."""
    t = np.array([p.time for p in track.points])
    places = plane.to_metres(np.array([[p.x, p.y] for p in track.points]))
    parts = [second_rate(t, places[:, axis]) for axis in (0, 1)]
    fall, doubt = math.hypot(parts[0][0], parts[1][0]), math.hypot(parts[0][1], parts[1][1])
    if not 0.6 < fall / 9.8 < 1.6 and abs(fall - 9.8) > 5.0 * doubt:
        _check_gravity(fall, 0.0)


def _check_gravity(value: float, sd: float) -> None:
    if abs(value / 9.8 - 1.0) <= GRAVITY_RANGE + 2.0 * sd / 9.8:
        return
    factor = math.sqrt(abs(value) / 9.8)
    hint = "check the scale"
    for times in (2, 4, 8, 16, 32):
        if abs(1.0 / factor / times - 1.0) < 0.12:
            hint = f"it looks like slow motion saved {times} times too slow: give the rate it was filmed at"
    raise NoAnswer(
        f"the ball falls with {value:.2f} m/s² on this clip, not with 9.8 ± 5 %: its clock or its scale is "
        f"wrong; {hint}"
    )


def size_change(track: Track, plane: FlightPlane) -> tuple[float, float]:
    """Growth of the ball along its path beside what the plane's perspective explains.

    Parameters
    ----------
    track, plane
        As :func:`measure_launch`.

    Returns
    -------
    change, sd : float
        Share of its size, from first to last frame; standard deviation. [-]
    """
    seen = [p for p in track.points if not p.by_hand]
    if len(seen) < 4:
        return 0.0, math.inf
    pixels = np.array([[p.x, p.y] for p in seen])
    size = np.log(np.array([p.radius for p in seen]) * plane.metres_per_pixel(pixels))
    t = np.array([p.time for p in seen])
    t = (t - t.mean()) / np.ptp(t)
    slope = float(t @ size / (t @ t))
    left = size - size.mean() - slope * t
    # light and background change the measured size by a per cent or so along a path, whatever the noise
    sd = math.hypot(math.sqrt(float(left @ left) / max(len(t) - 2, 1) / float(t @ t)), 0.005)
    return slope, sd


def _time_near(track: Track, release: tuple[float, float]) -> float:
    """Time at which the path, carried back, is nearest to a point."""
    first = track.points[: max(6, len(track.points) // 3)]
    t = np.array([p.time for p in first]) - first[0].time
    places = np.array([[p.x, p.y] for p in first])
    coefficients = np.polyfit(t, places, 2 if len(first) > 4 else 1)
    speed = float(np.hypot(*coefficients[-2]))
    reach = math.hypot(release[0] - first[0].x, release[1] - first[0].y) / max(speed, 1e-9)
    back = np.linspace(-min(2.0 * reach + 0.02, 0.5), 0.0, 2001)
    path = sum(c[:, None] * back**k for k, c in enumerate(coefficients[::-1]))
    away = np.hypot(*(np.asarray(path) - np.array(release)[:, None]))
    return first[0].time + float(back[int(np.argmin(away))])


def _interval(value: float, sd: float, freedom: float, factor: float = 1.0) -> Estimate:
    from scipy.special import stdtrit

    half = float(stdtrit(freedom, 0.975)) * sd
    return Estimate(factor * value, factor * (value - half), factor * (value + half), 0.95, _METHOD)


def _told(
    track: Track,
    model: FlightModel,
    priors: Priors,
    fit: FittedFlight,
    gravity: tuple[float, float],
    change: tuple[float, float],
    cautions: tuple[str, ...],
) -> MeasuredLaunch:
    freedom = fit.freedom
    drag: Estimated = NotEstimated("the flight seen is too short to tell it")
    lift: Estimated = drag
    spin: Estimated = drag
    if fit.sd(DRAG) < _LITTLE_TOLD * priors.drag_sd:
        drag = _interval(fit.values[DRAG], fit.sd(DRAG), freedom)
    if fit.sd(LIFT) < _LITTLE_TOLD * priors.lift_sd:
        lift, spin = _lift(model, fit)
    elif priors.lift_sd == 0.0:
        lift = spin = NotEstimated("it was given")
    if priors.drag_sd == 0.0:
        drag = NotEstimated("it was given")
    covariance = fit.covariance[SPEED, ELEVATION]
    first, last = track.frames
    return MeasuredLaunch(
        first_frame=first,
        last_frame=last,
        frames_used=int(fit.kept.sum()),
        frames_left_out=int((~fit.kept).sum()),
        speed_m_s=_interval(fit.values[SPEED], fit.sd(SPEED), freedom),
        elevation_deg=_interval(fit.values[ELEVATION], fit.sd(ELEVATION), freedom, math.degrees(1.0)),
        release_time_s=fit.start,
        release_x_m=_interval(fit.values[X], fit.sd(X), freedom),
        release_z_m=_interval(fit.values[Z], fit.sd(Z), freedom),
        drag_scale=drag,
        lift_coefficient=lift,
        spin_from_lift_rev_s=spin,
        gravity_m_s2=_interval(gravity[0], gravity[1], freedom),
        size_change_percent=_interval(change[0], change[1], freedom, 100.0),
        centre_sd_px=fit.sigma,
        correlation=covariance / max(fit.sd(SPEED) * fit.sd(ELEVATION), 1e-300),
        to_the_right=fit.right,
        cautions=cautions,
    )


def _lift(model: FlightModel, fit: FittedFlight) -> tuple[Estimated, Estimated]:
    found = _interval(fit.values[LIFT], fit.sd(LIFT), fit.freedom)
    if model.lift.code == NONE:
        return found, NotEstimated("the ball's lift law is none")

    def coefficient(s: float) -> float:
        return math.copysign(lift_of(model.lift, abs(s)), s)

    ends = replace(
        found, value=coefficient(found.value), low=coefficient(found.low), high=coefficient(found.high)
    )
    per_s = float(fit.values[SPEED]) / model.radius / (2.0 * math.pi)
    return ends, replace(found, value=per_s * found.value, low=per_s * found.low, high=per_s * found.high)


def _cautions(
    track: Track,
    plane: FlightPlane,
    model: FlightModel,
    fit: FittedFlight,
    at_first: bool,
    *,
    scaled_by_ball: bool,
) -> tuple[str, ...]:
    words = []
    left_out = int((~fit.kept).sum())
    if left_out:
        words.append(f"{left_out} of {len(track.points)} points lie too far off the path and are left out.")
    pixels = np.array([[p.x, p.y] for p in track.points])
    seen = 2.0 * float(np.median([p.radius for p in track.points] * plane.metres_per_pixel(pixels)))
    off = seen / model.ball.diameter - 1.0
    if not scaled_by_ball and abs(off) > 0.06:
        words.append(
            f"By this scale the ball measures {1000 * seen:.0f} mm, not {1000 * model.ball.diameter:.0f} mm: "
            "are the marks in the plane of the flight?"
        )
    if at_first:
        words.append(
            "Speed and elevation are those at the first frame of the track; give the release point to carry "
            "them back to it."
        )
    return tuple(words)
