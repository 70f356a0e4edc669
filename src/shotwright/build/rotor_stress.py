"""Stress in wheels that turn: thin rim, solid disc, disc with a hole; and the speed at which one bursts.

Numbers or arrays, SI. Even thickness, elastic, no spokes and no holes but the one in the middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.build.materials import Material

FloatArray = NDArray[np.float64]
WHEEL_CAUTION = (
    "Hub, glue, screws, printed layers and a wheel driven far over speed fail before the disc does: guard "
    "the wheel, stay out of its plane, and spin it to 1.2 times its top speed behind a shield first "
    "(common practice)."
)
HOLE_RISE = 3.0  # stress beside a small hole over the stress without it: from memory


def rim_stress(density: ArrayLike, rim_speed: ArrayLike) -> FloatArray:
    """Hoop stress of a thin ring, rho v^2.

    Parameters
    ----------
    density : float or ndarray
        [kg/m^3]
    rim_speed : float or ndarray
        [m/s]

    Returns
    -------
    ndarray
        [Pa]
    """
    return np.asarray(np.asarray(density, dtype=float) * np.asarray(rim_speed, dtype=float) ** 2)


def solid_disc_stress(density: ArrayLike, rim_speed: ArrayLike, poisson: ArrayLike) -> FloatArray:
    """Largest stress of a solid disc, at its centre, (3 + nu)/8 rho v^2.

    Parameters
    ----------
    density : float or ndarray
        [kg/m^3]
    rim_speed : float or ndarray
        [m/s]
    poisson : float or ndarray
        [-]

    Returns
    -------
    ndarray
        [Pa]
    """
    return np.asarray((3 + np.asarray(poisson, dtype=float)) / 8 * rim_stress(density, rim_speed))


@dataclass(frozen=True, slots=True)
class RingStress(Result):
    """Stresses of a disc with a hole.

    Parameters
    ----------
    at_hole_pa : float
        Hoop stress at the hole: the largest.
    at_rim_pa : float
        Hoop stress at the rim.
    radial_pa : float
        Largest radial stress, at the root of a b.
    mean_pa : float
        Mean hoop stress over the section.
    """

    at_hole_pa: float
    at_rim_pa: float
    radial_pa: float
    mean_pa: float


def ring_stress(density: float, poisson: float, inside: float, outside: float, speed: float) -> RingStress:
    r"""Stresses of a disc of even thickness with a round hole in the middle.

    .. math:: \sigma_{hole} = \frac{\rho\omega^2}{4}[(3+\nu)b^2 + (1-\nu)a^2]

    .. math:: \sigma_{rim} = \frac{\rho\omega^2}{4}[(1-\nu)b^2 + (3+\nu)a^2], \quad
        \sigma_r = \frac{3+\nu}{8}\rho\omega^2 (b-a)^2

    Parameters
    ----------
    density : float
        [kg/m^3]
    poisson : float
        [-]
    inside, outside : float
        Radii a and b. [m]
    speed : float
        omega. [rad/s]

    Returns
    -------
    RingStress
        The mean is rho omega^2 (a^2 + a b + b^2)/3.

    Raises
    ------
    BadInput
        The hole is not inside the rim.

    References
    ----------
    S. Timoshenko, Strength of Materials, part II; Roark's Formulas for Stress and Strain.
    """
    a, b = inside, outside
    if not 0 < a < b:
        raise BadInput(f"hole radius {1e3 * a:.4g} mm must be between 0 and the rim's {1e3 * b:.4g} mm")
    load = density * speed**2
    return RingStress(
        at_hole_pa=load / 4 * ((3 + poisson) * b**2 + (1 - poisson) * a**2),
        at_rim_pa=load / 4 * ((1 - poisson) * b**2 + (3 + poisson) * a**2),
        radial_pa=(3 + poisson) / 8 * load * (b - a) ** 2,
        mean_pa=load * (a**2 + a * b + b**2) / 3,
    )


@dataclass(frozen=True, slots=True)
class WheelStrength(Result):
    """A wheel disc at its top speed.

    Parameters
    ----------
    largest_pa : float
        Hoop stress at the bore, three times that where there are holes beside it.
    strength_pa : float
        Of the material.
    margin : float
        Strength over stress.
    factor : float
        Least margin by common practice.
    holds : bool
        Whether the margin reaches it.
    safe_rad_s : float
        Speed at which the margin is just that.
    yield_rad_s : float
        Speed at which the strength is used up.
    burst_rad_s : float
        Speed at which the mean hoop stress reaches the strength (Robinson; tough materials only).
    stored_j : float
        Energy of the disc at the speed asked for.
    words, cautions : tuple of str
        What to know.
    """

    largest_pa: float
    strength_pa: float
    margin: float
    factor: float
    holds: bool
    safe_rad_s: float
    yield_rad_s: float
    burst_rad_s: float
    stored_j: float
    words: tuple[str, ...]
    cautions: tuple[str, ...]


def wheel_strength(
    material: Material, bore: float, diameter: float, speed: float, *, thickness: float, holes: bool = False
) -> WheelStrength:
    """Judge a wheel disc at its top speed.

    Parameters
    ----------
    material : Material
        Of the disc.
    bore, diameter : float
        Of hole and rim; a bore of 0 is a solid disc. [m]
    speed : float
        Highest it can reach, also when the control fails: the motor's free speed through the gears. [rad/s]
    thickness : float
        For its energy. [m]
    holes : bool
        Whether there are bolt holes or windows beside the bore.

    Returns
    -------
    WheelStrength
        With the margin and what to beware of.

    References
    ----------
    E. L. Robinson, Bursting tests of steam-turbine disk wheels, Trans. ASME 66 (1944) (from memory).
    """
    a, b = bore / 2, diameter / 2
    if not (b > a >= 0 and speed > 0 and thickness > 0):
        raise BadInput("a wheel needs a rim wider than its bore, a thickness and a speed above zero")
    rho, nu = material.density, material.poisson
    if a > 0:
        stress = ring_stress(rho, nu, a, b, speed)
        largest, mean = stress.at_hole_pa, stress.mean_pa
    else:
        largest = float(solid_disc_stress(rho, b * speed, nu))
        mean = float(rim_stress(rho, b * speed)) / 3
    largest *= HOLE_RISE if holes else 1.0
    margin = material.strength / largest
    inertia = 0.5 * math.pi * rho * thickness * (b**4 - a**4)
    rpm = 60 / (2 * math.pi)
    safe = speed * math.sqrt(margin / material.factor)
    verdict = "holds" if margin >= material.factor else "DOES NOT HOLD"
    words = (
        f"At {rpm * speed:.0f} rpm the disc of {material.name} carries {largest / 1e6:.3g} MPa of "
        f"{material.strength / 1e6:.3g} MPa ({material.source}): margin {margin:.3g}, wanted "
        f"{material.factor:g} (common practice). It {verdict}; the margin lasts to {rpm * safe:.0f} rpm."
    )
    return WheelStrength(
        largest_pa=largest, strength_pa=material.strength, margin=margin, factor=material.factor,
        holds=margin >= material.factor, safe_rad_s=safe, yield_rad_s=speed * math.sqrt(margin),
        burst_rad_s=speed * math.sqrt(material.strength / mean), stored_j=0.5 * inertia * speed**2,
        words=(words,),
        cautions=tuple(one for one in (WHEEL_CAUTION, material.caution) if one),
    )  # fmt: skip
