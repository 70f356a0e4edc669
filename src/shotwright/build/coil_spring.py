"""Coil springs of round wire: rate, length when solid, stress, buckling, surge.

Numbers or arrays where it says so, SI.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import NotEstimated
from shotwright.base.plain import Result
from shotwright.launcher.spring import coil_stiffness

FloatArray = NDArray[np.float64]
CoilKind = Literal["compression", "extension"]
Ends = Literal["plain", "plain ground", "squared", "squared ground", "hooks"]

_INCH, _PSI = 0.0254, 6894.757293168361  # m, Pa: exact by definition of inch and pound
_SHIGLEY = "Shigley's Mechanical Engineering Design, 10th ed."

# Turns that don't work, and wire diameters in the solid length beyond the total turns (Shigley, Table 10-1).
ENDS: dict[Ends, tuple[float, float]] = {
    "plain": (0.0, 1.0),
    "plain ground": (1.0, 0.0),
    "squared": (2.0, 1.0),
    "squared ground": (2.0, 0.0),
    "hooks": (0.0, 1.0),
}
FIXITY: dict[str, float] = {  # effective length over free length (Shigley, Table 10-2, from memory)
    "both ends flat and guided": 0.5,
    "one end flat, one hinged": 0.707,
    "both ends hinged": 1.0,
    "one end flat, one free": 2.0,
}


@dataclass(frozen=True, slots=True)
class Wire:
    """Spring wire.

    Parameters
    ----------
    name : str
        In words.
    shear_modulus, modulus : float
        G, E. [Pa]
    density : float
        [kg/m^3]
    strength : tuple of float, optional
        (A, m) of the tensile strength A/d^m, A in [Pa m^m], m [-]; None where it is not known.
    source : str
        Of these numbers.
    """

    name: str
    shear_modulus: float
    modulus: float
    density: float
    strength: tuple[float, float] | None
    source: str

    def torsional_yield(self, wire: float) -> float | None:
        """Shear stress at which wire of this diameter yields, 0.45 A/d^m; None when not known. [Pa]."""
        if self.strength is None:
            return None
        a, m = self.strength
        return float(0.45 * a / wire**m)


WIRES: dict[str, Wire] = {
    "music wire": Wire(
        "music wire", 11.85e6 * _PSI, 28.5e6 * _PSI, 7850.0, (201e3 * _PSI * _INCH**0.145, 0.145),
        f"{_SHIGLEY}, Example 10-1 (G, A, m, 0.45); E and density typical, no source",
    ),
    "stainless": Wire("stainless", 69e9, 193e9, 7900.0, None, "typical, no source"),
    "phosphor bronze": Wire("phosphor bronze", 41e9, 103e9, 8800.0, None, "typical, no source"),
}  # fmt: skip


def wahl_factor(index: ArrayLike) -> FloatArray:
    """Wahl's factor for curvature and direct shear, K_w = (4C - 1)/(4C - 4) + 0.615/C.

    Parameters
    ----------
    index : float or ndarray
        C = D/d, mean coil diameter over wire diameter, above 1. [-]

    Returns
    -------
    ndarray
        [-]

    Examples
    --------
    >>> float(wahl_factor(6.0))
    1.2525

    References
    ----------
    A. M. Wahl, Mechanical Springs (1963); Shigley's Mechanical Engineering Design, chapter 10.
    """
    c = np.asarray(index, dtype=float)
    return np.asarray((4 * c - 1) / (4 * c - 4) + 0.615 / c)


def bergstraesser_factor(index: ArrayLike) -> FloatArray:
    """Bergsträsser's factor, K_B = (4C + 2)/(4C - 3); within 1.5 % of Wahl's from C = 4.

    Parameters
    ----------
    index : float or ndarray
        C = D/d. [-]

    Returns
    -------
    ndarray
        [-]

    Examples
    --------
    >>> round(float(bergstraesser_factor(8.0)), 6)
    1.172414
    """
    c = np.asarray(index, dtype=float)
    return np.asarray((4 * c + 2) / (4 * c - 3))


def coil_stress(force: ArrayLike, wire: ArrayLike, diameter: ArrayLike, factor: ArrayLike) -> FloatArray:
    """Largest shear stress in the wire, tau = K 8 F D/(pi d^3).

    Parameters
    ----------
    force : float or ndarray
        F. [N]
    wire, diameter : float or ndarray
        d, mean coil diameter D. [m]
    factor : float or ndarray
        K: Wahl's, Bergsträsser's, or 1 for the uncorrected stress. [-]

    Returns
    -------
    ndarray
        [Pa]
    """
    d, big, f = (np.asarray(v, dtype=float) for v in (wire, diameter, force))
    return np.asarray(np.asarray(factor, dtype=float) * 8 * f * big / (np.pi * d**3))


@dataclass(frozen=True, slots=True)
class Coil:
    """A coil spring by its dimensions.

    Parameters
    ----------
    kind : {"compression", "extension"}
        Pushed or pulled.
    wire : float
        Wire diameter d. [m]
    diameter : float
        Mean coil diameter D: outside diameter less one wire. [m]
    turns : float
        All turns, N_t. [-]
    free_length : float
        Without load; of an extension spring between the hooks' insides. [m]
    material : Wire
        Of `WIRES`, or the maker's numbers.
    ends : str
        Key of `ENDS`.
    initial_tension : float
        Force before the coils of an extension spring part. [N]
    """

    kind: CoilKind
    wire: float
    diameter: float
    turns: float
    free_length: float
    material: Wire = WIRES["music wire"]
    ends: Ends = "squared ground"
    initial_tension: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what can't be wound."""
        for name, value in (
            ("wire", self.wire), ("diameter", self.diameter), ("free_length", self.free_length)
        ):  # fmt: skip
            if not value > 0:
                raise BadInput(f"{1e3 * value:.4g} mm must be above zero", field=name)
        if not self.index > 2:
            raise BadInput(
                f"{1e3 * self.diameter:.4g} mm is only {self.index:.3g} wire diameters; a coil has 3 or more",
                field="diameter",
            )
        if not self.active_turns > 0:
            raise BadInput(f"{self.turns:g} turns with {self.ends} ends leave none that works", field="turns")
        if self.kind == "compression" and self.free_length <= self.solid_length:
            raise BadInput(
                f"{1e3 * self.free_length:.4g} mm is not longer than the solid length "
                f"{1e3 * self.solid_length:.4g} mm",
                field="free_length",
            )

    @property
    def index(self) -> float:
        """C = D/d. [-]."""
        return self.diameter / self.wire

    @property
    def active_turns(self) -> float:
        """Turns that work, N_t less those at the ends. [-]."""
        return self.turns - ENDS[self.ends][0]

    @property
    def solid_length(self) -> float:
        """Length with all coils touching. [m]."""
        return (self.turns + ENDS[self.ends][1]) * self.wire

    @property
    def rate(self) -> float:
        """Spring rate, G d^4/(8 D^3 n). [N/m]."""
        return float(coil_stiffness(self.wire, self.diameter, self.active_turns, self.material.shear_modulus))

    @property
    def active_mass(self) -> float:
        """Mass of the turns that work, rho pi^2 d^2 D n/4. [kg]."""
        return self.mass * self.active_turns / self.turns

    @property
    def mass(self) -> float:
        """Mass of all turns, without hooks. [kg]."""
        return self.material.density * (math.pi * self.wire) ** 2 * self.diameter * self.turns / 4

    @property
    def surge(self) -> float:
        """Lowest natural frequency with both ends held, half the root of k/m. [Hz]."""
        return 0.5 * math.sqrt(self.rate / self.active_mass)

    def stable_length(self, fixity: float) -> float:
        """Free length below which it can't buckle, (pi D/a) sqrt(2(E - G)/(2G + E)). [m].

        Parameters
        ----------
        fixity : float
            a, of `FIXITY`. [-]

        References
        ----------
        Shigley's Mechanical Engineering Design, equation 10-11 (from memory).
        """
        e, g = self.material.modulus, self.material.shear_modulus
        return math.pi * self.diameter / fixity * math.sqrt(2 * (e - g) / (2 * g + e))

    def stress(self, force: float) -> float:
        """Shear stress with Wahl's factor. [Pa]."""
        return float(coil_stress(force, self.wire, self.diameter, wahl_factor(self.index)))

    def yield_force(self) -> float | NotEstimated:
        """Force at which the wire yields, by Bergsträsser's factor as in the published example. [N]."""
        limit = self.material.torsional_yield(self.wire)
        if limit is None:
            return NotEstimated(f"the strength of {self.material.name} is not known; ask its maker")
        one = float(coil_stress(1.0, self.wire, self.diameter, bergstraesser_factor(self.index)))
        return limit / one


