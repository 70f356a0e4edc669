"""A shot on the move in plain sentences."""

from __future__ import annotations

from shotwright.base.estimate import Estimate, in_words
from shotwright.bench.moving_records import MovingFall, MovingSetting, MovingShotResult, MovingSource


def moving_words(found: MovingShotResult) -> tuple[str, ...]:
    """Write what a crew wants to know: the aim, what happens without it, when to fire, what costs hits.

    Parameters
    ----------
    found : MovingShotResult
        Without its words.

    Returns
    -------
    tuple of str
        Sentences.
    """
    usable = [one for one in found.settings if one.usable]
    where = f"From {found.position} at {found.target}, {_motion(found)}"
    if not usable:
        reasons = "; ".join(dict.fromkeys(f"{one.kind}: {one.why_not}" for one in found.settings))
        first = f"{where}: no setting of {found.prototype} hits" + (f" ({reasons})." if reasons else ".")
        return (first, "Slow down, come nearer, or stop to fire.")
    best = usable[0]
    return tuple(
        sentence
        for sentence in (
            f"{where}: set {best.speed_m_s:.2f} m/s and {best.elevation_deg:.1f}°, {_lead(best)}.",
            f"Standing it is {found.standing.speed_m_s:.2f} m/s and {found.standing.elevation_deg:.1f}°.",
            _uncorrected(found),
            _timing(found),
            _chances(found, best),
            _falls(found.falls),
            _source(found.sources),
        )
        if sentence
    )


def _motion(found: MovingShotResult) -> str:
    parts = []
    for speed, one, other in (
        (found.toward_m_s, "towards it", "away from it"),
        (found.left_m_s, "to the left of it", "to the right of it"),
    ):
        if abs(speed) >= 0.005:
            parts.append(f"driving {abs(speed):.2f} m/s {one if speed > 0 else other}")
    if abs(found.turn_rate_deg_s) >= 0.05:
        side = "left" if found.turn_rate_deg_s > 0 else "right"
        parts.append(f"turning {abs(found.turn_rate_deg_s):.0f}°/s to the {side}")
    return " and ".join(parts) or "standing"


def _lead(setting: MovingSetting) -> str:
    if abs(setting.lead_deg) < 0.05:
        return "pointing as when standing"
    return f"pointing {abs(setting.lead_deg):.1f}° to the {'left' if setting.lead_deg > 0 else 'right'}"


def _uncorrected(found: MovingShotResult) -> str:
    if found.release_speed_m_s < 0.005:
        return ""
    if found.uncorrected_beyond_m is None or found.uncorrected_left_m is None:
        return "With the standing setting the ball would not even get to the opening's plane."
    way = "beyond" if found.uncorrected_beyond_m > 0 else "short of"
    side = "left" if found.uncorrected_left_m > 0 else "right"
    return (
        f"With the standing setting the ball would pass {abs(found.uncorrected_beyond_m):.2f} m {way} "
        f"the point aimed at and {abs(found.uncorrected_left_m):.2f} m to its {side}."
    )


def _timing(found: MovingShotResult) -> str:
    if found.delay_s <= 0 or found.release_speed_m_s < 0.005:
        return ""
    return (
        f"The ball leaves {found.delay_s:.3g} s after the command: give it {found.command_early_m:.2f} m "
        "before the release point is where it shall be."
    )


def _chances(found: MovingShotResult, best: MovingSetting) -> str:
    moving, standing = best.hit_probability, found.standing.hit_probability
    if not isinstance(moving, Estimate):
        return f"No hit probability: {moving.reason}."
    said = f"It hits with {in_words(moving, '%', 100.0)}"
    return said + (
        f"; standing with {in_words(standing, '%', 100.0)}." if isinstance(standing, Estimate) else "."
    )


def _falls(falls: tuple[MovingFall, ...]) -> str:
    """Say at which error of the speed a tenth of the hits is lost."""
    known = [
        (f.velocity_error_m_s, f.hit_probability.value)
        for f in falls
        if isinstance(f.hit_probability, Estimate)
    ]
    if not known or known[0][1] <= 0:
        return ""
    for error, chance in known[1:]:
        if chance < known[0][1] - 0.1:
            return (
                f"Were the robot's speed known exactly it would be {100 * known[0][1]:.0f} %; an error of "
                f"{error:g} m/s (standard deviation) makes it {100 * chance:.0f} %."
            )
    return f"An error of {known[-1][0]:g} m/s of the robot's speed costs less than 10 hits of 100."


def _source(sources: tuple[MovingSource, ...]) -> str:
    own = [one for one in sources if one.source in ("robot's speed", "turn rate", "release time")]
    largest = max(own, key=lambda one: one.share, default=None)
    if largest is None or largest.share < 0.005:
        return ""
    return f"Of the scatter, {100 * largest.share:.0f} % comes from the error of the {largest.source}."
