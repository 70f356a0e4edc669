"""Reference flights: high-precision solutions of stated equations of motion.

No closed form exists for quadratic drag with lift. Each row was computed by two independent integrators, a
Taylor method with 28 digits (mpmath) and a Runge-Kutta method with tolerance 1e-13 (scipy), each with the
event refined by Newton's method; they agree to 1.2e-13 of each value. Flights without lift agree with a
quadrature of the first integral (hodograph) to all digits.

Axes: x forward, z up (the plane of the flight), y left. Air of 1.225 kg/m^3 and 1.7894e-5 Pa s, gravity
9.80665 m/s^2, backspin positive, no buoyancy unless said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from shotwright.flight.crossing import Crossings, fly_to_plane
from shotwright.flight.model import FlightModel, flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Weather

SOURCE = (
    "computed by two independent integrators, Taylor method with 28 digits (mpmath) and Runge-Kutta with "
    "tolerance 1e-13 (scipy), agreeing to 1.2e-13; equations as in flight/motion.py"
)

_FOAM = Ball("foam ball", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("none"))
_TENNIS = Ball("tennis ball", 0.067, 0.0577, CoefficientLaw("stepanek"), CoefficientLaw("stepanek"))
_TABLE_TENNIS = Ball(
    "table tennis ball", 0.040, 0.0027, CoefficientLaw("constant", 0.40), CoefficientLaw("cross")
)
_BASKETBALL = Ball("basketball", 0.240, 0.600, CoefficientLaw("constant", 0.50), CoefficientLaw("cross"))
_CROSS = CoefficientLaw("cross")
_SPHERE = CoefficientLaw("haider-levenspiel")
_NONE = CoefficientLaw("none")


@dataclass(frozen=True, slots=True)
class Setup:
    """A launch along x: ball, speed [m/s], elevation [deg], height [m], backspin [rad/s], wind [m/s]."""

    ball: Ball
    speed: float
    elevation: float
    height: float
    spin: float = 0.0
    wind: tuple[float, float, float] = (0.0, 0.0, 0.0)
    buoyancy: bool = False

    def model(self) -> FlightModel:
        """Ball and air of the set-up."""
        return flight_model(
            self.ball, Weather(wind=self.wind), density=1.225, viscosity=1.7894e-5, buoyancy=self.buoyancy
        )

    def fall_to(self, height: float) -> Crossings:
        """Fly to the first fall through `height` [m]."""
        velocity, spin = launch_vectors(self.speed, math.radians(self.elevation), 0.0, self.spin)
        start = (0.0, 0.0, self.height)
        return fly_to_plane(
            self.model(), start, velocity, spin, (0.0, 0.0, height), (0.0, 0.0, 1.0), floor=-math.inf
        )


def _decaying(ball: Ball, length: float) -> Ball:
    """Return the ball with spin that decays by d(omega)/dt = -|u| omega / length [m]."""
    area = math.pi / 4 * ball.diameter**2
    own = 2 * ball.inertia_factor * ball.mass / (1.225 * area)
    return replace(ball, spin_decay=own / length)


SETUPS: dict[str, Setup] = {
    "D1": Setup(_FOAM, 10, 55, 0.6),
    "D2": Setup(replace(_FOAM, lift=_CROSS), 10, 55, 0.6, 50),
    "D3": Setup(replace(_FOAM, lift=CoefficientLaw("constant", 0.20)), 10, 55, 0.6, 50),
    "D4": Setup(replace(_FOAM, lift=_CROSS), 10, 55, 0.6, 50, (-2, 0, 0)),
    "D5": Setup(_TENNIS, 16, 35, 0.6, 200),
    "D6": Setup(_TABLE_TENNIS, 8, 45, 0.6, 250),
    "D7": Setup(_BASKETBALL, 7.3, 52, 2.1336, 6 * math.pi),
    "D8": Setup(replace(_BASKETBALL, lift=_NONE), 7.3, 52, 2.1336),
    "D9": Setup(_decaying(replace(_FOAM, lift=_CROSS), 40.0), 10, 55, 0.6, 50),
    "D10": Setup(_FOAM, 10, 55, 0.6, buoyancy=True),
    "D11": Setup(replace(_FOAM, lift=_CROSS), 10, 55, 0.6, 50, (0, 2, 0)),
    "D12": Setup(replace(_TABLE_TENNIS, drag=_SPHERE, lift=_NONE), 8, 45, 0.6),
    "D13": Setup(replace(_FOAM, drag=_SPHERE), 10, 55, 0.6),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One place on a reference flight; places [m], velocities [m/s], time [s]."""

    flight: str
    at: Literal["time", "apex", "fall"]
    time: float
    place: tuple[float, float, float]
    velocity: tuple[float, float, float]


def _planar(
    flight: str, at: Literal["time", "apex", "fall"], t: float, x: float, z: float, vx: float, vz: float
) -> Row:
    return Row(flight, at, t, (x, 0.0, z), (vx, 0.0, vz))


