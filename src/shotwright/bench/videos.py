"""Measure shots on a clip: find the ball, fix the scale, fit the flight, tell the spin."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import NotEstimated, in_words
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import check_positive, parse_quantity
from shotwright.bench.one_flight import law_of
from shotwright.bench.video_marks import marked_spins
from shotwright.bench.video_results import FilmedLaunch, TrackRow, VideoResult
from shotwright.bench.video_scale import TypedScale, plane_of, read_lens, read_pixel, straightened
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.trials.measure.ball_spin import SpinFromMark
from shotwright.trials.measure.ball_tracks import Track, TrackPoint, corrected, tracks_in
from shotwright.trials.measure.clip import Found, find_in, open_clip
from shotwright.trials.measure.flight_fit import FittedFlight, Priors
from shotwright.trials.measure.launch_on_film import measure_launch
from shotwright.trials.measure.lens import Lens, fitting

Moved = Mapping[int, tuple[float, float] | None]

_WIDTH = 640.0  # px of the residual plot


@dataclass(frozen=True, slots=True)
class TypedVideo:
    """What else a person says of a clip.

    Parameters
    ----------
    first, last : int, optional
        Frames to look at, counted from 0.
    filmed_at : float, optional
        Frames a second at which it was filmed, when it was saved slower. [1/s]
    release : str, optional
        Pixel at which the ball leaves the launcher.
    drag, lift : str, optional
        Factor on the drag law, and S = r omega / v, when they are not to be fitted.
    mark : {"", "dot", "stripe"}
        What is painted on the ball.
    spin_near : str, optional
        Where its spin is expected.
    readout : str, optional
        Time from a frame's first row to its last, of a sensor that reads row by row.
    moved : tuple of str
        Corrections: ``"57=640.5,211"`` puts the ball of frame 57 there, ``"57="`` takes the frame out.
    """

    first: int | None = None
    last: int | None = None
    filmed_at: float | None = None
    release: str | None = None
    drag: str | None = None
    lift: str | None = None
    mark: str = ""
    spin_near: str | None = None
    readout: str | None = None
    moved: tuple[str, ...] = ()


def ball_on_film(
    project: Path | None, diameter: str | None = None, mass: str | None = None, drag: str | None = None
) -> FlightModel:
    """Return ball and air: the project's, or as typed.

    Parameters
    ----------
    project : Path, optional
        Whose game to use.
    diameter, mass, drag : str, optional
        As typed; they go before the project's.

    Returns
    -------
    FlightModel
        For the fit.

    Raises
    ------
    BadInput
        Neither a project nor diameter and mass.
    """
    base, weather = None, Weather()
    if project is not None:
        from shotwright.bench.workbook import read_workbook

        game = read_workbook(project).game
        if game is not None:
            base, weather = game.ball, game.weather
    if base is None:
        if diameter is None or mass is None:
            raise BadInput(
                "say how large and heavy the ball is: --diameter and --mass, or a project with a game",
                field="diameter" if diameter is None else "mass",
            )
        law = CoefficientLaw("constant", constant=0.5, origin="assumed")
        base = Ball("ball", 1.0, 1.0, law, CoefficientLaw("cross", origin="assumed"))
    changes: dict[str, object] = {}
    if diameter is not None:
        metres = parse_quantity(diameter, "length", "diameter")
        changes |= {
            "diameter": check_positive(metres, "diameter", diameter, "a diameter"),
            "diameter_sd": 0.0,
        }
    if mass is not None:
        changes |= {"mass": check_positive(parse_quantity(mass, "mass", "mass"), "mass", mass, "a mass")}
    if drag is not None:
        changes |= {"drag": law_of(drag, "drag")}
    return flight_model(dataclasses.replace(base, **changes), weather)  # type: ignore[arg-type]  # names above


def measure_video(
    file: Path,
    model: FlightModel,
    scale: TypedScale | None = None,
    typed: TypedVideo | None = None,
    *,
    name: str = "",
    progress: Progress = silent,
    found: Found | None = None,
    picture_width: float = _WIDTH,
) -> VideoResult:
    """Measure the shots on a clip.

    Parameters
    ----------
    file : Path
        MP4 or MOV.
    model : FlightModel
        Ball and air.
    scale : TypedScale, optional
        Scale and vertical; the ball's size and a level camera by default.
    typed : TypedVideo, optional
        What else is known.
    name : str
        How messages name the clip.
    progress : Progress
        Told how far it is.
    found : Found, optional
        What was found in this clip before: then it is not decoded again.
    picture_width : float
        Of the residuals' picture. [px]

    Returns
    -------
    VideoResult
        Each shot's launch with its interval, or the reason why there is none.

    Raises
    ------
    BadInput
        The clip can't be used, or something typed can't be read.
    """
    scale, typed = scale or TypedScale(), typed or TypedVideo()
    clip = open_clip(file, name)
    lens = read_lens(scale.lens) if scale.lens else None
    first, last = _range(typed)
    if found is None:
        found = find_in(clip, first, last, progress)
    lens = fitting(lens, found.width, found.height) if lens else None
    factor, rate = _clock(found, typed)
    tracks = tracks_in(
        found.frames, found.times, found.candidates, diameter=model.ball.diameter, time_factor=factor
    )
    thrown = [track for track in tracks if not track.after_bounce]
    moved = read_moved(typed.moved)
    times = dict(zip(found.frames.tolist(), (found.times * factor).tolist(), strict=True))
    thrown = _corrected(thrown, moved, times)
    spins = marked_spins(clip, thrown, typed.mark, typed.spin_near)
    shots = tuple(
        _one(number, track, spins[number - 1], found, model, scale, typed, lens, picture_width)
        for number, track in enumerate(thrown, 1)
    )
    words = _words(shots, len(tracks) - len(thrown), found, rate)
    head = clip.head
    return VideoResult(
        clip.name,
        clip.sha256,
        head.codec,
        found.width,
        found.height,
        len(found.frames),
        rate,
        head.even,
        shots,
        words,
    )


def _range(typed: TypedVideo) -> tuple[int, int | None]:
    first, last = typed.first or 0, typed.last
    if first < 0 or (last is not None and last < first):
        raise BadInput(f"frames {first} to {last} are no range; the first frame is 0", field="frames")
    return first, last


def _clock(found: Found, typed: TypedVideo) -> tuple[float, float]:
    """Seconds of the world for one of the clip, and frames a second of the world."""
    if len(found.times) < 2:
        raise BadInput("one frame shows no motion; name more of them", field="frames")
    saved = (len(found.times) - 1) / float(found.times[-1] - found.times[0])
    if typed.filmed_at is None:
        return 1.0, saved
    if not (math.isfinite(typed.filmed_at) and 1.0 <= typed.filmed_at <= 20_000.0):
        raise BadInput(f"{typed.filmed_at:g} frames a second is no rate; e.g. 240", field="filmed_at")
    return saved / typed.filmed_at, typed.filmed_at


def read_moved(typed: Sequence[str]) -> dict[int, tuple[float, float] | None]:
    """Read corrections of a track.

    Parameters
    ----------
    typed : sequence of str
        ``"57=640.5,211"`` or ``"57="``.

    Returns
    -------
    dict
        Frame and pixel, or None to take it out.

    Raises
    ------
    BadInput
        One can't be read.
    """
    moved: dict[int, tuple[float, float] | None] = {}
    for text in typed:
        frame, equals, spot = text.partition("=")
        if not equals or not frame.strip().isdigit():
            raise BadInput(
                f"{text!r} is no correction; type 57=640.5,211, or 57= to leave it out", field="moved"
            )
        moved[int(frame)] = read_pixel(spot, "moved") if spot.strip() else None
    return moved


def _corrected(tracks: list[Track], moved: Moved, times: dict[int, float]) -> list[Track]:
    """Put each correction into the track that it lies in or nearest to."""
    if not moved:
        return tracks
    for frame in moved:
        if frame not in times:
            raise BadInput(f"frame {frame} was not looked at", field="moved")
    if not tracks:
        spots = {k: spot for k, spot in moved.items() if spot is not None}
        if len(spots) < 2:
            return tracks
        return [_by_hand_alone(spots, times)]
    mine: list[dict[int, tuple[float, float] | None]] = [{} for _ in tracks]
    for frame, spot in moved.items():
        gaps = [max(t.frames[0] - frame, frame - t.frames[1], 0) for t in tracks]
        mine[gaps.index(min(gaps))][frame] = spot
    return [corrected(t, m, times) if m else t for t, m in zip(tracks, mine, strict=True)]


def _by_hand_alone(spots: Mapping[int, tuple[float, float]], times: dict[int, float]) -> Track:
    return Track(tuple(TrackPoint(k, times[k], *spots[k], math.nan, 0.0, 1.0, True) for k in sorted(spots)))


def _priors(typed: TypedVideo) -> Priors:
    priors = Priors()
    for field in ("drag", "lift"):
        text = getattr(typed, field)
        if text is None:
            continue
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = math.nan
        if not math.isfinite(value) or (field == "drag" and value < 0):
            raise BadInput(
                f"{text!r} is not a number, e.g. {'1.0' if field == 'drag' else '0.2'}", field=field
            )
        priors = dataclasses.replace(priors, **{field: value, f"{field}_sd": 0.0})
    return priors


def _one(
    number: int,
    track: Track,
    spin: SpinFromMark | NotEstimated,
    found: Found,
    model: FlightModel,
    scale: TypedScale,
    typed: TypedVideo,
    lens: Lens | None,
    picture_width: float,
) -> FilmedLaunch:
    seen = _straight(track, typed, lens, found)
    first, last = track.frames
    ball = model.ball
    plane, by_ball = plane_of(scale, lens, seen, ball.diameter, ball.diameter_sd, found.height)
    release = straightened([read_pixel(typed.release, "release")], lens)[0] if typed.release else None
    try:
        launch, fit = measure_launch(seen, plane, model, _priors(typed), release, scaled_by_ball=by_ball)
    except NoAnswer as reason:
        rows = tuple(_row(point) for point in track.points)
        return FilmedLaunch(number, first, last, NotEstimated(str(reason)), spin, plane.told_by, rows)
    rows = tuple(
        dataclasses.replace(_row(point), residual_x_px=float(dx), residual_y_px=float(dy), used=bool(kept))
        for point, (dx, dy), kept in zip(track.points, fit.residuals, fit.kept, strict=True)
    )
    return FilmedLaunch(
        number, first, last, launch, spin, plane.told_by, rows, _picture(number, track, fit, picture_width)
    )


def _straight(track: Track, typed: TypedVideo, lens: Lens | None, found: Found) -> Track:
    """The track through a perfect lens, each row at its own time."""
    points = track.points
    if typed.readout:
        if found.height > found.width:
            raise BadInput("rows are read across a picture held upright; film it lying", field="readout")
        whole = parse_quantity(typed.readout, "time", "readout")
        points = tuple(dataclasses.replace(p, time=p.time + whole * p.y / found.height) for p in points)
    if lens is not None:
        straight = lens.straight(np.array([[p.x, p.y] for p in points]))
        points = tuple(
            dataclasses.replace(p, x=float(x), y=float(y)) for p, (x, y) in zip(points, straight, strict=True)
        )
    return dataclasses.replace(track, points=points)


def _row(point: TrackPoint) -> TrackRow:
    return TrackRow(
        point.frame, point.time, point.x, point.y, point.radius, point.length, point.confidence, point.by_hand
    )


def _picture(number: int, track: Track, fit: FittedFlight, width: float) -> str:
    from shotwright.notebook.figures.track_residuals import track_residuals

    return track_residuals(
        [p.time for p in track.points],
        fit.residuals[:, 0].tolist(),
        fit.residuals[:, 1].tolist(),
        fit.kept.tolist(),
        key=f"residuals-{number}",
        width=width,
        title=f"Shot {number}: centres seen less the flight fitted",
    ).svg()


def _words(shots: Sequence[FilmedLaunch], bounces: int, found: Found, rate: float) -> tuple[str, ...]:
    words = [f"{len(found.frames)} frames of {found.width} x {found.height} pixels, {rate:.4g} a second."]
    if not shots:
        words.append(
            "No flight of a ball was found. It must fall, keep its size and stand out from what is "
            "behind it; name the frames, or put it by hand in a few of them."
        )
    for shot in shots:
        start = f"Shot {shot.number} (frames {shot.first_frame} to {shot.last_frame})"
        launch = shot.launch
        if isinstance(launch, NotEstimated):
            words.append(f"{start}: not measured: {launch.reason}.")
            continue
        speed, elevation = in_words(launch.speed_m_s, "m/s"), in_words(launch.elevation_deg, "°")
        words.append(f"{start}: speed {speed}, elevation {elevation}; scale from {shot.told_by}.")
        words += [f"Shot {shot.number}: {caution}" for caution in launch.cautions]
        words += _spin_words(shot)
    if bounces:
        pieces = "piece of flight follows" if bounces == 1 else "pieces of flight follow"
        words.append(f"{bounces} {pieces} a bounce and {'is' if bounces == 1 else 'are'} no shot.")
    return tuple(words)


def _spin_words(shot: FilmedLaunch) -> list[str]:
    spin = shot.spin
    if isinstance(spin, NotEstimated):
        return []
    words = [f"Shot {shot.number}: backspin {in_words(spin.spin_rev_s, 'rev/s')}, from the mark on the ball."]
    if spin.others_rev_s:
        alike = ", ".join(f"{one:.1f}" for one in spin.others_rev_s)
        words.append(
            f"Only rates from {spin.slowest_told_rev_s:.1f} to {spin.fastest_told_rev_s:.1f} rev/s can be "
            f"told at this frame rate; {alike} rev/s would look the same."
        )
    return words
