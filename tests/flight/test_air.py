"""Air against the standards and independent formulations."""

from __future__ import annotations

from pathlib import Path

import ambiance
import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.flight.air import moist_air_density, standard_air, viscosity_of_air

AUTHORITIES = Path(__file__).parents[1] / "authorities"
MOIST = np.loadtxt(AUTHORITIES / "moist_air.csv", delimiter=",")
STANDARD = np.loadtxt(AUTHORITIES / "standard_atmosphere.csv", delimiter=",")
EARTH = 6356766.0  # m, nominal radius of ISO 2533:1975


@pytest.mark.authority
@pytest.mark.parametrize("row", MOIST, ids=lambda row: f"{row[0]:g} degC {100 * row[2]:g} %")
def test_moist_air(row):
    celsius, pressure, humidity, cipm, real_gas = row
    found = moist_air_density(celsius + 273.15, pressure, humidity)
    assert found == pytest.approx(cipm, abs=1e-9)
    # two formulations of real moist air differ by 4e-5; an ideal gas would be off by 4e-4
    assert found == pytest.approx(real_gas, rel=5e-5)


def test_humid_air_is_lighter():
    dry, humid = (moist_air_density(298.15, 101325.0, h) for h in (0.0, 1.0))
    assert 0.98 * dry < humid < dry


@pytest.mark.authority
@pytest.mark.parametrize("row", STANDARD, ids=lambda row: f"{row[0]:g} m")
def test_standard_atmosphere(row):
    height, temperature, pressure, density, viscosity = row
    air = standard_air(EARTH * height / (EARTH - height))
    assert air.temperature == pytest.approx(temperature, abs=1e-6)
    assert air.pressure == pytest.approx(pressure, abs=1e-4)
    assert air.density == pytest.approx(density, abs=1e-9)
    assert air.viscosity == pytest.approx(viscosity, abs=1e-13)


@pytest.mark.authority
@pytest.mark.parametrize("altitude", [-400.0, 0.0, 800.0, 2500.0, 8000.0])
def test_standard_atmosphere_by_an_independent_library(altitude):
    air, theirs = standard_air(altitude), ambiance.Atmosphere(altitude)
    assert air.density == pytest.approx(theirs.density[0], rel=1e-6)
    assert air.viscosity == pytest.approx(theirs.dynamic_viscosity[0], rel=1e-6)
    assert viscosity_of_air(air.temperature) == air.viscosity


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((20.0, 101325.0, 0.5), "weather.temperature: -253.1 degC is outside"),
        ((293.15, 1013.25, 0.5), "weather.pressure: 10 hPa is outside 400 hPa to 1200 hPa"),
        ((293.15, 101325.0, 50.0), "weather.humidity: 5000 % is outside"),
        ((float("nan"), 101325.0, 0.5), "weather.temperature"),
    ],
)
def test_weather_of_another_world_is_refused(values, words):
    with pytest.raises(BadInput) as raised:
        moist_air_density(*values)
    assert words in str(raised.value)