@dataclass(frozen=True, slots=True)
class CoilInUse(Result):
    """A coil spring wound from its front stop.

    Parameters
    ----------
    rate_n_m : float
        k.
    front_n, wound_n : float
        Force at the front stop and wound.
    usable_j : float
        Work of the stroke.
    stored_j : float
        All that sits in the wound spring: what can hurt.
    wahl, bergstraesser : float
        Factors.
    stress_pa : float
        Wound, with Wahl's factor.
    yield_pa : float or NotEstimated
        Torsional yield of the wire.
    margin : float or NotEstimated
        Yield over stress.
    solid_length_m, wound_length_m : float
        Coils touching; wound.
    left_m : float, optional
        Travel left before the coils touch; None for an extension spring.
    buckles : bool, optional
        Whether it can buckle without a guide; None for an extension spring.
    stable_length_m : float, optional
        Free length below which it can't.
    surge_hz : float
        Lowest natural frequency.
    mass_kg : float
        Of the turns.
    """

    rate_n_m: float
    front_n: float
    wound_n: float
    usable_j: float
    stored_j: float
    wahl: float
    bergstraesser: float
    stress_pa: float
    yield_pa: float | NotEstimated
    margin: float | NotEstimated
    solid_length_m: float
    wound_length_m: float
    left_m: float | None
    buckles: bool | None
    stable_length_m: float | None
    surge_hz: float
    mass_kg: float


