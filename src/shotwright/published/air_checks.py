"""What air and coefficient laws must give: standards of the air, laws of drag and lift."""

from __future__ import annotations

import functools
from collections.abc import Iterator

from shotwright.flight.air import moist_air_density, standard_air, viscosity_of_air
from shotwright.flight.drag import drag_coefficient
from shotwright.flight.lift import lift_coefficient
from shotwright.game.records import CoefficientLaw
from shotwright.published.table import Check, Kind

# ---------------------------------------------------------------- air

_ISO = "closed form: ISO 2533:1975, evaluated; an independent implementation (ambiance 1.3.1) agrees to 1e-8"
_CIPM = (
    "closed form: Picard, Davis, Glaeser, Fujii, Metrologia 45, 149 (2008), CIPM-2007, evaluated with "
    "30 digits"
)


def _air() -> Iterator[Check]:
    yield Check(
        "air density at sea level, standard atmosphere [kg/m^3]",
        "ISO 2533:1975, Standard Atmosphere, sea level",
        "authority",
        1.225,
        5e-5,
        lambda: standard_air(0.0).density,
    )
    yield Check(
        "viscosity of air at 15 degC [Pa s]",
        "ISO 2533:1975, Standard Atmosphere, sea level",
        "authority",
        1.7894e-5,
        5e-10,
        lambda: viscosity_of_air(288.15),
    )
    for altitude, density in ((1000.0, 1.111659674), (2000.0, 1.006553754), (3000.0, 0.9092543453)):
        yield Check(
            f"air density at {altitude:g} m, standard atmosphere [kg/m^3]",
            _ISO,
            "identity",
            density,
            1e-6,
            functools.partial(lambda h: standard_air(h).density, altitude),
        )
    for temperature, viscosity in ((275.15, 1.725961454e-5), (284.90, 1.773655964e-5)):
        yield Check(
            f"viscosity of air at {temperature:g} K [Pa s]",
            "closed form: Sutherland's formula of ISO 2533:1975, evaluated",
            "identity",
            viscosity,
            1e-13,
            functools.partial(viscosity_of_air, temperature),
        )
    for celsius, pressure, humidity, density, real_gas in (
        (20.0, 101325.0, 0.5, 1.199313895, 1.19935928),
        (20.0, 101325.0, 0.0, 1.204557342, 1.20460313),
        (25.0, 100000.0, 0.6, 1.160429975, 1.16047389),
    ):
        what = f"density of air at {celsius:g} degC, {pressure:g} Pa, {100 * humidity:g} % humidity"
        ours = functools.partial(moist_air_density, celsius + 273.15, pressure, humidity)
        yield Check(f"{what} [kg/m^3]", _CIPM, "identity", density, 1e-8, ours)
        yield Check(
            f"{what}, real-gas humid air [kg/m^3]",
            "computed by an independent library's humid-air equations (CoolProp 8.0.0, HAPropsSI)",
            "computed",
            real_gas,
            1e-4,
            ours,
        )


# ---------------------------------------------------------------- coefficients

_DRAG_SOURCES: dict[str, tuple[Kind, str]] = {
    "haider-levenspiel": (
        "identity",
        "closed form: Haider, Levenspiel, Powder Technology 58, 63 (1989), evaluated by fluids 1.3.1",
    ),
    "clift-gauvin": (
        "identity",
        "closed form: Clift, Gauvin, Proc. Chemeca 70, 14 (1970), evaluated by fluids 1.3.1",
    ),
    "morsi-alexander": (
        "identity",
        "closed form: Morsi, Alexander, J. Fluid Mech. 55, 193 (1972), evaluated by fluids 1.3.1",
    ),
    "brown-lawler": (
        "memory",
        "from memory: Brown, Lawler, J. Environ. Eng. 129, 222 (2003), coefficients recalled, evaluated",
    ),
}
_DRAG_VALUES = (
    ("haider-levenspiel", 1e3, 0.45345667),
    ("haider-levenspiel", 1e5, 0.47149622),
    ("clift-gauvin", 1e4, 0.41031515),
    ("clift-gauvin", 2e5, 0.46699938),
    ("morsi-alexander", 2e4, 0.44951675),
    ("morsi-alexander", 5e3, 0.38503880),
    ("brown-lawler", 1e5, 0.46610560),
)
_LIFT_SOURCES: dict[str, str] = {
    "sawicki-hubbard-stronge": (
        "closed form: Sawicki, Hubbard, Stronge, Am. J. Phys. 71, 1152 (2003), evaluated"
    ),
    "cross": "closed form: C_L = 1/(2.32 + 0.4/S), Cross (2011) as in public codes, evaluated",
    "nathan": (
        "closed form: C_L = 1.120 S/(0.583 + 2.333 S), a later fit by Nathan as in a public note, evaluated"
    ),
    "stepanek": "closed form: Stepanek, Am. J. Phys. 56, 138 (1988), as in public codes, evaluated",
}
_LIFT_VALUES = (
    ("sawicki-hubbard-stronge", 0.05, 0.075),
    ("sawicki-hubbard-stronge", 0.5, 0.39),
    ("cross", 0.1, 0.15822785),
    ("cross", 1.0, 0.36764706),
    ("nathan", 0.3, 0.26190662),
    ("stepanek", 0.5, 0.25100402),
)


def _coefficients() -> Iterator[Check]:
    for name, reynolds, value in _DRAG_VALUES:
        kind, source = _DRAG_SOURCES[name]
        yield Check(
            f"drag coefficient, {name}, Re = {reynolds:g}",
            source,
            kind,
            value,
            1e-8,
            functools.partial(lambda n, re: float(drag_coefficient(CoefficientLaw(n), re)), name, reynolds),
        )
    for name, s, value in _LIFT_VALUES:
        yield Check(
            f"lift coefficient, {name}, S = {s:g}",
            _LIFT_SOURCES[name],
            "identity",
            value,
            1e-8,
            functools.partial(lambda n, at: float(lift_coefficient(CoefficientLaw(n), at)), name, s),
        )
    for s, value in ((0.1, 0.56396859), (0.5, 0.72377247)):
        yield Check(
            f"drag coefficient, stepanek, S = {s:g}",
            "from memory: Stepanek, Am. J. Phys. 56, 138 (1988), first coefficient 22.503 recalled, "
            "evaluated",
            "memory",
            value,
            1e-8,
            functools.partial(lambda at: float(drag_coefficient(CoefficientLaw("stepanek"), 1e5, at)), s),
        )


CHECKS: tuple[Check, ...] = (*_air(), *_coefficients())
