"""Drop tests: closed forms, an independent integration in air, Student's interval, slips named."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.flight.drop_test import drop_restitution, drop_speed, rise_speed
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.trials.drop_test import analyse_drops, level_way

G = 9.80665
FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("none"))
AIR = flight_model(FOAM, Weather(), density=1.225, buoyancy=False)
VACUUM = flight_model(FOAM, Weather(), density=0.0, buoyancy=False)
heights = st.floats(0.2, 5.0)


@settings(max_examples=50, deadline=None)
@given(heights, st.floats(0.1, 0.95))
def test_without_air_it_is_the_root_of_the_heights(height, part):
    assert drop_restitution(VACUUM, height, part * height)[0] == pytest.approx(math.sqrt(part), rel=1e-12)


@settings(max_examples=50, deadline=None)
@given(heights)
def test_constant_drag_has_a_closed_form(height):
    # textbook: v_T sqrt(1 - exp(-2 g H / v_T^2)) down, v_T sqrt(exp(2 g h / v_T^2) - 1) up
    square = G / (1.225 * math.pi / 4 * 0.178**2 / (2 * 0.140) * 0.47)
    fall = math.sqrt(-square * math.expm1(-2 * G * height / square))
    rise = math.sqrt(square * math.expm1(2 * G * height / square))
    assert drop_speed(AIR, height)[0] == pytest.approx(fall, rel=1e-9)
    assert rise_speed(AIR, height)[0] == pytest.approx(rise, rel=1e-9)


def test_a_law_of_the_reynolds_number_against_an_integration_in_time():
    """A ball drops, loses a known part of its speed, rises: scipy's events, drag from another library."""
    ball = Ball("b", 0.04, 0.0027, CoefficientLaw("haider-levenspiel"), CoefficientLaw("none"))
    model = flight_model(ball, Weather(), density=1.2, viscosity=1.8e-5)
    gravity = G * (1 - 1.2 * math.pi / 6 * 0.04**3 / 0.0027)
    k = 1.2 * math.pi / 4 * 0.04**2 / (2 * 0.0027)

    def fly(speed, height, stop):
        def rate(_t, y):
            v = y[1]
            reynolds = max(1.2 * abs(v) * 0.04 / 1.8e-5, 1e-6)
            return [v, -gravity - k * fluids.drag.Haider_Levenspiel(reynolds) * abs(v) * v]

        stop.terminal = True
        return solve_ivp(rate, (0, 5), [height, speed], events=stop, rtol=1e-11, atol=1e-12).y[:, -1]

    down = fly(0.0, 0.8, lambda _t, y: y[0])[1]
    e = 0.83
    top = fly(-e * down, 0.0, lambda _t, y: y[1] if y[0] > 0 else 1.0)[0]
    assert drop_restitution(model, 0.8, top)[0] == pytest.approx(e, abs=2e-6)
    assert math.sqrt(top / 0.8) < e - 0.02


def test_the_interval_is_students():
    rng = np.random.default_rng(4)
    down = np.full(6, 1.8)
    up = 1.8 * rng.normal(0.76, 0.01, 6) ** 2
    found = analyse_drops(down, up, VACUUM)
    e = np.sqrt(up / down)
    low, high = stats.t.interval(0.95, 5, loc=e.mean(), scale=stats.sem(e))
    assert isinstance(found.restitution, Estimate)
    assert (found.restitution.low, found.restitution.high) == pytest.approx((low, high), abs=1e-12)
    assert found.mean == found.restitution.value == pytest.approx(e.mean())
    assert found.sd == pytest.approx(e.std(ddof=1))
    assert found.impact_speed_m_s == pytest.approx(math.sqrt(2 * G * 1.8))
    assert found.words[0].startswith("Coefficient of restitution from 6 drops: 0.7")


def test_the_interval_holds_what_it_promises():
    # simulated drops: reading error 5 mm, scatter of e 0.01; 400 tests of 5 drops
    rng = np.random.default_rng(7)
    true, inside = 0.75, 0
    for _ in range(400):
        down = np.full(5, 1.8)
        up = 1.8 * rng.normal(true, 0.01, 5) ** 2 + rng.normal(0, 0.005, 5)
        found = analyse_drops(down, up, VACUUM, air=False).restitution
        inside += found.low <= true <= found.high
    # 95 %, four standard errors of 400 tests
    assert 0.95 * 400 - 4 * math.sqrt(400 * 0.95 * 0.05) <= inside


def test_a_single_drop_has_an_interval_only_with_a_reading_error():
    bare = analyse_drops(1.8, 1.0, VACUUM)
    assert isinstance(bare.restitution, NotEstimated)
    assert bare.sd is None
    assert "no interval: 1 drop shows no scatter" in bare.words[0]
    read = analyse_drops(1.8, 1.0, VACUUM, height_sd=0.01)
    assert isinstance(read.restitution, Estimate)
    e = math.sqrt(1.0 / 1.8)
    half = 1.959964 * e / 2 * math.hypot(0.01 / 1.8, 0.01 / 1.0)
    assert read.restitution.high - e == pytest.approx(half, rel=1e-6)
    same = analyse_drops([1.8, 1.8], [1.0, 1.0], VACUUM)
    assert isinstance(same.restitution, NotEstimated)


def test_one_centimetre_is_what_it_says():
    found = analyse_drops([1.8, 1.8, 1.8], [1.0, 1.01, 1.02], VACUUM)
    moved = analyse_drops([1.8, 1.8, 1.8], [1.001, 1.011, 1.021], VACUUM)
    assert 10 * (moved.mean - found.mean) == pytest.approx(found.one_cm, rel=1e-3)


@pytest.mark.authority
def test_a_basketball_is_let_go_at_its_bottom_and_read_at_its_top():
    # FIBA, older rules: 1.8 m (bottom) to 1.2 to 1.4 m (top), ball 0.24 m wide; closed form
    for top, e in ((1.2, 0.730296743), (1.4, 0.802772972)):
        down, up = level_way(1.8, "bottom", 0.24), level_way(top, "top", 0.24)
        assert analyse_drops(down, up, VACUUM).mean == pytest.approx(e, abs=1e-9)
    assert level_way(1.0, "centre", 0.2) == pytest.approx(0.9)


def test_drops_from_different_heights_are_named():
    found = analyse_drops([1.0, 2.0], [0.5, 0.9], AIR)
    assert "test each height by itself" in found.words[-1]
    assert any("Two drops say little" in words for words in found.words)


@pytest.mark.parametrize(
    ("down", "up", "said"),
    [
        ([1.8], [1.9], "drop 1: the ball rose 1.9 m after a drop of 1.8 m"),
        ([1.8, 1.8], [1.0], "2 drop heights and 1 rebound heights"),
        ([], [], "0 drop heights"),
        ([1.8], [-0.1], "must be greater than zero"),
        ([math.nan], [1.0], "must be greater than zero"),
    ],
)
def test_slips_are_named(down, up, said):
    with pytest.raises(BadInput, match=said):
        analyse_drops(down, up, AIR)
    with pytest.raises(BadInput, match="is not a point of the ball"):
        level_way(1.0, "middle", 0.2)
    with pytest.raises(BadInput, match="needs its diameter"):
        level_way(1.0, "top", None)
