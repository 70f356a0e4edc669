"""Prototypes, trials and shots as records. SI inside; angles in radians."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Literal

Origin = Literal["measured", "simulated"]
Surface = Literal["floor", "plane"]


@dataclass(frozen=True, slots=True)
class Prototype:
    """A launcher that a crew built to try.

    Parameters
    ----------
    name : str
        What the crew calls it.
    mechanism : str
        The trade's word: ``"wheel and hood"``, ``"opposed wheels"``, ``"spring piston"``, ...
    release_height : float
        Height of the ball's centre at release. [m]
    speed_low, speed_high : float, optional
        Speeds that it can be set to; None when not known yet. [m/s]
    elevation_low, elevation_high : float
        Elevations that it can be set to; equal for a fixed one. [rad]
    spin_parameter, spin_parameter_sd : float
        Backspin as S = r omega / v, the same at all speeds, and its standard deviation. [-]
    motors : int, optional
        Motors that it uses.
    stored_energy : float, optional
        Energy stored before a shot. [J]
    mass, length, width, height : float, optional
        [kg], [m], [m], [m]
    remark : str
        Anything.
    """

    name: str
    mechanism: str = ""
    release_height: float = 0.0
    elevation_low: float = 0.0
    elevation_high: float = 0.0
    speed_low: float | None = None
    speed_high: float | None = None
    spin_parameter: float = 0.0
    spin_parameter_sd: float = 0.0
    motors: int | None = None
    stored_energy: float | None = None
    mass: float | None = None
    length: float | None = None
    width: float | None = None
    height: float | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Trial:
    """One prototype at one setting on one day with one set of balls.

    Parameters
    ----------
    name : str
        Unique in the project.
    prototype : str
        Name of the prototype.
    date : datetime.date, optional
        Day of firing.
    setting : str
        The setting in the crew's words.
    elevation : float, optional
        Elevation that was set; None when nobody measured it. [rad]
    release_height : float, optional
        Overrides the prototype's. [m]
    spin_parameter : float, optional
        Overrides the prototype's S = r omega / v. [-]
    surface : {"floor", "plane"}
        What the balls were measured on: a level floor, or an upright plane across the aim line.
    surface_at : float
        Height of the floor that was marked, or distance of the plane from the release point. [m]
    mark_sd : float
        Standard deviation of reading one mark, each axis. [m]
    speed_sd, elevation_sd : float, optional
        Standard deviation of reading one shot's measured speed and elevation; None when nobody stated it, and
        then measured launch values fix the mean but tell nothing of the spread. [m/s], [rad]
    same_ball : bool
        All shots with one and the same ball: its scatter understates that of a match.
    position, target : str, optional
        Firing position and target, when it was fired at the real thing and hits were counted.
    origin : {"measured", "simulated"}
        Simulated trials are never shown as measured ones.
    remark : str
        Anything.
    """

    name: str
    prototype: str
    date: datetime.date | None = None
    setting: str = ""
    elevation: float | None = None
    release_height: float | None = None
    spin_parameter: float | None = None
    surface: Surface = "floor"
    surface_at: float = 0.0
    mark_sd: float = 0.01
    speed_sd: float | None = None
    elevation_sd: float | None = None
    same_ball: bool = False
    position: str | None = None
    target: str | None = None
    origin: Origin = "measured"
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Shot:
    """One ball fired in a trial.

    On a floor a mark is (along, cross), on an upright plane (height, cross); `cross` is positive to the left
    of the aim line. Shots are never deleted: `set_aside` holds the reason why one is left out.

    Parameters
    ----------
    uid : str
        Made where the shot was logged; the same uid twice is the same shot.
    trial : str
        Name of the trial.
    order : int
        Place in the order of firing, from 1; unique in the trial.
    ball : str, optional
        Which ball.
    along, cross, height : float, optional
        Mark in the trial's frame, from the floor under the release point. [m]
    speed, elevation, spin : float, optional
        Measured launch values of this shot; spin is backspin positive. [m/s], [rad], [rad/s]
    hit : bool, optional
        Scored, when fired at the real target.
    remark : str
        Anything.
    set_aside : str, optional
        Reason why the shot is left out of every figure; None when it counts.
    source : str
        Where it came from: ``"shots.csv row 7"``, ``"typed"``, ...
    speed_sd, elevation_sd, spin_sd : float, optional
        Standard deviation of the measured launch value, where whoever measured it told one.
        [m/s], [rad], [rad/s]
    clip : str, optional
        SHA-256 of the video file that the launch values were measured on.
    first_frame, last_frame : int, optional
        The frames of that file that were used, counted from 0.
    """

    uid: str
    trial: str
    order: int
    ball: str | None = None
    along: float | None = None
    cross: float | None = None
    height: float | None = None
    speed: float | None = None
    elevation: float | None = None
    spin: float | None = None
    hit: bool | None = None
    remark: str = ""
    set_aside: str | None = None
    source: str = ""
    speed_sd: float | None = None
    elevation_sd: float | None = None
    spin_sd: float | None = None
    clip: str | None = None
    first_frame: int | None = None
    last_frame: int | None = None
