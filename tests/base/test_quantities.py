"""Quantities as typed. Exact factors: SI Brochure, 9th ed. (2019); NIST SP 811 (2008), appendix B.8."""

from __future__ import annotations

import math
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base import quantities
from shotwright.base.common_units import COMMON_UNITS
from shotwright.base.errors import BadInput
from shotwright.base.quantities import KINDS, check_positive, parse_quantity, unit_scale

TURN = 2 * math.pi

# (typed, kind, SI value): the inch, pound, ounce and degree are exact by definition.
TYPED = [
    ("4 in", "length", 0.1016),
    ("4in", "length", 0.1016),
    ('4"', "length", 0.1016),
    ("4 in.", "length", 0.1016),
    ("4 inches", "length", 0.1016),
    ("4 IN", "length", 0.1016),
    ("12 ft", "length", 3.6576),
    ("12'", "length", 3.6576),
    ("5 ft 3 in", "length", 63 * 0.0254),
    ("5'3\"", "length", 63 * 0.0254),
    ("5 feet 3 inches", "length", 63 * 0.0254),
    ("35 mm", "length", 0.035),
    ("35 MM", "length", 0.035),
    ("1,2 m", "length", 1.2),
    (",5 m", "length", 0.5),
    ("5. m", "length", 5.0),
    ("+5 m", "length", 5.0),
    ("-5 m", "length", -5.0),
    ("−5 m", "length", -5.0),
    ("1e3 mm", "length", 1.0),
    ("2\u00a0m", "length", 2.0),
    ("  2  m  ", "length", 2.0),
    ("2 metres", "length", 2.0),
    ("120 g", "mass", 0.12),
    ("0.14 kg", "mass", 0.14),
    ("2 lb", "mass", 2 * 0.45359237),
    ("2 lbs", "mass", 2 * 0.45359237),
    ("16 oz", "mass", 0.45359237),
    ("9.5 m/s", "speed", 9.5),
    ("31 ft/s", "speed", 31 * 0.3048),
    ("36 km/h", "speed", 10.0),
    ("36 kph", "speed", 10.0),
    ("30 mph", "speed", 30 * 0.44704),
    ("180 deg", "angle", math.pi),
    ("180°", "angle", math.pi),
    ("0.9 rad", "angle", 0.9),
    ("12 rev/s", "spin", 12 * TURN),
    ("720 rpm", "spin", 12 * TURN),
    ("720 RPM", "spin", 12 * TURN),
    ("720rpm", "spin", 12 * TURN),
    ("720 r/min", "spin", 12 * TURN),
    ("12 rps", "spin", 12 * TURN),
    ("12 Hz", "spin", 12 * TURN),
    ("75 rad/s", "spin", 75.0),
    ("360 deg/s", "spin", TURN),
    ("20 degC", "temperature", 293.15),
    ("20 °C", "temperature", 293.15),
    ("20 C", "temperature", 293.15),
    ("-40 degF", "temperature", 233.15),
    ("68 °F", "temperature", 293.15),
    ("68 F", "temperature", 293.15),
    ("293 K", "temperature", 293.0),
    ("1013.25 hPa", "pressure", 101325.0),
    ("101325 Pa", "pressure", 101325.0),
    ("1 atm", "pressure", 101325.0),
    ("1 bar", "pressure", 1e5),
    ("12 J", "energy", 12.0),
    ("2 ft*lbf", "energy", 2 * 1.3558179483314004),  # NIST SP 811: 1.355 817 948... J
    ("1.5 s", "time", 1.5),
    ("150 ms", "time", 0.15),
    ("0.5", "fraction", 0.5),
    ("50 %", "fraction", 0.5),
    ("50%", "fraction", 0.5),
    ("50 percent", "fraction", 0.5),
]


