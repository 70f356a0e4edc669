"""The game as records: what the rule book and the field fix before anybody builds anything.

Plain SI values inside (metres, kilograms, radians, pascals, kelvin); units live at the edges. The field
frame is right-handed with z up and the floor at z = 0; azimuth runs anticlockwise from +x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CoefficientLaw:
    """Which law gives a drag or lift coefficient, by its name in the registry of that room.

    Parameters
    ----------
    name : str
        ``"constant"``, ``"table"`` or a published law's name.
    constant : float, optional
        The coefficient of the law ``"constant"``. [-]
    table : tuple of (float, float)
        Points (Reynolds number, C_D) or (spin parameter, C_L) of the law ``"table"``. [-]
    scale : float
        Multiplies what the law gives; 1 leaves it alone. [-]
    origin : str
        Where the value comes from: ``"measured"``, ``"published"`` or ``"assumed"``.
    """

    name: str
    constant: float | None = None
    table: tuple[tuple[float, float], ...] = ()
    scale: float = 1.0
    origin: str = "assumed"


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball, with its spread from ball to ball.

    Parameters
    ----------
    name : str
        What the crew calls it.
    diameter, diameter_sd : float
        Mean and standard deviation over the set of balls. [m]
    mass, mass_sd : float
        Mean and standard deviation over the set of balls. [kg]
    drag, lift : CoefficientLaw
        Laws of C_D and C_L. Lift is positive when backspin lifts.
    inertia_factor : float
        alpha in I = alpha m r^2: 2/5 solid, 2/3 thin shell. [-]
    spin_decay : float
        k in d(omega)/dt = -k |u| omega / L1, L1 = 2 alpha m / (rho A); 0 keeps the spin. [-]
    """

    name: str
    diameter: float
    mass: float
    drag: CoefficientLaw
    lift: CoefficientLaw
    diameter_sd: float = 0.0
    mass_sd: float = 0.0
    inertia_factor: float = 0.4
    spin_decay: float = 0.0

    @property
    def radius(self) -> float:
        """Half the mean diameter. [m]."""
        return self.diameter / 2


@dataclass(frozen=True, slots=True)
class Weather:
    """The air that the balls fly through, as the crew states it.

    Parameters
    ----------
    temperature : float
        [K]
    pressure : float
        [Pa]
    humidity : float
        Relative humidity, 0 to 1. [-]
    wind : tuple of float
        Uniform wind vector (x, y, z): where the air moves to. [m/s]
    """

    temperature: float = 293.15
    pressure: float = 101325.0
    humidity: float = 0.5
    wind: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Surface:
    """How a ball bounces off something.

    Parameters
    ----------
    restitution : float
        e_n: speed along the normal after over before, 0 to 1. [-]
    tangential : float
        e_t of the slip at the contact when the ball grips: -1 no friction, 0 leaves rolling, 1 superball. [-]
    friction : float
        mu, which limits the grip. [-]
    """

    restitution: float
    tangential: float
    friction: float


@dataclass(frozen=True, slots=True)
class Rim:
    """The solid edge of an opening: a round bar that lies around it.

    Parameters
    ----------
    bar_radius : float
        The bar's inner side is the opening's outline; 0 is a wire. [m]
    surface : Surface
        How a ball bounces off it.
    """

    bar_radius: float
    surface: Surface


@dataclass(frozen=True, slots=True)
class Board:
    """A flat rectangular plate that a ball may bounce off into an opening: a backboard.

    Parameters
    ----------
    centre : tuple of float
        Middle of its front. [m]
    azimuth, elevation : float
        Direction out of its front. [rad]
    width, height, thickness : float
        Width lies level; the thickness lies behind the front. [m]
    surface : Surface
        How a ball bounces off it.
    """

    centre: tuple[float, float, float]
    azimuth: float
    elevation: float
    width: float
    height: float
    thickness: float
    surface: Surface

    def axes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return unit vectors along width, along height, and out of the front, each of shape (3,)."""
        return plane_axes(self.azimuth, self.elevation)


@dataclass(frozen=True, slots=True)
class Target:
    """An opening that scores: a circle or any planar polygon, at any place and tilt.

    The normal points out of the front: a ball scores when it passes against the normal, its whole surface
    clear of the edge. In the plane, coordinates (u, w): u is horizontal, u = (-sin azimuth, cos azimuth, 0),
    and w = normal x u, which points up for an upright opening.

    Parameters
    ----------
    name : str
        What the crew calls it.
    centre : tuple of float
        Origin of (u, w), in the field frame. [m]
    azimuth, elevation : float
        Direction of the normal; elevation pi/2 is an opening that faces the ceiling. [rad]
    radius : float, optional
        Radius of a circular opening; None for a polygon. [m]
    corners : tuple of (float, float)
        Corners (u, w) of a polygon, anticlockwise seen from the front. [m]
    points : float
        What a ball through it is worth.
    rim : Rim, optional
        Its solid edge; None: an edge that a ball must not touch.
    board : Board, optional
        Its backboard.
    """

    name: str
    centre: tuple[float, float, float]
    azimuth: float
    elevation: float
    radius: float | None = None
    corners: tuple[tuple[float, float], ...] = ()
    points: float = 1.0
    rim: Rim | None = None
    board: Board | None = None

    def axes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return unit vectors (u, w, normal), each of shape (3,), in the field frame."""
        return plane_axes(self.azimuth, self.elevation)


