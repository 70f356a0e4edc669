"""What flying one ball gives."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.plain import Result


@dataclass(frozen=True, slots=True)
class BounceRow(Result):
    """One bounce of one flight.

    Parameters
    ----------
    off : str
        What the ball bounced off.
    time_s : float
        Since release.
    distance_m, cross_m, height_m : float
        Ball's centre then, from the floor under the release point.
    speed_before_m_s, speed_after_m_s : float
        Of the centre.
    elevation_after_deg : float
        Of the velocity after, above the horizontal.
    backspin_before_rev_s, backspin_after_rev_s : float
        About the level axis across the aim line; negative is topspin.
    slid : bool
        Slid all through the impact; False: gripped.
    """

    off: str
    time_s: float
    distance_m: float
    cross_m: float
    height_m: float
    speed_before_m_s: float
    speed_after_m_s: float
    elevation_after_deg: float
    backspin_before_rev_s: float
    backspin_after_rev_s: float
    slid: bool


@dataclass(frozen=True, slots=True)
class FlightResult(Result):
    """One flight.

    Parameters
    ----------
    ended : str
        ``"at the distance asked for"`` or ``"on the floor"``; with bounces where they ended.
    distance_m, cross_m, height_m : float
        Ball's centre at the end, from the floor under the release point.
    time_s, speed_m_s, entry_angle_deg : float
        At the end; the angle is below the horizontal.
    apex_m, apex_time_s : float
        Greatest height of the ball's centre, and when.
    air_density_kg_m3 : float
        Of the air flown through.
    drag, lift : str
        Laws used.
    words : tuple of str
        The same in plain sentences.
    bounces : tuple of BounceRow
        In their order.
    """

    ended: str
    distance_m: float
    cross_m: float
    height_m: float
    time_s: float
    speed_m_s: float
    entry_angle_deg: float
    apex_m: float
    apex_time_s: float
    air_density_kg_m3: float
    drag: str
    lift: str
    words: tuple[str, ...]
    bounces: tuple[BounceRow, ...] = ()
