"""What measuring a clip hands to the shells."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.estimate import NotEstimated, in_words
from shotwright.base.plain import Result
from shotwright.trials.measure.ball_spin import SpinFromMark
from shotwright.trials.measure.launch_on_film import MeasuredLaunch


@dataclass(frozen=True, slots=True)
class TrackRow(Result):
    """The ball in one frame.

    Parameters
    ----------
    frame : int
        Counted from 0.
    time_s : float
        On the world's clock.
    x_px, y_px : float
        Centre at mid-exposure.
    radius_px, streak_px : float
        Of the ball, of its streak.
    confidence : float
        0 to 1.
    by_hand : bool
        Whether a person put it there.
    residual_x_px, residual_y_px : float, optional
        Seen less computed; None when no flight was fitted.
    used : bool
        Whether it counts in the fit.
    """

    frame: int
    time_s: float
    x_px: float
    y_px: float
    radius_px: float
    streak_px: float
    confidence: float
    by_hand: bool
    residual_x_px: float | None = None
    residual_y_px: float | None = None
    used: bool = True


@dataclass(frozen=True, slots=True)
class FilmedLaunch(Result):
    """One shot found in a clip.

    Parameters
    ----------
    number : int
        In the clip, from 1.
    first_frame, last_frame : int
        Of its track.
    launch : MeasuredLaunch or NotEstimated
        Its values, or why the clip can't tell them.
    spin : SpinFromMark or NotEstimated
        From a mark on the ball.
    told_by : str
        What fixed scale and vertical.
    track : tuple of TrackRow
        The ball, frame by frame.
    svg : str
        Residuals as a picture; empty when nothing was fitted.
    """

    number: int
    first_frame: int
    last_frame: int
    launch: MeasuredLaunch | NotEstimated
    spin: SpinFromMark | NotEstimated
    told_by: str
    track: tuple[TrackRow, ...]
    svg: str = ""

    def to_dict(self) -> dict[str, object]:
        """Return the shot as plain data, without its picture."""
        plain = super(FilmedLaunch, self).to_dict()
        plain.pop("svg")
        return plain


@dataclass(frozen=True, slots=True)
class VideoResult(Result):
    """What a clip shows.

    Parameters
    ----------
    clip : str
        Its file name.
    sha256 : str
        Of the file.
    codec : str
        How it is compressed.
    width, height : int
        Of a frame, upright. [px]
    frames : int
        Looked at.
    frames_per_s : float
        On the world's clock, on average.
    even : bool
        Whether all frames last equally long.
    shots : tuple of FilmedLaunch
        In the order of firing.
    words : tuple of str
        The findings in sentences.
    """

    clip: str
    sha256: str
    codec: str
    width: int
    height: int
    frames: int
    frames_per_s: float
    even: bool
    shots: tuple[FilmedLaunch, ...]
    words: tuple[str, ...]

    def to_dict(self) -> dict[str, object]:
        """Return everything as plain data, without pictures."""
        plain = super(VideoResult, self).to_dict()
        plain["shots"] = [shot.to_dict() for shot in self.shots]
        return plain


@dataclass(frozen=True, slots=True)
class ShotRow(Result):
    """One shot as a line of a table.

    Parameters
    ----------
    number : int
        In the clip.
    frames, speed, elevation, drag, lift, spin, gravity : str
        In words; empty when not measured.
    """

    number: int
    frames: str
    speed: str = ""
    elevation: str = ""
    drag: str = ""
    lift: str = ""
    spin: str = ""
    gravity: str = ""


def shot_rows(found: VideoResult) -> tuple[ShotRow, ...]:
    """Write each shot of a clip as a line of a table.

    Parameters
    ----------
    found : VideoResult
        What the clip shows.

    Returns
    -------
    tuple of ShotRow
        In the order of firing.
    """
    return tuple(_row(shot) for shot in found.shots)


def _row(shot: FilmedLaunch) -> ShotRow:
    frames = f"{shot.first_frame}-{shot.last_frame}"
    launch = shot.launch
    if isinstance(launch, NotEstimated):
        return ShotRow(shot.number, frames)
    spin = "" if isinstance(shot.spin, NotEstimated) else in_words(shot.spin.spin_rev_s)
    return ShotRow(
        shot.number,
        frames,
        in_words(launch.speed_m_s),
        in_words(launch.elevation_deg),
        "" if isinstance(launch.drag_scale, NotEstimated) else in_words(launch.drag_scale),
        "" if isinstance(launch.lift_coefficient, NotEstimated) else in_words(launch.lift_coefficient),
        spin,
        in_words(launch.gravity_m_s2),
    )
