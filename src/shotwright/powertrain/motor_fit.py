"""A motor from a few readings of speed, current and torque."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate
from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class Reading(Result):
    """One measurement at a motor that runs steadily.

    Parameters
    ----------
    voltage : float
        At its terminals. [V]
    current : float
        [A]
    speed : float
        [rad/s]
    torque : float
        [N m]
    """

    voltage: float
    current: float
    speed: float
    torque: float


@dataclass(frozen=True, slots=True)
class MotorFit(Result):
    """Constants of a motor from readings, with 95 % intervals.

    Parameters
    ----------
    resistance_ohm, constant_v_s, free_current_a : Estimate
        R, K and I0 of the linear model.
    largest_misfit : float
        Largest difference of a reading from the line, as a share of the largest voltage or torque. [-]
    readings : int
        How many there were.
    """

    resistance_ohm: Estimate
    constant_v_s: Estimate
    free_current_a: Estimate
    largest_misfit: float
    readings: int


def fit_motor(readings: Sequence[Reading]) -> MotorFit:
    """Fit V = I R + K omega and T = K I - K I0 to readings, both lines at once, by least squares.

    Voltages are scaled by their largest, torques by theirs: equal relative doubt. n readings give 2 n
    equations for the three numbers R, K and K I0; intervals come from Student's t with 2 n - 3 degrees of
    freedom, that of I0 by the delta method.

    Parameters
    ----------
    readings : sequence of Reading
        At least two, at different loads.

    Returns
    -------
    MotorFit
        The constants with intervals.

    Raises
    ------
    BadInput
        Too few readings, all at one load, or no motor fits.

    Notes
    -----
    Two readings leave one degree of freedom: the interval is honest, and wide. Take four or more.
    """
    from scipy.special import stdtrit  # the whole of scipy.stats takes a second to load

    if len(readings) < 2:
        raise BadInput(f"{len(readings)} reading; at least two at different loads are needed")
    rows = np.array([[r.voltage, r.current, r.speed, r.torque] for r in readings])
    volts, amps, speeds, torques = rows.T
    scale = np.repeat([np.abs(volts).max(), np.abs(torques).max()], len(rows))
    if not (np.isfinite(rows).all() and (scale > 0).all()):
        raise BadInput("the readings hold no voltage or no torque; type both for each")
    zero, one = np.zeros_like(amps), np.ones_like(amps)
    matrix = np.vstack([np.column_stack([amps, speeds, zero]), np.column_stack([zero, amps, -one])])
    matrix /= scale[:, None]
    wanted = np.concatenate([volts, torques]) / scale
    unit = np.abs(matrix).max(axis=0)
    found, _, rank, _ = np.linalg.lstsq(matrix / unit, wanted, rcond=1e-9)
    if rank < 3:
        raise BadInput("the readings are all at one load; take one near idle and one near stall")
    found = found / unit
    misfit = wanted - matrix @ found
    free = len(wanted) - 3
    covariance = np.linalg.inv((matrix / unit).T @ (matrix / unit)) / np.outer(unit, unit)
    covariance *= misfit @ misfit / free
    resistance, constant, friction = found
    if not (resistance > 0 and constant > 0):
        raise BadInput("no motor fits these readings; check units and signs")
    slope = np.array([0.0, -friction / constant**2, 1 / constant])
    t = float(stdtrit(free, 0.975))

    def interval(value: float, variance: float) -> Estimate:
        half = t * float(np.sqrt(max(variance, 0.0)))
        method = f"least squares, Student t with {free} degrees of freedom"
        return Estimate(float(value), float(value) - half, float(value) + half, method=method)

    return MotorFit(
        resistance_ohm=interval(resistance, covariance[0, 0]),
        constant_v_s=interval(constant, covariance[1, 1]),
        free_current_a=interval(friction / constant, slope @ covariance @ slope),
        largest_misfit=float(np.abs(misfit).max()),
        readings=len(rows),
    )
