"""Snail cams: closed forms of the linear spring, drawn outlines rolled by two independent routes."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from shapely import LineString, Point, Polygon

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.build.cam_outline import Drop, cam_outline
from shotwright.build.cam_rolling import outline_torque, roll
from shotwright.build.force_curve import curve_through, linear_force, polynomial_force
from shotwright.build.snail_cam import (
    EvenTorque,
    Follower,
    PlainSnail,
    fall_time,
    least_prime_radius,
    pitch_curve,
    plain_peak_ratio,
)

AUTHORITIES = Path(__file__).resolve().parents[1] / "authorities"
SPRING = linear_force(900, 0.04, 0.09)
EVEN = EvenTorque(SPRING, math.radians(320))
FOLLOWER = Follower(0.008, 0.035)
MEASURED = polynomial_force([30, 900, 4000], 0.09)


def rows() -> np.ndarray:
    text = (AUTHORITIES / "snail_cam.csv").read_text(encoding="utf-8")
    lines = [one for one in text.splitlines() if one[:1].isdigit()]
    return np.array([[float(cell) for cell in one.split(",")] for one in lines])


def test_lift_angle_curvature_and_edge_of_a_linear_spring() -> None:
    table = rows()
    path = pitch_curve(EVEN, FOLLOWER, np.radians(table[:, 0]))
    y, first, _ = EVEN.lift(path.turn)
    found = np.column_stack(
        [
            1e3 * y,
            1e3 * first,
            np.degrees(path.pressure_angle),
            1e3 * path.radius,
            1e3 * np.hypot(*path.contact.T),
            np.degrees(np.arctan2(path.contact[:, 1], path.contact[:, 0])) % 360,
        ]
    )
    np.testing.assert_allclose(found, table[:, 1:], rtol=1e-10, atol=1e-12)


def test_an_offset_follower_leans_less() -> None:
    path = pitch_curve(EVEN, Follower(0.008, 0.035, 0.010), np.radians([0.0, 160, 320]))
    wanted = [35.85910208517, 2.706853044829, 0.2487526844661]
    np.testing.assert_allclose(np.degrees(path.pressure_angle), wanted, rtol=1e-10)


@given(st.just(0.0) | st.floats(0.01, 0.4), st.floats(0.03, 0.08), st.floats(-0.02, 0.02))
@settings(max_examples=30, deadline=None)
def test_curvature_agrees_with_three_points(blend: float, prime: float, offset: float) -> None:
    """The circle through three near points of the pitch curve, which knows no derivative."""
    law, follower = EvenTorque(SPRING, math.radians(300), blend), Follower(0.008, prime, offset)
    for at in (0.5, 2.0, 4.5):
        a, b, c = pitch_curve(law, follower, np.array([at - 1e-3, at, at + 1e-3])).centre
        sides = [math.dist(a, b), math.dist(b, c), math.dist(a, c)]
        twice = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        told = pitch_curve(law, follower, np.array([at])).radius[0]
        assert told == pytest.approx(math.prod(sides) / (2 * twice), rel=1e-4)


def test_constant_torque_of_any_curve_is_work_over_turn() -> None:
    law = EvenTorque(MEASURED, math.radians(320))
    assert law.torque == pytest.approx(1.310103808429, rel=1e-11)
    assert float(law.lift(math.radians(160))[0]) == pytest.approx(0.05949516585225, rel=1e-11)
    # theta at 45 mm of lift, by a root of the law; T theta = W = 30 x + 450 x^2 + 4000 x^3/3.
    turn = brentq(lambda t: float(law.lift(t)[0]) - 0.045, 0.1, 5.0, xtol=1e-14)
    assert math.degrees(turn) == pytest.approx(320 * 2.38275 / 7.317, rel=1e-11)
    assert plain_peak_ratio(MEASURED) == pytest.approx(1.763837638376, rel=1e-11)


@pytest.mark.parametrize(("share", "ratio"), [(0.0, 2.0), (0.25, 5 / 3), (1.0, 4 / 3), (4.0, 10 / 9)])
def test_a_plain_snail_asks_for_more_at_its_peak(share: float, ratio: float) -> None:
    """2 x1/(x1 + x0), by the preload over the stroke."""
    assert plain_peak_ratio(linear_force(900, share * 0.09, 0.09)) == pytest.approx(ratio, rel=1e-12)


def outlines() -> list[tuple[str, EvenTorque, Follower]]:
    free = linear_force(900, 0.0, 0.09)
    readings = curve_through(
        [0, 0.01, 0.02, 0.03, 0.045, 0.06, 0.075, 0.09], [31, 40, 47, 59, 71, 98, 113, 147.0]
    )
    return [
        ("published sizes", EVEN, FOLLOWER),
        ("30 deg kept", EvenTorque(SPRING, math.radians(310)), Follower(0.008, 0.0593109)),
        ("no preload, blend", EvenTorque(free, math.radians(310), math.radians(30)), Follower(0.008, 0.05)),
        ("curve and offset", EvenTorque(MEASURED, math.radians(300)), Follower(0.008, 0.045, 0.01)),
        ("readings", EvenTorque(readings, math.radians(315)), Follower(0.0095, 0.05)),
        ("even force", EvenTorque(polynomial_force([90], 0.02), math.radians(320)), Follower(0.011, 0.045)),
        (
            "inch roller",
            EvenTorque(SPRING, math.radians(270), math.radians(15)),
            Follower(0.0127, 0.06, -0.004),
        ),
    ]


@pytest.mark.parametrize(("name", "law", "follower"), outlines(), ids=[row[0] for row in outlines()])
def test_torque_from_the_drawn_outline_is_even(name: str, law: EvenTorque, follower: Follower) -> None:
    """Rolled on the corners of the outline: within 1 % of constant at every place of contact."""
    edge = cam_outline(law, follower, Drop())
    assert Polygon(1e3 * edge.points).is_valid
    turn = np.radians(np.arange(0.25, 360, 0.5))
    told = outline_torque(roll(edge.points, follower, turn), law.curve)
    winding = (turn > law.blend) & (turn < law.rise)
    assert np.abs(told.torque[winding] / law.torque - 1).max() < 0.01
    pair = winding[1:] & winding[:-1]
    assert np.abs(told.mean[pair] / law.torque - 1).max() < 0.002
    # All work of the spring is done on the way up; the roller stands 30 um too high at most, on the nose.
    assert told.lift.max() == pytest.approx(law.curve.stroke, abs=1e-9)


def test_rolling_agrees_with_shapely() -> None:
    """An independent way down: the lowest centre whose distance from the polygon is the roller's radius."""
    edge = cam_outline(EVEN, FOLLOWER, Drop())
    cam = Polygon(1e3 * edge.points)
    for degrees in (3.3, 77.7, 190.1, 305.9, 322.5, 340.0):
        t = math.radians(degrees)
        rolled = roll(edge.points, FOLLOWER, np.array([t]))
        height = 1e3 * (float(rolled.lift[0]) + FOLLOWER.low)
        centre = Point(height * math.cos(t), height * math.sin(t))
        assert cam.exterior.distance(centre) == pytest.approx(8.0, abs=1e-6)
        higher = LineString([centre, (400 * math.cos(t), 400 * math.sin(t))])
        assert cam.distance(higher) == pytest.approx(8.0, abs=1e-6)


