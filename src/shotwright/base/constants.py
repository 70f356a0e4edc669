"""Physical constants, each with its source on the line."""

STANDARD_GRAVITY = 9.80665  # m/s^2, exact by convention: ISO 80000-3 (3rd CGPM, 1901)
CELSIUS_ZERO = 273.15  # K, exact by definition: SI Brochure, 9th ed., 2.3.1
STANDARD_PRESSURE = 101325.0  # Pa, sea level: ISO 2533:1975
STANDARD_TEMPERATURE = 288.15  # K, sea level: ISO 2533:1975
