"""Standard pressure against an independent implementation of the standard."""

from __future__ import annotations

import ambiance
import pytest

from shotwright.base.atmosphere import standard_pressure
from shotwright.base.errors import BadInput


@pytest.mark.authority
@pytest.mark.parametrize("altitude", [-500.0, 0.0, 350.0, 1000.0, 2000.0, 5000.0, 9000.0])
def test_pressure_follows_iso_2533(altitude):
    # ambiance implements ISO 2533 / ICAO Doc 7488 with its own code. 0.1 Pa: 8 mm of height.
    assert standard_pressure(altitude) == pytest.approx(ambiance.Atmosphere(altitude).pressure[0], abs=0.1)


def test_altitude_of_another_world_is_refused():
    with pytest.raises(BadInput, match="state the pressure instead"):
        standard_pressure(20_000.0)