@pytest.mark.parametrize(("typed", "kind", "value"), TYPED)
def test_typed_becomes_si(typed: str, kind: str, value: float) -> None:
    assert parse_quantity(typed, kind) == pytest.approx(value, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("typed", "kind", "words"),
    [
        ("", "length", "'' is not a length"),
        ("   ", "mass", "'' is not a mass"),
        (None, "mass", "'None' is not a mass"),
        (True, "mass", "'True' is not a mass"),
        ("4", "mass", "'4' has no unit; type it with one"),
        (4, "mass", "'4' has no unit"),
        (4.5, "length", "'4.5' has no unit"),
        ("about 4 m", "length", "'about 4 m' does not start with a number"),
        ("nan m", "length", "does not start with a number"),
        ("inf m", "length", "does not start with a number"),
        ("1e999 m", "length", "'1e999 m' is not a finite length"),
        ("4 bananas", "mass", "'4 bananas': 'bananas' is not a unit of mass"),
        ("4 m", "mass", "'4 m': 'm' is not a unit of mass"),
        ("4 m/s", "length", "'m/s' is not a unit of length"),
        ("4 %", "length", "'%' is not a unit of length"),
        ("1/2 in", "length", "'/2 in' is not a unit of length"),
        ("1,234.5 m", "length", "'.5 m' is not a unit of length"),
        ("3 m + 2 m", "length", "'m + 2 m' is not a unit of length"),
        ("3 9**9**9**9 m", "length", "is not a unit of length"),
        ("3 m*9**999999999", "length", "is not a unit of length"),
        ("3 m*9⁹⁹⁹⁹⁹⁹⁹⁹⁹", "length", "is not a unit of length"),
    ],
)
def test_bad_quantity_says_what_and_what_to_do(typed: object, kind: str, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_quantity(typed, kind, "ball.size")
    message = str(caught.value)
    assert message.startswith("ball.size: ")
    assert words in message
    assert KINDS[kind][1] in message  # an example of what to type
    assert "\n" not in message


def test_unit_of_the_column_serves_bare_numbers_only() -> None:
    assert parse_quantity("4", "length", unit="in") == pytest.approx(0.1016)
    assert parse_quantity("4 m", "length", unit="in") == 4.0
    assert parse_quantity("20", "temperature", unit="degC") == pytest.approx(293.15)


def test_unit_scale_has_an_offset_for_temperatures_alone() -> None:
    assert unit_scale("mm", "length") == pytest.approx((1e-3, 0.0))
    assert unit_scale("degF", "temperature") == pytest.approx((5 / 9, 273.15 - 32 * 5 / 9))


def test_unit_scale_names_the_unit_once_when_nothing_else_was_typed() -> None:
    with pytest.raises(BadInput, match=r"^column: 'furlong/s' is not a unit of length; type e\.g\."):
        unit_scale("furlong/s", "length", "column")


def test_check_positive() -> None:
    assert check_positive(0.12, "ball.mass", "120 g", "mass") == 0.12
    for typed, value in (("0 g", 0.0), ("-1 g", -0.001), ("?", math.nan)):
        with pytest.raises(BadInput, match=r"ball\.mass: .* is not a mass; it must be greater than zero"):
            check_positive(value, "ball.mass", typed, "mass")


UNITS = [
    ("length", "m", 1.0),
    ("length", "mm", 1e-3),
    ("length", "in", 0.0254),
    ("length", "ft", 0.3048),
    ("mass", "oz", 0.028349523125),
    ("speed", "km/h", 1 / 3.6),
    ("angle", "deg", math.pi / 180),
    ("spin", "rpm", TURN / 60),
    ("fraction", "%", 0.01),
]


@given(number=st.floats(min_value=-1e9, max_value=1e9), unit=st.sampled_from(UNITS))
@settings(max_examples=150, deadline=None)
def test_any_number_round_trips(number: float, unit: tuple[str, str, float]) -> None:
    kind, name, factor = unit
    tiny = sys.float_info.min
    assert parse_quantity(f"{number!r} {name}", kind) == pytest.approx(number * factor, rel=1e-12, abs=tiny)
    comma = f"{number:.6f}".replace(".", ",")
    assert parse_quantity(f"{comma} {name}", kind) == pytest.approx(round(number, 6) * factor, abs=1e-6)


def read_or_refuse(text: str, kind: str) -> float | str:
    try:
        return parse_quantity(text, kind)
    except BadInput as refused:
        return str(refused)


@given(text=st.text(max_size=30), kind=st.sampled_from(sorted(KINDS)))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_refused_in_one_line(text: str, kind: str) -> None:
    found = read_or_refuse(text, kind)
    assert len(found.splitlines()) == 1 if isinstance(found, str) else math.isfinite(found)


@given(text=st.text("0123456789.,*^/()-+eEmsgdrhz °'\"%²⁹", max_size=16), kind=st.sampled_from(sorted(KINDS)))
@settings(max_examples=300, deadline=None)
def test_any_unit_like_text_is_read_or_refused(text: str, kind: str) -> None:
    found = read_or_refuse(f"3 {text}", kind)
    assert "type" in found if isinstance(found, str) else math.isfinite(found)


@pytest.mark.parametrize(
    ("kind", "unit"), [(kind, unit) for kind, units in COMMON_UNITS.items() for unit in units]
)
def test_common_units_are_those_of_the_library(kind, unit):
    # the library multiplies its way through several units, so its last digits differ
    assert COMMON_UNITS[kind][unit] == pytest.approx(quantities._ask_library(unit, kind), rel=1e-13)


def test_common_units_need_no_library(monkeypatch):
    monkeypatch.setattr(quantities, "_registry", lambda: pytest.fail("the unit library was asked"))
    quantities._factor_and_offset.cache_clear()
    for typed, kind in (
        ("4.2 m", "length"),
        ("9.5 m / s", "speed"),
        ("52°", "angle"),
        ("3000 rpm", "spin"),
        ("12 rev/s", "spin"),
        ("68 °F", "temperature"),
        ("1013 hPa", "pressure"),
        ("50 %", "fraction"),
        ("120g", "mass"),
    ):
        assert math.isfinite(parse_quantity(typed, kind))


def test_rare_units_are_left_to_the_library():
    assert parse_quantity("2 fathom", "length") == pytest.approx(2 * 1.8288, rel=1e-5)  # 6 ft, NIST SP 811
