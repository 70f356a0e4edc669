"""Round plates and hood plates: areas by closed forms, gap and direction found on the outline."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from shotwright.base.errors import BadInput
from shotwright.build.hub import BoltCircle, Flat, Hub
from shotwright.build.plates import Hood, HoodPlate, hood_plate, round_plate, slot


def test_a_round_plate_is_a_disc_less_its_holes() -> None:
    outer, holes = round_plate(0.06, Hub(0.01, bolts=BoltCircle(4, 0.03, 0.004)), BoltCircle(6, 0.046, 0.008))
    left = outer.area_m2 - sum(hole.area_m2 for hole in holes)
    assert left == pytest.approx(math.pi / 4 * (0.06**2 - 0.01**2 - 4 * 0.004**2 - 6 * 0.008**2), rel=1e-3)
    assert len(holes) == 11
    with pytest.raises(BadInput) as told:
        round_plate(0.01, Hub(0.012, Flat(0.011)))
    assert told.value.field == "diameter"


def test_a_slot_is_a_rectangle_with_two_half_discs() -> None:
    loop = slot((0.01, 0.02), 0.006, 0.01, 0.4)
    assert loop.area_m2 == pytest.approx(0.006 * 0.01 + math.pi * 0.003**2, rel=1e-3)
    assert Polygon(loop.points).centroid.distance(Point(0.01, 0.02)) < 1e-9


hoods = st.builds(
    Hood,
    wheel_diameter=st.floats(0.04, 0.2),
    ball_diameter=st.floats(0.05, 0.25),
    compression=st.floats(0.0, 0.02),
    wrap=st.floats(0.3, 3.0),
    elevation=st.floats(-0.5, 1.4),
    entry=st.floats(0.0, 0.1),
    exit=st.floats(0.0, 0.1),
)


@given(hoods)
@settings(max_examples=25, deadline=None)
def test_the_hood_leaves_the_gap_and_points_the_shot(hood: Hood) -> None:
    line = hood.line(hood.radius_m)
    # The face nearest to the wheel's edge is one gap away: measured on the line, not from the formula.
    nearest = LineString(line).distance(Point(0, 0)) - hood.wheel_diameter / 2
    assert nearest == pytest.approx(hood.ball_diameter - hood.compression, abs=2.01e-6)
    assert LineString(line).length == pytest.approx(hood.strip_m, rel=1e-5)
    last = line[-1] - line[-2]
    step = np.hypot(*last) / hood.radius_m if hood.exit <= 2e-6 else 0.0  # a chord lags half its step
    assert math.atan2(last[1], last[0]) == pytest.approx(hood.elevation, abs=0.6 * step + 1e-6)


@given(hoods, st.floats(0.02, 0.05), st.floats(0.0, 0.03))
@settings(max_examples=15, deadline=None)
def test_the_plate_covers_the_path_of_the_ball_and_keeps_its_margins(
    hood: Hood, margin: float, slotted: float
) -> None:
    plate = HoodPlate(hood, 0.022, margin, slotted, BoltCircle(4, 0.036, 0.004), 4, 0.005, 0.007)
    outer, holes = hood_plate(plate)
    edge = Polygon(outer.points)
    assert edge.buffer(3e-6).contains(LineString(hood.line(hood.centre_radius_m)))
    assert len(holes) == 1 + 4 + 4
    wide = min(edge.exterior.distance(Polygon(hole.points)) for hole in holes)
    assert wide >= min(margin - 0.007 - 0.0025, margin) - 5e-6


def test_sizes_that_can_not_be_name_their_field() -> None:
    with pytest.raises(BadInput) as told:
        Hood(0.1, 0.178, 0.1, 1.5, 0.9)
    assert told.value.field == "compression"
    with pytest.raises(BadInput) as told:
        Hood(0.1, 0.178, 0.01, 6.0, 0.9)
    assert told.value.field == "wrap_angle"
    with pytest.raises(BadInput) as told:
        hood_plate(HoodPlate(Hood(0.1, 0.178, 0.01, 1.5, 0.9), 0.022, 0.005, 0, None, 4, 0.005, 0.007))
    assert told.value.field == "margin"
