"""What drives a launcher by being bent: coil springs and rubber.

Numbers or arrays, SI.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

# Rayleigh, The Theory of Sound (1877), section 156: a spring moves as if a third of its mass sat at its end.
RAYLEIGH = 1.0 / 3.0
_NEWTON_STEPS = 40


def end_mass_root(mass_ratio: ArrayLike) -> FloatArray:
    r"""Smallest root of beta tan(beta) = m_s/M: the frequency of a heavy spring with a mass at its end.

    omega = beta sqrt(k/m_s), with k the spring's stiffness, m_s its mass.

    Parameters
    ----------
    mass_ratio : float or ndarray
        Spring's mass over the mass at its end, m_s/M > 0; inf for a bare spring. [-]

    Returns
    -------
    ndarray
        beta, between 0 and pi/2. [rad]

    Examples
    --------
    >>> round(float(end_mass_root(1.0)), 10)
    0.860333589
    """
    ratio = np.asarray(mass_ratio, dtype=float)
    low, high = np.zeros_like(ratio), np.full_like(ratio, np.pi / 2)
    # sin(b) b - ratio cos(b) rises through zero once; halving first keeps Newton from leaving the bracket.
    with np.errstate(invalid="ignore"):
        for _ in range(_NEWTON_STEPS + 15):
            middle = 0.5 * (low + high)
            above = np.where(
                np.isinf(ratio),
                False,
                middle * np.sin(middle) > np.where(np.isinf(ratio), 0.0, ratio) * np.cos(middle),
            )
            low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.asarray(0.5 * (low + high))


def spring_share(spring_mass: ArrayLike, end_mass: ArrayLike) -> FloatArray:
    r"""Share of a spring's mass that moves with the mass at its end, from the exact lowest frequency.

    .. math:: p = 1/\beta^2 - M/m_s

    A third for a light spring (Rayleigh's rule), rising to 4/pi^2 = 0.405 for a bare one.

    Parameters
    ----------
    spring_mass, end_mass : float or ndarray
        [kg]

    Returns
    -------
    ndarray
        p. [-]

    Notes
    -----
    It is the share that gives the right frequency. In one stroke from rest the spring swings in all its
    shapes together, so a speed computed with it is good to a few percent of the spring's part.

    Examples
    --------
    >>> round(float(spring_share(0.06, 0.32)), 4)
    0.3374
    """
    ms, end = np.broadcast_arrays(np.asarray(spring_mass, dtype=float), np.asarray(end_mass, dtype=float))
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(ms > 0, ms / end, 1.0)
        exact = 1 / end_mass_root(ratio) ** 2 - 1 / ratio
        # Below a thousandth the difference of two large numbers has lost its digits; the series has not.
        light = 1 / 3 + ratio / 45
    return np.asarray(np.where(ms <= 0, RAYLEIGH, np.where(ratio < 1e-3, light, exact)))


def coil_stiffness(
    wire: ArrayLike, diameter: ArrayLike, turns: ArrayLike, shear_modulus: ArrayLike
) -> FloatArray:
    """Stiffness of a round-wire coil spring, k = G d^4/(8 D^3 n).

    Parameters
    ----------
    wire, diameter : float or ndarray
        Wire diameter d, mean coil diameter D. [m]
    turns : float or ndarray
        Active turns n. [-]
    shear_modulus : float or ndarray
        G of the wire. [Pa]

    Returns
    -------
    ndarray
        [N/m]

    Examples
    --------
    >>> round(float(coil_stiffness(0.004, 0.030, 18, 80e9)), 5)
    5267.48971

    References
    ----------
    Shigley's Mechanical Engineering Design, 10th ed., chapter 10.
    """
    d, D, n, G = (np.asarray(v, dtype=float) for v in (wire, diameter, turns, shear_modulus))
    return np.asarray(G * d**4 / (8 * D**3 * n))


def rubber_force(
    length: ArrayLike, rest_length: ArrayLike, area: ArrayLike, shear_modulus: ArrayLike
) -> FloatArray:
    r"""Pull of stretched rubber by the neo-Hookean law, F = G A_0 (lambda - 1/lambda^2); 0 when slack.

    Parameters
    ----------
    length, rest_length : float or ndarray
        Stretched and unstretched; lambda = length/rest_length. [m]
    area : float or ndarray
        Cross-section of the unstretched rubber A_0. [m^2]
    shear_modulus : float or ndarray
        G. [Pa]

    Returns
    -------
    ndarray
        [N]

    Notes
    -----
    A guide only: rubber sets, softens after the first pulls and ages. Measure the pull, loading and
    unloading, with a scale.

    Examples
    --------
    >>> round(float(rubber_force(0.5, 0.25, 50.2654824574e-6, 0.4e6)), 6)
    35.185838

    References
    ----------
    Treloar, The Physics of Rubber Elasticity, 3rd ed. (1975).
    """
    stretch = np.maximum(np.asarray(length, dtype=float) / rest_length, 1.0)
    return np.asarray(np.asarray(shear_modulus, dtype=float) * area * (stretch - stretch**-2))


def rubber_energy(
    length: ArrayLike, rest_length: ArrayLike, area: ArrayLike, shear_modulus: ArrayLike
) -> FloatArray:
    r"""Energy of stretched rubber by the neo-Hookean law, (G A_0 L_0/2)(lambda^2 + 2/lambda - 3).

    Parameters
    ----------
    length, rest_length, area, shear_modulus
        As for :func:`rubber_force`.

    Returns
    -------
    ndarray
        [J]

    Examples
    --------
    >>> round(float(rubber_energy(0.5, 0.25, 50.2654824574e-6, 0.4e6)), 6)
    5.026548
    """
    rest = np.asarray(rest_length, dtype=float)
    stretch = np.maximum(np.asarray(length, dtype=float) / rest, 1.0)
    scale = np.asarray(shear_modulus, dtype=float) * area * rest / 2
    return np.asarray(scale * (stretch**2 + 2 / stretch - 3))
