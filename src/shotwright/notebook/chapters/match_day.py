"""Shot table, drivers' card and match plans."""

from __future__ import annotations

import math
from functools import partial

from shotwright.match.results import MatchPlans
from shotwright.notebook.blocks import (
    Block,
    Bullets,
    Caution,
    Column,
    Heading,
    Picture,
    Section,
    Table,
    Words,
)
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.drivers_card import shown
from shotwright.notebook.figures.interval_chart import IntervalGroup, IntervalRow, interval_chart
from shotwright.notebook.figures.match_points import match_points
from shotwright.notebook.figures.shot_table_curve import (
    placed_trials,
    shot_table_curve,
    speed_over_setting,
)
from shotwright.notebook.wording import estimate_words, percent
from shotwright.tuning.records import ShotTable


def shot_table(content: NotebookContent) -> Section | None:
    """Return the section on the shot table; None when there is nothing to say."""
    day = content.match_day
    if day.table is None:
        if not day.table_problem:
            return None
        return Section("shot-table", "Shot table", (Words(f"No shot table: {day.table_problem}."),))
    table = day.table
    blocks: list[Block] = [
        Bullets(table.words),
        Picture(
            "shot-table-curve",
            f"Setting and hit probability over the distance, {table.prototype} at {table.target}, predicted.",
            partial(_curve, table),
        ),
        _rows(table),
    ]
    if placed_trials(table):
        words = "Launch speed over the setting: predicted line, mean speeds of the trials as points."
        blocks.append(Picture("shot-table-speed", words, partial(_speed, table)))
    if table.notches:
        blocks.append(_notches(table))
    if table.changes:
        blocks.append(_changes(table))
    return Section("shot-table", "Shot table", tuple(blocks), fresh_page=True)


def drivers_card(content: NotebookContent) -> Section | None:
    """Return the drivers' card as a page of the notebook."""
    table = content.match_day.table
    if table is None:
        return None
    unit = f" [{table.setting_unit}]" if table.setting_unit else ""
    tilts = not table.fixed_elevation
    columns = [Column("distance [m]", True), Column(f"{table.setting_name}{unit}", True)]
    columns += [Column("elevation [°]", True)] if tilts else []
    columns.append(Column("hits", True))
    rows = [
        (
            f"{row.distance_m:.2f}",
            shown(row.setting.value),
            *((f"{row.elevation_deg:.1f}",) if tilts else ()),
            percent(row.hit.value),
        )
        for row in table.rows
        if math.isfinite(row.setting.value)
    ]
    fixed = "" if tilts else f" Elevation {table.rows[0].elevation_deg:.1f}° for all rows."
    caption = f"{table.prototype} at {table.target}, predicted.{fixed}"
    words = (
        "For the drivers. The verb shot-table prints it on one A5 page of its own. Between two rows take the "
        "middle."
    )
    return Section(
        "drivers-card",
        "Drivers' card",
        (
            Words(words),
            Table(caption, tuple(columns), tuple(rows)),
            Caution("Clear the line of fire and the plane of what spins before a shot; eye protection on."),
        ),
        fresh_page=True,
    )


def match_plans(content: NotebookContent) -> Section | None:
    """Return the section on match plans; None when there is no match file."""
    day = content.match_day
    if day.plans is None:
        if not day.plans_problem:
            return None
        return Section("match", "Match plans", (Words(f"No match was simulated: {day.plans_problem}."),))
    plans = day.plans
    blocks: list[Block] = [
        Bullets(plans.words),
        Picture(
            "match-points",
            f"How often each number of points came up in {plans.matches} simulated matches of each plan.",
            partial(_points, plans),
        ),
        _plan_table(plans),
        _position_table(plans),
    ]
    if plans.second_choices:
        rows = tuple(
            (one.what, f"{one.mean.value:.1f}", estimate_words(one.behind)) for one in plans.second_choices
        )
        caption = f"{plans.plans[0].plan}: what to do when its first position is blocked, predicted."
        columns = (Column("do", share=1.4), Column("points", True), Column("behind the best", True, 1.4))
        blocks.append(Table(caption, columns, rows))
    if plans.to_do:
        blocks += [
            Heading("To-do list"),
            Picture(
                "match-to-do",
                f"Points that one improvement adds to {plans.plans[0].plan}, from the same matches with and "
                "without it. The bar is the error of the number of matches.",
                partial(_to_do, plans),
            ),
        ]
    return Section("match", "Match plans", tuple(blocks), fresh_page=True)


