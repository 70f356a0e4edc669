"""Results of the other rooms as the notebook's records: fields renamed and grouped, nothing worked out."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence

from shotwright.base.estimate import Estimate, Estimated
from shotwright.choice.decision import Decision, RecordedChoice
from shotwright.choice.records import HitProbability
from shotwright.flight.needed_shots import NeededShot
from shotwright.flight.windows import ShotWindow
from shotwright.notebook.content import (
    ChoiceEntry,
    ComparisonRow,
    Criterion,
    FindingRow,
    FlaggedShot,
    FloatArray,
    GateRow,
    HitRow,
    RankRow,
    ScatterEllipse,
    SharePart,
    ShotKind,
    TrialPage,
    WindowPanel,
    WindowShot,
    WindowSlice,
)
from shotwright.statistics.ellipse import next_shot_factor
from shotwright.statistics.spread_ratio import SpreadRatio
from shotwright.statistics.variance_components import VarianceComponents
from shotwright.trials.comparison import Comparison, PairComparison, Side
from shotwright.trials.dispersion import TrialDispersion
from shotwright.trials.records import Shot, Trial

# openings of sentences that say what the table of findings, the heading or the caption says already
_IN_THE_TABLE = ("Simulated shots", "Mean point of impact", "Standard deviation", "Half of such shots")


def trial_page(
    trial: Trial, shots: Sequence[Shot], found: TrialDispersion, *, aim_m: tuple[float, float] | None = None
) -> TrialPage:
    """Return the page of one trial.

    Parameters
    ----------
    trial : Trial
        The trial.
    shots : sequence of Shot
        All its shots, those set aside too.
    found : TrialDispersion
        What they show.
    aim_m : tuple of float, optional
        Point aimed at, (along or height, cross). [m]

    Returns
    -------
    TrialPage
        Ready to print.
    """
    ellipses: list[ScatterEllipse] = []
    if found.covariance_m2 is not None and found.shots_used >= 3:
        half, most = (next_shot_factor(found.shots_used, share) for share in (0.5, 0.95))
        ellipses = [
            ScatterEllipse(found.covariance_m2, half, "the next shot falls inside with a chance of 50 %"),
            ScatterEllipse(found.covariance_m2, most, "the same with a chance of 95 %"),
        ]
    return TrialPage(
        trial,
        tuple(shots),
        mean_m=found.mean_point_m,
        ellipses=tuple(ellipses),
        aim_m=aim_m,
        findings=_findings(found),
        flagged=tuple(FlaggedShot(one.order, "") for one in found.outliers),
        remarks=tuple(words for words in found.words if not words.startswith(_IN_THE_TABLE)),
    )


def _findings(found: TrialDispersion) -> tuple[FindingRow, ...]:
    first = found.first_axis
    rows = [
        FindingRow(f"mean point, {first}", found.mean_first_m, "m", 1.0, "middle of such shots"),
        FindingRow("mean point, cross", found.mean_cross_m, "m", 1.0, "left of the aim line is positive"),
        FindingRow(f"{first} spread", found.sd_first_m, "mm", 1000.0, "standard deviation"),
        FindingRow("cross spread", found.sd_cross_m, "mm", 1000.0, "standard deviation"),
        FindingRow("sigma", found.sigma_m, "mm", 1000.0, "root of the mean variance of both axes"),
        FindingRow(
            "circular error probable",
            found.cep_m,
            "mm",
            1000.0,
            "half of such shots fall this near the middle",
        ),
        FindingRow("R95", found.r95_m, "mm", 1000.0, "95 of 100 such shots fall this near the middle"),
        FindingRow("mean radius", found.mean_radius_m, "mm", 1000.0, "mean distance from the middle"),
        FindingRow(
            "extreme spread",
            found.extreme_spread_m,
            "mm",
            1000.0,
            "largest distance between two shots; grows with their number",
        ),
    ]
    for axis, balls in ((first, found.balls_first), ("cross", found.balls_cross)):
        if isinstance(balls, VarianceComponents):
            between: Estimated = balls.between_sd
            repeat: Estimated = balls.repeat_sd
            rows += [
                FindingRow(
                    f"between balls, {axis}", between, "mm", 1000.0, "standard deviation, ball to ball"
                ),
                FindingRow(
                    f"same ball again, {axis}", repeat, "mm", 1000.0, "standard deviation with one ball"
                ),
            ]
    return tuple(rows)


def window_panel(
    window: ShotWindow, *, paths: Mapping[str, FloatArray] | None = None, prototype: str = ""
) -> WindowPanel:
    """Return the panel of one shot window.

    Parameters
    ----------
    window : ShotWindow
        What the position needs.
    paths : mapping of str to ndarray, shape (k, 3), optional
        Path of the ball's centre in the field frame for ``"minimum speed"`` and ``"most forgiving"``, from
        release to the opening. [m]
    prototype : str
        Whose release height and launch spread were used; empty for none.

    Returns
    -------
    WindowPanel
        Ready to print.
    """
    spin = (
        f"spin parameter S = {window.spin_parameter:.2f}"
        if window.spin_parameter is not None
        else f"backspin {window.spin_rev_s or 0.0:.1f} rev/s"
    )
    defended = ", with the defenders in the way" if window.defended else ""
    given = paths or {}
    kinds: tuple[tuple[ShotKind, NeededShot | None], ...] = (
        ("minimum speed", window.minimum_speed),
        ("most forgiving", window.most_forgiving),
    )
    return WindowPanel(
        position=window.position,
        target=window.target,
        release_height_m=window.release_height_m,
        backspin_words=spin + defended,
        slices=tuple(
            WindowSlice(elevation, tuple(speeds))
            for elevation, speeds in zip(window.elevations_deg, window.intervals_m_s, strict=True)
        ),
        shots=tuple(_shot(kind, shot, given.get(kind)) for kind, shot in kinds if shot is not None),
        blocked=window.reason.rstrip(".") if window.blocked else None,
        spread_words=(
            f"{100 * window.scatter_speed:.2g} % in speed, {window.scatter_elevation_deg:.2g}° in elevation "
            f"and {window.scatter_azimuth_deg:.2g}° in azimuth ({window.scatter_origin})"
        ),
        prototype=prototype,
    )


def _shot(kind: ShotKind, shot: NeededShot, path: FloatArray | None) -> WindowShot:
    clearances = [c for c in (shot.obstacle_clearance_m, shot.defender_clearance_m) if c is not None]
    return WindowShot(
        kind,
        shot.speed_m_s,
        shot.elevation_deg,
        shot.entry_angle_deg,
        shot.apex_m,
        shot.flight_time_s,
        min(clearances) if clearances else None,
        shot.hit_probability,
        path,
    )


def comparison_rows(found: Comparison) -> tuple[ComparisonRow, ...]:
    """Return two rows for each pair: spread, and mean point of impact.

    Parameters
    ----------
    found : Comparison
        All pairs.

    Returns
    -------
    tuple of ComparisonRow
        Ready to print; the words stand with the spread.
    """
    sides = {side.label: side for side in found.sides}
    return tuple(row for pair in found.pairs for row in _pair(pair, sides))


def _pair(pair: PairComparison, sides: Mapping[str, Side]) -> tuple[ComparisonRow, ComparisonRow]:
    trials = sides[pair.first].trials + sides[pair.second].trials
    axis = sides[pair.first].first_axis
    ratio = pair.spread.ratio if isinstance(pair.spread, SpreadRatio) else pair.spread
    return (
        ComparisonRow(
            pair.first, pair.second, "spread, ratio", ratio, pair.spread_p_adjusted, pair.words, trials
        ),
        ComparisonRow(
            pair.first,
            pair.second,
            f"mean point, {axis}",
            pair.reach_difference_m,
            pair.centre_p_adjusted,
            "",
            trials,
            unit="m",
        ),
    )


def hit_row(found: HitProbability) -> HitRow:
    """Return the row of one hit probability.

    Parameters
    ----------
    found : HitProbability
        The result.

    Returns
    -------
    HitRow
        Ready to print: what the model says, the count beside it and a note where the count leads.
    """
    setting, doubt = found.setting, found.doubt
    extremes = None
    if isinstance(found.all_elevation, Estimate) and isinstance(found.all_speed, Estimate):
        extremes = (found.all_speed.value, found.all_elevation.value)
    return HitRow(
        prototype=found.prototype,
        position=found.position,
        target=found.target + (", defended" if found.defended else ""),
        estimate=found.model if isinstance(found.model, Estimate) else found.probability,
        setting_words=""
        if setting is None
        else f"{setting.speed_m_s:.2f} m/s at {setting.elevation_deg:.1f}°",
        trials=found.trials,
        shots=found.shots,
        origin="simulated" if found.origin == "simulated" else "measured",
        count=None if found.counted is None else found.counted.interval,
        count_leads=found.leads == "count",
        extremes=extremes,
        parts=()
        if doubt is None
        else (
            SharePart("few shots", doubt.few_shots),
            SharePart("speed or elevation not told apart", doubt.speed_or_elevation),
        ),
        narrows=" ".join(found.words[1:]),  # the first sentence is the row itself
    )


def gate_rows(found: Decision) -> tuple[GateRow, ...]:
    """Return every gate of every prototype."""
    return tuple(GateRow(one.prototype, one.gate, one.passed, one.words) for one in found.gates)


def criteria_rows(found: Decision) -> tuple[Criterion, ...]:
    """Return the criteria with their weights and each prototype's mean value."""
    names = dict.fromkeys(one.criterion for one in found.criteria)
    weights = found.weights or {}
    return tuple(
        Criterion(
            name,
            weights.get(name),
            tuple(
                (one.prototype, f"{one.value:.3g} {one.unit}".strip())
                for one in found.criteria
                if one.criterion == name
            ),
        )
        for name in names
    )


def rank_rows(found: Decision) -> tuple[RankRow, ...]:
    """Return the rank acceptability over all weightings, or over those near the crew's own."""
    weights = "weightings near yours" if found.weights else "all weightings"
    return tuple(RankRow(one.prototype, one.ranks, weights) for one in found.acceptability)


def choice_entry(
    recorded: RecordedChoice,
    *,
    evidence: Sequence[str] = (),
    would_change: Sequence[str] = (),
    now_words: str = "",
) -> ChoiceEntry:
    """Return a recorded choice with its evidence in words.

    Parameters
    ----------
    recorded : RecordedChoice
        Day, prototype and reason.
    evidence, would_change : sequence of str
        Sentences on what it rested on and what would turn it.
    now_words : str
        What later data says; empty when it still stands.

    Returns
    -------
    ChoiceEntry
        Ready to print.
    """
    day = datetime.date.fromisoformat(recorded.date)
    return ChoiceEntry(
        day, recorded.prototype, recorded.reason, tuple(evidence), tuple(would_change), now_words
    )
