"""Lift (Magnus) coefficient of a spinning ball: published laws by name, each with its range and its source.

The force is F = 1/2 rho A C_L |u|^2 along spin x u; C_L depends on the spin parameter S = r omega / |u|.
Backspin lifts when C_L is positive. Smooth balls can show no lift or a reversed one, so a ball's own
constant or table may be zero or negative.

The measurements behind these laws (baseballs, tennis balls) end near S = 0.6. A ball rolled out between one
wheel and a fixed hood leaves with S near 1: an extrapolation, and from law to law C_L there spreads from
0.33 to 0.45. Law and ball agree to about 30 % even inside the range.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.flight.laws import CONSTANT, TABLE, Law, PackedLaw, pack_law, stated_range
from shotwright.flight.spline import spline_value
from shotwright.game.records import CoefficientLaw

NONE = 2
SAWICKI_HUBBARD_STRONGE = 3
CROSS = 4
NATHAN = 5
STEPANEK = 6

END_OF_DATA = 0.6  # S where the baseball and tennis measurements end


def no_lift(spin_parameter: float) -> float:
    """Return zero at any spin.

    Parameters
    ----------
    spin_parameter : float
        S. [-]

    Returns
    -------
    float
        C_L = 0. [-]
    """
    return 0.0 * spin_parameter


def sawicki_hubbard_stronge(spin_parameter: float) -> float:
    r"""Baseball, two straight lines, held from S = 0.6 on.

    .. math:: C_L = 1.5 S \;(S \le 0.1), \qquad 0.09 + 0.6 S \;(S > 0.1)

    Parameters
    ----------
    spin_parameter : float
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    float
        C_L. [-]

    Notes
    -----
    The second line has no end, and S grows without limit near the top of a lob. The measurements end near
    S = 0.6: from there C_L keeps its value 0.45.

    References
    ----------
    Sawicki, Hubbard, Stronge, "How to hit home runs", Am. J. Phys. 71, 1152 (2003).
    """
    s = min(spin_parameter, END_OF_DATA)
    return 1.5 * s if s <= 0.1 else 0.09 + 0.6 * s


def cross(spin_parameter: float) -> float:
    r"""Baseball, saturating.

    .. math:: C_L = \frac{1}{2.32 + 0.4/S}

    Parameters
    ----------
    spin_parameter : float
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    float
        C_L. [-]

    References
    ----------
    Cross, "Physics of Baseball and Softball" (2011), as found in public codes.
    """
    return spin_parameter / (2.32 * spin_parameter + 0.4)


def nathan(spin_parameter: float) -> float:
    r"""Baseball, saturating.

    .. math:: C_L = \frac{1.120\,S}{0.583 + 2.333\,S}

    Parameters
    ----------
    spin_parameter : float
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    float
        C_L. [-]

    Notes
    -----
    Measured for S = 0.090 to 0.595 and Re = 1.1e5 to 2.4e5.

    References
    ----------
    Nathan, "The effect of spin on the flight of a baseball", Am. J. Phys. 76, 119 (2008), for the
    measurement; the formula is his later fit, as found in a public note.
    """
    return 1.120 * spin_parameter / (0.583 + 2.333 * spin_parameter)


def stepanek_lift(spin_parameter: float) -> float:
    r"""Tennis ball, saturating.

    .. math:: C_L = \frac{1}{2.022 + 0.981/S}

    Parameters
    ----------
    spin_parameter : float
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    float
        C_L. [-]

    References
    ----------
    Stepanek, "The aerodynamics of tennis balls: the topspin lob", Am. J. Phys. 56, 138 (1988).
    """
    return spin_parameter / (2.022 * spin_parameter + 0.981)


LIFT_LAWS: dict[str, Law] = {
    "constant": Law(CONSTANT, None, "none", 0.0, float("inf"), "the ball's own coefficient"),
    "table": Law(TABLE, None, "spin_parameter", 0.0, float("inf"), "the ball's own points (S, C_L)"),
    "none": Law(NONE, no_lift, "none", 0.0, float("inf"), "no lift"),
    "sawicki-hubbard-stronge": Law(
        SAWICKI_HUBBARD_STRONGE,
        sawicki_hubbard_stronge,
        "spin_parameter",
        0.0,
        END_OF_DATA,
        "Sawicki, Hubbard, Stronge, Am. J. Phys. 71, 1152 (2003): baseball",
        (0.1, END_OF_DATA),
    ),
    "cross": Law(
        CROSS,
        cross,
        "spin_parameter",
        0.0,
        END_OF_DATA,
        "Cross, Physics of Baseball and Softball (2011), as in public codes: baseball",
    ),
    "nathan": Law(
        NATHAN,
        nathan,
        "spin_parameter",
        0.0,
        0.595,
        "Nathan, Am. J. Phys. 76, 119 (2008), later fit as in a public note: baseball",
    ),
    "stepanek": Law(
        STEPANEK,
        stepanek_lift,
        "spin_parameter",
        0.0,
        END_OF_DATA,
        "Stepanek, Am. J. Phys. 56, 138 (1988): tennis ball",
    ),
}


def lift_of(law: PackedLaw, spin_parameter: float) -> float:
    """Lift coefficient of a packed law; the equations of motion call this.

    Parameters
    ----------
    law : PackedLaw
        As :func:`pack_lift` gives it.
    spin_parameter : float
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    float
        C_L. [-]
    """
    if law.code == NONE:
        value = 0.0
    elif law.code == CONSTANT:
        value = law.constant
    elif law.code == TABLE:
        value = spline_value(spin_parameter, law.knots, law.pieces)
    elif law.code == SAWICKI_HUBBARD_STRONGE:
        value = sawicki_hubbard_stronge(spin_parameter)
    elif law.code == CROSS:
        value = cross(spin_parameter)
    elif law.code == NATHAN:
        value = nathan(spin_parameter)
    else:
        value = stepanek_lift(spin_parameter)
    return law.scale * value


def pack_lift(law: CoefficientLaw, field: str = "ball.lift") -> PackedLaw:
    """Check a lift law and pack it for the equations of motion.

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
        Not a law, or a number that is missing.
    """
    return pack_law(law, LIFT_LAWS, field)


def lift_coefficient(law: CoefficientLaw, spin_parameter: ArrayLike) -> NDArray[np.float64]:
    """Lift coefficient of a ball's law.

    Parameters
    ----------
    law : CoefficientLaw
        The law.
    spin_parameter : float or ndarray
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    ndarray
        C_L, of the same shape. [-]

    Raises
    ------
    BadInput
        Not a law.

    Examples
    --------
    >>> round(float(lift_coefficient(CoefficientLaw("cross"), 0.5)), 8)
    0.32051282
    """
    packed = pack_lift(law)
    s = np.asarray(spin_parameter, dtype=float)
    return np.array([lift_of(packed, one) for one in s.ravel().tolist()], dtype=float).reshape(s.shape)


def lift_in_range(law: CoefficientLaw, spin_parameter: ArrayLike) -> NDArray[np.bool_]:
    """Tell where a lift law is inside the range for which it is stated.

    Parameters
    ----------
    law : CoefficientLaw
        The law.
    spin_parameter : float or ndarray
        S = r omega / |u|, 0 or more. [-]

    Returns
    -------
    ndarray of bool
        False where the coefficient is an extrapolation.
    """
    s = np.asarray(spin_parameter, dtype=float)
    low, high = stated_range(law, LIFT_LAWS)
    return (s >= low) & (s <= high)