def _curve(table: ShotTable, key: str, width: float) -> Drawing:
    return shot_table_curve(table, key=key, width=width)


def _speed(table: ShotTable, key: str, width: float) -> Drawing:
    return speed_over_setting(table, key=key, width=width)


def _points(plans: MatchPlans, key: str, width: float) -> Drawing:
    return match_points(plans.plans, key=key, width=width)


def _to_do(plans: MatchPlans, key: str, width: float) -> Drawing:
    groups = [IntervalGroup(one.what, (IntervalRow("", one.gain),)) for one in plans.to_do]
    return interval_chart(
        groups,
        key=key,
        width=width,
        title=f"What is worth most to {plans.plans[0].plan}, predicted",
        x_label="points gained in a match",
    )


def _rows(table: ShotTable) -> Table:
    unit = f" [{table.setting_unit}]" if table.setting_unit else ""
    columns = (
        Column("distance [m]", True),
        Column(f"{table.setting_name}{unit}", True, 1.8),
        Column("elevation [°]", True),
        Column("launch speed [m/s]", True),
        Column("hit probability", True, 1.8),
    )
    rows = tuple(
        (
            f"{row.distance_m:.2f}",
            estimate_words(row.setting) if math.isfinite(row.setting.value) else "beyond its range",
            f"{row.elevation_deg:.1f}",
            f"{row.speed_m_s:.2f}",
            estimate_words(row.hit, "%", 100.0),
        )
        for row in table.rows
    )
    return Table(f"Shot table of {table.prototype} at {table.target}, predicted, 95 %.", columns, rows)


def _notches(table: ShotTable) -> Table:
    unit = f" [{table.setting_unit}]" if table.setting_unit else ""
    columns = (
        Column(f"{table.setting_name}{unit}", True),
        Column("elevation [°]", True),
        Column("from [m]", True),
        Column("to [m]", True),
        Column("hits at least", True),
    )
    rows = tuple(
        (
            shown(one.setting) if math.isfinite(one.setting) else "–",
            f"{one.elevation_deg:.1f}",
            f"{one.from_m:.2f}",
            f"{one.to_m:.2f}",
            percent(one.least_hit),
        )
        for one in table.notches
    )
    return Table(f"The fewest notches that keep {percent(table.level)}, predicted.", columns, rows)


def _changes(table: ShotTable) -> Table:
    columns = (
        Column("distance [m]", True),
        Column(f"{table.setting_name}", True),
        Column("launch speed [mm/s]", True),
        Column("hits [points]", True),
    )
    rows = tuple(
        (
            f"{one.distance_m:.2f}",
            _signed(one.setting, 2) if math.isfinite(one.setting) else "–",
            _signed(1000 * one.speed_m_s, 0),
            _signed(100 * one.hit, 1),
        )
        for one in table.changes
    )
    return Table(f"Changed since the table kept before, from {table.compared_with}.", columns, rows)


def _signed(value: float, places: int) -> str:
    """Write a difference with its sign; nothing has none."""
    shown = round(value, places)
    return f"{shown:+.{places}f}" if shown else f"{0:.{places}f}"


def _plan_table(plans: MatchPlans) -> Table:
    columns = (
        Column("plan", share=1.8),
        Column("points", True, 1.4),
        Column("nine of ten", True),
        Column("fired", True),
        Column("scored", True),
        Column("trips", True),
        Column("chased off", True),
    )
    rows = tuple(
        (
            one.plan,
            estimate_words(one.mean),
            f"{one.quantiles[0]:g} to {one.quantiles[-1]:g}",
            f"{one.shots:.1f}",
            f"{one.hits:.1f}",
            f"{one.trips:.1f}",
            f"{one.moved_on:.1f}",
        )
        for one in plans.plans
    )
    return Table("Plans side by side, predicted means of a match.", columns, rows)


def _position_table(plans: MatchPlans) -> Table:
    columns = (
        Column("position", share=1.2),
        Column("target"),
        Column("points", True),
        Column("hit probability", True, 1.4),
        Column("from", share=2.0),
    )
    rows = tuple(
        (one.position, one.target or "–", f"{one.points:g}", estimate_words(one.hit, "%", 100.0), one.source)
        for one in plans.positions
    )
    return Table("Hit probabilities that the matches rest on.", columns, rows)
