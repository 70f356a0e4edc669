"""Shot table, drivers' card and match plans in the notebook: what is printed is what was found."""

from __future__ import annotations

import dataclasses
import io
from datetime import date

import numpy as np
import pytest
from pypdf import PdfReader

from shotwright.base.estimate import Estimate
from shotwright.match.results import Improvement, MatchPlans, PlanPoints, PlanPosition
from shotwright.notebook.drivers_card import MOST_ROWS, card_pdf
from shotwright.notebook.figures.match_points import match_points
from shotwright.notebook.figures.shot_table_curve import shot_table_curve, speed_over_setting
from shotwright.tuning.exports import c_header_of, csv_of
from shotwright.tuning.records import Between, MeasuredSetting, Notch, ShotTable, TableRow


def row(distance):
    speed = 3.0 + distance
    setting = Estimate(10 * speed, 10 * speed - 2, 10 * speed + 2)
    return TableRow(distance, speed, 60.0, setting, Estimate(0.8, 0.7, 0.9))


@pytest.fixture
def table():
    return ShotTable(
        "slinger", "well", "bank", "measured", 14, ("low",), "stroke", "mm", "its model", True, 0.5,
        tuple(row(d) for d in (2.0, 2.5, 3.0)), Between(0.01, 0.0, 0.001), 0.0, 0.001, 0.7,
        (Notch(5.5, 60.0, 55.0, 2.0, 3.0, 0.72),), (),
        (MeasuredSetting("low", "measured", 52.0, Estimate(5.2, 5.1, 5.3)),), (), "", 1,
        ("A table.", "Ends."),
    )  # fmt: skip


def plan(name, mean):
    points = tuple((float(k), 10) for k in range(int(mean) - 3, int(mean) + 4))
    return PlanPoints(
        name, Estimate(mean, mean - 0.1, mean + 0.1), mean - 2, mean + 2, 2.0,
        (mean - 3, mean - 1, mean, mean + 1, mean + 3), points, 1.0, 9.0, 5.0, 0.1, 3.0, 0.5,
        {"driving": 60.0},
    )  # fmt: skip


def test_the_curves_describe_themselves(table):
    svg = shot_table_curve(table, key="k", width=700).svg()

    assert "2.00 m: 50 mm, 80 %." in svg
    assert "fewest notches" in svg
    assert "low (measured): 5.20 m/s at 52." in speed_over_setting(table, key="s", width=400).svg()


def test_points_fill_the_whole_axis():
    plans = (plan("one", 20.0), plan("two", 30.0))
    drawing = match_points(plans, key="p", width=640)

    assert "one: mean 20.0 points, 17 to 23 in nine matches of ten." in drawing.description
    assert drawing.svg().count("<path") >= 14


def test_a_long_table_still_fits_one_card(table):
    long = dataclasses.replace(table, rows=tuple(row(d) for d in np.arange(1.0, 8.0, 0.125)))
    (page,) = PdfReader(io.BytesIO(card_pdf(long, date(2026, 1, 17), "0"))).pages

    lines = page.extract_text().splitlines()
    assert "17 January 2026" in page.extract_text()
    assert sum(line.strip().endswith("80\u00a0%") for line in lines) <= MOST_ROWS


def test_the_same_table_gives_the_same_card(table):
    first, second = (card_pdf(table, date(2026, 1, 17), "0") for _ in range(2))

    assert first == second


def test_rows_without_a_setting_stay_out_of_the_robots_program(table):
    none = Estimate(float("nan"), float("nan"), float("nan"))
    rows = (*table.rows, dataclasses.replace(row(3.5), setting=none))
    longer = dataclasses.replace(table, rows=rows)

    assert "#define SHOT_TABLE_ROWS 3" in c_header_of(longer)
    assert csv_of(longer).splitlines()[-1].startswith("3.5,,,,60")


def test_a_name_can_not_end_the_comment(table):
    named = dataclasses.replace(table, words=("x */ int y; /*", "é°"))
    text = c_header_of(named)

    assert text.split("*/")[0].endswith("? deg ")
    assert text.isascii()


def test_plans_hold_what_the_list_says():
    found = MatchPlans(
        "x", 70, 1, (PlanPosition("rail", "well", 3.0, Estimate(0.5, 0.4, 0.6), "as typed"),),
        (plan("one", 20.0),), None, (), (Improvement("1 ball more", Estimate(1.0, 0.8, 1.2)),), (),
    )  # fmt: skip

    assert found.to_dict()["to_do"][0]["gain"]["value"] == 1.0
    assert found.to_dict()["origin"] == "predicted"
