"""Strength of teeth, keys and bolts: the stress, the material's limit, and the margin between them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.build.materials import Material

FloatArray = NDArray[np.float64]

# Lewis form factor Y, 20 degree full-depth teeth: Shigley's Mechanical Engineering Design, Table 14-2.
LEWIS: dict[float, float] = {
    12: 0.245, 13: 0.261, 14: 0.277, 15: 0.290, 16: 0.296, 17: 0.303, 18: 0.309, 19: 0.314, 20: 0.322,
    21: 0.328, 22: 0.331, 24: 0.337, 26: 0.346, 28: 0.353, 30: 0.359, 34: 0.371, 38: 0.384, 43: 0.397,
    50: 0.409, 60: 0.422, 75: 0.435, 100: 0.447, 150: 0.460, 300: 0.472, 400: 0.480, math.inf: 0.485,
}  # fmt: skip
FEWEST_TEETH = 12.0
SHEAR_SHARE = 0.577  # shear over tensile yield of tough metals (von Mises, 1/sqrt 3)
BRITTLE_SHEAR = 0.5  # the same for plastics and wood: typical, no source


def lewis_factor(teeth: ArrayLike) -> FloatArray:
    """Lewis form factor Y of 20 degree full-depth teeth, between the table's rows straight in 1/teeth.

    Parameters
    ----------
    teeth : float or ndarray
        Number of teeth, or the equal number of a spiral gear 2 rho/m; inf for a rack. [-]

    Returns
    -------
    ndarray
        [-]

    Raises
    ------
    BadInput
        Fewer than 12: the table ends there, and such teeth are undercut.

    Examples
    --------
    >>> [float(y) for y in lewis_factor([16, float("inf")])]
    [0.296, 0.485]

    References
    ----------
    Shigley's Mechanical Engineering Design, Table 14-2.
    """
    z = np.asarray(teeth, dtype=float)
    if not (z >= FEWEST_TEETH).all():
        raise BadInput(f"{float(np.min(z)):.3g} teeth: the table of form factors starts at 12", field="teeth")
    inverse = np.array([1 / n for n in LEWIS])[::-1]
    values = np.array(list(LEWIS.values()))[::-1]
    return np.asarray(np.interp(1 / z, inverse, values))


def tooth_stress(force: ArrayLike, module: ArrayLike, width: ArrayLike, teeth: ArrayLike) -> FloatArray:
    """Bending stress at a tooth's root, sigma = F_t/(b m Y).

    Parameters
    ----------
    force : float or ndarray
        Along the pitch line, on one tooth. [N]
    module, width : float or ndarray
        m, thickness of the gear b. [m]
    teeth : float or ndarray
        As for :func:`lewis_factor`. [-]

    Returns
    -------
    ndarray
        [Pa]

    Notes
    -----
    One tooth carries all at its tip: on the safe side for an exact gear, about right for one cut at home.
    """
    f, m, b = (np.asarray(v, dtype=float) for v in (force, module, width))
    return np.asarray(f / (b * m * lewis_factor(teeth)))


def speed_factor(speed: ArrayLike) -> FloatArray:
    """Factor on the load of teeth that run, K_v = (6.096 + V)/6.096 (Barth; 1200 ft/min), cut profile.

    Parameters
    ----------
    speed : float or ndarray
        Of the pitch line. [m/s]

    Returns
    -------
    ndarray
        [-]

    References
    ----------
    Shigley's Mechanical Engineering Design, equation 14-4b (from memory).
    """
    return np.asarray(1 + np.asarray(speed, dtype=float) / (1200 * 0.3048 / 60))


@dataclass(frozen=True, slots=True)
class StrengthCheck(Result):
    """One place that might give way.

    Parameters
    ----------
    what : str
        The place and the kind of stress.
    stress_pa, limit_pa : float
        What it carries, what the material takes.
    margin : float
        Limit over stress.
    factor : float
        Least margin by common practice.
    holds : bool
        Whether the margin reaches it.
    source : str
        Of the limit.
    caution : str
        Plain words.
    """

    what: str
    stress_pa: float
    limit_pa: float
    margin: float
    factor: float
    holds: bool
    source: str
    caution: str

    def in_words(self) -> str:
        """Return one sentence."""
        verdict = "holds" if self.holds else "DOES NOT HOLD"
        return (
            f"{self.what}: {self.stress_pa / 1e6:.3g} MPa of {self.limit_pa / 1e6:.3g} MPa, margin "
            f"{self.margin:.3g}, wanted {self.factor:g} (common practice): {verdict}."
        )


def _judged(what: str, stress: float, material: Material, share: float = 1.0) -> StrengthCheck:
    limit = share * material.strength
    if not stress > 0:
        raise BadInput(f"{what}: the stress must be above zero; check force and sizes")
    margin = limit / stress
    return StrengthCheck(
        what, stress, limit, margin, material.factor, margin >= material.factor, material.source,
        material.caution,
    )  # fmt: skip


def shear_share(material: Material) -> float:
    """Shear strength over tensile strength: 0.577 for metals, 0.5 else (typical, no source). [-].

    Parameters
    ----------
    material : Material
        One of the table.

    Returns
    -------
    float
        [-]
    """
    return SHEAR_SHARE if material.density > 2000 else BRITTLE_SHEAR


def check_tooth(
    material: Material, force: float, module: float, width: float, teeth: float, *, speed: float = 0.0
) -> StrengthCheck:
    """Judge a tooth in bending.

    Parameters
    ----------
    material : Material
        Of the gear.
    force : float
        Along the pitch line. [N]
    module, width : float
        m, thickness. [m]
    teeth : float
        As for :func:`lewis_factor`. [-]
    speed : float
        Of the pitch line; 0 for a gear that creeps. [m/s]

    Returns
    -------
    StrengthCheck
        With its margin.
    """
    stress = float(tooth_stress(force, module, width, teeth) * speed_factor(speed))
    return _judged(f"tooth in bending (module {1e3 * module:g} mm)", stress, material)


def check_key(
    key: Material, hub: Material, torque: float, shaft: float, width: float, height: float, length: float
) -> tuple[StrengthCheck, StrengthCheck]:
    """Judge a parallel key: shear of the key, pressure on the side of the hub's slot.

    F = 2 T/d; shear F/(w l), pressure F/((h/2) l).

    Parameters
    ----------
    key, hub : Material
        Of the key; of the part.
    torque : float
        [N m]
    shaft : float
        Diameter. [m]
    width, height, length : float
        Of the key, its length within the part. [m]

    Returns
    -------
    tuple of StrengthCheck
        Shear, pressure.
    """
    if not (min(shaft, width, height, length) > 0 and torque > 0):
        raise BadInput("torque, shaft and the key's sizes must be above zero", field="key")
    force = 2 * torque / shaft
    return (
        _judged("key in shear", force / (width * length), key, shear_share(key)),
        _judged("side of the key's slot", force / (0.5 * height * length), hub),
    )


def check_bolts(
    bolt: Material,
    part: Material,
    torque: float,
    count: int,
    circle: float,
    diameter: float,
    thickness: float,
) -> tuple[StrengthCheck, StrengthCheck]:
    """Judge a bolt circle that carries torque without clamping: shear of bolts, pressure on their holes.

    F = 2 T/(n D) on each; shear 4 F/(pi d^2), pressure F/(d t).

    Parameters
    ----------
    bolt, part : Material
        Of the bolts; of the part.
    torque : float
        [N m]
    count : int
        Bolts.
    circle, diameter : float
        Of the circle through their centres; of a bolt at its thread's root. [m]
    thickness : float
        Of the part. [m]

    Returns
    -------
    tuple of StrengthCheck
        Shear, pressure.
    """
    if not (min(circle, diameter, thickness) > 0 and torque > 0 and count >= 1):
        raise BadInput("torque, number and sizes of the bolts must be above zero", field="bolts")
    force = 2 * torque / (count * circle)
    return (
        _judged("bolts in shear", force / (math.pi * diameter**2 / 4), bolt, shear_share(bolt)),
        _judged("sides of the bolt holes", force / (diameter * thickness), part),
    )