def coil_in_use(
    coil: Coil, preload: float, stroke: float, *, fixity: float = FIXITY["both ends flat and guided"]
) -> CoilInUse:
    """Follow a coil spring from the front stop to the wound end.

    Parameters
    ----------
    coil : Coil
        The spring.
    preload : float
        Deflection at the front stop. [m]
    stroke : float
        [m]
    fixity : float
        Of `FIXITY`. [-]

    Returns
    -------
    CoilInUse
        Forces, energies, stress, margins.

    Raises
    ------
    BadInput
        The coils would touch before the wound end.
    """
    if not (preload >= 0 and stroke > 0):
        raise BadInput(f"preload {preload:g} m must be at least 0 and stroke {stroke:g} m above 0")
    wound = preload + stroke
    pushed = coil.kind == "compression"
    left = coil.free_length - coil.solid_length - wound if pushed else None
    if left is not None and left < 0:
        raise BadInput(
            f"the coils touch after {1e3 * (coil.free_length - coil.solid_length):.4g} mm; preload and "
            f"stroke need {1e3 * wound:.4g} mm: take a longer spring or a shorter stroke",
            field="stroke",
        )
    k, pull = coil.rate, coil.initial_tension
    limit = coil.material.torsional_yield(coil.wire)
    stress = coil.stress(pull + k * wound)
    unknown = NotEstimated(f"the strength of {coil.material.name} is not known; ask its maker")
    stable = coil.stable_length(fixity) if pushed else None
    return CoilInUse(
        rate_n_m=k,
        front_n=pull + k * preload,
        wound_n=pull + k * wound,
        usable_j=pull * stroke + 0.5 * k * (wound**2 - preload**2),
        stored_j=pull * wound + 0.5 * k * wound**2,
        wahl=float(wahl_factor(coil.index)),
        bergstraesser=float(bergstraesser_factor(coil.index)),
        stress_pa=stress,
        yield_pa=unknown if limit is None else limit,
        margin=unknown if limit is None else limit / stress,
        solid_length_m=coil.solid_length,
        wound_length_m=coil.free_length + (-wound if pushed else wound),
        left_m=left,
        buckles=None if stable is None else coil.free_length >= stable,
        stable_length_m=stable,
        surge_hz=coil.surge,
        mass_kg=coil.mass,
    )