ROWS: tuple[Row, ...] = (
    _planar("D1", "time", 1, 4.82728340554705, 3.03549726738651, 4.21634432251459, -2.60620851134131),
    _planar("D1", "apex", 0.725381128459694, 3.63038038518933, 3.39745945006838, 4.49874227156724, 0),
    _planar("D1", "fall", 1.27177840133228, 5.93147999822541, 2, 3.90054105032277, -4.97105120365218),
    _planar("D1", "fall", 1.58145379873072, 7.0756412752314, 0.089, 3.47960847449667, -7.29778011080289),
    _planar("D2", "time", 0.5, 2.37287920437624, 3.31535744159914, 4.09122968153618, 2.86006296750377),
    _planar("D2", "time", 1, 4.2840294097209, 3.56561749176543, 3.64460859069458, -1.78924223558178),
    _planar("D2", "apex", 0.80223468615848, 3.55267850085019, 3.74381468436825, 3.76001730920283, 0),
    _planar("D2", "fall", 1.43403806544106, 5.83861204459416, 2, 3.56018982485066, -5.30695789970396),
    _planar("D2", "fall", 1.73624681293483, 6.92688812859109, 0.089, 3.66582133901923, -7.26426575692082),
    _planar("D3", "time", 1, 4.506558884005, 3.36444246861334, 3.89445962822264, -2.10377452381457),
    _planar("D3", "fall", 1.3699751793658, 5.90482743948985, 2, 3.67639345260219, -5.18876132198743),
    _planar("D4", "time", 1, 3.71699540920079, 3.7122902723005, 2.71769238111313, -1.49304044449636),
    _planar("D4", "fall", 1.49322612414304, 4.97574854730325, 2, 2.44235815831953, -5.30782573079804),
    _planar("D5", "time", 0.5, 5.85527627248086, 3.80753312631685, 10.5661663303662, 3.82487072911975),
    _planar("D5", "apex", 0.911888690408709, 9.93250340921254, 4.58205976316714, 9.31848926500066, 0),
    _planar("D5", "fall", 1.69916583921531, 16.6325926253725, 2, 7.81970603704825, -6.34138472043979),
    _planar("D6", "time", 0.5, 2.10144599813361, 2.19600831825666, 3.37629414381252, 0.870858025032304),
    _planar("D6", "fall", 1.15829715954927, 4.14043380137414, 1, 3.03532774711514, -4.15800702384004),
    _planar("D6", "fall", 1.36668376134445, 4.78698601899045, 0.02, 3.18904947516178, -5.19490534364963),
    _planar("D7", "apex", 0.582623140027872, 2.46627242455098, 3.7876773779909, 4.06028348242343, 0),
    _planar("D7", "fall", 0.978923917479475, 4.05065869927977, 3.048, 3.94629519005223, -3.69941368802227),
    _planar("D8", "apex", 0.564417826311299, 2.4417641177609, 3.73202130252455, 4.19174148683018, 0),
    _planar("D8", "fall", 0.940382027234754, 3.9880493414797, 3.048, 4.02758689363036, -3.61098605148708),
    _planar("D9", "time", 1, 4.28879822649073, 3.56093998155577, 3.65061005467975, -1.79793039733621),
    _planar("D9", "fall", 1.43223711867449, 5.83806403260101, 2, 3.55613607816991, -5.30922470158388),
    _planar("D10", "fall", 1.30835724827526, 6.07117573805982, 2, 3.86237978221264, -5.00392600819662),
    Row(
        "D11",
        "time",
        1,
        (4.25054590987193, 0.318281241431325, 3.55486953438786),
        (3.58896367836766, 0.51987003711528, -1.79399013597678),
    ),
    Row(
        "D11",
        "fall",
        1.43224231359908,
        (5.77455370964004, 0.576464287868526, 2),
        (3.50569149857303, 0.683173233826809, -5.28495184804141),
    ),
    _planar("D12", "fall", 0.907827444402308, 3.82850309624735, 1, 3.24958016343787, -3.76499632314714),
    _planar("D13", "fall", 1.27129340043671, 5.92773479673267, 2, 3.89964866033573, -4.96854447439382),
)


def fly_row(row: Row) -> Crossings:
    """Fly a row: to its time, to the fall through its height, or to the fall through the apex less 0.1 mm.

    Parameters
    ----------
    row : Row
        The row.

    Returns
    -------
    Crossings
        One flight.
    """
    setup = SETUPS[row.flight]
    if row.at == "fall":
        return setup.fall_to(row.place[2])
    velocity, spin = launch_vectors(setup.speed, math.radians(setup.elevation), 0.0, setup.spin)
    limit = row.time if row.at == "time" else 10.0
    start, far = np.array([0.0, 0.0, setup.height]), (0.0, 0.0, row.place[2] - 1e-4)
    plane = far if row.at == "apex" else (0.0, 0.0, -1e6)
    return fly_to_plane(
        setup.model(), start, velocity, spin, plane, (0.0, 0.0, 1.0), floor=-math.inf, time_limit=limit
    )
