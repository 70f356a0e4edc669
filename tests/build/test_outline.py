"""Loops and drawings: areas against closed forms and shapely, kerf against the law of parallel curves."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from shotwright.base.errors import BadInput
from shotwright.build.hub import BoltCircle, Flat, Hub, Keyway, hub_loops
from shotwright.build.outline import Drawing, Loop, Title, arc, checked, circle, loop_from, with_kerf

TITLE = Title("plate", "Invented project", "plywood", 0.006, datetime.date(2026, 1, 2), "Sharp edges.")


def rectangle(width: float, height: float, at: tuple[float, float] = (0.0, 0.0)) -> Loop:
    x, y = at
    return Loop([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])


@st.composite
def star(draw: st.DrawFn, low: float = 0.01, high: float = 0.05) -> Loop:
    """A random loop round the origin, seen whole from it: it can't cross itself."""
    count = draw(st.integers(5, 40))
    radii = draw(st.lists(st.floats(low, high), min_size=count, max_size=count))
    at = 2 * np.pi * np.arange(count) / count
    return Loop(np.array(radii)[:, None] * np.column_stack([np.cos(at), np.sin(at)]))


def test_a_circle_has_the_area_and_length_of_a_circle() -> None:
    # Closed form of a regular polygon; chords that stray by e leave out 4 e/(3 r) of the area at most.
    loop = circle((0.01, -0.02), 0.015)
    count = len(loop.points)
    assert loop.area_m2 == pytest.approx(count / 2 * 0.015**2 * math.sin(2 * math.pi / count), rel=1e-12)
    assert loop.area_m2 == pytest.approx(math.pi * 0.015**2, rel=4 * 2e-6 / (3 * 0.015))
    assert loop.length_m == pytest.approx(2 * math.pi * 0.015, rel=4 * 2e-6 / (3 * 0.015))


@pytest.mark.parametrize("radius", [0.0001, 0.003, 0.5])
def test_the_chord_strays_no_further_than_it_may(radius: float) -> None:
    points = arc((0.0, 0.0), radius, 0.3, 2.7)
    middle = np.hypot(*(0.5 * (points[1:] + points[:-1])).T)
    assert radius - middle.min() <= 2e-6 * (1 + 1e-9)


@given(star(), st.floats(-3, 3), st.floats(-1, 1), st.floats(-1, 1))
@settings(max_examples=30, deadline=None)
def test_area_is_kept_when_a_loop_is_moved_and_agrees_with_shapely(
    loop: Loop, angle: float, x: float, y: float
) -> None:
    assert loop.area_m2 == pytest.approx(Polygon(loop.points).area, rel=1e-12)
    assert loop.moved((x, y), angle).signed_area_m2 == pytest.approx(loop.signed_area_m2, rel=1e-9)
    assert loop.turned(False).signed_area_m2 == pytest.approx(-loop.area_m2, rel=1e-12)


@pytest.mark.parametrize("kerf", [0.0001, 0.0002, 0.001])
def test_kerf_follows_steiner_for_a_convex_piece_and_its_hole(kerf: float) -> None:
    # Steiner's formula: a convex loop grown by d gains L d + pi d^2; shrinking a rectangle is exact.
    # The round of a corner is drawn by chords that stray 0.2 micrometres at most.
    part = Drawing((rectangle(0.1, 0.06),), TITLE, (rectangle(0.02, 0.01, (0.03, 0.02)),))
    cut, d = with_kerf(part, kerf), kerf / 2
    assert cut.outers[0].area_m2 == pytest.approx(
        0.006 + 0.32 * d + math.pi * d * d, abs=2 * math.pi * d * 2e-7
    )
    assert cut.holes[0].area_m2 == pytest.approx((0.02 - kerf) * (0.01 - kerf), rel=1e-9)
    assert cut.title.kerf_m == kerf
    assert "kerf" in " ".join(cut.title.lines())


@given(star(0.03), st.floats(0.0001, 0.0004))
@settings(max_examples=25, deadline=None)
def test_the_cut_line_runs_half_a_kerf_outside_the_part(loop: Loop, kerf: float) -> None:
    cut = with_kerf(Drawing((loop,), TITLE), kerf)
    away = [Polygon(loop.points).exterior.distance(point) for point in _points(cut.outers[0])]
    assert min(away) == pytest.approx(kerf / 2, abs=0.3e-6)
    assert max(away) == pytest.approx(kerf / 2, abs=0.3e-6)


def _points(loop: Loop) -> list[object]:
    from shapely.geometry import Point

    return [Point(p) for p in loop.points]