def plane_axes(azimuth: float, elevation: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Axes (u, w, normal) of a plane: u is level, w = normal x u.

    Parameters
    ----------
    azimuth, elevation : float
        Direction of the normal. [rad]

    Returns
    -------
    tuple of ndarray, each of shape (3,)
        Unit vectors in the field frame.
    """
    sin_a, cos_a = math.sin(azimuth), math.cos(azimuth)
    sin_e, cos_e = math.sin(elevation), math.cos(elevation)
    normal = np.array([cos_e * cos_a, cos_e * sin_a, sin_e])
    u = np.array([-sin_a, cos_a, 0.0])
    w = np.array([-sin_e * cos_a, -sin_e * sin_a, cos_e])  # normal x u
    return u, w, normal


@dataclass(frozen=True, slots=True)
class Prism:
    """An upright solid over a convex footprint: a box, a robot, or the ground a robot sweeps along a line.

    Parameters
    ----------
    name : str
        What the crew calls it.
    footprint : tuple of (float, float)
        Convex corners (x, y), anticlockwise seen from above. [m]
    bottom, top : float
        Heights. [m]
    surface : Surface, optional
        How a ball bounces off it; None: a ball that touches it goes no further.
    """

    name: str
    footprint: tuple[tuple[float, float], ...]
    bottom: float
    top: float
    surface: Surface | None = None


@dataclass(frozen=True, slots=True)
class Post:
    """An upright round post.

    Parameters
    ----------
    name : str
        What the crew calls it.
    x, y, radius, bottom, top : float
        Axis, radius and heights. [m]
    surface : Surface, optional
        How a ball bounces off it; None: a ball that touches it goes no further.
    """

    name: str
    x: float
    y: float
    radius: float
    bottom: float
    top: float
    surface: Surface | None = None


Obstacle = Prism | Post


@dataclass(frozen=True, slots=True)
class Defender:
    """An opposing robot that may stand in the way.

    Parameters
    ----------
    name : str
        What the crew calls it.
    solid : Prism
        Where it can be: its box at one place, or the hull of all places along a line. A shot that clears
        the hull clears the robot wherever on the line it stands.
    """

    name: str
    solid: Prism


@dataclass(frozen=True, slots=True)
class FiringPosition:
    """A place to fire from, and how well the robot comes back to it.

    Parameters
    ----------
    name : str
        What the crew calls it.
    x, y : float
        Where the release point stands over the floor when the robot is where it should be. [m]
    place_sd : float
        Standard deviation of the release point in x and in y, each time the robot comes back. [m]
    heading_sd : float
        Standard deviation of the robot's heading, and with it of the aim. [rad]
    targets : tuple of str
        Targets fired at from here; empty means all.
    needed : bool
        Whether a launcher that can't serve this position is out.
    """

    name: str
    x: float
    y: float
    place_sd: float
    heading_sd: float
    targets: tuple[str, ...] = ()
    needed: bool = True


@dataclass(frozen=True, slots=True)
class Limits:
    """What the event allows on one robot. None: no limit stated.

    Parameters
    ----------
    motors : int, optional
        Motors that the launcher may use.
    stored_energy : float, optional
        Energy stored before a shot. [J]
    mass : float, optional
        Launcher's mass. [kg]
    length, width, height : float, optional
        Box that the launcher must fit. [m]
    """

    motors: int | None = None
    stored_energy: float | None = None
    mass: float | None = None
    length: float | None = None
    width: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Game:
    """Everything that is fixed before the robot is built.

    Parameters
    ----------
    name : str
        Title.
    field_length, field_width : float
        The floor spans 0 to length in x, 0 to width in y. [m]
    ball : Ball
        The ball, or the set of balls.
    targets, positions, obstacles, defenders
        In the order in which the crew wrote them.
    weather : Weather
        Air and wind.
    limits : Limits
        What the event allows.
    origin : str
        ``"rules"`` for a real event, ``"invented"`` for a made-up one.
    bounces : int
        How often a ball may touch floor, board, rim or obstacle before it goes in, and still score; 0: it
        must go in directly.
    floor : Surface, optional
        How a ball bounces off the floor; None: a ball that touches it goes no further.
    """

    name: str
    field_length: float
    field_width: float
    ball: Ball
    targets: tuple[Target, ...]
    positions: tuple[FiringPosition, ...]
    obstacles: tuple[Obstacle, ...] = ()
    defenders: tuple[Defender, ...] = ()
    weather: Weather = field(default_factory=Weather)
    limits: Limits = field(default_factory=Limits)
    origin: str = "rules"
    bounces: int = 0
    floor: Surface | None = None

    def target(self, name: str) -> Target:
        """Return the target of that name; KeyError when there is none."""
        return {t.name: t for t in self.targets}[name]

    def position(self, name: str) -> FiringPosition:
        """Return the firing position of that name; KeyError when there is none."""
        return {p.name: p for p in self.positions}[name]

    def shots_wanted(self) -> tuple[tuple[FiringPosition, Target], ...]:
        """Return every (position, target) pair that the crew means to fire."""
        return tuple(
            (position, target)
            for position in self.positions
            for target in self.targets
            if not position.targets or target.name in position.targets
        )
