"""Results as people read them."""

from __future__ import annotations

import datetime
import enum
import math
from dataclasses import dataclass

import pytest

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.cli.wording import CHANCE, Column, blocks, cell, number, reach, table_of, unit_of


class Kind(enum.Enum):
    FLOOR = "floor"


@dataclass(frozen=True)
class Setting:
    speed_m_s: float


@dataclass(frozen=True)
class Row:
    prototype: str
    hit: Estimate | NotEstimated
    setting: Setting | None = None
    remark: str = ""


ROWS = (
    Row("twin roller", Estimate(0.71, 0.52, 0.85), Setting(8.13)),
    Row("catapult", NotEstimated("1 shot, at least 3 needed")),
)


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (9.51234, ("m/s", 1.0), "9.512 m/s"),
        (52.0, ("°", 1.0), "52°"),
        (12345, ("", 1.0), "12345"),
        (0.00001234, ("m", 1.0), "1.234e-05 m"),
        (0.5, CHANCE, "50 %"),
        (math.inf, ("m", 1.0), "-"),
        (math.nan, ("m", 1.0), "-"),
        (None, ("m", 1.0), "-"),
        ("", ("", 1.0), "-"),
        ((), ("", 1.0), "-"),
        (0, ("", 1.0), "0"),
        (False, ("", 1.0), "no"),
        (("T1", "T2"), ("", 1.0), "T1, T2"),
        (Kind.FLOOR, ("", 1.0), "floor"),
        (datetime.date(2026, 1, 2), ("", 1.0), "2026-01-02"),
        (Estimate(0.2123, 0.1412, 0.4), ("m", 1.0), "0.21 m (0.14 to 0.40 m)"),
        (NotEstimated("no shots"), ("m", 1.0), "not estimated: no shots"),
    ],
)
def test_cell(value: object, unit: tuple[str, float], shown: str) -> None:
    assert cell(value, unit) == shown


@pytest.mark.parametrize(
    ("field", "unit"),
    [("speed_m_s", "m/s"), ("spin_rev_s", "rev/s"), ("time_s", "s"), ("apex_m", "m"), ("shots", "")],
)
def test_the_ending_of_a_name_is_its_unit(field: str, unit: str) -> None:
    assert unit_of(field)[0] == unit


def test_reach_leads_inside_and_stops_at_none() -> None:
    assert reach(ROWS[0], "setting.speed_m_s") == 8.13
    assert reach(ROWS[1], "setting.speed_m_s") is None
    with pytest.raises(AttributeError):
        reach(ROWS[0], "speed")


def test_table_of_records_leaves_empty_columns_out() -> None:
    shown = table_of(
        ROWS,
        (
            Column("prototype", "prototype"),
            Column("remark", "remark"),
            Column("speed", "setting.speed_m_s"),
            Column("hit probability", "hit", CHANCE),
        ),
    )
    assert shown.splitlines() == [
        "prototype       speed  hit probability",
        "-----------  --------  ----------------------------------------",
        "twin roller  8.13 m/s  71 % (52 to 85 %)",
        "catapult            -  not estimated: 1 shot, at least 3 needed",
    ]
    assert table_of((), (Column("prototype", "prototype"),)) == ""


def test_blocks_and_numbers() -> None:
    assert blocks("a", "", "b") == "a\n\nb"
    assert number(-0.0) == "0"
