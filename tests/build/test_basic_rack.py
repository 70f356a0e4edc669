"""ISO 53 and ISO 54 values, and the bounds of a basic rack."""

import math
from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.build.basic_rack import (
    PROFILES,
    SERIES_I,
    SERIES_II,
    BasicRack,
    module_words,
    profile,
    tangent_height,
)

AUTHORITIES = Path(__file__).parents[1] / "authorities"


def rows(name):
    lines = (AUTHORITIES / name).read_text(encoding="utf-8").splitlines()
    return [line.split(",") for line in lines if line and not line.startswith("#")]


@pytest.mark.authority
def test_profiles_of_the_standard():
    table = rows("basic_rack.csv")
    assert [name for name, *_ in table] == list(PROFILES)
    for name, *values in table:
        one = PROFILES[name]
        found = (one.addendum, one.clearance, one.dedendum, one.fillet)
        assert found == pytest.approx([float(value) for value in values], abs=1e-12)
        assert math.degrees(one.pressure_angle) == pytest.approx(20)


@pytest.mark.authority
@pytest.mark.parametrize(("series", "modules"), [("I", SERIES_I), ("II", SERIES_II)])
def test_modules_of_the_standard(series, modules):
    assert [float(value) for name, value in rows("gear_modules.csv") if name == series] == list(modules)


def test_profiles_keep_their_fillet_within_clearance_and_space():
    # ISO 53:1998, 5.9: largest fillet c/(1 - sin a) = 0.37995 modules for c = 0.25.
    assert profile("a").largest_fillet == pytest.approx(0.3799508411452, abs=1e-12)
    for one in PROFILES.values():
        assert one.fillet <= one.largest_fillet + 5e-4
        assert one.straight == pytest.approx(one.addendum, abs=0.2)


def test_two_fillets_of_the_largest_size_fill_the_space_of_profile_d():
    d = profile("D")
    f, a = d.largest_fillet, d.pressure_angle
    half = math.pi / 4 - (d.dedendum - f) * math.tan(a) - f / math.cos(a)
    assert half == pytest.approx(0.0, abs=1e-12)


def test_series_have_no_module_in_common():
    assert not set(SERIES_I) & set(SERIES_II)
    assert len(SERIES_I) == len(SERIES_II) == 18


def test_module_words():
    assert "series II" in module_words(0.00175)
    assert module_words(0.0016) == "module 1.6 mm, which ISO 54 does not list; the nearest is 1.5 mm"


def test_least_teeth_without_undercut():
    # z = 2/sin^2(20 deg), the textbook limit of a rack cutter of one module's height.
    assert tangent_height(math.radians(20), 2 / math.sin(math.radians(20)) ** 2) == pytest.approx(1.0)


@pytest.mark.parametrize("name", ["E", "", "AA"])
def test_unknown_profile(name):
    with pytest.raises(BadInput, match="ISO 53 has A, B, C, D"):
        profile(name)


def test_fillet_that_does_not_fit():
    with pytest.raises(BadInput, match=r"at most 0\.38"):
        BasicRack("X", math.radians(20), 1.0, 0.25, 0.45)
