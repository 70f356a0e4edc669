"""A ball in its weather, ready to fly; and launch values as vectors."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.base.errors import BadInput
from shotwright.flight.air import moist_air_density, viscosity_of_air
from shotwright.flight.drag import DRAG_LAWS, drag_in_range, pack_drag
from shotwright.flight.laws import PackedLaw, stated_range
from shotwright.flight.lift import LIFT_LAWS, lift_in_range, pack_lift
from shotwright.game.records import Ball, Weather

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FlightModel:
    """A ball in its weather: all that a flight depends on but the launch.

    Parameters
    ----------
    ball : Ball
        The ball.
    weather : Weather
        The air and the wind.
    gravity : float
        [m/s^2]
    density : float
        Of the air. [kg/m^3]
    viscosity : float
        Dynamic viscosity of the air. [Pa s]
    buoyancy : bool
        Whether the displaced air carries its share of the ball.
    drag, lift : PackedLaw
        The ball's coefficients.
    """

    ball: Ball
    weather: Weather
    gravity: float
    density: float
    viscosity: float
    buoyancy: bool
    drag: PackedLaw
    lift: PackedLaw

    @property
    def radius(self) -> float:
        """Half the ball's mean diameter. [m]."""
        return self.ball.radius

    @property
    def wind(self) -> tuple[float, float, float]:
        """Where the air moves to. [m/s]."""
        return self.weather.wind


def flight_model(
    ball: Ball,
    weather: Weather,
    *,
    gravity: float = STANDARD_GRAVITY,
    buoyancy: bool = True,
    density: float | None = None,
    viscosity: float | None = None,
) -> FlightModel:
    """Put a ball into its weather.

    Parameters
    ----------
    ball : Ball
        The ball.
    weather : Weather
        Temperature, pressure, humidity, wind.
    gravity : float
        [m/s^2]
    buoyancy : bool
        Whether the displaced air carries its share of the ball.
    density, viscosity : float, optional
        Override what the weather gives. [kg/m^3], [Pa s]

    Returns
    -------
    FlightModel
        The model.

    Raises
    ------
    BadInput
        A ball without size or mass, a law that does not exist, weather that does not exist.

    Notes
    -----
    Not modelled: added mass (half the displaced air, 0.7 % of a basketball), wind that changes with height or
    time, a turning spin axis, spin that decays faster when it is not across the flight.
    """
    if not (math.isfinite(ball.mass) and ball.mass > 0):
        raise BadInput(f"{ball.mass:g} kg is not a mass; it must be greater than zero", field="ball.mass")
    if not (math.isfinite(ball.diameter) and ball.diameter > 0):
        raise BadInput(
            f"{ball.diameter:g} m is not a diameter; it must be greater than zero", field="ball.diameter"
        )
    if not (math.isfinite(ball.inertia_factor) and ball.inertia_factor > 0 and ball.spin_decay >= 0):
        raise BadInput(
            f"inertia factor {ball.inertia_factor:g} and spin decay {ball.spin_decay:g}: the first must be "
            "greater than zero (2/5 solid, 2/3 thin shell), the second not negative",
            field="ball.inertia_factor",
        )
    if not all(math.isfinite(w) for w in weather.wind):
        raise BadInput(f"{weather.wind} is not a wind; type three speeds", field="weather.wind")
    if density is None:
        density = moist_air_density(weather.temperature, weather.pressure, weather.humidity)
    if viscosity is None:
        viscosity = viscosity_of_air(weather.temperature)
    return FlightModel(
        ball=ball,
        weather=weather,
        gravity=gravity,
        density=density,
        viscosity=viscosity,
        buoyancy=buoyancy,
        drag=pack_drag(ball.drag),
        lift=pack_lift(ball.lift),
    )


def launch_vectors(
    speed: ArrayLike, elevation: ArrayLike, azimuth: ArrayLike, spin: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Velocity and spin vectors of launches.

    Backspin is positive: its axis is (sin azimuth, -cos azimuth, 0).

    Parameters
    ----------
    speed : float or ndarray
        [m/s]
    elevation, azimuth : float or ndarray
        [rad]
    spin : float or ndarray
        Backspin. [rad/s]

    Returns
    -------
    velocity : ndarray, shape (n, 3)
        [m/s]
    spin : ndarray, shape (n, 3)
        [rad/s]

    Examples
    --------
    >>> velocity, spin = launch_vectors(2.0, 0.0, 0.0, 5.0)
    >>> velocity.tolist(), spin.tolist()
    ([[2.0, 0.0, 0.0]], [[0.0, -5.0, 0.0]])
    """
    v, e, a, w = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(one, dtype=float)) for one in (speed, elevation, azimuth, spin))
    )
    sin_a, cos_a = np.sin(a), np.cos(a)
    velocity = np.column_stack([v * np.cos(e) * cos_a, v * np.cos(e) * sin_a, v * np.sin(e)])
    # + 0.0 turns -0.0 into 0.0
    return velocity, np.column_stack([w * sin_a, -w * cos_a, np.zeros_like(w)]) + 0.0


def extrapolations(model: FlightModel, speeds: ArrayLike, spin: float) -> tuple[str, ...]:
    """Say which laws are used outside the range for which they are stated.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    speeds : float or ndarray
        Speeds along the flight; its slowest and its fastest point are enough. [m/s]
    spin : float
        Magnitude of the spin. [rad/s]

    Returns
    -------
    tuple of str
        One sentence for each law that is stretched; empty when none is.
    """
    u = np.maximum(np.atleast_1d(np.asarray(speeds, dtype=float)), 1e-9)
    reynolds = model.density * u * model.ball.diameter / model.viscosity
    s = model.radius * abs(spin) / u
    remarks = []
    if not drag_in_range(model.ball.drag, reynolds, s).all():
        law = model.ball.drag
        by_spin = DRAG_LAWS[law.name].variable == "spin_parameter"
        remarks.append(_stretched("drag", law.name, stated_range(law, DRAG_LAWS), s if by_spin else reynolds))
    if not lift_in_range(model.ball.lift, s).all():
        law = model.ball.lift
        remarks.append(_stretched("lift", law.name, stated_range(law, LIFT_LAWS), s))
    return tuple(remarks)


def _stretched(what: str, name: str, stated: tuple[float, float], at: FloatArray) -> str:
    variable = "spin parameter" if stated[1] < 100 else "Reynolds number"
    return (
        f"the {what} law '{name}' is stated for a {variable} of {stated[0]:.3g} to {stated[1]:.3g}; "
        f"this flight has {at.min():.3g} to {at.max():.3g}"
    )