def test_what_can_not_be_cut_is_refused_by_name() -> None:
    with pytest.raises(BadInput, match="three corners"):
        Loop([[0, 0], [1, 1]])
    with pytest.raises(BadInput, match="at one place"):
        Loop([[0, 0], [1, 0], [1, 1], [0, 0]])
    with pytest.raises(BadInput, match="not a number"):
        Loop([[0, 0], [1, math.nan], [1, 1]])
    with pytest.raises(BadInput, match="check the unit"):
        Loop([[0, 0], [100, 0], [1, 1]])
    bow = Loop([[0, 0], [0.1, 0.1], [0.1, 0], [0, 0.1]])
    with pytest.raises(BadInput, match="crosses itself"):
        checked(Drawing((bow,), TITLE))
    plate = rectangle(0.1, 0.1)
    with pytest.raises(BadInput, match="not inside"):
        checked(Drawing((plate,), TITLE, (circle((0.1, 0.05), 0.01),)))
    with pytest.raises(BadInput, match=r"holes at .* meet"):
        checked(Drawing((plate,), TITLE, (circle((0.05, 0.05), 0.01), circle((0.065, 0.05), 0.01))))
    with pytest.raises(BadInput, match=r"pieces at .* meet"):
        checked(Drawing((plate, rectangle(0.1, 0.1, (0.05, 0.0))), TITLE))
    with pytest.raises(BadInput, match="too small for a kerf"):
        with_kerf(Drawing((plate,), TITLE, (circle((0.05, 0.05), 0.0005),)), 0.002)
    assert checked(Drawing((plate,), TITLE, (circle((0.05, 0.05), 0.01),))).area_m2 < 0.01


def test_repeated_points_are_dropped_where_asked() -> None:
    assert len(loop_from([[0, 0], [0, 0], [0.1, 0], [0.1, 0.1], [0, 0]]).points) == 3


def test_bores_have_the_area_of_their_closed_forms() -> None:
    r = 0.004
    missing = 4 * 2e-6 / (3 * r)  # what chords leave out of a disc
    (plain,) = hub_loops(Hub(2 * r))
    assert plain.area_m2 == pytest.approx(math.pi * r * r, rel=missing)
    # Circle less the segment beyond the flat: r^2 (a - sin a cos a) with cos a = (across - r)/r.
    (d_bore,) = hub_loops(Hub(2 * r, Flat(0.007)))
    a = math.acos(0.75)
    assert d_bore.area_m2 == pytest.approx(math.pi * r * r - r * r * (a - math.sin(a) * 0.75), rel=missing)
    # Slot beyond the round: width x depth plus the sliver between chord and round.
    (keyed,) = hub_loops(Hub(2 * r, Keyway(0.002, 0.001)))
    h = math.asin(0.25)
    sliver = r * r * (h - math.sin(h) * math.cos(h))
    top = 0.002 * (r + 0.001 - r * math.cos(h))
    assert keyed.area_m2 == pytest.approx(math.pi * r * r - sliver + top, rel=missing)


def test_bolts_stand_evenly_on_their_circle() -> None:
    hub = Hub(0.008, bolts=BoltCircle(5, 0.03, 0.0032, 0.1))
    loops = hub_loops(hub, (0.1, 0.2))
    assert len(loops) == 6
    middles = np.array([loop.points.mean(axis=0) for loop in loops[1:]]) - [0.1, 0.2]
    assert np.hypot(*middles.T) == pytest.approx(0.015)
    turns = np.unwrap(np.arctan2(middles[:, 1], middles[:, 0]))
    assert np.diff(turns) == pytest.approx(2 * math.pi / 5)
    assert hub.reach_m() == pytest.approx(0.0166)


@pytest.mark.parametrize(
    ("hub", "field"),
    [
        (Hub(0.008, Flat(0.003)), "flat"),
        (Hub(0.008, Flat(0.008)), "flat"),
        (Hub(0.008, Keyway(0.009, 0.001)), "keyway"),
        (Hub(0.0, Flat(0.003)), "bore"),
        (Hub(-0.001), "bore"),
        (Hub(0.008, bolts=BoltCircle(0, 0.03, 0.003)), "bolts"),
        (Hub(0.008, bolts=BoltCircle(3, 0.03, 0.0)), "bolt hole"),
    ],
)
def test_a_hub_that_can_not_be_names_its_field(hub: Hub, field: str) -> None:
    with pytest.raises(BadInput) as told:
        hub_loops(hub)
    assert told.value.field == field
