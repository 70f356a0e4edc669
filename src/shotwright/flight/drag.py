"""Drag coefficient of a ball: published laws by name, each with its range and its source.

The force is F = 1/2 rho A C_D |u|^2 against u, the velocity relative to the air; A is the area of the ball's
shadow. C_D depends on the Reynolds number Re = rho |u| D / mu, in one law on the spin parameter
S = r omega / |u|.

The smooth-sphere laws are not laws of game balls: felt, seams and dimples change C_D by tens of percent.
They tell how C_D moves with speed; `scale` of a ball's law fits them to a measured ball.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.flight.laws import CONSTANT, TABLE, Law, PackedLaw, check_not_negative, pack_law, stated_range
from shotwright.flight.spline import spline_value
from shotwright.game.records import CoefficientLaw

HAIDER_LEVENSPIEL = 2
BROWN_LAWLER = 3
CLIFT_GAUVIN = 4
MORSI_ALEXANDER = 5
STEPANEK = 6
DRAG_CRISIS = 7

_STILL = 1e-9  # Reynolds number that stands for rest: 24/Re stays finite, and the force is zero anyway


def haider_levenspiel(reynolds: float) -> float:
    r"""Smooth sphere.

    .. math:: C_D = \frac{24}{Re}\left(1 + 0.1806\,Re^{0.6459}\right) + \frac{0.4251}{1 + 6880.95/Re}

    Parameters
    ----------
    reynolds : float
        Re > 0. [-]

    Returns
    -------
    float
        C_D. [-]

    Notes
    -----
    Stated for Re < 2.6e5; it knows no drag crisis.

    Examples
    --------
    >>> round(haider_levenspiel(1e4), 8)
    0.42038328

    References
    ----------
    Haider, Levenspiel, "Drag coefficient and terminal velocity of spherical and nonspherical particles",
    Powder Technology 58, 63 (1989).
    """
    return 24.0 / reynolds * (1.0 + 0.1806 * math.pow(reynolds, 0.6459)) + 0.4251 / (1.0 + 6880.95 / reynolds)


def brown_lawler(reynolds: float) -> float:
    r"""Smooth sphere.

    .. math:: C_D = \frac{24}{Re}\left(1 + 0.150\,Re^{0.681}\right) + \frac{0.407}{1 + 8710/Re}

    Parameters
    ----------
    reynolds : float
        Re > 0. [-]

    Returns
    -------
    float
        C_D. [-]

    Notes
    -----
    Stated for Re < 2e5. The coefficients are from memory; they agree with the neighbouring laws within 2 %.

    References
    ----------
    Brown, Lawler, "Sphere drag and settling velocity revisited", J. Environ. Eng. 129, 222 (2003).
    """
    return 24.0 / reynolds * (1.0 + 0.150 * math.pow(reynolds, 0.681)) + 0.407 / (1.0 + 8710.0 / reynolds)


def clift_gauvin(reynolds: float) -> float:
    r"""Smooth sphere.

    .. math:: C_D = \frac{24}{Re}\left(1 + 0.152\,Re^{0.677}\right) + \frac{0.417}{1 + 5070\,Re^{-0.94}}

    Parameters
    ----------
    reynolds : float
        Re > 0. [-]

    Returns
    -------
    float
        C_D. [-]

    Notes
    -----
    Stated for Re up to 2e5.

    References
    ----------
    Clift, Gauvin, "The motion of particles in turbulent gas streams", Proc. Chemeca 70, 14 (1970).
    """
    return 24.0 / reynolds * (1.0 + 0.152 * math.pow(reynolds, 0.677)) + 0.417 / (
        1.0 + 5070.0 * math.pow(reynolds, -0.94)
    )


def morsi_alexander(reynolds: float) -> float:
    r"""Smooth sphere, in eight pieces C_D = k_1/Re + k_2/Re^2 + k_3.

    Parameters
    ----------
    reynolds : float
        Re > 0. [-]

    Returns
    -------
    float
        C_D. [-]

    Notes
    -----
    Stated for Re up to 5e4; the last piece is carried on above. The pieces meet within 3 %, not exactly.

    References
    ----------
    Morsi, Alexander, "An investigation of particle trajectories in two-phase flow systems",
    J. Fluid Mech. 55, 193 (1972).
    """
    if reynolds < 0.1:
        k1, k2, k3 = 24.0, 0.0, 0.0
    elif reynolds < 1.0:
        k1, k2, k3 = 22.73, 0.0903, 3.69
    elif reynolds < 10.0:
        k1, k2, k3 = 29.1667, -3.8889, 1.222
    elif reynolds < 100.0:
        k1, k2, k3 = 46.5, -116.67, 0.6167
    elif reynolds < 1000.0:
        k1, k2, k3 = 98.33, -2778.0, 0.3644
    elif reynolds < 5000.0:
        k1, k2, k3 = 148.62, -4.75e4, 0.357
    elif reynolds < 10000.0:
        k1, k2, k3 = -490.546, 57.87e4, 0.46
    else:
        k1, k2, k3 = -1662.5, 5.4167e6, 0.5191
    return k1 / reynolds + k2 / (reynolds * reynolds) + k3


def stepanek_drag(spin_parameter: float) -> float:
    r"""Tennis ball, new, by its spin.

    .. math:: C_D = 0.508 + \left(22.503 + 4.196\,S^{-5/2}\right)^{-2/5}

    Parameters
    ----------
    spin_parameter : float
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    float
        C_D. [-]

    Notes
    -----
    Public copies of the first coefficient disagree (22.503, 22.053, 22.064), which moves C_D by at most
    0.0018; 22.503 is taken from memory.

    References
    ----------
    Stepanek, "The aerodynamics of tennis balls: the topspin lob", Am. J. Phys. 56, 138 (1988).
    """
    return 0.508 + spin_parameter / math.pow(22.503 * math.pow(spin_parameter, 2.5) + 4.196, 0.4)


def drag_crisis(reynolds: float) -> float:
    r"""Ball whose drag falls from one level to another, a made-up example.

    .. math:: C_D = 0.30 + \frac{0.20}{1 + (Re/1.2\times10^5)^8}

    Parameters
    ----------
    reynolds : float
        Re, 0 or more. [-]

    Returns
    -------
    float
        C_D. [-]

    Notes
    -----
    No measurement stands behind the levels 0.50 and 0.30 nor behind the place of the fall: rough balls have
    their crisis somewhere between 5e4 and 3e5. It shows what a crisis would do to a shot.
    """
    x = reynolds / 1.2e5
    x *= x
    x *= x
    return 0.30 + 0.20 / (1.0 + x * x)


DRAG_LAWS: dict[str, Law] = {
    "constant": Law(CONSTANT, None, "none", 0.0, float("inf"), "the ball's own coefficient"),
    "table": Law(TABLE, None, "reynolds", 0.0, float("inf"), "the ball's own points (Re, C_D)"),
    "haider-levenspiel": Law(
        HAIDER_LEVENSPIEL,
        haider_levenspiel,
        "reynolds",
        0.0,
        2.6e5,
        "Haider, Levenspiel, Powder Technology 58, 63 (1989): smooth sphere",
    ),
    "brown-lawler": Law(
        BROWN_LAWLER,
        brown_lawler,
        "reynolds",
        0.0,
        2e5,
        "Brown, Lawler, J. Environ. Eng. 129, 222 (2003): smooth sphere; coefficients from memory",
    ),
    "clift-gauvin": Law(
        CLIFT_GAUVIN,
        clift_gauvin,
        "reynolds",
        0.0,
        2e5,
        "Clift, Gauvin, Proc. Chemeca 70, 14 (1970): smooth sphere",
    ),
    "morsi-alexander": Law(
        MORSI_ALEXANDER,
        morsi_alexander,
        "reynolds",
        0.0,
        5e4,
        "Morsi, Alexander, J. Fluid Mech. 55, 193 (1972): smooth sphere",
        (0.1, 1.0, 10.0, 100.0, 1000.0, 5000.0, 10000.0),
    ),
    "stepanek": Law(
        STEPANEK,
        stepanek_drag,
        "spin_parameter",
        0.0,
        0.6,
        "Stepanek, Am. J. Phys. 56, 138 (1988): tennis ball; first coefficient from memory",
    ),
    "drag-crisis": Law(
        DRAG_CRISIS,
        drag_crisis,
        "reynolds",
        0.0,
        float("inf"),
        "no source: a made-up ball whose drag falls from 0.50 to 0.30 near Re = 1.2e5",
    ),
}


def drag_of(law: PackedLaw, reynolds: float, spin_parameter: float) -> float:
    """Drag coefficient of a packed law; the equations of motion call this.

    Parameters
    ----------
    law : PackedLaw
        As :func:`pack_drag` gives it.
    reynolds : float
        Re = rho |u| D / mu. [-]
    spin_parameter : float
        S = r omega / |u|. [-]

    Returns
    -------
    float
        C_D. [-]
    """
    re = max(reynolds, _STILL)
    if law.code == CONSTANT:
        value = law.constant
    elif law.code == TABLE:
        value = spline_value(reynolds, law.knots, law.pieces)
    elif law.code == HAIDER_LEVENSPIEL:
        value = haider_levenspiel(re)
    elif law.code == BROWN_LAWLER:
        value = brown_lawler(re)
    elif law.code == CLIFT_GAUVIN:
        value = clift_gauvin(re)
    elif law.code == MORSI_ALEXANDER:
        value = morsi_alexander(re)
    elif law.code == DRAG_CRISIS:
        value = drag_crisis(re)
    else:
        value = stepanek_drag(spin_parameter)
    return law.scale * value


def pack_drag(law: CoefficientLaw, field: str = "ball.drag") -> PackedLaw:
    """Check a drag law and pack it for the equations of motion.

    Parameters
    ----------
    law : CoefficientLaw
        What the game's file says of the ball.
    field : str
        Where it stands, for the message.

    Returns
    -------
    PackedLaw
        Code and numbers.

    Raises
    ------
    BadInput
        Not a law, a number that is missing, or a coefficient below zero.
    """
    packed = pack_law(law, DRAG_LAWS, field)
    check_not_negative(packed, field)
    return packed


def drag_coefficient(
    law: CoefficientLaw, reynolds: ArrayLike, spin_parameter: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Drag coefficient of a ball's law.

    Parameters
    ----------
    law : CoefficientLaw
        The law.
    reynolds : float or ndarray
        Re = rho |u| D / mu. [-]
    spin_parameter : float or ndarray
        S = r omega / |u|, 0 or more; broadcasts against `reynolds`. [-]

    Returns
    -------
    ndarray
        C_D, of the broadcast shape. [-]

    Raises
    ------
    BadInput
        Not a law.

    Examples
    --------
    >>> drag_coefficient(CoefficientLaw("constant", 0.47, scale=2.0), [1e4, 2e4]).tolist()
    [0.94, 0.94]
    """
    packed = pack_drag(law)
    re, s = np.broadcast_arrays(np.asarray(reynolds, dtype=float), np.asarray(spin_parameter, dtype=float))
    values = [drag_of(packed, a, b) for a, b in zip(re.ravel().tolist(), s.ravel().tolist(), strict=True)]
    return np.array(values, dtype=float).reshape(re.shape)


def drag_in_range(
    law: CoefficientLaw, reynolds: ArrayLike, spin_parameter: ArrayLike = 0.0
) -> NDArray[np.bool_]:
    """Tell where a drag law is inside the range for which it is stated.

    Parameters
    ----------
    law : CoefficientLaw
        The law.
    reynolds, spin_parameter : float or ndarray
        As in :func:`drag_coefficient`. [-]

    Returns
    -------
    ndarray of bool
        False where the coefficient is an extrapolation.
    """
    re, s = np.broadcast_arrays(np.asarray(reynolds, dtype=float), np.asarray(spin_parameter, dtype=float))
    low, high = stated_range(law, DRAG_LAWS)
    at = s if DRAG_LAWS[law.name].variable == "spin_parameter" else re
    return (at >= low) & (at <= high)