def test_the_contact_gives_the_slope_of_the_height() -> None:
    """dy/dtheta from the contact against the difference of heights, over two degrees: no law enters."""
    edge = cam_outline(EVEN, FOLLOWER, Drop())
    turn = np.radians(np.arange(5, 315, 7.0))
    d = math.radians(1)
    slope = (roll(edge.points, FOLLOWER, turn + d).lift - roll(edge.points, FOLLOWER, turn - d).lift) / (
        2 * d
    )
    np.testing.assert_allclose(roll(edge.points, FOLLOWER, turn).rate, slope, rtol=0.004)


def test_the_outline_of_a_plain_snail_shows_its_peak() -> None:
    """The check can fail: the plain snail's torque varies by a factor of three on its own outline."""
    plain = PlainSnail(SPRING, EVEN.rise)
    edge = cam_outline(plain, FOLLOWER, Drop())
    turn = np.radians(np.arange(5, 318, 1.0))
    told = outline_torque(roll(edge.points, FOLLOWER, turn), SPRING)
    np.testing.assert_allclose(told.torque, SPRING.force(told.lift) * 0.09 / EVEN.rise, rtol=0.006)
    assert told.torque.max() / EVEN.torque == pytest.approx(1.5294, rel=0.02)


def test_the_nose_lets_go_where_the_corner_passes_the_roller() -> None:
    edge = cam_outline(EVEN, FOLLOWER, Drop())
    corner = math.radians(320.3289731261)
    assert edge.release == pytest.approx(corner + math.radians(3.919705996643), abs=1e-10)
    assert edge.sink == pytest.approx(0.00824355555529, rel=1e-9)
    lost = SPRING.total_work - float(SPRING.work(0.09 - edge.sink))
    assert lost == pytest.approx(0.933915706282, rel=1e-9)


