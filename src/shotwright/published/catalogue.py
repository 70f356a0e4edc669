"""All published checks, in the order of the chain."""

from __future__ import annotations

from shotwright.published.air_checks import CHECKS as AIR
from shotwright.published.bounce_checks import CHECKS as BOUNCE
from shotwright.published.flight_checks import CHECKS as FLIGHT
from shotwright.published.gear_checks import CHECKS as GEARS
from shotwright.published.match_checks import CHECKS as MATCHES
from shotwright.published.moving_checks import CHECKS as MOVING
from shotwright.published.parts_checks import CHECKS as PARTS
from shotwright.published.piston_checks import CHECKS as PISTONS
from shotwright.published.powertrain_checks import CHECKS as POWERTRAINS
from shotwright.published.robot_checks import CHECKS as ROBOTS
from shotwright.published.statistics_checks import CHECKS as STATISTICS
from shotwright.published.table import Check
from shotwright.published.tuning_checks import CHECKS as TUNING
from shotwright.published.video_checks import CHECKS as VIDEO
from shotwright.published.wheel_checks import CHECKS as WHEELS
from shotwright.published.window_checks import CHECKS as WINDOWS

ALL_CHECKS: tuple[Check, ...] = (
    *AIR,
    *FLIGHT,
    *WINDOWS,
    *MOVING,
    *BOUNCE,
    *WHEELS,
    *PISTONS,
    *POWERTRAINS,
    *ROBOTS,
    *STATISTICS,
    *PARTS,
    *TUNING,
    *GEARS,
    *MATCHES,
    *VIDEO,
)
