"""A shot table in plain sentences."""

from __future__ import annotations

import math

from shotwright.choice.predicted import chance_words
from shotwright.tuning.records import ShotTable


def table_words(found: ShotTable, asked: tuple[float, float]) -> tuple[str, ...]:
    """Say what a table rests on, what it hits, and what interpolation and notches cost.

    Parameters
    ----------
    found : ShotTable
        The table, its words still empty.
    asked : tuple of float
        Distances asked for. [m]

    Returns
    -------
    tuple of str
        Sentences.
    """
    rows = found.rows
    least = min(rows, key=lambda row: row.hit.value)
    most = max(rows, key=lambda row: row.hit.value)
    kind = "SIMULATED shots" if found.origin == "simulated" else "shots"
    words = []
    words.append(
        f"{found.prototype} at {found.target}, along the line through {found.position}: PREDICTED from "
        f"{found.shots} {kind} of {', '.join(found.trials)}."
    )
    if rows[0].distance_m > asked[0] + 1e-6 or rows[-1].distance_m < asked[1] - 1e-6:
        words.append(
            f"Nothing that it can be set to scores nearer than {rows[0].distance_m:.2f} m or farther than "
            f"{rows[-1].distance_m:.2f} m, of the {asked[0]:.2f} to {asked[1]:.2f} m asked for."
        )
    tilt = (
        f"one elevation, {rows[0].elevation_deg:.1f}°, serves all rows"
        if found.fixed_elevation
        else f"the elevation goes from {rows[0].elevation_deg:.1f}° to {rows[-1].elevation_deg:.1f}°"
    )
    words.append(
        f"It hits from {chance_words(least.hit.value)} at {least.distance_m:.2f} m to "
        f"{chance_words(most.hit.value)} at {most.distance_m:.2f} m; {tilt}."
    )
    words.append(f"The {found.setting_name} comes from {found.setting_source}.")
    if any(not math.isfinite(row.setting.value) for row in rows):
        words.append(f"Some rows need a {found.setting_name} beyond its range; they are shown without one.")
    words.append(
        f"Read by straight lines between rows {found.step_m:g} m apart, the speed is off by at most "
        f"{1000 * found.between.speed_m_s:.0f} mm/s and costs at most {100 * found.between.hit:.1f} points; "
        f"the smooth curve costs at most {100 * max(found.smoothing_loss, 0.0):.1f} points."
    )
    level = f"{100 * found.level:.0f} %"
    count = len(found.notches)
    if count:
        words.append(f"{count} notch{'es' if count != 1 else ''} keep{'s' if count == 1 else ''} {level}.")
    if found.gaps_m:
        told = ", ".join(f"{a:.2f} to {b:.2f} m" for a, b in found.gaps_m)
        words.append(f"No setting keeps {level} from {told}.")
    if found.changes:
        worst = max(found.changes, key=lambda one: abs(one.speed_m_s))
        words.append(
            f"Against the table kept before ({found.compared_with}) the speed changes by up to "
            f"{1000 * abs(worst.speed_m_s):.0f} mm/s, at {worst.distance_m:.2f} m."
        )
    return tuple(words)