@pytest.mark.parametrize("clearance", [0.0, 0.001, 0.003])
def test_the_low_sector_is_clear_until_the_rise(clearance: float) -> None:
    follower = Follower(0.008, 0.0593)
    edge = cam_outline(EvenTorque(SPRING, math.radians(310)), follower, Drop(clearance))
    turn = np.arange(edge.release + math.radians(0.2), 2 * math.pi - math.radians(0.2), math.radians(0.5))
    gap = -roll(edge.points, follower, turn).lift
    assert (gap > -1e-9).all()
    assert gap.max() == pytest.approx(clearance, abs=5e-8)


def test_the_falling_roller_meets_nothing() -> None:
    """From the release on, the roller's whole way down stays clear of the cam that goes on turning."""
    edge = cam_outline(EVEN, FOLLOWER, Drop())
    cam = Polygon(1e3 * edge.points)
    for ahead in np.radians([0.0, 1, 3, 6]):
        t = edge.release + ahead
        way = LineString([(117 * math.cos(t), 117 * math.sin(t)), (35 * math.cos(t), 35 * math.sin(t))])
        assert cam.distance(way) >= 8.0 - 1e-6


def test_least_prime_radius_keeps_both_guides() -> None:
    """A centred follower's start: R_p = y'(0)/tan(30 deg)."""
    assert least_prime_radius(EVEN, 0.008) == pytest.approx(0.0593109288278, abs=2e-7)
    big = least_prime_radius(EVEN, 0.030)
    path = pitch_curve(EVEN, Follower(0.030, big), np.linspace(0, EVEN.rise, 1441))
    assert path.radius[path.radius > 0].min() >= 2 * 0.030 * (1 - 1e-6)


def test_fall_time_is_that_of_a_quarter_swing() -> None:
    """acos(x0/x1)/sqrt(k/M)."""
    assert fall_time(SPRING, 0.34) == pytest.approx(math.acos(4 / 13) / math.sqrt(900 / 0.34), rel=1e-12)
    free = linear_force(900, 0.0, 0.09)
    assert fall_time(free, 0.34) == pytest.approx(math.pi / 2 / math.sqrt(900 / 0.34), rel=1e-10)


@given(st.floats(100, 5000), st.floats(0.01, 0.2), st.floats(0.02, 0.2), st.just(0.0) | st.floats(0.01, 2.0))
@settings(max_examples=30, deadline=None)
def test_the_law_does_the_whole_work(rate: float, preload: float, stroke: float, blend: float) -> None:
    law = EvenTorque(linear_force(rate, preload, stroke), 5.0, blend)
    assert float(law.lift(5.0)[0]) == pytest.approx(stroke, rel=1e-9)
    turn = np.linspace(0, 5.0, 20001)
    assert np.trapezoid(law.torque_at(turn), turn) == pytest.approx(law.curve.total_work, rel=1e-7)


def test_what_cannot_be_built_is_told() -> None:
    with pytest.raises(NoAnswer, match="infinitely steep"):
        EvenTorque(linear_force(900, 0.0, 0.09), 5.0)
    with pytest.raises(NoAnswer, match="undercut"):
        cam_outline(EVEN, Follower(0.030, 0.031), Drop())
    with pytest.raises(NoAnswer, match="no room is left"):
        cam_outline(EvenTorque(SPRING, math.radians(357)), FOLLOWER, Drop())
    with pytest.raises(BadInput, match="rise"):
        EvenTorque(SPRING, 7.0)
    with pytest.raises(BadInput, match="blend"):
        EvenTorque(SPRING, 5.0, 4.6)
    with pytest.raises(BadInput, match="prime"):
        Follower(0.008, 0.007)
    with pytest.raises(BadInput, match="relief"):
        Drop(relief=1.0)
